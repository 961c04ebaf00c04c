"""What a browser is shown: the calculator for other people's pages, and pages of our own.

The files lie in ``service/pages`` and are sent as they are.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from flask import Blueprint, Response

from .representations import accepted

PAGES = Path(__file__).parent.parent / "pages"
# A page of ours loads and asks its own service, and nothing else.
_PAGE = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

pages = Blueprint("pages", __name__)


@cache
def _text(name: str) -> str:
    return (PAGES / name).read_text(encoding="utf-8")


def _sent(name: str, media_type: str, **headers: str) -> Response:
    accepted(media_type)
    made = Response(_text(name), mimetype=media_type)
    made.headers.update({header.replace("_", "-"): told for header, told in headers.items()})
    return made


@pages.get("/widget.js")
def widget_script() -> Response:
    """Any page may load the script; which may ask the service is for its list of origins."""
    return _sent(
        "widget.js",
        "text/javascript",
        Access_Control_Allow_Origin="*",
        Cross_Origin_Resource_Policy="cross-origin",
    )


@pages.get("/widget")
def widget_page() -> Response:
    return _sent("widget.html", "text/html", Content_Security_Policy=_PAGE)


@pages.get("/article.css")
def article_style() -> Response:
    return _sent("article.css", "text/css")
