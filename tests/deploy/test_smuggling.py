"""Requests whose length two parsers might read differently: no second one hides in the first.

Each case holds a whole second request where only a parser that is fooled would see one. Behind
nginx, and at gunicorn alone, the second is never answered, and whoever asks next has their own
answer. The cases follow RFC 9112, sections 2.2, 5 to 7 and 11.2.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import requests

from tests import wire
from tests.deploy.test_proxy import log, proxy  # noqa: F401  (fixtures)

HIDDEN = b"GET /v1/standards/hook-sizes HTTP/1.1\r\nHost: kit\r\nX-Request-Id: hidden\r\n\r\n"
CHUNKS = b"0\r\n\r\n"
ASK = b"POST /v1/shaping HTTP/1.1\r\nHost: kit\r\nContent-Type: application/json\r\n"


def posted(fields: bytes, body: bytes) -> bytes:
    return ASK + fields + b"\r\n\r\n" + body


def length(body: bytes) -> bytes:
    return b"Content-Length: %d" % len(body)


CHUNKED = b"Transfer-Encoding: chunked"
CASES: dict[str, bytes] = {
    "a length, and chunks": posted(length(CHUNKS + HIDDEN) + b"\r\n" + CHUNKED, CHUNKS + HIDDEN),
    "chunks, and a length": posted(CHUNKED + b"\r\nContent-Length: 4", b"5c\r\n" + HIDDEN + CHUNKS),
    "two lengths": posted(b"Content-Length: 0\r\n" + length(HIDDEN), HIDDEN),
    "two lengths, the other way": posted(length(HIDDEN) + b"\r\nContent-Length: 0", HIDDEN),
    "two lengths in one field": posted(b"Content-Length: 0, %d" % len(HIDDEN), HIDDEN),
    "a length with a sign": posted(b"Content-Length: +0", HIDDEN),
    "a length below zero": posted(b"Content-Length: -1", HIDDEN),
    "a length in hexadecimal": posted(b"Content-Length: 0x0", HIDDEN),
    "a length past all counting": posted(b"Content-Length: 1" + b"0" * 30, HIDDEN),
    "a length after a space": posted(b"Content-Length : 0", HIDDEN),
    "an empty length": posted(b"Content-Length:", HIDDEN),
    "chunks after a space": posted(CHUNKED.replace(b":", b" :"), CHUNKS + HIDDEN),
    "chunks after a tab": posted(b"Transfer-Encoding:\x0bchunked", CHUNKS + HIDDEN),
    "chunks on a folded line": posted(b"Transfer-Encoding:\r\n chunked", CHUNKS + HIDDEN),
    "chunks of another name": posted(b"Transfer-Encoding: xchunked", CHUNKS + HIDDEN),
    "chunks, then nothing": posted(b"Transfer-Encoding: chunked, identity", CHUNKS + HIDDEN),
    "chunks twice": posted(CHUNKED + b"\r\n" + CHUNKED, CHUNKS + HIDDEN),
    "chunks of nothing": posted(b"Transfer-Encoding: identity", HIDDEN),
    "chunks in quotes": posted(b'Transfer-Encoding: "chunked"', CHUNKS + HIDDEN),
    "chunks in HTTP/1.0": posted(CHUNKED, CHUNKS + HIDDEN).replace(b"HTTP/1.1", b"HTTP/1.0", 1),
    "a chunk in 0x": posted(CHUNKED, b"0x0\r\n\r\n" + HIDDEN),
    "a chunk below zero": posted(CHUNKED, b"-1\r\n\r\n" + HIDDEN),
    "a chunk past all counting": posted(CHUNKED, b"f" * 40 + b"\r\n" + HIDDEN),
    "a chunk with no end": posted(CHUNKED, b"1\r\n{" + HIDDEN),
    "a chunk longer than it says": posted(CHUNKED, b"1\r\n{}\r\n0\r\n\r\n" + HIDDEN),
    "a chunk ended by a bare LF": posted(CHUNKED, b"2\n{}\n0\n\n" + HIDDEN),
    "a bare CR within a field": posted(b"X-Kit: a\r" + CHUNKED, CHUNKS + HIDDEN),
    "a field hidden by a null": posted(b"X-Kit: a\0\r\n" + CHUNKED, CHUNKS + HIDDEN),
    "a name with a space": posted(b"X Kit: a\r\nContent-Length: 0", HIDDEN),
    "a field with no colon": posted(b"X-Kit\r\nContent-Length: 0", HIDDEN),
    "an underscore for a hyphen": posted(b"Content_Length: 0\r\n" + length(HIDDEN), HIDDEN),
    "a body of a GET": posted(length(HIDDEN), HIDDEN).replace(b"POST /v1/shaping", b"GET /livez"),
    "a body of an honest length": posted(length(HIDDEN), HIDDEN),
    "a field in the line of the request": b"GET /livez HTTP/1.1\rX: y\r\nHost: kit\r\n\r\n",
    "a line within the address": b"GET /livez\r\nHost: kit\r\n\r\n" + HIDDEN,
    "two hosts": b"GET /livez HTTP/1.1\r\nHost: kit\r\nHost: pen\r\n\r\n",
    "no host": b"GET /livez HTTP/1.1\r\n\r\n",
    "another protocol": b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" + HIDDEN,
    "HTTP/9.9": b"GET /livez HTTP/9.9\r\nHost: kit\r\n\r\n",
    "an upgrade": b"GET /livez HTTP/1.1\r\nHost: kit\r\nConnection: Upgrade, HTTP2-Settings\r\n"
                  b"Upgrade: h2c\r\nHTTP2-Settings: AAMAAABkAAQAAP__\r\n\r\n",
}  # fmt: skip
ONE_REQUEST = {"a body of a GET", "a body of an honest length", "an upgrade"}
# nginx passes over a line that is no field, and takes a bare LF for the end of a line: it reads two
# requests here, and writes both anew for the service, which so reads the same two.
TWO_REQUESTS = {"a chunk ended by a bare LF", "a field with no colon", "a name with a space"}


def answers(base: str, request: bytes, done: bool) -> list[int]:
    """Statuses of what comes back, until the other side is done or has no more to say."""
    told = wire.told(base, request, done, quiet=0.25)
    return [int(status) for status in re.findall(rb"^HTTP/1\.[01] (\d{3}) ", told, re.MULTILINE)]


@pytest.mark.parametrize("name", CASES)
def test_nothing_hides_in_a_request_behind_nginx(proxy: str, log: Path, name: str) -> None:  # noqa: F811
    before = len(log.read_text(encoding="utf-8").splitlines())
    told = answers(proxy, CASES[name], done=False)
    assert len(told) <= 1 + (name in TWO_REQUESTS)
    assert all(status in (200, 400, 405, 411, 413, 422, 501, 505) for status in told)
    if name in ONE_REQUEST:
        assert len(told) == 1
    assert requests.get(f"{proxy}/livez", timeout=10).json() == {"status": "alive"}
    # The service had what was answered, and no more.
    lines = log.read_text(encoding="utf-8").splitlines()[before:]
    assert len(lines) <= (3 if name in TWO_REQUESTS else 2)
    assert name in TWO_REQUESTS or not any('"hidden"' in line for line in lines)


@pytest.mark.parametrize("name", CASES)
def test_nothing_hides_in_a_request_at_gunicorn_alone(server: str, name: str) -> None:
    told = answers(server, CASES[name], done=True)
    assert len(told) <= 1
    assert all(status in (200, 400, 405, 411, 413, 422, 501, 505) for status in told)
    if name in ONE_REQUEST:
        assert len(told) == 1
    assert requests.get(f"{server}/livez", timeout=10).json() == {"status": "alive"}
