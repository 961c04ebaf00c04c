"""The lines of a written piece in one size: which rows each covers, and what is stated of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from .auditfindings import Amount, Finding, Remedy
from .auditorder import AuditPiece, LineOrder, RunOrder, in_size
from .auditrows import Budget, Step, steps
from .errors import Path, Refusal, Refused
from .rounding import MOST_ROWS


@dataclass(frozen=True, slots=True)
class Unit:
    """Rows that are worked alike, or by one run; ``stated`` stitches after the last of them."""

    first: int
    last: int
    row: tuple[Step, ...] | None
    run: RunOrder | None
    stated: int | None
    path: Path
    stated_path: Path
    line: tuple[int, int]
    """First and last row of the line they stand in."""
    section: str | None
    rows: int


@dataclass(frozen=True, slots=True)
class Lines:
    units: tuple[Unit, ...]
    findings: tuple[Finding, ...]
    numbered: bool
    """Whether the row numbers follow on from each other, so that rows can be counted by them."""
    rows: int


def by_size(path: Path, value: object, size: str) -> Path:
    """The field a value of one size stands in.

    Source: common-practice.

    >>> by_size(("stitches",), {"desk": 38}, "desk")
    ('stitches', 'by_size', 'desk')
    """
    return (*path, "by_size", size) if isinstance(value, Mapping) else path


Written = list[tuple[int, int, tuple[Step, ...], Path]]
"""Rows from the first to the last, what each works, and the field that tells it."""


def lines(piece: AuditPiece, size: str, path: Path, budget: Budget) -> Lines:
    """The piece's lines in one size. Raises Refused for more rows than are reckoned, and for rows
    to be worked as others that are not written out.

    A line with no row numbers follows on from the one before. Source: common-practice.

    >>> from .auditorder import WorkOrder
    >>> plain = (WorkOrder("plain", "to-end"),)
    >>> made = lines(AuditPiece("case", (LineOrder(plain), LineOrder(plain, last_row=9))), "", (),
    ...     Budget())
    >>> [(unit.first, unit.last) for unit in made.units]
    [(1, 1), (2, 9)]
    """
    units: list[Unit] = []
    findings: list[Finding] = []
    written: Written = []
    expected, rows = 1, 0
    # After a wrong number, the lines may go on from it or from the right one.
    follows: set[int] = set()
    what = "Row" if piece.worked == "flat" else "Round"
    for i, line in enumerate(piece.rows):
        if line.sizes is not None and size not in line.sizes:
            continue
        at: Path = (*path, "rows", i)
        runs = () if line.schedule is None else in_size(line.schedule, size)
        covered = sum(run.rows for run in runs)
        first = expected if line.first_row is None else in_size(line.first_row, size)
        if first in follows:
            expected = first
        last = first + max(covered, 1) - 1
        if line.last_row is not None:
            last = in_size(line.last_row, size)
        if first != expected or last < first:
            findings.append(_numbers(piece, line, size, at, (first, last), expected, what))
        if line.last_row is not None and last >= expected:
            first = expected  # rows are counted by the numbers they end on
        last = max(first, last)
        count = last - first + 1
        rows += count
        if rows > MOST_ROWS:
            detail = f"the rows come to more than {MOST_ROWS} in size {size}"
            raise Refused(Refusal("too-many-rows", at, detail, {"rows": MOST_ROWS}))
        if covered > count:
            after = _after(piece, i, size)
            findings.append(_covers(piece, line, size, at, (first, last), covered, after))
        if line.as_rows is None:
            made = _units(line, size, at, first, last, runs)
        else:
            made = _copied(line, size, at, first, last, written, budget)
        for unit in made:
            units.append(unit)
            if unit.row is not None:
                written.append((unit.first, unit.last, unit.row, unit.path))
        follows = {last + 1, expected + count}
        expected = last + 1
    return Lines(tuple(units), tuple(findings), not findings, rows)


def _units(
    line: LineOrder, size: str, at: Path, first: int, last: int, runs: tuple[RunOrder, ...]
) -> Iterator[Unit]:
    stated = None if line.stitches is None else in_size(line.stitches, size)
    told = by_size((*at, "stitches"), line.stitches, size)
    whole = (first, last)
    if line.work is not None:
        row = steps(line.work, size, (*at, "work"))
        field = by_size((*at, "work"), line.work, size)
        yield Unit(first, last, row, None, stated, field, told, whole, line.section,
                   last - first + 1)  # fmt: skip
        return
    done = first
    field = by_size((*at, "schedule"), line.schedule, size)
    for j, run in enumerate(runs):
        to = min(done + run.rows - 1, last)
        after: Path = (*field, j, "stitches_after")
        yield Unit(done, to, None, run, run.stitches_after, (*field, j), after, whole,
                   line.section, max(0, to - done + 1))  # fmt: skip
        done += run.rows
    # What the schedule leaves out is worked even; the count of the line is stated of its end.
    yield Unit(min(done, last), last, None, RunOrder(0), stated, field, told, whole, line.section,
               max(0, last - done + 1))  # fmt: skip


def _copied(
    line: LineOrder,
    size: str,
    at: Path,
    first: int,
    last: int,
    written: Written,
    budget: Budget,
) -> Iterator[Unit]:
    """Rows worked as others that are written out before them, over and over."""
    assert line.as_rows is not None
    low, high = (in_size(row, size) for row in line.as_rows)
    stated = None if line.stitches is None else in_size(line.stitches, size)
    told = by_size((*at, "stitches"), line.stitches, size)
    by_number = {
        row: (steps_, field)
        for start, end, steps_, field in written
        for row in range(max(start, low), min(end, high) + 1)
    }
    if high < low or len(by_number) < high - low + 1:
        detail = f"rows {low} to {high} are not all written out, as work, before row {first}"
        raise Refused(Refusal("no-such-rows", (*at, "as_rows"), f"{detail} in size {size}"))
    one = low == high
    for row in range(first, first + 1 if one else last + 1):
        budget.spend(1, at)
        steps_, field = by_number[low + (row - first) % (high - low + 1)]
        end = last if one else row
        yield Unit(row, end, steps_, None, stated if end == last else None, field, told,
                   (first, last), line.section, end - row + 1)  # fmt: skip


def _numbers(
    piece: AuditPiece,
    line: LineOrder,
    size: str,
    at: Path,
    rows: tuple[int, int],
    expected: int,
    what: str,
) -> Finding:
    first, last = rows
    if first != expected:
        field, stated, right = (*at, "first_row"), first, expected
        field = by_size(field, line.first_row, size)
        where = "the row before it" if piece.worked == "flat" else "the round before it"
        text = (
            f"{what} {first} of {piece.name} in size {size} follows {where}, {what.lower()}"
            f" {expected - 1}"
            if expected > 1
            else f"The first {what.lower()} of {piece.name} in size {size} is numbered {first}"
        )
    else:
        field, stated, right = (*at, "last_row"), last, first
        field = by_size(field, line.last_row, size)
        text = f"{what}s {first} to {last} of {piece.name} in size {size} end before they begin"
    fix = f"number it {right}"
    return Finding(
        code="row-numbers",
        size=size,
        piece=piece.name,
        row=first,
        last_row=max(last, first),
        stated=Amount(stated),
        comes_to=Amount(right),
        correction=Remedy(fix, field, right),
        text=f"{text}: {fix}.",
        field=field,
    )


def _after(piece: AuditPiece, i: int, size: str) -> int | None:
    """The row that the next line of a size is numbered from, where it is numbered."""
    for line in piece.rows[i + 1 :]:
        if line.sizes is None or size in line.sizes:
            return None if line.first_row is None else in_size(line.first_row, size)
    return None


def _covers(
    piece: AuditPiece,
    line: LineOrder,
    size: str,
    at: Path,
    rows: tuple[int, int],
    covered: int,
    after: int | None,
) -> Finding:
    first, last = rows
    right, over = first + covered - 1, covered - (last - first + 1)
    assert line.schedule is not None
    runs = in_size(line.schedule, size)
    field = by_size((*at, "schedule"), line.schedule, size)
    slack = [j for j, run in enumerate(runs) if run.rows - over >= max(1, run.every * run.times)]
    if slack and after != right + 1:
        j = slack[-1]
        kept = runs[j].rows - over
        correction = Remedy(f"let its run cover {kept} rows", (*field, j, "rows"), kept)
    elif line.last_row is not None and after == right + 1:
        end = by_size((*at, "last_row"), line.last_row, size)
        correction = Remedy(f"end at row {right}", end, right)
    else:
        correction = Remedy(f"end at row {right}, or take {over} off the schedule", field)
    text = (
        f"Rows {first} to {last} of {piece.name} in size {size} are {last - first + 1} rows;"
        f" their schedule covers {covered}: {correction.text}."
    )
    return Finding(
        code="schedule-rows",
        size=size,
        piece=piece.name,
        row=first,
        last_row=last,
        stated=Amount(last - first + 1, "rows"),
        comes_to=Amount(covered, "rows"),
        correction=correction,
        text=text,
        field=field,
    )
