"""The nearest change to a row that makes it fit the row below, or come to its stated count."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from .auditfindings import Remedy
from .auditrows import Step, Worked, one
from .errors import Path
from .rowtext import plural

_ORDER = ("plain", "repeat", "together", "increase", "leave", "skip", "turning_chain")


@dataclass(frozen=True, slots=True)
class Fix:
    """A change, the stitches the row then makes, and how near at hand it is."""

    correction: Remedy
    makes: int
    rank: int


def sts(n: int) -> str:
    """``1 stitch``, ``2 stitches``. Source: common-practice.

    >>> sts(2)
    '2 stitches'
    """
    return plural(n, "stitch", "stitches")


def refit(row: tuple[Step, ...], made: Worked, stated: int | None, at: Path) -> Fix:
    """The change that makes the row use up the row below; one that also gives the stated count,
    where there is one. Source: common-practice.

    >>> from .auditorder import WorkOrder
    >>> from .auditrows import Below, Budget, steps, work
    >>> row = steps((WorkOrder("together", 2), WorkOrder("plain", 35)), "", ("work",))
    >>> refit(row, work(row, Below(38), Budget()), 37, ("work",)).correction.text
    'plain 36 here'
    """
    over = made.over
    fixes = sorted(_refits(row, made, over), key=lambda fix: fix.rank)
    agreeing = [fix for fix in fixes if stated is not None and fix.makes == stated]
    if agreeing or (fixes and stated is None):
        return (agreeing or fixes)[0]
    if stated is not None:
        gain = stated - made.made
        if over > 0 and gain >= 0:
            text = f"add what takes {sts(over)} of the row below and makes {gain}"
            return Fix(Remedy(text, at), stated, 9)
        if over < 0 and gain <= 0:
            text = f"take out what takes {sts(-over)} of the row below and makes {-gain}"
            return Fix(Remedy(text, at), stated, 9)
    if fixes:
        return fixes[0]
    text = f"work {sts(over)} more" if over > 0 else f"work over {sts(-over)} fewer"
    return Fix(Remedy(text, at), made.made + over, 9)


def _refits(row: tuple[Step, ...], made: Worked, over: int) -> Iterator[Fix]:
    for step in row:
        takes, makes = one(step.group) if step.kind == "repeat" else (1, 1)
        if (
            step.kind in ("plain", "repeat")
            and step.upto != "to-end"
            and takes
            and not over % takes
        ):
            more = over // takes
            n = step.n + more if step.upto == "count" else step.n - over
            if n >= 0:
                yield _fix(step, n, made.made + more * makes)
        if step.kind in ("together", "leave", "skip") and step.upto == "count":
            least = 2 if step.kind == "together" else 0
            if step.n + over >= least:
                yield _fix(step, step.n + over, made.made)
        if step.kind == "turning_chain" and 0 <= step.n + over <= 1:
            text = "let the turning chain count" if over > 0 else "let the turning chain not count"
            yield Fix(Remedy(text, step.path), made.made + over, 6)
        if step.kind == "repeat" and step.upto == "count" and step.n and not over % step.n:
            each = over // step.n
            for inner in step.group:
                if inner.kind == "plain" and inner.n + each >= 0:
                    yield _fix(inner, inner.n + each, made.made + over)
                if inner.kind in ("together", "skip") and inner.n + each >= 2:
                    yield _fix(inner, inner.n + each, made.made)


def _fix(step: Step, n: int, makes: int) -> Fix:
    text = {
        "plain": f"plain {n} here",
        "repeat": f"{plural(n, 'time')} here",
        "together": f"{n} together here",
        "increase": f"{n} into the one stitch here",
        "leave": f"leave {n} unworked here",
        "skip": f"skip {n} here",
        "chain": f"let the chains count as {n} here",
    }.get(step.kind, f"{n} here")
    if step.upto == "to-last":
        text = f"to the last {n} here" if n else "to the end here"
    rank = _ORDER.index(step.kind) if step.kind in _ORDER else 8
    return Fix(Remedy(text, step.path, n), makes, rank)


def recount(row: tuple[Step, ...], made: Worked, stated: int, at: Path) -> Remedy:
    """The change that makes a row that fits come to ``stated`` stitches. Source: common-practice.

    >>> from .auditorder import WorkOrder
    >>> from .auditrows import Below, Budget, steps, work
    >>> row = steps((WorkOrder("increase", 3), WorkOrder("plain", "to-end")), "", ("work",))
    >>> recount(row, work(row, Below(9), Budget()), 10, ("work",)).text
    '2 into the one stitch here'
    """
    more = stated - made.made
    for chain, skip in pairwise(row):
        # Chains over an opening stand for the stitches that are skipped.
        pair = (chain.kind, skip.kind, skip.upto) == ("chain", "skip", "count")
        if pair and chain.counts_as == chain.n == skip.n - more:
            return _fix(skip, chain.n, stated).correction
    for step in row:
        inner = [(step, 1)]
        if step.kind == "repeat":
            inner = [(s, step.n) for s in step.group if step.upto == "count" and step.n]
        for part, times in inner:
            if more % times:
                continue
            n = part.n + more // times
            if part.kind == "chain" and part.counts_as + more // times >= 0:
                counts = part.counts_as + more // times
                path = (*part.path[: _member(part)], "counts_as")
                return Remedy(f"let the chains count as {counts} here", path, counts)
            if part.kind == "increase" and n >= 2:
                return _fix(part, n, stated).correction
            if part.kind in ("into_space", "same_stitch", "into_ring") and n >= 1:
                return Remedy(f"{n} here", part.path, n)
    text = f"make {sts(abs(more))} {'more' if more > 0 else 'fewer'} in this row"
    return Remedy(text, at)


def _member(step: Step) -> int:
    """Where in the path of a step its own member stands."""
    return len(step.path) - 1 - [*reversed(step.path)].index(step.kind)
