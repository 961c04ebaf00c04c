"""A tape on the work: what it should read where the maker is, and what it tells of the gauge."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Literal

from .beginning import section_at
from .checkpoints import FEWEST, tolerance
from .continuing import ContinueOrder
from .errors import Findings
from .exact import Fraction
from .gauge import READ_TO, Gauge
from .roundpieces import round_checkpoint
from .rounds import FEWEST_IN_RING, RoundSized
from .schedules import clip, runs_of
from .sizing import Sized
from .units import Length
from .weighing import Known, Weighed, by_swatch, by_work, weighed

FIELD = "at"
"""Where in a request the maker says where she is."""

Verdict = Literal["on-course", "over", "under"]


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured, in millimetres, and how well a tape reads."""

    width: Fraction | None = None
    height: Fraction | None = None
    stitches: int | None = None
    reading: Fraction = READ_TO


@dataclass(frozen=True, slots=True)
class TapeCheck:
    expected: Annotated[Length, "what the tape should read"]
    read: Annotated[Length, "what it reads"]
    difference: Annotated[Length, "read less expected"]
    tolerance: Annotated[Length, "how far off is still on course, either way"]
    reading: Annotated[Length, "how well the tape reads, either way"]
    verdict: Annotated[Verdict, "on course, or over or under by more than the tolerance"]


@dataclass(frozen=True, slots=True)
class StitchCheck:
    expected: Annotated[int, "stitches that the plan has there"]
    counted: Annotated[int, "stitches on the hook"]
    difference: Annotated[int, "counted less expected"]
    verdict: Annotated[Verdict, "a count is on course only where it is the plan's"]


@dataclass(frozen=True, slots=True)
class Course:
    """Whether the work is on course, as the piece's checkpoints have it."""

    on_course: Annotated[bool, "whether everything that was measured is on course"]
    after_row: Annotated[int, "row of the piece after which it was measured"]
    where: Annotated[str, "what the tape is laid on"]
    stitches: Annotated[StitchCheck, "stitches on that row"]
    width: Annotated[TapeCheck | None, "across the work, where that was measured"]
    height: Annotated[TapeCheck | None, "up the work, where that was measured"]
    near_enough_source: Annotated[str, "where what is near enough comes from"]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where the maker is: the plan's stitches there, and what a tape should read of them."""

    where: str
    stitches: int
    across: Fraction
    up: Fraction | None
    disc: bool = False
    fewest: int = 1


def spot(plan: Sized | RoundSized, at: ContinueOrder, gauge: Gauge) -> Spot:
    """The place of a row in its plan.

    Raises Refused for a section that is not there or a row that is not in it.
    Source: common-practice.
    """
    index = section_at(at, plan.sections, FIELD)
    section = plan.sections[index]
    last = section.first_row + section.rows - 1
    found = Findings()
    if at.row > last:
        found.add(
            "row-past-section",
            (FIELD, "row"),
            f"the {section.name} is rows {section.first_row} to {last}; row {at.row} is past it",
            {"minimum": section.first_row, "maximum": last},
        )
    found.settle()
    if isinstance(plan, RoundSized):
        check = round_checkpoint(plan.sections[index], gauge, plan, at.row)
        assert check.width is not None
        disc = check.height is None
        return Spot(check.where, check.stitches, check.width, check.height, disc, FEWEST_IN_RING)
    stitches = clip(runs_of(plan.sections), 1, at.row)[-1].stitches_after
    where = f"{'end of' if at.row == last else 'in'} the {section.name}"
    across = stitches * gauge.hook_stitch_width
    return Spot(where, stitches, across, at.row * gauge.hook_row_height)


def check_measured(measured: Measured, here: Spot) -> None:
    """Whether a tape can tell what it is said to.

    Raises Refused where nothing was measured, a tape lies across too few stitches, a height was
    read of a flat round, too few stitches were counted for a round, or the tape reads no better
    than what it read. Source: common-practice.
    """
    found = Findings()
    if measured.width is None and measured.height is None and measured.stitches is None:
        names = ["width", "height", "stitches"]
        found.add("nothing-measured", ("measured",), "at least one is needed", {"one_of": names})
    if measured.width is not None and (measured.stitches or here.stitches) < FEWEST:
        detail = f"a tape across fewer than {FEWEST} stitches tells nothing: measure the height"
        found.add("too-few-stitches", ("measured", "width"), detail, ["height", "stitches"])
    if measured.stitches is not None and measured.stitches < here.fewest:
        detail = f"a round of fewer than {here.fewest} stitches cannot be worked round"
        found.add("too-few-stitches", ("measured", "stitches"), detail, {"minimum": here.fewest})
    if measured.height is not None and here.up is None:
        detail = "a flat round has no height: it is measured across"
        found.add("flat-round", ("measured", "height"), detail, ["width", "stitches"])
    for name in ("width", "height"):
        size = getattr(measured, name)
        if size is not None and size <= measured.reading:
            detail = "the tape reads no better than what it has read"
            found.add("reading-too-coarse", ("reading",), detail, {"less_than_mm": float(size)})
    found.settle()


def course(here: Spot, at: ContinueOrder, measured: Measured, gauge: Gauge) -> Course:
    """On course, where what is off is near enough or no more than the tape can tell.

    Source: common-practice.
    """
    counted = here.stitches if measured.stitches is None else measured.stitches
    more = counted - here.stitches
    verdict: Verdict = "over" if more > 0 else "under" if more < 0 else "on-course"
    stitches = StitchCheck(here.stitches, counted, more, verdict)
    width = height = None
    if measured.width is not None:
        unit = gauge.hook_stitch_width
        width = _tape(measured.width, here.across, unit, measured.reading)
    if measured.height is not None and here.up is not None:
        height = _tape(measured.height, here.up, gauge.hook_row_height, measured.reading)
    verdicts = [stitches.verdict, *(tape.verdict for tape in (width, height) if tape)]
    return Course(
        all(seen == "on-course" for seen in verdicts),
        at.row,
        here.where,
        stitches,
        width,
        height,
        "checkpoints: a twenty-fourth and at least a stitch or row (common practice, no published"
        " source), and never less than the tape can tell",
    )


def _tape(read: Fraction, expected: Fraction, unit: Fraction, reading: Fraction) -> TapeCheck:
    off, near = read - expected, max(tolerance(expected, unit), reading)
    verdict: Verdict = "on-course" if abs(off) <= near else "over" if off > 0 else "under"
    return TapeCheck(expected, read, off, near, reading, verdict)


def sizes(
    here: Spot, at: ContinueOrder, measured: Measured, gauge: Gauge
) -> tuple[Weighed, Weighed]:
    """Width of a stitch and height of a row on the hook: by the swatch, the work, and both.

    A disc read across tells of both, since its rounds lie along the tape, and it lies flat.
    ``here`` is told at this gauge. Source: taylor-errors.
    """
    wide: Known | None = None
    high: Known | None = None
    if measured.width is not None:
        counted = measured.stitches or here.stitches
        share = measured.width / here.across
        stitch = share * gauge.hook_stitch_width * here.stitches / counted
        wide = by_work(stitch, measured.width, measured.reading)
        if here.disc:
            row = share * gauge.hook_row_height
            high = by_work(row, measured.width, measured.reading)
    if measured.height is not None:
        high = by_work(measured.height / at.row, measured.height, measured.reading)
    return (
        weighed(by_swatch(gauge.stitches, gauge.width), wide),
        weighed(by_swatch(gauge.rows, gauge.height), high),
    )


def gauge_had(gauge: Gauge, stitch: Fraction, row: Fraction) -> Gauge:
    """The swatch's gauge with another width of a stitch and height of a row on the hook.

    Blocking is taken to change them as it changed the swatch. Source: common-practice.

    >>> from .gauge import square
    >>> gauge_had(square(16, 20), Fraction(6), Fraction(5)).width
    Fraction(96, 1)
    """
    width, height = stitch * gauge.stitches, row * gauge.rows
    blocked = gauge.blocked_width, gauge.blocked_height
    return replace(
        gauge,
        width=width,
        height=height,
        blocked_width=blocked[0] and blocked[0] * width / gauge.width,
        blocked_height=blocked[1] and blocked[1] * height / gauge.height,
    )
