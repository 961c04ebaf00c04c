"""What schemathesis must know of this service to hold it against its whole contract.

Read by deploy/conformance.py through deploy/schemathesis.toml. Beside schemathesis' own checks,
five of ours hold what its own cannot know.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import schemathesis

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests import harmless

LARGEST_BODY, LONGEST_QUERY, LONGEST_LINE = 64 * 1024, 7000, 8190
# The service's own words alone: markup because it is meant to be.
PAGES = ("text/html", "text/javascript", "text/css")
SCHEMA_SAYS_NO = "/v1/problems/invalid-request"


@schemathesis.serializer("application/x-ndjson")
def ndjson(_context: Any, value: Any) -> Any:
    """A batch: what was generated is one line, or the lines."""
    if isinstance(value, bytes | str):
        return value
    lines = value if isinstance(value, list) else [value]
    return "\n".join(map(json.dumps, lines)).encode()


def _is_positive(case: Any) -> bool:
    return case.meta is not None and case.meta.generation.mode.is_positive


@schemathesis.check
def no_markup_comes_back(_context: Any, response: Any, _case: Any) -> None:
    """Nothing that a browser would run, or a reader not see, in whatever form the answer came."""
    kind = response.headers.get("content-type", [""])[0].split(";")[0]
    assert response.headers["x-content-type-options"] == ["nosniff"]
    if kind not in PAGES and response.content:
        harmless.check(kind, response.content.decode())


@schemathesis.check
def every_refusal_is_a_problem_document(_context: Any, response: Any, _case: Any) -> None:
    """The server's own refusals too, which no operation documents."""
    if response.status_code >= 400:
        assert response.headers["content-type"][0] == "application/problem+json"
        told = response.json()
        assert told["status"] == response.status_code
        assert told["title"]
        assert told["detail"]
        for error in told.get("errors", []):
            assert error["code"]
            assert error["detail"]


@schemathesis.check
def what_the_schema_allows_is_well_formed(_context: Any, response: Any, case: Any) -> None:
    """A body that the schema allows is refused for what it asks, and never as one it does not."""
    asked = case.method in ("POST", "QUERY")
    if asked and _is_positive(case) and response.status_code == 422:
        assert response.json()["type"] != SCHEMA_SAYS_NO, response.text


@schemathesis.check
def only_what_is_long_is_too_long(_context: Any, response: Any, _case: Any) -> None:
    sent = response.request
    if response.status_code == 413:
        assert len(sent.body or b"") > LARGEST_BODY
    if response.status_code == 414:
        address = sent.url.split("/", 3)[3]
        query = address.partition("?")[2]
        line = f"{sent.method} /{address} HTTP/1.1"
        assert len(query) > LONGEST_QUERY or len(line) > LONGEST_LINE


@schemathesis.check
def a_batch_tells_of_every_line(_context: Any, response: Any, case: Any) -> None:
    if case.path == "/v1/batch" and response.status_code == 200:
        sent = response.request.body or b""
        lines = sent if isinstance(sent, bytes) else sent.encode()
        *answers, last = map(json.loads, response.content.decode().removesuffix("\n").split("\n"))
        assert len(answers) == sum(bool(line.strip()) for line in lines.split(b"\n"))
        assert last["summary"]["complete"] is True
        assert last["summary"]["failed"] == 0
