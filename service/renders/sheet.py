"""A sheet for a drawing: what is on it, how far that reaches, and the document round it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from .safe import clean, xml

Point = tuple[float, float]
"""Units of the sheet to the right, and down."""

Anchor = Literal["start", "middle", "end"]

TEXT = 14.0
LETTER = 0.62
"""Width of a letter over the size of the text at most; wider than usual fonts have it."""
MARGIN = 10.0

# Black on white unless the reader's pages are dark; on paper always.
DARK = "svg.sheet{color:#eee}svg.sheet .paper{fill:#111}"
STYLE = f"@media screen and (prefers-color-scheme:dark){{{DARK}}}"


@dataclass(slots=True)
class Sheet:
    """Lines and words as they are drawn, in the order they lie on each other."""

    text_size: float = TEXT
    defs: list[str] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    left: float = 0.0
    right: float = 0.0
    top: float = 0.0
    bottom: float = 0.0

    def reach(self, *points: Point) -> None:
        for x, y in points:
            self.left, self.right = min(self.left, x), max(self.right, x)
            self.top, self.bottom = min(self.top, y), max(self.bottom, y)

    def line(self, start: Point, stop: Point, style: str = "") -> None:
        self.reach(start, stop)
        self.lines.append(f'<path d="{path((start, stop))}"{_spaced(style)}/>')

    def shape(self, points: Iterable[Point], style: str = "") -> None:
        corners = tuple(points)
        self.reach(*corners)
        self.lines.append(f'<path d="{path(corners)}z"{_spaced(style)}/>')

    def text(
        self, at: Point, words: str, anchor: Anchor = "start", own_size: float | None = None
    ) -> None:
        """Words on a line whose middle is at the height of ``at``."""
        x, y = at
        size = own_size or self.text_size
        wide = LETTER * size * len(clean(words))
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        self.reach((left, y - size / 2), (left + wide, y + size / 2))
        place = f'x="{n(x)}" y="{n(y + 0.35 * size)}" text-anchor="{anchor}"'
        if own_size:
            place += f' font-size="{n(own_size)}"'
        self.words.append(f"<text {place}>{xml(words)}</text>")

    def measure(self, start: Point, stop: Point) -> None:
        """A measuring line with a slanted stroke across either end."""
        self.line(start, stop)
        for x, y in (start, stop):
            self.line((x - 4, y + 4), (x + 4, y - 4))

    def document(self, title: str, description: str) -> str:
        """The sheet as SVG; as wide as the page that holds it, and no wider than it is itself."""
        x, y = self.left - MARGIN, self.top - MARGIN
        wide, high = self.right + MARGIN - x, self.bottom + MARGIN - y
        box = f"{n(x)} {n(y)} {n(wide)} {n(high)}"
        return "\n".join(
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" class="sheet" width="100%"'
                f' viewBox="{box}" role="img" aria-labelledby="title description" color="#000"'
                f' font-family="sans-serif" font-size="{n(self.text_size)}">',
                f'<title id="title">{xml(title)}</title>',
                f'<desc id="description">{xml(description)}</desc>',
                f"<style>{STYLE}</style>",
                *(["<defs>", *self.defs, "</defs>"] if self.defs else []),
                f'<rect class="paper" x="{n(x)}" y="{n(y)}" width="{n(wide)}" height="{n(high)}"'
                ' fill="#fff"/>',
                '<g fill="none" stroke="currentColor" stroke-width="1">',
                *self.lines,
                "</g>",
                '<g fill="currentColor">',
                *self.words,
                "</g>",
                "</svg>\n",
            )
        )


def path(points: Iterable[Point]) -> str:
    """The points as a path of straight lines.

    >>> path(((0, 0), (1.25, -3)))
    'M0 0L1.25 -3'
    """
    return "M" + "L".join(f"{n(x)} {n(y)}" for x, y in points)


def n(value: float) -> str:
    """A number as short as it can be, to a hundredth.

    >>> n(2.0), n(-0.001), n(1.256)
    ('2', '0', '1.26')
    """
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def _spaced(style: str) -> str:
    return f" {style}" if style else ""


def apart(wanted: list[float], gap: float) -> list[float]:
    """Heights for labels in a column: as near to those wanted as they can be ``gap`` apart.

    ``wanted`` is in order, lowest value first.

    >>> apart([0, 5, 40], 10)
    [-2.5, 7.5, 40.0]
    """
    # Groups that touch stand together round the mean of what they want.
    groups: list[tuple[float, int]] = []  # sum of wanted starts, members
    for value in wanted:
        total, members = float(value), 1
        while groups:
            before, count = groups[-1]
            if before / count + (count - 1) * gap + gap <= total / members:
                break
            groups.pop()
            total, members = before + total - count * members * gap, count + members
        groups.append((total, members))
    return [total / count + i * gap for total, count in groups for i in range(count)]
