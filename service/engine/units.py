"""Lengths, masses and the two unit systems, all exact.

Inside the engine a length is a Fraction of millimetres and a mass a Fraction of grams: conversion
is exact, and nothing is rounded until it is written out.
"""

from __future__ import annotations

from decimal import Decimal
from math import ceil
from typing import Annotated, Literal, get_args

from .exact import Fraction

Length = Annotated[Fraction, "length"]
"""Millimetres, exact; written out in centimetres or inches."""
YarnLength = Annotated[Fraction, "yarn-length"]
"""Millimetres of yarn, exact; written out in metres or yards."""
Fine = Annotated[Fraction, "fine"]
"""Millimetres, exact; written out in millimetres or inches (buttons, hooks, one stitch)."""
Mass = Annotated[Fraction, "mass"]
"""Grams, exact; written out in grams or ounces."""

System = Literal["metric", "imperial"]
SYSTEMS: tuple[System, ...] = get_args(System)

MILLIMETRES: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": Fraction(254, 10),
    "m": Fraction(1000),
    "yd": Fraction(9144, 10),
}
"""Millimetres in one unit of length. Source: iso-80000-3."""

GRAMS: dict[str, Fraction] = {"g": Fraction(1), "oz": Fraction(28349523125, 10**9)}
"""Grams in one unit of mass. Source: avoirdupois."""

WRITTEN: dict[str, dict[System, str]] = {
    "length": {"metric": "cm", "imperial": "in"},
    "yarn-length": {"metric": "m", "imperial": "yd"},
    "fine": {"metric": "mm", "imperial": "in"},
    "mass": {"metric": "g", "imperial": "oz"},
}
"""The unit a kind of quantity is written in, for each unit system."""

TEN_CM = Fraction(100)
FOUR_INCHES = Fraction(1016, 10)


def exact(value: int | float | Decimal | Fraction) -> Fraction:
    """The number as it was written: 24.1 is 241/10, not the nearest binary fraction.

    >>> exact(24.1)
    Fraction(241, 10)
    """
    if isinstance(value, int):
        return Fraction(value)
    if isinstance(value, float):
        value = Decimal(repr(value))
    return Fraction(*value.as_integer_ratio())


def length(value: int | float | Decimal | Fraction, unit: str) -> Length:
    """A length in millimetres. Raises KeyError for a unit that is not one of length.

    >>> length(4, "in")
    Fraction(508, 5)
    """
    return exact(value) * MILLIMETRES[unit]


def mass(value: int | float | Decimal | Fraction, unit: str) -> Mass:
    """A mass in grams. Raises KeyError for a unit that is not one of mass.

    >>> mass(50, "g")
    Fraction(50, 1)
    """
    return exact(value) * GRAMS[unit]


def system_of(unit: str) -> System:
    """The unit system a unit belongs to.

    >>> system_of("in"), system_of("mm")
    ('imperial', 'metric')
    """
    return "imperial" if unit in ("in", "yd", "oz") else "metric"


def in_unit(quantity: Fraction, unit: str) -> float:
    """The quantity, in millimetres or grams, as a number of ``unit``, to six decimals.

    >>> in_unit(Fraction(508, 5), "in")
    4.0
    """
    return round(float(quantity / (MILLIMETRES.get(unit) or GRAMS[unit])), 6)


def written(size: Fraction, system: System, places: int = 1, up: bool = False) -> str:
    """A length as a pattern writes it: centimetres to a decimal, or inches to the eighth.

    ``places`` above 1 asks for decimals in either system; ``up`` never rounds down, for what is
    needed at least.

    >>> written(Fraction(2375, 10), "metric"), written(Fraction(2375, 10), "imperial")
    ('23.8 cm', '9 3/8 in')
    """
    rounded = _up if up else _half_up
    if places > 1:
        unit = "cm" if system == "metric" else "in"
        return f"{_decimal(rounded(size, MILLIMETRES[unit] / 10**places), places)} {unit}"
    if system == "metric":
        return f"{_decimal(rounded(size, MILLIMETRES['mm']), 1)} cm"
    whole, rest = divmod(rounded(size, MILLIMETRES["in"] / 8), 8)
    if not rest:
        return f"{whole} in"
    part = Fraction(rest, 8)
    return f"{f'{whole} ' if whole else ''}{part.numerator}/{part.denominator} in"


def _decimal(number: int, places: int) -> str:
    """So many tenths, hundredths, ... with every digit that is told, however many there are."""
    whole, rest = divmod(abs(number), 10**places)
    sign = "-" if number < 0 else ""
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole}.{rest:0{places}d}".rstrip("0")


def _half_up(size: Fraction, unit: Fraction) -> int:
    # size / unit + 1/2 in whole numbers: much is written, and two Fractions fewer tell
    top, under = size.numerator * unit.denominator, size.denominator * unit.numerator
    return int((2 * top + under) // (2 * under))


def _up(size: Fraction, unit: Fraction) -> int:
    return ceil(size / unit)
