"""Edges as curves: lines, quarter ellipses and arcs of circles, read at one height after another.

An edge runs upwards from (0, 0): ``inwards`` grows towards the middle of the piece, ``up`` along
it. Lengths are in millimetres, and exact; square roots are exact where they are rational, and
otherwise taken to 64 binary places.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import isqrt
from typing import Literal

from .exact import Fraction

Shape = Literal["line", "ellipse", "circle"]
Bulge = Literal["outward", "inward"]

HALF = Fraction(1, 2)


def root(square: Fraction) -> Fraction:
    """The square root, exact where it is rational, else to 64 binary places; 0 below zero.

    Source: geometry.

    >>> root(Fraction(9, 4)), float(root(Fraction(2)))
    (Fraction(3, 2), 1.4142135623730951)
    """
    if square <= 0:
        return Fraction(0)
    return Fraction(isqrt((square.numerator * square.denominator) << 128),
                    square.denominator << 64)  # fmt: skip


def least_radius(inwards: Fraction, up: Fraction) -> Fraction:
    """The smallest radius of an arc between the ends of a segment that never turns back down.

    At that radius the arc starts or ends level: chord squared over twice the rise.
    Source: geometry.

    >>> least_radius(Fraction(3), Fraction(3)), least_radius(Fraction(0), Fraction(8))
    (Fraction(3, 1), Fraction(4, 1))
    """
    return (inwards**2 + up**2) / (2 * up)


@dataclass(frozen=True, slots=True)
class Curve:
    """One segment between two points; only a line may be level (``up`` 0).

    bulge: the side of the straight line that an arc stands on; outward makes the piece wider.
    radius: of an arc of a circle, no smaller than least_radius.
    """

    inwards: Fraction
    up: Fraction
    shape: Shape = "line"
    bulge: Bulge = "outward"
    radius: Fraction = Fraction(0)

    def at(self, height: Fraction) -> Fraction:
        """How far in the curve is at a height from 0 to ``up``; a level line's wider end.

        Source: geometry.

        >>> Curve(Fraction(5), Fraction(5), "ellipse").at(Fraction(3))
        Fraction(1, 1)
        """
        if not self.up:
            return min(Fraction(0), self.inwards)
        if self.shape == "line":
            return self.inwards * height / self.up
        if self.shape == "circle":
            return self._circle(height)
        part = height / self.up
        if (self.bulge == "outward") == (self.inwards > 0):  # it ends level
            return self.inwards * (1 - root(1 - part**2))
        return self.inwards * root(part * (2 - part))

    def _circle(self, height: Fraction) -> Fraction:
        # The centre stands on the middle of the chord's other side, square to the chord.
        side = 1 if self.bulge == "outward" else -1
        off = side * root(self.radius**2 / (self.inwards**2 + self.up**2) - Fraction(1, 4))
        across, above = self.inwards * HALF + off * self.up, self.up * HALF - off * self.inwards
        return across - side * root(self.radius**2 - (height - above) ** 2)


Edge = tuple[Curve, ...]


def height_of(edge: Edge) -> Fraction:
    """The height that the segments come to. Source: geometry.

    >>> height_of((Curve(Fraction(2), Fraction(3)), Curve(Fraction(-2), Fraction(4))))
    Fraction(7, 1)
    """
    return sum((curve.up for curve in edge), Fraction(0))


def read(edge: Edge, heights: Iterable[Fraction]) -> Iterator[Fraction]:
    """How far in the edge is at each of the heights, which only grow; the wider where it steps.

    Work is one look a height and one a segment. Source: geometry.

    >>> step = (Curve(Fraction(0), Fraction(2)), Curve(Fraction(3), Fraction(0)),
    ...     Curve(Fraction(0), Fraction(2)))
    >>> [int(x) for x in read(step, map(Fraction, (1, 2, 3)))]
    [0, 0, 3]
    """
    i, across, below = 0, Fraction(0), Fraction(0)
    for height in heights:
        while i < len(edge) - 1 and below + edge[i].up < height:
            across, below = across + edge[i].inwards, below + edge[i].up
            i += 1
        reached = across + edge[i].at(min(height - below, edge[i].up))
        further, over, j = across, below, i
        while j < len(edge) - 1 and over + edge[j].up == height:  # on the end of a segment
            further, over = further + edge[j].inwards, over + edge[j].up
            j += 1
            reached = min(reached, further + edge[j].at(Fraction(0)))
        yield reached
