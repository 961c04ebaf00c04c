"""A size table as comma-separated values (RFC 4180): a header, then a line a pairing."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_size_table import SizeTable, TableRow
from ..engine.exact import Fraction
from ..engine.units import WRITTEN, System, in_unit
from .tables import Cell, csv_of


def size_table_csv(table: SizeTable, units: System) -> str:
    """The table as text: CRLF line ends, quantities as numbers with their unit in the header.

    Text that a spreadsheet would take for a formula gets an apostrophe in front. Columns are those
    of every pairing: sections by their order in the template, measurements by name.
    """
    sections = _section_names(table)
    measures = list(dict.fromkeys(m for row in table.rows for m in row.measurements or {}))
    header = tuple(name for name, _ in _cells(table.rows[0], sections, measures, units))
    lines = (
        tuple(cell for _, cell in _cells(row, sections, measures, units)) for row in table.rows
    )
    return csv_of(header, lines)


def _section_names(table: SizeTable) -> list[str]:
    """Names of the sections, told apart by number where a template has two alike."""
    made = next((row.sections for row in table.rows if row.sections), ())
    names = [s.name for s in made]
    return [
        f"{name} {names[: i + 1].count(name)}" if names.count(name) > 1 else name
        for i, name in enumerate(names)
    ]


def _cells(
    row: TableRow, sections: list[str], measures: list[str], units: System
) -> Iterator[tuple[str, Cell]]:
    """Every column's name and this row's value, in order."""
    cm, m = WRITTEN["length"][units], WRITTEN["yarn-length"][units]

    def length(size: Fraction | None, unit: str = cm) -> float | None:
        return None if size is None else in_unit(size, unit)

    yield from (("gauge", row.gauge), ("size", row.size), ("stitch", row.stitch))
    yield from (("chain", row.chain), ("stitches", row.stitches), ("rows", row.rows))
    for i, name in enumerate(sections):
        section = row.sections[i] if row.sections else None
        yield f"{name} rows", section.rows if section else None
        yield f"{name} stitches at start", section.stitches_at_start if section else None
        yield f"{name} stitches at end", section.stitches_at_end if section else None
        yield f"{name} shaping", section.in_words if section else None
    for name in measures:
        measure = (row.measurements or {}).get(name)
        for kind in ("asked", "finished", "difference"):
            yield f"{name} {kind} ({cm})", length(getattr(measure, kind)) if measure else None
    for kind in ("width", "height"):
        size = getattr(row.finished, kind) if row.finished else None
        yield f"finished {kind} ({cm})", length(size)
    yield "edging stitches", row.edging_stitches
    yield f"yarn length ({m})", length(row.yarn_length, m)
    least, most = row.yarn_interval or (None, None)
    yield f"yarn at least ({m})", length(least, m)
    yield f"yarn at most ({m})", length(most, m)
    yield "balls", row.balls
    yield "problem", "; ".join(r.detail for r in row.problem) if row.problem else None
