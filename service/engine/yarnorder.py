"""What is told of the yarn and of its colours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from .errors import Findings, Path
from .exact import Fraction
from .yarncounts import YarnCount

MARGIN = Fraction(1, 10)
"""Bought over the estimate. Source: common-practice."""

Sewn = Literal["mattress", "whip", "slip-stitch", "single-crochet"]
SEWN: tuple[Sewn, ...] = get_args(Sewn)


@dataclass(frozen=True, slots=True)
class SwatchYarn:
    """The yarn one swatch took: its size in millimetres or its counts, and its mass or length."""

    width: Fraction | None = None
    height: Fraction | None = None
    mass: Fraction | None = None
    unravelled: Fraction | None = None
    stitches: int | None = None
    rows: int | None = None


@dataclass(frozen=True, slots=True)
class BallOrder:
    """What a ball holds: millimetres, grams; either may be left out."""

    length: Fraction | None = None
    mass: Fraction | None = None


@dataclass(frozen=True, slots=True)
class YarnOrder:
    """What is known of the yarn. Lengths in millimetres, masses in grams."""

    weight_category: int | None = None
    ball_length: Fraction | None = None
    ball_mass: Fraction | None = None
    count: YarnCount | None = None
    wraps_per_inch: Fraction | None = None
    swatch: SwatchYarn | None = None
    margin: Fraction = MARGIN
    include_swatch: bool = False
    substitute: BallOrder | None = None


@dataclass(frozen=True, slots=True)
class StripeOrder:
    """Colours in turn, so many rows each, from the first row of a section; of every one if None."""

    repeat: tuple[tuple[str, int], ...]
    section: str | None = None


@dataclass(frozen=True, slots=True)
class ColoursOrder:
    """Which colour goes where; what is not told is in the main one."""

    main: str
    sections: Mapping[str, str] = field(default_factory=dict)
    stripes: tuple[StripeOrder, ...] = ()
    edging: str | None = None
    loop: str | None = None
    seams: str | None = None
    carried: bool = False

    def repeat_of(self, section: str) -> tuple[tuple[str, int], ...]:
        """The colours of a section's rows in turn; one of any number of rows where not striped."""
        for stripe in self.stripes:
            if stripe.section == section:
                return stripe.repeat
        if section in self.sections:
            return ((self.sections[section], 1),)
        every = next((s.repeat for s in self.stripes if s.section is None), None)
        return every or ((self.main, 1),)


def check_order(order: YarnOrder, at: Path = ("yarn",)) -> None:
    """Raises Refused when nothing in the order lets yarn be reckoned. Source: common-practice.

    >>> check_order(YarnOrder(weight_category=4))
    """
    found = Findings()
    thickness = (order.weight_category, order.swatch, order.count, order.wraps_per_inch)
    ball = order.ball_length and order.ball_mass
    if not ball and all(told is None for told in thickness):
        found.add(
            "yarn-unknown",
            at,
            "give the yarn's weight category, its count, its wraps to the inch, a ball's length and"
            " mass, or a swatch with its mass or unravelled length",
            {"one_of": ["weight_category", "count", "wraps_per_inch", "ball", "swatch"]},
        )
    swatch, here = order.swatch, (*at, "swatch")
    if swatch:
        if (swatch.mass is None) == (swatch.unravelled is None):
            found.add(
                "swatch-yarn-unknown",
                here,
                "give either the swatch's mass or its unravelled length",
                {"one_of": ["mass", "unravelled_length"]},
            )
        sizes = (swatch.width, swatch.height), (swatch.stitches, swatch.rows)
        if sorted(sum(part is not None for part in size) for size in sizes) != [0, 2]:
            found.add(
                "swatch-size-unknown",
                here,
                "give either the swatch's width and height or its stitches and rows",
                {"one_of": ["width and height", "stitches and rows"]},
            )
    other = order.substitute
    if other and not (other.length and other.mass):
        found.add(
            "substitute-unknown",
            (*at, "substitute", "ball"),
            "give the length and the mass of a ball of the other yarn: length is what carries over",
            ["length", "mass"],
        )
    found.settle()


def check_colours(
    colours: ColoursOrder | None,
    yarn: YarnOrder | None,
    yarns: Mapping[str, YarnOrder],
    sections: tuple[str, ...],
    has: Mapping[str, bool],
    flat: bool = True,
) -> None:
    """Whether the colours are of things there are (``has``: edging, loop, seams), each with a yarn.

    Raises Refused for sections the template lacks, a section coloured twice, a colour for what
    is not made, a colour with no yarn, and a yarn of no colour. Source: common-practice.

    >>> check_colours(None, None, {}, (), {})
    """
    found = Findings()
    if yarn:
        with found.collecting():
            check_order(yarn)
    for name, own in yarns.items():
        with found.collecting():
            check_order(own, ("yarns", name))
    used = set() if colours is None else colours_of(colours)
    for name in yarns:
        if name not in used:
            detail = f"no part is in {name}; there are {', '.join(sorted(used)) or 'no colours'}"
            found.add("unknown-colour", ("yarns", name), detail, sorted(used))
    if colours is None:
        found.settle()
        return
    placed = [(("colours", "sections", name), name) for name in colours.sections]
    striped = [
        (("colours", "stripes", i, "section"), s.section) for i, s in enumerate(colours.stripes)
    ]
    if colours.carried and flat:
        for i, stripe in enumerate(colours.stripes):
            if any(rows % 2 for _, rows in stripe.repeat):
                found.add(
                    "carried-on-odd-rows",
                    ("colours", "stripes", i, "repeat"),
                    "worked flat, yarn is carried up one edge, and a stripe of odd rows ends at the"
                    " other: give stripes of even rows, or do not carry",
                    {"rows": "even", "or": '"carried": false'},
                )
    told: set[str | None] = set()
    for path, section in (*placed, *striped):
        if section is not None and section not in sections:
            detail = f"the template has no section {section}; there are {', '.join(sections)}"
            found.add("unknown-section", path, detail, [*sections])
        if section in told:
            which = section or "every section"
            found.add("section-coloured-twice", path, f"{which} has its colours already", None)
        told.add(section)
    for part, made in has.items():
        if getattr(colours, part) and not made:
            detail = f"there is no {part} to work in this colour; leave it out"
            found.add("colour-of-nothing", ("colours", part), detail)
    missing = sorted(used - set(yarns))
    if yarn is None and yarns and missing:
        found.add(
            "yarn-unknown",
            ("yarn",),
            f"tell the yarn of {', '.join(missing)}: yarn for all colours, or yarns by colour",
            {"one_of": ["yarn", "yarns"]},
        )
    found.settle()


def colours_of(colours: ColoursOrder) -> set[str]:
    """Every colour named. Source: common-practice.

    >>> sorted(colours_of(ColoursOrder("ink", {"flap": "ochre"})))
    ['ink', 'ochre']
    """
    named = {colours.main, colours.edging, colours.loop, colours.seams, *colours.sections.values()}
    named |= {name for stripe in colours.stripes for name, _ in stripe.repeat}
    return {name for name in named if name}
