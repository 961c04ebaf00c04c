"""Comma-separated values, as RFC 4180 has them."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from io import StringIO

from .safe import clean

Cell = float | str | None


def csv_of(header: tuple[str, ...], lines: Iterable[tuple[Cell, ...]]) -> str:
    """A header and its lines; every line ends as the standard has it, the last one too.

    >>> csv_of(("row", "text"), [(1, "=2, 3"), (2, None)])
    'row,text\\r\\n1,"\\'=2, 3"\\r\\n2,\\r\\n'
    """
    told = StringIO(newline="")
    table = csv.writer(told, lineterminator="\r\n")
    for line in (header, *lines):
        table.writerow(["" if cell is None else plain(cell) for cell in line])
    return told.getvalue()


def plain(cell: float | str) -> float | str:
    """Words that a spreadsheet would take for a formula get an apostrophe; numbers stay.

    >>> plain("=1+1"), plain(-2), plain("flap")
    ("'=1+1", -2, 'flap')
    """
    if not isinstance(cell, str):
        return cell
    line = clean(cell)
    return f"'{line}" if line.startswith(("=", "+", "-", "@")) else line
