"""A small labelled drawing of a piece: thin outline, and lines that say where it is measured.

Whatever has an outline can be drawn: a flat piece, or a piece in the round seen from the side.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import escape
from typing import Literal

Point = tuple[float, float]
"""Millimetres to the right, and up."""

LONGEST = 300.0
"""Units of the drawing along the longer side of the piece."""
SHORTEST = 10.0
"""Units of the shorter side at least: a strap must still be seen."""
LETTER = 7.2
"""Units that a letter of a label takes at most; wider than the usual fonts have it."""
TEXT = 12.0
FIRST, NEXT = 20.0, 24.0
"""Units from the piece to the first measuring line, and from a line to the next."""
MARGIN = 8.0
FOUNDATION = "heavy line: foundation"


@dataclass(frozen=True, slots=True)
class Dimension:
    """Where a measurement is taken: its name, and the two points it lies between."""

    label: str
    meaning: str
    along: Literal["across", "up"]
    start: Point
    stop: Point


@dataclass(frozen=True, slots=True)
class Drawing:
    """A piece to be drawn: its outline as a closed line of points, and what is measured.

    ``parts`` are told from the foundation up; ``levels`` are lines where one part ends and the
    next begins; the foundation is drawn heavy.
    """

    title: str
    outline: tuple[Point, ...]
    dimensions: tuple[Dimension, ...]
    parts: tuple[str, ...] = ()
    levels: tuple[tuple[Point, Point], ...] = ()
    foundation: tuple[Point, Point] | None = None


def in_words(drawing: Drawing) -> str:
    """What the drawing shows, in one line, for those without pictures. Source: common-practice.

    >>> in_words(Drawing("Flap", (), (Dimension("width", "across the base", "across", (0, 0),
    ...     (9, 0)),), ("flap",)))
    'Flap, from the foundation up: flap. width: across the base.'
    """
    parts = f", from the foundation up: {', then '.join(drawing.parts)}" if drawing.parts else ""
    told = "; ".join(f"{d.label}: {d.meaning}" for d in drawing.dimensions)
    return " ".join(f"{drawing.title}{parts}. {f'{told}.' if told else ''}".split())


def svg(drawing: Drawing) -> str:
    """The drawing as an SVG document, the same for the same drawing. Source: common-practice.

    >>> square = Drawing("Square", ((0, 0), (9, 0), (9, 9), (0, 9)), ())
    >>> svg(square).splitlines()[1]
    '<title id="title">Square: where its measurements are taken</title>'
    """
    sheet = _Sheet.of(drawing)
    for left, right in drawing.levels:
        sheet.line(sheet.at(left), sheet.at(right), 'stroke-width="0.8" stroke-dasharray="4 3"')
    if drawing.foundation:
        left, right = drawing.foundation
        sheet.line(sheet.at(left), sheet.at(right), 'stroke-width="3"')
    _across(sheet, [d for d in drawing.dimensions if d.along == "across"])
    _up(sheet, [d for d in drawing.dimensions if d.along == "up"])
    if drawing.foundation:
        sheet.text((sheet.left, sheet.bottom + 16), FOUNDATION, "start")
    x, y = sheet.left - MARGIN, sheet.top - MARGIN
    width, height = sheet.right + MARGIN - x, sheet.bottom + MARGIN - y
    size = f'width="{_n(width)}" height="{_n(height)}"'
    box = f"{_n(x)} {_n(y)} {_n(width)} {_n(height)}"
    title = _safe(f"{drawing.title}: where its measurements are taken")
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}" role="img"'
            f' aria-labelledby="title description" font-family="sans-serif" font-size="{TEXT:g}">',
            f'<title id="title">{title}</title>',
            f'<desc id="description">{_safe(in_words(drawing))}</desc>',
            f'<rect x="{_n(x)}" y="{_n(y)}" {size} fill="#fff"/>',
            '<g fill="none" stroke="#000">',
            *sheet.lines,
            "</g>",
            '<g fill="#000" stroke="none">',
            *sheet.words,
            "</g>",
            "</svg>\n",
        )
    )


@dataclass(slots=True)
class _Sheet:
    """What has been drawn so far, in units of the drawing (y down), and how far it reaches."""

    scale: Point
    edge: float  # of the piece, at its right
    left: float
    right: float
    top: float
    bottom: float
    lines: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    @staticmethod
    def of(drawing: Drawing) -> _Sheet:
        xs, ys = zip(*drawing.outline, strict=True)
        wide, tall = max(xs) - min(xs), max(ys) - min(ys)
        unit = LONGEST / (max(wide, tall) or 1)
        scale = (
            max(unit, SHORTEST / wide) if wide else unit,
            max(unit, SHORTEST / tall) if tall else unit,
        )
        (left, right), (low, high) = (
            (min(ends) * unit, max(ends) * unit) for ends, unit in zip((xs, ys), scale, strict=True)
        )
        sheet = _Sheet(scale, right, left, right, -high, -low)
        points = " ".join(",".join(map(_n, sheet.at(p))) for p in drawing.outline)
        sheet.lines.append(f'<polygon points="{points}" stroke-width="1.2"/>')
        return sheet

    def at(self, point: Point) -> Point:
        return float(point[0]) * self.scale[0], -float(point[1]) * self.scale[1]

    def line(self, start: Point, stop: Point, style: str = 'stroke-width="0.8"') -> None:
        ends = zip(("x1", "y1", "x2", "y2"), (*start, *stop), strict=True)
        drawn = " ".join(f'{name}="{_n(value)}"' for name, value in ends)
        self.lines.append(f"<line {drawn} {style}/>")

    def text(self, at: Point, words: str, anchor: Literal["start", "middle"]) -> None:
        """Words on a line through ``at``."""
        (x, y), wide = at, LETTER * len(words)
        from_x = x - wide / 2 if anchor == "middle" else x
        self.reach((from_x, y - TEXT), (from_x + wide, y + 3))
        place = f'x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}"'
        self.words.append(f"<text {place}>{_safe(words)}</text>")

    def clear(self, at: Point, words: str) -> None:
        """White round words that are about to be set in the middle of other lines."""
        place = f'x="{_n(at[0])}" y="{_n(at[1])}" text-anchor="middle"'
        self.words.append(f'<text {place} stroke="#fff" stroke-width="4">{_safe(words)}</text>')

    def measure(self, start: Point, stop: Point) -> None:
        """A measuring line with a slanted stroke across either end."""
        self.line(start, stop)
        for x, y in (start, stop):
            self.line((x - 3, y + 3), (x + 3, y - 3), 'stroke-width="1.2"')
            self.reach((x - 3, y - 3), (x + 3, y + 3))

    def guide(self, start: Point, stop: Point) -> None:
        """A faint line from the piece to a measuring line."""
        self.line(start, stop, 'stroke-width="0.5" stroke-dasharray="1 2"')

    def reach(self, *points: Point) -> None:
        for x, y in points:
            self.left, self.right = min(self.left, x), max(self.right, x)
            self.top, self.bottom = min(self.top, y), max(self.bottom, y)


def _across(sheet: _Sheet, dimensions: list[Dimension]) -> None:
    """Lines below the piece and above it, and within it for what lies between."""
    top, bottom = sheet.top, sheet.bottom
    below, above = bottom, top
    for d in dimensions:
        (x1, y), (x2, _) = sheet.at(d.start), sheet.at(d.stop)
        at = y
        if abs(y - bottom) < 0.01:
            at = below = below + (NEXT if below > bottom else FIRST)
        elif abs(y - top) < 0.01:
            at = above = above - (NEXT if above < top else FIRST)
        for x in (x1, x2):
            if at != y:
                sheet.guide((x, y), (x, at))
        sheet.measure((x1, at), (x2, at))
        place = (x1 + x2) / 2, at + TEXT + 2 if at > bottom else at - 5
        if at == y:
            sheet.clear(place, d.label)
        sheet.text(place, d.label, "middle")


def _up(sheet: _Sheet, dimensions: list[Dimension]) -> None:
    """Lines to the right of the piece, side by side where one above the other has no room."""
    placed = list(_columns(sheet, dimensions))
    starts, x = [], sheet.edge + FIRST
    for column in range(max((c for c, _ in placed), default=-1) + 1):
        starts.append(x)
        x += max(LETTER * len(d.label) for c, d in placed if c == column) + NEXT
    for column, d in placed:
        (x1, y1), (x2, y2), x = sheet.at(d.start), sheet.at(d.stop), starts[column]
        sheet.guide((x1, y1), (x, y1))
        sheet.guide((x2, y2), (x, y2))
        sheet.measure((x, y1), (x, y2))
        sheet.text((x + 7, (y1 + y2) / 2 + TEXT / 3), d.label, "start")


def _columns(sheet: _Sheet, dimensions: list[Dimension]) -> Iterator[tuple[int, Dimension]]:
    """Each dimension and the first column where neither its line nor its label is in the way."""
    taken: list[list[tuple[float, float]]] = []
    for d in dimensions:
        high, low = sorted((sheet.at(d.start)[1], sheet.at(d.stop)[1]))
        middle = (high + low) / 2
        high, low = min(high, middle - TEXT / 2), max(low, middle + TEXT / 2)
        free = (
            column
            for column, spans in enumerate(taken)
            if all(low <= top or bottom <= high for top, bottom in spans)
        )
        column = next(free, len(taken))
        if column == len(taken):
            taken.append([])
        taken[column].append((high, low))
        yield column, d


_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _safe(words: str) -> str:
    """Text for an XML document: what stands for markup escaped, what XML cannot hold left out."""
    return escape(_NOT_XML.sub("", words))


def _n(value: float) -> str:
    return f"{round(value, 1) + 0.0:g}"
