"""The counts of a piece: foundation, sections, and what each measurement came to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Literal

from .cautions import Use
from .counting import Scale, asked_for, count, not_in_multiple
from .edgings import EdgingOrder, Extent
from .errors import Findings
from .foundation import Foundation, Turning, foundation, turning
from .gauge import Gauge
from .openings import (
    Button,
    ClosureOrder,
)
from .outline import extent_of
from .rounding import ANY, Multiple, Rounding
from .sections import Section, build
from .shaping import stitches_worked
from .stitches import STITCHES, Terms
from .templates import Template, check_measurements, check_template, terms_of
from .units import Length, System
from .yarn import YarnOrder


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

    scale = scale_of(order)
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
