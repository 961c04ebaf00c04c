"""Rows in words, stretch by stretch: written out once, repeated while they read alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from .foundation import Foundation
from .rowtext import Words, brackets, first_row, plain_stitches, worked_row
from .shaping import Run, Schedule


@dataclass(frozen=True, slots=True)
class Rows:
    """A step that works the rows ``first`` to ``last``: its text, and the counts it ends on."""

    first: int
    last: int
    text: str
    counts: tuple[int, ...]
    note: str = ""

    @property
    def stitches(self) -> int:
        return self.counts[-1]

    def __str__(self) -> str:
        side = "RS" if self.first % 2 else "WS"
        rows = f"Row {self.first} ({side})"
        if self.last > self.first:
            rows = f"Rows {self.first}–{self.last}"
        counted = brackets(*self.counts)
        return f"{rows}: {self.text[0].upper()}{self.text[1:]}. {counted[:-1]}{self.note})"


@dataclass(frozen=True, slots=True)
class Fabric:
    """What rows are written with."""

    words: Words
    foundation: Foundation

    def row(self, row: int, before: int, run: Run | None = None, middle: str | None = None) -> str:
        """The text of one row; a right-side row starts at the right edge."""
        start, end = ends(row, run)
        if row == 1:
            return first_row(self.words, self.foundation, start, end)
        return worked_row(self.words, before, start, end, middle)


def ends(row: int, run: Run | None) -> tuple[int, int]:
    """Stitches gained at the start and the end of a shaping row of the run.

    >>> ends(2, Run(1, 1, 1, -1, 0, 9))
    (-1, 0)
    """
    if run is None:
        return 0, 0
    return (run.right, run.left) if row % 2 else (run.left, run.right)


def stretch(runs: Schedule, row: int, fabric: Fabric) -> list[Rows]:
    """The runs in words, from ``row`` of the piece on; rows that read alike are told once."""
    told: list[Rows] = []
    for run in runs:
        told += _run(run, row, fabric) if run.times else _even(run, row, fabric)
        row += run.rows
    return _joined(told)


def _joined(told: list[Rows]) -> list[Rows]:
    """Single rows that follow each other with one text: the first is told, the rest are as it."""
    made: list[Rows] = []
    text = ""  # of the row that those after it may be told by
    for rows in told:
        single = rows.first == rows.last > 1
        if single and rows.text == text and made:
            before = made[-1]
            if before.first == before.last and before.text == text:
                made.append(replace(rows, text=f"work as Row {before.first}"))
            else:
                made[-1] = replace(before, last=rows.last, counts=(*before.counts, *rows.counts))
            continue
        text = rows.text if single else ""
        made.append(rows)
    return made


def _even(run: Run, row: int, fabric: Fabric) -> Iterator[Rows]:
    stitches, last = run.stitches_after, row + run.rows - 1
    if row == 1:
        yield Rows(1, 1, fabric.row(1, stitches), (stitches,))
        row = 2
    if row <= last:
        yield Rows(row, last, fabric.row(row, stitches), (stitches,))


def _run(run: Run, row: int, fabric: Fabric) -> Iterator[Rows]:
    """Written out until the next shaping rows read like the last, then repeated."""
    turns_about = run.left != run.right and run.every % 2 == 1
    unit = 2 if turns_about else 1
    need = max(_least_alike(run, row + i, fabric.words) for i in (0, 1))
    stitches, done, alike = run.stitches_before, 0, 0
    while done < run.times:
        times = _alike_ahead(run, stitches, need, run.times - done) // unit
        if alike >= unit and times:
            counts = [stitches + (i + 1) * run.change for i in range(times * unit)]
            last = row + times * unit * run.every - 1
            yield _repeat(row, last, run, unit, times, counts)
            row, stitches, done, alike = last + 1, counts[-1], done + len(counts), 0
            continue
        shaping = row + run.every - 1
        if row < shaping:
            yield from _even(Run(run.every - 1, 1, 0, 0, 0, stitches), row, fabric)
        after = stitches + run.change
        yield Rows(shaping, shaping, fabric.row(shaping, stitches, run), (after,))
        # A first row is worked into chains: no later row reads like it.
        alike = alike + 1 if row > 1 and stitches >= need else 0
        row, stitches, done = shaping + 1, after, done + 1


def _least_alike(run: Run, row: int, words: Words) -> int:
    """Fewest stitches below a shaping row for it to have a plain stretch between its ends."""
    start, end = ends(row, run)
    return max(2, 1 - run.change + 1, 1 - plain_stitches(words, 0, start, end))


def _alike_ahead(run: Run, stitches: int, need: int, left: int) -> int:
    """How many of the ``left`` shaping rows ahead, from the next on, have a plain stretch."""
    if stitches < need:
        return 0
    return left if run.change >= 0 else min(left, (stitches - need) // -run.change + 1)


def _repeat(row: int, last: int, run: Run, unit: int, times: int, counts: list[int]) -> Rows:
    rows = unit * run.every
    if rows == 1:
        return Rows(row, last, f"work as Row {row - 1}", tuple(counts))
    again = "once more" if times == 1 else f"{times} more times"
    kind = "increase" if run.change > 0 else "decrease"
    if run.left * run.right < 0:
        kind = "shaping"
    note = f" after each {kind} row" if run.every > 1 and len(counts) > 1 else ""
    return Rows(row, last, f"repeat the last {rows} rows {again}", tuple(counts), note)
