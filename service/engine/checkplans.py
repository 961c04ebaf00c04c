"""A plan held against the work: its counts, and what they come to at the gauge the work has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from .beginning import begin
from .cameto import measures_of
from .continuing import ContinueOrder
from .errors import Findings
from .exact import Fraction
from .measures import measure
from .roundbegun import RoundBegun, begin_rounds
from .roundpieces import make_round
from .roundplans import RoundTemplate, chosen
from .rounds import Counts, RoundSized
from .schedules import clip, runs_of
from .sections import Section, SectionSize
from .settling import settle
from .sizing import PieceOrder, Sized, counted_alone, scale_of, size
from .slots import Opening

Plan = Sized | RoundSized


def plain(order: PieceOrder) -> PieceOrder:
    """The order with nothing made up on it, and what the maker chose of its rounds chosen.

    Source: common-practice.
    """
    template = order.template
    if isinstance(template, RoundTemplate) and order.in_the_round:
        template = chosen(template, order.in_the_round)
        order = replace(order, in_the_round=None)
    return replace(counted_alone(order), template=template)


def plan_of(order: PieceOrder) -> Plan:
    """The counts of a plain order. Raises Refused as the piece does. Source: common-practice."""
    return make_round(order).sized if isinstance(order.template, RoundTemplate) else size(order)


def asked_of(order: PieceOrder) -> Mapping[str, Fraction]:
    """Every measurement that was asked for, or follows from those. Source: common-practice."""
    return settle(
        order.template, order.measurements, order.derived, order.units, Findings()
    ).sized_by


def came_to(order: PieceOrder, plan: Plan) -> dict[str, Fraction]:
    """What the measurements of a plan come to, in millimetres. Source: common-practice."""
    if isinstance(plan, RoundSized):
        return dict(plan.came_to)
    return {name: m.finished for name, m in plan.measurements.items()}


def unchanged(
    order: PieceOrder, at: ContinueOrder, plan: Plan, rows: Mapping[str, int] | None = None
) -> dict[str, Fraction]:
    """What a plan's counts come to at the order's gauge, the rows worked as high as they are.

    Stitches on the hook that differ from the plan's differ to the end. ``rows`` are those of even
    sections that are to have another number. Source: geometry.
    """
    if isinstance(plan, RoundSized):
        return _rounds_unchanged(order, at, plan, rows or {})
    return _rows_unchanged(order, at, plan, rows or {})


def _rows_unchanged(
    order: PieceOrder, at: ContinueOrder, plan: Sized, rows: Mapping[str, int]
) -> dict[str, Fraction]:
    worked = begin(at, plan.foundation.stitches, plan.sections, plan.openings, order.gauge)
    begun, scale, index = worked.begun, scale_of(order), len(worked.begun.sections)
    hand = begun.current
    more = begun.stitches - clip(runs_of(plan.sections), 1, at.row)[-1].stitches_after
    made: list[Section] = [*begun.sections]
    first = hand.first_row
    for i, planned in enumerate(plan.sections[index:]):
        number = rows.get(planned.name, planned.rows)
        done = hand.rows if not i else 0
        end = planned.stitches_at_end + more
        left = clip(runs_of((planned,)), done + 1, planned.rows) if planned.schedule else ()
        shifted = tuple(replace(run, stitches_after=run.stitches_after + more) for run in left)
        high = done * begun.row_height + (number - done) * scale.row_height
        start = hand.stitches_at_start if not i else planned.stitches_at_start + more
        made.append(
            replace(
                planned,
                first_row=first,
                rows=number,
                stitches_at_start=start,
                stitches_at_end=end,
                schedule=(*(runs_of((hand,)) if not i and planned.schedule else ()), *shifted),
                finished=SectionSize(start * scale.stitch_width, end * scale.stitch_width, high),
            )
        )
        first += number
    openings = tuple(_at_gauge(o, order, at, begun.height) for o in plan.openings)
    assert not isinstance(order.template, RoundTemplate)
    measures = measures_of(
        order.template, asked_of(order), worked.foundation, tuple(made), openings, scale
    )
    return {name: m.finished for name, m in measures.items()}


def _at_gauge(opening: Opening, order: PieceOrder, at: ContinueOrder, height: Fraction) -> Opening:
    below, w, h = opening.row - 1, order.gauge.stitch_width, order.gauge.row_height
    worked = min(below, at.row)
    return replace(
        opening,
        height=measure(opening.height.asked, worked * height / at.row + (below - worked) * h),
        width=measure(opening.width.asked, opening.skipped * w),
    )


def _rounds_unchanged(
    order: PieceOrder, at: ContinueOrder, plan: RoundSized, rows: Mapping[str, int]
) -> dict[str, Fraction]:
    begun = begin_rounds(at, plan, order.gauge)
    more = begun.stitches - list(plan.counts[len(begun.whole)])[begun.hand.rounds - 1]
    parts = [*begun.whole]
    for i, (section, counts) in enumerate(zip(plan.sections, plan.counts, strict=True)):
        if i < len(parts):
            continue
        done = list(begun.hand) if i == len(begun.whole) else []
        left = [max(1, n + more) for n in list(counts)[len(done) :]]
        if section.name in rows:
            left = [counts.last + more] * (rows[section.name] - len(done))
        parts.append(Counts.of((*done, *left)))
    fixed = RoundBegun(
        begun.start, tuple(parts[:-1]), parts[-1], begun.rows, begun.height, begun.tape, True
    )
    at_gauge = replace(order, continue_after=replace(at, plan=plan), max_change=None)
    return dict(make_round(at_gauge, fixed).sized.came_to)
