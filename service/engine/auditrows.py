"""One written row worked as it is written: what it takes of the row below, and what it makes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from .auditorder import MOST_WORK, Count, Kind, ToLast, Work, WorkOrder, in_size
from .errors import Path, Refusal, Refused
from .rounding import MOST_STITCHES
from .working import AUDITED_STEP, spend

Spaces = tuple[tuple[int, int], ...]
"""Chain spaces of a row, as its next row meets them: stitches before each, and what it counts as"""


@dataclass(frozen=True, slots=True)
class Below:
    """A row to work into. ``spaces`` is None where they are not known."""

    count: int
    spaces: Spaces | None = ()


@dataclass(frozen=True, slots=True)
class Step:
    """A piece of work with its numbers in one size: ``n`` of it, or all but ``n`` ("to-last")."""

    kind: Kind
    n: int
    upto: Literal["count", "to-end", "to-last"]
    counts_as: int
    group: tuple[Step, ...]
    path: Path


@dataclass(slots=True)
class Budget:
    """Work left before an audit is refused."""

    left: int = MOST_WORK

    def spend(self, work: int, path: Path) -> None:
        spend(AUDITED_STEP * work, path)
        self.left -= work
        if self.left < 0:
            raise Refused(
                Refusal(
                    "too-much-to-audit",
                    path,
                    f"past {MOST_WORK} stitch groups: audit fewer sizes or pieces at once",
                    {"stitch_groups": MOST_WORK},
                )
            )


def steps(work: Work | Mapping[str, Work], size: str, path: Path) -> tuple[Step, ...]:
    """The work of a row in one size, each part with its field. Source: common-practice.

    >>> steps((WorkOrder("plain", {"pocket": 5}),), "pocket", ("work",))[0].n
    5
    """
    if isinstance(work, Mapping):
        work, path = work[size], (*path, "by_size", size)
    return tuple(_step(op, size, (*path, i)) for i, op in enumerate(work))


def _step(op: WorkOrder, size: str, path: Path) -> Step:
    at: Path = (*path, "times" if op.kind == "repeat" else op.kind)
    group = tuple(_step(inner, size, (*path, "repeat", i)) for i, inner in enumerate(op.group))
    counts = in_size(op.counts_as, size)
    if op.extent == "to-end":
        return Step(op.kind, 0, "to-end", counts, group, at)
    if isinstance(op.extent, ToLast):
        at = (*at, "to_last")
        upto: Literal["count", "to-last"] = "to-last"
        told: Count = op.extent.stitches
    else:
        assert not isinstance(op.extent, str)
        upto, told = "count", op.extent
    if isinstance(told, Mapping):
        at = (*at, "by_size", size)
    return Step(op.kind, in_size(told, size), upto, counts, group, at)


@dataclass(slots=True)
class Worked:
    """A row as it comes out, and the first thing that did not fit while it was worked."""

    below: Below
    taken: int = 0
    made: int = 0
    spaces: list[tuple[int, int]] = field(default_factory=list)
    amiss: Literal["repeat-does-not-fit", "no-space-here", "past-the-last"] | None = None
    step: Step | None = None
    fitted: tuple[int, int] = (0, 0)
    """Of a repeat that does not fit: what one takes, and the stitches there were for it."""
    sizes: dict[int, int] = field(default_factory=dict)
    """What the spaces below count as, by the stitches before them."""
    left: int = 0
    """Where the last stitches were passed already: those that were left."""

    @property
    def over(self) -> int:
        """Stitches of the row below left over; below zero, those it has not."""
        return self.below.count - self.taken

    @property
    def fits(self) -> bool:
        return not self.over and self.amiss is None

    def next(self, flat: bool) -> Below:
        """The row as the next one meets it: from its other end, where the work is turned."""
        met = [(self.made - at - n if flat else at, n) for at, n in self.spaces]
        return Below(self.made, tuple(met))


def work(row: tuple[Step, ...], below: Below, budget: Budget) -> Worked:
    """Work one row over the row below. Raises Refused past the work, or the stitches, there may be.

    Source: common-practice.

    >>> (dec,) = steps((WorkOrder("together", 2),), "", ())
    >>> (plain,) = steps((WorkOrder("plain", ToLast(2)),), "", ())
    >>> made = work((dec, plain, dec), Below(38), Budget())
    >>> made.taken, made.made
    (38, 36)
    """
    made = Worked(below, sizes=dict(below.spaces or ()))
    for step in row:
        _do(step, made, budget)
        if made.made > MOST_STITCHES:
            detail = f"more than {MOST_STITCHES} stitches in a row"
            raise Refused(
                Refusal("too-many-stitches", step.path, detail, {"stitches": MOST_STITCHES})
            )
    return made


def _do(step: Step, made: Worked, budget: Budget) -> None:
    budget.spend(1, step.path)
    match step.kind:
        case "plain":
            n = step.n
            if step.upto != "count":
                n = _room(step, made)
            made.taken, made.made = made.taken + n, made.made + n
        case "increase":
            made.taken, made.made = made.taken + 1, made.made + step.n
        case "together":
            made.taken, made.made = made.taken + step.n, made.made + 1
        case "skip":
            made.taken += step.n
        case "leave":
            made.taken += max(0, made.over) if step.upto == "to-end" else step.n
        case "same_stitch" | "into_ring":
            made.made += step.n
        case "turning_chain":
            made.taken, made.made = made.taken + step.n, made.made + step.n
        case "chain":
            if step.counts_as:
                made.spaces.append((made.made, step.counts_as))
            made.made += step.counts_as
        case "into_space":
            _into_space(step, made)
        case "repeat":
            _repeat(step, made, budget)


def _into_space(step: Step, made: Worked) -> None:
    spaces = made.below.spaces
    size = made.sizes.get(made.taken)
    if spaces is not None and size is None and made.amiss is None:
        made.amiss, made.step = "no-space-here", step
    made.taken, made.made = made.taken + (size or step.n), made.made + step.n


def _room(step: Step, made: Worked) -> int:
    """Stitches from here to the end, or to the last ones that are told."""
    room = made.over - step.n
    if room < 0 and made.amiss is None:
        made.amiss, made.step, made.left = "past-the-last", step, max(0, made.over)
    return max(0, room)


def _repeat(step: Step, made: Worked, budget: Budget) -> None:
    times = step.n
    alike = all(s.kind not in ("into_space", "chain") for s in step.group)
    if step.upto != "count" or alike:
        # Once, to see what one takes and makes.
        taken, stitches, spaces = made.taken, made.made, len(made.spaces)
        amiss, at = made.amiss, made.step
        room = _room(step, made) if step.upto != "count" else 0
        for inner in step.group:
            _do(inner, made, budget)
        takes, makes = made.taken - taken, made.made - stitches
        if step.upto != "count":
            times, rest = going_over(takes, room)
            if rest and amiss is None:
                amiss, at, made.fitted = "repeat-does-not-fit", step, (takes, room)
            elif amiss is None and made.amiss == "past-the-last":
                amiss, at = made.amiss, made.step
        made.taken, made.made = taken, stitches
        made.amiss, made.step = amiss, at
        del made.spaces[spaces:]
        if alike:
            made.taken, made.made = taken + times * takes, stitches + times * makes
            return
    for _ in range(times):
        for inner in step.group:
            _do(inner, made, budget)
        if made.made > MOST_STITCHES:
            break  # which is refused


def going_over(takes: int, stitches: int) -> tuple[int, int]:
    """How often a repeat goes over so many stitches, and how many are left over. What takes none
    is not worked. Source: common-practice.

    >>> going_over(3, 20), going_over(0, 20)
    ((6, 2), (0, 20))
    """
    return divmod(stitches, takes) if takes else (0, stitches)


def one(group: tuple[Step, ...]) -> tuple[int, int]:
    """What one repeat takes and makes, where each space counts as what goes into it.

    Source: common-practice.

    >>> one(steps((WorkOrder("plain", 5), WorkOrder("together", 2)), "", ()))
    (7, 6)
    """
    made = Worked(Below(0, None))
    for step in group:
        _do(step, made, Budget())
    return made.taken, made.made
