"""Checkpoints: where to lay a tape on the work, what it should read, and what is near enough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .continuing import Begun
from .exact import Fraction
from .gauge import Gauge
from .sections import Section
from .shaping import row_counts
from .units import Length

NEAR_ENOUGH = Fraction(1, 24)
"""Of the reading: half an inch in twelve counts as on course. Source: common-practice."""


FEWEST = 4
"""Stitches: a tape across fewer than this tells nothing. Source: common-practice."""


@dataclass(frozen=True, slots=True)
class Checkpoint:
    after_row: Annotated[int, "row of the piece after which to measure"]
    where: Annotated[str, "what to measure"]
    stitches: Annotated[int, "stitches on that row"]
    width: Annotated[
        Length | None,
        "what a tape should read across that row, before blocking; left out at a point",
    ]
    width_tolerance: Annotated[Length | None, "how far off is still on course, either way"]
    height: Annotated[Length | None, "what a tape should read up from the foundation"]
    height_tolerance: Annotated[Length | None, "how far off is still on course, either way"]


def tolerance(reading: Fraction, unit: Fraction) -> Fraction:
    """How far a reading may be off, in millimetres: a twenty-fourth of it, and at least one
    stitch or row. Source: common-practice.

    >>> float(tolerance(Fraction(3048, 10), Fraction(5)) / Fraction(254, 10))
    0.5
    """
    return max(reading * NEAR_ENOUGH, unit)


def checkpoints(
    sections: tuple[Section, ...], gauge: Gauge, begun: Begun | None = None
) -> tuple[Checkpoint, ...]:
    """After the first row, and at the end of each section, read on the hook before blocking.

    Of a piece that is ``begun``, those still to come, on the height that there is.

    Source: common-practice.

    >>> from .gauge import square
    >>> checkpoints((), square(1, 1))
    ()
    """
    width, height = gauge.hook_stitch_width, gauge.hook_row_height

    def at(row: int, where: str, stitches: int, tall: bool) -> Checkpoint:
        across, up = stitches * width, row * height
        if begun:
            up = begun.tape + (row - begun.rows) * height
        wide = stitches >= FEWEST
        return Checkpoint(
            row,
            where,
            stitches,
            across if wide else None,
            tolerance(across, width) if wide else None,
            up if tall else None,
            tolerance(up, height) if tall else None,
        )

    made: list[Checkpoint] = []
    if sections and not begun:
        first = sections[0]
        stitches = next(row_counts(first.stitches_at_start, first.rows, first.schedule))
        if stitches >= FEWEST:
            made.append(at(1, "first row", stitches, tall=False))
    for section in sections:
        last = section.first_row + section.rows - 1
        if last > (begun.rows if begun else 1):
            made.append(at(last, f"end of the {section.name}", section.stitches_at_end, tall=True))
    return tuple(made)
