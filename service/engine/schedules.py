"""Schedules cut and read row by row."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from .shaping import Run, Schedule

if TYPE_CHECKING:
    from .sections import Section


def runs_of(sections: tuple[Section, ...]) -> Schedule:
    """The runs of all sections, with the rows that a schedule leaves out, which are worked even.

    Source: common-practice.

    >>> from .exact import Fraction
    >>> from .counting import Scale
    >>> from .sections import build
    >>> from .templates import SectionPlan
    >>> plan = SectionPlan("body", "even", rows=4)
    >>> runs_of(build((plan,), 8, {}, Scale(Fraction(4), Fraction(3))))[0].rows
    4
    """
    runs: list[Run] = []
    for section in sections:
        left = section.rows - sum(run.rows for run in section.schedule)
        runs += section.schedule
        if left:
            runs.append(Run(left, 1, 0, 0, 0, section.stitches_at_end))
    return tuple(runs)


def clip(runs: Schedule, first: int, last: int) -> Schedule:
    """The part of the runs that covers their rows ``first`` to ``last``, counted from 1.

    Source: common-practice.

    >>> [(r.rows, r.every, r.times) for r in clip((Run(12, 4, 3, -1, -1, 4),), 3, 11)]
    [(2, 2, 1), (4, 4, 1), (3, 1, 0)]
    """
    kept: list[Run] = []
    at = 0
    for run in runs:
        start, stop = max(first - 1 - at, 0), min(last - at, run.rows)
        at += run.rows
        if start >= stop:
            continue
        if not run.times:
            kept.append(replace(run, rows=stop - start))
            continue
        done, whole = -(-start // run.every), stop // run.every
        before = run.stitches_before
        if start % run.every and done <= whole:
            rest = done * run.every - start
            kept.append(replace(run, rows=rest, every=rest, times=1,
                                stitches_after=before + done * run.change))  # fmt: skip
        times = whole - done
        if times > 0:
            kept.append(replace(run, rows=times * run.every, times=times,
                                stitches_after=before + whole * run.change))  # fmt: skip
        tail = stop - max(start, whole * run.every)
        if tail > 0:
            kept.append(Run(tail, 1, 0, 0, 0, before + whole * run.change))
    return tuple(kept)


def run_at(runs: Schedule, row: int) -> tuple[int, Run | None]:
    """Stitches before a row (counted from 1 within the runs), and its run if it is a shaping row.

    Source: common-practice.

    >>> run_at((Run(12, 4, 3, -1, -1, 4),), 8)[0]
    8
    """
    (part,) = clip(runs, row, row)
    return (part.stitches_before, part) if part.times else (part.stitches_after, None)


def expanded(runs: Schedule) -> list[tuple[int, int, int]]:
    """Stitches before each row, and what it gains at its left and its right edge.

    Source: common-practice.

    >>> expanded((Run(4, 2, 2, -1, -1, 4),))
    [(8, 0, 0), (8, -1, -1), (6, 0, 0), (6, -1, -1)]
    """
    rows: list[tuple[int, int, int]] = []
    for run in runs:
        stitches = run.stitches_before
        for _ in range(run.times):
            rows += [(stitches, 0, 0)] * (run.every - 1)
            rows.append((stitches, run.left, run.right))
            stitches += run.change
        rows += [(stitches, 0, 0)] * (run.rows - run.every * run.times)
    return rows
