"""Written instructions: the piece step by step, in US or UK terms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from .checkpoints import Checkpoint
from .edgings import EdgedCorner, EdgedSide
from .pieces import Made, PieceOrder
from .rowtext import Words, brackets, even_row, first_row, shaping_row
from .sections import Section
from .shaping import Run
from .stitches import STITCHES
from .units import FOUR_INCHES, TEN_CM, written

Line = tuple[str, int]
"""The text of a step, and the stitches there are after it."""


@dataclass(frozen=True, slots=True)
class Instruction:
    step: Annotated[int, "place in the working order, from 1"]
    text: Annotated[str, "what to do"]
    stitches: Annotated[int, "stitches in work after the step; 0 before there are any"]


def instructions(order: PieceOrder, made: Made) -> tuple[Instruction, ...]:
    """Every step from gauge to the last end woven in. Source: council-standards."""
    lines = list(_lines(order, made))
    return tuple(Instruction(i, text, stitches) for i, (text, stitches) in enumerate(lines, 1))


def _lines(order: PieceOrder, made: Made) -> Iterator[Line]:
    sized = made.sized
    words = Words(order.gauge.kind, sized.turn, order.terms)
    yield _before_you_start(order, made, words), 0
    yield f"Ch {sized.foundation.chain}.", sized.foundation.stitches
    checks = {c.after_row: c for c in made.checkpoints}
    for section in sized.sections:
        yield from _slit(made, section, words)
        for i, (text, stitches, last_row) in enumerate(_section(section, made, words)):
            title = f"{section.name.replace('_', ' ').replace('-', ' ').capitalize()}: "
            yield (title if not i else "") + text, stitches
            if (check := checks.get(last_row)) is not None:
                yield _check(check, order), stitches
    stitches = sized.sections[-1].stitches_at_end if sized.sections else sized.foundation.stitches
    loop = made.buttonhole.loop if made.buttonhole else None
    if made.edging:
        yield from _edging(made, words)
    if loop:
        yield _loop(made, words), made.edging.rounds[-1] if made.edging else stitches
    yield "Fasten off and weave in the ends.", made.edging.rounds[-1] if made.edging else stitches


def _before_you_start(order: PieceOrder, made: Made, words: Words) -> str:
    gauge, terms = order.gauge, order.terms
    metric = order.units == "metric"
    square, said = (TEN_CM, "10 cm") if metric else (FOUR_INCHES, "4 in")
    gauge_word = "Gauge" if terms == "us" else "Tension"
    blocked = " after blocking" if gauge.blocked_width or gauge.blocked_height else ""
    name = words.stitch.name(terms)
    across = float(square / gauge.stitch_width)
    up = float(square / gauge.row_height)
    extent = made.sized.extent
    parts = [
        f"{gauge_word}: {across:.4g} {name.short} and {up:.4g} rows to {said}{blocked}.",
        f"Terms are {terms.upper()}: {_legend(made, words)}.",
        f"Before edging the piece measures {written(extent.width, order.units)} at its widest and"
        f" {written(extent.height, order.units)} high.",
    ]
    if made.edging and made.edging.finished:
        edged = made.edging.finished
        parts.append(
            f"Edged, about {written(edged.width, order.units)} by"
            f" {written(edged.height, order.units)}."
        )
    if words.turn.counts:
        short = (
            f" A row that starts with a decrease begins with ch {words.short_turn} that does not"
            " count."
            if any(run.change < 0 for s in made.sized.sections for run in s.schedule)
            else ""
        )
        parts.append(
            f"The turning ch counts as the first {words.st} of its row; work the last st of the"
            f" next row into its top.{short}"
        )
    if any(run.left != run.right for s in made.sized.sections for run in s.schedule):
        parts.append(
            "Left and right are as the right side faces you; a RS row starts at the right edge"
            " (left-handed: at the left, and the two edges change places)."
        )
    return " ".join(parts)


def _legend(made: Made, words: Words) -> str:
    used = [STITCHES["chain"], words.stitch]
    if made.edging:
        used += [STITCHES[made.edging.stitch], STITCHES["slip-stitch"]]
    if made.buttonhole and made.buttonhole.loop:
        used += [STITCHES["single-crochet"], STITCHES["slip-stitch"]]
    names = dict.fromkeys(stitch.name(words.terms) for stitch in used)
    said = [f"{name.short} = {name.full}" for name in names]
    if any(run.change < 0 for s in made.sized.sections for run in s.schedule):
        name = words.stitch.name(words.terms)
        said.append(f"{words.together(2)} = {name.full} 2 together")
    return ", ".join([*said, "st(s) = stitch(es)", "RS/WS = right/wrong side"])


def _side(row: int) -> str:
    return "RS" if row % 2 else "WS"


def _rows(first: int, last: int) -> str:
    return f"Row {first} ({_side(first)})" if first == last else f"Rows {first}–{last}"


def _section(section: Section, made: Made, words: Words) -> Iterator[tuple[str, int, int]]:
    """Text, stitches and last row of each step; step ends fall on the section's last row."""
    row, stitches = section.first_row, section.stitches_at_start
    for run in section.schedule:
        yield from _run(run, row, made, words)
        row, stitches = row + run.rows, run.stitches_after
    last = section.first_row + section.rows - 1
    if row <= last:
        yield from _even(row, last, stitches, made, words)


def _even(
    row: int, last: int, stitches: int, made: Made, words: Words
) -> Iterator[tuple[str, int, int]]:
    if row == 1:
        text = first_row(words, made.sized.foundation)
        yield f"Row 1 (RS): {_capital(text)}. {brackets(stitches)}", stitches, 1
        row = 2
    if row <= last:
        text = _capital(even_row(words))
        yield f"{_rows(row, last)}: {text}. {brackets(stitches)}", stitches, last


def _shaped(row: int, before: int, run: Run, made: Made, words: Words) -> str:
    """A right-side row starts at the right edge, a wrong-side row at the left."""
    start, end = (run.right, run.left) if row % 2 else (run.left, run.right)
    if row == 1:
        return first_row(words, made.sized.foundation, start, end)
    return shaping_row(words, before, start, end)


def _run(run: Run, row: int, made: Made, words: Words) -> Iterator[tuple[str, int, int]]:
    """A run as its first time written out, then a repeat for the rest of its times."""
    if not run.times:
        yield from _even(row, row + run.rows - 1, run.stitches_after, made, words)
        return
    stitches, done = run.stitches_before, 0
    turns_about = run.left != run.right and run.every % 2 == 1
    unit = 2 if turns_about else 1
    written_out = 0
    while done < run.times:
        remaining = run.times - done
        last_is_odd_one_out = run.stitches_after == 1 and run.times > 1
        repeats = (remaining - last_is_odd_one_out) // unit
        if written_out >= unit and row > 1 + unit * run.every and repeats and _alike(stitches):
            counts = [stitches + (i + 1) * run.change for i in range(repeats * unit)]
            stitches, done = counts[-1], done + repeats * unit
            last = row + repeats * unit * run.every - 1
            yield _repeat(row, last, run, unit, repeats, counts, words), stitches, last
            row, written_out = last + 1, 0
            continue
        steps = list(_once(run, row, stitches, made, words))
        yield from steps
        _, stitches, last = steps[-1]
        row, done, written_out = last + 1, done + 1, written_out + 1


def _alike(stitches: int) -> bool:
    """Whether the next rows read like the last: a row of one stitch has a form of its own."""
    return stitches > 1


def _once(
    run: Run, row: int, stitches: int, made: Made, words: Words
) -> Iterator[tuple[str, int, int]]:
    shaping = row + run.every - 1
    if run.every > 1:
        yield from _even(row, shaping - 1, stitches, made, words)
    text = _capital(_shaped(shaping, stitches, run, made, words))
    after = stitches + run.change
    yield f"{_rows(shaping, shaping)}: {text}. {brackets(after)}", after, shaping


def _repeat(
    row: int, last: int, run: Run, unit: int, repeats: int, counts: list[int], words: Words
) -> str:
    kind = "increase" if run.change > 0 else "decrease"
    rows = unit * run.every
    if rows == 1:
        return f"{_rows(row, last)}: Work as Row {row - 1}. {brackets(*counts)}"
    times = f"{repeats} more {'time' if repeats == 1 else 'times'}"
    listed = brackets(*counts)
    if run.every > 1:
        listed = listed.replace(")", f" after each {kind} row)" if len(counts) > 1 else ")")
    return f"{_rows(row, last)}: Repeat the last {rows} rows {times}. {listed}"


def _check(check: Checkpoint, order: PieceOrder) -> str:
    units = order.units
    text = (
        f"Measure: {written(check.width, units)} across,"
        f" {written(check.width_tolerance, units)} either way is near enough"
    )
    if check.height is not None and check.height_tolerance is not None:
        text += (
            f"; {written(check.height, units)} up from the foundation,"
            f" {written(check.height_tolerance, units)} either way"
        )
    before = order.gauge.blocked_width or order.gauge.blocked_height
    return f"{text}{' (not yet blocked)' if before else ''}."


def _slit(made: Made, section: Section, words: Words) -> Iterator[Line]:
    hole = made.buttonhole
    if not hole or not hole.slit or not hole.placed:
        return
    slit, at = hole.slit, hole.placed
    if not section.first_row <= at.row < section.first_row + section.rows:
        return
    st = words.st
    if slit.direction == "across":
        where = "chs" if at.row == 1 else "sts"
        text = (
            f"Buttonhole, on Row {at.row}: work the row as below, but in its middle ch"
            f" {slit.chain} and {words.skip} {slit.skipped} {where} ({where} {at.first_stitch} to"
            f" {at.last_stitch} of those you are working into); on Row {at.row + 1} work"
            f" {slit.stitches_worked_back} {st} into the ch-{slit.chain} space, so that the count"
            " comes back."
        )
    else:
        text = (
            f"Buttonhole, on Rows {at.row} to {at.last_row}: work these {slit.skipped} rows as"
            f" below, but each half on its own, parted after st {at.first_stitch}; from Row"
            f" {at.last_row + 1} work across both halves again."
        )
    yield text, section.stitches_at_start


def _edging(made: Made, words: Words) -> Iterator[Line]:
    edging = made.edging
    assert edging is not None
    st = STITCHES[edging.stitch].name(words.terms).short
    loop = made.buttonhole.loop if made.buttonhole else None
    parts: list[str] = []
    for side in edging.sides:
        if side.stitches:
            parts.append(_along(side, st, loop.spans if loop else 0))
        if side.corner and (corner := _corner(edging.corners[0], st)):
            parts.append(corner)
    if loop and not edging.sides[-1].stitches:
        free = "st" if loop.spans == 1 else "sts"
        parts.append(f"leave the {loop.spans} {free} of the last row free for the loop")
        join, again = "", "ch 1, turn, "
    else:
        join_with = STITCHES["slip-stitch"].name(words.terms).short
        join, again = f"; join with {join_with} to the first {st}", "ch 1, "
    chains = f" and {edging.corner_chains} ch" if edging.corner_chains else ""
    ends_at_left = made.sized.totals.rows % 2 == 1
    start = (
        "with the RS facing you, from the top of the left edge, where the last row ended"
        if ends_at_left
        else "fasten off; with the RS facing you, join the yarn at the top of the left edge"
    )
    yield (
        f"Edging round 1: {start}, ch 1 and work"
        f" {'; '.join(parts)}{join}. ({edging.stitches} {st}{chains})",
        edging.stitches,
    )
    for number, count in enumerate(edging.rounds[1:], 2):
        corners = (
            f", {_later_corner(edging.corners[0], st)} at each corner" if chains or count else ""
        )
        yield (
            f"Edging round {number}: {again}{st} in each {st}{corners}{join}."
            f" ({count} {st}{chains})",
            count,
        )


def _split(corner: EdgedCorner, stitches: int, st: str) -> str:
    half = stitches // 2
    return f"({half} {st}, ch {corner.chains}, {stitches - half} {st})"


def _corner(corner: EdgedCorner, st: str) -> str:
    """What to do at a corner in the first round; nothing where it is a stitch like any other."""
    if corner.chains and not corner.stitches:
        return f"ch {corner.chains} for the corner"
    if corner.chains and corner.stitches > 1:
        return f"{_split(corner, corner.stitches, st)} in the corner in place of 1 {st}"
    if corner.chains:
        return f"ch {corner.chains} for the corner"
    return f"{corner.stitches} {st} in the corner in place of 1" if corner.stitches > 1 else ""


def _later_corner(corner: EdgedCorner, st: str) -> str:
    if corner.chains:
        return f"{_split(corner, max(2, corner.stitches), st)} in the corner ch"
    return f"{max(1, corner.stitches)} {st} in the middle st"


def _along(side: EdgedSide, st: str, left_free: int) -> str:
    each, several = {
        "foundation": ("ch", "chs"),
        "last-row": ("st", "sts"),
        "row-ends": ("row end", "row ends"),
    }[side.along]
    name = "foundation edge" if side.along == "foundation" else side.name
    if side.along == "last-row" and left_free:
        name += f" (leave the middle {left_free} sts free for the loop)"
    text = f"{side.stitches} {st} along the {name}"
    whole, rest = divmod(side.stitches, side.places)
    if not rest:
        return f"{text}, {whole} in each {each}"
    if not whole:
        skipped = side.places - side.stitches
        return f"{text}, leaving out {skipped} of its {side.places} {several}, evenly spaced"
    return (
        f"{text}, {whole} in each of its {side.places} {several} and one more in {rest} of them,"
        " evenly spaced"
    )


def _loop(made: Made, words: Words) -> str:
    assert made.buttonhole is not None
    assert made.buttonhole.loop is not None
    loop, edging = made.buttonhole.loop, made.edging
    cover = STITCHES["single-crochet"].name(words.terms).short
    join = STITCHES["slip-stitch"].name(words.terms).short
    over = f"the {loop.spans} {'st' if loop.spans == 1 else 'sts'}"
    if edging and not edging.sides[-1].stitches:
        start = "without cutting the yarn"
    else:
        start = f"join the yarn beside the middle {loop.spans} sts of the last row"
    return (
        f"Button loop: {start}, ch {loop.chain}, bring the ch across {over} left free and {join}"
        f" to the other side; turn, work {loop.covering_stitches} {cover} into the loop, {join} to"
        f" where it began. ({loop.covering_stitches} {cover} on the loop)"
    )


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
