"""Openings for buttons: loops, slits, and where several go along a band."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Annotated, Literal

from .cautions import Caution
from .errors import Findings, Path, Permitted, Refusal, Refused
from .exact import Fraction
from .rounding import whole
from .units import Fine

Kind = Literal["loop", "slit"]
Direction = Literal["across", "along"]
ChainsOver = Literal["as-skipped", "one-fewer"]

THICKNESS = Fraction(3)
"""Millimetres: taken where a button's thickness is not given. Source: common-practice."""
STRETCH = Fraction(1, 2)
"""The most a worked opening is asked to give to a button. Source: common-practice."""
LOOSE_PERCENT = 50
"""Wider than this over a button's girth, a loop is told to be loose. Source: common-practice."""
PI = Fraction(pi)


@dataclass(frozen=True, slots=True)
class Button:
    """A button in hand, in millimetres; a thickness not given is taken as usual."""

    diameter: Fraction
    thickness: Fraction | None = None

    @property
    def through(self) -> Fraction:
        """The thickness given, else the usual one (no more than the diameter)."""
        return min(THICKNESS, self.diameter) if self.thickness is None else self.thickness

    @property
    def girth(self) -> Fraction:
        """Round the button edge to edge, millimetres: a section with straight faces, round rims.

        Two diameters for a flat disc; pi diameters for a ball. Source: geometry.

        >>> round(float(Button(Fraction(18), Fraction(3)).girth), 3)
        39.425
        """
        return 2 * (self.diameter - self.through) + PI * self.through


@dataclass(frozen=True, slots=True)
class ClosureOrder:
    """How the button is to be closed; what is None is worked out."""

    kind: Kind = "loop"
    span: int | None = None
    chains: int | None = None
    skipped: int | None = None
    direction: Direction = "across"
    chains_over: ChainsOver = "as-skipped"
    stretch: Fraction = STRETCH


USUAL = ClosureOrder()
USUAL_SPAN = 2
"""Stitches a loop bridges, as at a point. Source: common-practice."""


@dataclass(frozen=True, slots=True)
class Loop:
    chain: Annotated[int, "chains of the loop"]
    spans: Annotated[int, "stitches (or row ends) the loop bridges"]
    gap: Annotated[Fine, "width of what it bridges"]
    covering_stitches: Annotated[int, "single crochet worked into the loop to cover it"]
    chain_length: Annotated[Fine, "length of the chains"]
    opening: Annotated[Fine, "way round the opening: chains and gap"]
    button_girth: Annotated[Fine, "way round the button, over both faces"]
    ease: Annotated[Fine, "opening less girth; the edging and the cover take some of it up"]
    ease_percent: Annotated[float, "the same, in per cent of the girth"]
    button_passes: Annotated[bool, "whether the opening is as large as the button's girth"]


@dataclass(frozen=True, slots=True)
class Slit:
    direction: Annotated[Direction, "across: along a row; along: up the rows"]
    skipped: Annotated[int, "stitches (across) or rows (along) that the opening takes"]
    chain: Annotated[int, "chains over the opening; 0 when it runs along the rows"]
    stitches_worked_back: Annotated[int, "stitches of the next row into the chains"]
    length: Annotated[Fine, "length of the opening, unstretched"]
    button_girth: Annotated[Fine, "way round the button, over both faces"]
    ease: Annotated[Fine, "length less the button's diameter; below zero holds it closed"]
    stretch_needed_percent: Annotated[float, "stretch that the button asks of the opening"]
    stretch_allowed_percent: Annotated[float, "stretch the opening is counted on to give"]
    edge_distance: Annotated[Fine, "least distance of the opening's middle from the edge"]
    button_passes: Annotated[bool, "whether the stretch needed is within the stretch allowed"]


@dataclass(frozen=True, slots=True)
class SlitPlace:
    row: Annotated[int, "row of the piece the opening is made in, or starts in"]
    first_stitch: Annotated[int, "first stitch skipped, counted from the start of the row"]
    last_stitch: Annotated[int, "last stitch skipped; the one before the opening when it runs up"]
    last_row: Annotated[int, "last row of the opening"]


Edge = Literal["last-row", "row-ends"]


@dataclass(frozen=True, slots=True)
class LoopPlace:
    edge: Annotated[Edge, "edge the loop stands on: the last row, or the row ends at the left"]
    first: Annotated[int, "first stitch or row end it bridges, from the right or from below"]
    last: Annotated[int, "last stitch or row end it bridges"]
    whole: Annotated[bool, "whether it bridges the whole edge, as at a point"]


@dataclass(frozen=True, slots=True)
class Buttonhole:
    loop: Annotated[Loop | None, "a chain loop"]
    slit: Annotated[Slit | None, "an opening in the fabric"]
    slit_place: Annotated[SlitPlace | None, "where in the piece the slit is worked"] = None
    loop_place: Annotated[LoopPlace | None, "where on the piece the loop stands"] = None

    @property
    def button_passes(self) -> bool:
        return all(made.button_passes for made in (self.loop, self.slit) if made)


def _refuse(code: str, path: Path, detail: str, permitted: Permitted) -> Refused:
    return Refused(Refusal(code, path, detail, permitted))


def check_button(button: Button) -> None:
    """Raises Refused for a button thicker than it is wide. Source: geometry.

    >>> check_button(Button(Fraction(18)))
    """
    if button.through > button.diameter:
        raise _refuse(
            "button-thicker-than-wide",
            ("button", "thickness"),
            "a button is at least as wide as it is thick: a ball's thickness is its diameter",
            {"maximum_mm": float(button.diameter)},
        )


_OF_A_LOOP = ("span", "chains")
_OF_A_SLIT = ("skipped", "direction", "chains_over", "stretch")
_FIELDS = {"stretch": "stretch_percent"}
"""Fields of a closure that have another name in the question."""


def check_closure(order: ClosureOrder | None, button: Button | None, found: Findings) -> None:
    """A closure has its button, and nothing is told of it that only the other kind has.

    Source: common-practice.

    >>> found = Findings()
    >>> check_closure(ClosureOrder(skipped=3), Button(Fraction(18)), found)
    >>> [(r.path, r.permitted) for r in found.refusals]
    [(('closure', 'skipped'), {'kind': 'slit'})]
    """
    if order is None:
        return
    if not button:
        detail = "a closure needs the button it is to take"
        found.add("closure-without-button", ("closure",), detail, {"add": "button"})
    other, theirs = ("slit", _OF_A_SLIT) if order.kind == "loop" else ("loop", _OF_A_LOOP)
    for name in theirs:
        if getattr(order, name) != getattr(USUAL, name):
            told = _FIELDS.get(name, name)
            found.add(
                "closure-of-another-kind",
                ("closure", told),
                f"{told} is told of a {other}, and this closure is a {order.kind}",
                {"kind": other},
            )


def loop(
    button: Button,
    stitch_width: Fraction,
    order: ClosureOrder = USUAL,
    span: int = USUAL_SPAN,
    span_unit: Fraction | None = None,
) -> Loop:
    """A chain loop: as many chains as go round the button, nearest; one more stitch covers them.

    The gap under the loop is its ease. stitch_width in millimetres; a chain is taken to be as
    wide as a stitch. The loop bridges ``span`` stitches, or whatever measures span_unit.
    Raises Refused where the button is too small for one chain.
    Source: common-practice, geometry.

    >>> made = loop(Button(Fraction(127, 10)), Fraction(2921, 10) / 42)
    >>> made.chain, made.spans, made.covering_stitches, made.button_passes
    (4, 2, 5, True)
    """
    girth = button.girth
    chain = whole(girth / stitch_width) if order.chains is None else order.chains
    if chain < 1:
        raise _refuse(
            "button-too-small",
            ("button", "diameter"),
            "the button is smaller than a loop of one chain at this gauge",
            {"minimum_girth_mm": round(float(stitch_width / 2), 3)},
        )
    gap, length = span * (span_unit or stitch_width), chain * stitch_width
    ease = gap + length - girth
    return Loop(
        chain=chain,
        spans=span,
        gap=gap,
        covering_stitches=chain + 1,
        chain_length=length,
        opening=gap + length,
        button_girth=girth,
        ease=ease,
        ease_percent=float(100 * ease / girth),
        button_passes=ease >= 0,
    )


def slit(button: Button, stitch_width: Fraction, row_height: Fraction, order: ClosureOrder) -> Slit:
    """An opening in the fabric: the most stitches (or rows) that are no wider than the button.

    A worked opening is kept smaller than the button, or the button comes undone. Only where its
    two lips would then have to stretch by more than the order allows is it made wider.
    Widths in millimetres. Source: magazine-openings, geometry.

    >>> s = slit(Button(Fraction(20)), Fraction(25, 4), Fraction(100, 19), ClosureOrder("slit"))
    >>> s.skipped, s.chain, s.stitches_worked_back
    (3, 3, 3)
    """
    unit = stitch_width if order.direction == "across" else row_height
    girth = button.girth
    count = order.skipped
    if count is None:
        passes = whole(girth / (2 * unit * (1 + order.stretch)), rounding="at-least")
        count = max(1, passes, whole(button.diameter / unit, rounding="at-most"))
    length = count * unit
    needed = max(Fraction(0), girth / (2 * length) - 1)
    across = order.direction == "across"
    fewer = order.chains_over == "one-fewer"
    return Slit(
        direction=order.direction,
        skipped=count,
        chain=max(1, count - fewer) if across else 0,
        stitches_worked_back=count if across else 0,
        length=length,
        button_girth=girth,
        ease=length - button.diameter,
        stretch_needed_percent=float(100 * needed),
        stretch_allowed_percent=float(100 * order.stretch),
        edge_distance=button.diameter / 2,
        button_passes=needed <= order.stretch,
    )


def buttonhole(
    button: Button, stitch_width: Fraction, row_height: Fraction, order: ClosureOrder
) -> Buttonhole:
    """The opening that the order asks for; raises Refused for an impossible button.

    Source: common-practice.

    >>> button = Button(Fraction(18))
    >>> buttonhole(button, Fraction(25, 4), Fraction(100, 19), ClosureOrder()).loop.chain
    6
    """
    check_button(button)
    if order.kind == "loop":
        return Buttonhole(loop(button, stitch_width, order, order.span or USUAL_SPAN), None)
    return Buttonhole(None, slit(button, stitch_width, row_height, order))


def opening_cautions(hole: Buttonhole) -> tuple[Caution, ...]:
    """An opening too small for its button, a slit wider than it, or a loop much wider.

    Source: magazine-openings, geometry, common-practice.

    >>> own = ClosureOrder("slit", skipped=5)
    >>> made = buttonhole(Button(Fraction(18)), Fraction(25, 4), Fraction(100, 19), own)
    >>> [c.code for c in opening_cautions(made)]
    ['opening-wider-than-button']
    """
    if not hole.button_passes:
        return (
            Caution(
                "button-does-not-pass",
                "The opening asked for is too small for this button: give it more, or leave its"
                " size out to have it worked out.",
                ("closure",),
                "geometry",
            ),
        )
    if hole.slit and hole.slit.ease > 0:
        return (
            Caution(
                "opening-wider-than-button",
                "The slit is wider than the button, which may come undone: one stitch or row fewer"
                " would have to stretch too far, or your own size was taken. A button a little"
                " larger, or a finer gauge, holds better.",
                ("button", "diameter"),
                "magazine-openings",
            ),
        )
    if hole.loop and hole.loop.ease_percent > LOOSE_PERCENT:
        return (
            Caution(
                "loop-looser-than-button",
                f"The loop opens {hole.loop.ease_percent:.0f} % wider than goes round the button,"
                " which may slip out: bridge fewer stitches, chain fewer, or take a larger button"
                " or a finer gauge.",
                ("button", "diameter"),
                "common-practice",
            ),
        )
    return ()
