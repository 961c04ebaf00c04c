"""Shaping: getting from one stitch count to another, spread evenly over the rows there are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated, Literal

from .distribution import Share, spread
from .errors import Refusal, Refused
from .numerals import ordinal

Edges = Literal["both", "left", "right"]


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of rows shaped at one rate; a stretch with no shaping has ``times`` 0."""

    rows: Annotated[int, "rows this run covers"]
    every: Annotated[int, "a shaping row each so many rows; the last of each so many"]
    times: Annotated[int, "shaping rows in the run; 0 when it is worked even"]
    left: Annotated[int, "stitches gained (or lost, negative) at the left edge in a shaping row"]
    right: Annotated[int, "stitches gained (or lost, negative) at the right edge in a shaping row"]
    stitches_after: Annotated[int, "stitches on the last row of the run"]

    @property
    def change(self) -> int:
        """Stitches gained or lost in one shaping row, both edges together."""
        return self.left + self.right

    @property
    def stitches_before(self) -> int:
        return self.stitches_after - self.times * self.change


Schedule = tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Rules:
    """How shaping may be done.

    max_change: most stitches gained or lost in a row, both edges together; unasked, one an edge.
    right_side_only: shaping rows fall on right-side rows only.
    starts_on_right_side: whether the first row of the stretch is a right-side row.
    """

    edges: Edges = "both"
    max_change: int | None = None
    right_side_only: bool = False
    starts_on_right_side: bool = True

    @property
    def sides(self) -> int:
        return 2 if self.edges == "both" else 1

    @property
    def a_row(self) -> int:
        """Most stitches gained or lost in a row, both edges together."""
        return self.sides if self.max_change is None else self.max_change

    @property
    def an_edge(self) -> int:
        """Most stitches changed at one edge when both edges change alike; 0 when they cannot."""
        return self.a_row // self.sides

    @property
    def _first(self) -> int:
        return 2 if self.right_side_only and not self.starts_on_right_side else 1

    @property
    def _step(self) -> int:
        return 2 if self.right_side_only else 1

    def slots(self, rows: int) -> int:
        """Rows among the first ``rows`` that may be shaping rows."""
        return max(0, (rows - self._first) // self._step + 1)

    def row_of(self, slot: int) -> int:
        """The row the slot (1, 2, ...) falls on; row 0 before the first."""
        return self._first + (slot - 1) * self._step if slot else 0

    def split(self, change: int) -> tuple[int, int]:
        """Stitches of ``change`` for the left and the right edge; an odd one goes to the left."""
        if self.edges == "both":
            return change - change // 2, change // 2
        return (change, 0) if self.edges == "left" else (0, change)


PLAIN = Rules()


def point(stitches: int, edges: Edges) -> int:
    """Stitches left at a point: two or one, as both edges allow; one when shaped at one edge.

    Source: common-practice.

    >>> point(38, "both"), point(39, "both"), point(38, "left")
    (2, 1, 1)
    """
    return min(stitches, 2 if edges == "both" and stitches % 2 == 0 else 1)


def least_rows(start: int, end: int, rules: Rules = PLAIN) -> int:
    """The fewest rows in which ``start`` stitches become ``end``.

    Source: common-practice.

    >>> least_rows(38, 2), least_rows(38, 2, Rules(right_side_only=True))
    (18, 35)
    """
    return rules.row_of(-(-abs(end - start) // rules.a_row))


def _impossible(start: int, end: int, rows: int, every: int, slots: int, rules: Rules) -> Refused:
    """What would work: the fewest rows, and the count nearest to ``end`` that these rows reach."""
    needed = rules.row_of(-(-abs(end - start) // rules.a_row) * every)
    reach = slots * rules.a_row
    nearest = start - reach if end < start else start + reach
    pace = "a row" if every == 1 else f"every {ordinal(every)} row that may be shaped"
    where = " on right-side rows only" if rules.right_side_only else ""
    return Refused(
        Refusal(
            "shaping-does-not-fit",
            ("rows",),
            f"from {start} to {end} stitches needs at least {needed} rows at {rules.a_row}"
            f" {'stitch' if rules.a_row == 1 else 'stitches'} {pace}{where};"
            f" there are {rows}, which reach {nearest} stitches",
            {
                "minimum_rows": needed,
                "rows_given": rows,
                "stitches_a_row": rules.a_row,
                "nearest_stitches": nearest,
            },
        )
    )


def plan(start: int, end: int, rows: int, rules: Rules = PLAIN) -> Schedule:
    """Shaping from ``start`` to ``end`` stitches spread evenly over ``rows`` rows.

    Where there are more rows than stitches to change, each shaping row changes one an edge, and
    the shaping rows are spaced by the quotient-and-remainder rule, shorter spaces first; the last
    shaping row is the last row that may be one. Where there are fewer, every such row is a
    shaping row and the changes are shared by the same rule. Both edges change alike; only where
    an odd ``max_change`` leaves no other way do they take turns.
    Raises Refused when it does not fit, with the fewest rows that would do.
    Source: sweater-101.

    >>> [(r.rows, r.every, r.times, r.left, r.right) for r in plan(38, 20, 40)]
    [(20, 4, 5, -1, -1), (20, 5, 4, -1, -1)]
    """
    return _plan(start, end, rows, None, rules)


def check_pace(every: int, rules: Rules) -> None:
    """Raises Refused for an odd pace where only right-side rows may be shaped.

    Source: common-practice.

    >>> check_pace(4, Rules(right_side_only=True))
    """
    if rules.right_side_only and every % 2 and every > 1:
        raise Refused(
            Refusal(
                "every-meets-wrong-side",
                ("every",),
                f"every {ordinal(every)} row falls on wrong-side rows too, and only right-side"
                " rows may be shaped",
                {"every": [every - 1, every + 1]},
            )
        )


def plan_every(
    start: int, end: int, every: int, rows: int | None = None, rules: Rules = PLAIN
) -> tuple[int, Schedule]:
    """Shaping on every ``every``-th row, and the rows it takes (or ``rows``, the rest worked even).

    Raises Refused when it does not fit into ``rows``, or when an odd ``every`` is asked for with
    right-side rows only. Source: common-practice.

    >>> plan_every(38, 2, 1)[0], plan_every(42, 32, 3, rows=20)[1][-1].rows
    (18, 5)
    """
    check_pace(every, rules)
    apart = -(-every // 2) if rules.right_side_only else every
    if rows is None:
        change = abs(end - start)
        events = max(rules.split(change)) if rules.an_edge else change
        rows = rules.row_of(events * apart)
    return rows, _plan(start, end, rows, apart, rules)


def _plan(start: int, end: int, rows: int, pace: int | None, rules: Rules) -> Schedule:
    """Spread over the rows, or at the fixed pace of every ``pace``-th row that may be shaped."""
    change = abs(end - start)
    slots = rules.slots(rows) // (pace or 1)
    if change > slots * rules.a_row:
        raise _impossible(start, end, rows, pace or 1, slots, rules)
    if not change:
        return ()
    alike = max(rules.split(change)) <= slots * rules.an_edge
    return (_runs if alike else _turns)(start, end, rows, pace, rules)


def _gaps(rows: int, pace: int | None, rules: Rules, busier: int) -> tuple[int, tuple[Share, ...]]:
    """How many shaping rows there are, of ``busier`` at most, and how far apart."""
    slots = rules.slots(rows) // (pace or 1)
    events = min(busier, slots)
    return events, spread(slots, events) if pace is None else (Share(pace, events),)


def _turns(start: int, end: int, rows: int, pace: int | None, rules: Rules) -> Schedule:
    """The edges take turns at the odd stitch of a shaping row."""
    sign = 1 if end > start else -1
    events, gaps = _gaps(rows, pace, rules, abs(end - start))
    shares = spread(abs(end - start), events)
    runs: list[Run] = []
    at = slot = odd = 0
    stitches = start
    for i in range(events):
        change = _size_at(shares, i)
        slot += _size_at(gaps, i)
        row = rules.row_of(slot)
        more, less = sign * (change - change // 2), sign * (change // 2)
        left, right = (less, more) if odd % 2 else (more, less)
        odd += change % 2
        stitches += left + right
        run = Run(row - at, row - at, 1, left, right, stitches)
        before = runs[-1] if runs else None
        if before and (before.every, before.left, before.right) == (run.every, left, right):
            runs[-1] = replace(
                run, rows=before.rows + run.rows, times=before.times + 1, stitches_after=stitches
            )
        else:
            runs.append(run)
        at = row
    return (*runs, *_even(rows - at, stitches))


def _even(rows: int, stitches: int) -> Schedule:
    return (Run(rows, 1, 0, 0, 0, stitches),) if rows else ()


@lru_cache(maxsize=1024)  # a handful of runs each, and asked for by every size and yarn alike
def _runs(start: int, end: int, rows: int, pace: int | None, rules: Rules) -> Schedule:
    """Join the spacing of the shaping rows with the share of each edge, run by run.

    Work is by run, never by row: a taper of 10,000 rows costs what one of 10 does.
    """
    sign, shares_of = 1 if end > start else -1, rules.split(abs(end - start))
    events, gaps = _gaps(rows, pace, rules, max(shares_of))
    left, right = (spread(n, events) for n in shares_of)
    breaks = {events}
    for shares in (gaps, left, right):
        breaks.add(shares[0].times)
    if rules.row_of(1) != rules._step:  # the first space is a row shorter than the others
        breaks.add(1)
    runs: list[Run] = []
    done, at, stitches, slot = 0, 0, start, 0
    for until in sorted(breaks):
        times = until - done
        if not times:
            continue
        every = _size_at(gaps, done)
        slot += every * times
        row = rules.row_of(slot)
        here = sign * _size_at(left, done), sign * _size_at(right, done)
        stitches += times * sum(here)
        spacing = (row - at) // times
        runs.append(Run(row - at, spacing, times, *here, stitches_after=stitches))
        done, at = until, row
    return (*runs, *_even(rows - at, stitches))


def _size_at(shares: tuple[Share, ...], index: int) -> int:
    return shares[0].size if index < shares[0].times else shares[-1].size


def row_counts(start: int, rows: int, schedule: Schedule) -> Iterator[int]:
    """Stitches after each of ``rows`` rows, in working order.

    Source: common-practice.

    >>> list(row_counts(8, 5, plan(8, 4, 5)))
    [8, 6, 6, 6, 4]
    """
    stitches, worked = start, 0
    for run in schedule:
        worked += run.rows
        if not run.times:
            yield from [stitches] * run.rows
            continue
        for _ in range(run.times):
            yield from [stitches] * (run.every - 1)
            stitches += run.change
            yield stitches
    yield from [stitches] * (rows - worked)


def stitches_worked(start: int, rows: int, schedule: Schedule) -> int:
    """Stitches in all of the rows together, by closed form.

    Source: geometry.

    >>> stitches_worked(38, 18, plan(38, 2, 18))
    342
    """
    total, worked, before = 0, 0, start
    for run in schedule:
        arithmetic = run.times * (run.times - 1) // 2 * run.change
        if run.times:
            total += run.every * (run.times * before + arithmetic) + run.times * run.change
        else:
            total += run.rows * before
        worked += run.rows
        before = run.stitches_after
    return total + before * (rows - worked)
