"""Counts written at one gauge, as callers send them to be converted."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.ask_conversion import ConversionOrder, WrittenCount
from ..engine.rounding import MOST_ROWS, MOST_STITCHES
from ..engine.units import System, system_of
from ..engine.wanting import Wanted
from ..engine.writtenwork import WrittenFoundation, WrittenRun, WrittenSection
from .fields import Choice, Flag, Length, Loaded, Part, Parts, Text, Whole, said
from .parts_in import (
    EDGES,
    ROUNDINGS,
    Asked,
    FoundationSchema,
    GaugeSchema,
    detail_field,
    units_field,
)
from .terms_in import MultipleSchema

MOST_SECTIONS, MOST_RUNS, MOST_COUNTS = 20, 200, 100


class FoundationToConvertSchema(FoundationSchema, Loaded):
    """The foundation as written: its stitches, its chain, or both."""

    makes = WrittenFoundation

    chain = Whole(1, MOST_STITCHES + 5, **said("chains to make, as written"))
    stitches = Whole(
        0,
        MOST_STITCHES,
        **said("stitches of the first row, or that the first round goes into; 0 in a ring"),
    )


class WrittenRunSchema(Loaded):
    """A run of a schedule, in the form that answers have."""

    makes = WrittenRun

    rows = Whole(1, MOST_ROWS, required=True, **said("rows the run covers"))
    every = Whole(1, MOST_ROWS, **said("a shaping row each so many rows; 1 when left out"))
    times = Whole(0, MOST_ROWS, **said("shaping rows in the run; 0, worked even, when left out"))
    left = Whole(-1000, 1000, **said("stitches gained (or lost, negative) at the left edge"))
    right = Whole(-1000, 1000, **said("stitches gained (or lost, negative) at the right edge"))
    change = Whole(-1000, 1000, **said("in the round: stitches gained (or lost) in a round"))
    stitches_after = Whole(0, MOST_STITCHES, **said("stitches on its last row; checked"))


class WrittenSectionSchema(Loaded):
    """Rows as written: even, or shaped to an end count, by a schedule where one is told."""

    makes = WrittenSection

    name = Text(60, 1, required=True, **said("name of the section"))
    rows = Whole(1, MOST_ROWS, required=True, **said("rows or rounds, as written"))
    stitches_at_end = Whole(
        1, MOST_STITCHES, **said("stitches of its last row; as the schedule has it when left out")
    )
    schedule = Parts(
        Part(WrittenRunSchema), 0, MOST_RUNS, **said("its shaping; spread evenly when left out")
    )
    edges = Choice(EDGES, **said("edges that are shaped, with no schedule; both when left out"))


class WrittenCountSchema(Loaded):
    """A count that stands apart: a buttonhole's span, stitches of an edging."""

    makes = WrittenCount

    name = Text(60, 1, required=True, **said("name of the count"))
    what = Choice(("stitches", "rows"), required=True, **said("what is counted"))
    count = Whole(1, MOST_STITCHES, required=True, **said("the count as written"))
    multiple = Part(MultipleSchema, **said("counts it may have; any when left out"))


class WantedSchema(Loaded):
    """The size that the counts as written should come to."""

    makes = Wanted

    width = Length("width wanted at the widest (in the round, the way round)")
    height = Length("height wanted of all rows (in the round, along the fabric)")
    hook = Length("diameter of the hook in use, to name the next sizes from")


class ConversionRequest(Asked):
    """Counts written at one gauge, and the gauge or the size they should come to."""

    written_at = Part(
        GaugeSchema, required=True, data_key="from", **said("gauge the counts were written for")
    )
    to = Part(GaugeSchema, **said("gauge to convert them to"))
    wanted = Part(
        WantedSchema, **said("size wanted of the counts as they are: which gauge gives it?")
    )
    worked = Choice(("flat", "round"), **said("in rows or in the round; flat when left out"))
    foundation = Part(FoundationToConvertSchema, **said("the foundation as written"))
    sections = Parts(
        Part(WrittenSectionSchema), 0, MOST_SECTIONS, **said("the sections, in working order")
    )
    counts = Parts(Part(WrittenCountSchema), 0, MOST_COUNTS, **said("counts one by one"))
    new_turning = Part(
        FoundationSchema,
        **said(
            "custom for turning chains at the new gauge; as written where the stitch is the same,"
            " else the usual of the new stitch"
        ),
    )
    stitch_multiple = Part(MultipleSchema, **said("stitch counts that the stitch pattern allows"))
    row_multiple = Part(MultipleSchema, **said("row counts that the stitch pattern allows"))
    rounding = Choice(ROUNDINGS, **said("which whole count to take; nearest when left out"))
    right_side_only = Flag(**said("shape on right-side rows only; row 1 is one"))
    max_change = Whole(
        1,
        100,
        **said(
            "most stitches gained or lost in a row, both edges together; when left out, as many as"
            " were written, or one an edge"
        ),
    )
    detail = detail_field()
    units = units_field()

    def units_of(self, original: dict[str, Any]) -> System:
        if "units" in original:
            return super().units_of(original)
        return system_of(original.get("to", original["from"])["width"]["unit"])

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> ConversionOrder:
        turn = data.pop("new_turning", {})
        custom = turn.get("turning_chain"), turn.get("turning_chain_counts")
        return ConversionOrder(**{**data, "units": self.units_of(original)}, new_turning=custom)
