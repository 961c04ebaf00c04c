"""Shaping in words: the trade's two-rate form."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from .numerals import ordinal
from .shaping import Run, Schedule

SHORT = 6


def in_words(start: int, schedule: Schedule) -> str:
    """The trade's two-rate form.

    Source: common-practice.

    >>> from .shaping import plan
    >>> in_words(38, plan(38, 20, 40))
    'decrease 1 stitch at each edge every 4th row 5 times, then every 5th row 4 times'
    """
    # Where the edges take turns a schedule may be of any length, and is not worth remembering.
    return _in_words(start, schedule) if len(schedule) <= SHORT else _told(start, schedule)


def _told(start: int, schedule: Schedule) -> str:
    said: list[str] = []
    last = ""
    for run, turns in _turns_told(schedule):
        if turns:
            rate = "every row" if run.every == 1 else f"every {ordinal(run.every)} row"
            verb = "increase" if run.change > 0 else "decrease"
            more, less = sorted((abs(run.left), abs(run.right)), reverse=True)
            each = f"{_some(more)} at one edge" + (
                f" and {_some(less)} at the other" if less else ""
            )
            said.append(f"{verb} {each} {rate} {turns} times, the edges in turn")
            last = ""
            continue
        if not run.times:
            said.append(f"work {run.rows} {'row' if run.rows == 1 else 'rows'} even")
            last = ""
            continue
        act = _act(run)
        again = "once more " if act == last else ""
        if run.times > 1:
            rate = "every row" if run.every == 1 else f"every {ordinal(run.every)} row"
            rate += f" {run.times} times"
        elif run.every == 1:
            rate = f"{again}in the next row"
        else:
            rate = f"{again}in the {ordinal(run.every)} row{' from there' if said else ''}"
        said.append(rate if act == last else f"{act} {rate}")
        last = act
    return ", then ".join(said) or f"work even on {start} {'stitch' if start == 1 else 'stitches'}"


_in_words = lru_cache(maxsize=1024)(_told)


def _turns_told(schedule: Schedule) -> Iterator[tuple[Run, int]]:
    """Each run, or the first of several in which the edges take turns and how many those are."""
    i = 0
    while i < len(schedule):
        j = i + 1
        while j < len(schedule) and _mirrors(schedule[j - 1], schedule[j]):
            j += 1
        yield schedule[i], j - i if j - i > 2 else 0
        i = j if j - i > 2 else i + 1


def _mirrors(run: Run, after: Run) -> bool:
    swapped = (run.every, run.times, run.right, run.left)
    one_edge_more = run.left != run.right and run.left * run.right >= 0
    return one_edge_more and swapped == (after.every, after.times, after.left, after.right)


def _some(stitches: int) -> str:
    return f"{stitches} {'stitch' if stitches == 1 else 'stitches'}"


def _act(run: Run) -> str:
    verb = "increase" if run.change > 0 else "decrease"
    left, right = abs(run.left), abs(run.right)

    if run.left * run.right < 0:  # one edge goes out as the other comes in
        more, less = ("left", "right") if run.left > 0 else ("right", "left")
        return (
            f"increase {_some(max(run.left, run.right))} at the {more} edge and"
            f" decrease {_some(-min(run.left, run.right))} at the {less} edge"
        )
    if left == right:
        return f"{verb} {_some(left)} at each edge"
    parts = [
        f"{_some(n)} at the {side} edge" for n, side in ((left, "left"), (right, "right")) if n
    ]
    return f"{verb} {' and '.join(parts)}"
