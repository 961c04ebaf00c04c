"""Bodies that mean harm, or that some client sends by accident, put to every endpoint every way.

Each is answered with a problem that says what is wrong: never a fault of the service, and never
with the markup that was sent.
"""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Callable
from io import BytesIO
from typing import Any
from urllib.parse import quote, quote_from_bytes

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api.operations import OPERATIONS
from service.api.path_documents import examples
from service.api.problems import MOST_TOLD
from service.api.reading import LARGEST_BODY

MARKUP = "<script>alert(1)</script><img src=x onerror=alert(1)>"
RIGHT_TO_LEFT = "\u202etac \u05d0\u05d1\u2066"
PATHS = [operation.path for operation in OPERATIONS]


# What is no JSON document by RFC 8259, or none that programs agree on (RFC 7493): 400, and words of
# the detail.
MALFORMED: dict[str, tuple[bytes, str]] = {
    "nothing": (b"", "Expecting value"),
    "spaces": (b"  \t ", "Expecting value"),
    "half a document": (b'{"gauge": {', "column"),
    "two documents": (b"{} {}", "Extra data"),
    "a comma too many": (b'{"gauge": 1,}', "column"),
    "single quotes": (b"{'gauge': 1}", "column"),
    "a comment": (b"{} // kit", "Extra data"),
    "NaN": (b'{"rows": NaN}', "NaN is not a JSON number"),
    "Infinity": (b'{"rows": Infinity}', "Infinity is not a JSON number"),
    "-Infinity": (b'{"rows": -Infinity}', "-Infinity is not a JSON number"),
    "past a double": (b'{"rows": 1e309}', "out of range"),
    "below a double": (b'{"rows": -1e999999999}', "out of range"),
    "an exponent past reckoning": (b'{"rows": 1e' + b"9" * 300 + b"}", "out of range"),
    "500 digits": (b'{"rows": ' + b"9" * 500 + b"}", "out of range"),
    "60,000 digits": (b'{"rows": ' + b"9" * 60_000 + b"}", "out of range"),
    "500 decimals": (b'{"rows": 0.' + b"3" * 500 + b"}", "out of range"),
    "a plus sign": (b'{"rows": +1}', "column"),
    "a leading zero": (b'{"rows": 01}', "column"),
    "hexadecimal": (b'{"rows": 0x10}', "column"),
    "10,000 lists deep": (b"[" * 10_000 + b"]" * 10_000, "more than 40 levels"),
    "10,000 objects deep": (b'{"a":' * 10_000 + b"1" + b"}" * 10_000, "more than 40 levels"),
    "60,000 brackets": (b"[" * 60_000, "more than 40 levels"),
    "a name twice": (b'{"gauge": 1, "gauge": 2}', 'the name "gauge" is given twice'),
    "a name twice, escaped once": (b'{"rows": 1, "row\\u0073": 2}', 'the name "rows" is given'),
    "a name twice within": (b'{"gauge": {"rows": 1, "rows": 1}}', 'the name "rows" is given'),
    "markup as a name twice": (
        json.dumps({MARKUP: 1})[:-1].encode() + b"," + json.dumps({MARKUP: 1}).encode()[1:],
        "is given twice",
    ),
    "10,000 names twice": (
        b"{" + b",".join(b'"%d":0' % (n % 5_000) for n in range(7_000)) + b"}",
        "is given twice",
    ),
    "half a surrogate pair": (b'{"gauge": "\\ud800"}', "surrogate"),
    "the other half": (b'{"gauge": "a\\udfffb"}', "surrogate"),
    "halves the wrong way round": (b'{"gauge": "\\udc00\\ud800"}', "surrogate"),
    "half a pair in a name": (b'{"\\ud83d": 1}', "surrogate"),
    "a surrogate in UTF-8": (b'{"gauge": "\xed\xa0\x80"}', "not UTF-8"),
    "a byte order mark": (b'\xef\xbb\xbf{"rows": 1}', "byte order mark"),
    "UTF-16": ('{"rows": 1}'.encode("utf-16"), "not UTF-8"),
    "UTF-16 without a mark": ('{"rows": 1}'.encode("utf-16-le"), "column"),
    "UTF-32": ('{"rows": 1}'.encode("utf-32"), "not UTF-8"),
    "Latin-1": ('{"gauge": "caf\xe9"}'.encode("latin-1"), "not UTF-8"),
    "UTF-8 cut short": ('{"gauge": "\u20ac'.encode()[:-1], "not UTF-8"),
    "UTF-8 too long": (b'{"gauge": "\xc0\xaf"}', "not UTF-8"),
    "past the last character": (b'{"gauge": "\xf4\x90\x80\x80"}', "not UTF-8"),
    "a null byte": (b'{"gauge": "a\x00b"}', "control character"),
    "null bytes": (b"\x00" * 100, "Expecting value"),
    "a null byte after": (b"{}\x00", "Extra data"),
    "a control character": (b'{"gauge": "a\x1bb"}', "control character"),
    "compressed without saying so": (gzip.compress(b'{"rows": 1}' * 99, mtime=0), "not UTF-8"),
    "form data": (b"gauge=1&template=panel", "Expecting value"),
    "XML": (b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b SYSTEM "file:///x">]>', "Expecting"),
    "markup": (MARKUP.encode(), "Expecting value"),
}  # fmt: skip

# What is JSON, and no question; none is a member that any request has.
UNPROCESSABLE: dict[str, Any] = {
    "null": None,
    "a number": 0,
    "a string": MARKUP,
    "a list": [{}],
    "__proto__": {"__proto__": {"admin": True}},
    "constructor": {"constructor": {"prototype": {"units": "metric"}}},
    "Python's own": {"__class__": {"__init__": {"__globals__": 1}}, "__dict__": {}},
    "a format string": {"{0.__class__}": "%s%s%n", "${7*7}": "{{7*7}}"},
    "no name": {"": 0},
    "a null character": {"gau\0ge": "a\0b"},
    "right to left": {RIGHT_TO_LEFT: RIGHT_TO_LEFT},
    "markup": {MARKUP: MARKUP},
    "a pointer's own signs": {"~1/~0/../": {"/": 1}},
    "look-alike letters": {"g\u0430uge": 1, "gauge\u200b": 2},
    "a long name": {"a" * 60_000: 0},
    "3,000 names": {f"n{n}": n for n in range(3_000)},
    "40 deep": json.loads('{"a":' * 39 + "{}" + "}" * 39),
}

# Values of the wrong sort or size, put in place of every member of a documented request in turn.
PLANTED: dict[str, str] = {
    "1e308": "1e308",
    "-1e308": "-1e308",
    "1e-308": "1e-308",
    "minus zero": "-0",
    "minus nought point nought": "-0.0",
    "a 400-digit number": "9" * 400,
    "a 33-digit decimal": "0." + "3" * 33,
    "null": "null",
    "true": "true",
    "an empty string": '""',
    "an empty list": "[]",
    "an empty object": "{}",
    "a list of lists": "[[[[]]]]",
    "markup": json.dumps(MARKUP),
    "right to left": json.dumps(RIGHT_TO_LEFT),
    "a null character": '"\\u0000"',
    "an emoji": '"\\ud83e\\uddf6"',
    "60,000 letters": json.dumps("a" * 60_000),
    "__proto__": '{"__proto__": {"value": 1, "unit": "cm"}}',
}

Way = Callable[[FlaskClient, str, bytes], TestResponse]


def posted(client: FlaskClient, path: str, body: bytes) -> TestResponse:
    return client.post(path, data=body, content_type="application/json")


def queried(client: FlaskClient, path: str, body: bytes) -> TestResponse:
    return client.open(path, method="QUERY", data=body, content_type="application/json")


def got(client: FlaskClient, path: str, body: bytes) -> TestResponse:
    return client.get(f"{path}?ask={quote_from_bytes(body)}")


def check(response: TestResponse, *statuses: int) -> dict[str, Any]:
    """A problem document of one of these statuses, with nothing in it that a browser would run."""
    assert response.status_code in statuses, response.text[:500]
    assert response.mimetype == "application/problem+json"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Cache-Control"] == "no-store"
    assert "<" not in response.text
    told: dict[str, Any] = json.loads(response.text)
    assert told["status"] == response.status_code
    assert told["type"].startswith("/v1/problems/")
    assert len(told["detail"]) < 1000
    for error in told.get("errors", []):
        assert set(error) <= {"pointer", "parameter", "code", "detail", "permitted"}
    return told


@pytest.mark.parametrize("way", [posted, queried, got])
@pytest.mark.parametrize("name", MALFORMED)
def test_what_is_no_json_is_malformed(client: FlaskClient, way: Way, name: str) -> None:
    body, words = MALFORMED[name]
    for path in PATHS:
        # An address ends where a query would be longer than is taken.
        if way is got and len(quote_from_bytes(body)) > 6000:
            check(way(client, path, body), 414)
            continue
        # Over all: a character reference in an address is decoded before JSON is.
        told = check(way(client, path, body), 400)
        assert told["type"] == "/v1/problems/malformed"
        if way is not got:
            assert words in told["detail"]


@pytest.mark.parametrize("way", [posted, queried, got])
@pytest.mark.parametrize("name", UNPROCESSABLE)
def test_json_that_is_no_question_is_refused(client: FlaskClient, way: Way, name: str) -> None:
    body = json.dumps(UNPROCESSABLE[name]).encode()
    for path in PATHS:
        long = way is got and len(quote(body)) > 6000
        told = check(way(client, path, body), 414 if long else 422)
        if not long and isinstance(UNPROCESSABLE[name], dict):
            unknown = [e for e in told["errors"] if e["code"] == "unknown-field"]
            assert {e["pointer"].count("/") for e in unknown} == {1}
            if len(UNPROCESSABLE[name]) < MOST_TOLD:
                assert len(unknown) == len(UNPROCESSABLE[name])
            else:
                assert len(told["errors"]) == MOST_TOLD + 1
                assert told["errors"][-1]["code"] == "more-errors"
            assert unknown == sorted(unknown, key=lambda e: str(e["pointer"]))


def first_request(operation: str) -> dict[str, Any]:
    cases = sorted(examples(operation).items())
    made: dict[str, Any] = next(
        pair["request"] for _, pair in cases if "type" not in pair["response"]
    )
    return made


@pytest.mark.parametrize("name", PLANTED)
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.id)
def test_a_value_of_the_wrong_sort_is_told_or_taken(
    client: FlaskClient, operation: Any, name: str
) -> None:
    request = first_request(operation.id)
    for member in request:
        body = json.dumps({**request, member: "PLANTED"}).replace('"PLANTED"', PLANTED[name])
        response = posted(client, operation.path, body.encode())
        if response.status_code == 200:  # where the member may be that
            assert PLANTED[name] in ("[]", "{}", "true"), member
            continue
        told = check(response, 422)
        assert any(e["pointer"].startswith(f"/{member}") for e in told["errors"]) or name in (
            "an empty list", "an empty object",
        ), told  # fmt: skip


@pytest.mark.parametrize("name", [*MALFORMED, *UNPROCESSABLE])
def test_a_batch_goes_on_past_a_nasty_line(client: FlaskClient, name: str) -> None:
    """Each as a line, and as the body of a line, of every operation."""
    body = MALFORMED[name][0] if name in MALFORMED else json.dumps(UNPROCESSABLE[name]).encode()
    line = b'{"id": 7, "operation": "%s", "body": %s}'
    lines = [body, *(line % (o.id.encode(), body) for o in OPERATIONS)]
    last = b'{"id": 8, "operation": "shaping", "body": {"from": 9, "to": 5, "rows": 8}}'
    sent = b"\n".join([*lines, last])
    response = client.post("/v1/batch", data=sent, content_type="application/x-ndjson")
    assert response.status_code == 200
    assert response.mimetype == "application/x-ndjson"
    assert b"<" not in response.data
    *answers, final, end = [json.loads(text) for text in response.text.splitlines()]
    assert len(answers) == len(lines) - (not body.strip())
    assert {a["status"] for a in answers} <= {400, 413, 422}
    assert (final["id"], final["status"]) == (8, 200)
    assert end["summary"]["refused"] == len(answers)
    assert end["summary"]["failed"] == 0
    assert end["summary"]["complete"] is True


@pytest.mark.parametrize("method", ["POST", "QUERY"])
@pytest.mark.parametrize("path", PATHS)
def test_a_length_past_the_limit_is_refused_unread(
    client: FlaskClient, method: str, path: str
) -> None:
    class Unreadable(BytesIO):
        def read(self, *_: Any) -> bytes:
            raise AssertionError("the body was read")

        readline = read

    for claimed in (LARGEST_BODY + 1, 10**9, 10**18):
        response = client.open(
            path, method=method, input_stream=Unreadable(), content_type="application/json",
            environ_overrides={"CONTENT_LENGTH": str(claimed)},
        )  # fmt: skip
        check(response, 413)
        assert response.headers["Connection"] == "close"


@pytest.mark.parametrize("path", PATHS)
def test_a_length_that_is_none_and_a_body_cut_short_are_told(
    client: FlaskClient, path: str
) -> None:
    for claimed in ("-1", "1e3", "0x10", "5, 5", "\u0665"):
        response = client.post(
            path, input_stream=BytesIO(b"{}"), content_type="application/json",
            environ_overrides={"CONTENT_LENGTH": claimed},
        )  # fmt: skip
        check(response, 400, 422)
    response = client.post(
        path, input_stream=BytesIO(b"{}"), content_type="application/json",
        environ_overrides={"CONTENT_LENGTH": "40"},
    )  # fmt: skip
    assert "shorter than its Content-Length" in check(response, 400)["detail"]


@pytest.mark.parametrize("coding", ["gzip", "deflate", "br", "zstd", "identity", "gzip, gzip", "x"])
def test_a_compressed_body_is_refused_unopened(client: FlaskClient, coding: str) -> None:
    # A megabyte of spaces in a kilobyte; RFC 9110, 415.
    bomb = gzip.compress(b" " * 1_000_000, mtime=0)
    for path in [*PATHS, "/v1/batch"]:
        kind = "application/x-ndjson" if path.endswith("batch") else "application/json"
        response = client.post(
            path, data=bomb, content_type=kind, headers={"Content-Encoding": coding}
        )
        check(response, 415)
        assert response.headers["Accept-Post"] == kind


@pytest.mark.parametrize(
    "kind",
    ["", "text/html", "application/xml", "multipart/form-data; boundary=x",
     "application/x-www-form-urlencoded", "application/json/", "json", MARKUP, "\0", "a" * 3000],
)  # fmt: skip
def test_a_body_of_another_media_type_is_refused(client: FlaskClient, kind: str) -> None:
    for path in [*PATHS, "/v1/batch"]:
        check(client.post(path, data=b"{}", headers={"Content-Type": kind}), 415)


NASTY_NAMES = ["%00", "%0d%0aSet-Cookie:%20a=1", quote(MARKUP), quote(RIGHT_TO_LEFT), "%ff%fe",
               "__proto__", "..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/x", "a" * 3000, "%c0%ae",
               "{0.__class__}", "panel%00.json", "nul", "-1", "panel%2fdrawing%2f.."]  # fmt: skip


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_a_nasty_name_of_a_resource_is_not_found(client: FlaskClient, name: str) -> None:
    for root in ("templates", "standards", "schemas", "problems", ""):
        check(client.get(f"/v1/{root}/{name}"), 404)
    check(client.get(f"/docs/{name}"), 404)
    check(client.get(f"/{name}"), 404)


@pytest.mark.parametrize("query", [
    "%", "%zz", "%ff=1", "=", "&&", "a", "a=1&a=2", f"{quote(MARKUP)}=1", "as=" + quote(MARKUP),
    "ask", "ask=", "ask={}&ask={}", "ask={}&units=metric", "gauge.=1", ".=1", "..=1",
    "gauge" + ".a" * 50 + "=1", "gauge=1&gauge.rows=2", "&".join(f"n{n}=1" for n in range(400)),
    "__proto__.a=1", "from=1%00", "%00=1", "from=" + "9" * 400, "from=1e309", "ask=%ED%A0%80",
    "uses.99999999999999999999=heat", "uses.-1=heat", "sides.0=1&sides.2=1", "\xe9=1",
])  # fmt: skip
def test_a_nasty_query_is_told(client: FlaskClient, query: str) -> None:
    for path in PATHS:
        check(client.get(f"{path}?{query}"), 400, 414, 422)
    for path in ("/v1/templates", "/v1/standards/hook-sizes", "/v1/openapi.json"):
        check(client.get(f"{path}?{query}"), 400, 414, 422)


@pytest.mark.parametrize("value", [
    "", "*", MARKUP, "\xff\xfe", "a" * 4000, ";q=2", "application/json;q=nan", "*/*;q=1e9", ", ,,",
    'W/"', '"' * 99, "bytes=0-", "text/html;q=0.1, */*;q=\x01", "null", "00-0-0-0", "-1", "${x}",
])  # fmt: skip
@pytest.mark.parametrize("header", [
    "Accept", "Accept-Language", "Accept-Encoding", "If-None-Match", "If-Match", "Range", "Origin",
    "If-Modified-Since", "Authorization", "Cookie", "X-Request-Id", "traceparent", "tracestate",
    "X-Forwarded-For", "X-HTTP-Method-Override", "Access-Control-Request-Method", "Host",
])  # fmt: skip
def test_a_nasty_header_harms_nothing(client: FlaskClient, header: str, value: str) -> None:
    response = client.get("/v1/shaping?from=9&to=5&rows=8", headers={header: value})
    assert response.status_code in (200, 206, 304, 400, 403, 406), response.text[:300]
    sent = response.get_data(as_text=True) + str(response.headers)
    assert "<script" not in sent
    # An id is taken as it is where it is one: letters, digits and what cannot end a line.
    assert re.fullmatch(r"[A-Za-z0-9._-]{1,64}", response.headers["X-Request-Id"])
    assert re.fullmatch("00-[0-9a-f]{32}-[0-9a-f]{16}-00", response.headers["traceresponse"])
