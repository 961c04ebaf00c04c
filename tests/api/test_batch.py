"""Batches: an answer a line, in order, the same as alone; a broken line is one problem."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.api import batch, sharing
from service.api.batch import LONGEST_LINE, NDJSON, answers
from service.api.operations import OPERATIONS
from service.api.path_documents import examples
from tests.contract.test_documents import validator

FLAP = {"from": 38, "to": 2, "rows": 18}
FINE = b'{"id": "flap", "operation": "shaping", "body": {"from": 38, "to": 2, "rows": 18}}'


def asked(client: FlaskClient, body: bytes) -> tuple[list[Any], dict[str, Any]]:
    """The answers to a batch, and its summary."""
    response = client.post("/v1/batch", data=body, content_type=NDJSON)
    assert response.status_code == 200
    assert response.mimetype == NDJSON
    *lines, end = (json.loads(line) for line in response.data.splitlines())
    for line in lines:
        validator("batch-answer").validate(line)
    validator("batch-end").validate(end)
    return lines, end["summary"]


def line(name: object, operation: str, body: object) -> bytes:
    return json.dumps({"id": name, "operation": operation, "body": body}).encode() + b"\n"


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.id)
def test_a_line_is_answered_as_its_request_alone_is(client: FlaskClient, operation: Any) -> None:
    cases = [case["request"] for case in examples(operation.id).values()]
    cases += [{}, [], 3, "panel", {"colour": "red"}]
    lines, summary = asked(
        client, b"".join(line(i, operation.id, body) for i, body in enumerate(cases))
    )
    for number, (told, body) in enumerate(zip(lines, cases, strict=True)):
        alone = client.post(operation.path, data=json.dumps(body), content_type="application/json")
        assert told == {"id": number, "status": alone.status_code, "body": alone.json}
    assert summary["lines"] == len(cases)
    assert summary["good"] + summary["refused"] == len(cases)


BROKEN = [
    # what a line is; what comes back: id, status, type of problem, a word of its detail
    (b"{", None, 400, "malformed", "line 1, column 2"),
    (b"flap", None, 400, "malformed", "Expecting value"),
    (FINE[:-1], None, 400, "malformed", "line 1"),
    (b"\xef\xbb\xbf" + FINE, None, 400, "malformed", "byte order mark"),
    (FINE.replace(b"flap", b"fl\xc3"), None, 400, "malformed", "not UTF-8"),
    (FINE.replace(b"flap", b"fl\x00p"), None, 400, "malformed", "control character"),
    (FINE.replace(b"38", b"NaN"), None, 400, "malformed", "NaN"),
    (FINE.replace(b"38", b"1e400"), None, 400, "malformed", "out of range"),
    (FINE.replace(b"flap", b"\\ud800"), None, 400, "malformed", "surrogate"),
    (FINE.replace(b'"to"', b'"from"'), None, 400, "malformed", "given twice"),
    (FINE.replace(b"38", b"[" * 10_000 + b"]" * 10_000), None, 400, "malformed", "40 levels"),
    (b"x" * 1_000_000, None, 413, "too-large", str(LONGEST_LINE)),
    (b"[]", None, 422, "invalid-line", "object"),
    (b"null", None, 422, "invalid-line", "object"),
    (b'{"operation": "shaping", "body": {}}', None, 422, "invalid-line", "/id"),
    (FINE.replace(b'"flap"', b"null"), None, 422, "invalid-line", "/id"),
    (FINE.replace(b'"flap"', b'""'), None, 422, "invalid-line", "/id"),
    (FINE.replace(b'"flap"', b"1.5"), None, 422, "invalid-line", "/id"),
    (FINE.replace(b'"flap"', b"true"), None, 422, "invalid-line", "/id"),
    (FINE.replace(b'"flap"', b"9007199254740992"), None, 422, "invalid-line", "/id"),
    (FINE.replace(b"shaping", b"batch"), "flap", 422, "invalid-line", "not one of pieces"),
    (FINE.replace(b'"shaping"', b"7"), "flap", 422, "invalid-line", "/operation"),
    (b'{"id": "flap", "operation": "shaping"}', "flap", 422, "invalid-line", "/body"),
    (b'{"id": "flap", "operation": "shaping", "body": null}', "flap", 422, "invalid-line", "/body"),
    (FINE.replace(b'"id"', b'"size": 1, "id"'), "flap", 422, "invalid-line", "/size"),
    (FINE.replace(b"18", b"17"), "flap", 422, "cannot-be-made", "at least 18 rows"),
    (FINE.replace(b"rows", b"row"), "flap", 422, "invalid-request", "did you mean rows?"),
]


@pytest.mark.parametrize(("broken", "name", "status", "kind", "word"), BROKEN)
def test_a_broken_line_is_one_problem_and_not_the_end(
    client: FlaskClient, broken: bytes, name: str | None, status: int, kind: str, word: str
) -> None:
    lines, summary = asked(client, FINE + b"\n" + broken + b"\n" + FINE)
    before, told, after = lines
    assert before["status"] == after["status"] == 200
    assert told["id"] == name
    assert told.get("line") == (2 if name is None else None)
    assert told["status"] == told["body"]["status"] == status
    assert told["body"]["type"] == f"/v1/problems/{kind}"
    assert word in told["body"]["detail"]
    assert summary == {"lines": 3, "good": 2, "refused": 1, "failed": 0, "complete": True}


@pytest.mark.parametrize("name", ["flap", "x" * 200, "Täschchen ☂", "\u2028", 0, -1, 2**53 - 1])
def test_an_id_comes_back_as_it_was_sent(client: FlaskClient, name: object) -> None:
    (told,), _ = asked(client, line(name, "shaping", FLAP))
    assert told["id"] == name
    assert type(told["id"]) is type(name)


def test_blank_lines_are_passed_over_and_counted_in_the_numbers_of_lines(
    client: FlaskClient,
) -> None:
    lines, summary = asked(client, b"\n \t\r\n" + FINE + b"\r\n\n{\n")
    assert [told.get("line") for told in lines] == [None, 5]
    assert summary["lines"] == 2


def test_an_empty_batch_is_a_summary(client: FlaskClient) -> None:
    assert asked(client, b"") == (
        [], {"lines": 0, "good": 0, "refused": 0, "failed": 0, "complete": True}
    )  # fmt: skip


@pytest.mark.parametrize(("over", "status"), [(0, 200), (1, 413)])
def test_a_line_may_be_as_long_as_is_said(client: FlaskClient, over: int, status: int) -> None:
    body = FINE + b" " * (LONGEST_LINE - len(FINE) + over)
    lines, _ = asked(client, body + b"\n" + body)
    assert [told["status"] for told in lines] == [status, status]


def test_a_fault_of_the_service_is_one_line_and_tells_nothing_of_its_inside(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> None:
        raise RuntimeError("secret of the inside")

    monkeypatch.setitem(sharing._COMPUTE, "shaping", fail)
    gauge = next(iter(examples("gauge").values()))["request"]
    lines, summary = asked(client, FINE + b"\n" + line("swatch", "gauge", gauge))
    assert [told["status"] for told in lines] == [500, 200]
    assert lines[0]["body"]["type"] == "/v1/problems/internal"
    assert "secret" not in json.dumps(lines)
    assert summary["failed"] == 1


class Watched(io.BytesIO):
    """A body that counts its lines as they are read."""

    lines = 0

    def readline(self, most: int | None = -1, /) -> bytes:
        self.lines += 1
        return super().readline(most)


def test_a_line_is_read_when_the_answer_before_it_is_taken() -> None:
    # That is what back-pressure rests on: who does not read, is not worked for.
    body = Watched((FINE + b"\n") * 100)
    told = answers(body, None)
    for number in range(1, 11):
        next(told)
        assert body.lines == number
    told.close()  # what a server does when its caller has left
    assert body.lines == 10


def test_a_short_body_is_told_and_its_last_line_not_guessed() -> None:
    whole = FINE + b"\n"
    *lines, end = map(json.loads, answers(io.BytesIO(whole + FINE), 2 * len(whole) + 10))
    assert len(lines) == 1
    validator("batch-end").validate(end)
    assert end["summary"]["complete"] is False
    assert end["summary"]["next_line"] == 2
    assert "shorter than its Content-Length" in end["summary"]["problem"]["detail"]


def test_a_server_that_stops_says_where_to_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    left = iter([True, True, False])
    monkeypatch.setattr(batch, "_go_on", [lambda: next(left)])
    *lines, end = map(json.loads, answers(io.BytesIO((FINE + b"\n") * 9), None))
    assert len(lines) == 2
    assert end["summary"]["next_line"] == 3
    assert end["summary"]["problem"]["status"] == 503


def test_other_media_types_are_refused_before_the_first_line(client: FlaskClient) -> None:
    # RFC 9110: 415 with Accept-Post, 406 with what there is, 405 with Allow.
    for headers in ({"Content-Type": "application/json"}, {},
                    {"Content-Type": NDJSON, "Content-Encoding": "gzip"}):  # fmt: skip
        response = client.post("/v1/batch", data=FINE, headers=headers)
        assert response.status_code == 415
        assert response.headers["Accept-Post"] == NDJSON
    response = client.post(
        "/v1/batch", data=FINE, content_type=NDJSON, headers={"Accept": "application/json"}
    )
    assert response.status_code == 406
    assert response.json
    assert response.json["errors"][0]["permitted"] == [NDJSON]
    assert client.get("/v1/batch").headers["Allow"] == "OPTIONS, POST"


@pytest.mark.parametrize(("broken", "kind"), [(row[0], row[3]) for row in BROKEN])
def test_the_published_schema_of_a_line_judges_as_the_service_does(
    broken: bytes, kind: str
) -> None:
    if kind not in ("malformed", "too-large"):  # of texts that are no documents it says nothing
        fine = validator("batch-line").is_valid(json.loads(broken))
        assert fine is (kind == "cannot-be-made")
