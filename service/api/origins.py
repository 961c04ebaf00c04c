"""Which web pages may ask from a browser: cross-origin sharing as the Fetch standard has it.

``SIZING_ORIGINS`` lists the origins, separated by commas (``https://pages.example``); none when
it is not set. ``*`` lets every page ask: nothing is answered to one caller that is not answered to
any. The origin ``null``, of sandboxed frames and local files, is refused by every list.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from flask import Response, current_app, request

from . import keys
from .problems import problem

SETTING = "SIZING_ORIGINS"
_ORIGIN = re.compile(r"https?://[a-z0-9.-]+(:[0-9]{1,5})?")
# Where the service has keys, a page may send one, and read what is said of it.
WITH_A_KEY, OF_A_KEY = ", Authorization", ", WWW-Authenticate"
ASKS_WITH = "Accept, Content-Type, If-None-Match, X-Request-Id, traceparent, tracestate"
# Beyond the few that a page may read anyway.
READS = (
    "Accept-Post, Accept-Query, Allow, Content-Location, ETag, Link, RateLimit, RateLimit-Policy,"
    " Retry-After, Service-Version, X-Request-Id, traceresponse"
)
# Browsers keep a preflight two hours at most, whatever they are told.
KEPT_SECONDS = "7200"


def configured(environment: Mapping[str, str]) -> frozenset[str]:
    """The origins that are let in. Raises ValueError for what is not an origin, ``null`` included.

    >>> sorted(configured({"SIZING_ORIGINS": "https://a.example, http://localhost:3000"}))
    ['http://localhost:3000', 'https://a.example']
    """
    listed = [o.strip() for o in environment.get(SETTING, "").split(",") if o.strip()]
    if listed == ["*"]:
        return frozenset(listed)
    for origin in listed:
        if not _ORIGIN.fullmatch(origin):
            raise ValueError(
                f"{SETTING}: {origin!r} is not an origin such as https://pages.example"
            )
    return frozenset(listed)


def _let_in() -> str | None:
    """What to answer in Access-Control-Allow-Origin."""
    allowed: frozenset[str] = current_app.config[SETTING]
    if "*" in allowed:
        return "*"
    origin = request.headers.get("Origin")
    return origin if origin in allowed else None


def preflight() -> Response | None:
    """Answer a browser that asks whether it may ask."""
    rule = request.url_rule
    wanted = request.headers.get("Access-Control-Request-Method")
    if request.method != "OPTIONS" or not wanted or "Origin" not in request.headers or not rule:
        return None
    if not _let_in():
        return problem("origin-not-allowed", "this origin is not on the list of this service")
    methods = sorted((rule.methods or set()) - {"OPTIONS"})
    return Response(
        status=204,
        headers={
            "Access-Control-Allow-Methods": ", ".join(methods),
            "Access-Control-Allow-Headers": ASKS_WITH + (WITH_A_KEY if keys.there_are() else ""),
            "Access-Control-Max-Age": KEPT_SECONDS,
            "Allow": ", ".join(sorted(rule.methods or ())),
        },
    )


def mark(response: Response) -> Response:
    """Let the page read the answer, a problem too, if its origin is on the list."""
    allowed: frozenset[str] = current_app.config[SETTING]
    if allowed and "*" not in allowed:
        response.vary.add("Origin")
    if origin := _let_in():
        response.headers["Access-Control-Allow-Origin"] = origin
        reads = READS + OF_A_KEY if keys.there_are() else READS
        response.headers["Access-Control-Expose-Headers"] = reads
    return response
