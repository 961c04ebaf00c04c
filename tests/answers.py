"""What the documented requests ask, as the engine is asked it and answers it."""

from __future__ import annotations

import json
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from service.api.operations import by_id
from service.engine.errors import Refused

EXAMPLES = Path(__file__).parent.parent / "openapi" / "examples"


@cache
def answered(operation: str) -> dict[str, tuple[Any, Any]]:
    """Order and answer of every documented request of an operation that is answered."""
    asks = by_id(operation)
    made = {}
    for file in sorted((EXAMPLES / operation).glob("*.request.json")):
        request = json.loads(file.read_text(encoding="utf-8"), parse_float=Decimal)
        if asks.request().validate(request):
            continue
        order = asks.request().load(request)
        try:
            made[file.name.removesuffix(".request.json")] = (order, asks.compute(order))
        except Refused:
            continue
    return made
