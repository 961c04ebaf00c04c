"""Whether the process runs, and whether it can answer."""

from __future__ import annotations

from functools import cache
from typing import Any

from .operations import OPERATIONS

_QUESTION: dict[str, Any] = {"from": 38, "to": 2, "rows": 18}


@cache
def can_answer() -> bool:
    """Put one question through the engine and compare; done once a process."""
    operation = next(o for o in OPERATIONS if o.id == "shaping")
    answer = operation.compute(operation.request().load(_QUESTION))
    return bool(answer.rows == 18 and answer.schedule[-1].stitches_after == 2)
