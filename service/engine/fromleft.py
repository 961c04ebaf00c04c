"""What is answered about what is left: each choice, what it takes, and how surely it suffices."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from .units import Length, Mass, YarnLength
from .yarn import Yarn
from .yarnrates import Method


@dataclass(frozen=True, slots=True)
class Need:
    """What one colour takes, by length or by mass as what is left was told."""

    colour: Annotated[str | None, "name of the colour, where there are several"]
    length: Annotated[YarnLength | None, "length it is likely to take"]
    mass: Annotated[Mass | None, "mass it is likely to take"]
    at_most_length: Annotated[YarnLength | None, "the most of the interval, by length"]
    at_most_mass: Annotated[Mass | None, "the most of the interval, by mass"]


@dataclass(frozen=True, slots=True)
class Possible:
    """A choice, and what it takes."""

    name: Annotated[str, "section, measurement or size that was chosen, or as-asked"]
    count: Annotated[int | None, "its rows or stitches"]
    counted_in: Annotated[Literal["rows", "stitches"] | None, "what is counted"]
    measures: Annotated[Length | None, "what that count measures"]
    needs: Annotated[tuple[Need, ...], "what it takes of each colour"]
    fits: Annotated[bool, "whether what is left is as much as the estimate"]
    sure: Annotated[bool, "whether what is left is as much as the most of the interval"]


@dataclass(frozen=True, slots=True)
class FromLeft:
    """What can be made from what is left."""

    likely: Annotated[Possible, "the largest for which the estimate is within what is left"]
    sure: Annotated[
        Possible | None, "the largest for which the most of the interval is; left out if none is"
    ]
    sizes: Annotated[tuple[Possible, ...] | None, "each of the sizes, that of least yarn first"]
    confidence: Annotated[str, "how far the two can be relied on"]
    sure_percent: Annotated[float, "how far the most of the interval is over the estimate"]
    searched: Annotated[str, "which counts were searched, and how"]


def words_for(what: Literal["rows", "stitches"], in_the_round: bool) -> tuple[str, str]:
    """What is counted, of one and of several: rows are rounds in the round.

    Source: common-practice.

    >>> words_for("rows", True), words_for("stitches", True)
    (('round', 'rounds'), ('stitch', 'stitches'))
    """
    if what == "stitches":
        return "stitch", "stitches"
    return ("round", "rounds") if in_the_round else ("row", "rows")


BANDS: dict[Method, str] = {
    "swatch-length": "what hand, swatch and gauge may each be off, squares added",
    "swatch-mass": "what hand, swatch and gauge may each be off, squares added",
    "loop-length-model": "the worst the model was off on its own data, and what thickness and gauge"
    " may be off, squares added",
    "weight-category": "wide enough for every published figure the model was held against",
}
"""What the interval of each method is. Source: common-practice."""


def from_left(
    likely: Possible,
    sure: Possible | None,
    made: Yarn,
    searched: str,
    sizes: tuple[Possible, ...] | None = None,
) -> FromLeft:
    """What is found, with how far it can be relied on; ``made``: the yarn of the likely choice.

    Source: common-practice.

    >>> BANDS["weight-category"]
    'wide enough for every published figure the model was held against'
    """
    return FromLeft(
        likely=likely,
        sure=sure,
        sizes=sizes,
        confidence="likely: the estimate fits, so it may run short about as often as not. sure: the"
        f" most of the interval fits; that is {BANDS[made.method]}. It is a band, and no"
        " probability that was measured. No margin is added to either.",
        sure_percent=made.interval_percent,
        searched=searched,
    )
