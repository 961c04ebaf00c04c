"""How thick a yarn is: from its count (tex and the rest), its wraps to the inch or its category."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi, sqrt
from typing import Literal, get_args

from .exact import Fraction
from .standards import YARN_WEIGHTS

CountSystem = Literal["tex", "denier", "nm", "ne"]
COUNT_SYSTEMS: tuple[str, ...] = get_args(CountSystem)

NE_TO_TEX = Fraction(59054, 100)
"""Tex of Ne 1: hanks of 840 yd to the pound. Source: yarn-counts."""
DENIER = 9
"""Denier to one tex: grams to 9,000 m against 1,000 m. Source: yarn-counts."""


@dataclass(frozen=True, slots=True)
class YarnCount:
    """A yarn's count in one of the trade's systems, as its label says it."""

    system: CountSystem
    value: Fraction


def tex(count: YarnCount) -> Fraction:
    """Grams to 1,000 m. Source: yarn-counts.

    >>> tex(YarnCount("nm", Fraction(2))), tex(YarnCount("denier", Fraction(4500)))
    (Fraction(500, 1), Fraction(500, 1))
    """
    if count.system == "tex":
        return count.value
    if count.system == "denier":
        return count.value / DENIER
    return (1000 if count.system == "nm" else NE_TO_TEX) / count.value


def millimetres_to_a_gram(count: YarnCount) -> Fraction:
    """Millimetres of yarn to a gram. Source: yarn-counts.

    >>> millimetres_to_a_gram(YarnCount("tex", Fraction(500)))
    Fraction(2000, 1)
    """
    return 1_000_000 / tex(count)


def metres_to_100_g(category: int) -> Fraction | None:
    """Middle of the usual range, metres to 100 g; its one limit where it has one, None where none.

    Source: spinners-table.

    >>> metres_to_100_g(4), metres_to_100_g(0), metres_to_100_g(7)
    (Fraction(151, 1), Fraction(484, 1), None)
    """
    weight = YARN_WEIGHTS[category]
    limits = (weight.fewest_metres_per_100_g, weight.most_metres_per_100_g)
    known = [limit for limit in limits if limit is not None]
    return Fraction(sum(known), len(known)) if known else None


def diameter_from_wraps(wraps_per_inch: Fraction) -> float:
    """Diameter in millimetres: wraps lie side by side along an inch. Source: geometry.

    >>> round(diameter_from_wraps(Fraction(10)), 3)
    2.54
    """
    return float(Fraction(254, 10) / wraps_per_inch)


def usual_wraps(category: int) -> Fraction:
    """Middle of the wraps to the inch that the category is published with.

    Source: council-standards.

    >>> usual_wraps(4)
    Fraction(21, 2)
    """
    low, high = YARN_WEIGHTS[category].wraps_per_inch.rstrip("+").split("-")
    return Fraction(int(low) + int(high), 2)


def _packing(category: int) -> float:
    """Grams to a cubic millimetre of the yarn as wrapped: its mass to a length over its section."""
    metres = metres_to_100_g(category)
    assert metres is not None
    return float(100 / (metres * 1000)) / (pi / 4 * diameter_from_wraps(usual_wraps(category)) ** 2)


BOTH_PUBLISHED = (1, 2, 3, 4, 5)
"""Categories with two limits of wraps and two of metres."""
PACKING = exp(sum(log(_packing(c)) for c in BOTH_PUBLISHED) / len(BOTH_PUBLISHED))
"""Grams to a cubic millimetre, the middle (geometric) of categories 1 to 5: about 0.15 g to a cubic
centimetre. Source: council-standards, spinners-table."""
PACKING_OFF = max(abs(log(_packing(c) / PACKING)) for c in BOTH_PUBLISHED) / 2
"""How far, as a share of it, a diameter from a mass is off in the worst of those categories."""


def diameter_from_mass(millimetres_a_gram: Fraction) -> float:
    """Diameter in millimetres of a yarn with so many millimetres to a gram.

    A round section of the packing that categories 1 to 5 have in the middle.
    Source: council-standards, spinners-table.

    >>> round(diameter_from_mass(Fraction(1510)), 2)
    2.36
    """
    return sqrt(4 / (pi * PACKING * float(millimetres_a_gram)))
