"""Going on from a row: what is worked stays as it is, and the rest of its section is planned."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

from .errors import Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .outlining import OutlineOff, fit
from .rounding import whole
from .schedules import clip, expanded, runs_of
from .shaping import Schedule, check_pace, plan, plan_every
from .shapingtext import in_words
from .working import OUTLINE_ROW, spend

if TYPE_CHECKING:
    from .rounds import RoundSized
    from .sections import Section, Sizing
    from .sizing import Sized


@dataclass(frozen=True, slots=True)
class ContinueOrder:
    """Where the maker is: the last row worked, and what is known of the work. Millimetres.

    row: of the piece, as its instructions and checkpoints number them. stitches: on the hook;
    None is as planned. height: from the foundation to the hook, as a tape reads it. planned: the
    gauge that the rows so far were planned by, where it is another; plan: their counts, where they
    are known. section_done: whether the section ends with this row.
    """

    section: str
    row: int
    stitches: int | None = None
    height: Fraction | None = None
    planned: Gauge | None = None
    section_done: bool = False
    plan: Sized | RoundSized | None = None


@dataclass(frozen=True, slots=True)
class Begun:
    """What is worked: whole sections, the rows so far of the next, and their finished height."""

    sections: tuple[Section, ...]
    current: Section
    height: Fraction
    tape: Fraction
    done: bool = False

    @property
    def rows(self) -> int:
        return self.current.first_row + self.current.rows - 1

    @property
    def stitches(self) -> int:
        return self.current.stitches_at_end

    @property
    def row_height(self) -> Fraction:
        return self.height / self.rows


@dataclass(frozen=True, slots=True)
class Continued:
    """What is worked already, and the whole of it with what is left."""

    after_row: Annotated[int, "last row worked; the instructions go on from the next"]
    stitches: Annotated[int, "stitches on the hook"]
    rows_left: Annotated[int, "rows still to work"]
    stitches_left: Annotated[int, "stitches still to work, edging and loop not counted"]
    rows_in_all: Annotated[int, "rows of the whole piece"]


def resume(sizing: Sizing, begun: Begun) -> Section:
    """The section in hand, its worked rows kept and the rest planned from the stitches there are.

    Where the rows worked are those of the section's plan at this gauge, the rest is that plan's
    own; else what shaping is left is spread anew over the rows left. Raises Refused where the
    section is past its rows already, or its shaping no longer fits. Source: common-practice.
    """
    hand = begun.current
    if sizing.plan.every:
        check_pace(sizing.plan.every, sizing.rules)
    if begun.done:
        return hand
    fresh = _fresh(sizing, begun)
    if fresh and on_plan(fresh, hand):
        rest = clip(runs_of((fresh,)), hand.rows + 1, fresh.rows)
        return _joined(sizing, begun, fresh.rows, rest, fresh.stitches_at_end, fresh.outline_off)
    return _joined(sizing, begun, *_rest(sizing, begun))


def on_plan(planned: Section, hand: Section) -> bool:
    """Whether the rows worked are the first rows of the plan. Source: common-practice.

    >>> from .counting import Scale
    >>> from .sections import build
    >>> from .templates import SectionPlan
    >>> whole, half = (build((SectionPlan("body", "even", rows=n),), 8, {},
    ...     Scale(Fraction(4), Fraction(3)))[0] for n in (8, 4))
    >>> on_plan(whole, half), on_plan(half, whole)
    (True, False)
    """
    worked = clip(runs_of((planned,)), 1, hand.rows)
    return expanded(worked) == expanded(runs_of((hand,)))


def _fresh(sizing: Sizing, begun: Begun) -> Section | None:
    start = begun.current.stitches_at_start
    try:
        end = sizing.target(start)
        return sizing.section(start, end, sizing.rows(start, end))
    except Refused:
        return None


def _rest(sizing: Sizing, begun: Begun) -> tuple[int, Schedule, int, OutlineOff | None]:
    hand, template = begun.current, sizing.plan
    worked, stitches = hand.rows, hand.stitches_at_end
    if template.shape == "outline":
        rows = _not_passed(sizing, begun, sizing.rows(None, None))
        lost = tuple(_lost(hand, left) for left in (True, False))
        rules = replace(sizing, first=sizing.first + worked).rules
        if rows == worked:
            return rows, (), stitches, None
        spend(OUTLINE_ROW * rows, sizing.path())
        fitted = fit(
            *sizing.edges, stitches, rows, rules, sizing.scale, sizing.path(), worked, lost
        )
        return rows, fitted.schedule, fitted.end, fitted.off
    end = sizing.target(stitches)
    assert end is not None  # the stitches are known
    given = sizing.rows(stitches, end)
    if given is not None:
        given = _not_passed(sizing, begun, given)
    if template.shape == "even":
        assert given is not None  # check_template saw to it
        return given, (), end, None
    try:
        return *_taper(sizing, begun, end, given), end, None
    except Refused as refused:
        raise Refused(*map(sizing.placed, refused.refusals)) from None


def _taper(sizing: Sizing, begun: Begun, end: int, given: int | None) -> tuple[int, Schedule]:
    """Rows of the whole section, and the schedule of those left."""
    hand, every = begun.current, sizing.plan.every
    worked, stitches = hand.rows, hand.stitches_at_end
    # A pace goes on from the last shaping row, whichever that was.
    since = min(_since_shaped(hand), every - 1) if every else 0
    while True:
        rules = replace(sizing, first=sizing.first + worked - since).rules
        if not since or not every or rules.row_of(_apart(every, rules.right_side_only)) > since:
            break
        since -= 1
    rows = None if given is None else given - worked + since
    if rows is None:
        paced = plan_every(stitches, end, every or 1, rules=rules)[0]
        total = worked - since + paced if paced else worked
        rows = max(worked, whole(Fraction(total), sizing.multiple, "at-least")) - worked + since
    if every:
        schedule = plan_every(stitches, end, every, rows, rules)[1]
    else:
        schedule = plan(stitches, end, rows, rules)
    if since:
        schedule = clip(schedule, since + 1, rows)
    return worked + rows - since, schedule


def _apart(every: int, right_side_only: bool) -> int:
    return -(-every // 2) if right_side_only else every


def _since_shaped(hand: Section) -> int:
    """Rows worked since the last shaping row of the section, or since it began."""
    rows = 0
    for run in reversed(runs_of((hand,))):
        if run.times:
            return rows + run.rows - run.every * run.times
        rows += run.rows
    return rows


def _lost(hand: Section, left: bool) -> int:
    return -sum(run.times * (run.left if left else run.right) for run in hand.schedule)


def _not_passed(sizing: Sizing, begun: Begun, rows: int | None) -> int:
    """Rows of the whole section, unless more are worked already."""
    assert rows is not None
    hand = begun.current
    if rows >= hand.rows:
        return rows
    raise Refused(
        Refusal(
            "already-longer",
            ("continue_after", "row"),
            f"{hand.rows} rows of the {hand.name} are worked and {rows} come to what is asked at"
            f" this gauge: take back to row {hand.first_row + rows - 1}, or end the section here",
            {"row": hand.first_row + rows - 1, "or": '"section_done": true'},
        )
    )


def _joined(
    sizing: Sizing, begun: Begun, rows: int, rest: Schedule, end: int, off: OutlineOff | None
) -> Section:
    """Worked rows and the rest as one section."""
    hand, scale = begun.current, sizing.scale
    left = rows - hand.rows
    schedule = (*runs_of((hand,)), *rest) if rest or hand.schedule else ()
    height = hand.rows * begun.row_height + left * scale.row_height
    return replace(
        hand,
        rows=rows,
        stitches_at_end=end,
        schedule=schedule,
        in_words=in_words(hand.stitches_at_start, schedule),
        finished=replace(hand.finished, width_at_end=end * scale.stitch_width, height=height),
        outline_off=off,
    )
