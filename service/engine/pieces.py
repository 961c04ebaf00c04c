"""One piece: template, measurements and gauge in; everything needed to make it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Annotated, Literal

from .cautions import Caution, Use, cord, for_uses, small_part
from .checkpoints import Checkpoint, checkpoints
from .edgings import Edging, EdgingOrder, Extent, edging, edging_cautions
from .errors import Findings, Refusal, Refused
from .foundation import Foundation, Turning, foundation, turning
from .gauge import Gauge, swatch_cautions
from .openings import (
    USUAL,
    USUAL_SPAN,
    Button,
    Buttonhole,
    ClosureOrder,
    Edge,
    LoopPlace,
    Slit,
    SlitPlace,
    buttonhole,
    check_button,
    loop,
    opening_cautions,
)
from .outline import extent_of, sides_of
from .placing import place_slit
from .rounding import ANY, Multiple, Rounding
from .schedules import runs_of
from .sections import Scale, Section, asked_for, build, count, not_in_multiple
from .shaping import stitches_worked
from .stitches import STITCHES, Terms
from .templates import Template, check_measurements, check_template, terms_of
from .units import Length, System
from .yarn import Work, Yarn, YarnOrder, check_order, estimate, yarn_cautions

LONG_AND_NARROW = 8
"""Times as long as wide: past it a piece can serve as a cord. Source: common-practice."""
CORD_LENGTH = Fraction(220)
"""Millimetres: the shortest cord length with a published limit. Source: en-12586."""


@dataclass(frozen=True, slots=True)
class PieceOrder:
    """What is asked of one piece. Measurements in millimetres; None means the usual."""

    gauge: Gauge
    template: Template
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


@dataclass(frozen=True, slots=True)
class Measure:
    """A measurement as asked and as whole stitches or rows make it."""

    asked: Annotated[Length | None, "as asked; left out when it was not"]
    finished: Annotated[Length, "as whole stitches or rows make it, before edging"]
    difference: Annotated[Length | None, "finished less asked"]


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


@dataclass(frozen=True, slots=True)
class Made:
    """A piece with its edging, closure, yarn, checkpoints and cautions."""

    sized: Sized
    buttonhole: Buttonhole | None
    edging: Edging | None
    yarn: Yarn | None
    checkpoints: tuple[Checkpoint, ...]
    cautions: tuple[Caution, ...]


def size(order: PieceOrder) -> Sized:
    """Foundation, sections and measurements of a piece.

    Raises Refused with everything that stands in the way. Source: common-practice.
    """
    template, asked, gauge = order.template, order.measurements, order.gauge
    found = Findings()
    with found.collecting(("template",)):
        check_template(template)
    with found.collecting():
        check_measurements(template, asked)
    sound = not found.refusals
    turn = Turning(0, False)
    _check_rows_can_be_made(order, found)
    with found.collecting():
        turn = turning(gauge.kind, order.turning_chain, order.turning_chain_counts)
    if not sound:
        found.settle()

    scale = Scale(
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
    stitches: int | None = None
    sections: tuple[Section, ...] = ()
    with found.collecting():
        stitches = _foundation_stitches(template, asked, scale)
    if gauge.kind.makes_rows:
        with found.collecting():
            sections = build(template.sections, stitches, asked, scale)
    found.settle()
    assert stitches is not None  # or its refusal has been raised
    return Sized(
        turn=turn,
        foundation=foundation(stitches, turn),
        sections=sections,
        measurements=_measures(template, asked, stitches, sections, scale),
        extent=extent_of(stitches, sections, scale.stitch_width, scale.row_height),
        totals=Totals(
            sum(s.rows for s in sections),
            sum(stitches_worked(s.stitches_at_start, s.rows, s.schedule) for s in sections),
        ),
    )


def _check_rows_can_be_made(order: PieceOrder, found: Findings) -> None:
    """A chain makes a cord: no rows, so no height of any section, and nothing made up on it."""
    if order.gauge.kind.makes_rows:
        return
    for name in ("edging", "button"):
        if getattr(order, name):
            found.add("cord-has-no-edges", (name,), "a cord of chains has no rows to work this on")
    sections, asked = order.template.sections, order.measurements
    if all(s.shape == "even" and s.height and s.height.of(asked) is None for s in sections):
        return
    found.add(
        "stitch-makes-no-rows",
        ("gauge", "stitch"),
        "a chain makes a cord and no rows; this template is worked in rows",
        [s.key for s in STITCHES.values() if s.makes_rows],
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


def _measures(
    template: Template,
    asked: Mapping[str, Fraction],
    stitches: int,
    sections: tuple[Section, ...],
    scale: Scale,
) -> dict[str, Measure]:
    """What each measurement came to, read off the first part of the piece that uses it."""
    made: dict[str, Measure] = {}
    used = terms_of(template)
    for plan in template.measurements:
        path, term = used[plan.name][0]
        if path[0] == "foundation":
            came_to = stitches * scale.stitch_width
        elif not sections:
            continue
        else:
            finished = sections[int(path[1])].finished
            came_to = finished.height if path[2] == "height" else finished.width_at_end
        came_to = term.measurement_from(came_to)
        wanted = asked.get(plan.name)
        made[plan.name] = Measure(wanted, came_to, None if wanted is None else came_to - wanted)
    return made


def make(order: PieceOrder) -> Made:
    """The whole piece; raises Refused with everything that stands in the way.

    Source: common-practice.
    """
    found = Findings()
    if order.closure and not order.button:
        found.add(
            "closure-without-button", ("closure",), "a closure needs the button it is to take"
        )
    if order.yarn:
        with found.collecting():
            check_order(order.yarn)
    sized = None
    with found.collecting():
        sized = size(order)
    hole = None
    if sized and order.button:
        with found.collecting():
            hole = _close(order, order.button, sized)
    found.settle()
    assert sized is not None

    edged = _edge(order, sized, hole)
    yarn = None
    if order.yarn:
        yarn = estimate(_work(order, sized, hole, edged), order.gauge, order.yarn)
    return Made(
        sized=sized,
        buttonhole=hole,
        edging=edged,
        yarn=yarn,
        checkpoints=checkpoints(sized.sections, order.gauge),
        cautions=_cautions(order, sized, hole, edged, yarn),
    )


def _last_stitches(sized: Sized) -> int:
    return sized.sections[-1].stitches_at_end if sized.sections else sized.foundation.stitches


def _close(order: PieceOrder, button: Button, sized: Sized) -> Buttonhole:
    closure, gauge, edge = order.closure or USUAL, order.gauge, order.template.closure_at
    if closure.kind == "slit":
        hole = buttonhole(button, gauge.stitch_width, gauge.row_height, closure)
        assert hole.slit is not None
        return replace(hole, slit_place=_place(hole.slit, sized, gauge, edge))
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


def _place(slit: Slit, sized: Sized, gauge: Gauge, edge: Edge) -> SlitPlace:
    runs = runs_of(sized.sections)
    return place_slit(slit, runs, gauge.stitch_width, gauge.row_height, edge)


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


def _work(order: PieceOrder, sized: Sized, hole: Buttonhole | None, edged: Edging | None) -> Work:
    loop = hole.loop if hole else None
    fabric = order.gauge.kind.relative_height or STITCHES["single-crochet"].relative_height
    return Work(
        stitches=sized.totals.stitches,
        turning_chains=max(0, sized.totals.rows - 1) * sized.turn.chains,
        foundation_chains=sized.foundation.chain,
        edging_stitches=sum(edged.rounds) if edged else 0,
        edging_relative_height=STITCHES[edged.stitch].relative_height / fabric
        if edged
        else Fraction(1),
        edging_chains=edged.corner_chains * len(edged.rounds) if edged else 0,
        loop_chains=loop.chain if loop else 0,
        loop_covering=loop.covering_stitches if loop else 0,
    )


def _cautions(
    order: PieceOrder,
    sized: Sized,
    hole: Buttonhole | None,
    edged: Edging | None,
    yarn: Yarn | None,
) -> tuple[Caution, ...]:
    raised = list(swatch_cautions(order.gauge))
    short, long = sorted((sized.extent.width, sized.extent.height))
    narrow = long >= CORD_LENGTH and long >= LONG_AND_NARROW * short
    if narrow or "cord" in order.template.hazards:
        raised.append(cord(("template",)))
    if order.button and (caution := small_part(order.button.diameter, ("button", "diameter"))):
        raised.append(caution)
    raised += for_uses(order.uses)
    raised += _shaping_cautions(sized)
    if hole:
        raised += opening_cautions(hole)
    if edged:
        raised += edging_cautions(edged, ("edging",))
    if yarn:
        raised += yarn_cautions(yarn)
    return tuple({c.code if c.code == "cord" else c: c for c in raised}.values())


def _shaping_cautions(sized: Sized) -> list[Caution]:
    """Where an odd change is shared by two edges, one edge has a stitch more than the other."""
    return [
        Caution(
            "uneven-edges",
            f"The {s.name} goes from {s.stitches_at_start} to {s.stitches_at_end} stitches, an odd"
            " change over two edges: the left edge takes one stitch more than the right. A"
            " measurement one stitch wider or narrower makes them alike.",
            ("template", "sections", i),
            "common-practice",
        )
        for i, s in enumerate(sized.sections)
        if any(r.left and r.right for r in s.schedule)
        and sum(r.times * r.left for r in s.schedule) != sum(r.times * r.right for r in s.schedule)
    ]
