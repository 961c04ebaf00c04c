"""Rows fitted to an outline: each edge to its nearest stitch in every row, as the rules allow."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil
from typing import Annotated

from .counting import Scale
from .curves import HALF, Edge, height_of, read
from .errors import Path, Permitted, Refusal, Refused
from .exact import Fraction
from .rounding import MOST_STITCHES, whole
from .shaping import Rules, Run, Schedule
from .units import Length, written
from .working import STRAINED_ROW, spend

MOST_CHANGE = 100
"""Stitches a row, both edges together, where no largest change is asked for."""
GRID = 1 << 20
"""Parts of a stitch in which the largest change a row is kept to."""

Losses = list[int]
"""Stitches that an edge has lost (or gained, negative) since the section began, row by row."""


@dataclass(frozen=True, slots=True)
class OutlineOff:
    left: Annotated[Length, "farthest that the left edge is from its outline in any row's middle"]
    right: Annotated[Length, "farthest that the right edge is from its outline"]


@dataclass(frozen=True, slots=True)
class Fitted:
    schedule: Schedule
    end: int
    off: OutlineOff


def fit(
    left: Edge, right: Edge, start: int, rows: int, rules: Rules, scale: Scale, path: Path,
    worked: int = 0, lost: tuple[int, ...] = (0, 0),
) -> Fitted:  # fmt: skip
    """The rows of a section that follows two edges, from ``start`` stitches.

    The outline is stretched or squeezed to its whole rows and read at the middle of each, so that
    the same piece upside down has the same counts; each edge takes the stitch nearest to it there,
    ties to the wider row. Where that changes more in a row than the rules allow, the rows are the
    closest that keep to them; the last row keeps the stitch multiple. A row narrower than a stitch
    has one. With rows ``worked``, ``start`` stitches are left and each edge has ``lost`` so many.
    Work is by row. Raises Refused where nothing is left to work before the last row, or no rows
    keep the rules. Source: geometry.

    >>> from .curves import Curve
    >>> edge = (Curve(Fraction(10), Fraction(20)),)
    >>> made = fit(edge, edge, 12, 4, Rules(), Scale(Fraction(5), Fraction(5)), ())
    >>> [(r.every, r.times, r.left, r.right) for r in made.schedule], made.end
    ([(2, 2, -1, -1)], 8)
    >>> float(made.off.left)
    1.25
    """
    exact = [_exact(edge, rows, scale.stitch_width)[worked:] for edge in (left, right)]
    exact = [[x - gone for x in edge] for edge, gone in zip(exact, lost, strict=True)]
    _check_widths(start, exact[0], exact[1], scale, path)
    wanted = _at_least_one(start, exact[0], exact[1])
    most = rules.max_change or MOST_CHANGE
    for rough, steps in _candidates(start, exact, wanted, most, rules):
        fitted = _ended(start, wanted, rough, steps, scale, path)
        if _keeps(start, fitted[0], fitted[1], most, rules):
            break
    else:
        raise _cannot(start, most, path)
    off = [
        max(abs(x - n) for x, n in zip(xs, ns, strict=True)) * scale.stitch_width
        for xs, ns in zip(exact, fitted, strict=True)
    ]
    schedule, ends = _schedule(start, *fitted), (edge[-1] for edge in fitted)
    return Fitted(schedule, start - sum(ends), OutlineOff(*off))


def _candidates(
    start: int, exact: list[list[Fraction]], wanted: list[list[Fraction]], most: int, rules: Rules
) -> Iterator[tuple[list[Losses], list[list[int]]]]:
    """Each edge at its nearest where that keeps the rules, else as near as the rules let it be."""
    rows = len(wanted[0])
    left, right = ([_nearest(x) for x in edge] for edge in wanted)
    for i, (a, b) in enumerate(zip(*exact, strict=True)):
        if start - a - b < 1:  # one stitch, over one of the row below
            low, high = (left[i - 1], start - 1 - right[i - 1]) if i else (0, start - 1)
            left[i] = max(low, min(high, left[i]))
            right[i] = start - 1 - left[i]
    if _keeps(start, left, right, most, rules):
        yield [left, right], _steps(rules, rows, most, most)
    spend(STRAINED_ROW * rows)
    steps = _shared(wanted, rules, rows, most)
    yield [_kept(edge, step) for edge, step in zip(wanted, steps, strict=True)], steps


def _exact(edge: Edge, rows: int, stitch_width: Fraction) -> list[Fraction]:
    """Stitches that the edge has come in by at the middle of each row."""
    tall = height_of(edge)
    heights = (Fraction(2 * row + 1, 2 * rows) * tall for row in range(rows))
    return [across / stitch_width for across in read(edge, heights)]


def _nearest(exact: Fraction) -> int:
    return ceil(exact - HALF)  # a tie to the wider row


def _at_least_one(start: int, left: list[Fraction], right: list[Fraction]) -> list[list[Fraction]]:
    """The edges moved apart where less than a stitch is left between them.

    Each by half of it, but for an edge that goes straight up, which stays.
    """
    short = [max(Fraction(0), 1 - start + a + b) for a, b in zip(left, right, strict=True)]
    moved = any(left), any(right)
    return [
        [x - more * moves / sum(moved) for x, more in zip(edge, short, strict=True)]
        if moves
        else edge
        for edge, moves in zip((left, right), moved, strict=True)
    ]


def _steps(rules: Rules, rows: int, left: int, right: int) -> list[list[int]]:
    """Most stitches that each edge may change in each row, told in halves of a stitch a row.

    Where a half is over, the edges take turns at it.
    """
    steps = [[0] * rows, [0] * rows]
    for slot in range(1, rules.slots(rows) + 1):
        row, turn = rules.row_of(slot) - 1, slot % 2
        steps[0][row], steps[1][row] = (left + turn) // 2, (right + 1 - turn) // 2
    return steps


def _shared(wanted: list[list[Fraction]], rules: Rules, rows: int, most: int) -> list[list[int]]:
    """The largest change shared by the edges so that the one farther off is as near as can be."""
    grids = [[int(x * GRID) for x in edge] for edge in wanted]

    def farthest(share: int) -> tuple[int, int]:
        steps = _steps(rules, rows, share, 2 * most - share)
        far = [
            max(abs(x - y) for x, y in zip(edge, _middle(edge, step), strict=True))
            for edge, step in zip(grids, steps, strict=True)
        ]
        return far[0], far[1]

    share = most  # alike, where that is as good
    left, right = farthest(share)
    if left != right:
        # What is given to the left brings it nearer, and leaves the right farther off.
        span = range(share, 2 * most + 1) if left > right else range(share + 1)

        def enough(given: int) -> bool:
            left, right = farthest(given)
            return left <= right

        at = span[bisect_left(span, True, hi=len(span) - 1, key=enough)]
        share = min({max(at - 1, span[0]), at}, key=lambda given: max(farthest(given)))
    return _steps(rules, rows, share, 2 * most - share)


def _middle(wanted: Losses, steps: list[int]) -> Losses:
    """Midway between the nearest paths above and below that keep the steps, in GRID parts.

    No path that keeps them has a smaller farthest distance, the start aside.
    """
    high, low = list(wanted), list(wanted)
    rows = range(len(wanted))
    for to, off in [*((i, i - 1) for i in rows[1:]), *((i, i + 1) for i in reversed(rows[:-1]))]:
        step = steps[max(to, off)] * GRID
        high[to] = max(high[to], high[off] - step)
        low[to] = min(low[to], low[off] + step)
    made, reach = [], 0
    for above, below, step in zip(high, low, steps, strict=True):
        reach += step * GRID
        made.append(max(-reach, min(reach, (above + below) // 2)))
    return made


def _kept(wanted: list[Fraction], steps: list[int]) -> Losses:
    return [_nearest(Fraction(x, GRID)) for x in _middle([int(x * GRID) for x in wanted], steps)]


def _ended(
    start: int,
    wanted: list[list[Fraction]],
    fitted: list[Losses],
    steps: list[list[int]],
    scale: Scale,
    path: Path,
) -> list[Losses]:
    """The same with a last row that the stitch multiple allows, and rows that lead to it."""
    multiple, last = scale.stitch_multiple, [edge[-1] for edge in fitted]
    count = start - sum(last)
    if multiple.allows(count):
        return fitted
    exact = start - wanted[0][-1] - wanted[1][-1]
    # An edge that goes straight up stays straight.
    reach = [sum(step) if any(edge) else 0 for edge, step in zip(wanted, steps, strict=True)]
    near = {whole(exact, multiple, how) for how in ("at-least", "at-most")} | {start}
    for allowed in sorted(filter(multiple.allows, near), key=lambda n: (abs(n - exact), -n)):
        lost = start - allowed
        left = _nearest((wanted[0][-1] - wanted[1][-1] + lost) / 2)
        low, high = max(-reach[0], lost - reach[1]), min(reach[0], lost + reach[1])
        left = max(low, min(high, left))
        ends = left, lost - left
        if low <= high:
            return [
                _led(edge, end, step) for edge, end, step in zip(fitted, ends, steps, strict=True)
            ]
    raise Refused(
        Refusal(
            "outline-misses-multiple",
            path,
            f"the outline ends on {count} stitches, not {multiple}, and its rows reach no count"
            " that is",
            {"stitches": sorted(filter(multiple.allows, near))},
        )
    )


def _led(edge: Losses, last: int, steps: list[int]) -> Losses:
    """Rows that would pass the last row's place and come back to it stop there instead."""
    made, i = list(edge), len(edge) - 1
    way = 1 if edge[-1] > last else -1  # the way the edge has gone too far
    while i and (edge[i] - edge[i - 1]) * way >= 0:
        i -= 1
    stop = max(last * way, edge[i] * way)  # no further back than the stretch began
    for row in range(i, len(edge)):
        made[row] = min(edge[row] * way, stop) * way
    reach, made[-1] = 0, last
    for row in range(len(edge) - 2, -1, -1):
        reach += steps[row + 1]
        made[row] = max(last - reach, min(last + reach, made[row]))
    return made


def _keeps(start: int, left: Losses, right: Losses, most: int, rules: Rules) -> bool:
    """Whether no row changes too much or on the wrong side, and each hangs on that below."""
    may = {rules.row_of(slot) - 1 for slot in range(1, rules.slots(len(left)) + 1)}
    a = b = 0
    for row, (lost, gone) in enumerate(zip(left, right, strict=True)):
        here, there = lost - a, gone - b
        hangs = start - a - b - max(0, here) - max(0, there) >= 1 and start - lost - gone >= 1
        if not hangs or abs(here) + abs(there) > (most if row in may else 0):
            return False
        a, b = lost, gone
    return True


def _schedule(start: int, left: Losses, right: Losses) -> Schedule:
    """Run by run: shaping rows that follow each other alike are one run."""
    runs: list[Run] = []
    a = b = at = 0
    for row, (lost, gone) in enumerate(zip(left, right, strict=True), 1):
        change = a - lost, b - gone
        if not any(change):
            continue
        every, a, b = row - at, lost, gone
        before = runs[-1] if runs else None
        if before and (before.every, before.left, before.right) == (every, *change):
            runs.pop()
            times = before.times + 1
        else:
            times = 1
        runs.append(Run(every * times, every, times, *change, stitches_after=start - a - b))
        at = row
    if runs and at < len(left):
        runs.append(Run(len(left) - at, 1, 0, 0, 0, start - a - b))
    return tuple(runs)


def _check_widths(
    start: int, left: list[Fraction], right: list[Fraction], scale: Scale, path: Path
) -> None:
    """Refuses edges that meet, but for rows at the top that rounding has made too narrow."""
    widths = [start - a - b for a, b in zip(left, right, strict=True)]
    if max(widths) > MOST_STITCHES:
        raise Refused(
            Refusal(
                "outline-too-wide",
                path,
                f"the outline is {int(max(widths))} stitches wide at this gauge; at most"
                f" {MOST_STITCHES} are reckoned",
                {"stitches": MOST_STITCHES},
            )
        )
    closed = len(widths)
    while closed and -1 < widths[closed - 1] <= 0:
        closed -= 1
    bad = next((i for i, n in enumerate(widths[:closed]) if n <= 0), None)
    if bad is None:
        return
    lost = start - min(widths)
    room = (start - 1) * scale.stitch_width
    needed = int(lost) + 1
    permitted: Permitted = {
        "row": bad + 1,
        "most_inwards_mm": float(room),
        "minimum_stitches": needed,
    }
    raise Refused(
        Refusal(
            "outline-closes",
            path,
            f"the edges meet in row {bad + 1} of its {len(widths)}"
            f" ({written(bad * scale.row_height, scale.units)} up): they come in by"
            f" {written(lost * scale.stitch_width, scale.units)} together, and {start} stitches"
            f" leave room for {written(room, scale.units)}; {needed} stitches to begin with, or"
            " edges that come in by no more than the room, would do",
            permitted,
        )
    )


def _cannot(start: int, most: int, path: Path) -> Refused:
    return Refused(
        Refusal(
            "outline-does-not-fit",
            path,
            f"from {start} stitches no rows follow this outline at {most} stitches a row with each"
            " row standing on the one below: give it more height, a larger max_change (up to"
            f" {MOST_CHANGE}), or edges that do not lean so far",
            {"max_change": MOST_CHANGE},
        )
    )
