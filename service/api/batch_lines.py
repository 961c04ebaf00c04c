"""The lines of a batch: what a caller sends, what comes back, and what stands at the end."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from .answers import EitherOf, Open, schema
from .fields import Choice, Field, Strict, refuse, said
from .operations import OPERATIONS
from .resources import ProblemDocument

LONGEST_ID = 200
# Integers past this are not told apart by every reader of JSON (RFC 7493, section 2.2).
LARGEST_ID = 2**53 - 1
IDENTIFIER: list[dict[str, Any]] = [
    {"type": "string", "minLength": 1, "maxLength": LONGEST_ID},
    {"type": "integer", "minimum": -LARGEST_ID, "maximum": LARGEST_ID},
]
_TOLD = f"a string of 1 to {LONGEST_ID} characters, or a whole number within 2^53 of zero"


class Identifier(Field):
    """The caller's own name for a line."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str | int:
        if isinstance(value, str) and 1 <= len(value) <= LONGEST_ID:
            return value
        number = not isinstance(value, (bool, str, list, dict)) and abs(value) <= LARGEST_ID
        if not number or value != value // 1:
            raise refuse(f"an id is {_TOLD}", "wrong-type", ["string", "integer"])
        return int(value)


class Anything(Field):
    """A value that is judged elsewhere."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return value


class BatchLineSchema(Strict):
    """A line of a batch: one question, as it would be sent alone."""

    id = Identifier(required=True, **said("your name for the line; its answer carries it"))
    operation = Choice(
        tuple(o.id for o in OPERATIONS),
        required=True,
        **said("which question: the last part of the path that takes it alone"),
    )
    body = Anything(required=True, **said("the request of that question"))


class Echo(fields.Raw):
    """An identifier as it was sent, or null where none could be read."""


class BatchAnswer(Open):
    """A line of a batch's answer, in the order of the lines asked."""

    id = Echo(required=True, **said("the line's id; null where none could be read"))
    line = fields.Integer(
        **said("number of the line in the body, from 1; given where there is no id")
    )
    status = fields.Integer(
        required=True, **said("the HTTP status that the request alone would have had")
    )
    body = EitherOf(
        [*(schema(o.answer) for o in OPERATIONS), ProblemDocument],
        required=True,
        **said("the answer, or the problem document where the status is not 200"),
    )


class BatchCounts(Open):
    """What became of a batch."""

    lines = fields.Integer(required=True, **said("lines answered; blank lines are not counted"))
    good = fields.Integer(required=True, **said("lines with status 200"))
    refused = fields.Integer(required=True, **said("lines whose request was refused (4xx)"))
    failed = fields.Integer(required=True, **said("lines on which the service failed (5xx)"))
    complete = fields.Boolean(
        required=True, **said("whether the body was read to its end and every line answered")
    )
    next_line = fields.Integer(
        **said("first line of the body that was not answered, where it is not complete")
    )
    problem = fields.Nested(ProblemDocument, **said("why it is not complete"))


class BatchEnd(Open):
    """The last line of every batch: an answer without it was cut."""

    summary = fields.Nested(BatchCounts, required=True, **said("what became of the batch"))
