"""Sizes of bodies, as measured or as published, each with its source.

They are sizes of bodies and not of garments: what a piece adds or takes off is its ease, and that
is always asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal

from .errors import Refusal, Refused
from .sources import SOURCES
from .units import MILLIMETRES, Length, exact

Statistic = Literal[
    "mean", "median", "published-size", "5th-percentile", "95th-percentile", "lower-limit",
    "upper-limit",
]  # fmt: skip

USUAL: tuple[Statistic, ...] = ("mean", "median", "published-size")
"""Statistics that stand for a size when none is asked for. Source: common-practice."""

NOTE = (
    "Sizes of bodies, not of garments or pieces. A piece's ease is added or taken off by whoever"
    " asks; none is built in. A limit is one end of a published range of body sizes."
)


@dataclass(frozen=True, slots=True)
class BodySize:
    population: Annotated[str, "whose body"]
    size: Annotated[str, "age, or the size's name where it is published"]
    measure: Annotated[str, "what is measured"]
    value: Annotated[Length, "the size of the body"]
    statistic: Annotated[Statistic, "what the value is of those measured, or of the size"]
    source: Annotated[str, "where the row is published"]


def _rows(
    population: str,
    size: str,
    measure: str,
    unit: str,
    values: dict[Statistic, float],
    source: str,
) -> Iterator[BodySize]:
    for statistic, value in values.items():
        millimetres = exact(value) * MILLIMETRES[unit]
        yield BodySize(population, size, measure, millimetres, statistic, SOURCES[source])


_ADULTS: tuple[tuple[str, float, float], ...] = (
    ("head", 56.1, 57.4), ("hand-round", 18.7, 21.2), ("hand-length", 18.1, 19.3),
    ("wrist", 15.5, 17.6), ("ball-of-foot", 22.8, 25.2), ("foot-length", 24.6, 27.1),
)  # fmt: skip
"""Measure, and the mean of women and of men, in cm. Source: ansur-2."""

_HEADS: tuple[tuple[str, float, float], ...] = (("women", 53.2, 59.7), ("men", 54.8, 60.1))
"""Head of women and of men: fifth and ninety-fifth percentile, in cm. Source: ansur-2."""

_GROWING: tuple[tuple[str, float, float], ...] = (
    ("birth", 34.46, 33.88), ("3 months", 40.50, 39.52), ("6 months", 43.34, 42.21),
    ("12 months", 46.06, 44.89), ("24 months", 48.25, 47.18), ("36 months", 49.46, 48.51),
    ("60 months", 50.74, 49.92),
)  # fmt: skip
"""Age, and the median head of boys and of girls, in cm. Source: who-growth."""

_CHILD_SIZES = ("2", "4", "6", "8", "10", "12", "14", "16")
_CHILDREN: dict[str, tuple[float, ...]] = {
    "cross-back": (9.25, 9.75, 10.25, 10.75, 11.25, 12, 12.25, 13),
    "arm-to-underarm": (8.5, 10.5, 11.5, 12.5, 13.5, 15, 16, 16.5),
    "upper-arm": (7, 7.5, 8, 8.5, 8.75, 9, 9.25, 9.5),
    "armhole-depth": (4.25, 4.75, 5, 5.5, 6, 6.5, 7, 7.5),
    "back-waist": (8.5, 9.5, 10.5, 12.5, 14, 15, 15.5, 16),
}
"""Children's sizes in inches, size by size. Source: council-bodies."""

_BUSTS: tuple[tuple[str, int, int], ...] = (
    ("S", 32, 34), ("M", 36, 38), ("L", 40, 42), ("1X", 44, 46),
)  # fmt: skip
"""Size, and the lower and upper limit of a woman's bust, in inches. Source: council-bodies."""

_LIMITS = (74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131)
"""Limits between women's bust sizes, in cm. Source: en-13402-3."""


def _all() -> Iterator[BodySize]:
    for measure, women, men in _ADULTS:
        for population, mean in (("women", women), ("men", men)):
            yield from _rows(population, "adult", measure, "cm", {"mean": mean}, "ansur-2")
    for population, low, high in _HEADS:
        ends: dict[Statistic, float] = {"5th-percentile": low, "95th-percentile": high}
        yield from _rows(population, "adult", "head", "cm", ends, "ansur-2")
    for age, boys, girls in _GROWING:
        for population, median in (("boys", boys), ("girls", girls)):
            yield from _rows(population, age, "head", "cm", {"median": median}, "who-growth")
    for measure, inches in _CHILDREN.items():
        for size, value in zip(_CHILD_SIZES, inches, strict=True):
            told: dict[Statistic, float] = {"published-size": value}
            yield from _rows("children", size, measure, "in", told, "council-bodies")
    for size, lower, upper in _BUSTS:
        ends = {"lower-limit": lower, "upper-limit": upper}
        yield from _rows("women", size, "bust", "in", ends, "council-bodies")
    for lower, upper in pairwise(_LIMITS):
        ends = {"lower-limit": lower, "upper-limit": upper}
        yield from _rows("women", f"{lower} to {upper} cm", "bust", "cm", ends, "en-13402-3")


BODY_SIZES: tuple[BodySize, ...] = tuple(_all())
"""Every size of a body. Source: ansur-2, who-growth, council-bodies, en-13402-3."""

POPULATIONS = tuple(dict.fromkeys(row.population for row in BODY_SIZES))
SIZES = tuple(dict.fromkeys(row.size for row in BODY_SIZES))
MEASURES = tuple(dict.fromkeys(row.measure for row in BODY_SIZES))
STATISTICS = tuple(dict.fromkeys(row.statistic for row in BODY_SIZES))


@dataclass(frozen=True, slots=True)
class BodyOrder:
    """A body measure by its names; size and statistic may be left out where there is one."""

    population: str
    measure: str
    size: str | None = None
    statistic: Statistic | None = None


def body_size(order: BodyOrder) -> BodySize:
    """The row of the table that was asked for.

    Left out, the size is the only one there is, and the statistic the mean, the median or the
    published size. Raises Refused, with paths into the order, where there is no such row or where
    several fit. Source: ansur-2, who-growth, council-bodies, en-13402-3.

    >>> float(body_size(BodyOrder("women", "wrist")).value)
    155.0
    """
    rows: list[BodySize] = [row for row in BODY_SIZES if row.measure == order.measure]
    names = ("population", "size", "statistic")
    for i, name in enumerate(names):
        there = list(dict.fromkeys(str(getattr(row, name)) for row in rows))
        wanted = getattr(order, name)
        if wanted is None and len(there) > 1:
            usual = [row for row in rows if name == "statistic" and row.statistic in USUAL]
            if not usual:
                said = _told(order, names[:i])
                raise _refuse("body-size-unclear", name, f"{said} has more than one {name}", there)
            rows = usual
        elif wanted is not None:
            rows = [row for row in rows if getattr(row, name) == wanted]
            if not rows:
                said = _told(order, names[:i])
                raise _refuse("no-such-body-size", name, f"{said} is not told for {wanted}", there)
    return rows[0]


def _told(order: BodyOrder, names: tuple[str, ...]) -> str:
    given = [str(getattr(order, name)) for name in names if getattr(order, name)]
    return ", ".join([f"the measure {order.measure}", *given])


def _refuse(code: str, name: str, detail: str, there: list[str]) -> Refused:
    return Refused(Refusal(code, (name,), f"{detail}; there is {', '.join(there)}", there))
