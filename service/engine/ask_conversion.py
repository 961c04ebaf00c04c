"""One question: counts written for one gauge, what are they at another?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Literal

from .cautions import Caution
from .conversionparts import Converted, ConvertedFoundation, ConvertedSection, ConvertedTotals
from .converting import Converting, Pair, pair
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .foundation import Turning, turning
from .gauge import Gauge
from .rounding import ANY, Multiple, Rounding, whole
from .roundplans import NO_WRONG_SIDE
from .stitches import MAKE_ROWS
from .units import Fine, System
from .wanting import Needed, Wanted, needed
from .writtenwork import (
    Worked,
    WrittenFoundation,
    WrittenSection,
    check_sections,
    stitches_of,
)


@dataclass(frozen=True, slots=True)
class WrittenCount:
    """A count that stands apart from the sections: a buttonhole's span, stitches of an edging."""

    name: str
    what: Literal["stitches", "rows"]
    count: int
    multiple: Multiple = ANY


@dataclass(frozen=True, slots=True)
class ConversionOrder:
    """Counts written at a gauge, and the gauge or the size they should come to."""

    written_at: Gauge
    to: Gauge | None = None
    wanted: Wanted | None = None
    worked: Worked = "flat"
    foundation: WrittenFoundation | None = None
    sections: tuple[WrittenSection, ...] = ()
    counts: tuple[WrittenCount, ...] = ()
    new_turning: tuple[int | None, bool | None] = (None, None)
    stitch_multiple: Multiple = ANY
    row_multiple: Multiple = ANY
    rounding: Rounding = "nearest"
    right_side_only: bool = False
    max_change: int | None = None
    detail: Literal["runs", "rows"] = "runs"
    units: System = "metric"


@dataclass(frozen=True, slots=True)
class ConvertedCount:
    name: Annotated[str, "as sent"]
    what: Annotated[Literal["stitches", "rows"], "what is counted"]
    written: Annotated[int, "the count as written"]
    converted: Annotated[int, "the count at the gauge converted to"]
    sizes: Annotated[Converted, "its length, written and converted"]


@dataclass(frozen=True, slots=True)
class Factors:
    """How the two gauges stand to each other."""

    stitches: Annotated[float, "stitches at the new gauge for one as written"]
    rows: Annotated[float, "rows at the new gauge for one as written"]
    width_if_unchanged_percent: Annotated[
        float, "how much wider the counts as written come out at the new gauge, per cent"
    ]
    height_if_unchanged_percent: Annotated[float, "how much taller they come out, per cent"]


@dataclass(frozen=True, slots=True)
class ConversionAnswer:
    """The counts at the new gauge, each beside what was written; or the gauge that is wanted."""

    worked: Annotated[Worked, "in rows, or in the round"]
    stitch_written: Annotated[str, "stitch the counts were written for"]
    stitch: Annotated[str | None, "stitch of the gauge converted to"]
    written_stitch_width: Annotated[Fine, "width of one stitch as written"]
    written_row_height: Annotated[Fine, "height of one row as written"]
    factors: Annotated[Factors | None, "how the two gauges stand to each other"]
    foundation: Annotated[ConvertedFoundation | None, "how to begin at the new gauge"]
    sections: Annotated[tuple[ConvertedSection, ...], "sections at the new gauge, each re-spread"]
    counts: Annotated[tuple[ConvertedCount, ...], "the counts that were sent one by one"]
    totals: Annotated[ConvertedTotals | None, "the piece in all, before and after"]
    needed: Annotated[Needed | None, "the gauge at which the counts as written come to a size"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]


def conversions(order: ConversionOrder) -> ConversionAnswer:
    """Counts at another gauge, or the gauge that unchanged counts need.

    Raises Refused with everything that does not agree or cannot fit. Source: geometry.

    >>> from .gauge import square
    >>> asked = ConversionOrder(square(20, 20), square(22, 20), counts=(
    ...     WrittenCount("panel", "stitches", 200),))
    >>> conversions(asked).counts[0].converted
    220
    """
    found = Findings()
    _check_asked(order, found)
    both = pair(order.written_at, order.to or order.written_at)
    turn, start, ends = _as_written(order, found)
    found.settle()
    converting = Converting(
        both, order.worked, order.stitch_multiple, order.row_multiple, order.rounding,
        order.right_side_only, order.max_change, order.units, order.detail == "rows",
    )  # fmt: skip
    foundation = None
    sections: tuple[ConvertedSection, ...] = ()
    if order.foundation and order.to:
        with found.collecting():
            new = _new_turning(order, order.to, turn)
            foundation = converting.begin(order.foundation.chain, start, turn, new)
        if foundation:
            with found.collecting():
                sections = converting.sections(start, foundation.stitches, order.sections, ends)
    found.settle()
    wide = max((start, *ends))
    need = None
    if order.wanted:
        tall = sum(s.rows for s in order.sections)
        with found.collecting():
            need = needed(order.wanted, order.written_at, wide, tall, order.units)
    found.settle()
    return ConversionAnswer(
        worked=order.worked,
        stitch_written=order.written_at.stitch,
        stitch=order.to.stitch if order.to else None,
        written_stitch_width=order.written_at.stitch_width,
        written_row_height=order.written_at.row_height,
        factors=_factors(both) if order.to else None,
        foundation=foundation,
        sections=sections,
        counts=tuple(_count(c, both, order) for c in order.counts) if order.to else (),
        totals=converting.totals(wide, order.sections, foundation, sections)
        if foundation
        else None,
        needed=need,
        cautions=(*converting.cautions, *(need.cautions() if need else ())),
    )


def _check_asked(order: ConversionOrder, found: Findings) -> None:
    if not (order.to or order.wanted):
        detail = "give the gauge to convert to, or the size that the counts should come to"
        found.add("nothing-asked", (), detail, {"one_of": ["to", "wanted"]})
    if not (order.foundation or order.counts):
        detail = "give a foundation with its sections, or counts one by one"
        found.add("no-counts", (), detail, {"one_of": ["foundation", "counts"]})
    if order.sections and not order.foundation:
        detail = "sections stand on a foundation: say what the first row starts from"
        found.add("no-foundation", ("foundation",), detail, {"add": "foundation"})
    if order.wanted and not order.foundation:
        detail = "a wanted size is that of a piece: give its foundation and sections"
        found.add("no-foundation", ("foundation",), detail, {"add": "foundation"})
    for name, gauge in (("from", order.written_at), ("to", order.to)):
        if gauge and not gauge.kind.makes_rows:
            detail = "a chain makes a cord and no rows"
            found.add("stitch-makes-no-rows", (name, "stitch"), detail, [*MAKE_ROWS])
    if order.worked == "round" and order.right_side_only:
        found.refusals.append(NO_WRONG_SIDE)


def _as_written(order: ConversionOrder, found: Findings) -> tuple[Turning, int, tuple[int, ...]]:
    """The custom for turning, the stitches of the first row, and those each section ends with."""
    turn, start = Turning(1, False), 0
    ends: tuple[int, ...] = ()
    written = order.foundation
    if written:
        start = written.stitches or 0
        with found.collecting():
            turn = turning(
                order.written_at.kind, written.turning_chain, written.turning_chain_counts
            )
            start = stitches_of(written, turn, order.worked)
            _check_start(start, order)
        if not found.refusals or written.stitches is not None:
            with found.collecting():
                ends = check_sections(
                    start, order.sections, order.worked, order.stitch_multiple, order.row_multiple
                )
    return turn, start, ends


def _check_start(start: int, order: ConversionOrder) -> None:
    multiple = order.stitch_multiple
    if start and not multiple.allows(start):
        near = sorted({whole(Fraction(start), multiple, r) for r in ("at-most", "at-least")})
        detail = f"{start} stitches are not {multiple}"
        fits = [n for n in near if multiple.allows(n)]
        path: Path = ("foundation", "stitches")
        raise Refused(Refusal("not-in-multiple", path, detail, {"stitches": fits}))


def _new_turning(order: ConversionOrder, to: Gauge, turn: Turning) -> Turning:
    """As asked; else as written where the stitch is the same; else the usual of the new stitch."""
    chains, counts = order.new_turning
    if to.stitch == order.written_at.stitch and chains is None and counts is None:
        return turn
    try:
        return turning(to.kind, chains, counts)
    except Refused as refused:
        raise Refused(
            *(replace(r, path=("new_turning", *r.path[1:])) for r in refused.refusals)
        ) from None


def _factors(both: Pair) -> Factors:
    return Factors(
        stitches=float(both.stitches),
        rows=float(both.rows),
        width_if_unchanged_percent=float(100 / both.stitches - 100),
        height_if_unchanged_percent=float(100 / both.rows - 100),
    )


def _count(written: WrittenCount, both: Pair, order: ConversionOrder) -> ConvertedCount:
    across = written.what == "stitches"
    factor = both.stitches if across else both.rows
    units = (
        (both.written.stitch_width, both.new.stitch_width)
        if across
        else (both.written.row_height, both.new.row_height)
    )
    made = whole(written.count * factor, written.multiple, order.rounding)
    made = max(written.multiple.smallest, made)
    sizes = Converted.of(written.count * units[0], made * units[1])
    return ConvertedCount(written.name, written.what, written.count, made, sizes)
