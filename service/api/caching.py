"""Answers that may be kept, and those that need not be sent again (RFC 9110 and RFC 9111).

An answer depends on the question and the version alone, so whoever has it may keep it. An hour in
a browser and a day in a shared cache bound how long an answer of an older version lives on; a
shared cache may serve a stale one while it asks anew, and while the service is down.

What is asked by POST is not to be stored anywhere: QUERY and GET are for answers worth keeping, and
a caller who would rather not have body measurements kept asks by POST. Problems are not stored
either, since most speak of a slip made once.
"""

from __future__ import annotations

from hashlib import sha256

from flask import Response, request

from .. import __version__
from . import keys

KEPT = "public, max-age=3600, s-maxage=86400, stale-while-revalidate=86400, stale-if-error=604800"
# Where only those with a key are answered: a proxy would hand it to others (RFC 9111, 3.5).
KEPT_BY_ONE = "private, max-age=3600, stale-while-revalidate=86400, stale-if-error=604800"
NOT_KEPT = "no-store"
READ_BY = ("GET", "HEAD", "QUERY")


def mark(response: Response) -> Response:
    """Say how long the answer may be kept, and answer 304 where the caller has it already."""
    if "Cache-Control" in response.headers:
        return response
    if request.method not in READ_BY or response.status_code != 200 or response.is_streamed:
        response.headers["Cache-Control"] = NOT_KEPT
        return response
    response.headers["Cache-Control"] = KEPT_BY_ONE if keys.needed() else KEPT
    response.vary.add("Accept")
    response.set_etag(tag(response))
    if request.if_none_match.contains_weak(response.get_etag()[0] or ""):
        response.status_code = 304
        response.set_data(b"")
        del response.headers["Content-Type"]
        del response.headers["Content-Length"]
    return response


def tag(response: Response) -> str:
    """A strong validator: over the version, the media type and the bytes."""
    told = f"{__version__}\n{response.mimetype}\n".encode() + response.get_data()
    return sha256(told).hexdigest()[:32]
