"""One question: which loop or opening takes this button, and where do several go?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .cautions import Caution, small_part
from .errors import Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .openings import (
    USUAL,
    Button,
    Buttonhole,
    ClosureOrder,
    Loop,
    Slit,
    buttonhole,
    opening_cautions,
)
from .spacing import Placed, Placing, Spaced, place, space
from .units import System


@dataclass(frozen=True, slots=True)
class PlacingOrder:
    """Several openings along a band told by stitches (exact) or by a length in millimetres."""

    holes: int
    stitches: int | None = None
    end_margin: int = 0
    hole_stitches: int | None = None
    length: Fraction | None = None
    end_distance: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class ButtonholeOrder:
    gauge: Gauge
    button: Button
    closure: ClosureOrder = USUAL
    placing: PlacingOrder | None = None
    units: System = "metric"


@dataclass(frozen=True, slots=True)
class Openings:
    """The opening for the button, where several go, and what to look out for."""

    loop: Annotated[Loop | None, "a chain loop"]
    slit: Annotated[Slit | None, "an opening in the fabric"]
    by_stitches: Annotated[Placed | None, "where the openings go, counted in stitches"]
    by_length: Annotated[Spaced | None, "where the openings go, measured"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]


def buttonholes(order: ButtonholeOrder) -> Openings:
    """The opening for a button and, where asked, the places of several.

    Raises Refused for an impossible button or openings that do not fit. Source: common-practice.

    >>> from .gauge import square
    >>> g = square(16, 19)
    >>> buttonholes(ButtonholeOrder(g, Button(Fraction(18)))).loop.chain
    6
    """
    gauge = order.gauge
    hole = buttonhole(order.button, gauge.stitch_width, gauge.row_height, order.closure)
    placed = spaced = None
    if order.placing:
        placed, spaced = _places(order.placing, hole)
    raised = []
    if caution := small_part(order.button.diameter, ("button", "diameter")):
        raised.append(caution)
    return Openings(hole.loop, hole.slit, placed, spaced, (*raised, *opening_cautions(hole)))


def _places(placing: PlacingOrder, hole: Buttonhole) -> tuple[Placed | None, Spaced | None]:
    if (placing.stitches is None) == (placing.length is None):
        raise Refused(
            Refusal(
                "stitches-or-length",
                ("placing",),
                "tell the band by its stitches or its length",
                {"one_of": ["stitches", "length"]},
            )
        )
    if placing.stitches is not None:
        each = placing.hole_stitches or (hole.slit.skipped if hole.slit else hole.loop.spans)  # type: ignore[union-attr]
        return place(Placing(placing.holes, placing.stitches, placing.end_margin), each), None
    assert placing.length is not None
    return None, space(placing.holes, placing.length, placing.end_distance)
