"""Counts that let joined pieces agree with the least worst error: an exact search.

A candidate is a count near the one asked for; an option is a whole piece with one candidate a
measurement; a solution is an option for each piece so that all seams agree. The best has the
least worst error, then the least sum of errors, then the fewest counts moved off the nearest, then
the smaller counts. Windows of candidates are widened until none outside can be better.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import product
from math import prod

from .candidates import Budget, Candidate
from .exact import Fraction
from .options import Chosen, Member, Option, Solution, off
from .projectorder import EdgeOrder, SeamOrder
from .seams import agrees, counts_that_agree, edge_count
from .sizing import Sized

SIZING = 15
"""Steps that sizing a piece takes."""
FIRST_WINDOWS = tuple(Fraction(n, 100) for n in (1, 2, 4, 8, 16, 32, 64))

Limit = Callable[[str, str, Fraction], Fraction]
"""The most a measurement may be off: from its piece, its name, and its least error."""


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
    search = _Search(members, seams, most_off, budget)

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
        self,
        members: tuple[Member, ...],
        seams: tuple[SeamOrder, ...],
        most_off: Fraction,
        budget: Budget,
    ) -> None:
        self.members, self.seams, self.most_off, self.budget = members, seams, most_off, budget
        self.names = [m.name for m in members]
        self.sized: dict[tuple[object, ...], Sized | None] = {}
        self.least: dict[tuple[str, str], Fraction] = {}
        for member in members:
            asked = member.asked({}) if member.fixed else None
            for name, counted in member.counted.items() if asked else ():
                if not counted.hangs:
                    least = counted.nearest(asked[name], asked).error  # type: ignore[index,arg-type]
                    self.least[member.name, name] = least
        # Least error there must be in the pieces from each place on: the worst, and the sum.
        self.ahead: list[tuple[Fraction, Fraction]] = [(Fraction(0), Fraction(0))]
        for member in reversed(members):
            own = [e for (piece, _), e in self.least.items() if piece == member.name]
            worst, total = self.ahead[0]
            self.ahead.insert(0, (max([worst, *own]), total + sum(own)))

    def best(self, limit: Limit, incumbent: Solution | None) -> Solution | None:
        self.limit, self.incumbent = limit, incumbent
        self.options: dict[tuple[object, ...], list[Option]] = {}
        self.indexes: dict[tuple[object, ...], dict[tuple[int, ...], list[Option]]] = {}
        if not self._hopeless():
            self._descend(0, {}, Fraction(0), Fraction(0), 0)
        return self.incumbent

    def _hopeless(self) -> bool:
        """Whether some seam has no two counts that agree, whatever the rest may be."""
        seen: dict[EdgeOrder, set[int]] = {}
        for member in self.members:
            asked = member.asked({}) if member.fixed else None
            if asked is not None:
                for edge, (names, more) in member.added.items():
                    sums = {more}
                    for name in names:
                        near = self._window(member, name, asked, asked, {})
                        sums = {n + c.count for n in sums for c in near}
                    seen[edge] = sums
        for seam in self.seams:
            one, other = seam.edges
            if one in seen and other in seen:
                fits = (counts_that_agree(seam, one, n) & seen[other] for n in seen[one])
                if not any(fits):
                    return True
        return False

    def _descend(
        self, at: int, chosen: dict[str, Option], worst: Fraction, total: Fraction, moved: int
    ) -> None:
        if at == len(self.members):
            self._judge(chosen, worst, total, moved)
            return
        member = self.members[at]
        worst_ahead, total_ahead = self.ahead[at + 1]
        for option in self._agreeing(member, chosen):
            self.budget.spend()
            errors, shifted, _ = option.cost
            now = (max(worst, option.worst), total + errors, moved + shifted)
            if self.incumbent:
                least = (max(now[0], worst_ahead), now[1] + total_ahead, now[2])
                if least > (self.incumbent.worst, *self.incumbent.cost[:2]):
                    continue
            chosen[member.name] = option
            self._descend(at + 1, chosen, *now)
            del chosen[member.name]

    def _judge(self, chosen: Chosen, worst: Fraction, total: Fraction, moved: int) -> None:
        """Keep a choice for every piece, if it is the best and all pieces can be made so."""
        counts = tuple(chosen[name].cost[2] for name in sorted(self.names))
        rank = (worst, total, moved, counts)
        if self.incumbent and rank >= (self.incumbent.worst, *self.incumbent.cost):
            return
        made: dict[str, Option] = {}
        for member in self.members:
            option = chosen[member.name]
            sized = option.sized or self._size(member, option.values)
            if sized is None:
                return
            made[member.name] = replace(option, sized=sized)
        self.incumbent = Solution(made, worst, (total, moved, counts))

    def _agreeing(self, member: Member, chosen: Chosen) -> list[Option]:
        """The options whose edges agree with those of the pieces that are chosen."""
        allowed: dict[EdgeOrder, set[int]] = {}
        inner = []
        for seam in self.seams:
            for here, there in (seam.edges, seam.edges[::-1]):
                if here.piece == member.name and there.piece in chosen:
                    fits = counts_that_agree(seam, there, chosen[there.piece].edges[there])
                    allowed[here] = allowed[here] & fits if here in allowed else fits
            if {e.piece for e in seam.edges} == {member.name}:
                inner.append(seam)
        options = self._options_of(member, chosen, allowed)
        if allowed and options:
            index = self.indexes.setdefault((id(options), *allowed), {})
            for option in options if not index else ():
                index.setdefault(tuple(option.edges[e] for e in allowed), []).append(option)
            sets = allowed.values()
            tried = product(*sets) if prod(map(len, sets)) < len(index) else index
            agreed = (c for c in tried if all(n in a for n, a in zip(c, sets, strict=True)))
            sought = [counts for counts in agreed if counts in index]
            self.budget.spend(1 + len(sought))
            options = [o for counts in sought for o in index[counts]]
        return [o for o in options if all(agrees(s, *(o.edges[e] for e in s.edges)) for s in inner)]

    def _options_of(
        self, member: Member, chosen: Chosen, allowed: Mapping[EdgeOrder, set[int]]
    ) -> list[Option]:
        asked = member.asked(chosen)
        if asked is None:
            return []
        only: dict[str, frozenset[int]] = {}
        if not member.foretell:  # which would be cheaper than to make options for every wish
            for edge in allowed.keys() & member.added.keys():
                (name, *others), more = member.added[edge]
                if not others:
                    counts = frozenset(n - more for n in allowed[edge])
                    only[name] = only.get(name, counts) & counts
        key = (member.name, *asked.items(), *sorted(only.items()))
        if key not in self.options:
            self.options[key] = self._options(member, asked, only)
        return self.options[key]

    def _window(
        self,
        member: Member,
        name: str,
        asked: Mapping[str, Fraction],
        values: Mapping[str, Fraction],
        only: Mapping[str, frozenset[int]],
    ) -> list[Candidate]:
        """The candidates of a measurement, where those it hangs on are at ``values``."""
        counted = member.counted[name]
        if counted.hangs:
            self.budget.spend(SIZING)
        near = counted.candidates(
            asked[name], values, lambda least: self.limit(member.name, name, least), self.budget
        )
        return [c for c in near if name not in only or c.count in only[name]]

    def _options(
        self, member: Member, asked: Mapping[str, Fraction], only: Mapping[str, frozenset[int]]
    ) -> list[Option]:
        """The options that others can tell apart, and of those alike the ones that can be best."""
        windows = {
            name: self._window(member, name, asked, asked, only)
            for name, counted in member.counted.items()
            if not counted.hangs
        }
        if not all(windows.values()):
            return []
        hinges = [name for name in member.counted if name in member.hinges]
        free = [name for name in member.counted if name not in member.hinges]
        kept: dict[tuple[object, ...], list[Option]] = {}

        def hinged(
            names: list[str], chosen: dict[str, Candidate]
        ) -> Iterator[dict[str, Candidate]]:
            if not names:
                yield chosen
                return
            name, *rest = names
            for candidate in window(name, chosen):
                yield from hinged(rest, {**chosen, name: candidate})

        def window(name: str, chosen: Mapping[str, Candidate]) -> list[Candidate]:
            if name in windows:
                return windows[name]
            values = {**asked, **{m: c.value for m, c in chosen.items()}}
            return self._window(member, name, asked, values, only)

        def keep(chosen: Mapping[str, Candidate]) -> bool:
            if self.incumbent and self._too_far(member, chosen.values()):
                return True  # and so is all else with these
            option = self._option(member, asked, {name: chosen[name] for name in member.counted})
            if option is None:
                return False
            read = member.read(option.sized) if option.sized else ()
            alike = kept.setdefault((*option.edges.values(), *read), [])
            if not any(o.worst <= option.worst and o.cost <= option.cost for o in alike):
                alike.append(option)
            return True

        for chosen in hinged(hinges, {}):
            others = {name: window(name, chosen) for name in free}
            if not all(others.values()):
                continue
            # Where the nearest of all others can be made with these, nothing is better.
            if not keep({**chosen, **{name: near[0] for name, near in others.items()}}):
                for picked in product(*others.values()):
                    keep({**chosen, **dict(zip(free, picked, strict=True))})
        return sorted(
            (o for alike in kept.values() for o in alike), key=lambda o: (o.worst, o.cost)
        )

    def _option(
        self, member: Member, asked: Mapping[str, Fraction], candidates: dict[str, Candidate]
    ) -> Option | None:
        self.budget.spend()
        values = {**asked, **{name: c.value for name, c in candidates.items()}}
        if member.foretell:
            return Option(candidates, values, member.foretell(candidates), None)
        sized = self._size(member, values)
        if sized is None:
            return None
        kept = {
            name: off(sized, name, length)
            for name, length in asked.items()
            if name not in candidates
        }
        if any(e > max(self.most_off, member.near.get(name, e)) for name, e in kept.items()):
            return None
        edges = {e: edge_count(sized, e) for e in member.edges}
        return Option(candidates, values, edges, sized, tuple(kept.values()))

    def _too_far(self, member: Member, candidates: Iterable[Candidate]) -> bool:
        """Whether a piece is worse than the best solution, the others being at their least."""
        assert self.incumbent
        errors = [c.error for c in candidates]
        others = [e for (piece, _), e in self.least.items() if piece != member.name]
        least = (max([*errors, *others], default=Fraction(0)), sum(errors) + sum(others))
        return least > (self.incumbent.worst, self.incumbent.cost[0])

    def _size(self, member: Member, values: Mapping[str, Fraction]) -> Sized | None:
        key = (member.name, *values.items())
        if key not in self.sized:
            self.budget.spend(SIZING)
            self.sized[key] = member.size(values)
        return self.sized[key]
