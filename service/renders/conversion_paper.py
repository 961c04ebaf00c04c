"""Counts taken to another gauge, as a page to be printed and a table: written beside converted."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_conversion import ConversionAnswer, ConversionOrder
from ..engine.conversionparts import Converted
from ..engine.rowtext import plural
from ..engine.stitches import STITCHES
from ..engine.units import FOUR_INCHES, TEN_CM, WRITTEN, System, in_unit, written
from ..engine.wanting import Needed, Way
from .answer_papers import cautions
from .paper import Block, Heading, Paper, Points, Table, Words
from .rows import titled
from .tables import Cell, csv_of
from .wording import off

COLUMNS = (
    "part", "what", "written", "converted", "size_written", "size_converted", "size_difference",
    "unit", "shaping",
)  # fmt: skip


def conversion_paper(answer: ConversionAnswer, order: ConversionOrder) -> Paper:
    """The two gauges, every count as written beside as converted, the shaping, the gauge wanted."""
    return (
        Heading(1, _title(answer)),
        *_factors(answer),
        *_counts(answer, order.units),
        *_shaping(answer),
        *(_needed(answer.needed, order) if answer.needed else ()),
        *cautions(answer.cautions),
    )


def _title(answer: ConversionAnswer) -> str:
    stitch = STITCHES[answer.stitch_written].us.full
    if answer.stitch is None:
        return f"The gauge that the counts need: {stitch} (US terms)"
    if answer.stitch == answer.stitch_written:
        return f"Counts in {stitch} (US terms) at another gauge"
    return f"Counts taken from {stitch} to {STITCHES[answer.stitch].us.full} (US terms)"


def _factors(answer: ConversionAnswer) -> Iterator[Block]:
    if one := answer.factors:
        rows = _rows(answer)
        yield Words(
            f"{one.stitches:.3g} stitches at the new gauge for one as written, and {one.rows:.3g}"
            f" {rows}. With the counts as written the work would come out"
            f" {_percent(one.width_if_unchanged_percent, 'wider', 'narrower')} and"
            f" {_percent(one.height_if_unchanged_percent, 'taller', 'shorter')}."
        )


def _percent(share: float, more: str, less: str) -> str:
    if abs(share) < 0.05:
        return f"no {more}"
    return f"{abs(share):.1f} % {more if share > 0 else less}"


def _rows(answer: ConversionAnswer) -> str:
    return "rounds" if answer.worked == "round" else "rows"


Line = tuple[str, str, int | None, int | None, Converted | None, str]
"""Part, what is counted, as written, as converted, what they come to, shaping."""


def lines(answer: ConversionAnswer) -> Iterator[Line]:
    """Every count of the answer, in working order."""
    rows = _rows(answer)
    if base := answer.foundation:
        if base.chain is not None or base.written_chain is not None:
            yield "foundation", "chain", base.written_chain, base.chain, None, ""
        if base.written_stitches:  # a ring has none
            yield "foundation", "stitches", base.written_stitches, base.stitches, base.width, ""
    for one in answer.sections:
        was, size = one.written, one.sizes
        yield one.name, rows, was.rows, one.rows, size.height, one.in_words
        start = was.stitches_at_start, one.stitches_at_start, size.width_at_start
        if was.stitches_at_start:
            yield one.name, "stitches at start", *start, ""
        yield (
            one.name, "stitches at end", was.stitches_at_end, one.stitches_at_end,
            size.width_at_end, "",
        )  # fmt: skip
    for count in answer.counts:
        yield count.name, count.what, count.written, count.converted, count.sizes, ""
    if total := answer.totals:
        yield "in all", rows, total.written_rows, total.rows, total.height, ""


def _counts(answer: ConversionAnswer, units: System) -> Iterator[Block]:
    told = []
    for part, what, before, after, size, _ in lines(answer):
        sizes = ("", "", "")
        if size:
            sizes = (
                written(size.written, units), written(size.finished, units),
                off(size.written, size.finished, units),
            )  # fmt: skip
        told.append((part, what, _count(before), _count(after), *sizes))
    if told:
        yield Heading(2, "Counts")
        header = ("part", "count", "written", "converted", "was", "is", "difference")
        yield Table(header, tuple(told))
    if answer.totals and answer.totals.width:
        wide = answer.totals.width
        yield Words(
            f"At its widest {written(wide.written, units)} as written,"
            f" {written(wide.finished, units)} as converted."
        )


def _count(count: int | None) -> str:
    return "" if count is None else str(count)


def _shaping(answer: ConversionAnswer) -> Iterator[Block]:
    told: list[str] = []
    if (base := answer.foundation) and base.chain:
        first = base.first_stitch_in_chain
        into = f", first stitch in chain {first} from the hook" if first else ""
        told.append(f"Chain {base.chain}{into}.")
    told += [
        f"{titled(one.name)}: {plural(one.rows, _rows(answer)[:-1])}: {one.in_words}."
        for one in answer.sections
    ]
    if told:
        yield Heading(2, "At the new gauge")
        yield Points(tuple(told), numbered=True)


def _needed(need: Needed, order: ConversionOrder) -> Iterator[Block]:
    units = order.units
    yield Heading(2, "The gauge for the size that is wanted")
    rows = [
        _way(name, way, units)
        for name, way in (("stitches", need.stitches), ("rows", need.rows))
        if way
    ]
    per = "10 cm" if units == "metric" else "4 in"
    header = ("count", "now", "wanted", f"needed to {per}", "hook")
    yield Table(header, tuple(rows))
    told = {
        "same": "The hook stays: what is wanted is within half a stitch or row.",
        "opposite": "Width and height ask for different hooks: choose by the width.",
    }.get(need.hook, f"Try a {need.hook} hook.")
    if need.hooks_to_try:
        sizes = ", then ".join(f"{float(hook.diameter):g} mm" for hook in need.hooks_to_try)
        told += f" Begin with {sizes}."
    if need.rows_at_present_gauge is not None:
        told += f" At the present gauge, {need.rows_at_present_gauge} rows come to the height."
    yield Words(f"{told} {need.method}")


def _way(name: str, way: Way, units: System) -> tuple[str, ...]:
    per = float(way.needed_per_10_cm)
    if units == "imperial":
        per *= float(FOUR_INCHES / TEN_CM)
    return (
        f"{way.counted} {name}", written(way.now, units), written(way.wanted, units),
        f"{per:.3g}", way.direction,
    )  # fmt: skip


def conversion_csv(answer: ConversionAnswer, order: ConversionOrder) -> str:
    """A line a count, as written beside as converted, with what they come to.

    Where a size is wanted of counts that stay as they are, what they come to now and what is
    wanted stand in the part called wanted.
    """
    unit = WRITTEN["length"][order.units]

    def told() -> Iterator[tuple[Cell, ...]]:
        for part, what, before, after, size, shaping in lines(answer):
            sizes: tuple[Cell, ...] = (None, None, None)
            if size:
                ends = (size.written, size.finished, size.difference)
                sizes = tuple(in_unit(end, unit) for end in ends)
            yield part, what, before, after, *sizes, unit if size else None, shaping or None
        need = answer.needed
        for what, way in (("stitches", need.stitches), ("rows", need.rows)) if need else ():
            if way:
                ends = (way.now, way.wanted, way.wanted - way.now)
                sizes = tuple(in_unit(end, unit) for end in ends)
                yield "wanted", what, way.counted, way.counted, *sizes, unit, None

    return csv_of(COLUMNS, told())
