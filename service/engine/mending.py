"""What mends work that is off course: corrections, each with what the piece then comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from .beginning import begin, left_of
from .checkplans import Plan, came_to, plan_of, unchanged
from .checkpoints import tolerance
from .continuing import ContinueOrder
from .corrections import Correction, GoOn, Kind, RowsChange
from .counting import asked_for, count
from .errors import Refused
from .exact import Fraction
from .hooks import HookStep, hook_step, hook_text
from .measures import Measure, measure
from .roundbegun import begin_rounds, rounds_left
from .rounds import RoundSection, RoundSized
from .rowtext import plural
from .schedules import clip, expanded, runs_of
from .sections import Section
from .shaping import stitches_worked
from .sizing import PieceOrder, Sized, scale_of
from .templates import Template


@dataclass(frozen=True, slots=True)
class Mending:
    """What is mended: the order at the gauge the work has, the plan, and where the maker is.

    rounded: how far the plan itself is from what was asked, which its counts can do no better than.
    """

    order: PieceOrder
    at: ContinueOrder
    plan: Plan
    asked: Mapping[str, Fraction]
    planned_stitches: int
    stitch_wanted: Fraction
    stitch_off: bool
    hook: Fraction | None = None
    rounded: Mapping[str, Fraction] = field(default_factory=dict)

    @property
    def counted(self) -> int:
        return self.planned_stitches if self.at.stitches is None else self.at.stitches

    def near(self, finished: Mapping[str, Fraction]) -> tuple[bool, float]:
        """Whether all measurements are near enough, and the furthest off, in per cent."""
        unit = max(self.order.gauge.stitch_width, self.order.gauge.row_height)
        off = {n: abs(finished[n] - size) for n, size in self.asked.items() if n in finished}
        near = all(
            off[n] <= max(tolerance(self.asked[n], unit), self.rounded.get(n, Fraction(0)))
            for n in off
        )
        return near, max((float(100 * off[n] / self.asked[n]) for n in off), default=0.0)

    def told(self, finished: Mapping[str, Fraction]) -> dict[str, Measure]:
        return {name: measure(self.asked.get(name), size) for name, size in finished.items()}


def corrections(it: Mending) -> tuple[Correction, ...]:
    """The corrections there are, best first.

    First those after which every measurement is near enough, then a change of hook (what it does
    is not reckoned), then the others, and starting again last, which is offered only where none
    reaches; within each, fewer stitches undone, then the nearer piece. Source: common-practice.
    """
    try:
        mended = _go_on(it, it.at)
    except Refused as refused:
        made = [*_chains(it), *_taken_back(it, refused), *_hook(it)]
    else:
        rows = _rows_alone(it, mended)
        made = [*_chains(it), *rows, *_replanned(it, mended, bool(rows)), *_hook(it)]
    if not any(c.reaches for c in made):
        made += _restart(it)
    made.sort(key=_rank)
    return tuple(replace(c, rank=i) for i, c in enumerate(made, 1))


def _rank(made: Correction) -> tuple[int, int, float]:
    group = 3 if made.kind == "restart" else 1 if made.reaches is None else 0 if made.reaches else 2
    return group, made.stitches_undone, made.worst_percent or 0.0


def _mended(
    it: Mending, kind: Kind, text: str, finished: Mapping[str, Fraction] | None = None,
    at: ContinueOrder | None = None, undone: int = 0, chains: int | None = None,
    rows: tuple[RowsChange, ...] = (), sections: tuple[Section | RoundSection, ...] = (),
    hook: HookStep | None = None,
) -> Correction:  # fmt: skip
    reaches, worst = it.near(finished) if finished is not None else (None, None)
    go_on = None
    if at:
        stitches = it.counted if at.stitches is None else at.stitches
        go_on = GoOn(at.section, at.row, stitches, at.height)
    return Correction(
        0, kind, text, reaches, worst, undone, chains, rows or None, sections or None, hook,
        None if finished is None else it.told(finished), go_on,
    )  # fmt: skip


def _go_on(it: Mending, at: ContinueOrder) -> Plan:
    return plan_of(replace(it.order, continue_after=replace(at, plan=it.plan)))


def _left(it: Mending, plan: Plan) -> tuple[Section | RoundSection, ...]:
    w, h = it.order.gauge.stitch_width, it.order.gauge.row_height
    if isinstance(plan, RoundSized):
        return rounds_left(plan, w, h)
    assert plan.begun is not None
    return left_of(plan.sections, plan.begun, w, h)


def _changes(it: Mending, plan: Plan) -> tuple[RowsChange, ...]:
    planned = {s.name: s.rows for s in it.plan.sections}
    return tuple(
        RowsChange(s.name, planned[s.name], s.rows, s.rows - planned[s.name])
        for s in plan.sections
        if s.rows != planned[s.name]
    )


def _in_words(changes: tuple[RowsChange, ...], one: str) -> str:
    return "; ".join(
        f"{c.section}: {plural(c.rows, one)} for {c.planned}, {abs(c.change)}"
        f" {'more' if c.change > 0 else 'fewer'}"
        for c in changes
    )


def _chains(it: Mending) -> list[Correction]:
    """After the first row, the foundation may still have another number of chains."""
    template, plan = it.order.template, it.plan
    if it.at.row != 1 or not isinstance(template, Template) or not isinstance(plan, Sized):
        return []
    width = asked_for(template.foundation.width, it.asked, ("foundation", "width"))
    if not width:
        return []
    scale = scale_of(it.order)
    try:
        wanted = count(width, scale.stitch_width, scale.stitch_multiple, scale, "stitches")
        # A first row that is shaped has as many more or fewer than the chain as before.
        stitches = wanted + it.planned_stitches - plan.foundation.stitches
        more = stitches - it.counted
        if not more or stitches < 1:
            return []
        at = replace(it.at, stitches=stitches)
        mended = _go_on(it, at)
    except Refused:
        return []
    kind: Kind = "chains-in" if more > 0 else "chains-out"
    text = _take_out(-more, stitches) if more < 0 else _put_in(more, stitches)
    changes = _changes(it, mended)
    if changes:
        text += f" Then go on with {_in_words(changes, 'row')}."
    undone = max(0, -more)
    return [
        _mended(it, kind, text, came_to(it.order, mended), at, undone, abs(more), changes,
                _left(it, mended))
    ]  # fmt: skip


def _take_out(chains: int, stitches: int) -> str:
    return (
        f"Take back the last {plural(chains, 'stitch', 'stitches')} of the first row, which leaves"
        f" {stitches}, and put the hook back. Undo the slip knot at the beginning of the chain and"
        f" pick out the {plural(chains, 'chain')} left over: a chain runs back from its beginning"
        " only, as far as the first stitch worked into it, and is then drawn tight. Nothing is"
        " begun again (common practice, no published source)."
    )


def _put_in(chains: int, stitches: int) -> str:
    return (
        f"At the end of the first row, which is the beginning of the chain, work"
        f" {plural(chains, 'more stitch', 'more stitches')} that each make their own chain at"
        f" their base, to {stitches}; or join new yarn there, chain {chains} and work into those"
        " (common practice, no published source)."
    )


def _rows_alone(it: Mending, mended: Plan) -> list[Correction]:
    """Rows added to or left out of even sections, and nothing else changed."""
    shapes = {s.name: s.shape for s in it.order.template.sections}
    changes = tuple(c for c in _changes(it, mended) if shapes[c.section] == "even")
    odd = sum(c.change for c in changes) % 2
    if not changes or (odd and it.order.right_side_only):
        return []  # shaping rows would no longer be right-side rows
    finished = unchanged(it.order, it.at, it.plan, {c.section: c.rows for c in changes})
    kind: Kind = "rows-added" if sum(c.change for c in changes) > 0 else "rows-left-out"
    one = "round" if isinstance(it.plan, RoundSized) else "row"
    text = f"Go on as planned, with another number of {one}s: {_in_words(changes, one)}."
    return [_mended(it, kind, text, finished, rows=changes)]


def _replanned(it: Mending, mended: Plan, told_by_rows: bool) -> list[Correction]:
    """The rest planned anew at the gauge the work has, from the row and stitches there are."""
    sections, shapes = _left(it, mended), {s.name: s.shape for s in it.order.template.sections}
    before = {s.name: _rows_of(s) for s in _left(it, _begun(it))}
    anew = [s.name for s in sections if _rows_of(s) != before.get(s.name)]
    if all(shapes[name] == "even" for name in anew) and (told_by_rows or not _changes(it, mended)):
        return []
    one = "round" if isinstance(mended, RoundSized) else "row"
    told = "; ".join(f"{s.name}, {plural(s.rows, one)}: {s.in_words}" for s in sections)
    text = f"What is worked stays. From here on: {told}."
    return [
        _mended(it, "reshape", text, came_to(it.order, mended), it.at,
                rows=_changes(it, mended), sections=sections)
    ]  # fmt: skip


def _begun(it: Mending) -> Plan:
    """The plan itself, worked so far."""
    at = replace(it.at, stitches=None, height=None)
    if isinstance(it.plan, RoundSized):
        return replace(it.plan, begun=begin_rounds(at, it.plan, it.order.gauge))
    first = it.plan.foundation.stitches
    worked = begin(at, first, it.plan.sections, (), it.order.gauge)
    return replace(it.plan, begun=worked.begun)


def _rows_of(section: Section | RoundSection) -> object:
    if isinstance(section, RoundSection):
        return section.rows, section.schedule
    return expanded(runs_of((section,)))


def _taken_back(it: Mending, refused: Refused) -> list[Correction]:
    """More rows are worked than the section wants: some of them come off."""
    refusal = next((r for r in refused.refusals if r.code == "already-longer"), None)
    if refusal is None or not isinstance(refusal.permitted, Mapping):
        return []
    row = refusal.permitted["row"]
    assert isinstance(row, int)  # who refuses so names it
    height = it.at.height and it.at.height * row / it.at.row
    at = replace(it.at, row=row, height=height, stitches=None)
    more = it.counted - it.planned_stitches
    at = replace(at, stitches=max(1, _stitches_at(it.plan, row) + more))
    try:
        mended = _go_on(it, at)
    except Refused:
        return []
    undone = _worked(it.plan, it.at.row) - _worked(it.plan, row)
    text = f"Take the work back to the end of row {row} and go on with the next section from there."
    return [
        _mended(it, "take-back", text, came_to(it.order, mended), at, undone,
                rows=_changes(it, mended), sections=_left(it, mended))
    ]  # fmt: skip


def _stitches_at(plan: Plan, row: int) -> int:
    if isinstance(plan, RoundSized):
        return [n for counts in plan.counts for n in counts][row - 1]
    return clip(runs_of(plan.sections), 1, row)[-1].stitches_after


def _worked(plan: Plan, row: int) -> int:
    if isinstance(plan, RoundSized):
        return sum([n for counts in plan.counts for n in counts][:row])
    runs = clip(runs_of(plan.sections), 1, row)
    return stitches_worked(runs[0].stitches_before, row, runs)


def _hook(it: Mending) -> list[Correction]:
    if not it.stitch_off:
        return []
    step = hook_step(it.stitch_wanted, it.order.gauge.stitch_width, it.hook)
    kind: Kind = "hook-up" if step.stitch_percent > 0 else "hook-down"
    return [_mended(it, kind, hook_text(step, it.order.units), hook=step)]


def _restart(it: Mending) -> list[Correction]:
    try:
        anew = plan_of(replace(it.order, continue_after=None))
    except Refused:
        return []
    begin = anew.start.stitches if isinstance(anew, RoundSized) else anew.foundation.stitches
    counted = f" with {begin} stitches" if begin else ""
    text = f"Start again{counted}, planned at the combined gauge."
    undone = _worked(it.plan, it.at.row)
    return [_mended(it, "restart", text, came_to(it.order, anew), undone=undone,
                    rows=_changes(it, anew), sections=anew.sections)]  # fmt: skip
