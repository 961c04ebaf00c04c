"""A piece row by row: what every table and drawing of its rows is read from."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from ..engine.errors import Refusal, Refused
from ..engine.instructions import Instruction
from ..engine.patterns import Piece
from ..engine.rounds import RoundSection
from ..engine.sections import Section


@dataclass(frozen=True, slots=True)
class Row:
    """A row or round: what it is worked over, what it has, and its edges where it has any."""

    number: int
    section: str
    before: int
    stitches: int
    left: int | None
    right: int | None

    @property
    def change(self) -> int:
        return self.stitches - self.before

    @property
    def side(self) -> str:
        """Side that faces: every round faces right."""
        return "right" if self.left is None or self.number % 2 else "wrong"


def check_whole(piece: Piece) -> None:
    """A drawing is of a whole piece.

    Raises Refused for one that goes on from a row: its rows so far are not told.
    """
    if piece.continued:
        detail = "what is left of a piece is not drawn; its rows and its text are told"
        way_out = "ask for application/json, text/csv or text/plain"
        raise Refused(Refusal("continued-not-drawn", ("continue_after",), detail, way_out))


def rows_of(piece: Piece) -> Iterator[Row]:
    """Every row or round, from the foundation up."""
    for section in piece.sections:
        yield from _rows(section)


def _rows(section: Section | RoundSection) -> Iterator[Row]:
    number, stitches = section.first_row, section.stitches_at_start
    flat = isinstance(section, Section)
    even = section.rows - sum(run.rows for run in section.schedule)
    stretches = [
        (run.rows - run.every * run.times, run.every, run.times, run) for run in section.schedule
    ]
    for rest, every, times, run in [*stretches, (even, 1, 0, None)]:
        for i in range(every * times + rest):
            shaped = run is not None and i < every * times and (i + 1) % every == 0
            if run is None or not shaped:
                left, right, change = 0, 0, 0
            elif isinstance(section, Section):
                left, right = run.left, run.right  # type: ignore[union-attr]
                change = left + right
            else:
                left, right, change = 0, 0, run.change
            before, stitches = stitches, stitches + change
            edges = (left, right) if flat else (None, None)
            yield Row(number, section.name, before, stitches, *edges)
            number += 1


def colours_of(piece: Piece) -> dict[int, str]:
    """The colour of every row, where colours were told."""
    return {
        row: one.colour_of(row)
        for one in piece.colours or ()
        for row in range(one.first_row, one.last_row + 1)
    }


def colours_in_words(piece: Piece) -> str:
    """The colours of each section, for a drawing; nothing where none were told."""
    told = []
    for one in piece.colours or ():
        names = [*dict.fromkeys(map(one.colour_of, range(one.first_row, one.last_row + 1)))]
        if len(names) == 1:
            told.append(f"{one.section} in {names[0]}")
        elif names:
            turns = ", ".join(f"{s.rows} in {s.colour}" for s in one.stripes)
            told.append(f"{one.section} in stripes: {turns}, over and over")
    return f"Colours: {'; '.join(told)}." if told else ""


def titled(name: str) -> str:
    """A section's name as a heading.

    >>> titled("pencil_pocket")
    'Pencil pocket'
    """
    return name.replace("_", " ").replace("-", " ").capitalize()


_ROW = re.compile(r"(?:Row|Round)s? (\d+)(?:–(\d+))?(?: \((?:RS|WS)\))?: ")


@dataclass(frozen=True, slots=True)
class RowText:
    """A step that works rows: the first and the last of them, and what to do."""

    first: int
    last: int
    text: str


def row_texts(piece: Piece) -> dict[int, RowText]:
    """What the instructions say of rows, by the step that says so."""
    starts = {f"{titled(section.name)}: " for section in piece.sections}
    told = {}
    for step in piece.instructions:
        if found := _row_text(step, starts):
            told[step.step] = found
    return told


def _row_text(step: Instruction, starts: set[str]) -> RowText | None:
    text = step.text
    found = _ROW.match(text)
    if not found:
        start = next((s for s in starts if text.startswith(s) and _ROW.match(text, len(s))), None)
        if start is None:
            return None
        text = text[len(start) :]
        found = _ROW.match(text)
    assert found
    first = int(found[1])
    return RowText(first, int(found[2] or first), text)
