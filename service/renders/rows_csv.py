"""Rows and counts as a table in comma-separated values, as RFC 4180 has them."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_shaping import ShapingAnswer, ShapingOrder
from ..engine.errors import Refusal, Refused
from ..engine.patterns import Piece
from ..engine.projects import Project
from ..engine.schedules import expanded
from ..engine.working import WRITTEN_ROW, spend
from .rows import colours_of, row_texts, rows_of
from .tables import Cell, csv_of

MOST_LINES = 20_000
"""Rows of a table; a piece alone never has as many."""

COLUMNS = (
    "row",
    "section",
    "side",
    "stitches",
    "change_left",
    "change_right",
    "change",
    "colour",
    "text",
)
OF_PROJECT = ("piece", "size", *COLUMNS)
OF_SHAPING = ("row", "side", "stitches", "change_left", "change_right", "change")


def piece_csv(piece: Piece) -> str:
    """A line a row or round. In the round no change is at an edge; those columns are empty.

    A step that works several rows stands in the line of the first of them.
    """
    return csv_of(COLUMNS, _lines(piece))


def project_csv(project: Project) -> str:
    """A line a row, for every piece in every size. Raises Refused past MOST_LINES."""
    made = [(p.name, size, one) for p in project.pieces for size, one in p.sizes.items()]
    _check(sum(one.totals.rows for _, _, one in made))
    lines = ((name, size, *line) for name, size, one in made for line in _lines(one))
    return csv_of(OF_PROJECT, lines)


def shaping_csv(answer: ShapingAnswer, order: ShapingOrder) -> str:
    """A line a row of the shaping.

    >>> from ..engine.ask_shaping import shaping
    >>> order = ShapingOrder(8, 6, rows=2)
    >>> shaping_csv(shaping(order), order).split()[1:]
    ['1,right,8,0,0,0', '2,wrong,6,-1,-1,-2']
    """
    _check(answer.rows)
    spend(WRITTEN_ROW * answer.rows, ("rows",))
    return csv_of(OF_SHAPING, _shaping_lines(answer, order))


def _shaping_lines(answer: ShapingAnswer, order: ShapingOrder) -> Iterator[tuple[Cell, ...]]:
    rows = expanded(answer.schedule)
    even = answer.rows - len(rows)
    rows += [(answer.stitches_at_end, 0, 0)] * even
    for number, (before, left, right) in enumerate(rows, 1):
        faces_right = (number % 2 == 1) == (order.first_row == "right-side")
        change = left + right
        yield number, "right" if faces_right else "wrong", before + change, left, right, change


def _lines(piece: Piece) -> Iterator[tuple[Cell, ...]]:
    spend(WRITTEN_ROW * piece.totals.rows)
    texts = {told.first: told.text for told in row_texts(piece).values()}
    colours = colours_of(piece)
    for row in rows_of(piece):
        yield (
            row.number, row.section, row.side, row.stitches, row.left, row.right, row.change,
            colours.get(row.number, ""), texts.get(row.number, ""),
        )  # fmt: skip


def _check(lines: int) -> None:
    if lines > MOST_LINES:
        raise Refused(
            Refusal(
                "table-too-long",
                (),
                f"the table would have {lines} rows; at most {MOST_LINES} are written",
                {"rows": MOST_LINES, "or": "ask for fewer sizes, or one piece at a time"},
            )
        )
