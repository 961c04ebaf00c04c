"""Orders for tests: a built-in template at a gauge, measurements by name in millimetres."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.api.builtins import TEMPLATES
from service.engine.gauge import Gauge
from service.engine.sizing import PieceOrder


def order(template: str, gauge: Gauge, made_up: dict[str, Any] | None = None,
          **measurements: int | Fraction) -> PieceOrder:  # fmt: skip
    asked = {name: Fraction(size) for name, size in measurements.items()}
    return PieceOrder(gauge, TEMPLATES[template], asked, **(made_up or {}))
