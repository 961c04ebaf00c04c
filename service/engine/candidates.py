"""The counts near the one asked for, and the work that looking at them takes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from .counting import Asked, Scale, count
from .rounding import MOST_ROWS, MOST_STITCHES, Multiple
from .templates import Term

MOST_STEPS = 100_000
"""Work of one request: candidates, options and sizings looked at."""


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
    moved: bool = False


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
