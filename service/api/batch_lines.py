"""The lines of a batch that a caller sends; what comes back is told by batch_answers."""

from __future__ import annotations

from typing import Any

from .fields import Choice, Field, Strict, refuse, said
from .operations import OPERATIONS

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
