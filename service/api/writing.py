"""JSON as this service writes it."""

from __future__ import annotations

from json.encoder import JSONEncoder
from typing import Any

_ENCODER = JSONEncoder(ensure_ascii=False, allow_nan=False)


def dumps(value: Any) -> str:
    """The value in JSON, with no character in it that begins or ends markup.

    >>> dumps({"name": "<b>cup"})
    '{"name": "\\\\u003cb\\\\u003ecup"}'
    """
    return unmarked(_ENCODER.encode(value))


def unmarked(text: str) -> str:
    """JSON text that is no markup, whoever puts it into a page unread.

    Words of a caller's come back in answers and problems, and must not be run there. Outside of
    strings JSON has neither character.
    """
    return text.replace("<", "\\u003c").replace(">", "\\u003e")
