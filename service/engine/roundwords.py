"""Rounds in words: groups of plain stitches and increases or decreases."""

from __future__ import annotations

from itertools import pairwise

from .distribution import spread
from .numerals import ordinal
from .rounds import Counts, RoundRun
from .rowtext import Words, plural

MOST_TOLD = 4
"""Rates told one by one; past it only their range is. Source: common-practice."""


def in_words(before: int, schedule: tuple[RoundRun, ...], counts: Counts) -> str:
    """The shaping of a section in the trade's form.

    Source: common-practice.

    >>> from .rounds import runs
    >>> counts = Counts.of((12, 18, 24))
    >>> in_words(6, runs(6, counts), counts)
    'increase 6 stitches, spread evenly, every round 3 times'
    """
    said: list[str] = []
    for run in schedule:
        if not run.times:
            said.append(f"work {plural(run.rows, 'round')} even")
            continue
        if not before and run is schedule[0]:
            said.append(f"begin with {plural(run.change, 'stitch', 'stitches')}")
            if run.times > 1:
                said.append(_said(run, run.times - 1))
            continue
        said.append(_said(run, run.times))
    if len(said) > MOST_TOLD:
        each = list(counts)
        steps = [b - a for a, b in pairwise([before, *each] if before else each)]
        least, most = min(steps), max(steps)
        by = f"{least} or {most}" if most - least == 1 else f"{least} to {most}"
        return (
            f"from {before or each[0]} to {counts.last} stitches over {counts.rounds} rounds,"
            f" by {by} stitches a round"
        )
    return ", then ".join(said) or f"work even on {plural(counts.last, 'stitch', 'stitches')}"


def _said(run: RoundRun, times: int) -> str:
    verb = "increase" if run.change > 0 else "decrease"
    act = f"{verb} {plural(abs(run.change), 'stitch', 'stitches')}, spread evenly,"
    if times == 1:
        return f"{act} in the {'next' if run.every == 1 else ordinal(run.every)} round"
    rate = "every round" if run.every == 1 else f"every {ordinal(run.every)} round"
    return f"{act} {rate} {times} times"


def round_text(words: Words, before: int, after: int, offset: int = 0, stands: bool = False) -> str:
    """One round over ``before`` stitches that makes ``after``, evenly; groups of a kind together.

    ``offset`` plain stitches are worked first and taken off the last group, so that the corners
    of one round do not stand over those of the round before. Where a turning chain already
    ``stands`` for the round's first stitch, that one is left out.

    >>> from .foundation import Turning
    >>> from .stitches import STITCHES
    >>> sc = Words(STITCHES["single-crochet"], Turning(1, False), "us")
    >>> round_text(sc, 12, 18)
    '(sc in next st, 2 sc in next st) 6 times'
    >>> round_text(sc, 13, 19)
    '(sc in next st, 2 sc in next st) 5 times, sc in next 2 sts, 2 sc in next st'
    >>> round_text(sc, 18, 12), round_text(sc, 9, 9)
    ('(sc in next st, sc2tog) 6 times', 'sc in each st around')
    >>> round_text(sc, 12, 18, stands=True)
    '2 sc in next st, (sc in next st, 2 sc in next st) 5 times'
    """
    if before == after and not stands:
        return f"{words.st} in each st around"
    if before == after:
        return f"{words.skip} the st at its base, {words.st} in each st around"
    parts: list[str] = []
    for i, (group, times) in enumerate(groups(before, after, offset)):
        if i == 0 and stands:
            parts += _written(words, group, stands=True)
            times -= 1
        text = ", ".join(_written(words, group))
        if times:
            parts.append(f"({text}) {times} times" if times > 1 else text)
    return ", ".join(parts)


Group = tuple[int, int, int]
"""Plain stitches, then stitches worked together or worked into one: plain, taken, made."""


def groups(before: int, after: int, offset: int = 0) -> list[tuple[Group, int]]:
    """How a round's increases or decreases lie in it: each group, and how many times over.

    >>> groups(13, 19)
    [((1, 1, 2), 5), ((2, 1, 2), 1)]
    """
    change = abs(after - before)
    if after >= 2 * before:
        # Every stitch takes two or more.
        return [((0, 1, share.size), share.times) for share in spread(after, before)]
    if after < before and change > after:
        # Every stitch that is made takes two or more.
        return [((0, share.size, 1), share.times) for share in spread(before, after)]
    taken, made = (1, 2) if after > before else (2, 1)
    shares = spread(before, change)
    offset = min(offset, shares[-1].size - taken)
    evenly = [((share.size - taken, taken, made), share.times) for share in shares]
    if offset > 0:
        (plain, *_), times = evenly.pop()
        evenly = [((offset, 0, 0), 1), *evenly, ((plain, taken, made), times - 1),
                  ((plain - offset, taken, made), 1)]  # fmt: skip
    return [(group, times) for group, times in evenly if times]


def _written(words: Words, group: Group, stands: bool = False) -> list[str]:
    """A group in words; where a chain stands for its first stitch, without that one."""
    plain, taken, made = group
    parts: list[str] = []
    left = plain - 1 if stands and plain else plain
    if left:
        parts.append(f"{words.st} in next {'st' if left == 1 else f'{left} sts'}")
    if made > 1:
        on_chain = stands and not plain
        parts.append(
            f"{words.some(made - 1)} in the st at its base"
            if on_chain
            else f"{made} {words.st} in next st"
        )
    elif taken > 1:
        parts.append(words.together(taken))
    return parts


def starts_together(before: int, after: int, offset: int = 0) -> bool:
    """Whether a round begins with stitches worked together: no chain can stand for those.

    >>> starts_together(18, 9), starts_together(18, 12)
    (True, False)
    """
    if before == after:
        return False
    (plain, taken, _), _ = groups(before, after, offset)[0]
    return not plain and taken > 1


def oval_ends(before: int, after: int, side: int) -> tuple[tuple[int, int, int], ...]:
    """Of a round of an oval, for each half: plain stitches, then what its end takes and makes.

    All increases are in the ends. A round begins with the first stitch of an end, which is plain,
    and ends on the rest of it. Source: geometry.

    >>> oval_ends(31, 37, 13)
    ((14, 2, 5), (13, 2, 5))
    """
    taken, made = before - 2 * side, after - 2 * side
    lead = int(taken > 2)  # else an end is one stitch, and the round begins after it
    return (
        (side + lead, taken // 2, made // 2),
        (side, taken - taken // 2 - lead, made - made // 2 - lead),
    )
