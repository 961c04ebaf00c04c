"""JSON as this service writes it."""

from __future__ import annotations

import json
from typing import Any


def dumps(value: Any) -> str:
    """The value in JSON, with no character in it that begins or ends markup.

    Words of a caller's come back in answers and problems; whoever puts those into a page unread
    must not be running them.

    >>> dumps({"name": "<b>cup"})
    '{"name": "\\\\u003cb\\\\u003ecup"}'
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    # Outside strings JSON has neither.
    return text.replace("<", "\\u003c").replace(">", "\\u003e")
