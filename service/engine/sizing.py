"""The counts of a piece: foundation, sections, and what each measurement came to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

from .beginning import Worked, begin, stitches_of
from .cameto import measures_of
from .cautions import Use
from .continuing import Begun, ContinueOrder
from .counting import Scale, asked_for, count, not_in_multiple
from .deriving import Derivation
from .edgings import EdgingOrder, Extent
from .errors import Findings, Refused
from .exact import Fraction
from .foundation import Foundation, Turning, foundation, turning
from .gauge import Gauge
from .measures import Measure
from .openings import (
    Button,
    ClosureOrder,
)
from .outline import extent_of
from .rounding import ANY, Multiple, Rounding
from .roundplans import InTheRound, RoundTemplate
from .schedules import runs_of
from .sections import Section, build
from .settling import settle
from .slots import Opening, place
from .stitches import MAKE_ROWS, Terms
from .templates import Template, check_template
from .units import System
from .working import PIECE, SECTION, spend
from .yarnorder import ColoursOrder, YarnOrder


@dataclass(frozen=True, slots=True)
class PieceOrder:
    """What is asked of one piece. Measurements in millimetres; None means the usual.

    A measurement is a length, or is derived from a body or an object.
    """

    gauge: Gauge
    template: Template | RoundTemplate
    measurements: Mapping[str, Fraction]
    turning_chain: int | None = None
    turning_chain_counts: bool | None = None
    stitch_multiple: Multiple | None = None
    row_multiple: Multiple | None = None
    rounding: Rounding = "nearest"
    right_side_only: bool = False
    max_change: int | None = None
    button: Button | None = None
    closure: ClosureOrder | None = None
    edging: EdgingOrder | None = None
    yarn: YarnOrder | None = None
    uses: tuple[Use, ...] = ()
    terms: Terms = "us"
    units: System = "metric"
    detail: Literal["runs", "rows"] = "runs"
    derived: Mapping[str, Derivation] = field(default_factory=dict)
    in_the_round: InTheRound | None = None
    continue_after: ContinueOrder | None = None
    colours: ColoursOrder | None = None
    yarns: Mapping[str, YarnOrder] = field(default_factory=dict)


def counted_alone(order: PieceOrder) -> PieceOrder:
    """The order with nothing made up on it, and no yarn to reckon. Source: common-practice."""
    return replace(
        order, button=None, closure=None, edging=None, yarn=None, colours=None, yarns={},
        detail="runs",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Totals:
    rows: Annotated[int, "rows of the piece"]
    stitches: Annotated[int, "stitches of all rows, foundation, edging and loop not counted"]


@dataclass(frozen=True, slots=True)
class Sized:
    """The counts of a piece: what all else is written from."""

    turn: Turning
    foundation: Foundation
    sections: tuple[Section, ...]
    measurements: Mapping[str, Measure]
    extent: Extent
    totals: Totals
    openings: tuple[Opening, ...] = ()
    begun: Begun | None = None

    @property
    def left(self) -> Totals:
        """Rows and stitches still to work."""
        if not self.begun:
            return self.totals
        worked = stitches_of((*self.begun.sections, self.begun.current))
        return Totals(self.totals.rows - self.begun.rows, self.totals.stitches - worked)


def scale_of(order: PieceOrder) -> Scale:
    """What the piece is counted by. Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8), ())
    >>> scale_of(PieceOrder(square(16, 19), tab, {})).stitch_width
    Fraction(25, 4)
    """
    template, gauge = order.template, order.gauge
    return Scale(
        stitch_width=gauge.stitch_width,
        row_height=gauge.row_height,
        stitch_multiple=order.stitch_multiple or template.stitch_multiple or ANY,
        row_multiple=order.row_multiple or template.row_multiple or ANY,
        rounding=order.rounding,
        right_side_only=order.right_side_only,
        max_change=order.max_change,
        units=order.units,
        every_row=order.detail == "rows",
    )


def size(order: PieceOrder) -> Sized:
    """Foundation, sections and measurements of a piece worked flat.

    Raises Refused with everything that stands in the way. Source: common-practice.
    """
    template, gauge, found = order.template, order.gauge, Findings()
    assert isinstance(template, Template)
    spend(PIECE + SECTION * len(template.sections), ("template",))
    try:
        check_template(template)
    except Refused as refused:
        found.keep(refused, ("template",))
    settled = settle(template, order.measurements, order.derived, order.units, found)
    asked = settled.sized_by
    sound = not found.refusals
    if order.in_the_round:
        detail = "this template is worked flat, and has no rounds to choose for"
        found.add("not-in-the-round", ("in_the_round",), detail, {"leave_out": "in_the_round"})
    turn = Turning(0, False)
    _check_rows_can_be_made(order, template, asked, found)
    try:
        turn = turning(gauge.kind, order.turning_chain, order.turning_chain_counts)
    except Refused as refused:
        found.keep(refused)
    if not sound:
        found.settle()

    scale = scale_of(order)
    stitches: int | None = None
    sections: tuple[Section, ...] = ()
    worked = None
    if order.continue_after:
        found.settle()
        worked = _begun(order, order.continue_after)
        stitches = worked.foundation
    else:
        try:
            stitches = _foundation_stitches(template, asked, scale)
        except Refused as refused:
            found.keep(refused)
    begun = worked.begun if worked else None
    if gauge.kind.makes_rows:
        try:
            sections = build(template.sections, stitches, asked, scale, begun)
        except Refused as refused:
            found.keep(refused)
    openings: tuple[Opening, ...] = ()
    if template.openings and (sections or not template.sections):
        try:
            openings = place(
                template.openings,
                runs_of(sections),
                asked,
                scale,
                worked.openings if worked else (),
                begun,
            )
        except Refused as refused:
            found.keep(refused)
    found.settle()
    assert stitches is not None  # or its refusal has been raised
    return Sized(
        turn=turn,
        foundation=foundation(stitches, turn),
        sections=sections,
        measurements=settled.told(
            measures_of(template, settled.wanted, stitches, sections, openings, scale)
        ),
        extent=extent_of(stitches, sections, scale.stitch_width),
        totals=Totals(
            sum(s.rows for s in sections),
            stitches_of(sections),
        ),
        openings=openings,
        begun=begun,
    )


def _begun(order: PieceOrder, at: ContinueOrder) -> Worked:
    """What is worked, by the plan that the rows so far were planned by."""
    before = replace(order, gauge=at.planned or order.gauge, continue_after=None, detail="runs")
    planned = at.plan if isinstance(at.plan, Sized) else size(before)
    return begin(at, planned.foundation.stitches, planned.sections, planned.openings, order.gauge)


def _check_rows_can_be_made(
    order: PieceOrder, template: Template, asked: Mapping[str, Fraction], found: Findings
) -> None:
    """A chain makes a cord: no rows, so no height of any section, and nothing made up on it."""
    if order.gauge.kind.makes_rows:
        return
    for name in ("edging", "button"):
        if getattr(order, name):
            detail = "a cord of chains has no rows to work this on"
            found.add("cord-has-no-edges", (name,), detail, {"leave_out": name})
    if template.openings:
        found.add(
            "cord-has-no-edges", ("template", "openings"), "a cord of chains has no rows to open"
        )
    sections = template.sections
    if all(s.shape == "even" and s.height and s.height.of(asked) is None for s in sections):
        return
    found.add(
        "stitch-makes-no-rows",
        ("gauge", "stitch"),
        "a chain makes a cord and no rows; this template is worked in rows",
        [*MAKE_ROWS],
    )


def _foundation_stitches(template: Template, asked: Mapping[str, Fraction], scale: Scale) -> int:
    plan, multiple = template.foundation, scale.stitch_multiple
    width = asked_for(plan.width, asked, ("foundation", "width"))
    if width:
        return count(width, scale.stitch_width, multiple, scale, "stitches")
    assert plan.stitches is not None  # check_template refuses a foundation of no size
    if not multiple.allows(plan.stitches):
        path = ("template", "foundation", "stitches")
        raise not_in_multiple(path, plan.stitches, "stitches", multiple)
    return plan.stitches
