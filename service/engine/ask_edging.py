"""One question: how many edging stitches go round this piece?"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Annotated

from .cautions import Caution
from .edgings import Along, Edging, EdgingOrder, Side, edging, edging_cautions
from .errors import Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .pieces import make
from .roundpieces import make_round
from .roundplans import RoundTemplate
from .sizing import PieceOrder
from .stitches import MAKE_ROWS
from .units import System


@dataclass(frozen=True, slots=True)
class SideOrder:
    """A side told by its count, and its length (millimetres) where it is not straight."""

    name: str
    along: Along
    places: int
    length: Fraction | None = None
    corner: bool = True


@dataclass(frozen=True, slots=True)
class EdgingsOrder:
    """An edging round a piece from a template, or round sides told one by one."""

    gauge: Gauge
    edging: EdgingOrder
    piece: PieceOrder | None = None
    sides: tuple[SideOrder, ...] = ()
    units: System = "metric"
    besides: tuple[str, ...] = ()
    """What is told besides the sides that only a piece has."""


@dataclass(frozen=True, slots=True)
class EdgingAnswer(Edging):
    """The edging, side by side and corner by corner."""

    cautions: Annotated[tuple[Caution, ...], "sides that may pull in or ruffle"]


def edgings(order: EdgingsOrder) -> EdgingAnswer:
    """The edging alone.

    Raises Refused when neither piece nor sides are told, or both, when sides are told with what
    only a piece has, and for sides at the gauge of a chain, which makes no rows.

    Source: borders-handbook.

    >>> from .gauge import square
    >>> g = square(16, 19)
    >>> sides = tuple(SideOrder(n, "row-ends", 40) for n in ("left", "right"))
    >>> edgings(EdgingsOrder(g, EdgingOrder(), sides=sides)).stitches
    80
    """
    if (order.piece is None) == (not order.sides):
        raise Refused(
            Refusal(
                "piece-or-sides",
                (),
                "tell either the piece (template and measurements) or its sides, not both",
                {"one_of": ["template", "sides"]},
            )
        )
    if order.besides:
        raise Refused(*(_of_a_piece(name) for name in order.besides))
    if order.piece:
        flat = not isinstance(order.piece.template, RoundTemplate)
        made = (make(order.piece) if flat else make_round(order.piece)).edging
        assert made is not None  # the piece was asked for with this edging
    else:
        if not order.gauge.kind.makes_rows:
            told = "a chain makes a cord and no rows, and this edging is worked on a fabric"
            raise Refused(Refusal("stitch-makes-no-rows", ("gauge", "stitch"), told, [*MAKE_ROWS]))
        made = edging(
            tuple(_side(side, order.gauge) for side in order.sides), order.gauge, order.edging
        )
    values = {f.name: getattr(made, f.name) for f in fields(made)}
    return EdgingAnswer(**values, cautions=edging_cautions(made, ("edging",)))


def _of_a_piece(name: str) -> Refusal:
    detail = f"{name} is of a piece made from a template, and here its sides are told"
    return Refusal("sides-without-template", (name,), detail, {"leave_out": name})


def _side(side: SideOrder, gauge: Gauge) -> Side:
    unit = gauge.row_height if side.along == "row-ends" else gauge.stitch_width
    return Side(
        side.name,
        side.along,
        side.places,
        side.length or side.places * unit,
        f"after the {side.name}" if side.corner else None,
    )
