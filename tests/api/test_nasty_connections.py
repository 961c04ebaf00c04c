"""Lengths that are lies, bodies that swell and requests that are none, put to a real socket.

Each is answered at once with a problem document, and whoever asks next has their own answer.
"""

from __future__ import annotations

import gzip
import json
import zlib
from typing import Any

import pytest
import requests

from service.api.operations import OPERATIONS
from service.api.problems import KINDS
from tests.wire import PATIENCE, parted, told

PATHS = [operation.path for operation in OPERATIONS]
BATCH = "/v1/batch"


def problem(server: str, sent: bytes, *statuses: int) -> dict[str, Any]:
    status, fields, body = parted(told(server, sent))
    assert status in statuses, (status, body[:300])
    assert fields["content-type"] == "application/problem+json"
    assert fields["connection"] == "close"
    assert len(body) == int(fields["content-length"])
    assert b"<" not in body
    made: dict[str, Any] = json.loads(body)
    assert made["status"] == status
    assert made["title"]
    assert made["detail"]
    kinds = {kind.uri: kind.status for kind in KINDS.values()}
    assert kinds.get(made["type"], status) == status
    assert made["type"] in {*kinds, "about:blank"}
    assert requests.get(f"{server}/livez", timeout=PATIENCE).json() == {"status": "alive"}
    return made


def head(method: str, path: str, *fields: str, kind: str = "application/json") -> bytes:
    lines = [f"{method} {path} HTTP/1.1", "Host: kit", f"Content-Type: {kind}", *fields]
    return "\r\n".join([*lines, "", ""]).encode()


@pytest.mark.parametrize("method", ["POST", "QUERY"])
@pytest.mark.parametrize("path", PATHS)
def test_a_gigabyte_that_is_claimed_is_not_waited_for(server: str, method: str, path: str) -> None:
    # The connection stays open: an answer that waited for the body would not come.
    for claimed in (10**9, 2**31, 2**63, 10**30):
        sent = head(method, path, f"Content-Length: {claimed}") + b'{"gauge": '
        assert problem(server, sent, 413)["type"] == "/v1/problems/too-large"


def test_a_batch_that_claims_a_gigabyte_is_answered_as_far_as_it_came(server: str) -> None:
    line = b'{"id": 1, "operation": "shaping", "body": {"from": 9, "to": 5, "rows": 8}}\n'
    sent = head("POST", BATCH, "Content-Length: 1000000000", kind="application/x-ndjson") + line
    status, _, body = parted(told(server, sent, done=True))
    assert status == 200
    assert b'"status": 200' in body
    assert b'"complete": false' in body
    assert b"shorter than its Content-Length" in body


def test_chunks_without_end_are_refused_past_the_limit(server: str) -> None:
    # A document, and 96 KB of spaces after it: cut at the limit it would pass for a whole one.
    chunk = b"4000\r\n" + b" " * 0x4000 + b"\r\n"
    body = b'{"from": 9, "to": 5, "rows": 8}'
    first = b"%x\r\n%s\r\n" % (len(body), body)
    for path in PATHS:
        sent = head("POST", path, "Transfer-Encoding: chunked") + first
        problem(server, sent + chunk * 6, 413)
        problem(server, sent + chunk * 6 + b"0\r\n\r\n", 413)
    whole = head("POST", "/v1/shaping", "Transfer-Encoding: chunked") + first + chunk * 3
    assert parted(told(server, whole + b"0\r\n\r\n"))[0] == 200


# 50 MB of spaces, in 50 KB; and the same packed once more.
SPACES = zlib.compressobj(9, wbits=31)
BOMB = b"".join(SPACES.compress(b" " * 1_000_000) for _ in range(50)) + SPACES.flush()
TWICE = gzip.compress(BOMB, mtime=0)


@pytest.mark.parametrize("bomb", [BOMB, TWICE], ids=["once", "twice"])
def test_a_compressed_body_is_refused_unopened_at_a_socket(server: str, bomb: bytes) -> None:
    assert len(bomb) < 64 * 1024
    for path in [*PATHS, BATCH]:
        kind = "application/x-ndjson" if path == BATCH else "application/json"
        length = f"Content-Length: {len(bomb)}"
        sent = head("POST", path, length, "Content-Encoding: gzip", kind=kind)
        problem(server, sent + bomb, 415)
        # Unread too: it is refused before a byte of it has come.
        problem(server, sent, 415)
    # As a coding of the transfer it is not taken either.
    chunks = b"%x\r\n%s\r\n0\r\n\r\n" % (len(bomb), bomb)
    problem(server, head("POST", PATHS[0], "Transfer-Encoding: gzip, chunked") + chunks, 400)


LINE = "GET /v1/shaping?from=9&to=5&rows=8"
UNREADABLE: dict[str, tuple[bytes, int]] = {
    "an address past the line": (f"{LINE}&a={'a' * 9000} HTTP/1.1\r\n\r\n".encode(), 414),
    "a header field past all": (f"{LINE} HTTP/1.1\r\nX: {'a' * 20_000}\r\n\r\n".encode(), 431),
    "500 header fields": (f"{LINE} HTTP/1.1\r\n{'X: a' + chr(13) + chr(10)}".encode()
                          + b"X: a\r\n" * 500 + b"\r\n", 431),
    "markup as a header field": (b"GET / HTTP/1.1\r\n<script>alert(1)</script>\r\n\r\n", 400),
    "markup as a method": (b"<SCRIPT> / HTTP/1.1\r\nHost: kit\r\n\r\n", 400),
    "a null in a field": (b"GET / HTTP/1.1\r\nX: a\0b\r\n\r\n", 400),
    "no HTTP": (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 400),
    "HTTP of another version": (b"GET / HTTP/7.1\r\nHost: kit\r\n\r\n", 400),
    "an expectation": (b"POST /v1/gauge HTTP/1.1\r\nExpect: a-pony\r\n\r\n", 417),
    "a length that is none": (head("POST", "/v1/gauge", "Content-Length: 1e9"), 400),
    "two lengths": (head("POST", "/v1/gauge", "Content-Length: 2", "Content-Length: 9"), 400),
    "a length of 5,000 digits": (head("POST", "/v1/gauge", f"Content-Length: {'9' * 5000}"), 400),
    "an unknown coding": (head("POST", "/v1/gauge", "Transfer-Encoding: gzip") + b"{}", 400),
    "a coding of none's": (head("POST", "/v1/gauge", "Transfer-Encoding: pony") + b"{}", 501),
}  # fmt: skip


@pytest.mark.parametrize("name", UNREADABLE)
def test_what_the_server_cannot_read_is_told_as_a_problem(server: str, name: str) -> None:
    sent, status = UNREADABLE[name]
    problem(server, sent, status)
