"""A measurement as asked, and as whole stitches or rows make it, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .deriving import MadeFrom
from .exact import Fraction
from .units import Length


@dataclass(frozen=True, slots=True)
class Measure:
    """A measurement as asked and as whole stitches or rows make it."""

    asked: Annotated[Length | None, "as asked; left out when it was not"]
    finished: Annotated[Length, "as whole stitches or rows make it, before edging"]
    difference: Annotated[Length | None, "finished less asked"]
    made_from: Annotated[
        MadeFrom | None, "how what was asked was made, where from a body or an object"
    ] = None


def measure(asked: Fraction | None, finished: Fraction) -> Measure:
    """The measurement and what it came to, in millimetres. Source: common-practice.

    >>> measure(Fraction(240), Fraction(475, 2)).difference
    Fraction(-5, 2)
    """
    return Measure(asked, finished, None if asked is None else finished - asked)
