"""Parts that several questions share: gauge, button, closure, edging."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.continuing import ContinueOrder
from ..engine.edgings import Corner, EdgingOrder
from ..engine.exact import Fraction
from ..engine.gauge import Gauge
from ..engine.openings import Button, ClosureOrder
from ..engine.rounding import MOST_ROWS, MOST_STITCHES
from ..engine.roundplans import InTheRound
from ..engine.stitches import MAKE_ROWS, STITCHES
from ..engine.units import SYSTEMS, System, system_of
from .fields import (
    LEAST,
    Choice,
    Flag,
    Length,
    Loaded,
    Number,
    Part,
    Strict,
    Text,
    Whole,
    said,
)

WORKED = tuple(STITCHES)
ROUNDINGS = ("nearest", "at-least", "at-most")
EDGES = ("both", "left", "right")


def percent(value: Fraction) -> Fraction:
    return value / 100


class BlockedSchema(Strict):
    """The same swatch measured again after blocking."""

    width = Length("width of the same stitches, blocked")
    height = Length("height of the same rows, blocked")


class GaugeSchema(Strict):
    """So many stitches over this width, so many rows over this height."""

    stitch = Choice(WORKED, required=True, **said("stitch of the swatch"))
    stitches = Number(LEAST, 1000, required=True, **said("stitches counted, fractions too"))
    width = Length("width those stitches measure", required=True)
    rows = Number(LEAST, 1000, required=True, **said("rows counted, fractions too"))
    height = Length("height those rows measure", required=True)
    blocked = Part(BlockedSchema, **said("the same swatch measured again after blocking"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Gauge:
        blocked = data.pop("blocked", {})
        return Gauge(
            **data, blocked_width=blocked.get("width"), blocked_height=blocked.get("height")
        )


class ButtonSchema(Loaded):
    """The button in hand."""

    makes = Button

    diameter = Length("across the button", required=True)
    thickness = Length("through the button; 3 mm is taken when left out")


class ClosureSchema(Strict):
    """How the button closes; sizes left out are worked out."""

    kind = Choice(("loop", "slit"), **said("a chain loop on the last row, or a slit in the fabric"))
    span = Whole(1, 100, **said("stitches that a loop bridges; 2 when left out"))
    chains = Whole(1, 200, **said("chains of the loop, to check a loop of your own"))
    skipped = Whole(1, 100, **said("stitches or rows of the slit, to check one of your own"))
    direction = Choice(("across", "along"), **said("a slit across a row, or up the rows"))
    chains_over = Choice(
        ("as-skipped", "one-fewer"),
        **said("chains over a slit: as many as skipped, or one fewer since chains stretch"),
    )
    stretch_percent = Number(
        0,
        100,
        **said("the most a slit is asked to give as the button goes through; 50 when left out"),
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> ClosureOrder:
        if "stretch_percent" in data:
            data["stretch"] = percent(data.pop("stretch_percent"))
        return ClosureOrder(**data)


class CornerSchema(Strict):
    """What is worked at a corner."""

    stitches = Whole(0, 20, **said("stitches into the corner, in place of one; 0 when left out"))
    chains = Whole(0, 10, **said("chains at the corner; 0 when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Corner:
        return Corner(data.get("stitches", 0), data.get("chains", 0))


class EdgingSchema(Loaded):
    """An edging round the piece."""

    makes = EdgingOrder

    stitch = Choice(
        tuple(s for s in WORKED if s in MAKE_ROWS),
        **said("stitch of the edging; the piece's own when left out"),
    )
    rounds = Whole(1, 20, **said("rounds of edging; 1 when left out"))
    corner = Part(CornerSchema, **said("what is worked at each corner; one chain when left out"))
    spread = Choice(
        ("usual", "measured"),
        **said("sides by the stitch's usual ratio to row ends, or by measured length"),
    )
    gauge = Part(GaugeSchema, **said("the edging's own gauge, where it differs"))


class FoundationSchema(Strict):
    """The custom for turning chains, where the trade has two."""

    turning_chain = Whole(1, 5, **said("chains to turn with"))
    turning_chain_counts = Flag(**said("whether the turning chain stands for a stitch"))


class InTheRoundSchema(Loaded):
    """Choices for a piece in the round; the template's own where left out."""

    makes = InTheRound

    rounds = Choice(("joined", "spiral"), **said("how rounds end"))
    offset = Flag(**said("whether increases are set off from those of the round before"))
    increases = Whole(
        1, 200, **said("stitches a disc gains a round; those that lie flat when left out")
    )


class ContinueSchema(Strict):
    """The last row worked, and what is known of the work so far."""

    section = Text(40, 1, required=True, **said("name of the section it lies in"))
    row = Whole(
        1,
        MOST_ROWS,
        required=True,
        **said("last row worked, of the whole piece, as its instructions number it"),
    )
    stitches = Whole(1, MOST_STITCHES, **said("stitches on the hook; as planned when left out"))
    height = Length(
        "from the foundation (in the round: along the fabric from the start) to the hook, as a tape"
        " reads it; as the gauge makes it when left out"
    )
    planned_gauge = Part(
        GaugeSchema, **said("gauge that the rows so far were planned by, where it was another")
    )
    section_done = Flag(**said("whether the section ends with this row; false when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> ContinueOrder:
        return ContinueOrder(planned=data.pop("planned_gauge", None), **data)


def units_field() -> Choice:
    return Choice(SYSTEMS, **said("units of the answer; those of the gauge when left out"))


def terms_field() -> Choice:
    return Choice(("us", "uk"), **said("terms of the instructions; us when left out"))


def detail_field() -> Choice:
    return Choice(("runs", "rows"), **said("rows adds the stitch count of every row"))


class Asked(Strict):
    """A request body; its unit system is the one asked for, else the gauge's own."""

    def units_of(self, original: dict[str, Any]) -> System:
        if "units" in original:
            system: System = original["units"]
            return system
        gauge = original.get("gauge")
        return system_of(gauge["width"]["unit"]) if gauge else "metric"
