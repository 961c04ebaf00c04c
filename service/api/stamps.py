"""What every answer carries: the version, where the contract is, and what browsers must not do."""

from __future__ import annotations

from flask import Response, current_app, request

from .. import __version__
from .problems import MEDIA_TYPE
from .representations import JSON_TYPE

VERSION_HEADER = "Service-Version"
_SECURE = {"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer"}
# No answer is a page: a browser that is shown one loads nothing, runs nothing and frames nothing. A
# drawing may have a style of its own.
_POLICY = "default-src 'none'; frame-ancestors 'none'"
_POLICIES = {"image/svg+xml": f"{_POLICY}; style-src 'unsafe-inline'"}


def mark(response: Response) -> Response:
    response.headers[VERSION_HEADER] = __version__
    for name, value in _SECURE.items():
        response.headers.setdefault(name, value)
    policy = _POLICIES.get(response.mimetype or "", _POLICY)
    response.headers.setdefault("Content-Security-Policy", policy)
    response.headers.add("Link", '</v1/openapi.json>; rel="service-desc"')
    if "/docs" in current_app.config["PATHS"]:
        response.headers.add("Link", '</docs>; rel="service-doc"')
    if response.mimetype == MEDIA_TYPE:
        response.headers.add("Link", '</v1/schemas/problem>; rel="describedby"')
    if request.method == "OPTIONS" and response.status_code == 200:
        response.status_code = 204
        del response.headers["Content-Type"]
    methods = (request.url_rule.methods if request.url_rule else None) or set()
    if "QUERY" in methods:
        response.headers["Accept-Query"] = JSON_TYPE
        if request.method == "OPTIONS":
            response.headers["Accept-Post"] = JSON_TYPE
    return response
