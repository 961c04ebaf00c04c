"""The drawing of a template in the round: from above where it lies flat, else from the side."""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, pi, sin

from .asks import with_defaults
from .counting import Scale
from .drawing import Dimension, Drawing, Point
from .errors import Findings
from .exact import Fraction
from .foundation import Turning
from .profile import profile
from .roundplans import RoundTemplate, round_terms, segments_of
from .rounds import RoundSized
from .roundsizing import build_rounds
from .sketches import GAUGE, label_of

CHORDS = 72
"""Sides of the polygon that stands for a circle seen from above."""


def round_sketch(template: RoundTemplate) -> Drawing:
    """A template in the round as it comes out at its examples' sizes.

    Raises Refused where a measurement has no example, or the examples make no piece.
    Source: geometry.

    >>> from .exact import Fraction
    >>> from .roundplans import RoundPlan, StartPlan
    >>> from .templates import MeasurementPlan, Term
    >>> plan = MeasurementPlan("height", "up", example=Fraction(100))
    >>> tube = RoundTemplate("tube", "Tube", (plan,), StartPlan("chain", stitches=64),
    ...     (RoundPlan("tube", "even", height=Term("height")),))
    >>> [d.label for d in round_sketch(tube).dimensions]
    ['height']
    """
    found = Findings()
    for i, plan in enumerate(template.measurements):
        if plan.example is None:
            path = ("template", "measurements", i, "example")
            found.add("example-missing", path, f"to be drawn, {plan.name} needs an example")
    found.settle()
    examples = {m.name: m.example for m in template.measurements if m.example is not None}
    scale = Scale(GAUGE.stitch_width, GAUGE.row_height)
    asked = with_defaults(template, examples)
    sized = build_rounds(template, asked, Turning(1, False), scale)
    parts = tuple(section.name for section in template.sections)
    if not sized.extent.height:
        return _from_above(template, sized, parts)
    return _from_the_side(template, asked, sized, parts)


def _from_above(template: RoundTemplate, sized: RoundSized, parts: tuple[str, ...]) -> Drawing:
    side = float((sized.start.side_stitches or 0) * GAUGE.stitch_width) / 2
    across = float(sum(s.rows for s in sized.sections) * GAUGE.row_height)
    outline: list[Point] = []
    for i in range(CHORDS):
        angle = 2 * pi * i / CHORDS
        middle = side if cos(angle) >= 0 else -side
        outline.append((middle + across * cos(angle), across * sin(angle)))
    long = side + across
    dimensions = []
    used = round_terms(template)
    for plan in template.measurements:
        path, term = used[plan.name][0]
        label = label_of(plan.name, term)
        if path == ("start", "width"):
            ends: tuple[Point, Point] = ((long, -across), (long, across))
            dimensions.append(Dimension(label, plan.meaning, "up", *ends))
        else:
            ends = ((-long, -across), (long, -across))
            dimensions.append(Dimension(label, plan.meaning, "across", *ends))
    return Drawing(template.title, tuple(outline), tuple(dimensions), parts)


def _from_the_side(
    template: RoundTemplate,
    asked: Mapping[str, Fraction],
    sized: RoundSized,
    parts: tuple[str, ...],
) -> Drawing:
    """The half profile and its mirror image."""
    w = float(GAUGE.stitch_width)
    radius = sized.start.stitches * w / (2 * pi)
    points: list[Point] = [(radius, 0.0)]
    ends, high = [0], 0.0
    for plan, section in zip(template.sections, sized.sections, strict=True):
        if plan.profile:
            # Drawn as it is meant, and not round by round.
            shape = profile(radius, segments_of(plan, asked))
            points += [(x, high + y) for x, y in zip(shape.radii, shape.heights, strict=True)]
            radius, high = shape.radii[-1], high + shape.heights[-1]
        else:
            radius = section.stitches_at_end * w / (2 * pi)
            high += float(section.finished.height)
            points.append((radius, high))
        ends.append(len(points) - 1)
    outline = (*points, *((-x, y) for x, y in reversed(points)))
    level = [((-x, y), (x, y)) for x, y in (points[i] for i in ends)]
    dimensions = _dimensions(template, points, ends)
    return Drawing(
        template.title, outline, dimensions, parts, tuple(level[1:-1]),
        ((-points[0][0], 0.0), (points[0][0], 0.0)) if points[0][0] else None,
    )  # fmt: skip


def _dimensions(
    template: RoundTemplate, points: list[Point], ends: list[int]
) -> tuple[Dimension, ...]:
    used = round_terms(template)
    widest = max(points)
    made = []
    for plan in template.measurements:
        path, term = used[plan.name][0]
        label = label_of(plan.name, term)
        section = int(path[1]) if path[0] == "sections" else -1
        start, stop = points[ends[max(section, 0)]], points[ends[section + 1]]
        right = max(start[0], stop[0])
        kind = str(path[-1])
        if kind in ("height", "reaches"):
            base = 0.0 if kind == "reaches" else start[1]
            bottom, top = (right, base), (right, stop[1])
            made.append(Dimension(label, plan.meaning, "up", bottom, top))
            continue
        x, y = widest if "profile" in path else stop
        name = plan.name if "profile" in path else label
        made.append(Dimension(name, plan.meaning, "across", (-x, y), (x, y)))
    return tuple(made)
