"""Sections: each stretch of rows sized in turn, from the foundation up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Annotated

from .errors import Findings, Path, Refusal, Refused
from .rounding import ANY, MOST_ROWS, MOST_STITCHES, Multiple, Rounding, whole
from .shaping import Rules, Schedule, in_words, plan, plan_every, point, row_counts
from .templates import SectionPlan, Term
from .units import MILLIMETRES, Length, System, written


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


@dataclass(frozen=True, slots=True)
class Scale:
    """What sections are counted by: size of a stitch and a row, and how counts are rounded."""

    stitch_width: Fraction
    row_height: Fraction
    stitch_multiple: Multiple = ANY
    row_multiple: Multiple = ANY
    rounding: Rounding = "nearest"
    right_side_only: bool = False
    max_change: int | None = None
    units: System = "metric"
    every_row: bool = False


def blame(term: Term, document_path: Path) -> Path:
    """The field to point at: the measurement asked for, or the length fixed in the template.

    Source: common-practice.

    >>> blame(Term("width"), ("foundation", "width"))
    ('measurements', 'width')
    """
    return ("measurements", term.measurement) if term.measurement else ("template", *document_path)


def count(
    size: Fraction, unit: Fraction, multiple: Multiple, scale: Scale, path: Path, what: str
) -> int:
    """Stitches or rows of ``unit`` millimetres in ``size`` millimetres, as the multiple allows.

    Raises Refused where none, or too many, fit; what would work is named. Source: common-practice.

    >>> scale = Scale(Fraction(25, 4), Fraction(5))
    >>> count(Fraction(240), Fraction(25, 4), ANY, scale, (), "stitches")
    38
    """
    most = MOST_STITCHES if what == "stitches" else MOST_ROWS
    found = whole(size / unit, multiple, scale.rounding)
    if found < multiple.smallest:
        least = multiple.smallest
        below = {
            "nearest": Fraction(multiple.multiple, 2),
            "at-most": Fraction(0),
            "at-least": Fraction(1),
        }
        needs = max(least - below[scale.rounding], Fraction(1, 2)) * unit
        raise Refused(
            Refusal(
                "measurement-too-small",
                path,
                f"{written(size, scale.units)} is {float(size / unit):.2f} {what} at this gauge;"
                f" {_of(least, multiple, what)} needs at least {written(needs, scale.units, 4)}",
                {"minimum": _limit(needs, scale.units, up=True), what: least},
            )
        )
    if found > most:
        raise Refused(
            Refusal(
                "measurement-too-large",
                path,
                f"{written(size, scale.units)} is {found} {what} at this gauge; at most {most} are"
                " reckoned",
                {"maximum": _limit(most * unit, scale.units, up=False), what: most},
            )
        )
    return found


def _of(least: int, multiple: Multiple, what: str) -> str:
    if multiple == ANY:
        return f"one {what.removesuffix('es' if what == 'stitches' else 's')}"
    return f"{least} {what}, the fewest of {multiple},"


def _limit(size: Fraction, units: System, up: bool) -> dict[str, object]:
    """A limit to ask for, rounded to a thousandth on the side that works."""
    unit = "cm" if units == "metric" else "in"
    thousandths = size / MILLIMETRES[unit] * 1000
    return {"value": (ceil(thousandths) if up else floor(thousandths)) / 1000, "unit": unit}


def build(
    plans: tuple[SectionPlan, ...],
    stitches: int,
    measurements: Mapping[str, Fraction],
    scale: Scale,
) -> tuple[Section, ...]:
    """Size the sections one upon another; ``measurements`` in millimetres.

    Raises Refused with what every section refuses. Source: common-practice.

    >>> plan = SectionPlan("point", "taper", to_point=True)
    >>> [s.rows for s in build((plan,), 38, {}, Scale(Fraction(25, 4), Fraction(100, 19)))]
    [18]
    """
    found = Findings()
    made: list[Section] = []
    first = 1
    for i, section in enumerate(plans):
        with found.collecting():
            end = _target(section, stitches, measurements, scale, i)
            with found.collecting():
                made.append(_section(section, stitches, end, first, measurements, scale, i))
                first += made[-1].rows
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


def _target(
    section: SectionPlan, start: int, measurements: Mapping[str, Fraction], scale: Scale, i: int
) -> int:
    """Stitches on the section's last row."""
    if section.to_point:
        return point(start, section.edges)
    if section.to_stitches is not None:
        wanted = section.to_stitches
        if not scale.stitch_multiple.allows(wanted):
            near = [
                whole(Fraction(wanted), scale.stitch_multiple, way)
                for way in ("at-most", "at-least")
            ]
            raise Refused(
                Refusal(
                    "not-in-multiple",
                    ("template", "sections", i, "to_stitches"),
                    f"{wanted} stitches are not {scale.stitch_multiple}",
                    {"stitches": ", ".join(str(n) for n in near if n > 0)},
                )
            )
        return wanted
    if section.to_width:
        width = section.to_width.of(measurements)
        assert width is not None  # check_template and check_measurements saw to it
        path = blame(section.to_width, ("sections", i, "to_width"))
        return count(width, scale.stitch_width, scale.stitch_multiple, scale, path, "stitches")
    return start


def _section(
    section: SectionPlan,
    start: int,
    end: int,
    first: int,
    measurements: Mapping[str, Fraction],
    scale: Scale,
    i: int,
) -> Section:
    multiple = section.row_multiple or scale.row_multiple
    height = section.height.of(measurements) if section.height else None
    rows = section.rows
    path: Path = ("template", "sections", i, "rows")
    if height is not None and section.height:
        path = blame(section.height, ("sections", i, "height"))
        rows = count(height, scale.row_height, multiple, scale, path, "rows")
    elif rows is not None and section.height:
        # Rows stand in for a height not asked for: the fewest that the multiple allows.
        rows = max(multiple.smallest, whole(Fraction(rows), multiple, "at-least"))
    elif rows is not None and not multiple.allows(rows):
        raise Refused(
            Refusal(
                "not-in-multiple",
                path,
                f"{rows} rows are not {multiple}",
                {"rows": whole(Fraction(rows), multiple, "at-least")},
            )
        )
    schedule: Schedule = ()
    if section.shape == "taper":
        rows, schedule = _shape(section, start, end, rows, height, first, scale, multiple, path, i)
    assert rows is not None  # check_template saw to it
    if rows < 1:
        raise Refused(
            Refusal(
                "section-without-rows",
                ("template", "sections", i),
                f"from {start} to {end} stitches there is nothing to shape, and no height or"
                f" rows are given for {section.name}",
                {"one_of": ["height", "rows"]},
            )
        )
    return Section(
        name=section.name,
        first_row=first,
        rows=rows,
        stitches_at_start=start,
        stitches_at_end=end,
        schedule=schedule,
        in_words=in_words(start, schedule),
        finished=SectionSize(
            start * scale.stitch_width, end * scale.stitch_width, rows * scale.row_height
        ),
        row_counts=tuple(row_counts(start, rows, schedule)) if scale.every_row else None,
    )


def _shape(
    section: SectionPlan,
    start: int,
    end: int,
    rows: int | None,
    height: Fraction | None,
    first: int,
    scale: Scale,
    multiple: Multiple,
    path: Path,
    i: int,
) -> tuple[int, Schedule]:
    own = section.right_side_only
    rules = Rules(
        section.edges,
        section.max_change or scale.max_change,
        scale.right_side_only if own is None else own,
        starts_on_right_side=first % 2 == 1,
    )
    try:
        if rows is not None and section.every is None:
            return rows, plan(start, end, rows, rules)
        rows_taken, schedule = plan_every(start, end, section.every or 1, rows, rules)
        fitting = whole(Fraction(rows_taken), multiple, "at-least")
        if rows is None and fitting != rows_taken:
            return plan_every(start, end, section.every or 1, fitting, rules)
        return rows_taken, schedule
    except Refused as refused:
        refusal = refused.refusals[0]
        if refusal.code != "shaping-does-not-fit":
            raise Refused(
                Refusal(
                    refusal.code,
                    ("template", "sections", i, *refusal.path),
                    refusal.detail,
                    refusal.permitted,
                )
            ) from None
        raise Refused(in_height(refusal, height, rows, scale, path, multiple)) from None


def in_height(
    refusal: Refusal,
    height: Fraction | None,
    rows: int | None,
    scale: Scale,
    path: Path,
    multiple: Multiple = ANY,
) -> Refusal:
    """A shaping refusal said of the height that was asked for; others only get the path.

    Source: common-practice.

    >>> no = Refusal("shaping-does-not-fit", ("rows",), "needs 20 rows; there are 14",
    ...     {"minimum_rows": 20, "nearest_stitches": 10})
    >>> in_height(no, Fraction(70), 14, Scale(Fraction(5), Fraction(5)), ("height",)).detail
    'needs 20 rows (10 cm); 14 fit in 7 cm, which reach 10 stitches'
    """
    if refusal.code != "shaping-does-not-fit":
        return refusal
    assert isinstance(refusal.permitted, dict)
    permitted = dict(refusal.permitted)
    permitted["minimum_rows"] = whole(Fraction(permitted["minimum_rows"]), multiple, "at-least")
    needs = permitted["minimum_rows"] * scale.row_height
    permitted["minimum_height"] = _limit(needs, scale.units, up=True)
    detail = refusal.detail
    if height is not None:
        detail = (
            f"{detail.split(';')[0]} ({written(needs, scale.units)});"
            f" {rows} fit in {written(height, scale.units)},"
            f" which reach {permitted['nearest_stitches']} stitches"
        )
    return Refusal(refusal.code, path, detail, permitted)
