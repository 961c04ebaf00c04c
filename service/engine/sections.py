"""Sections: each stretch of rows sized in turn, from the foundation up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

from .continuing import Begun, resume
from .counting import Asked, Scale, asked_for, count, in_height, in_rows, not_in_multiple
from .curves import HALF, Curve, Edge, height_of
from .edgeplans import NOWHERE, Resolving
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .outlining import OutlineOff, fit
from .rounding import MOST_ROWS, Multiple, whole
from .shaping import (
    Rules,
    Schedule,
    check_pace,
    least_rows,
    plan,
    plan_every,
    point,
    row_counts,
)
from .shapingtext import in_words
from .templates import SectionPlan
from .units import Length, written
from .working import MOST_OUTLINE_ROWS, OUTLINE_ROW, spend


@dataclass(frozen=True, slots=True)
class SectionSize:
    width_at_start: Annotated[Length, "width of the row the section starts from"]
    width_at_end: Annotated[Length, "width of its last row"]
    height: Annotated[Length, "height of the section"]


@dataclass(frozen=True, slots=True)
class Section:
    name: Annotated[str, "name from the template"]
    first_row: Annotated[int, "row of the piece that the section starts with"]
    rows: Annotated[int, "rows in the section"]
    stitches_at_start: Annotated[int, "stitches of the row the section is worked into"]
    stitches_at_end: Annotated[int, "stitches of its last row"]
    schedule: Annotated[Schedule, "shaping, in working order; empty when worked even"]
    in_words: Annotated[str, "the shaping in the trade's form"]
    finished: Annotated[SectionSize, "finished size of the section"]
    row_counts: Annotated[tuple[int, ...] | None, 'stitches of each row, with "detail": "rows"']
    outline_off: Annotated[
        OutlineOff | None, "how far the rows are from the outline, where the section follows one"
    ] = None


def build(
    plans: tuple[SectionPlan, ...],
    stitches: int | None,
    measurements: Mapping[str, Fraction],
    scale: Scale,
    begun: Begun | None = None,
) -> tuple[Section, ...]:
    """Size the sections one upon another; ``measurements`` in millimetres.

    Where the stitches to start from are not known (their own measurement was refused), the
    sections are only looked through for what else must be refused. What is ``begun`` is kept.
    Raises Refused with what every section refuses. Source: common-practice.

    >>> plan = SectionPlan("point", "taper", to_point=True)
    >>> [s.rows for s in build((plan,), 38, {}, Scale(Fraction(25, 4), Fraction(100, 19)))]
    [18]
    """
    found = Findings()
    made: list[Section] = []
    first, faces_known = 1, True
    for i, section in enumerate(plans):
        sizing = Sizing(section, i, first, measurements, scale)
        if begun and i <= len(begun.sections):
            try:
                made.append(_kept(begun, i, sizing))
            except Refused as refused:
                found.keep(refused)
            if found.refusals:
                break
            first += made[-1].rows
            stitches = made[-1].stitches_at_end
            continue
        end = rows = None
        found_before = len(found.refusals)
        if section.every:
            try:
                check_pace(section.every, sizing.rules)
            except Refused as refused:
                found.keep(refused, sizing.path())
        paced = len(found.refusals) == found_before
        try:
            end = sizing.target(stitches)
        except Refused as refused:
            found.keep(refused)
        try:
            rows = sizing.rows(stitches, end)
        except Refused as refused:
            found.keep(refused)
        extent = rows is not None or not sizing.plan_gives_rows
        # Which rows face right is not known past a section of unknown rows.
        ready = extent and paced and (faces_known or not sizing.rules.right_side_only)
        if section.shape == "outline":
            # Work is by row, so that too many rows are refused unfitted.
            ready, end = ready and first - 1 + (rows or 0) <= MOST_ROWS, None
        if stitches is not None and ready and (end is not None or section.shape == "outline"):
            try:
                made.append(sizing.section(stitches, end, rows))
                rows, end = made[-1].rows, made[-1].stitches_at_end
            except Refused as refused:
                found.keep(refused)
        faces_known = faces_known and rows is not None
        first += rows or 0
        stitches = end
    if first - 1 > MOST_ROWS:
        found.add(
            "too-many-rows",
            ("template", "sections"),
            f"the sections come to {first - 1} rows; at most {MOST_ROWS} are reckoned",
            {"rows": MOST_ROWS},
        )
    found.settle()
    return tuple(made)


def _kept(begun: Begun, index: int, sizing: Sizing) -> Section:
    if index < len(begun.sections):
        return begun.sections[index]
    ahead = begun.current.rows * (begun.row_height - sizing.scale.row_height)
    made = resume(replace(sizing, ahead=ahead), begun)
    if not sizing.scale.every_row:
        return made
    counts = row_counts(made.stitches_at_start, made.rows, made.schedule)
    return replace(made, row_counts=tuple(counts))


@dataclass(frozen=True, slots=True)
class Sizing:
    """One section being sized: its plan, its place in the template, and what it is counted by.

    ahead: millimetres that rows worked already are higher than so many rows are at this gauge.
    """

    plan: SectionPlan
    index: int
    first: int
    measurements: Mapping[str, Fraction]
    scale: Scale
    ahead: Fraction = Fraction(0)

    def path(self, *names: str) -> Path:
        return ("template", "sections", self.index, *names)

    @property
    def multiple(self) -> Multiple:
        return self.plan.row_multiple or self.scale.row_multiple

    @property
    def height(self) -> Asked | None:
        if self.plan.shape == "outline":
            return self.outline_height
        return asked_for(self.plan.height, self.measurements, self.path("height")[1:])

    @property
    def plan_gives_rows(self) -> bool:
        told = self.plan.shape == "outline" or self.plan.rows is not None
        return told or self.height is not None

    @property
    def edges(self) -> tuple[Edge, Edge]:
        """Both edges of an outline in millimetres; one that is not told goes straight up."""
        told = {
            name: Resolving(self.path(name)[1:], self.measurements, self.scale.units).edge(plan)
            for name, plan in self.plan.edge_plans().items()
        }
        left, right = (told.get("sides") or told.get(name) for name in ("left", "right"))
        tall = height_of(left or right or ())
        straight = (Curve(Fraction(0), tall),)
        return left or straight, right or straight

    @property
    def outline_height(self) -> Asked:
        """The height both edges come to; told of its measurement where one alone gives it."""
        left, right = map(height_of, self.edges)
        if abs(left - right) > self.scale.row_height * HALF:
            told = [written(edge, self.scale.units, 3) for edge in (left, right)]
            raise Refused(
                Refusal(
                    "edges-differ-in-height",
                    self.path(),
                    f"the left edge comes to {told[0]} and the right edge to {told[1]}: they must"
                    " be alike to half a row",
                    {"left_mm": float(left), "right_mm": float(right)},
                )
            )
        plans = [*self.plan.edge_plans().values()]
        ups = [segment.up for segment in plans[0]]
        term = ups[0] if len(plans) == len(ups) == 1 else None
        if term and term.measurement:
            return Asked(left, ("measurements", term.measurement), term)
        return Asked((left + right) / 2, self.path(), NOWHERE)

    @property
    def rules(self) -> Rules:
        own = self.plan.right_side_only
        return Rules(
            self.plan.edges,
            self.plan.max_change or self.scale.max_change,
            self.scale.right_side_only if own is None else own,
            starts_on_right_side=self.first % 2 == 1,
        )

    def target(self, start: int | None) -> int | None:
        """Stitches on the last row; None where that hangs on a start that is not known."""
        plan, multiple = self.plan, self.scale.stitch_multiple
        if plan.to_point:
            return None if start is None else point(start, plan.edges)
        if plan.to_stitches is not None:
            if not multiple.allows(plan.to_stitches):
                path = self.path("to_stitches")
                raise not_in_multiple(path, plan.to_stitches, "stitches", multiple)
            return plan.to_stitches
        width = asked_for(plan.to_width, self.measurements, self.path("to_width")[1:])
        if width:
            return count(width, self.scale.stitch_width, multiple, self.scale, "stitches")
        return start

    def rows(self, start: int | None, end: int | None) -> int | None:
        """Rows of the height or the count that was given; None where the shaping says how many."""
        multiple, height, rows = self.multiple, self.height, self.plan.rows
        if height:
            needed = 1
            if start is not None and end is not None and self.plan.shape == "taper":
                needed = max(1, least_rows(start, end, self.rules))
            left = replace(height, size=height.size - self.ahead) if self.ahead else height
            made = count(left, self.scale.row_height, multiple, self.scale, "rows", needed)
            if self.plan.shape == "outline" and made > MOST_OUTLINE_ROWS:
                raise self._too_long(made, height)
            return made
        if rows is None or multiple.allows(rows):
            return rows
        if self.plan.height:
            # Rows stand in for a height not asked for: the fewest that the multiple allows.
            return max(multiple.smallest, whole(Fraction(rows), multiple, "at-least"))
        raise not_in_multiple(self.path("rows"), rows, "rows", multiple)

    def section(self, start: int, end: int | None, rows: int | None) -> Section:
        schedule: Schedule = ()
        off = None
        if self.plan.shape == "outline":
            assert rows is not None  # its edges say how many
            spend(OUTLINE_ROW * rows, self.path())
            fitted = fit(*self.edges, start, rows, self.rules, self.scale, self.path())
            schedule, end, off = fitted.schedule, fitted.end, fitted.off
        assert end is not None  # else it has been refused
        if self.plan.shape == "taper":
            rows, schedule = self.shape(start, end, rows)
        assert rows is not None  # check_template saw to it
        scale = self.scale
        return Section(
            name=self.plan.name,
            first_row=self.first,
            rows=rows,
            stitches_at_start=start,
            stitches_at_end=end,
            schedule=schedule,
            in_words=in_words(start, schedule),
            finished=SectionSize(
                start * scale.stitch_width, end * scale.stitch_width, rows * scale.row_height
            ),
            row_counts=tuple(row_counts(start, rows, schedule)) if scale.every_row else None,
            outline_off=off,
        )

    def _too_long(self, rows: int, height: Asked) -> Refused:
        most = MOST_OUTLINE_ROWS * self.scale.row_height
        detail = (
            f"{self.plan.name} comes to {rows} rows; an outline is followed row by row, for at most"
            f" {MOST_OUTLINE_ROWS} ({written(most, self.scale.units)})"
        )
        longest = height.limit(most + self.ahead, self.scale.units, up=False)
        permitted = {"maximum": longest, "rows": MOST_OUTLINE_ROWS}
        return Refused(Refusal("outline-too-long", height.path, detail, permitted))

    def shape(self, start: int, end: int, rows: int | None) -> tuple[int, Schedule]:
        """Rows and schedule of a taper: over the rows there are, else as its pace makes them."""
        every, rules, given = self.plan.every, self.rules, rows
        try:
            if every is not None:
                paced, schedule = plan_every(start, end, every, rows, rules)
                fitting = whole(Fraction(paced), self.multiple, "at-least")
                if rows is None and paced and fitting != paced:
                    paced, schedule = plan_every(start, end, every, fitting, rules)
                rows = paced
            else:
                if rows is None:
                    rows = plan_every(start, end, 1, rules=rules)[0]
                    rows = whole(Fraction(rows), self.multiple, "at-least") if rows else 0
                schedule = plan(start, end, rows, rules)
        except Refused as refused:
            raise Refused(*map(self.placed, refused.refusals)) from None
        if rows:
            return rows, schedule
        assert given is None  # a count of rows is at least one
        term = self.plan.height
        path = ("measurements", term.measurement) if term and term.measurement else self.path()
        raise Refused(
            Refusal(
                "section-without-rows",
                path,
                f"from {start} to {end} stitches there is nothing to shape, and neither height nor"
                f" rows are given for {self.plan.name}",
                {"one_of": ["height", "rows"]},
            )
        )

    def placed(self, refusal: Refusal) -> Refusal:
        if self.height:
            return in_height(refusal, self.height, self.scale, self.multiple)
        return in_rows(replace(refusal, path=self.path("rows")), self.multiple)
