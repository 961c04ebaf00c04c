"""Colours in words: which rows are in which, and where the yarn changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .rounds import RoundSection
from .rowtext import plural
from .sections import Section
from .stripes import Repeat, colour_at
from .yarnorder import ColoursOrder


@dataclass(frozen=True, slots=True)
class ColourWords:
    """The colours of a piece's sections in working order, rows or rounds, and of what follows."""

    colours: ColoursOrder
    sections: Sequence[Section | RoundSection]
    row: str = "row"

    @property
    def last(self) -> str:
        """Colour of the last row."""
        rows = [s for s in self.sections if s.rows]
        if not rows:
            return self.colours.main
        return colour_at(self.colours.repeat_of(rows[-1].name), rows[-1].rows)

    @property
    def edging(self) -> str:
        return self.colours.edging or self.colours.main

    def loop(self, edged: bool) -> str:
        return self.colours.loop or (self.edging if edged else self.last)

    def step(self, edged: bool, looped: bool) -> str | None:
        """What is in which colour, section by section; None where all is in one.

        Source: common-practice.
        """
        told: dict[str, list[str]] = {}
        names: list[str] = []
        for section in self.sections:
            repeat = self.colours.repeat_of(section.name)
            names += [colour for colour, _ in repeat]
            told.setdefault(self._repeat(repeat), []).append(section.name.replace("_", " "))
        if edged:
            told.setdefault(self.edging, []).append("edging")
        if looped:
            told.setdefault(self.loop(edged), []).append("button loop")
        names += [self.edging] * edged + [self.loop(edged)] * looped
        if len(set(names)) < 2:
            return None
        parts = [f"{listed(what)} in {how}" for how, what in told.items()]
        left = (
            "carry the yarns not in use up the edge"
            if self.colours.carried
            else "break off what is done with, and leave a tail to weave in"
        )
        change = (
            f"For a change of colour draw the new yarn through the last loops of the {self.row}"
            f" before; {left}."
        )
        begin = ""
        if self.sections:
            first = colour_at(self.colours.repeat_of(self.sections[0].name), 1)
            begin = f" Begin with {first}."
        return f"Colours: {'; '.join(parts)}.{begin} {change}"

    def _repeat(self, repeat: Repeat) -> str:
        if len({colour for colour, _ in repeat}) == 1:
            return repeat[0][0]
        turns = [f"{plural(n, self.row)} {colour}" for colour, n in repeat]
        return f"stripes, {listed(turns)}, over and over from the section's first {self.row}"


def listed(names: Sequence[str]) -> str:
    """One, two and three. Source: common-practice.

    >>> listed(("ink", "ochre", "chalk"))
    'ink, ochre and chalk'
    """
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def joining(text: str, colour: str) -> str:
    """A step of making up that goes on with the yarn in work, begun with another instead.

    Source: common-practice.

    >>> joining("Button loop: without cutting the yarn, ch 6", "chalk")
    'Button loop: fasten off, join chalk there, ch 6'
    """
    for goes_on in ("without cutting the yarn", "do not fasten off"):
        text = text.replace(goes_on, f"fasten off, join {colour} there")
    return text.replace("join the yarn", f"join {colour}")
