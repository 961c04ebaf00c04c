"""What can be made from what is left: the most rows, the longest measurement, the largest size."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from .errors import Refusal, Refused
from .exact import Fraction
from .rounding import MOST_ROWS, Multiple
from .roundplans import RoundTemplate
from .sizing import PieceOrder, scale_of
from .templates import SectionPlan, Template
from .terms import Term
from .worked import terms_of_any

TRIED = 200
"""Counts tried one by one where yarn is not known to grow with the count."""
SMALL = 64
"""Counts passed over, from the smallest, that may be too small to be made at all."""


@dataclass(frozen=True, slots=True)
class Varied:
    """One count of a piece that may be chosen: rows or stitches.

    order: the piece with so many. grows: whether more of them always takes more yarn; where that is
    so only from each to the next but one, and so on, that is the period: whether rows are odd or
    even says where an edging begins, and which of them face right.
    """

    what: Literal["rows", "stitches"]
    multiple: Multiple
    length: Callable[[int], Fraction]
    order: Callable[[int], PieceOrder]
    grows: bool
    period: int = 1

    def count(self, step: int) -> int:
        """The count that stands at a step: 0 is the smallest."""
        return self.multiple.smallest + step * self.multiple.multiple


@dataclass(frozen=True, slots=True)
class Largest:
    """The largest count that passes each of the tests; None where none does."""

    counts: tuple[int | None, ...]
    tried_to: int


def rows_of(order: PieceOrder, name: str) -> Varied:
    """The rows of a section worked even, as what may be chosen.

    Two rows more always take more yarn; one row more may save a section above it that is shaped on
    right-side rows only a row, or an edging two tails. A loop or an opening that may come to lie in
    another colour makes it unsure.
    Raises Refused for a section that is not there, or is shaped. Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("tab", "even", rows=5),))
    >>> seven = rows_of(PieceOrder(square(16, 19), tab, {}), "tab").order(7)
    >>> seven.template.sections[0].height.plus
    Fraction(700, 19)
    """
    template, height = order.template, order.gauge.row_height
    names = [section.name for section in template.sections]
    if name not in names:
        detail = f"the {template.name} template has no section {name}; there are {', '.join(names)}"
        raise Refused(Refusal("unknown-section", ("find", "rows_of"), detail, names))
    at = names.index(name)
    plan = template.sections[at]
    even = [s.name for s in template.sections if s.shape == "even"]
    if plan.shape != "even":
        detail = f"the {name} is shaped, and its shaping says how many rows it has"
        raise Refused(Refusal("section-is-shaped", ("find", "rows_of"), detail, even))
    own = plan.row_multiple if isinstance(plan, SectionPlan) else None
    return Varied(
        "rows",
        own or scale_of(order).row_multiple,
        lambda rows: rows * height,
        lambda rows: _with_height(order, at, rows * height),
        grows=not _wanders(order),
        period=_period(order),
    )


def _period(order: PieceOrder) -> int:
    """Two where it matters if rows are odd or even."""
    flat = isinstance(order.template, Template)
    return 2 if flat and (order.edging or _right_side(order)) else 1


def _wanders(order: PieceOrder) -> bool:
    """Whether a loop, slit or opening may change its colour with a count, and so take from one."""
    openings = isinstance(order.template, Template) and bool(order.template.openings)
    return order.colours is not None and (order.button is not None or openings)


def _right_side(order: PieceOrder) -> bool:
    """Whether some section is shaped on right-side rows only."""
    return order.right_side_only or any(
        isinstance(s, SectionPlan) and bool(s.right_side_only) for s in order.template.sections
    )


def _with_height(order: PieceOrder, at: int, height: Fraction) -> PieceOrder:
    """The order with a section of a height of its own; measurements that size nothing left out."""
    template, fixed = order.template, Term(None, plus=height)
    if isinstance(template, RoundTemplate):
        round_plan = replace(template.sections[at], height=fixed, rounds=None, reaches=None)
        rounds = (*template.sections[:at], round_plan, *template.sections[at + 1 :])
        made: Template | RoundTemplate = replace(template, sections=rounds)
    else:
        plan = replace(template.sections[at], height=fixed, rows=None)
        sections = (*template.sections[:at], plan, *template.sections[at + 1 :])
        made = replace(template, sections=sections)
    gone = {m.name for m in made.measurements} - set(terms_of_any(made))
    kept = tuple(m for m in made.measurements if m.name not in gone)
    return replace(
        order,
        template=replace(made, measurements=kept),
        measurements={k: v for k, v in order.measurements.items() if k not in gone},
        derived={k: v for k, v in order.derived.items() if k not in gone},
    )


def measurement_of(order: PieceOrder, name: str) -> Varied:
    """A measurement that is counted in stitches or rows, as what may be chosen.

    More of it takes more yarn where it is the height of one even section, or where all sections
    are even or (with no edging) come to a point in every row; of other shaping that is not known.
    Raises Refused for a measurement that is not there, that no one count drives, or that a shape
    worked out row by row hangs on. Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan, MeasurementPlan
    >>> tab = Template("tab", "Tab", (MeasurementPlan("width", "across"),),
    ...     FoundationPlan(Term("width")), (SectionPlan("tab", "even", rows=5),))
    >>> measurement_of(PieceOrder(square(16, 19), tab, {}), "width").length(4)
    Fraction(25, 1)
    """
    template, scale = order.template, scale_of(order)
    path = ("find", "measurement")
    drives = {plan.name: _drives(template, plan.name) for plan in template.measurements}
    counted = [plan for plan, how in drives.items() if how]
    if name not in drives:
        detail = f"the {template.name} template has no measurement {name}"
        raise Refused(Refusal("unknown-measurement", path, detail, counted))
    how = drives[name]
    if how is None:
        detail = f"{name} is not counted in stitches or rows by itself"
        raise Refused(Refusal("measurement-not-counted", path, detail, counted))
    what, term, own = how
    uses = terms_of_any(template)[name]
    if len(uses) == 1 and what == "rows" and template.sections[int(uses[0][0][1])].shape == "even":
        grows, period = not _wanders(order), _period(order)
    else:
        grows, period = _grows(order), 1
        if any(s.shape not in ("even", "taper") for s in template.sections):
            detail = (
                f"how much yarn more {name} takes is not known for this shape: tell sizes to choose"
                " from instead"
            )
            raise Refused(Refusal("yarn-may-not-grow", path, detail, ["sizes"]))
    unit = scale.row_height if what == "rows" else scale.stitch_width
    multiple = own or (scale.row_multiple if what == "rows" else scale.stitch_multiple)

    def length(number: int) -> Fraction:
        return term.measurement_from(number * unit)

    def with_count(number: int) -> PieceOrder:
        derived = {k: v for k, v in order.derived.items() if k != name}
        asked = {**order.measurements, name: length(number)}
        return replace(order, measurements=asked, derived=derived)

    return Varied(what, multiple, length, with_count, grows, period)


def _drives(
    template: Template | RoundTemplate, name: str
) -> tuple[Literal["rows", "stitches"], Term, Multiple | None] | None:
    """What whole numbers the first use of a measurement comes to, if it is as simple as that."""
    used = terms_of_any(template).get(name)
    if not used:
        return None
    path, term = used[0]
    if path in (("foundation", "width"), ("start", "circumference")):
        return "stitches", term, None
    if path[0] != "sections" or len(path) != 3:
        return None
    section = template.sections[int(path[1])]
    if path[2] == "height" and section.shape in ("even", "taper"):
        own = section.row_multiple if isinstance(section, SectionPlan) else None
        return "rows", term, own
    return ("stitches", term, None) if path[2] == "to_width" else None


def _grows(order: PieceOrder) -> bool:
    """Whether every section is even, or loses stitches to a point in each of its rows."""
    even = all(s.shape == "even" for s in order.template.sections)
    if _right_side(order) or _wanders(order) or (order.edging and not even):
        return False
    asked = {*order.measurements, *order.derived}
    return all(
        s.shape == "even"
        or (
            isinstance(s, SectionPlan)
            and s.to_point
            and s.rows is None
            and (s.height is None or (s.height.measurement or "") not in {*asked, ""})
        )
        for s in order.template.sections
    )


def largest(
    varied: Varied, tests: tuple[Callable[[int], bool | None], ...], most: int = MOST_ROWS
) -> Largest:
    """The largest count that passes each test. A test is None where the piece cannot be made.

    Where yarn grows with the count, found by halving; else by trying ``TRIED`` counts one by one.
    Source: common-practice.

    >>> any_count = Varied("rows", Multiple(), Fraction, lambda n: None, grows=True)
    >>> largest(any_count, (lambda n: n <= 77, lambda n: n <= 70)).counts
    (77, 70)
    """
    last = (most - varied.multiple.smallest) // varied.multiple.multiple
    if not varied.grows:
        steps = range(min(last, TRIED - 1) + 1)
        fits = [[step for step in steps if test(varied.count(step))] for test in tests]
        counts = tuple(varied.count(steps[-1]) if steps else None for steps in fits)
        return Largest(counts, varied.count(steps[-1]))
    fits = []
    for test in tests:
        ends = [_last(varied, test, first, last) for first in range(varied.period)]
        fits.append([step for step in ends if step is not None])
    counts = tuple(varied.count(max(steps)) if steps else None for steps in fits)
    return Largest(counts, max((n for n in counts if n), default=varied.count(0)))


def _last(varied: Varied, test: Callable[[int], bool | None], first: int, last: int) -> int | None:
    """The last step that passes of those that are a period apart, by halving."""

    def at(turn: int) -> bool | None:
        return test(varied.count(first + turn * varied.period))

    turns = (last - first) // varied.period + 1
    low = next((t for t in range(min(SMALL, turns)) if at(t) is not None), None)
    if low is None or not at(low):
        return None
    step = 1
    while low + step < turns and at(low + step):
        low += step
        step *= 2
    high = min(low + step, turns)
    while high - low > 1:
        middle = (low + high) // 2
        if at(middle):
            low = middle
        else:
            high = middle
    return first + low * varied.period


Left = Mapping[str, tuple[Fraction, bool]]
"""What is left of each colour (none: an empty one): an amount, and whether it is a mass."""
