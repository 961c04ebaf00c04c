"""One question: which loop or opening takes this button, and where do several go?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .cautions import Caution, small_part
from .errors import Findings
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
    check_closure,
    opening_cautions,
)
from .rowtext import plural
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
    found, gauge = Findings(), order.gauge
    check_closure(order.closure, order.button, found)
    if order.placing:
        _check_placing(order.placing, found)
    found.settle()
    hole = buttonhole(order.button, gauge.stitch_width, gauge.row_height, order.closure)
    placed = spaced = None
    if order.placing:
        placed, spaced = _places(order.placing, hole)
    raised: list[Caution] = []
    if caution := small_part(order.button.diameter, ("button", "diameter")):
        raised.append(caution)
    raised += opening_cautions(hole)
    if caution := _other_size(order.placing, hole):
        raised.append(caution)
    return Openings(hole.loop, hole.slit, placed, spaced, tuple(raised))


_OF_THE_OTHER: dict[str, dict[str, str | None]] = {
    "stitches": {"end_distance": "end_margin"},
    "length": {"end_margin": "end_distance", "hole_stitches": None},
}
"""What is told of a band the other way, and what stands for it."""


def _check_placing(placing: PlacingOrder, found: Findings) -> None:
    """A band is told by its stitches or by its length, and its ends and openings likewise."""
    if (placing.stitches is None) == (placing.length is None):
        detail = "tell the band by its stitches or its length"
        choices = ["stitches", "length"]
        found.add("stitches-or-length", ("placing",), detail, {"one_of": choices})
        return
    by, other = ("stitches", "length") if placing.length is None else ("length", "stitches")
    for name, instead in _OF_THE_OTHER[by].items():
        if getattr(placing, name):
            detail = f"{name} is of a band told by its {other}, and this one is told by its {by}"
            way_out = {"use": instead} if instead else {"leave_out": name}
            found.add("placed-the-other-way", ("placing", name), detail, way_out)


def _other_size(placing: PlacingOrder | None, hole: Buttonhole) -> Caution | None:
    """Openings placed at another size than the one that is worked out or told for the button."""
    if placing is None or placing.stitches is None or placing.hole_stitches is None:
        return None
    if placing.hole_stitches == _stitches_of(hole):
        return None
    each = plural(placing.hole_stitches, "stitch", "stitches")
    return Caution(
        "placed-at-another-size",
        f"The openings are placed at {each} each, as asked; the one for this button takes"
        f" {_stitches_of(hole)}. Tell the closure the same count to see whether the button passes"
        " it, or leave hole_stitches out.",
        ("placing", "hole_stitches"),
        "common-practice",
    )


def _stitches_of(hole: Buttonhole) -> int:
    """Stitches along a band that one opening takes."""
    if hole.slit:
        return hole.slit.skipped
    assert hole.loop is not None
    return hole.loop.spans


def _places(placing: PlacingOrder, hole: Buttonhole) -> tuple[Placed | None, Spaced | None]:
    if placing.stitches is not None:
        each = placing.hole_stitches or _stitches_of(hole)
        return place(Placing(placing.holes, placing.stitches, placing.end_margin), each), None
    assert placing.length is not None
    return None, space(placing.holes, placing.length, placing.end_distance)
