"""Counts that let joined pieces agree with the least worst error: an exact search.

A candidate is a count near the one asked for; an option is a whole piece with one candidate a
measurement; a solution is an option for each piece so that all seams agree. The best has the
least worst error, then the least sum of errors, then the fewest counts moved off the nearest, then
the smaller counts. Windows of candidates are widened until none outside can be better.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import Literal

from .counting import Asked, Scale, count
from .errors import Refused
from .projectorder import SeamOrder
from .rounding import MOST_ROWS, MOST_STITCHES, Multiple
from .seams import agrees, edge_count
from .sizing import Sized
from .templates import Term

MOST_STEPS = 100_000
"""Work of one request: steps of the search, of which sizing a piece takes ``SIZING``."""
SIZING = 5
FIRST_WINDOWS = tuple(Fraction(n, 100) for n in (1, 2, 4, 8, 16, 32, 64))

Limit = Callable[[str, str, Fraction], Fraction]
"""The most a measurement may be off: from its piece, its name, and its least error."""


class TooMuchWork(Exception):
    """The search would take more than ``MOST_STEPS``."""


@dataclass(slots=True)
class Budget:
    """Steps that are left to the search."""

    left: int = MOST_STEPS

    def spend(self, steps: int = 1) -> None:
        self.left -= steps
        if self.left < 0:
            raise TooMuchWork


@dataclass(frozen=True, slots=True)
class Candidate:
    """A count, the measurement to ask for so as to get it, and how far off that is of the asked."""

    count: int
    value: Fraction
    error: Fraction
    moved: bool


@dataclass(frozen=True, slots=True)
class Counted:
    """How a measurement is counted: its term, and the multiple its counts must keep."""

    term: Term
    multiple: Multiple
    scale: Scale
    what: Literal["stitches", "rows"]

    @property
    def unit(self) -> Fraction:
        return self.scale.stitch_width if self.what == "stitches" else self.scale.row_height

    def nearest(self, asked: Fraction) -> Candidate:
        """The count that ``asked`` millimetres come to by themselves; Refused where none does."""
        length = Asked(
            self.term.of({self.term.measurement or "": asked}) or Fraction(0), (), self.term
        )
        return self._candidate(
            count(length, self.unit, self.multiple, self.scale, self.what), asked
        )

    def _candidate(self, number: int, asked: Fraction, moved: bool = False) -> Candidate:
        made = self.term.measurement_from(number * self.unit)
        return Candidate(number, made if moved else asked, abs(made - asked) / asked, moved)

    def candidates(self, asked: Fraction, limit: Fraction, budget: Budget) -> list[Candidate]:
        """The counts no further than ``limit`` off, the least error first.

        Counts keep the rounding asked for: at least is never below, at most never above.
        """
        nearest = self.nearest(asked)
        found = [nearest] if nearest.error <= limit else []
        ways = {"nearest": (1, -1), "at-least": (1,), "at-most": (-1,)}[self.scale.rounding]
        most = MOST_STITCHES if self.what == "stitches" else MOST_ROWS
        for way in ways:
            number = nearest.count + way * self.multiple.multiple
            while self.multiple.smallest <= number <= most:
                budget.spend()
                candidate = self._candidate(number, asked, moved=True)
                if candidate.error > limit:
                    break
                if candidate.value > 0:
                    found.append(candidate)
                number += way * self.multiple.multiple
        return sorted(found, key=lambda c: (c.error, c.moved, c.count))


@dataclass(frozen=True, slots=True)
class Option:
    """A piece with its counts chosen, and how far off they are."""

    candidates: Mapping[str, Candidate]
    sized: Sized
    values: Mapping[str, Fraction]

    @property
    def worst(self) -> Fraction:
        return max((c.error for c in self.candidates.values()), default=Fraction(0))

    @property
    def cost(self) -> tuple[Fraction, int, tuple[int, ...]]:
        """Sum of errors, counts moved, counts: compared in that order."""
        chosen = self.candidates.values()
        errors = sum((c.error for c in chosen), Fraction(0))
        return errors, sum(c.moved for c in chosen), tuple(c.count for c in chosen)


Chosen = Mapping[str, Option]


@dataclass(frozen=True, slots=True)
class Member:
    """A piece as the search sees it.

    counted: its measurements that were asked for and are counted; hinges: those of them that
    joined edges and other pieces hang on; fixed: whether what is asked hangs on no other piece
    of the group; asked: what is asked of it, once the pieces before it are chosen; size: the
    piece in those measurements, None where it cannot be made; shown: what others see of it.
    """

    name: str
    counted: Mapping[str, Counted]
    hinges: frozenset[str]
    fixed: bool
    asked: Callable[[Chosen], Mapping[str, Fraction] | None]
    size: Callable[[Mapping[str, Fraction]], Sized | None]
    shown: Callable[[Sized], tuple[object, ...]]


@dataclass(frozen=True, slots=True)
class Solution:
    options: Chosen
    worst: Fraction
    cost: tuple[Fraction, int, tuple[tuple[int, ...], ...]]

    @property
    def rank(self) -> tuple[object, ...]:
        return (self.worst, *self.cost)


def solve(
    members: tuple[Member, ...], seams: tuple[SeamOrder, ...], most_off: Fraction, budget: Budget
) -> Solution | None:
    """The best options of a group, in the order given; None where the seams cannot agree.

    No measurement is further off than ``most_off``, unless its nearest count is. Windows of
    candidates are widened until there is a solution; then once more to all that could be
    better than it: no error above its worst, and, where no worst can be less, none that takes
    the sum above its sum. Raises TooMuchWork. Source: common-practice.

    >>> solve((), (), Fraction(1, 4), Budget()).worst
    Fraction(0, 1)
    """
    search = _Search(members, seams, budget)

    def capped(limit: Fraction, least: Fraction) -> Fraction:
        return min(max(limit, least), max(most_off, least))

    def within(window: Fraction) -> Limit:
        return lambda _piece, _name, least: capped(window, least)

    found, window = None, Fraction(0)
    for window in (*(w for w in FIRST_WINDOWS if w < most_off), most_off):
        found = search.best(within(window), None)
        if found:
            break
    if found is None or found.worst <= window:
        return found
    best, spare = found, found.cost[0] - sum(search.least.values(), Fraction(0))
    no_less = best.worst == max(search.least.values(), default=Fraction(0))

    def could_be_better(piece: str, name: str, least: Fraction) -> Fraction:
        most = min(best.worst, capped(best.worst, least))
        return min(most, spare + search.least.get((piece, name), Fraction(0))) if no_less else most

    return search.best(could_be_better, best)


class _Search:
    """Options piece by piece, in an order that meets each seam early."""

    def __init__(
        self, members: tuple[Member, ...], seams: tuple[SeamOrder, ...], budget: Budget
    ) -> None:
        self.members, self.seams, self.budget = members, seams, budget
        self.names = [m.name for m in members]
        self.sized: dict[tuple[object, ...], Sized | None] = {}
        self.least: dict[tuple[str, str], Fraction] = {}
        for member in members:
            asked = member.asked({}) if member.fixed else None
            for name, counted in member.counted.items() if asked else ():
                self.least[member.name, name] = counted.nearest(asked[name]).error  # type: ignore[index]
        # Least error there must be in the pieces from each place on: the worst, and the sum.
        self.ahead: list[tuple[Fraction, Fraction]] = [(Fraction(0), Fraction(0))]
        for member in reversed(members):
            own = [e for (piece, _), e in self.least.items() if piece == member.name]
            worst, total = self.ahead[0]
            self.ahead.insert(0, (max([worst, *own]), total + sum(own)))

    def best(self, limit: Limit, incumbent: Solution | None) -> Solution | None:
        self.limit, self.incumbent = limit, incumbent
        self.options: dict[tuple[object, ...], list[Option]] = {}
        self._descend(0, {}, Fraction(0), Fraction(0), 0)
        return self.incumbent

    def _descend(
        self, at: int, chosen: dict[str, Option], worst: Fraction, total: Fraction, moved: int
    ) -> None:
        if at == len(self.members):
            counts = tuple(chosen[name].cost[2] for name in sorted(self.names))
            made = Solution(dict(chosen), worst, (total, moved, counts))
            if self.incumbent is None or made.rank < self.incumbent.rank:
                self.incumbent = made
            return
        member = self.members[at]
        worst_ahead, total_ahead = self.ahead[at + 1]
        for option in self._options_of(member, chosen):
            self.budget.spend()
            errors, shifted, _ = option.cost
            now = (max(worst, option.worst), total + errors, moved + shifted)
            if self.incumbent:
                least = (max(now[0], worst_ahead), now[1] + total_ahead, now[2])
                if least > (self.incumbent.worst, *self.incumbent.cost[:2]):
                    continue
            chosen[member.name] = option
            if self._agree(member.name, chosen):
                self._descend(at + 1, chosen, *now)
            del chosen[member.name]

    def _agree(self, last: str, chosen: Chosen) -> bool:
        for seam in self.seams:
            first, second = seam.edges
            if last in (first.piece, second.piece) and {first.piece, second.piece} <= chosen.keys():
                counts = (edge_count(chosen[e.piece].sized, e) for e in seam.edges)
                if not agrees(seam, *counts):
                    return False
        return True

    def _options_of(self, member: Member, chosen: Chosen) -> list[Option]:
        asked = member.asked(chosen)
        if asked is None:
            return []
        key = (member.name, *asked.items())
        if key not in self.options:
            self.options[key] = self._options(member, asked)
        return self.options[key]

    def _options(self, member: Member, asked: Mapping[str, Fraction]) -> list[Option]:
        """The options that others can tell apart, and of those alike the ones that can be best."""
        windows: dict[str, list[Candidate]] = {}
        for name, counted in member.counted.items():
            try:
                least = counted.nearest(asked[name]).error
            except Refused:
                return []
            limit = self.limit(member.name, name, least)
            windows[name] = counted.candidates(asked[name], limit, self.budget)
        hinges = [name for name in windows if name in member.hinges]
        free = [name for name in windows if name not in member.hinges]
        if not all(windows.values()):
            return []
        kept: dict[tuple[object, ...], list[Option]] = {}

        def keep(*candidates: Candidate) -> bool:
            by_name = dict(zip((*hinges, *free), candidates, strict=True))
            option = self._option(member, asked, {name: by_name[name] for name in windows})
            if option is None:
                return False
            alike = kept.setdefault(member.shown(option.sized), [])
            if not any(o.worst <= option.worst and o.cost <= option.cost for o in alike):
                alike.append(option)
            return True

        for hinged in product(*(windows[name] for name in hinges)):
            # Where the nearest of all others can be made with these, nothing is better.
            if not keep(*hinged, *(windows[name][0] for name in free)):
                for others in product(*(windows[name] for name in free)):
                    keep(*hinged, *others)
        return sorted(
            (o for alike in kept.values() for o in alike), key=lambda o: (o.worst, o.cost)
        )

    def _option(
        self, member: Member, asked: Mapping[str, Fraction], candidates: dict[str, Candidate]
    ) -> Option | None:
        values = {**asked, **{name: c.value for name, c in candidates.items()}}
        key = (member.name, *values.items())
        if key not in self.sized:
            self.budget.spend(SIZING)
            self.sized[key] = member.size(values)
        self.budget.spend()
        sized = self.sized[key]
        return None if sized is None else Option(candidates, sized, values)
