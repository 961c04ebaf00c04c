"""A piece on the hook, as callers send it: where the maker is, and what was measured."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.ask_gauge_check import Companion, GaugeCheckOrder
from ..engine.gauge import READ_TO
from ..engine.rounding import MOST_ROWS, MOST_STITCHES
from ..engine.tapes import Measured
from .fields import NAME, EaseSchema, Length, Loaded, Part, Strict, Text, Whole, said
from .piece_requests import PieceFields, piece_order


class AtSchema(Strict):
    """The last row worked."""

    section = Text(40, 1, required=True, **said("name of the section it lies in"))
    row = Whole(
        1,
        MOST_ROWS,
        required=True,
        **said(
            "row of the whole piece, counted from the foundation as its instructions and"
            " checkpoints number it"
        ),
    )


class MeasuredSchema(Strict):
    """What was measured there, before blocking; at least one of the three."""

    width = Length(
        "across that row; in the round across a disc (an oval its long way), else laid flat"
    )
    height = Length("up from the foundation; in the round along the fabric from the start")
    stitches = Whole(1, MOST_STITCHES, **said("stitches on that row, where the plan has others"))


class CompanionSchema(Loaded):
    """A piece worked already that this one is to match; both taped before blocking."""

    makes = Companion

    measured_width = Length("what its tape reads", required=True)
    ease = Part(EaseSchema, **said("ease, added; negative to take off; none when left out"))
    measurement = Text(
        40,
        1,
        NAME,
        **said("measurement of this piece that is to match, of its stitches; width when left out"),
    )


class HookSchema(Strict):
    """The hook in hand."""

    diameter = Length("diameter of the hook; this is its size", required=True)


class GaugeCheckRequest(PieceFields):
    """A plan, where the maker is in it, and what a tape reads there."""

    at = Part(AtSchema, required=True, **said("the last row worked"))
    measured = Part(MeasuredSchema, required=True, **said("what was measured there"))
    reading = Length(
        "how well the tape reads, either way; 2 mm when left out (common practice, no published"
        " source)"
    )
    companion = Part(CompanionSchema, **said("a piece worked already that this one is to match"))
    hook = Part(HookSchema, **said("the hook in hand, for the size of a step up or down"))

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> GaugeCheckOrder:
        units, at = self.units_of(original), data.pop("at")
        measured = Measured(**data.pop("measured"), reading=data.pop("reading", READ_TO))
        companion = data.pop("companion", None)
        hook = data.pop("hook", {}).get("diameter")
        return GaugeCheckOrder(
            piece_order(data, units), at["section"], at["row"], measured, companion, hook, units
        )
