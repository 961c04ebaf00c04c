"""Whole stitches and rows from exact quotients: nearest, at least or at most, by a multiple."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .exact import Fraction

Rounding = Literal["nearest", "at-least", "at-most"]

MOST_STITCHES = 10_000
MOST_ROWS = 10_000


@dataclass(frozen=True, slots=True)
class Multiple:
    """Counts a stitch pattern allows: a multiple of so many, plus so many."""

    multiple: int = 1
    plus: int = 0

    @property
    def smallest(self) -> int:
        """The smallest count of at least one."""
        return self.plus or self.multiple

    def allows(self, count: int) -> bool:
        return count >= self.smallest and (count - self.plus) % self.multiple == 0

    def __str__(self) -> str:
        return f"a multiple of {self.multiple}" + (f" plus {self.plus}" if self.plus else "")


ANY = Multiple()


def whole(exact: Fraction, multiple: Multiple = ANY, rounding: Rounding = "nearest") -> int:
    """The count nearest to ``exact`` that the multiple allows; ties go up.

    May be less than one: the caller says what that means. Integers only, so a tie is a tie.
    Source: common-practice.

    >>> whole(Fraction(384, 10)), whole(Fraction(5, 2)), whole(Fraction(384, 10), Multiple(4, 1))
    (38, 3, 37)
    """
    part = exact.numerator - multiple.plus * exact.denominator
    step = multiple.multiple * exact.denominator
    if rounding == "nearest":
        steps = (2 * part + step) // (2 * step)
    elif rounding == "at-least":
        steps = -(-part // step)
    else:
        steps = part // step
    return steps * multiple.multiple + multiple.plus
