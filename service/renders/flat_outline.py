"""The outline of a piece worked flat, to scale, with what is made up on it."""

from __future__ import annotations

from dataclasses import dataclass

from ..engine.openings import Buttonhole
from ..engine.patterns import Piece
from ..engine.sections import Section
from ..engine.sizing import PieceOrder
from .rows import rows_of

Point = tuple[float, float]
"""Millimetres to the right, and up from the foundation."""


@dataclass(frozen=True, slots=True)
class Flat:
    """Left and right end of the work where an edge turns, millimetres, from the foundation up.

    ``ends`` are the places in them of the foundation and of each section's last row.
    """

    edges: tuple[tuple[Point, Point], ...]
    ends: tuple[int, ...]

    @property
    def outline(self) -> tuple[Point, ...]:
        """Up the right edge, and down the left."""
        return (
            *(right for _, right in self.edges),
            *(left for left, _ in reversed(self.edges)),
        )

    @property
    def levels(self) -> tuple[tuple[Point, Point], ...]:
        return tuple(self.edges[i] for i in self.ends)


def flat_outline(piece: Piece, order: PieceOrder) -> Flat:
    """The piece at its gauge: edges straight from one change of rate to the next."""
    assert piece.foundation is not None
    w, h = float(order.gauge.stitch_width), float(order.gauge.row_height)
    left, right, rows = 0, piece.foundation.stitches, 0
    edges, ends = [((0.0, 0.0), (right * w, 0.0))], [0]

    def turn(by: int, to_left: int, to_right: int) -> None:
        nonlocal left, right, rows
        rows, left, right = rows + by, left - to_left, right + to_right
        edges.append(((left * w, rows * h), (right * w, rows * h)))

    for section in piece.sections:
        assert isinstance(section, Section)
        rest = section.rows
        for run in section.schedule:
            worked = run.times * run.every
            if worked:
                turn(worked, run.times * run.left, run.times * run.right)
            if run.rows > worked:
                turn(run.rows - worked, 0, 0)
            rest -= run.rows
        if rest:
            turn(rest, 0, 0)
        ends.append(len(edges) - 1)
    return Flat(tuple(edges), tuple(ends))


@dataclass(frozen=True, slots=True)
class Gap:
    """An opening in the fabric, millimetres: its left and right end, its foot and its top."""

    name: str
    row: int
    stitches: int
    left: float
    right: float
    foot: float
    top: float


def gaps(piece: Piece, order: PieceOrder) -> tuple[Gap, ...]:
    """The openings of the template and the buttonhole, where they are worked."""
    wanted = [(o.name, o.row, o.first_stitch, o.last_stitch, o.row) for o in piece.openings]
    hole: Buttonhole | None = piece.buttonhole
    upright = bool(hole and hole.slit and hole.slit.direction == "along")
    if hole and hole.slit_place:
        at = hole.slit_place
        wanted.append(("buttonhole", at.row, at.first_stitch, at.last_stitch, at.last_row))
    if not wanted:
        return ()
    w, h = float(order.gauge.stitch_width), float(order.gauge.row_height)
    made, left = [], 0
    for row in rows_of(piece):
        for name, number, first, last, top in wanted:
            if number != row.number:
                continue
            skipped = last - first + 1
            start, stop = (row.before - last, row.before - first + 1)
            if row.number % 2 == 0:
                start, stop = first - 1, last
            if upright and name == "buttonhole":
                # It runs up beside the stitch named, on the side the row goes to.
                start = stop = row.before - last if row.number % 2 else last
                skipped = top - number + 1
            x = float(left) * w
            made.append(
                Gap(name, number, skipped, x + start * w, x + stop * w, (number - 1) * h, top * h)
            )
        left -= row.left or 0
    return tuple(made)
