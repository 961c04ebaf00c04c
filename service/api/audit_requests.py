"""Written rows as callers state them, to be audited."""

from __future__ import annotations

from functools import cache
from typing import Any, cast

from marshmallow import post_load

from ..engine.auditorder import (
    MOST_LINES,
    AuditOrder,
    AuditPiece,
    FoundationOrder,
    Kind,
    LineOrder,
    RunOrder,
    StatedClosure,
    StatedMeasurement,
    ToLast,
    WorkOrder,
)
from ..engine.projectorder import MOST_PIECES, MOST_SEAMS, MOST_SIZES
from ..engine.rounding import MOST_ROWS, MOST_STITCHES
from .fields import (
    LABEL,
    WORDS,
    Choice,
    Field,
    Flag,
    LengthSchema,
    Loaded,
    Named,
    Number,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)
from .parts_in import Asked, ButtonSchema, GaugeSchema, percent, units_field
from .project_requests import SeamSchema


class _BySize(Strict):
    """A value for each size, by its name."""

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["by_size"]


def _by_size(name: str, inner: Field, told: str) -> Part:
    by_size = Named(inner, MOST_SIZES, LABEL, required=True, **said(told))
    made = _BySize.from_dict({"by_size": by_size}, name=name)
    made.__doc__ = _BySize.__doc__
    return Part(cast(type[_BySize], made))


@cache
def _count_by_size(least: int, most: int) -> Part:
    told = "a whole number for every size, by its name"
    return _by_size(f"Count{least}To{most}BySizeSchema", Whole(least, most), told)


_STITCHES = _count_by_size(0, MOST_STITCHES)


def _count(description: str, least: int = 0, most: int = MOST_STITCHES, **kwargs: Any) -> Field:
    """A whole number, the same in every size or by size."""
    kinds = {"number": Whole(least, most), "by_size": _count_by_size(least, most)}
    return OneOfKinds(kinds, **said(description, **kwargs))


class ToLastSchema(Strict):
    """As far as so many stitches before the end of the row."""

    to_last = _count("stitches of the row below that are left for what follows", required=True)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> ToLast:
        return ToLast(data["to_last"])


def _extent(description: str) -> Field:
    kinds = {
        "number": Whole(0, MOST_STITCHES),
        "string": Choice(("to-end",), **said("to the end of the row")),
        "to_last": Part(ToLastSchema),
        "by_size": _STITCHES,
    }
    return OneOfKinds(kinds, **said(description, required=True))


class _Worked(Strict):
    """One thing that is worked; what it is called is the first of its members."""

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> WorkOrder:
        kind = next(iter(self.declared_fields))
        extent = data[kind]
        if kind == "turning_chain":
            extent = int(extent == "counts")
        if kind == "leave" and extent == "rest":
            extent = "to-end"
        return WorkOrder(cast(Kind, kind), extent, data.get("counts_as", 0))


class PlainSchema(_Worked):
    """A stitch into each stitch."""

    plain = _extent("how many, or how far")


class IncreaseSchema(_Worked):
    """Several stitches into one."""

    increase = _count("stitches into the one stitch", 2, 100, required=True)


class TogetherSchema(_Worked):
    """Several stitches worked together into one."""

    together = _count("stitches worked together", 2, 100, required=True)


class SkipSchema(_Worked):
    """Stitches that are passed over."""

    skip = _count("stitches passed over", required=True)


class ChainSchema(_Worked):
    """Chains in a row, as over an opening."""

    chain = _count("chains", required=True)
    counts_as = _count("stitches that the chains count as in this row", required=True)


class IntoSpaceSchema(_Worked):
    """Stitches into a chain space of the row below, which they use up."""

    into_space = _count("stitches into the space", 1, 1000, required=True)


class SameStitchSchema(_Worked):
    """Stitches into the stitch that was worked into last."""

    same_stitch = _count("stitches more into it", 1, 100, required=True)


class IntoRingSchema(_Worked):
    """Stitches into the ring that a first round begins with."""

    into_ring = _count("stitches into the ring", 1, 1000, required=True)


class TurningChainSchema(_Worked):
    """The chains a row begins with: those that count stand on the first stitch of the row below."""

    turning_chain = Choice(
        ("counts", "does-not-count"), required=True, **said("whether they stand for a stitch")
    )


class LeaveSchema(_Worked):
    """Stitches left unworked, as where the work is turned early."""

    leave = OneOfKinds(
        {
            "number": Whole(0, MOST_STITCHES),
            "string": Choice(("rest",), **said("all that are left")),
            "by_size": _STITCHES,
        },
        required=True,
        **said("stitches left unworked"),
    )


_SIMPLE: dict[str, Field] = {
    "plain": Part(PlainSchema),
    "increase": Part(IncreaseSchema),
    "together": Part(TogetherSchema),
    "skip": Part(SkipSchema),
    "chain": Part(ChainSchema),
    "into_space": Part(IntoSpaceSchema),
    "same_stitch": Part(SameStitchSchema),
    "into_ring": Part(IntoRingSchema),
    "turning_chain": Part(TurningChainSchema),
    "leave": Part(LeaveSchema),
}


class RepeatSchema(Strict):
    """Work that is repeated along the row. Inside it everything has a number."""

    repeat = Parts(OneOfKinds(_SIMPLE), 1, 40, required=True, **said("what is repeated"))
    times = _extent("how often, or how far")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> WorkOrder:
        return WorkOrder("repeat", data["times"], group=data["repeat"])


_WORK = Parts(OneOfKinds({"repeat": Part(RepeatSchema), **_SIMPLE}), 0, 100)


class AuditRunSchema(Strict):
    """A run of a schedule, as answers of this service have it."""

    rows = Whole(1, MOST_ROWS, required=True, **said("rows this run covers"))
    every = Whole(1, MOST_ROWS, **said("a shaping row each so many rows; 1 when left out"))
    times = Whole(0, MOST_ROWS, **said("shaping rows in the run; 0 when left out: worked even"))
    left = Whole(-1000, 1000, **said("stitches gained (lost: negative) at the left edge"))
    right = Whole(-1000, 1000, **said("stitches gained (lost: negative) at the right edge"))
    change = Whole(
        -MOST_STITCHES,
        MOST_STITCHES,
        **said("stitches gained (lost: negative) besides, as in the round"),
    )
    stitches_after = Whole(
        0, MOST_STITCHES, **said("stitches stated after the last row of the run")
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> RunOrder:
        change = sum(data.pop(name, 0) for name in ("left", "right", "change"))
        return RunOrder(**data, change=change)


_RUNS = Parts(Part(AuditRunSchema), 0, 1000)


class AsRowsSchema(Strict):
    """Rows that are written out already, to be worked over and over."""

    first = _count("the first of them", 1, MOST_ROWS, required=True)
    last = _count("the last of them; the first when left out", 1, MOST_ROWS)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["first"], data.get("last", data["first"])


class LineSchema(Loaded):
    """One line of the pattern: rows worked alike, by a schedule, or as rows before them."""

    makes = LineOrder

    first_row = _count("its first row; when left out, the one after the line before", 1, MOST_ROWS)
    last_row = _count(
        "its last row; when left out, the first, or the last that its schedule covers",
        1,
        MOST_ROWS,
    )
    work = OneOfKinds(
        {"array": _WORK, "by_size": _by_size("WorkBySizeSchema", _WORK, "the work in each size")},
        **said("what each of its rows works, in order"),
    )
    schedule = OneOfKinds(
        {
            "array": _RUNS,
            "by_size": _by_size("ScheduleBySizeSchema", _RUNS, "the schedule in each size"),
        },
        **said("in place of the work: shaping as runs of rows; rows past them are worked even"),
    )
    as_rows = Part(
        AsRowsSchema,
        **said("in place of the work: rows of the piece that its rows repeat, in their order"),
    )
    stitches = _count("stitches stated after its last row")
    section = Text(40, 1, WORDS, **said("section of the piece that its rows belong to"))
    sizes = Parts(
        Text(40, 1, LABEL), 1, MOST_SIZES, **said("sizes it is worked in; all when left out")
    )


class WrittenFoundationSchema(Strict):
    """What the first row is worked into."""

    chain = _count("chains stated", 1)
    first_stitch_in_chain = Whole(
        1, 20, **said("chain that the first stitch goes into, from the hook; 1 when left out")
    )
    turning_chain_counts = Flag(
        **said("whether the chains skipped stand for a stitch; false when left out")
    )
    both_sides = Flag(**said("whether the chain is worked along both its sides, as for an oval"))
    stitches = _count("places stated to work the first row into", 1)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> FoundationOrder:
        if "turning_chain_counts" in data:
            data["skipped_chains_count"] = data.pop("turning_chain_counts")
        return FoundationOrder(**data)


_LENGTHS = _by_size("LengthBySizeSchema", Part(LengthSchema), "a length for every size")


class StatedMeasurementSchema(Loaded):
    """A finished measurement that the pattern states."""

    makes = StatedMeasurement

    name = Text(40, 1, WORDS, required=True, **said("name of the measurement"))
    measures = Choice(
        ("width", "height", "circumference", "diameter"),
        required=True,
        **said("what is measured; a diameter is that of the stitches in a circle"),
    )
    at = Choice(
        ("foundation", "last-row", "widest"),
        **said("where a width is taken; widest when left out"),
    )
    section = Text(
        40, 1, WORDS, **said("section whose height, or width after its last row, is measured")
    )
    stated = OneOfKinds(
        {"value": Part(LengthSchema), "by_size": _LENGTHS},
        required=True,
        **said("the length stated, in every size or by size"),
    )


class StatedClosureSchema(Strict):
    """An opening that the pattern states, and the button that is to pass."""

    name = Text(40, 1, WORDS, required=True, **said("name of the opening"))
    kind = Choice(("loop", "slit"), required=True, **said("a chain loop, or a slit across a row"))
    button = Part(ButtonSchema, required=True, **said("the button in hand"))
    chains = _count("chains of a loop", 1, 200)
    spans = _count("stitches that a loop bridges; 2 when left out", 1, 200)
    skipped = _count("stitches of a slit", 1, 200)
    stretch_percent = Number(0, 100, **said("the most a slit is asked to give; 50 when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> StatedClosure:
        if "stretch_percent" in data:
            data["stretch"] = percent(data.pop("stretch_percent"))
        return StatedClosure(**data)


class WrittenPieceSchema(Loaded):
    """One written piece: what it begins with, its rows, and what is stated of it."""

    makes = AuditPiece

    name = Text(40, 1, WORDS, required=True, **said("name of the piece"))
    worked = Choice(("flat", "round"), **said("in rows, or in the round; flat when left out"))
    foundation = Part(
        WrittenFoundationSchema,
        **said(
            "what the first row is worked into; left out, a piece in the round begins in a ring"
        ),
    )
    gauge = Part(GaugeSchema, **said("gauge of the piece; the one for all when left out"))
    rows = Parts(Part(LineSchema), 1, MOST_LINES, required=True, **said("its lines, in order"))
    measurements = Parts(
        Part(StatedMeasurementSchema), 0, 40, **said("finished measurements stated of it")
    )
    closures = Parts(Part(StatedClosureSchema), 0, 20, **said("openings for buttons"))


class AuditRequest(Asked):
    """Written rows with their stated counts and measurements. Rows are counted in every size; at
    most 10,000 rows a piece, and 200,000 stitch groups in all, are worked through."""

    sizes = Parts(
        Text(40, 1, LABEL),
        1,
        MOST_SIZES,
        required=True,
        **said("names of the sizes, smallest first"),
    )
    gauge = Part(GaugeSchema, **said("gauge of every piece that has none of its own"))
    pieces = Parts(Part(WrittenPieceSchema), 1, MOST_PIECES, required=True, **said("the pieces"))
    seams = Parts(Part(SeamSchema), 0, MOST_SEAMS, **said("edges that are joined"))
    units = units_field()

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> AuditOrder:
        return AuditOrder(**{**data, "units": self.units_of(original)})
