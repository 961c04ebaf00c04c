"""Edgings: how many stitches go along each side and into each corner, and what that adds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from .cautions import Caution
from .errors import Path
from .exact import Fraction
from .gauge import Gauge
from .rounding import whole
from .stitches import STITCHES
from .units import Length

Along = Literal["foundation", "last-row", "row-ends"]
Spread = Literal["usual", "measured"]

PULLS_PAST = Fraction(1, 10)
"""A usual count further than this from the measured one pulls in or ruffles."""


@dataclass(frozen=True, slots=True)
class Corner:
    """What is worked at a corner; its stitches go into the end stitch of the level side."""

    stitches: int = 0
    chains: int = 1

    @property
    def added(self) -> int:
        """Stitches over the one that the end stitch has already been given."""
        return max(0, self.stitches - 1)

    @property
    def added_each_later_round(self) -> int:
        """What the same corner adds in every later round.

        Three into the middle of three adds two; a corner chain takes two stitches (or more).
        Source: borders-handbook.

        >>> 4 * Corner(3, 0).added_each_later_round, 4 * Corner(5, 0).added_each_later_round
        (8, 16)
        """
        return max(2, self.stitches) if self.chains else self.added


ONE_CHAIN = Corner()


@dataclass(frozen=True, slots=True)
class EdgingOrder:
    """What edging to work. stitch and gauge are the piece's own when not given."""

    stitch: str | None = None
    rounds: int = 1
    corner: Corner = ONE_CHAIN
    spread: Spread = "usual"
    gauge: Gauge | None = None


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the outline, in working order.

    places: chains, stitches or row ends along it, of which ``skipped`` are left to a button loop.
    corner: name of the corner that comes after the side, if there is one.
    """

    name: str
    along: Along
    places: int
    length: Length
    corner: str | None = None
    skipped: int = 0


@dataclass(frozen=True, slots=True)
class EdgedSide:
    name: Annotated[str, "side of the piece"]
    along: Annotated[Along, "what the stitches are worked into"]
    places: Annotated[int, "foundation chains, stitches or row ends along the side"]
    length: Annotated[Length, "measured along the side"]
    usual: Annotated[int | None, "stitches by the usual ratio, where the trade has one"]
    measured: Annotated[int, "stitches that the length needs at the edging's gauge"]
    usual_off_percent: Annotated[
        float | None, "usual over measured, per cent: below zero pulls in, above zero ruffles"
    ]
    stitches: Annotated[int, "stitches to work"]
    corner: Annotated[str | None, "corner that comes after this side"]


@dataclass(frozen=True, slots=True)
class EdgedCorner:
    at: Annotated[str, "where the corner is"]
    stitches: Annotated[int, "stitches worked into the corner"]
    chains: Annotated[int, "chains made at the corner"]


@dataclass(frozen=True, slots=True)
class Extent:
    width: Annotated[Length, "widest"]
    height: Annotated[Length, "foundation to top"]


@dataclass(frozen=True, slots=True)
class Edging:
    stitch: Annotated[str, "stitch of the edging"]
    spread: Annotated[Spread, "whether sides take the usual or the measured count"]
    stitches: Annotated[int, "stitches of the first round, corners included, chains not"]
    corner_chains: Annotated[int, "chains of the first round"]
    rounds: Annotated[tuple[int, ...], "stitches of each round"]
    sides: Annotated[tuple[EdgedSide, ...], "the sides, in working order"]
    corners: Annotated[tuple[EdgedCorner, ...], "the corners, in working order"]
    round_height: Annotated[Length, "how far one round stands out from the piece"]
    round_height_method: Annotated[str, "where that height is from"]
    growth: Annotated[Extent, "what the edging adds to the piece, both sides together"]
    finished: Annotated[Extent | None, "the edged piece: what a companion piece must match"]
    usual_note: Annotated[str | None, "where the usual ratio was not read in a copy of its source"]


FROM_MEMORY = {
    "half-double-crochet": "3 in two row ends is from memory: no published source was read, and"
    " makers differ (1 or 2 in each)"
}
"""Usual ratios along row ends that are not published, by the stitch of the fabric."""


def usual_stitches(fabric: str, side_along: Along, places: int) -> int | None:
    """Edging stitches along a side by the trade's ratio; None where it has none.

    One a chain or stitch along foundation and last row; along row ends sc 1, dc 2, tr 3 each and
    hdc 3 in two (from memory). Source: all-in-one.

    >>> usual_stitches("half-double-crochet", "row-ends", 57)
    86
    """
    if side_along != "row-ends":
        return places
    ratio = STITCHES[fabric].edge_ratio
    return None if ratio is None else whole(places * ratio)


def round_height(order: EdgingOrder, gauge: Gauge) -> tuple[Fraction, str]:
    """Height of an edging round in millimetres, and where the figure is from.

    Source: published-gauges.

    >>> from .gauge import square
    >>> from .units import FOUR_INCHES
    >>> g = square(14, 16, FOUR_INCHES)
    >>> round_height(EdgingOrder(), g)
    (Fraction(127, 20), 'row height of the piece, same stitch')
    """
    if order.gauge:
        return order.gauge.row_height, "row height of the edging's own gauge"
    if order.stitch in (None, gauge.stitch):
        return gauge.row_height, "row height of the piece, same stitch"
    edge, fabric = STITCHES[order.stitch or gauge.stitch], gauge.kind
    return (
        gauge.row_height * edge.relative_height / fabric.relative_height,
        "row height of the piece, scaled by the two stitches' relative heights",
    )


def edge(side: Side, fabric: str, stitch_width: Fraction, spread: Spread) -> EdgedSide:
    """Count one side by the usual ratio and by its measured length. Source: geometry.

    >>> side = Side("left", "row-ends", 57, Fraction(300))
    >>> edge(side, "single-crochet", Fraction(25, 4), "usual").measured
    48
    """
    usual = usual_stitches(fabric, side.along, side.places - side.skipped)
    measured = whole(side.length / stitch_width)
    off = None if usual is None or not side.length else usual * stitch_width / side.length - 1
    chosen = usual if spread == "usual" and usual is not None else measured
    return EdgedSide(
        side.name,
        side.along,
        side.places - side.skipped,
        side.length,
        usual,
        measured,
        None if off is None else float(100 * off),
        chosen,
        side.corner,
    )


def growth(order: EdgingOrder, gauge: Gauge) -> Extent:
    """What the edging adds to the piece, both sides together, in millimetres. Source: geometry.

    >>> from .gauge import square
    >>> growth(EdgingOrder(rounds=2), square(16, 20)).width
    Fraction(20, 1)
    """
    added = 2 * order.rounds * round_height(order, gauge)[0]
    return Extent(added, added)


def edging(
    sides: tuple[Side, ...],
    gauge: Gauge,
    order: EdgingOrder,
    extent: Extent | None = None,
) -> Edging:
    """The edging of an outline: side by side, corner by corner, round by round.

    sides in working order; extent is the piece before edging.
    Source: borders-handbook.

    >>> from .gauge import square
    >>> from .units import FOUR_INCHES
    >>> g = square(14, 16, FOUR_INCHES)
    >>> side = Side("foundation", "foundation", 14, Fraction(1016, 10), corner="right")
    >>> edging((side, side), g, EdgingOrder(corner=Corner(3, 0), rounds=2)).rounds
    (32, 36)
    """
    width = order.gauge.stitch_width if order.gauge else gauge.stitch_width
    edged = tuple(edge(side, gauge.stitch, width, order.spread) for side in sides)
    corner, corners = order.corner, [side.corner for side in edged if side.corner]
    first = sum(side.stitches for side in edged) + len(corners) * corner.added
    later = len(corners) * corner.added_each_later_round
    height, method = round_height(order, gauge)
    grown = growth(order, gauge)
    return Edging(
        stitch=order.stitch or gauge.stitch,
        spread=order.spread,
        stitches=first,
        corner_chains=len(corners) * corner.chains,
        rounds=tuple(first + i * later for i in range(order.rounds)),
        sides=edged,
        corners=tuple(EdgedCorner(at, corner.stitches, corner.chains) for at in corners),
        round_height=height,
        round_height_method=method,
        growth=grown,
        finished=extent and Extent(extent.width + grown.width, extent.height + grown.height),
        usual_note=FROM_MEMORY.get(gauge.stitch)
        if any(side.along == "row-ends" for side in sides)
        else None,
    )


def edging_cautions(answer: Edging, field: Path) -> tuple[Caution, ...]:
    """Sides whose usual count is more than a tenth off what their length needs.

    Source: geometry.

    >>> from .gauge import square
    >>> edging_cautions(edging((), square(1, 1), EdgingOrder()), ())
    ()
    """
    raised: dict[tuple[str, int, int], tuple[list[str], EdgedSide]] = {}
    for side in answer.sides:
        off = side.usual_off_percent
        told = side.usual is not None and side.usual != side.measured
        if off is not None and told and abs(off) > 100 * PULLS_PAST:
            part = side.name.split(" of the ")[-1]
            names, _ = raised.setdefault((part, side.usual or 0, side.measured), ([], side))
            names.append(side.name)
    pulls = tuple(_pulls(names, side, answer.spread, field) for names, side in raised.values())
    corner = answer.corners[0] if answer.corners else None
    if corner is None or corner.chains or corner.stitches > 1:
        return pulls
    return (
        *pulls,
        Caution(
            "corners-may-cup",
            "Nothing is added at the corners, so the edging may cup there; three stitches in each,"
            " or a chain, let it lie flat.",
            (*field, "corner"),
            "borders-handbook",
        ),
    )


def _sides_in_words(names: list[str]) -> str:
    """Both edges of one section at once."""
    left, right = names[0], names[-1]
    if len(names) == 2 and right == left.replace("left edge", "right edge", 1) != left:
        return left.replace("left edge", "left and right edges", 1)
    return " and the ".join(names)


def _pulls(names: list[str], side: EdgedSide, spread: Spread, field: Path) -> Caution:
    off = side.usual_off_percent or 0.0
    pulls = off < 0
    remedy = (
        f"the measured count, {side.measured}, lies flat"
        if spread == "usual"
        else f"the measured count, {side.measured}, is worked here"
    )
    return Caution(
        "edging-pulls-in" if pulls else "edging-ruffles",
        f"Along the {_sides_in_words(names)}, the usual {side.usual} are"
        f" {abs(off):.0f} % {'fewer' if pulls else 'more'} than the length needs at this"
        f" gauge and may {'pull it in' if pulls else 'ruffle it'}; {remedy}.",
        field,
        "geometry",
    )
