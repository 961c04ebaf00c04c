"""Stripes: how many rows, stitches and breaks of yarn each colour has, by run and not by row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate, groupby
from typing import Annotated

Repeat = tuple[tuple[str, int], ...]
"""Colours in turn, each with its rows."""


@dataclass(frozen=True, slots=True)
class Stripe:
    colour: Annotated[str, "name of the colour"]
    rows: Annotated[int, "rows or rounds of it"]


@dataclass(frozen=True, slots=True)
class Coloured:
    section: Annotated[str, "name of the section"]
    first_row: Annotated[int, "first row or round that this is about"]
    last_row: Annotated[int, "last row or round of the section"]
    stripes: Annotated[tuple[Stripe, ...], "colours in turn from the first row, over and over"]

    def colour_of(self, row: int) -> str:
        """Colour of a row of the piece. Source: geometry.

        >>> Coloured("body", 5, 9, (Stripe("ink", 2), Stripe("ochre", 1))).colour_of(7)
        'ochre'
        """
        return colour_at(tuple((s.colour, s.rows) for s in self.stripes), row - self.first_row + 1)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows of so many stitches each; ``lost`` where it is one row that decreases."""

    stitches: int
    rows: int
    lost: int = 0


@dataclass(slots=True)
class ColourRows:
    """What one colour has of a section."""

    rows: int = 0
    stitches: int = 0
    lost: int = 0
    bands: int = 0
    idle: int = 0


def rows_of(repeat: Repeat, rows: int) -> dict[str, int]:
    """Rows of each colour among the first ``rows`` of the repeat, over and over.

    Source: geometry.

    >>> rows_of((("ink", 4), ("ochre", 2)), 9)
    {'ink': 7, 'ochre': 2}
    """
    period = sum(n for _, n in repeat)
    times, rest = divmod(rows, period)
    found: dict[str, int] = {}
    for colour, n in repeat:
        found[colour] = found.get(colour, 0) + times * n + max(0, min(n, rest))
        rest -= n
    return found


def colour_at(repeat: Repeat, row: int) -> str:
    """Colour of a row, counted from 1. Source: geometry.

    >>> [colour_at((("ink", 2), ("ochre", 1)), row) for row in (1, 3, 4)]
    ['ink', 'ochre', 'ink']
    """
    at = (row - 1) % sum(n for _, n in repeat)
    ends = accumulate(n for _, n in repeat)
    return next(colour for (colour, _), end in zip(repeat, ends, strict=True) if at < end)


def after(repeat: Repeat, rows: int) -> Repeat:
    """The repeat as it goes on after so many rows. Source: geometry.

    >>> after((("ink", 2), ("ochre", 1)), 4)
    (('ink', 1), ('ochre', 1), ('ink', 1))
    """
    gone = rows % sum(n for _, n in repeat)
    turned: list[tuple[str, int]] = []
    begun: list[tuple[str, int]] = []
    for colour, n in repeat:
        passed = min(gone, n)
        gone -= passed
        begun += [(colour, passed)] if passed else []
        turned += [(colour, n - passed)] if n > passed else []
    return (*turned, *begun)


def _bands(repeat: Repeat, rows: int) -> dict[str, int]:
    """Times each colour is taken up anew among the first rows."""
    period = sum(n for _, n in repeat)
    whole, rest = divmod(rows, period)
    turn = [colour for colour, _ in groupby(colour for colour, _ in repeat)]
    if len(set(turn)) == 1:
        return {turn[0]: 1}
    found = dict.fromkeys(turn, 0)
    for colour in turn:
        found[colour] += whole
    starts = [0, *accumulate(n for _, n in repeat)]
    begun = [colour for (colour, _), start in zip(repeat, starts, strict=False) if start < rest]
    for colour, _ in groupby(begun):
        found[colour] += 1
    joins = whole - 1 + bool(rest) if whole else 0
    if turn[0] == turn[-1]:
        found[turn[0]] -= joins
    return found


def _span(repeat: Repeat, rows: int, colour: str) -> int:
    """Rows from the first to the last of a colour that is there."""
    starts = [0, *accumulate(n for _, n in repeat)]
    period = starts[-1]
    first = next(s for (c, _), s in zip(repeat, starts, strict=False) if c == colour)
    whole, rest = divmod(rows, period)
    last = 0
    for (c, n), start in zip(repeat, starts, strict=False):
        if c == colour:
            here = start + min(n, rest - start) if start < rest else 0
            before = (whole - 1) * period + start + n if whole else 0
            last = max(last, whole * period + here if here else 0, before)
    return last - first


def by_colour(repeat: Repeat, stretches: Iterator[Stretch], rows: int) -> dict[str, ColourRows]:
    """What each colour has of a section of so many rows, told by its stretches from row 1.

    idle: rows of other colours between its first and its last. Source: geometry.

    >>> found = by_colour((("ink", 1), ("ochre", 1)), iter([Stretch(10, 3)]), 3)
    >>> found["ink"]
    ColourRows(rows=2, stitches=20, lost=0, bands=2, idle=1)
    """
    found = {colour: ColourRows() for colour, n in rows_of(repeat, rows).items() if n}
    before, at = dict.fromkeys(found, 0), 0
    for stretch in stretches:
        at += stretch.rows
        after = rows_of(repeat, at)
        for colour, one in found.items():
            here = after[colour] - before[colour]
            one.stitches += here * stretch.stitches
            one.lost += here * stretch.lost
            before[colour] = after[colour]
    bands = _bands(repeat, rows)
    for colour, one in found.items():
        one.rows = before[colour]
        one.bands = bands[colour]
        one.idle = _span(repeat, rows, colour) - one.rows
    return found
