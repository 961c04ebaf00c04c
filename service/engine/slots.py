"""Openings across a row that a template asks for: handle and thumb slots, buttonhole rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from .continuing import Begun
from .counting import Asked, Scale, asked_for
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .measures import Measure, measure
from .openingplans import OpeningPlan
from .rounding import whole
from .schedules import run_at
from .shaping import Run, Schedule
from .units import written


@dataclass(frozen=True, slots=True)
class Opening:
    name: Annotated[str, "name from the template"]
    row: Annotated[int, "row of the piece that skips and chains; the next works over the chains"]
    first_stitch: Annotated[int, "first stitch skipped, counted from the start of the row"]
    last_stitch: Annotated[int, "last stitch skipped"]
    skipped: Annotated[int, "stitches skipped, and worked back over the chains"]
    chain: Annotated[int, "chains over the opening"]
    height: Annotated[Measure, "from the foundation to the opening"]
    width: Annotated[Measure, "along the opening"]


@dataclass(frozen=True, slots=True)
class _Taken:
    """Stitches of a row below, from the left edge, that an opening keeps to itself."""

    name: str
    first: int
    end: int


def place(
    plans: tuple[OpeningPlan, ...],
    runs: Schedule,
    measurements: Mapping[str, Fraction],
    scale: Scale,
    passed: tuple[Opening, ...] = (),
    begun: Begun | None = None,
) -> tuple[Opening, ...]:
    """Rows and stitches of the openings, nearest to where they are asked for; ``runs`` the piece's.

    Each keeps a plain stitch at either side and between it and the next, besides what the shaping
    of its row and of the next takes. Those ``passed`` stay as they are. Raises Refused
    with every opening that does not fit.
    Source: common-practice.

    >>> from .terms import Term
    >>> plan = OpeningPlan("slot", Term(None, plus=Fraction(50)), stitches=6)
    >>> here = place((plan,), (Run(20, 1, 0, 0, 0, 20),), {}, Scale(Fraction(6), Fraction(5)))
    >>> [(slot.row, slot.first_stitch, slot.last_stitch) for slot in here]
    [(11, 8, 13)]
    """
    found, made = Findings(), list[Opening]()
    taken: dict[int, list[_Taken]] = {}
    done = {o.name: o for o in passed}
    for i, plan in enumerate(plans):
        if plan.name in done:
            made.append(done[plan.name])
            continue
        placing = _Placing(plan, ("openings", i), runs, measurements, scale, begun)
        with found.collecting():
            made.append(placing.opening(taken))
    found.settle()
    return tuple(made)


@dataclass(frozen=True, slots=True)
class _Placing:
    plan: OpeningPlan
    path: Path
    runs: Schedule
    measurements: Mapping[str, Fraction]
    scale: Scale
    begun: Begun | None = None

    @property
    def rows_worked(self) -> int:
        return self.begun.rows if self.begun else 0

    @property
    def ahead(self) -> Fraction:
        """Millimetres that the rows worked are higher than so many rows are at this gauge."""
        return (
            self.begun.height - self.begun.rows * self.scale.row_height
            if self.begun
            else Fraction(0)
        )

    def opening(self, taken: dict[int, list[_Taken]]) -> Opening:
        row, skipped, scale = self.row(), self.skipped(), self.scale
        before, run = run_at(self.runs, row)
        _, back = run_at(self.runs, row + 1)
        spare = [1 + sum(max(0, -n) for n in losses) for losses in _sides(run, back)]
        left = self.lead(before, skipped, row)
        if left < spare[0] or before - left - skipped < spare[1]:
            raise self.misfit(row, before, skipped, spare)
        gained = run.left if run else 0
        for at, first in ((row, left), (row + 1, left + gained)):
            here = _Taken(self.plan.name, first, first + skipped)
            for other in taken.setdefault(at, []):
                if here.first <= other.end and other.first <= here.end:
                    raise self.overlap(other, row)
            taken[at].append(here)
        first = (before - left - skipped if row % 2 else left) + 1
        height = self.asked("height")
        width = self.asked("width")
        return Opening(
            name=self.plan.name,
            row=row,
            first_stitch=first,
            last_stitch=first + skipped - 1,
            skipped=skipped,
            chain=skipped,
            height=measure(
                height.size if height else None, (row - 1) * scale.row_height + self.ahead
            ),
            width=measure(width.size if width else None, skipped * scale.stitch_width),
        )

    def asked(self, name: str) -> Asked | None:
        return asked_for(getattr(self.plan, name), self.measurements, (*self.path, name))

    def row(self) -> int:
        """The row nearest to the height: neither the first nor the last, which nothing works over.

        The first is worked into chains.
        """
        asked = self.asked("height")
        assert asked is not None  # check_template and check_measurements saw to it
        rows, unit = sum(run.rows for run in self.runs), self.scale.row_height
        row = whole((asked.size - self.ahead) / unit) + 1
        lowest = max(2, self.rows_worked + 1)
        if lowest <= row < rows:
            return row
        if rows < 3:
            detail, permitted = "an opening needs a piece of at least 3 rows", {"rows": 3}
            raise Refused(
                Refusal("opening-outside", ("template", *self.path, "height"), detail, permitted)
            )
        least, most = ((n - 1) * unit + self.ahead for n in (lowest, rows - 1))
        raise Refused(
            Refusal(
                "opening-outside",
                asked.path,
                f"{self.plan.name} would be in row {row} of {rows}; with rows below and above it,"
                f" it stands from {written(least, self.scale.units, 4, up=True)} to"
                f" {written(most, self.scale.units, 4)} up",
                {
                    "minimum": asked.limit(least, self.scale.units, up=True),
                    "maximum": asked.limit(most, self.scale.units, up=False),
                },
            )
        )

    def skipped(self) -> int:
        if self.plan.stitches is not None:
            return self.plan.stitches
        asked = self.asked("width")
        assert asked is not None  # check_template saw to it
        unit = self.scale.stitch_width
        if (stitches := whole(asked.size / unit)) >= 1:
            return stitches
        raise Refused(
            Refusal(
                "measurement-too-small",
                asked.path,
                f"{self.plan.name} is narrower than half a stitch; it needs at least"
                f" {written(unit / 2, self.scale.units, 4, up=True)}",
                {"minimum": asked.limit(unit / 2, self.scale.units, up=True), "stitches": 1},
            )
        )

    def lead(self, before: int, skipped: int, row: int) -> int:
        """Stitches of the row below to the left of the opening; the middle where none is asked."""
        asked = self.asked("from_left")
        if asked:
            return whole(asked.size / self.scale.stitch_width)
        from_start = (before - skipped) // 2
        return before - skipped - from_start if row % 2 else from_start

    def misfit(self, row: int, before: int, skipped: int, spare: list[int]) -> Refused:
        unit, units = self.scale.stitch_width, self.scale.units
        permitted: dict[str, object] = {"row": row, "stitches_in_row": before}
        if self.plan.from_left is None:
            room = max(0, before - 2 * max(spare))
            where = ""
        else:
            room = max(0, before - sum(spare))
            last = max(before - spare[1] - skipped, 0)
            permitted["from_left_mm"] = [float(n * unit) for n in (spare[0], last)]
            where = (
                f", begun {written(spare[0] * unit, units, 4, up=True)} to"
                f" {written(last * unit, units, 4)} from the left edge"
            )
        permitted["most_stitches"] = room
        fits = f"; at most {room} ({written(room * unit, units)}) do" if room else "; none do"
        asked = self.asked("width")
        path = asked.path if asked else ("template", *self.path, "stitches")
        if self.plan.from_left is not None and skipped <= room:
            at = self.asked("from_left")
            path = at.path if at else path
        return Refused(
            Refusal(
                "opening-does-not-fit",
                path,
                f"{self.plan.name} takes {skipped} of the {before} stitches of row {row}, which"
                f" needs {spare[0]} beside it at the left and {spare[1]} at the right{fits}{where}",
                permitted,
            )
        )

    def overlap(self, other: _Taken, row: int) -> Refused:
        unit = self.scale.stitch_width
        return Refused(
            Refusal(
                "openings-overlap",
                ("template", *self.path),
                f"{self.plan.name} and {other.name} need a stitch between them in row {row};"
                f" {other.name} takes {written(other.first * unit, self.scale.units)} to"
                f" {written(other.end * unit, self.scale.units)} from the left edge",
                {
                    "ends_at_most_mm": float((other.first - 1) * unit),
                    "begins_at_least_mm": float((other.end + 1) * unit),
                },
            )
        )


def _sides(run: Run | None, back: Run | None) -> list[list[int]]:
    """What the two rows gain at the left edge, and at the right."""
    shaped = [r for r in (run, back) if r]
    return [[r.left for r in shaped], [r.right for r in shaped]]
