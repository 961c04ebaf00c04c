"""What to look out for where a flat piece is shaped."""

from __future__ import annotations

from .beginning import left_of
from .cautions import Caution
from .errors import Path
from .exact import Fraction
from .sections import Section
from .sizing import PieceOrder, Sized
from .units import written

STEEP = 2
"""Stitches changed at an edge in a row: past it the edge is bulky. Source: common-practice."""


def shaping_cautions(order: PieceOrder, sized: Sized) -> list[Caution]:
    """Edges that an odd change makes unlike, and rows that are far from their outline.

    Source: common-practice.
    """
    raised, gauge = [], order.gauge
    names = [s.name for s in sized.sections]
    for section in left_of(sized.sections, sized.begun, gauge.stitch_width, gauge.row_height):
        path = ("template", "sections", names.index(section.name))
        off = section.outline_off
        if off is None:
            if _uneven(section):
                raised.append(_uneven_edges(section, path))
            continue
        if max(off.left, off.right) > order.gauge.stitch_width / 2:
            raised.append(_off_outline(section, max(off.left, off.right), order, path))
        steepest = max((max(abs(r.left), abs(r.right)) for r in section.schedule), default=0)
        if steepest > STEEP:
            raised.append(_steep(section, steepest, path))
    return raised


def _steep(section: Section, stitches: int, path: Path) -> Caution:
    return Caution(
        "steep-shaping",
        f"The {section.name} changes by up to {stitches} stitches at an edge in one row. A smaller"
        " max_change spreads them over more rows. Else, where so many worked together are too"
        " bulky, slip stitch over those to be lost at the start of a row and leave them unworked"
        " at its end; and work those to be gained on chains added at the end of the row below.",
        path,
        "common-practice",
    )


def _uneven(section: Section) -> bool:
    schedule = section.schedule
    left, right = sum(r.times * r.left for r in schedule), sum(r.times * r.right for r in schedule)
    return left != right and any(r.left and r.right for r in schedule)


def _uneven_edges(section: Section, path: Path) -> Caution:
    """Where an odd change is shared by two edges, one edge has a stitch more than the other."""
    return Caution(
        "uneven-edges",
        f"The {section.name} goes from {section.stitches_at_start} to {section.stitches_at_end}"
        " stitches, an odd change over two edges: the left edge takes one stitch more than the"
        " right. A measurement one stitch wider or narrower makes them alike.",
        path,
        "common-practice",
    )


def _off_outline(section: Section, off: Fraction, order: PieceOrder, path: Path) -> Caution:
    return Caution(
        "off-outline",
        f"The {section.name} is up to {written(off, order.units)} from its outline at an edge, more"
        " than half a stitch: its stitch multiple, its largest change a row, shaping on right-side"
        " rows only, or rows narrower than a stitch keep it from coming nearer.",
        path,
        "geometry",
    )
