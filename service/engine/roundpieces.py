"""A piece in the round made up: counts, loop, edging, yarn, checkpoints and cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import pi

from .cautions import Caution, cord, small_part
from .checkpoints import Checkpoint, tolerance
from .counting import Scale
from .edgings import Edging, Extent, Side, edging
from .errors import Findings, Refusal, Refused
from .exact import Fraction
from .foundation import Turning, turning
from .gauge import Gauge
from .measures import Measure, measure
from .openings import (
    USUAL,
    USUAL_SPAN,
    Buttonhole,
    LoopPlace,
    check_button,
    check_closure,
    loop,
)
from .pieces import check_yarn, gathered, is_cord, yarn_of
from .roundbegun import RoundBegun, begin_rounds
from .rounding import ANY
from .roundplans import NO_WRONG_SIDE, RoundTemplate, check_round_template
from .rounds import RoundSection, RoundSized
from .roundsizing import build_rounds
from .settling import Settled, settle
from .sizing import PieceOrder, Totals, counted_alone
from .stitches import MAKE_ROWS
from .yarn import Yarn
from .yarnwork import Work, work_of

SMALL_PART_DEPTH = Fraction(5715, 100)
"""Millimetres: depth of the small-parts cylinder at its deepest. Source: 16-cfr-1501."""


@dataclass(frozen=True, slots=True)
class RoundMade:
    """A piece in the round with everything that is made up on it."""

    turn: Turning
    sized: RoundSized
    work: Work
    measurements: Mapping[str, Measure]
    totals: Totals
    left: Totals
    buttonhole: Buttonhole | None
    edging: Edging | None
    yarn: Yarn | None
    checkpoints: tuple[Checkpoint, ...]
    cautions: tuple[Caution, ...]


def make_round(order: PieceOrder, begun: RoundBegun | None = None) -> RoundMade:
    """The whole piece, what is ``begun`` gone on with; raises Refused with what is in the way.

    Source: common-practice.
    """
    template, gauge = order.template, order.gauge
    assert isinstance(template, RoundTemplate)
    found = Findings()
    with found.collecting(("template",)):
        check_round_template(template)
    settled = settle(template, order.measurements, order.derived, order.units, found)
    sound = not found.refusals
    _check_options(order, template, found)
    turn = Turning(0, False)
    with found.collecting():
        turn = turning(gauge.kind, order.turning_chain, order.turning_chain_counts)
    with found.collecting():
        check_yarn(order)
    sized = None
    if sound and gauge.kind.makes_rows:
        with found.collecting():
            sized = build_rounds(
                template, settled.sized_by, turn, _scale(order, template), begun or _begun(order)
            )
    hole = None
    if sized and order.button:
        with found.collecting():
            hole = _loop(order, sized)
    if sized and order.max_change is not None:
        _check_changes(sized, order.max_change, found)
    found.settle()
    assert sized is not None  # or its refusal has been raised
    return _made(order, template, settled, turn, sized, hole)


def _begun(order: PieceOrder) -> RoundBegun | None:
    """What is worked, by the plan that the rounds so far were planned by."""
    at = order.continue_after
    if not at:
        return None
    before = replace(
        counted_alone(order), gauge=at.planned or order.gauge, continue_after=None, max_change=None
    )
    plan = at.plan if isinstance(at.plan, RoundSized) else make_round(before).sized
    return begin_rounds(at, plan, order.gauge)


def _scale(order: PieceOrder, template: RoundTemplate) -> Scale:
    return Scale(
        stitch_width=order.gauge.stitch_width,
        row_height=order.gauge.row_height,
        stitch_multiple=order.stitch_multiple or template.stitch_multiple or ANY,
        row_multiple=order.row_multiple or template.row_multiple or ANY,
        rounding=order.rounding,
        units=order.units,
        every_row=order.detail == "rows",
    )


def _check_options(order: PieceOrder, template: RoundTemplate, found: Findings) -> None:
    """What is asked of rows makes no sense of rounds."""
    if not order.gauge.kind.makes_rows:
        detail = "a chain makes a cord and no rounds"
        found.add("stitch-makes-no-rows", ("gauge", "stitch"), detail, [*MAKE_ROWS])
    if order.right_side_only:
        found.refusals.append(NO_WRONG_SIDE)
    check_closure(order.closure, order.button, found)
    if order.closure and order.closure.kind == "slit":
        detail = "a piece in the round takes a loop on its last round, and no slit"
        found.add("slit-in-rounds", ("closure", "kind"), detail, ["loop"])
    closes = bool(template.sections) and template.sections[-1].closes
    for name in ("edging", "button"):
        if closes and getattr(order, name):
            detail = "the piece closes, and has no edge to work this on"
            found.add("no-open-edge", (name,), detail, {"leave_out": name})


def _check_changes(sized: RoundSized, most: int, found: Findings) -> None:
    for i, section in enumerate(sized.sections):
        runs = section.schedule if section.stitches_at_start else section.schedule[1:]
        change = max((abs(run.change) for run in runs), default=0)
        if change > most:
            found.add(
                "round-changes-too-much",
                ("max_change",),
                f"the {section.name} changes by {change} stitches in a round, more than {most}",
                {"minimum": change, "section": i},
            )


def _loop(order: PieceOrder, sized: RoundSized) -> Buttonhole:
    assert order.button is not None
    check_button(order.button)
    closure, last = order.closure or USUAL, sized.sections[-1].stitches_at_end
    span = closure.span or USUAL_SPAN
    if last - span < 2:
        raise Refused(
            Refusal(
                "loop-does-not-fit",
                ("closure", "span"),
                f"a loop over {span} stitches does not fit on a round of {last}",
                {"maximum": last - 2},
            )
        )
    made = loop(order.button, order.gauge.stitch_width, closure, span)
    return Buttonhole(made, None, loop_place=LoopPlace("last-row", 2, 1 + span, False))


def _made(
    order: PieceOrder,
    template: RoundTemplate,
    settled: Settled,
    turn: Turning,
    sized: RoundSized,
    hole: Buttonhole | None,
) -> RoundMade:
    gauge, sections = order.gauge, sized.sections
    totals = Totals(sum(c.rounds for c in sized.counts), sum(c.total for c in sized.counts))
    begun = sized.begun
    left = totals
    if begun:
        left = Totals(totals.rows - begun.rows, totals.stitches - begun.total)
    edged = _edge(order, sized)
    work = work_of(order, sized, turn, edged, hole)
    yarn = yarn_of(order, work)
    return RoundMade(
        turn=turn,
        sized=sized,
        work=work,
        measurements=_measures(template, settled, sized),
        totals=totals,
        left=left,
        buttonhole=hole,
        edging=edged,
        yarn=yarn,
        checkpoints=tuple(
            round_checkpoint(s, gauge, sized)
            for s in sections
            if not begun or s.first_row + s.rows - 1 > begun.rows
        ),
        cautions=_cautions(order, sized, hole, edged, yarn),
    )


def _measures(template: RoundTemplate, settled: Settled, sized: RoundSized) -> dict[str, Measure]:
    return settled.told(
        {
            plan.name: measure(settled.wanted.get(plan.name), sized.came_to[plan.name])
            for plan in template.measurements
            if plan.name in sized.came_to
        }
    )


def _edge(order: PieceOrder, sized: RoundSized) -> Edging | None:
    """Rounds of edging on the last round: no sides, no corners."""
    if order.edging is None:
        return None
    stitches = sized.sections[-1].stitches_at_end
    side = Side("last round", "last-row", stitches, stitches * order.gauge.stitch_width)
    made = edging((side,), order.gauge, order.edging)
    grown = Extent(Fraction(0), order.edging.rounds * made.round_height)
    finished = Extent(sized.extent.width, sized.extent.height + grown.height)
    return replace(made, growth=grown, finished=finished)


def round_checkpoint(
    section: RoundSection, gauge: Gauge, sized: RoundSized, row: int | None = None
) -> Checkpoint:
    """After the section, or another of its rounds: across a disc (an oval its long way).

    Else laid flat, which is half the circumference. Source: geometry.
    """
    width, height, start = gauge.hook_stitch_width, gauge.hook_row_height, sized.start
    last = section.first_row + section.rows - 1
    at = last if row is None else row
    stitches = section.stitches_at_end
    if at < last:
        counts = list(sized.counts[sized.sections.index(section)])
        stitches = counts[at - section.first_row]
    around = stitches * width
    flat = section.flatness is not None
    along_fabric = at * height
    if sized.begun:
        along_fabric = sized.begun.tape + (at - sized.begun.rows) * height
    across = Fraction(float(around) / pi) if flat else around / 2
    if flat and start.side_stitches:
        across = 2 * along_fabric + start.side_stitches * width
    up = None if flat else along_fabric
    where = f"{'end of' if at == last else 'in'} the {section.name}"
    return Checkpoint(
        after_row=at,
        where=f"{where}, {'across it' if flat else 'laid flat'}",
        stitches=stitches,
        width=across,
        width_tolerance=tolerance(across, width),
        height=up,
        height_tolerance=None if up is None else tolerance(up, height),
    )


def _cautions(
    order: PieceOrder,
    sized: RoundSized,
    hole: Buttonhole | None,
    edged: Edging | None,
    yarn: Yarn | None,
) -> tuple[Caution, ...]:
    extent = sized.extent
    raised: list[Caution] = []
    if is_cord(order, extent.height, extent.width):
        raised.append(cord(("template",)))
    if extent.height <= SMALL_PART_DEPTH and (
        caution := small_part(extent.width, ("measurements",))
    ):
        raised.append(replace(caution, text=caution.text.replace("A button", "A piece")))
    for i, section in enumerate(sized.sections):
        if section.flatness and section.flatness.lies != "flat":
            raised.append(_not_flat(section, i))
    if sized.blunted:
        raised.append(
            Caution(
                "tip-blunted",
                "The shape comes to fewer than three stitches at its tip, which cannot be worked"
                " round: it is a little blunter there than asked.",
                ("template",),
                "common-practice",
            )
        )
    return gathered(order, raised, hole, edged, yarn)


def _not_flat(section: RoundSection, index: int) -> Caution:
    flat = section.flatness
    assert flat is not None
    cups = flat.lies == "cups"
    return Caution(
        "disc-cups" if cups else "disc-ruffles",
        f"The {section.name} gains {flat.increases_a_round:g} stitches a round where"
        f" {flat.flat_increases:.2f} lie flat at this gauge: it will"
        f" {'cup' if cups else 'ruffle'} ({abs(flat.off_percent):.0f} % off; past"
        f" {flat.shows_past_percent:g} % it shows).",
        ("template", "sections", index, "increases"),
        "geometry",
    )
