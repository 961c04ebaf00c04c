"""Written instructions: the piece step by step, in US or UK terms."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from .checkpoints import Checkpoint
from .closuretext import loop_step, opened_rows
from .colourtext import Colouring
from .edgingtext import edging_steps
from .pieces import Made
from .rowlines import Fabric, Rows, stretch
from .rowtext import Words, words_of
from .schedules import clip, runs_of
from .sections import Section
from .shaping import Schedule
from .sizewords import edged_words, size_words
from .sizing import PieceOrder
from .stitches import STITCHES
from .units import FOUR_INCHES, TEN_CM, written
from .working import RUN, STEP, spend

Line = tuple[str, int]
"""The text of a step, and the stitches there are after it."""


@dataclass(frozen=True, slots=True)
class Instruction:
    step: Annotated[int, "place in the working order, from 1"]
    text: Annotated[str, "what to do"]
    stitches: Annotated[int, "stitches in work after the step; 0 before there are any"]


def instructions(order: PieceOrder, made: Made) -> tuple[Instruction, ...]:
    """Every step from gauge to the last end woven in. Source: council-standards."""
    spend(STEP * 4 + RUN * sum(len(section.schedule) for section in made.sized.sections))
    turn = made.sized.turn
    words = words_of(order.gauge.stitch, turn.chains, turn.counts, order.terms)
    colouring = Colouring.of(order.colours, made.sized)
    lines = [*_rows(order, made, words, colouring), *_making_up(order, made, words, colouring)]
    told = "\n".join(text for text, _ in lines)
    lines.insert(0, (_before_you_start(order, made, words, told), 0))
    return tuple(Instruction(i, text, stitches) for i, (text, stitches) in enumerate(lines, 1))


def _rows(
    order: PieceOrder, made: Made, words: Words, colouring: Colouring | None
) -> Iterator[Line]:
    sized = made.sized
    if sized.begun:
        yield going_on("Row", sized.begun.rows, sized.begun.stitches), sized.begun.stitches
    else:
        chain = f"Ch {sized.foundation.chain}."
        yield colouring.begun(chain) if colouring else chain, sized.foundation.stitches
    stitches = sized.begun.stitches if sized.begun else sized.foundation.stitches
    fabric = Fabric(words, sized.foundation)
    runs = runs_of(sized.sections)
    checks = {c.after_row: c for c in made.checkpoints}
    opened = opened_rows(made.buttonhole, sized.openings, runs, fabric)
    for section in sized.sections:
        title = f"{section.name.replace('_', ' ').replace('-', ' ').capitalize()}: "
        begun = sized.begun.rows if sized.begun else 0
        for told in colouring.section(section, begun) if colouring else ():
            yield f"{title}{told}", stitches
            title = ""
        for rows in _section(section, runs, opened, fabric, begun):
            yield f"{title}{rows}", rows.stitches
            title, stitches = "", rows.stitches
            if rows.last in checks and not rows.note.endswith("side"):
                yield measured(checks[rows.last], order), rows.stitches


def going_on(one: str, rows: int, stitches: int) -> str:
    """The step that stands for what is worked already."""
    worked = f"{one} 1 is" if rows == 1 else f"{one}s 1–{rows} are"
    there = "is 1 st" if stitches == 1 else f"are {stitches} sts"
    return f"{worked} worked, and there {there}: go on from there."


def _section(
    section: Section, runs: Schedule, opened: list[Rows], fabric: Fabric, begun: int
) -> Iterator[Rows]:
    """The section's rows that are not begun, with those of an opening in their place."""
    first, last = max(section.first_row, begun + 1), section.first_row + section.rows - 1
    row = first
    for rows in opened:
        if not first <= rows.first <= last:
            continue
        if row < rows.first:
            yield from stretch(clip(runs, row, rows.first - 1), row, fabric)
        yield rows
        row = rows.last + 1
    if row <= last:
        yield from stretch(clip(runs, row, last), row, fabric)


def _making_up(
    order: PieceOrder, made: Made, words: Words, colouring: Colouring | None
) -> Iterator[Line]:
    sized, hole = made.sized, made.buttonhole
    stitches = sized.sections[-1].stitches_at_end if sized.sections else sized.foundation.stitches
    loop, at = (hole.loop, hole.loop_place) if hole else (None, None)
    if made.edging:
        for told in colouring.edging() if colouring else ():
            yield told, stitches
        bridged = loop if at and at.whole and at.edge == "last-row" else None
        for text, stitches in edging_steps(made.edging, order.terms, sized.totals.rows, bridged):
            yield text, stitches
    if loop and at:
        told_of = [*colouring.loop()] if colouring else []
        yield from ((told, stitches) for told in told_of)
        yield loop_step(loop, at, made.edging, words, bool(told_of)), stitches
    yield "Fasten off and weave in the ends.", stitches
    gauge = order.gauge
    if gauge.blocked_width or gauge.blocked_height:
        finished = made.edging.finished if made.edging and made.edging.finished else sized.extent
        wide, high = (written(n, order.units) for n in (finished.width, finished.height))
        yield f"Block as the swatch was, to {wide} by {high}.", stitches


def _before_you_start(order: PieceOrder, made: Made, words: Words, told: str) -> str:
    gauge = order.gauge
    blocked = " after blocking" if gauge.blocked_width or gauge.blocked_height else ""
    square, said = (TEN_CM, "10 cm") if order.units == "metric" else (FOUR_INCHES, "4 in")
    across = float(square / gauge.stitch_width)
    up = float(square / gauge.row_height)
    extent = made.sized.extent
    gauge_word = "Gauge" if order.terms == "us" else "Tension"
    if not made.sized.sections:
        parts = [f"{gauge_word}: {across:.3g} {words.st} to {said}{blocked}."]
        parts.append(f"Finished length {written(extent.width, order.units)}{blocked}.")
    else:
        parts = [f"{gauge_word}: {across:.3g} {words.st} and {up:.3g} rows to {said}{blocked}."]
        what = "Before edging" if made.edging else "Finished size"
        parts.append(f"{what} {size_words(order.template, extent, order.units)}{blocked}.")
    if made.edging and made.edging.finished:
        parts.append(edged_words(made.edging.finished, order.units))
    parts.append(f"Terms are {order.terms.upper()}: {legend(_used(made, words), words, told)}.")
    parts += _turning(words, told)
    if colouring := Colouring.of(order.colours, made.sized):
        parts += colouring.before_you_start(order.template)
    one_sided = any(run.left != run.right for s in made.sized.sections for run in s.schedule)
    if one_sided or "left edge" in told:
        parts.append(
            "Left and right are as the right side faces you, and a RS row starts at the right edge"
            " (left-handed makers: at the left edge, and the two change places throughout)."
        )
    return " ".join(parts)


def _turning(words: Words, told: str) -> Iterator[str]:
    chains = words.turn.chains
    if words.turn.counts:
        yield (
            f"The turning ch counts as the first {words.st} of its row; work the last st of the"
            " next row into its top."
        )
        if "(does not count), turn" in told:
            yield (
                f"A row that starts with a decrease, or with a single st, begins with"
                f" ch {words.short_turn} that does not count."
            )
    elif chains > 1:
        yield (
            f"The turning ch {chains} does not count as a st here: work into the first st of every"
            " row, and never into the turning ch."
        )


def _used(made: Made, words: Words) -> list[str]:
    """Stitches that the making up uses."""
    used = ["chain", words.stitch.key]
    if made.edging:
        used.append(made.edging.stitch)
    if made.buttonhole and made.buttonhole.loop:
        used.append("single-crochet")
    if made.edging or (made.buttonhole and made.buttonhole.loop):
        used.append("slip-stitch")
    return used


def legend(used: list[str], words: Words, told: str) -> str:
    """What every abbreviation of the text stands for. Source: council-standards."""
    names = dict.fromkeys(STITCHES[key].name(words.terms) for key in used)
    said = [f"{name.short} = {name.full}" for name in names]
    full = words.stitch.name(words.terms).full
    for number in sorted(_worked_together(words.st, told)):
        said.append(
            f"{words.together(number)} = {number} {full} worked together (take each up to its last"
            " loop, then draw through all the loops at once)"
        )
    said.append("st(s) = stitch(es)")
    if "Row" in told:
        said.append("RS/WS = right/wrong side")
    return ", ".join(said)


def _worked_together(st: str, told: str) -> set[int]:
    """How many of the stitch the text works together: ``sc2tog``, ``Sc 3 tog``."""
    found = set()
    for before in told.split("tog")[:-1]:
        counted = before.rstrip(" ")
        name = counted.rstrip("0123456789")
        if name != counted and name.rstrip(" ").endswith((st, st.capitalize())):
            found.add(int(counted[len(name) :]))
    return found


def measured(check: Checkpoint, order: PieceOrder, up: str = "up from the foundation") -> str:
    """A checkpoint in words. Source: common-practice."""
    units = order.units
    told = []
    if check.width is not None and check.width_tolerance is not None:
        told.append(
            f"{written(check.width, units)} across, {written(check.width_tolerance, units)} either"
            " way is near enough"
        )
    if check.height is not None and check.height_tolerance is not None:
        told.append(
            f"{written(check.height, units)} {up},"
            f" {written(check.height_tolerance, units)} either way"
            + ("" if told else " is near enough")
        )
    before = order.gauge.blocked_width or order.gauge.blocked_height
    return f"Measure: {'; '.join(told)}{' (not yet blocked)' if before else ''}."
