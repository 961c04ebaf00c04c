"""How the documents tell of a batch, for which OpenAPI 3.1 and JSON Schema have no words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from marshmallow import Schema

from .batch import LONGEST_LINE, NDJSON
from .operations import OPERATIONS

EXAMPLES = Path(__file__).parent.parent.parent / "openapi" / "examples" / "batch"
FAILURES = ("method-not-allowed", "not-acceptable", "unsupported-media-type", "internal")


def bodies(reference: Callable[[type[Schema]], str]) -> list[dict[str, Any]]:
    """What the body of a line is, by its operation."""
    return [
        {
            "if": {"properties": {"operation": {"const": o.id}}},
            "then": {"properties": {"body": {"$ref": reference(o.request)}}},
        }
        for o in OPERATIONS
    ]


def post(failures: dict[str, Any], security: list[dict[str, list[str]]]) -> dict[str, Any]:
    """The operation, with the problems that answer a batch as a whole."""

    def lines(kind: str, told: str) -> dict[str, Any]:
        # OpenAPI 3.1 has no word for one document a line; the schemas of a line are named instead.
        media: dict[str, Any] = {"schema": {"type": "string", "description": told}}
        files = sorted(EXAMPLES.glob(f"*.{kind}.ndjson"))
        cases = {f.name.split(".")[0]: {"value": f.read_text(encoding="utf-8")} for f in files}
        return {NDJSON: {**media, **({"examples": cases} if cases else {})}}

    asked = "a JSON document a line, each as the schema batch-line has it; blank lines are passed"
    told = "a line an answer, as the schema batch-answer has it; the last line as batch-end"
    return {
        "operationId": "batch",
        "summary": "Ask many things at once",
        "description": (
            "Lines are read, answered in order and sent one by one: read while you send, or send"
            " no more than the network holds. A line that is refused does not end the batch. A line"
            f" holds at most {LONGEST_LINE:,} bytes and as much work as a question alone; there may"
            " be any number. An answer that does not"
            " end with a summary was cut: ask again from the first line that has no answer."
        ),
        "tags": ["Ask many things"],
        "security": security,
        "requestBody": {"required": True, "content": lines("request", asked)},
        "responses": {
            "200": {"description": "An answer a line", "content": lines("response", told)},
            **failures,
        },
    }
