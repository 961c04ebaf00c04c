"""Lengths of a template in terms of the measurements that it asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .exact import Fraction

_ONCE, _NO_EASE = Fraction(1), Fraction(0)


@dataclass(frozen=True, slots=True)
class Term:
    """A length in a template: a measurement times a factor plus an ease, or a fixed length."""

    measurement: str | None
    times: Fraction = _ONCE
    plus: Fraction = _NO_EASE

    def of(self, measurements: Mapping[str, Fraction]) -> Fraction | None:
        """The length in millimetres; None where its measurement was not asked for."""
        if self.measurement is None:
            return self.plus
        asked = measurements.get(self.measurement)
        # Most terms are the measurement itself: nothing needs to be reckoned.
        if asked is None or (self.times is _ONCE and self.plus is _NO_EASE):
            return asked
        return asked * self.times + self.plus

    def measurement_from(self, length: Fraction) -> Fraction:
        """What the measurement came to, when this term came to ``length`` millimetres.

        >>> Term("width", Fraction(1, 2), Fraction(10)).measurement_from(Fraction(130))
        Fraction(240, 1)
        """
        if self.measurement is None or (self.times is _ONCE and self.plus is _NO_EASE):
            return length
        return (length - self.plus) / self.times
