"""Several openings along a band: by stitches, even to one, or by measured length."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .distribution import interleaved
from .errors import Refusal, Refused
from .exact import Fraction
from .units import Length


@dataclass(frozen=True, slots=True)
class Placing:
    """Holes along a band of so many stitches, the first and last so far from its ends."""

    holes: int
    stitches: int
    end_margin: int = 0


@dataclass(frozen=True, slots=True)
class Hole:
    first_stitch: Annotated[int, "first stitch of the opening, counted from the start"]
    last_stitch: Annotated[int, "last stitch of the opening"]


@dataclass(frozen=True, slots=True)
class Placed:
    holes: Annotated[tuple[Hole, ...], "the openings, in order"]
    gaps: Annotated[tuple[int, ...], "plain stitches between one opening and the next"]


@dataclass(frozen=True, slots=True)
class Spaced:
    spacing: Annotated[Length | None, "from one button's middle to the next"]
    centres: Annotated[tuple[Length, ...], "middle of each button, from the start of the band"]


def place(placing: Placing, each: int) -> Placed:
    """Openings of ``each`` stitches along a band: gaps one fewer than holes, even to a stitch.

    Raises Refused where they do not fit, with the most that do. Source: sweater-101.

    >>> place(Placing(7, 100, 3), 4).gaps
    (11, 11, 11, 11, 11, 11)
    """
    inside = placing.stitches - 2 * placing.end_margin
    plain = inside - placing.holes * each
    if plain < placing.holes - 1:
        # At least one plain stitch must stand between two openings.
        raise Refused(
            Refusal(
                "openings-do-not-fit",
                ("placing", "holes"),
                f"{placing.holes} openings of {each} stitches do not fit into {inside} stitches",
                {"maximum": max(0, (inside + 1) // (each + 1))},
            )
        )
    if placing.holes == 1:
        start = placing.end_margin + plain // 2
        return Placed((Hole(start + 1, start + each),), ())
    gaps = interleaved(plain, placing.holes - 1)
    holes, start = [], placing.end_margin
    for gap in (*gaps, 0):
        holes.append(Hole(start + 1, start + each))
        start += each + gap
    return Placed(tuple(holes), gaps)


def space(holes: int, length: Fraction, margin: Fraction = Fraction(0)) -> Spaced:
    """Middles of buttons along a length in millimetres, first and last ``margin`` from its ends.

    Raises Refused where the margins leave nothing between. Source: geometry.

    >>> from .units import in_unit
    >>> in_unit(space(8, Fraction(381)).spacing, "in")
    2.142857
    """
    between = length - 2 * margin
    if between < 0 or (between == 0 and holes > 1):
        raise Refused(
            Refusal(
                "margins-meet",
                ("placing", "end_distance"),
                "the margins at the two ends leave no length between them",
                {"below_mm": float(length / 2)},
            )
        )
    if holes == 1:
        return Spaced(None, (length / 2,))
    step = between / (holes - 1)
    return Spaced(step, tuple(margin + i * step for i in range(holes)))
