"""A row-by-row grid of a piece or a shaping, one cell a stitch, as SVG."""

from __future__ import annotations

from ..engine.ask_shaping import ShapingAnswer, ShapingOrder
from ..engine.errors import Refusal, Refused
from ..engine.exact import Fraction
from ..engine.patterns import Piece
from ..engine.rowtext import plural
from ..engine.schedules import expanded
from ..engine.sizing import PieceOrder
from .flat_grid import Chains, Grid, draw_rows
from .round_grid import draw_rings, draw_rounds
from .rows import Row, check_whole, rows_of

MOST_CELLS = 20_000
"""Cells of a grid; more could be neither read nor printed."""


def grid_svg(piece: Piece, order: PieceOrder) -> str:
    """The rows of a piece from the bottom up, or its rounds: rings of a disc, else unrolled.

    Cells are as wide and as high as a stitch is. Raises Refused past MOST_CELLS, and for a piece
    without rows, or that goes on from a row.
    """
    check_whole(piece)
    _check(piece.totals.stitches, "text/csv has the count of every row")
    rows, gauge = list(rows_of(piece)), order.gauge
    across, up = gauge.stitch_width, gauge.row_height
    title = f"{order.template.title}: stitch by stitch"
    if piece.worked == "flat":
        grid = Grid(rows, float(up / across), _chains(piece))
        return draw_rows(grid).document(title, _told(rows, "row"))
    assert piece.start is not None
    disc = not piece.finished.height and piece.start.kind == "ring"
    draw = draw_rings if disc else draw_rounds
    return draw(piece, order, rows, float(up / across)).document(title, _told(rows, "round"))


def shaping_grid_svg(answer: ShapingAnswer, order: ShapingOrder) -> str:
    """The rows of a shaping; cells are square where no gauge was given.

    Raises Refused past MOST_CELLS.
    """
    edges = expanded(answer.schedule)
    edges += [(answer.stitches_at_end, 0, 0)] * (answer.rows - len(edges))
    _check(sum(b + left + right for b, left, right in edges), "text/csv has every row's count")
    rows = [
        Row(number, "shaping", before, before + left + right, left, right)
        for number, (before, left, right) in enumerate(edges, 1)
    ]
    gauge = order.gauge
    ratio = gauge.row_height / gauge.stitch_width if gauge else Fraction(1)
    grid = Grid(rows, float(ratio), (), order.first_row == "right-side")
    start, end = answer.stitches_at_start, answer.stitches_at_end
    title = f"Shaping from {start} to {plural(end, 'stitch', 'stitches')}, stitch by stitch"
    return draw_rows(grid).document(title, _told(rows, "row"))


def _check(cells: int, way_out: str) -> None:
    if not cells:
        raise Refused(Refusal("no-rows", (), "there are no rows to draw", way_out))
    if cells > MOST_CELLS:
        raise Refused(
            Refusal(
                "grid-too-large",
                (),
                f"the grid would have {cells} cells; at most {MOST_CELLS} are drawn",
                {"cells": MOST_CELLS, "or": way_out},
            )
        )


def _chains(piece: Piece) -> tuple[Chains, ...]:
    made = [Chains(o.row, o.row, o.first_stitch, o.last_stitch) for o in piece.openings]
    hole = piece.buttonhole
    if hole and hole.slit and hole.slit_place:
        at = hole.slit_place
        up = hole.slit.direction == "along"
        made.append(Chains(at.row, at.last_row, at.first_stitch, at.last_stitch, up))
    return tuple(made)


def _told(rows: list[Row], name: str) -> str:
    """The counts in words: where they change, for those without pictures."""
    told = [f"{name} 1: {plural(rows[0].stitches, 'stitch', 'stitches')}"]
    told += [f"{name} {row.number}: {row.stitches}" for row in rows[1:] if row.change]
    return f"{plural(len(rows), name)}, one cell a stitch. {', '.join(told)}."
