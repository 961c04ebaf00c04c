"""A size table as a page to be printed: sizes across or down, gauge by gauge."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_size_table import SizeTable, SizeTableOrder, TableRow
from ..engine.roundplans import RoundTemplate
from ..engine.rowtext import plural
from ..engine.units import System, written
from . import wording
from .paper import Block, Heading, Paper, Points, Table, Words
from .wording import name_of, off, yarn_length


def size_table_paper(table: SizeTable, order: SizeTableOrder) -> Paper:
    """A heading a gauge: its counts and its measurements, a line a size; and what is refused."""
    blocks: list[Block] = [
        Heading(1, f"Sizes: {order.pieces[0].template.title}"),
        Words(_outcome(table)),
    ]
    for i, name in enumerate(table.gauges):
        piece = order.pieces[i * len(table.sizes)]
        counted = "rounds" if isinstance(piece.template, RoundTemplate) else "rows"
        rows = [row for row in table.rows if row.gauge == name]
        blocks.append(Heading(2, name))
        blocks.append(Words(wording.gauge_words(piece.gauge, piece.terms, order.units, counted)))
        blocks += _gauge([row for row in rows if row.problem is None], order.units, counted)
        if refused := tuple(_problem(row) for row in rows if row.problem):
            blocks += [Words("Cannot be made:"), Points(refused)]
    if table.cautions:
        blocks.append(Heading(2, "Cautions"))
        blocks.append(
            Points(
                tuple(
                    f"{', '.join(c.gauges)}; {', '.join(c.sizes)}: {c.text}" for c in table.cautions
                )
            )
        )
    return tuple(blocks)


def _outcome(table: SizeTable) -> str:
    made = f"{plural(table.made, 'pairing')} of a gauge and a size can be made"
    return f"{made}; {table.refused} cannot." if table.refused else f"{made}."


def _problem(row: TableRow) -> str:
    return f"{row.size}: {'; '.join(one.detail for one in row.problem or ())}"


def _gauge(rows: list[TableRow], units: System, counted: str) -> Iterator[Block]:
    if not rows:
        return
    header = ["size", "chain", "stitches", counted]
    edged = any(row.edging_stitches is not None for row in rows)
    yarned = any(row.yarn_length is not None for row in rows)
    balled = any(row.balls is not None for row in rows)
    header += ["edging"] * edged + ["yarn"] * yarned + ["balls"] * balled
    told = []
    for row in rows:
        line = [row.size, *map(_count, (row.chain, row.stitches, row.rows))]
        line += [_count(row.edging_stitches)] * edged
        line += ["" if row.yarn_length is None else yarn_length(row.yarn_length, units)] * yarned
        told.append((*line, *[_count(row.balls)] * balled))
    yield Table(tuple(header), tuple(told))
    shaped = tuple(
        (row.size, one.name, str(one.rows), f"{one.stitches_at_start} to {one.stitches_at_end}",
         one.in_words)
        for row in rows for one in row.sections
    )  # fmt: skip
    if shaped:
        yield Table(("size", "section", counted, "stitches", "shaping"), shaped)
    measured = tuple(
        (
            row.size,
            name_of(name),
            "not given" if one.asked is None else written(one.asked, units),
            written(one.finished, units),
            "" if one.asked is None else off(one.asked, one.finished, units),
        )
        for row in rows
        for name, one in (row.measurements or {}).items()
    )
    if measured:
        yield Table(("size", "measurement", "asked", "finished", "difference"), measured)


def _count(count: int | None) -> str:
    return "" if count is None else str(count)
