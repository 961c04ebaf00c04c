"""The rows of a piece worked flat, cell by cell."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from math import ceil
from textwrap import wrap

from ..engine.rowtext import plural
from .rows import Row, titled
from .safe import shortened
from .sheet import LETTER, Point, Sheet, apart, n, path

CELL = 10.0
"""Units of the shorter side of a cell."""
SMALLEST = 10.0
"""Units of the smallest text."""
READABLE = 1 / 75
"""Size of the text over the width of the grid: a wide grid, printed, is still read."""
GAINED, LOST, CHAIN, SLIT, CELLS = "V", "A", "0", "|", "[]"
"""Marks, as the legend is told of them."""
HEAVY = 'stroke-width="1.6"'


@dataclass(frozen=True, slots=True)
class Chains:
    """An opening: its rows, and its first and last stitch counted from the start of the row."""

    row: int
    last_row: int
    first: int
    last: int
    upright: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """Rows, the height of a cell over its width, openings, and which side row 1 faces."""

    rows: list[Row]
    ratio: float
    openings: tuple[Chains, ...] = ()
    starts_right: bool = True

    def begins_right(self, row: int) -> bool:
        """Whether a row begins at the right edge, as right-side rows do."""
        return (row % 2 == 1) == self.starts_right


def cell_size(ratio: float) -> Point:
    """Width and height of a cell in units.

    >>> cell_size(0.5), cell_size(2.0)
    ((20.0, 10.0), (10.0, 20.0))
    """
    return (CELL / min(1.0, ratio), CELL / min(1.0, ratio) * ratio)


def draw_rows(grid: Grid) -> Sheet:
    """The grid, rows from the bottom up; a row's number stands where the row begins."""
    w, h = cell_size(grid.ratio)
    lefts = [*_lefts(grid.rows)]
    widest = max(left + row.stitches for left, row in zip(lefts, grid.rows, strict=True))
    sheet = sheet_for((widest - min(lefts)) * w, w, h)
    cells(sheet, list(zip(lefts, grid.rows, strict=True)), w, h)
    _openings(sheet, grid, lefts, w, h)
    marks: list[tuple[str, float, float]] = []
    for left, row in zip(lefts, grid.rows, strict=True):
        marks += _edge_marks(left, row)
    mark(sheet, marks, w, h)
    _numbers(sheet, grid, lefts, w, h)
    section_names(sheet, list(zip(lefts, grid.rows, strict=True)), w, h)
    told = []
    if any(kind == GAINED for kind, _, _ in marks):
        told.append((GAINED, "a stitch gained at that edge"))
    if any(kind == LOST for kind, _, _ in marks):
        told.append((LOST, "a stitch lost at that edge"))
    if any(not o.upright for o in grid.openings):
        told.append((CHAIN, "a chain over an opening"))
    if any(o.upright for o in grid.openings):
        told.append((SLIT, "an opening up the rows"))
    legend(sheet, told, "Numbers stand where a row begins: right-side rows at one edge,"
           " wrong-side rows at the other.")  # fmt: skip
    return sheet


def sheet_for(wide: float, w: float, h: float) -> Sheet:
    """A sheet with the pattern of cells, and text that can be read beside so wide a grid."""
    sheet = Sheet(text_size=max(SMALLEST, wide * READABLE))
    sheet.defs.append(
        f'<pattern id="cells" width="{n(w)}" height="{n(h)}" patternUnits="userSpaceOnUse">'
        f'<path d="M{n(w)} 0L0 0L0 {n(h)}" fill="none" stroke="currentColor"'
        ' stroke-width="0.6"/></pattern>'
    )
    return sheet


def cells(sheet: Sheet, rows: list[tuple[int, Row]], w: float, h: float) -> None:
    """A rectangle of cells for every stretch of like rows."""
    for (left, stitches), like in groupby(rows, key=lambda told: (told[0], told[1].stitches)):
        stretch = [row.number for _, row in like]
        x, y, wide, high = left * w, -stretch[-1] * h, stitches * w, len(stretch) * h
        sheet.reach((x, y), (x + wide, y + high))
        sheet.lines.append(
            f'<rect x="{n(x)}" y="{n(y)}" width="{n(wide)}" height="{n(high)}" fill="url(#cells)"/>'
        )


def _lefts(rows: list[Row]) -> Iterator[int]:
    """Cells from the foundation's left end to each row's."""
    left = 0
    for row in rows:
        left -= row.left or 0
        yield left


def _edge_marks(left: int, row: Row) -> Iterator[tuple[str, float, float]]:
    """Gained stitches on their own cells; lost ones where they would have been."""
    right = left + row.stitches
    gained_left, gained_right = row.left or 0, row.right or 0
    y = row.number - 0.5
    for i in range(abs(gained_left)):
        yield (GAINED, left + i + 0.5, y) if gained_left > 0 else (LOST, left - i - 0.5, y)
    for i in range(abs(gained_right)):
        yield (GAINED, right - i - 0.5, y) if gained_right > 0 else (LOST, right + i + 0.5, y)


def mark(sheet: Sheet, marks: list[tuple[str, float, float]], w: float, h: float) -> None:
    """Marks at middles of cells, told in cells to the right and up."""
    for kind in (GAINED, LOST):
        told = [vee((x * w, -y * h), kind) for k, x, y in marks if k == kind]
        at = [x * w for k, x, _ in marks if k == kind]
        sheet.reach(*((x + half, 0.0) for x in at for half in (-w / 2, w / 2)))
        if told:
            name = "gained" if kind == GAINED else "lost"
            sheet.lines.append(f'<path class="{name}" d="{"".join(told)}" {HEAVY}/>')


def vee(at: Point, kind: str, size: float = CELL * 0.32) -> str:
    """Two strokes that meet below, where a stitch is gained, or above, where one is lost."""
    x, y = at
    tip = size if kind == GAINED else -size
    return path(((x - size, y - tip), (x, y + tip), (x + size, y - tip)))


def _openings(sheet: Sheet, grid: Grid, lefts: list[int], w: float, h: float) -> None:
    for o in grid.openings:
        row, left = grid.rows[o.row - 1], lefts[o.row - 1]
        below = left + (row.left or 0)  # stitches are counted on the row that is worked into
        if grid.begins_right(o.row):
            start, stop = below + row.before - o.last, below + row.before - o.first + 1
        else:
            start, stop = below + o.first - 1, below + o.last
        if o.upright:
            x = (start if grid.begins_right(o.row) else stop) * w
            sheet.line((x, -(o.row - 1) * h), (x, -o.last_row * h), 'stroke-width="4"')
            continue
        y = -(o.row - 0.5) * h
        corners = ((start, -h / 2), (stop, -h / 2), (stop, h / 2), (start, h / 2))
        sheet.shape([(x * w, y + up) for x, up in corners], 'class="paper" fill="#fff"')
        links = "".join(chain_link(((x + 0.5) * w, y)) for x in range(start, stop))
        sheet.lines.append(f'<path class="chains" d="{links}"/>')


def chain_link(at: Point, bigger: float = 1.0) -> str:
    """The oval of a chain."""
    x, y = at
    half, high = CELL * 0.4 * bigger, CELL * 0.2 * bigger
    arc = f"A{n(half)} {n(high)} 0 1 0"
    return f"M{n(x - half)} {n(y)}{arc} {n(x + half)} {n(y)}{arc} {n(x - half)} {n(y)}"


def _numbers(sheet: Sheet, grid: Grid, lefts: list[int], w: float, h: float) -> None:
    each = ceil(1.2 * sheet.text_size / (2 * h))
    for left, row in zip(lefts, grid.rows, strict=True):
        if (row.number - 1) // 2 % each:
            continue
        y, gap = -(row.number - 0.5) * h, 4.0
        if grid.begins_right(row.number):
            lost = max(0, -(row.right or 0))
            sheet.text(((left + row.stitches + lost) * w + gap, y), str(row.number))
        else:
            lost = max(0, -(row.left or 0))
            sheet.text(((left - lost) * w - gap, y), str(row.number), "end")


def section_names(sheet: Sheet, rows: list[tuple[int, Row]], w: float, h: float) -> None:
    """Each section's name and last count at the right, and a line where it ends."""
    right = sheet.right + 14
    sections: dict[int, list[Row]] = {}
    start, name = 0, None
    for _, row in rows:
        if row.section != name:
            start, name = row.number, row.section
        sections.setdefault(start, []).append(row)
    upper = [*sections.values()][::-1]
    middles = [-(of[0].number - 1 + of[-1].number) / 2 * h for of in upper]
    for of, y in zip(upper, apart(middles, 1.3 * sheet.text_size), strict=True):
        last = of[-1]
        if of is not upper[0]:
            left, level = rows[last.number - 1][0], -last.number * h
            ends = (left * w, level), ((left + last.stitches) * w, level)
            sheet.line(*ends, 'stroke-width="2.4"')
        told = f"{shortened(titled(last.section), 30)}: {plural(last.stitches, 'st')}"
        sheet.text((right, y), told)


def legend(sheet: Sheet, marks: list[tuple[str, str]], words: str) -> None:
    """What the marks stand for, under the grid, and a line or two of words."""
    size = sheet.text_size
    left, y = sheet.left, sheet.bottom + 1.6 * size
    bigger = size / SMALLEST
    for kind, meaning in [(CELLS, "a stitch"), *marks]:
        drawn = _sample((left + 6 * bigger, y), kind, bigger)
        sheet.lines.append(f'<path d="{drawn}" {HEAVY}/>')
        sheet.text((left + 16 * bigger, y), meaning)
        y += 1.3 * size
    room = max(40, int((sheet.right - sheet.left) / (LETTER * size)))
    for line in wrap(words, room, break_on_hyphens=False):
        sheet.text((left, y), line)
        y += 1.3 * size


def _sample(at: Point, kind: str, bigger: float) -> str:
    """A mark of the legend."""
    if kind == CHAIN:
        return chain_link(at, bigger)
    if kind in (GAINED, LOST):
        return vee(at, kind, CELL * 0.32 * bigger)
    (x, y), half = at, CELL * 0.4 * bigger
    if kind == SLIT:
        return path(((x, y - half), (x, y + half)))
    return path(((x - half, y - half), (x + half, y - half), (x + half, y + half),
                 (x - half, y + half))) + "z"  # fmt: skip
