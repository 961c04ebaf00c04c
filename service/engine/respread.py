"""Shaping written at one gauge, spread anew over the rows there are at another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from .exact import Fraction
from .rounding import whole
from .rounds import FEWEST_IN_RING, Counts, RoundRun, runs, straight
from .shaping import Edges, Rules, Run, Schedule, plan
from .writtenwork import WrittenRun, WrittenSection


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows that go straight from one count to another; ``row`` and ``stitches`` are at its end.

    fastest: most stitches changed in a row, both edges together; at_an_edge: at either of them.
    """

    row: int
    stitches: int
    left: int
    right: int
    fastest: int
    at_an_edge: int = 1

    @property
    def edges(self) -> Edges | None:
        """The edges that are shaped alike; None where they are each shaped on their own."""
        if abs(self.left - self.right) <= 1 and self.left * self.right >= 0:
            return "both" if self.left and self.right else ("right" if self.right else "left")
        if not (self.left and self.right):
            return "left" if self.left else "right"
        return None


def stretches(start: int, end: int, section: WrittenSection) -> tuple[Stretch, ...]:
    """The straight stretches of a section: the trade's two-rate form is one of them.

    Runs that follow each other are one stretch where their spaces, and their changes, differ by
    at most one, as those of an even spread do (two rows on right-side rows only). A section with
    no schedule is one stretch. Source: sweater-101.

    >>> sleeve = WrittenSection("sleeve", 40, schedule=(WrittenRun(20, 4, 5, -1, -1),
    ...     WrittenRun(20, 5, 4, -1, -1)))
    >>> [s.row for s in stretches(38, 20, sleeve)]
    [40]
    """
    if not section.schedule:
        change = end - start
        left = {"both": change - change // 2, "left": change, "right": 0}[section.edges]
        return (Stretch(section.rows, end, left, change - left, 0),)
    made: list[Stretch] = []
    row, stitches = 0, start
    before: WrittenRun | None = None
    for run in section.schedule:
        row += run.rows
        stitches += run.times * run.total
        left = (run.left or 0) * run.times
        now = Stretch(row, stitches, left, run.times * run.total - left, abs(run.total),
                      max(abs(run.left or 0), abs(run.right or 0)))  # fmt: skip
        if before and _one_spread(before, run):
            last = made.pop()
            now = replace(now, left=last.left + now.left, right=last.right + now.right,
                          fastest=max(last.fastest, now.fastest),
                          at_an_edge=max(last.at_an_edge, now.at_an_edge))  # fmt: skip
        made.append(now)
        before = run
    if row < section.rows:
        made.append(Stretch(section.rows, stitches, 0, 0, 0))
    return tuple(made)


def _one_spread(one: WrittenRun, other: WrittenRun) -> bool:
    if not (one.times and other.times):
        return not (one.times or other.times)
    apart = abs(one.every - other.every)
    if apart > 2 or (apart == 2 and one.every % 2):
        return False
    if one.total * other.total <= 0 or abs(one.total - other.total) > 1:
        return False
    ways = [[(n > 0) - (n < 0) for n in (r.left or 0, r.right or 0)] for r in (one, other)]
    if ways[0] == ways[1]:
        return True
    if ways[0] == ways[1][::-1]:  # the edges in turn
        return one.times == other.times == 1
    # Where one edge has a stitch more to change than the other, one row changes it alone.
    odd = one if 0 in ways[0] else other
    return odd.times == 1


def flat_schedule(
    written: tuple[Stretch, ...],
    counts: tuple[int, ...],
    rows: int,
    rules: Rules,
    factor: Fraction = Fraction(1),
) -> Schedule:
    """Each stretch spread over its part of ``rows``; ``counts`` before it and after each.

    ``factor``: stitches for one as written, by which edges that are shaped unlike are told apart.
    A stretch that asks for more a row than the rules' own is allowed what was written.
    Raises Refused, by the stretch, where it does not fit. Source: sweater-101.

    >>> even = Stretch(10, 8, 0, 0, 0)
    >>> flat_schedule((even, Stretch(20, 4, -2, -2, 2)), (8, 8, 4), 20, Rules())
    (Run(rows=10, every=1, times=0, left=0, right=0, stitches_after=8), \
Run(rows=10, every=5, times=2, left=-1, right=-1, stitches_after=4))
    """
    made: list[Run] = []
    for (first, last), stretch, before, after in zip(
        _parts(written, rows), written, counts, counts[1:], strict=False
    ):
        length = last - first
        faces = rules.starts_on_right_side == (first % 2 == 0)
        here = replace(rules, starts_on_right_side=faces)
        if before == after and stretch.edges is not None:
            part: Schedule = (Run(length, 1, 0, 0, 0, after),) if length else ()
        elif stretch.edges is None:
            part = _each_edge(stretch, after - before, before, length, here, factor)
        else:
            own = replace(here, edges=stretch.edges)
            most = rules.max_change or max(own.a_row, stretch.fastest)
            part = plan(before, after, length, replace(own, max_change=most))
        made += part
    joined = _joined(made)
    return joined if any(run.times for run in joined) else ()


def _parts(written: tuple[Stretch, ...], rows: int) -> Iterator[tuple[int, int]]:
    """First and last row of each stretch when all are stretched or squeezed to ``rows``."""
    tall, at = written[-1].row, 0
    for stretch in written:
        to = whole(Fraction(stretch.row * rows, tall))
        yield at, to
        at = to


def _each_edge(
    stretch: Stretch, change: int, before: int, rows: int, rules: Rules, factor: Fraction
) -> Schedule:
    """Edges that are shaped unlike: each spread on its own, and both told together."""
    left = whole(stretch.left * factor)
    if stretch.left * stretch.right > 0:  # neither edge turns round for the rounding of the whole
        left = max(min(change, 0), min(max(change, 0), left))
    gained = [[0] * rows, [0] * rows]
    for side, (edge, total) in enumerate((("left", left), ("right", change - left))):
        most = rules.max_change or stretch.at_an_edge
        own = Rules(edge, most, rules.right_side_only, rules.starts_on_right_side)  # type: ignore[arg-type]
        base = max(0, -total) + 1
        at = 0
        for run in plan(base, base + total, rows, own):
            for _ in range(run.times):
                at += run.every
                gained[side][at - 1] = run.change
            at += 0 if run.times else run.rows
    made: list[Run] = []
    stitches, since = before, 0
    for row, (a, b) in enumerate(zip(*gained, strict=True), 1):
        if a or b:
            stitches += a + b
            made.append(Run(row - since, row - since, 1, a, b, stitches))
            since = row
    return (*made, Run(rows - since, 1, 0, 0, 0, stitches)) if rows > since else tuple(made)


def _joined(parts: list[Run]) -> Schedule:
    made: list[Run] = []
    for run in parts:
        last = made[-1] if made else None
        alike = last and (last.every, last.left, last.right) == (run.every, run.left, run.right)
        if last and alike and bool(last.times) == bool(run.times):
            made[-1] = replace(run, rows=last.rows + run.rows, times=last.times + run.times)
        else:
            made.append(run)
    return tuple(made)


def round_counts(
    written: tuple[Stretch, ...], counts: tuple[int, ...], rounds: int
) -> tuple[tuple[RoundRun, ...], Counts]:
    """Each stretch spread evenly over its part of the rounds, and the stitches of every round.

    Raises Refused where a stretch that changes has no round left. Source: geometry.

    >>> [*round_counts((Stretch(4, 24, 0, 24, 6),), (0, 24), 4)[1]]
    [6, 12, 18, 24]
    """
    made: list[int] = []
    for (first, last), before, after in zip(
        _parts(written, rounds), counts, counts[1:], strict=False
    ):
        if last > first:
            made += straight(before, after, last - first)
        elif after != before:
            plan(before, after, 0)  # refuses, and says how many rows it would take
    held = Counts.of(max(FEWEST_IN_RING, n) for n in made)
    return runs(counts[0], held), held
