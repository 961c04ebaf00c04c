"""A drawing of a piece in the making: its scale, its labels, and measuring lines round it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import pi, sqrt
from textwrap import wrap

from ..engine.patterns import Piece
from .safe import shortened
from .sheet import LETTER, TEXT, Point, Sheet, apart, n

WIDEST, TALLEST = 480.0, 560.0
"""Units of the sheet that a piece is drawn in."""
LINE = 1.4 * TEXT
"""Units from a label to the next."""
ASIDE = 40.0
"""Units from the piece to the labels at its left."""
MOST_LETTERS = 44
FOOT = 76
"""Letters to a line of the words at the foot, at least."""
HEAVY, DASHED, DOTTED = 'stroke-width="3"', 'stroke-dasharray="5 3"', 'stroke-dasharray="1 3"'
THICK = 'stroke-width="2"'


@dataclass(frozen=True, slots=True)
class Label:
    """Words at the left, and the point of the piece (in units of the sheet) that they tell of."""

    at: Point
    words: str


@dataclass(slots=True)
class Plan:
    """A drawing in the making: its sheet, its scale, and the labels that are still to be placed."""

    unit: float
    left: float
    right: float
    sheet: Sheet = field(default_factory=Sheet)
    labels: list[Label] = field(default_factory=list)

    @classmethod
    def of(
        cls, points: Iterable[Point], around: float = 0.0, room: Point = (WIDEST, TALLEST)
    ) -> Plan:
        """A scale at which the points, millimetres, fill the room, units of the sheet."""
        xs, ys = zip(*points, strict=True)
        wide, tall = max(xs) - min(xs) + 2 * around, max(ys) - min(ys) + 2 * around
        widest, tallest = room
        unit = min(widest / wide if wide else tallest, tallest / tall if tall else widest)
        return cls(unit, (min(xs) - around) * unit, (max(xs) + around) * unit)

    def at(self, point: Point) -> Point:
        return point[0] * self.unit, -point[1] * self.unit

    def tell(self, at: Point, words: str) -> None:
        self.labels.append(Label(self.at(at), shortened(words, MOST_LETTERS)))

    def place_labels(self) -> None:
        """The labels in a column at the left, each with a line to what it tells of."""
        told = sorted(self.labels, key=lambda label: (label.at[1], label.at[0]))
        x = self.left - ASIDE
        for label, y in zip(told, apart([t.at[1] for t in told], LINE), strict=True):
            turn = self.left - 12
            if label.at[0] > turn:
                self.sheet.line(label.at, (turn, label.at[1]), DOTTED)
            self.sheet.line((turn, label.at[1]), (x + 5, y), DOTTED)
            self.sheet.text((x, y), label.words, "end")

    def heights(self, spans: list[tuple[float, float, str]]) -> None:
        """Measuring lines at the right, one above the other, told of beside them."""
        x = self.right + 24
        middles = [-(low + high) / 2 * self.unit for low, high, _ in reversed(spans)]
        places = apart(middles, LINE)
        for (low, high, words), middle, y in zip(reversed(spans), middles, places, strict=True):
            self.sheet.measure((x, -low * self.unit), (x, -high * self.unit))
            if abs(y - middle) > 1:
                self.sheet.line((x, middle), (x + 14, y), DOTTED)
            self.sheet.text((x + 18, y), shortened(words, MOST_LETTERS))

    def width(self, start: Point, stop: Point, words: str, above: bool = False) -> None:
        """A measuring line under all there is, or above it."""
        sheet = self.sheet
        (x1, y1), (x2, y2) = self.at(start), self.at(stop)
        y = sheet.top - 16 if above else sheet.bottom + 16
        for x, from_y in ((x1, y1), (x2, y2)):
            sheet.line((x, from_y), (x, y), DOTTED)
        sheet.measure((x1, y), (x2, y))
        sheet.text(((x1 + x2) / 2, y - TEXT if above else y + TEXT), words, "middle")

    def foot(self, words: str) -> None:
        """Lines of words under all there is."""
        sheet = self.sheet
        room = max(FOOT, int((sheet.right - sheet.left) / (LETTER * TEXT)))
        y = sheet.bottom + TEXT
        for line in wrap(words, room):
            sheet.text((sheet.left, y), line)
            y += LINE


def edging_depth(piece: Piece) -> float:
    """Millimetres that the edging stands out, 0 without one."""
    return float(piece.edging.round_height * len(piece.edging.rounds)) if piece.edging else 0.0


def arc(plan: Plan, start: Point, stop: Point, long: float) -> None:
    """A chain of so many millimetres from a point to another, standing out to the left of it."""
    half = sqrt((stop[0] - start[0]) ** 2 + (stop[1] - start[1]) ** 2) / 2
    # Half an ellipse of that length, as near as its two axes tell it.
    high = sqrt(max(half * half / 9, 2 * (long / pi) ** 2 - half * half))
    (x1, y1), (x2, y2) = plan.at(start), plan.at(stop)
    level = abs(y1 - y2) < abs(x1 - x2)
    radii = (half, high) if level else (high, half)
    rx, ry = (n(r * plan.unit) for r in radii)
    plan.sheet.lines.append(f'<path d="M{n(x1)} {n(y1)}A{rx} {ry} 0 0 1 {n(x2)} {n(y2)}" {THICK}/>')
    up = high * plan.unit
    plan.sheet.reach((x1 - (0 if level else up), y1 - (up if level else 0)))
    plan.left = min(plan.left, plan.sheet.left)
