"""What a browser is shown: the calculator for other people's pages, and pages of our own.

The files lie in ``service/pages`` and are sent as they are.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path

from flask import Blueprint, Response
from werkzeug.exceptions import NotFound

from .representations import accepted

PAGES = Path(__file__).parent.parent / "pages"
# A page of ours loads and asks its own service, and nothing else.
_PAGE = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

# The library that renders the contract sets styles as it goes.
_DOCS_PAGE = _PAGE.replace("style-src 'self'", "style-src 'self' 'unsafe-inline'")
BUNDLE = {"swagger-ui.css": "text/css", "swagger-ui-bundle.js": "text/javascript"}

# What a page may do, and who may hold on to it (OWASP Secure Headers Project). X-Frame-Options is
# for browsers that know no frame-ancestors. Strict-Transport-Security is for where TLS ends.
_ALONE = {
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "X-Frame-Options": "DENY",
    "X-Permitted-Cross-Domain-Policies": "none",
}

pages = Blueprint("pages", __name__)


@cache
def _text(name: str) -> str:
    return (PAGES / name).read_text(encoding="utf-8")


def _sent(name: str, media_type: str, **headers: str) -> Response:
    accepted(media_type)
    made = Response(_text(name), mimetype=media_type)
    made.headers.update({header.replace("_", "-"): told for header, told in headers.items()})
    if media_type == "text/html":
        made.headers.update(_ALONE)
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


@pages.get("/docs")
def docs_page() -> Response:
    return _sent("docs.html", "text/html", Content_Security_Policy=_DOCS_PAGE)


@pages.get("/docs.js")
def docs_script() -> Response:
    return _sent("docs.js", "text/javascript")


@pages.get("/docs/<name>")
def docs_bundle(name: str) -> Response:
    """What renders the contract: files of a library, sent as they are installed."""
    if name not in BUNDLE:
        raise NotFound(f"there is no such file; there are {', '.join(sorted(BUNDLE))}")
    accepted(BUNDLE[name])
    return Response(_bundled(name), mimetype=BUNDLE[name])


@cache
def _bundled(name: str) -> bytes:
    return (files("flask_swagger_ui") / "dist" / name).read_bytes()


@pages.get("/article.css")
def article_style() -> Response:
    return _sent("article.css", "text/css")


@pages.get("/docs.css")
def docs_style() -> Response:
    return _sent("docs.css", "text/css")
