"""The drawing of a template: the piece its examples make, with every measurement in its place."""

from __future__ import annotations

from .drawing import Dimension, Drawing, Point
from .errors import Findings
from .gauge import square
from .schedules import runs_of
from .sections import Section
from .sizing import PieceOrder, size
from .templates import MeasurementPlan, Template, Term, terms_of
from .units import written

GAUGE = square(64, 76)
"""Gauge that outlines are drawn at: much finer than work, so that they look as they are meant."""


def sketch(template: Template) -> Drawing:
    """A flat template as it comes out at its examples' sizes.

    Raises Refused where a measurement has no example, or the examples make no piece.
    Source: common-practice.

    >>> from .exact import Fraction
    >>> from .templates import FoundationPlan, SectionPlan
    >>> plan = MeasurementPlan("width", "across", example=Fraction(100))
    >>> flap = Template("flap", "Flap", (plan,), FoundationPlan(Term("width")),
    ...     (SectionPlan("flap", "even", rows=76),))
    >>> sketch(flap).outline
    ((100.0, 0.0), (100.0, 100.0), (0.0, 100.0), (0.0, 0.0))
    """
    found = Findings()
    for i, plan in enumerate(template.measurements):
        if plan.example is None:
            found.add(
                "example-missing",
                ("template", "measurements", i, "example"),
                f"to be drawn, {plan.name} needs an example of its size",
            )
    found.settle()
    examples = {m.name: m.example for m in template.measurements if m.example is not None}
    sized = size(PieceOrder(GAUGE, template, examples))
    straight = tuple(s.shape == "taper" and s.every is None for s in template.sections)
    edges, levels = flat_edges(sized.foundation.stitches, sized.sections, straight)
    ends = [edges[i] for i in levels]
    return Drawing(
        title=template.title,
        outline=(*(right for _, right in edges), *(left for left, _ in reversed(edges))),
        dimensions=_dimensions(template, ends),
        parts=tuple(section.name for section in template.sections),
        levels=tuple(ends[1:-1]),
        foundation=ends[0],
    )


def flat_edges(
    foundation: int, sections: tuple[Section, ...], straight: tuple[bool, ...]
) -> tuple[list[tuple[Point, Point]], list[int]]:
    """Left and right end of each row where an edge turns, from the foundation up.

    Beside them, which of them are the foundation and the last row of each section. The edges of
    a ``straight`` section are drawn as they are meant, and not run by run.
    Source: geometry.

    >>> flat_edges(64, (), ())
    ([((0.0, 0.0), (100.0, 0.0))], [0])
    """
    across, up = float(GAUGE.stitch_width), float(GAUGE.row_height)
    left, right, rows = 0, foundation, 0
    edges, ends = [((0.0, 0.0), (right * across, 0.0))], [0]
    for section, meant_straight in zip(sections, straight, strict=True):
        for run in runs_of((section,)):
            rows += run.rows
            left -= run.times * run.left
            right += run.times * run.right
            edges.append(((left * across, rows * up), (right * across, rows * up)))
        if meant_straight:
            del edges[ends[-1] + 1 : -1]
        ends.append(len(edges) - 1)
    return edges, ends


def _dimensions(template: Template, ends: list[tuple[Point, Point]]) -> tuple[Dimension, ...]:
    """Every measurement, where it is first made use of."""
    used = terms_of(template)
    return tuple(_dimension(plan, *used[plan.name][0], ends) for plan in template.measurements)


def _dimension(
    plan: MeasurementPlan,
    path: tuple[str | int, ...],
    term: Term,
    ends: list[tuple[Point, Point]],
) -> Dimension:
    label = label_of(plan.name, term)
    if path[0] == "foundation":
        return Dimension(label, plan.meaning, "across", *ends[0])
    section = int(path[1])
    if path[2] == "height" or path[-1] == "up":
        (_, start), (_, stop) = ends[section], ends[section + 1]
        return Dimension(label, plan.meaning, "up", start, stop)
    return Dimension(label, plan.meaning, "across", *ends[section + 1])


def label_of(name: str, term: Term) -> str:
    """The measurement's name, with what the template makes of it there.

    Source: common-practice.

    >>> label_of("width", Term("width"))
    'width'
    """
    times = "" if term.times == 1 else f"{float(term.times):g} × "
    plus = ""
    if term.plus:
        plus = f" {'+' if term.plus > 0 else '-'} {written(abs(term.plus), 'metric')}"
    return f"{times}{name}{plus}"
