"""One piece made up: counts, opening, edging, yarn, checkpoints and cautions."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace

from .cautions import Caution, cord, for_uses, small_part
from .checkpoints import Checkpoint, checkpoints
from .edgings import Edging, edging, edging_cautions
from .errors import Findings, Refusal, Refused
from .exact import Fraction
from .gauge import swatch_cautions
from .measures import Measure
from .openings import (
    USUAL,
    USUAL_SPAN,
    Button,
    Buttonhole,
    Edge,
    LoopPlace,
    Slit,
    SlitPlace,
    buttonhole,
    check_button,
    check_closure,
    loop,
    opening_cautions,
)
from .outline import sides_of
from .placing import place_slit
from .schedules import runs_of
from .shapingcautions import shaping_cautions
from .sizing import PieceOrder, Sized, Totals, size
from .templates import Template
from .working import EDGING, YARN, spend
from .yarn import Yarn, estimate
from .yarncautions import yarn_cautions
from .yarnorder import check_colours
from .yarnwork import Work, work_of

LONG_AND_NARROW = 8
"""Times as long as wide: past it a piece can serve as a cord. Source: common-practice."""
CORD_LENGTH = Fraction(220)
"""Millimetres: the shortest cord length with a published limit. Source: en-12586."""


@dataclass(frozen=True, slots=True)
class Made:
    """A piece with its edging, closure, yarn, checkpoints and cautions."""

    sized: Sized
    work: Work
    buttonhole: Buttonhole | None
    edging: Edging | None
    yarn: Yarn | None
    checkpoints: tuple[Checkpoint, ...]
    cautions: tuple[Caution, ...]

    @property
    def totals(self) -> Totals:
        return self.sized.totals

    @property
    def left(self) -> Totals:
        return self.sized.left

    @property
    def measurements(self) -> Mapping[str, Measure]:
        return self.sized.measurements


@dataclass(frozen=True, slots=True)
class Counted:
    """What a piece comes to in stitches and rows, and what it is buttoned by."""

    sized: Sized
    buttonhole: Buttonhole | None

    @property
    def settles(self) -> Hashable:
        """What of it all else hangs on, measurements apart: where this and the rest of the order
        are alike, so is everything that ``made_up`` makes."""
        return self.sized.turn, self.sized.foundation, self.sized.sections, self.sized.openings


def make(order: PieceOrder) -> Made:
    """The whole piece; raises Refused with everything that stands in the way.

    Source: common-practice.
    """
    return made_up(order, counted(order))


def counted(order: PieceOrder) -> Counted:
    """The counts; raises Refused with everything that stands in the way of making them up.

    Source: common-practice.
    """
    found = Findings()
    check_closure(order.closure, order.button, found)
    try:
        check_yarn(order)
    except Refused as refused:
        found.keep(refused)
    sized = None
    try:
        sized = size(order)
    except Refused as refused:
        found.keep(refused)
    hole = None
    if sized and order.button:
        try:
            hole = _close(order, order.button, sized)
        except Refused as refused:
            found.keep(refused)
    found.settle()
    assert sized is not None
    return Counted(sized, hole)


def made_up(order: PieceOrder, counted: Counted) -> Made:
    """All that follows from the counts; what was measured has no more say in it.

    Raises Refused when a substitute's length cannot be told. Source: common-practice.
    """
    sized, hole = counted.sized, counted.buttonhole
    edged = _edge(order, sized, hole)
    work = work_of(order, sized, sized.turn, edged, hole)
    yarn = yarn_of(order, work)
    return Made(
        sized=sized,
        work=work,
        buttonhole=hole,
        edging=edged,
        yarn=yarn,
        checkpoints=checkpoints(sized.sections, order.gauge, sized.begun),
        cautions=_cautions(order, sized, hole, edged, yarn),
    )


def _last_stitches(sized: Sized) -> int:
    return sized.sections[-1].stitches_at_end if sized.sections else sized.foundation.stitches


def _close(order: PieceOrder, button: Button, sized: Sized) -> Buttonhole:
    closure, gauge, edge = order.closure or USUAL, order.gauge, order.template.closure_at
    if closure.kind == "slit":
        if passed := _passed(order, button, sized):
            return passed
        hole = buttonhole(button, gauge.stitch_width, gauge.row_height, closure)
        assert hole.slit is not None
        return replace(hole, slit_place=_place(order, hole.slit, sized, edge))
    check_button(button)
    along = _last_stitches(sized) if edge == "last-row" else sized.totals.rows
    span = _span(closure.span, along)
    unit = gauge.stitch_width if edge == "last-row" else gauge.row_height
    first = (along - span) // 2 + 1
    return Buttonhole(
        loop(button, gauge.stitch_width, closure, span, unit),
        None,
        loop_place=LoopPlace(edge, first, first + span - 1, span == along),
    )


def _place(order: PieceOrder, slit: Slit, sized: Sized, edge: Edge) -> SlitPlace:
    runs, gauge = runs_of(sized.sections), order.gauge
    busy = frozenset(row for o in sized.openings for row in (o.row, o.row + 1))
    if sized.begun:
        busy |= frozenset(range(1, sized.begun.rows + 1))
    return place_slit(slit, runs, gauge.stitch_width, gauge.row_height, edge, busy)


def _passed(order: PieceOrder, button: Button, sized: Sized) -> Buttonhole | None:
    """The slit that the rows worked have already, as their own plan has it."""
    if not order.continue_after or not sized.begun:
        return None
    before = replace(
        order, gauge=order.continue_after.planned or order.gauge, continue_after=None, detail="runs"
    )
    hole, rows = _close(before, button, size(before)), sized.begun.rows
    at = hole.slit_place
    if at and at.row <= rows < at.last_row:
        raise _inside_a_slit(at)
    return hole if at and at.row <= rows else None


def _inside_a_slit(at: SlitPlace) -> Refused:
    return Refused(
        Refusal(
            "inside-a-slit",
            ("continue_after", "row"),
            f"rows {at.row} to {at.last_row} are the two sides of a slit: go on from the row before"
            " it, or from its last row",
            {"row": [at.row - 1, at.last_row]},
        )
    )


def _span(asked: int | None, along: int) -> int:
    """Stitches or row ends for a loop to bridge: two, or all where less than two would be left.

    A loop that does not bridge the whole edge needs a stitch to stand on at either side.
    """
    if asked is None:
        return USUAL_SPAN if along - USUAL_SPAN >= 2 else along
    if asked == along or along - asked >= 2:
        return asked
    raise Refused(
        Refusal(
            "loop-does-not-fit",
            ("closure", "span"),
            f"a loop over {asked} does not fit on an edge of {along}: it bridges all of it, or"
            " leaves a stitch at either side to stand on",
            {"span": along, "or_at_most": max(0, along - 2)},
        )
    )


def _edge(order: PieceOrder, sized: Sized, hole: Buttonhole | None) -> Edging | None:
    if order.edging is None:
        return None
    spend(EDGING)
    spans = _spanned(hole)
    gauge, stitches = order.gauge, sized.foundation.stitches
    return edging(
        sides_of(stitches, sized.sections, gauge.stitch_width, gauge.row_height, spans),
        gauge,
        order.edging,
        sized.extent,
    )


def _spanned(hole: Buttonhole | None) -> int:
    """Stitches of the last row that a loop bridges whole, and an edging leaves out."""
    at = hole.loop_place if hole else None
    return at.last if at and at.whole and at.edge == "last-row" else 0


def check_yarn(order: PieceOrder) -> None:
    """Whether the yarn and the colours can be reckoned from.

    Raises Refused with all that is amiss. Source: common-practice.
    """
    closure = order.closure or USUAL
    check_colours(
        order.colours,
        order.yarn,
        order.yarns,
        tuple(section.name for section in order.template.sections),
        {
            "edging": order.edging is not None,
            "loop": order.button is not None and closure.kind == "loop",
            "seams": any(fold.sides_joined for fold in order.template.folds),
        },
        flat=isinstance(order.template, Template),
    )


def yarn_of(order: PieceOrder, work: Work) -> Yarn | None:
    """The yarn of a piece's work, where anything was told of it.

    Raises Refused when a substitute's length cannot be told. Source: common-practice.
    """
    if not order.yarn and not order.yarns:
        return None
    spend(YARN)
    return estimate(work, order.gauge, order.yarn, order.yarns)


def _cautions(
    order: PieceOrder,
    sized: Sized,
    hole: Buttonhole | None,
    edged: Edging | None,
    yarn: Yarn | None,
) -> tuple[Caution, ...]:
    short, long = sorted((sized.extent.width, sized.extent.height))
    of_piece = [cord(("template",))] if is_cord(order, long, short) else []
    return gathered(order, [*of_piece, *shaping_cautions(order, sized)], hole, edged, yarn)


def is_cord(order: PieceOrder, long: Fraction, short: Fraction) -> bool:
    """Whether a piece is, or can serve as, a cord; millimetres. Source: en-12586.

    A template may say so of itself.
    """
    narrow = long >= CORD_LENGTH and long >= LONG_AND_NARROW * short
    return narrow or "cord" in order.template.hazards


def gathered(
    order: PieceOrder,
    of_piece: list[Caution],
    hole: Buttonhole | None,
    edged: Edging | None,
    yarn: Yarn | None,
) -> tuple[Caution, ...]:
    """Cautions of the swatch, the piece itself, its uses and what is made up on it; a cord's once.

    Source: common-practice.
    """
    raised = [*swatch_cautions(order.gauge), *of_piece]
    if order.button and (caution := small_part(order.button.diameter, ("button", "diameter"))):
        raised.append(caution)
    raised += for_uses(order.uses)
    if hole:
        raised += opening_cautions(hole)
    if edged:
        raised += edging_cautions(edged, ("edging",))
    if yarn:
        for one in yarn.colours or (yarn,):
            colour = getattr(one, "colour", "")
            raised += yarn_cautions(one, colour, colour in order.yarns)
    return tuple({c.code if c.code == "cord" else c: c for c in raised}.values())
