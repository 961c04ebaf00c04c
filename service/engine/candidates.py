"""The counts near the one asked for, and the work that looking at them takes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from .counting import Asked, Scale, count
from .errors import Refused
from .exact import Fraction
from .rounding import MOST_ROWS, MOST_STITCHES, Multiple, Rounding
from .templates import Term
from .working import SEARCH_STEP, spend

MOST_STEPS = 100_000
"""Work of one request: candidates, options and sizings looked at."""
MOST_WIDER = 4_000
"""Units of work of one request for what would let seams agree that cannot."""

Limit = Callable[[Fraction], Fraction]
"""The most a measurement may be off, from how far off its nearest count is."""


class TooMuchWork(Exception):
    """The search would take more than ``MOST_STEPS``."""


@dataclass(slots=True)
class Budget:
    """Steps that are left to the search."""

    left: int = MOST_STEPS
    wider: float = MOST_WIDER
    """Units of work left for what would let seams agree that cannot."""

    def spend(self, steps: int = 1) -> None:
        spend(SEARCH_STEP * steps, ("seams",))
        self.left -= steps
        if self.left < 0:
            raise TooMuchWork


@dataclass(frozen=True, slots=True)
class Candidate:
    """A count, the measurement to ask for so as to get it, and how far off that is of the asked."""

    count: int
    value: Fraction
    error: Fraction
    moved: bool = False


@dataclass(frozen=True, slots=True)
class Ruler:
    """Between a measurement and its count: lengths of the measurement, in millimetres.

    near: the count that a length comes to by itself, Refused where there is none; made: what a
    count comes to; ask: the length to ask for so as to get it.
    """

    near: Callable[[Fraction], int]
    made: Callable[[int], Fraction]
    ask: Callable[[int], Fraction]


@dataclass(frozen=True, slots=True)
class Counted:
    """How a measurement is counted, and the multiple and rounding its counts must keep.

    ruler: as the piece's other measurements make it; hangs: whether it differs with those that
    stand before it, as a cone's height does with its widths.
    """

    what: Literal["stitches", "rows"]
    multiple: Multiple
    rounding: Rounding
    ruler: Callable[[Mapping[str, Fraction]], Ruler]
    hangs: bool = False

    def nearest(self, asked: Fraction, values: Mapping[str, Fraction]) -> Candidate:
        """The count that ``asked`` millimetres come to by themselves; Refused where none does."""
        ruler = self.ruler(values)
        return self._candidate(ruler, ruler.near(asked), asked)

    def _candidate(
        self, ruler: Ruler, number: int, asked: Fraction, moved: bool = False
    ) -> Candidate:
        value = ruler.ask(number) if moved else asked
        return Candidate(number, value, abs(ruler.made(number) - asked) / asked, moved)

    def candidates(
        self, asked: Fraction, values: Mapping[str, Fraction], limit: Limit, budget: Budget
    ) -> list[Candidate]:
        """The counts no further off than ``limit`` makes of the nearest's error, the least first.

        Counts keep the rounding asked for: at least is never below, at most never above. None
        where the nearest itself is refused.
        """
        try:
            ruler = self.ruler(values)
            nearest = self._candidate(ruler, ruler.near(asked), asked)
        except Refused:
            return []
        most_off = limit(nearest.error)
        found = [nearest] if nearest.error <= most_off else []
        ways = {"nearest": (1, -1), "at-least": (1,), "at-most": (-1,)}[self.rounding]
        most = MOST_STITCHES if self.what == "stitches" else MOST_ROWS
        for way in ways:
            number, before = nearest.count + way * self.multiple.multiple, nearest.error
            while self.multiple.smallest <= number <= most:
                budget.spend()
                candidate = self._candidate(ruler, number, asked, moved=True)
                # What comes of a count may be uneven by a stitch: it is over when it gets worse.
                if candidate.error > most_off and candidate.error >= before:
                    break
                if candidate.value > 0 and candidate.error <= most_off:
                    found.append(candidate)
                number, before = number + way * self.multiple.multiple, candidate.error
        return sorted(found, key=lambda c: (c.error, c.moved, c.count))


def plain(
    term: Term,
    unit: Fraction,
    multiple: Multiple,
    scale: Scale,
    what: Literal["stitches", "rows"],
) -> Counted:
    """A measurement of so many ``unit`` millimetres. Source: common-practice.

    >>> width = plain(Term("width"), Fraction(5), Multiple(), Scale(Fraction(5), Fraction(4)),
    ...     "stitches")
    >>> near = width.candidates(Fraction(52), {}, lambda least: Fraction(1, 10), Budget())
    >>> [(c.count, int(c.value), c.moved) for c in near]
    [(10, 52, False), (11, 55, True)]
    """

    def made(number: int) -> Fraction:
        return term.measurement_from(number * unit)

    def near(asked: Fraction) -> int:
        return count(length_of(term, asked), unit, multiple, scale, what)

    ruler = Ruler(near, made, made)
    return Counted(what, multiple, scale.rounding, lambda _: ruler)


def length_of(term: Term, asked: Fraction) -> Asked:
    """The length that a term makes of a measurement asked for. Source: common-practice.

    >>> length_of(Term("width", Fraction(1, 2)), Fraction(9)).size
    Fraction(9, 2)
    """
    return Asked(term.of({term.measurement or "": asked}) or Fraction(0), (), term)
