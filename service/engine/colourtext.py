"""Colours in words: what is begun with, where it changes, and how stripes follow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from .roundplans import RoundTemplate
from .rounds import RoundSection, RoundSized
from .sections import Section
from .sizing import Sized
from .stripes import Coloured, Repeat, Stripe, after, colour_at, rows_of
from .templates import Template
from .yarnorder import ColoursOrder

Sections = tuple[Section | RoundSection, ...]


def bands(repeat: Repeat, rows: int, done: int = 0) -> str:
    """The stripes of so many rows, after ``done`` rows of the repeat. Source: common-practice.

    >>> bands((("ink", 4), ("ochre", 2)), 63)
    '(4 rows in ink, 2 rows in ochre) 10 times, 3 rows in ink'
    >>> bands((("ink", 4), ("ochre", 2)), 9, done=3)
    '1 row in ink, 2 rows in ochre, 4 rows in ink, 2 rows in ochre'
    """
    return _bands(repeat, rows, done, "row")


def _bands(repeat: Repeat, rows: int, done: int, one: str) -> str:
    period = sum(n for _, n in repeat)
    told, gone = [], done % period
    if gone:
        told += _listed(repeat, gone, min(rows, period - gone), one)
        rows -= min(rows, period - gone)
    times, rest = divmod(rows, period)
    if times:
        each = ", ".join(_listed(repeat, 0, period, one))
        told.append(each if times == 1 else f"({each}) {times} times")
    return ", ".join([*told, *_listed(repeat, 0, rest, one)])


def _listed(repeat: Repeat, gone: int, rows: int, one: str) -> list[str]:
    """Bands of so many rows of one repeat, the first ``gone`` of it left out."""
    each = [colour for colour, n in repeat for _ in range(n)][gone : gone + rows]
    counted = [(colour, len(list(of))) for colour, of in groupby(each)]
    return [f"{n} {one if n == 1 else f'{one}s'} in {colour}" for colour, n in counted]


def coloured(colours: ColoursOrder, whole: Sections, left: Sections) -> tuple[Coloured, ...]:
    """Which rows are in which colour, of what is left of the whole. Source: geometry.

    >>> coloured(ColoursOrder("ink"), (), ())
    ()
    """
    made = []
    for section in left:
        first = next(s.first_row for s in reversed(whole) if s.first_row <= section.first_row)
        repeat = after(colours.repeat_of(section.name), section.first_row - first)
        last = section.first_row + section.rows - 1
        stripes = tuple(Stripe(colour, rows) for colour, rows in repeat)
        made.append(Coloured(section.name, section.first_row, last, stripes))
    return tuple(made)


@dataclass(slots=True)
class Colouring:
    """The colour on the hook as a piece is told, step by step; ``one``: row or round."""

    colours: ColoursOrder
    one: str
    now: str = ""

    @classmethod
    def of(cls, colours: ColoursOrder | None, sized: Sized | RoundSized) -> Colouring | None:
        """As the piece begins, or as its last row worked left it; None without colours."""
        if colours is None:
            return None
        made = cls(colours, "round" if isinstance(sized, RoundSized) else "row")
        sections: Sections = sized.sections
        if not sections:
            made.now = colours.main
            return made
        row = sized.begun.rows if sized.begun else 1
        here = next(s for s in reversed(sections) if s.first_row <= row)
        made.now = colour_at(colours.repeat_of(here.name), row - here.first_row + 1)
        return made

    def begun(self, text: str) -> str:
        """A step in the colour that is begun with.

        >>> Colouring(ColoursOrder("ink"), "row", "ink").begun("Ch 39.")
        'With ink, ch 39.'
        """
        return f"With {self.now}, {text[0].lower()}{text[1:]}"

    def section(self, section: Section | RoundSection, worked: int) -> Iterator[str]:
        """What is told before a section of which rows are still to work: its change, or stripes."""
        last = section.first_row + section.rows - 1
        done = max(0, worked - section.first_row + 1)
        if done >= section.rows:
            return
        repeat = self.colours.repeat_of(section.name)
        before, there = rows_of(repeat, done), rows_of(repeat, section.rows)
        ahead = [colour for colour, n in there.items() if n > before.get(colour, 0)]
        if len(ahead) > 1:
            told, word = _bands(repeat, section.rows - done, done, self.one), self.one.capitalize()
            yield f"Stripes from {word} {section.first_row + done} to {word} {last}: {told}."
        elif ahead[0] != self.now:
            yield f"Change to {ahead[0]}."
        self.now = colour_at(repeat, section.rows)

    def edging(self) -> Iterator[str]:
        """What is told before the edging, in the main colour unless in one of its own.

        >>> list(Colouring(ColoursOrder("ink"), "row", "ochre").edging())
        ['Work the edging in ink.']
        """
        yield from self._part(self.colours.edging or self.colours.main, "the edging")

    def loop(self) -> Iterator[str]:
        """What is told before a button loop, in the colour it stands on unless in one of its own.

        >>> list(Colouring(ColoursOrder("ink"), "row", "ochre").loop())
        []
        """
        yield from self._part(self.colours.loop or self.now, "the button loop")

    def _part(self, colour: str, what: str) -> Iterator[str]:
        if colour != self.now:
            yield f"Work {what} in {colour}."
            self.now = colour

    def before_you_start(self, template: Template | RoundTemplate) -> Iterator[str]:
        """How colours are changed, said once."""
        yield (
            f"Finish the last st of a {self.one} with the colour of the next: draw the new yarn"
            " through the last loops."
        )
        if self.colours.carried:
            up = "up the edge" if self.one == "row" else "up the inside"
            yield f"Carry the colour that rests {up}, without drawing it in."
        else:
            yield "Cut a colour that rests, and leave an end to weave in."
        if any(fold.sides_joined for fold in template.folds):
            yield f"Sew the seams in {self.colours.seams or self.colours.main}."
