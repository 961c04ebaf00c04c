"""A gauge check as a page to be printed: on course or not, what comes of it, what mends it."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_gauge_check import GaugeCheck, GaugeCheckOrder
from ..engine.corrections import Correction
from ..engine.exact import Fraction
from ..engine.roundplans import RoundTemplate
from ..engine.rowtext import plural
from ..engine.tapes import Course, TapeCheck
from ..engine.units import MILLIMETRES, System, written
from .answer_papers import cautions
from .paper import Block, Heading, Paper, Points, Table, Words
from .wording import measures_table, name_of, off

VERDICTS = {"on-course": "on course", "over": "over", "under": "under"}


def check_paper(answer: GaugeCheck, order: GaugeCheckOrder) -> Paper:
    """The verdict first; then each tape, what comes of it, and the corrections in order."""
    units, seen = order.units, answer.course
    row = "round" if isinstance(order.piece.template, RoundTemplate) else "row"
    verdict = "On course" if seen.on_course else "Not on course"
    header = ("measured", "expected", "read", "difference", "near enough", "verdict")
    return (
        Heading(1, f"{verdict}: {order.piece.template.title}, {row} {seen.after_row}"),
        Words(_verdict_words(seen, answer, row)),
        Table(header, _read(seen, units)),
        *_corrections(answer, units),
        *_unchanged(answer, units),
        *_gauge(answer, units, row),
        *cautions(answer.cautions),
    )


def _verdict_words(seen: Course, answer: GaugeCheck, row: str) -> str:
    where = f"Measured after {row} {seen.after_row} ({seen.where})."
    if not seen.on_course:
        return f"{where} The work differs from its plan by more than is near enough."
    if answer.corrections:
        return f"{where} The work is as planned so far, but will not come to what was asked."
    return f"{where} Go on as planned."


def _read(seen: Course, units: System) -> tuple[tuple[str, ...], ...]:
    count = seen.stitches
    apart = f"{count.difference:+d}" if count.difference else "0"
    rows = [
        ("stitches", str(count.expected), str(count.counted), apart, "0", VERDICTS[count.verdict])
    ]
    for name, tape in (("width", seen.width), ("height", seen.height)):
        if tape:
            rows.append(_tape(name, tape, units))
    return tuple(rows)


def _tape(name: str, tape: TapeCheck, units: System) -> tuple[str, str, str, str, str, str]:
    return (
        name, written(tape.expected, units), written(tape.read, units),
        off(tape.expected, tape.read, units), f"{written(tape.tolerance, units)} either way",
        VERDICTS[tape.verdict],
    )  # fmt: skip


def _corrections(answer: GaugeCheck, units: System) -> Iterator[Block]:
    yield Heading(2, "What to do")
    if not answer.corrections:
        if answer.course.on_course:
            yield Words("Nothing: no correction is needed.")
        else:
            yield Words("No correction is offered; see the cautions, or measure again.")
        return
    told = sorted(answer.corrections, key=lambda one: one.rank)
    yield Words("Best first.")
    yield Points(tuple(_correction(one) for one in told), numbered=True)
    if best := next((one.finished for one in told if one.finished), None):
        rank = next(one.rank for one in told if one.finished)
        yield Words(f"After correction {rank}, the piece comes to:")
        yield measures_table(best, units)
    yield Words(f"Ranked: {answer.ranking}.")


def _correction(one: Correction) -> str:
    told = [one.text]
    if one.stitches_undone:
        told.append(f"This undoes {plural(one.stitches_undone, 'stitch', 'stitches')}.")
    if one.reaches:
        told.append("Every measurement is then near enough.")
    elif one.reaches is False:
        worst = one.worst_percent
        by = "" if worst is None else f": one is {abs(worst):.1f} % off"
        told.append(f"Not every measurement is then near enough{by}.")
    return " ".join(told)


def _unchanged(answer: GaugeCheck, units: System) -> Iterator[Block]:
    rows = []
    for name, one in answer.finished_if_unchanged.items():
        asked = "not given" if one.asked is None else written(one.asked, units)
        apart = "" if one.asked is None else off(one.asked, one.finished, units)
        low, high = (written(end, units) for end in one.interval)
        rows.append((name_of(name), asked, written(one.finished, units), apart, f"{low} to {high}"))
    yield Heading(2, "If it is worked on as planned")
    yield Table(("measurement", "asked", "comes to", "difference", "likely"), tuple(rows))


def _gauge(answer: GaugeCheck, units: System, row: str) -> Iterator[Block]:
    had = answer.gauge
    rows = []
    for name, seen in (("stitch width", had.stitch_width), (f"{row} height", had.row_height)):
        work = "not measured" if seen.work is None else _fine(seen.work, units)
        low, high = (_fine(end, units) for end in seen.interval)
        rows.append(
            (name, _fine(seen.swatch, units), work, _fine(seen.combined, units), f"{low} to {high}")
        )
    yield Heading(2, "The gauge that the work has")
    yield Table(("", "swatch", "work", "together", "likely"), tuple(rows))
    yield Words(f"Method: {had.method}. Source: {had.source}.")


def _fine(size: Fraction, units: System) -> str:
    """A stitch's width, to a hundredth of a millimetre or a thousandth of an inch."""
    if units == "metric":
        return f"{float(size):.2f} mm"
    return f"{float(size / MILLIMETRES['in']):.3f} in"
