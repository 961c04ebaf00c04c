"""The outline of a flat piece: its sides and corners, in the order an edging goes round them."""

from __future__ import annotations

from math import hypot

from .edgings import Extent, Side
from .exact import Fraction
from .sections import Section

POINT = 2
"""Stitches: a row of this many or fewer is a point, and has one corner. Source: common-practice."""


def edge_length(
    section: Section, left: bool, stitch_width: Fraction, row_height: Fraction
) -> Fraction:
    """Length of one edge of a section in millimetres, straight between shaping rows.

    Source: geometry.

    >>> from .counting import Scale
    >>> from .sections import build
    >>> from .templates import SectionPlan
    >>> plan = SectionPlan("flap", "taper", to_point=True)
    >>> (flap,) = build((plan,), 8, {}, Scale(Fraction(4), Fraction(3)))
    >>> edge_length(flap, True, Fraction(4), Fraction(3))
    Fraction(15, 1)
    """
    total, since = Fraction(0), 0
    for run in section.schedule:
        change = run.left if left else run.right
        if not (run.times and change):
            since += run.rows  # straight, and part of the way to this edge's next shaping row
            continue
        first = hypot((since + run.every) * row_height, change * stitch_width)
        later = hypot(run.every * row_height, change * stitch_width)
        total += Fraction(first) + (run.times - 1) * Fraction(later)
        since = 0
    last = section.rows - sum(run.rows for run in section.schedule)
    return total + (since + last) * row_height


def sides_of(
    foundation: int,
    sections: tuple[Section, ...],
    stitch_width: Fraction,
    row_height: Fraction,
    loop_spans: int = 0,
) -> tuple[Side, ...]:
    """Down the left edge, along the foundation, up the right edge, across the last row.

    Left and right as the right side faces. A corner stands where a level side meets row ends; a
    point has one, and none where a button loop bridges it. Widths in millimetres; ``loop_spans``
    stitches of the last row are left for the loop. Source: common-practice.

    >>> [(s.name, s.corner) for s in sides_of(10, (), Fraction(4), Fraction(3))]
    [('foundation', 'foundation, right'), ('last row', 'last row, left')]
    """
    last = sections[-1].stitches_at_end if sections else foundation
    # Few stitches are a point only where the edges run together to them.
    pointed = foundation <= POINT and bool(sections) and bool(sections[0].schedule)
    peaked = last <= POINT and bool(sections) and bool(sections[-1].schedule)
    bridged = loop_spans >= last
    lengths: dict[int, Fraction] = {}

    def rows_of(section: Section, left: bool, corner: str | None) -> Side:
        name = f"{'left' if left else 'right'} edge of the {section.name}"
        alike = all(run.left == run.right for run in section.schedule)
        length = lengths.get(section.first_row) if alike else None
        if length is None:
            length = edge_length(section, left, stitch_width, row_height)
            lengths[section.first_row] = length
        return Side(name, "row-ends", section.rows, length, corner)

    down = [None] * (len(sections) - 1) + [None if pointed else "foundation, left"]
    up = [None] * (len(sections) - 1) + [None if peaked or bridged else "last row, right"]
    bottom = "point of the foundation" if pointed else "foundation, right"
    top = None if bridged else "point of the last row" if peaked else "last row, left"
    return (
        *(rows_of(s, True, c) for s, c in zip(reversed(sections), down, strict=False)),
        Side("foundation", "foundation", foundation, foundation * stitch_width, bottom),
        *(rows_of(s, False, c) for s, c in zip(sections, up, strict=False)),
        Side(
            "last row",
            "last-row",
            last,
            (last - loop_spans) * stitch_width,
            top,
            loop_spans,
        ),
    )


def extent_of(foundation: int, sections: tuple[Section, ...], stitch_width: Fraction) -> Extent:
    """Widest row and whole height, in millimetres, before edging. Source: geometry.

    >>> extent_of(10, (), Fraction(4)).width
    Fraction(40, 1)
    """
    turns = [run.stitches_after for s in sections for run in s.schedule]
    widest = max([foundation, *turns, *(s.stitches_at_end for s in sections)])
    return Extent(widest * stitch_width, sum((s.finished.height for s in sections), Fraction(0)))
