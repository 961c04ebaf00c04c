"""Cautions: what the maker should know, never a promise that a thing is safe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from .errors import Path
from .exact import Fraction
from .units import Fine

Use = Literal["carrying", "near-children", "heat"]

SMALL_PARTS_CYLINDER: Fine = Fraction(3175, 100)
"""Millimetres across. Source: 16-cfr-1501."""


@dataclass(frozen=True, slots=True)
class Caution:
    code: Annotated[str, "stable name of the caution"]
    text: Annotated[str, "what to look out for"]
    field: Annotated[Path, "JSON Pointer of the field that raised it"]
    source: Annotated[str, "where the rule or figure stands"]


def small_part(diameter: Fraction, field: Path) -> Caution | None:
    """A button narrow enough for the small-parts cylinder, given in millimetres.

    Source: 16-cfr-1501.

    >>> small_part(Fraction(18), ("button",)).code, small_part(Fraction(38), ("button",))
    ('small-part', None)
    """
    if diameter > SMALL_PARTS_CYLINDER:
        return None
    return Caution(
        "small-part",
        "A button up to 31.75 mm across can fit the small-parts cylinder of 16 CFR 1501.4 and can"
        " choke a young child. Keep it off anything a child under three may hold, sew it on"
        " firmly, and follow the code in force where the piece is used or sold.",
        field,
        "16-cfr-1501",
    )


def cord(field: Path) -> Caution:
    """A strap, tie or other long narrow piece.

    Source: en-12586, en-14682, en-71-1.

    >>> cord(("template",)).code
    'cord'
    """
    return Caution(
        "cord",
        "A strap or cord can wind round a neck or catch. Limits on cords for children are published"
        " in EN 14682 (clothing), EN 71-1 (toys) and EN 12586 (220 mm, soother holders), and in"
        " 16 CFR 1120; which of them applies, if any, is for the code in force where the piece is"
        " used. Crochet stretches along its length: its load and its stretch have not been tested"
        " here.",
        field,
        "en-14682",
    )


def heat(field: Path) -> Caution:
    """A piece meant to be near heat.

    Source: iso-3758.

    >>> heat(("uses",)).code
    'heat'
    """
    return Caution(
        "heat",
        "Crochet has holes and some fibres melt: this arithmetic says nothing of protection from"
        " heat. The yarn's own label (ISO 3758) and the maker of the hot thing come first.",
        field,
        "iso-3758",
    )


def near_children(field: Path) -> Caution:
    """A piece said to be used near children.

    Source: en-71-1.

    >>> near_children(("uses",)).code
    'near-children'
    """
    return Caution(
        "near-children",
        "For a piece used near children, check cords, small parts and fastenings against the code"
        " in force where it is used or sold (for toys in Europe, EN 71-1) before you make it.",
        field,
        "en-71-1",
    )


def for_uses(uses: tuple[Use, ...]) -> tuple[Caution, ...]:
    """The cautions that the named uses raise.

    Source: iso-3758, en-71-1, en-14682.

    >>> [c.code for c in for_uses(("heat",))]
    ['heat']
    """
    raise_for = {"carrying": cord, "near-children": near_children, "heat": heat}
    return tuple(raise_for[use](("uses", i)) for i, use in enumerate(uses))
