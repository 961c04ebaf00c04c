"""The rounds of a piece, cell by cell: rings of a disc, or rounds unrolled one above the other."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, cos, pi, sin

from ..engine.patterns import Piece
from ..engine.roundplans import RoundTemplate
from ..engine.roundwords import groups, oval_ends
from ..engine.sizing import PieceOrder
from .flat_grid import CELL, GAINED, LOST, cell_size, cells, legend, mark, section_names, sheet_for
from .rows import Row
from .sheet import LETTER, Point, Sheet, n, path

RING = 15.0
"""Units from a ring to the next."""
NUMBER = 8.0
"""Units of the text of a ring's number."""
GAINED_WORDS = "a stitch gained: two or more worked into one"
LOST_WORDS = "stitches worked together"

Mark = tuple[str, int]
"""Gained or lost, and the stitch of the round that shows it, counted from 0."""


def round_marks(row: Row, piece: Piece, order: PieceOrder) -> tuple[Mark, ...]:
    """Where a round gains or loses stitches, as its instructions have it. None in the first.

    An increase is marked on each stitch gained, a decrease on the one stitch that is made.
    """
    assert piece.start is not None
    before, after, side = row.before, row.stitches, piece.start.side_stitches
    if not before or before == after or (row.number == 1 and side is not None):
        return ()
    if side is not None and before >= 2 * side + 2 and after > before:
        found: list[Mark] = []
        at = 0
        for plain, taken, made in oval_ends(before, after, side):
            found += _marks(taken, made, 0, at + plain)
            at += plain + made
        return tuple(found)
    return tuple(_marks(before, after, _offset(row, order), 0))


def _offset(row: Row, order: PieceOrder) -> int:
    chosen = order.in_the_round.offset if order.in_the_round else None
    assert isinstance(order.template, RoundTemplate)
    offset = order.template.offset if chosen is None else chosen
    return row.before // abs(row.change) // 2 if offset and row.number % 2 == 0 else 0


def _marks(before: int, after: int, offset: int, at: int) -> Iterator[Mark]:
    if before == after:
        return
    for (plain, taken, made), times in groups(before, after, offset):
        for _ in range(times):
            at += plain
            if made > taken:
                yield from ((GAINED, at + i) for i in range(1, made))
            elif taken > made:
                yield LOST, at
            at += made


def draw_rounds(piece: Piece, order: PieceOrder, rows: list[Row], ratio: float) -> Sheet:
    """Rounds unrolled, from the bottom up; each begins at the right."""
    w, h = cell_size(ratio)
    widest = max(row.stitches for row in rows)
    sheet = sheet_for(widest * w, w, h)
    placed = [(-row.stitches, row) for row in rows]
    cells(sheet, placed, w, h)
    marks = [
        (kind, -at - 0.5, row.number - 0.5)
        for row in rows
        for kind, at in round_marks(row, piece, order)
    ]
    mark(sheet, marks, w, h)
    each = ceil(1.2 * sheet.text_size / h)
    for row in rows:
        if (row.number - 1) % each == 0:
            sheet.text((4.0, -(row.number - 0.5) * h), str(row.number))
    section_names(sheet, placed, w, h)
    legend(sheet, _legend(marks), "Rounds unrolled: each begins at the right, by its number.")
    return sheet


def _legend(marks: list[tuple[str, float, float]]) -> list[tuple[str, str]]:
    kinds = {kind for kind, _, _ in marks}
    told = ((GAINED, GAINED_WORDS), (LOST, LOST_WORDS))
    return [(kind, words) for kind, words in told if kind in kinds]


def draw_rings(piece: Piece, order: PieceOrder, rows: list[Row], ratio: float) -> Sheet:
    """Rings from the middle out; each begins at the top and goes to the left."""
    sheet = Sheet(text_size=max(RING * 0.6, 2 * len(rows) * RING / 75))
    rim = len(rows) * RING
    sheet.reach((-rim, -rim), (rim, rim))
    vees = []
    for row in rows:
        inner, outer = (row.number - 1) * RING, row.number * RING
        sheet.lines.append(f'<circle r="{n(outer)}" stroke-width="0.8"/>')
        ticks = [
            path((_around(i, row.stitches, inner), _around(i, row.stitches, outer)))
            for i in range(row.stitches)
        ]
        sheet.lines.append(f'<path class="ring" d="{"".join(ticks)}" stroke-width="0.6"/>')
        for _, at in round_marks(row, piece, order):
            vees.append(_vee(at + 0.5, row.stitches, (inner + outer) / 2))
    if vees:
        sheet.lines.append(f'<path class="gained" d="{"".join(vees)}" stroke-width="1.6"/>')
    _ring_numbers(sheet, rows)
    told = [(GAINED, GAINED_WORDS)] if vees else []
    legend(sheet, told, "Rounds from the middle out; each begins by its number, and goes left.")
    return sheet


def _ring_numbers(sheet: Sheet, rows: list[Row]) -> None:
    """Numbers along the line where rounds begin, narrow enough to leave the marks beside them."""
    for row in rows:
        y, wide = -(row.number - 0.5) * RING, LETTER * NUMBER * len(str(row.number))
        left, right, top, bottom = -wide / 2, wide / 2, y - NUMBER / 2, y + NUMBER / 2
        box = ((left, top), (right, top), (right, bottom), (left, bottom))
        sheet.shape(box, 'class="paper" fill="#fff" stroke="none"')
        sheet.text((0.0, y), str(row.number), "middle", NUMBER)


def _around(stitch: float, stitches: int, radius: float) -> Point:
    """A point of a ring, so many stitches from the top, to the left."""
    angle = 2 * pi * stitch / stitches
    return -radius * sin(angle), -radius * cos(angle)


def _vee(stitch: float, stitches: int, radius: float) -> str:
    """Two strokes that meet towards the middle: two stitches stand on one."""
    half = CELL * 0.32
    turn = half / radius * stitches / (2 * pi)
    far, near = radius + half, radius - half
    ends = _around(stitch - turn, stitches, far), _around(stitch + turn, stitches, far)
    return path((ends[0], _around(stitch, stitches, near), ends[1]))
