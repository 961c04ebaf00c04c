"""One question: what gauge does this swatch give?"""

from __future__ import annotations

from dataclasses import dataclass

from .gauge import Gauge, GaugeAnswer, assess
from .units import System


@dataclass(frozen=True, slots=True)
class GaugeOrder:
    gauge: Gauge
    weight_category: int | None = None
    units: System = "metric"


def gauge(order: GaugeOrder) -> GaugeAnswer:
    """The swatch's gauge before and after blocking, and its place in the published range.

    Raises Refused for an unknown yarn weight category. Source: council-standards.

    >>> from .exact import Fraction
    >>> from .gauge import square
    >>> from .units import FOUR_INCHES
    >>> swatch = square(14, 16, FOUR_INCHES)
    >>> gauge(GaugeOrder(swatch, 4)).published.position
    'within'
    """
    return assess(order.gauge, order.weight_category)
