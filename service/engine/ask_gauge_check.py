"""One question: the work on the hook measures this; is it on course, and if not what changes?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import hypot
from typing import Annotated

from .cautions import Caution
from .checkplans import Plan, asked_of, came_to, plain, plan_of, unchanged
from .continuing import ContinueOrder
from .corrections import Correction
from .errors import Findings, Refusal, Refused
from .exact import Fraction
from .gauge import Gauge, swatch_cautions
from .mending import Mending, corrections
from .sizing import PieceOrder
from .sources import SOURCES
from .tapes import Course, Measured, Spot, check_measured, course, gauge_had, sizes, spot
from .units import Length, System
from .weighing import Weighed, disagree
from .worked import any_size


@dataclass(frozen=True, slots=True)
class Companion:
    """A piece measured already that this one is to match, with an ease. Millimetres."""

    measured_width: Fraction
    ease: Fraction = Fraction(0)
    measurement: str = "width"


@dataclass(frozen=True, slots=True)
class GaugeCheckOrder:
    """A plan, where the maker is in it, and what was measured there."""

    piece: PieceOrder
    section: str
    row: int
    measured: Measured
    companion: Companion | None = None
    hook: Fraction | None = None
    units: System = "metric"


@dataclass(frozen=True, slots=True)
class BlockedSize:
    width: Annotated[Length | None, "width of the same stitches, blocked"]
    height: Annotated[Length | None, "height of the same rows, blocked"]


@dataclass(frozen=True, slots=True)
class GaugeToUse:
    """In the form that a request takes: send it as the gauge of the rest, or of the next piece."""

    stitch: Annotated[str, "stitch of the fabric"]
    stitches: Annotated[float, "so many stitches"]
    width: Annotated[Length, "over this width"]
    rows: Annotated[float, "so many rows"]
    height: Annotated[Length, "over this height"]
    blocked: Annotated[BlockedSize | None, "blocked, as the swatch was"]


@dataclass(frozen=True, slots=True)
class GaugeHad:
    combined: Annotated[GaugeToUse, "the gauge that the work has, on the hook"]
    stitch_width: Annotated[Weighed, "width of a stitch, before blocking"]
    row_height: Annotated[Weighed, "height of a row, before blocking"]
    method: Annotated[str, "how the two were made into one"]
    source: Annotated[str, "where that is published"]


@dataclass(frozen=True, slots=True)
class Expected:
    """A measurement if nothing changes, edging not counted."""

    asked: Annotated[Length | None, "as asked, or as the companion wants it"]
    finished: Annotated[Length, "what it comes to at the combined gauge"]
    difference: Annotated[Length | None, "finished less asked"]
    interval: Annotated[
        tuple[Length, Length],
        "least and most it is likely to come to: what stitch, row and tape may each be off moves it"
        " by so much, squares added",
    ]


@dataclass(frozen=True, slots=True)
class GaugeCheck:
    """On course or not, the gauge the work has, what comes of it, and what mends it."""

    course: Annotated[Course, "whether the work is on course"]
    gauge: Annotated[GaugeHad, "the gauge that the work really has"]
    finished_if_unchanged: Annotated[
        Mapping[str, Expected], "each measurement of the piece if it is worked on as planned"
    ]
    corrections: Annotated[
        tuple[Correction, ...], "what would mend it, best first; none where all is near enough"
    ]
    ranking: Annotated[str, "how the corrections are ranked"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]


RANKING = (
    "first what leaves every measurement near enough (a twenty-fourth of it, and at least a stitch"
    " or row), then a change of hook, whose effect is not reckoned, then what leaves some"
    " measurement further off, and starting again, where nothing else reaches, last; within each,"
    " fewer stitches undone, then the smaller worst error"
)
METHOD = (
    "swatch and work, each weighed by one over its uncertainty squared: the swatch counted to a"
    " quarter stitch and read to 2 mm, the work as well as the tape reads; where they differ by"
    " more than both may be off, the swatch is held to know that much less of the work"
)


NOTHING_MENDS = Caution(
    "nothing-mends",
    "At the gauge that the work has, the piece can neither go on to what was asked nor be begun"
    " again to it. Ask /v1/pieces for it at the combined gauge: it says what stands in the way.",
    ("measured",),
    "common-practice",
)


def gauge_check(order: GaugeCheckOrder) -> GaugeCheck:
    """Is the work on course, and if not what changes from here?

    Raises Refused where the piece cannot be made as planned, the row is not in its section, a tape
    tells nothing, or the companion's measurement is not one of the piece. Source: taylor-errors.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan, MeasurementPlan, SectionPlan, Template, Term
    >>> plan = Template("tab", "Tab", (MeasurementPlan("width", "across"),),
    ...     FoundationPlan(Term("width")), (SectionPlan("body", "even", rows=40),))
    >>> piece = PieceOrder(square(16, 19), plan, {"width": Fraction(240)})
    >>> made = gauge_check(GaugeCheckOrder(piece, "body", 1, Measured(width=Fraction(220))))
    >>> made.course.width.verdict, [(c.kind, c.chains) for c in made.corrections][0]
    ('under', ('chains-in', 3))
    """
    piece = plain(order.piece)
    plan = plan_of(piece)
    at = ContinueOrder(
        order.section, order.row, order.measured.stitches, order.measured.height, piece.gauge,
        plan=plan,
    )  # fmt: skip
    here = spot(plan, at, piece.gauge)
    found = Findings()
    with found.collecting():
        check_measured(order.measured, here)
    target = piece
    if order.companion:
        with found.collecting():
            target = _matching(order.companion, piece, plan)
    found.settle()

    stitch, row = sizes(here, at, order.measured, piece.gauge)
    had = gauge_had(piece.gauge, stitch.combined, row.combined)
    wanted = _wanted(here, order.companion, piece, plan)
    seen = course(wanted, at, order.measured, piece.gauge)
    really = replace(target, gauge=had)
    asked = asked_of(target)
    finished = unchanged(really, at, plan)
    mending = Mending(
        really, at, plan, asked, here.stitches,
        piece.gauge.stitch_width * wanted.across / here.across,
        bool(seen.width and seen.width.verdict != "on-course"), order.hook,
        _rounded(piece, plan, order.companion),
    )  # fmt: skip
    off = not seen.on_course or not mending.near(finished)[0]
    mended = corrections(mending) if off else ()
    cautions = _cautions(piece.gauge, stitch, row)
    if off and not mended:
        cautions = (*cautions, NOTHING_MENDS)
    return GaugeCheck(
        seen,
        GaugeHad(_to_use(had), stitch, row, METHOD, SOURCES["taylor-errors"]),
        _expected(asked, finished, _moved(target, piece.gauge, (stitch, row), at, plan, order)),
        mended,
        RANKING,
        cautions,
    )


def _rounded(piece: PieceOrder, plan: Plan, companion: Companion | None) -> dict[str, Fraction]:
    """How far the plan's whole counts are from what was asked of it; not so of the companion."""
    asked = asked_of(piece)
    off = {n: abs(size - asked[n]) for n, size in came_to(piece, plan).items() if n in asked}
    if companion:
        off.pop(companion.measurement, None)
    return off


def _matching(companion: Companion, piece: PieceOrder, plan: Plan) -> PieceOrder:
    """The piece asked for as its companion wants it; both are taped on the hook, unblocked."""
    name, names = companion.measurement, [*came_to(piece, plan)]
    if name not in names:
        raise Refused(
            Refusal(
                "unknown-measurement",
                ("companion", "measurement"),
                f"the {piece.template.name} template has no measurement {name}",
                names,
            )
        )
    size = companion.measured_width + companion.ease
    if size <= 0:
        raise Refused(
            Refusal(
                "nothing-left",
                ("companion", "ease"),
                "the ease takes off all of the companion's width",
                {"more_than_mm": float(-companion.measured_width)},
            )
        )
    gauge = piece.gauge
    finished = size * gauge.stitch_width / gauge.hook_stitch_width
    derived = {n: how for n, how in piece.derived.items() if n != name}
    wanted = {**piece.measurements, name: finished}
    # The template's ranges are for what is asked of it, and not for its companion's size.
    return replace(piece, template=any_size(piece.template), measurements=wanted, derived=derived)


def _wanted(here: Spot, companion: Companion | None, piece: PieceOrder, plan: Plan) -> Spot:
    """What the tape should read: as planned, or as much more as the companion wants."""
    if not companion:
        return here
    planned = came_to(piece, plan)[companion.measurement]
    on_hook = planned * piece.gauge.hook_stitch_width / piece.gauge.stitch_width
    share = (companion.measured_width + companion.ease) / on_hook
    return replace(here, across=here.across * share)


def _to_use(gauge: Gauge) -> GaugeToUse:
    blocked = None
    if gauge.blocked_width or gauge.blocked_height:
        blocked = BlockedSize(gauge.blocked_width, gauge.blocked_height)
    return GaugeToUse(
        gauge.stitch, float(gauge.stitches), gauge.width, float(gauge.rows), gauge.height, blocked
    )


def _moved(
    target: PieceOrder, swatch: Gauge, known: tuple[Weighed, Weighed], at: ContinueOrder,
    plan: Plan, order: GaugeCheckOrder,
) -> list[dict[str, Fraction]]:  # fmt: skip
    """What the measurements come to with the stitch, the row and the tape each off as they may be.

    Source: taylor-errors.
    """
    (stitch, row), reading = known, order.measured.reading
    wide = gauge_had(swatch, stitch.interval[1], row.combined)
    high = gauge_had(swatch, stitch.combined, row.interval[1])
    moved = [unchanged(replace(target, gauge=gauge), at, plan) for gauge in (wide, high)]
    if at.height is not None:
        had = gauge_had(swatch, stitch.combined, row.combined)
        taped = replace(at, height=at.height + reading)
        moved.append(unchanged(replace(target, gauge=had), taped, plan))
    return moved


def _expected(
    asked: Mapping[str, Fraction],
    finished: Mapping[str, Fraction],
    moved: list[dict[str, Fraction]],
) -> dict[str, Expected]:
    """The measurements, each off by what stitch, row and tape move it by, squares added."""
    told = {}
    for name, size in finished.items():
        off = Fraction(hypot(*(float(m[name] - size) for m in moved)))
        wanted = asked.get(name)
        difference = None if wanted is None else size - wanted
        told[name] = Expected(wanted, size, difference, (size - off, size + off))
    return told


def _cautions(gauge: Gauge, stitch: Weighed, row: Weighed) -> tuple[Caution, ...]:
    raised = [*swatch_cautions(gauge)]
    for name, seen in (("width", stitch), ("height", row)):
        if disagree(seen):
            raised.append(
                Caution(
                    "swatch-and-work-differ",
                    f"By its {name} the work differs from the swatch by more than both may be off:"
                    " they are not one gauge. Measure again, laid flat and not stretched. The"
                    " combined gauge leans on the work the more, the more they differ.",
                    ("measured", name),
                    "taylor-errors",
                )
            )
    return tuple(raised)
