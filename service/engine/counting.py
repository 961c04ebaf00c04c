"""Whole stitches and rows from the lengths asked for, and refusals said of those lengths."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import ceil, floor

from .errors import Path, Refusal, Refused
from .exact import Fraction
from .rounding import ANY, MOST_ROWS, MOST_STITCHES, Multiple, Rounding, whole
from .templates import Term
from .units import MILLIMETRES, System, written


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


@dataclass(frozen=True, slots=True)
class Asked:
    """A length that was asked for (millimetres), the term it came by, and the field to point at.

    Where the length is not what is counted, as a diameter is not, ``size`` is what is counted of
    it and ``back`` leads from there to the length.
    """

    size: Fraction
    path: Path
    term: Term
    back: Callable[[Fraction], Fraction] = Fraction

    def limit(self, size: Fraction, units: System, up: bool) -> dict[str, object]:
        """What to ask for to come to ``size``, to a thousandth on the side that works."""
        unit = "cm" if units == "metric" else "in"
        thousandths = self.term.measurement_from(self.back(size)) / MILLIMETRES[unit] * 1000
        return {"value": (ceil(thousandths) if up else floor(thousandths)) / 1000, "unit": unit}


def asked_for(
    term: Term | None, measurements: Mapping[str, Fraction], document_path: Path
) -> Asked | None:
    """The length a term comes to; None where it is not given. Lengths in millimetres.

    The field to point at is the measurement asked for, or the length fixed in the template.
    Source: common-practice.

    >>> asked_for(Term("width"), {"width": Fraction(9)}, ("foundation", "width")).path
    ('measurements', 'width')
    """
    size = term.of(measurements) if term else None
    if term is None or size is None:
        return None
    path: Path = ("template", *document_path)
    return Asked(size, ("measurements", term.measurement) if term.measurement else path, term)


def count(
    asked: Asked, unit: Fraction, multiple: Multiple, scale: Scale, what: str, fewest: int = 1
) -> int:
    """Stitches or rows of ``unit`` millimetres in a length, as the multiple allows.

    Raises Refused where none, or too many, fit; what would work (``fewest`` at least, where
    shaping needs so many) is named. Source: common-practice.

    >>> scale = Scale(Fraction(25, 4), Fraction(5))
    >>> count(Asked(Fraction(240), ("measurements", "width"), Term("width")), scale.stitch_width,
    ...     ANY, scale, "stitches")
    38
    """
    most = MOST_STITCHES if what == "stitches" else MOST_ROWS
    found = whole(asked.size / unit, multiple, scale.rounding)
    if found < multiple.smallest and scale.rounding == "at-least" and asked.size > 0:
        found = multiple.smallest  # the fewest there are is at least what was asked
    if found < multiple.smallest:
        least = max(multiple.smallest, whole(Fraction(fewest), multiple, "at-least"))
        # Half a multiple short still rounds up, where the nearest count is asked for.
        spare = Fraction(multiple.multiple, 2) if scale.rounding == "nearest" else Fraction(0)
        needs = (least - spare) * unit if least == multiple.smallest else least * unit
        raise Refused(
            Refusal(
                "measurement-too-small",
                asked.path,
                f"{written(asked.back(asked.size), scale.units)} is"
                f" {float(asked.size / unit):.2f} {what} at this gauge;"
                f" {_of(least, multiple, what)} {'needs' if least == 1 else 'need'} at least"
                f" {written(asked.back(needs), scale.units, 4, up=True)}",
                {"minimum": asked.limit(needs, scale.units, up=True), what: least},
            )
        )
    if found > most:
        raise Refused(
            Refusal(
                "measurement-too-large",
                asked.path,
                f"{written(asked.back(asked.size), scale.units)} is {found} {what} at this gauge;"
                f" at most {most} are reckoned",
                {"maximum": asked.limit(most * unit, scale.units, up=False), what: most},
            )
        )
    return found


def _of(least: int, multiple: Multiple, what: str) -> str:
    if multiple == ANY:
        one = what.removesuffix("es" if what == "stitches" else "s")
        return f"one {one}" if least == 1 else f"{least} {what}"
    return f"{least} {what}, {multiple},"


def not_in_multiple(path: Path, counted: int, what: str, multiple: Multiple) -> Refused:
    """A count fixed in the template that the multiple does not allow, and its neighbours.

    Source: common-practice.

    >>> not_in_multiple((), 5, "rows", Multiple(4)).refusals[0].permitted
    {'rows': [4, 8]}
    """
    exact = Fraction(counted)
    near = {whole(exact, multiple, "at-most"), whole(exact, multiple, "at-least")}
    allowed = sorted(n for n in near if multiple.allows(n)) or [multiple.smallest]
    return Refused(
        Refusal("not-in-multiple", path, f"{counted} {what} are not {multiple}", {what: allowed})
    )


def in_rows(refusal: Refusal, multiple: Multiple) -> Refusal:
    """A shaping refusal whose fewest rows keep the row multiple.

    Source: common-practice.

    >>> no = Refusal("shaping-does-not-fit", ("rows",), "needs at least 20 rows; there are 14",
    ...     {"minimum_rows": 20})
    >>> in_rows(no, Multiple(6)).detail
    'needs at least 24 rows; there are 14'
    """
    assert isinstance(refusal.permitted, dict)
    fewest = refusal.permitted["minimum_rows"]
    rows = whole(Fraction(fewest), multiple, "at-least")
    detail = refusal.detail.replace(f"at least {fewest} rows", f"at least {rows} rows")
    return replace(refusal, detail=detail, permitted={**refusal.permitted, "minimum_rows": rows})


def in_height(refusal: Refusal, height: Asked, scale: Scale, multiple: Multiple = ANY) -> Refusal:
    """A shaping refusal said of the height that was asked for.

    Source: common-practice.

    >>> no = Refusal("shaping-does-not-fit", ("rows",), "needs at least 20 rows; there are 14",
    ...     {"minimum_rows": 20, "rows_given": 14, "nearest_stitches": 10})
    >>> asked = Asked(Fraction(70), ("height",), Term("height"))
    >>> in_height(no, asked, Scale(Fraction(5), Fraction(5))).detail
    'needs at least 20 rows (10 cm); 14 fit in 7 cm, which reach 10 stitches'
    """
    refusal = in_rows(refusal, multiple)
    assert isinstance(refusal.permitted, dict)
    permitted = dict(refusal.permitted)
    rows = permitted["minimum_rows"]
    needs = rows * scale.row_height
    permitted["minimum_height"] = height.limit(needs, scale.units, up=True)
    needed = f"{rows} rows ({written(needs, scale.units, up=True)})"
    detail = (
        f"{refusal.detail.split(';')[0].replace(f'{rows} rows', needed)};"
        f" {permitted['rows_given']} fit in {written(height.size, scale.units)},"
        f" which reach {permitted['nearest_stitches']} stitches"
    )
    return Refusal(refusal.code, height.path, detail, permitted)
