"""Finished answers, kept by each worker for who asks the same again.

An answer depends on the question, the representation and the version alone. So a question that is
the same to the byte, asked in the same way, is answered with what was answered before, and nothing
is loaded, reckoned or written anew. The key is all that was sent and not a digest of it, so that
no two questions can be taken for one another; header fields that no answer depends on are left
out of it, and one that is not known here is not. Only whole answers with status 200 are kept: a
refusal is rare, cheap and seldom asked for twice. What is not found here may still be answered
before the framework: see direct.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable
from io import BytesIO
from typing import TYPE_CHECKING, Any

from .. import __version__
from . import direct, tracing
from .operations import OPERATIONS
from .reading import LARGEST_BODY
from .representations import JSON_TYPE
from .store import Store

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

SETTING = "SIZING_KEPT_MEGABYTES"
USUAL_MEGABYTES = 32

_PATHS = frozenset(operation.path for operation in OPERATIONS)
_OF_NO_ACCOUNT = frozenset(
    f"HTTP_{name}"
    for name in (
        "HOST", "USER_AGENT", "CONNECTION", "KEEP_ALIVE", "ACCEPT_ENCODING", "ACCEPT_LANGUAGE",
        "X_REQUEST_ID", "TRACEPARENT", "TRACESTATE", "FORWARDED", "X_FORWARDED_FOR",
        "X_FORWARDED_PROTO", "X_FORWARDED_HOST", "X_REAL_IP", "CACHE_CONTROL", "PRAGMA", "DNT",
        "REFERER",
    )
)  # fmt: skip
_OF_ONE_REQUEST = frozenset({tracing.REQUEST_ID.lower(), tracing.RESPONSE.lower()})
_OF_ONE_ANSWER = _OF_ONE_REQUEST | {"content-length"}

Key = tuple[direct.Way, bytes]  # how it was asked, and the body
Headers = list[tuple[str, str]]


def _length(value: Any) -> int:
    return len(value) if isinstance(value, str | bytes) else sum(map(_length, value))


class Keeping:
    """The application, with its answers kept."""

    def __init__(self, application: WSGIApplication, store: Store[Headers]) -> None:
        self.store = store
        # Told of each answer given here: method, route, status, and when it was begun.
        self.at_each: Callable[[str, str, int, float], None] | None = None
        self._application = application
        self._ways = direct.Ways()

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        started = time.perf_counter()
        key = _key(environ)
        if key is None:
            return self._application(environ, start)
        found = self.store.get(key) or self._directly(environ, key)
        if found is None:
            return self._answered(environ, start, key)
        headers, body = found
        request_id, trace = tracing.ids(
            environ.get("HTTP_X_REQUEST_ID"), environ.get("HTTP_TRACEPARENT")
        )
        method, path = environ["REQUEST_METHOD"], environ["PATH_INFO"]
        length = ("Content-Length", str(len(body)))
        start("200 OK", [*headers, length, *tracing.told(request_id, trace)])
        tracing.write(method, path, 200, len(body), started, request_id, trace)
        if self.at_each:
            self.at_each(method, path, 200, started)
        return (body,)

    def _put(self, key: Key, headers: Headers, body: bytes) -> None:
        way, asked = key
        if asked:  # else the question is all in the way, and each is another
            key = self._ways.one(way), asked
        self.store.put(key, headers, body, len(asked) + _length(way) + _length(headers))

    def _directly(self, environ: WSGIEnvironment, key: Key) -> tuple[Headers, bytes] | None:
        """An answer that the framework would give, made without it and kept."""
        way, body = key
        headers = self._ways.headers(way)
        if headers is None:
            return None
        made = direct.answer(environ["PATH_INFO"], body, environ)
        if made is None:
            return None
        self._put(key, headers, made)
        return headers, made

    def _answered(
        self, environ: WSGIEnvironment, start: StartResponse, key: Key
    ) -> Iterable[bytes]:
        said: list[Any] = []

        def note(status: str, headers: Headers, *error: Any) -> Callable[[bytes], object]:
            said[:] = [status, headers]
            return start(status, headers, *error)

        parts = self._application(environ, note)
        try:
            body = b"".join(parts)
        finally:
            if close := getattr(parts, "close", None):
                close()
        status, headers = said
        if status.startswith("200 "):
            general = [pair for pair in headers if pair[0].lower() not in _OF_ONE_ANSWER]
            self._put(key, general, body)
            self._ways.learn(key[0], environ, general)
        return (body,)


def _key(environ: WSGIEnvironment) -> Key | None:
    """All that an answer may depend on; None where it is not to be kept."""
    if environ["PATH_INFO"] not in _PATHS:
        return None
    method, body = environ["REQUEST_METHOD"], b""
    if method in ("POST", "QUERY"):
        read = _body(environ)
        if read is None:
            return None
        body = read
    elif method != "GET" or environ.get("CONTENT_LENGTH"):
        return None
    fields = [
        pair
        for pair in environ.items()
        if pair[0].startswith("HTTP_") and pair[0] not in _OF_NO_ACCOUNT
    ]
    told = ("SCRIPT_NAME", "PATH_INFO", "QUERY_STRING", "CONTENT_TYPE")
    way = (__version__, method, *(environ.get(name, "") for name in told), tuple(fields))
    return way, body


def _body(environ: WSGIEnvironment) -> bytes | None:
    """The body, left to be read again; None where the application is to judge how it was sent."""
    length = environ.get("CONTENT_LENGTH") or ""
    plain = length.isdecimal() and 0 < int(length) <= LARGEST_BODY
    awkward = ("HTTP_TRANSFER_ENCODING", "HTTP_CONTENT_ENCODING", "HTTP_EXPECT")
    if not plain or any(name in environ for name in awkward):
        return None
    if not environ.get("CONTENT_TYPE", "").startswith(JSON_TYPE):
        return None
    stream = environ["wsgi.input"]
    try:
        body: bytes = stream.read(int(length))
    except Exception as error:  # whatever a server raises for a broken transfer
        environ["wsgi.input"] = _Broken(error)
        return None
    environ["wsgi.input"] = BytesIO(body)
    return body if len(body) == int(length) else None


class _Broken:
    """A stream that fails as another did."""

    def __init__(self, error: Exception) -> None:
        self._error = error

    def read(self, *_: int) -> bytes:
        raise self._error

    readline = readlines = read


def keeping(
    application: WSGIApplication, environment: dict[str, str] | None = None
) -> Keeping | WSGIApplication:
    """The application with its answers kept, as the environment asks.

    0 megabytes keeps none, and leaves every question to the framework.
    """
    told = (os.environ if environment is None else environment).get(SETTING, "")
    most = int(told or USUAL_MEGABYTES) * 2**20
    return Keeping(application, Store(most)) if most else application
