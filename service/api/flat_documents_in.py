"""Template documents of pieces worked flat."""

from __future__ import annotations

from ..engine.edgeplans import PointPlan
from ..engine.edgeplans import SegmentPlan as EdgeSegmentPlan
from ..engine.templates import (
    FoldPlan,
    FoundationPlan,
    OpeningPlan,
    SectionPlan,
    Template,
)
from .fields import (
    WORDS,
    Choice,
    Flag,
    Loaded,
    Part,
    Parts,
    Text,
    Whole,
    said,
)
from .terms_in import (
    MultipleSchema,
    TemplateFields,
    assembly_field,
    hazards_field,
    shift,
    stitch_multiple_field,
    term,
)


class PointSchema(Loaded):
    """A point of a polyline, from where its segment starts."""

    makes = PointPlan

    inwards = shift("towards the middle of the piece, below zero for outwards; 0 when left out")
    up = term("above the segment's start, no lower than the point before", required=True)


class EdgeSegmentSchema(Loaded):
    """One stretch of an edge, from where the one below it ends.

    A line has in, up or both, an arc up and mostly in, points its points. An arc is a quarter of
    an ellipse, or an arc of a circle where it has a radius.
    """

    makes = EdgeSegmentPlan

    kind = Choice(("line", "arc", "points"), required=True, **said("what the edge follows"))
    inwards = shift("towards the middle of the piece, below zero for outwards; 0 when left out")
    up = term("how far up the segment goes; a line without it is level")
    bulge = Choice(
        ("outward", "inward"),
        **said(
            "the side of the straight line that an arc stands on; outward, as when left out, makes"
            " the piece wider: an arc that comes in starts straight up and ends level"
        ),
    )
    radius = term("radius of an arc of a circle, no longer than half of one")
    points = Parts(Part(PointSchema), 1, 200, **said("points of a polyline, from below"))


def edge(description: str) -> Parts:
    return Parts(Part(EdgeSegmentSchema), 1, 40, **said(description))


class OpeningSchema(Loaded):
    """An opening across a row, skipped and chained over: a width or a stitch count, not both."""

    makes = OpeningPlan

    name = Text(40, 1, WORDS, required=True, **said("name of the opening"))
    height = term("from the foundation to the opening", required=True)
    width = term("along the opening")
    stitches = Whole(1, 10_000, **said("stitches the opening takes"))
    from_left = term("from the left edge of its row to the opening; in the middle when left out")


class FoundationPlanSchema(Loaded):
    """What the piece begins with: a width or a stitch count, not both."""

    makes = FoundationPlan

    width = term("width of the foundation")
    stitches = Whole(1, 10_000, **said("stitches of the foundation"))


class SectionSchema(Loaded):
    """A stretch of rows, worked even, tapered (in either direction), or following an outline.

    A taper goes to exactly one of: to_width, to_stitches, to_point. Its extent is its height
    where that is asked for; else its rows; else what shaping every so many rows takes.
    An outline has left and right, or sides for both alike, and no other extent: each edge is told
    from the end of the row below, in segments from the bottom up, and an edge that is left out
    goes straight up. It is stretched or squeezed to the nearest whole rows and read at the middle
    of each, where each edge takes the nearest stitch, ties to the wider row.
    """

    makes = SectionPlan

    name = Text(40, 1, WORDS, required=True, **said("name of the section"))
    shape = Choice(
        ("even", "taper", "outline"), required=True, **said("even keeps its stitch count")
    )
    height = term("height of the section")
    rows = Whole(1, 10_000, **said("rows of the section, where its height is not asked for"))
    every = Whole(
        1, 1000, **said("a shaping row each so many rows; rows left over are worked even")
    )
    to_width = term("width the taper ends with")
    to_stitches = Whole(1, 10_000, **said("stitches the taper ends with"))
    to_point = Flag(
        **said("taper to a point: two stitches, or one where both edges cannot give two")
    )
    edges = Choice(("both", "left", "right"), **said("edges that are shaped; both when left out"))
    max_change = Whole(
        1,
        100,
        **said(
            "most stitches gained or lost in a row, both edges together; when left out, one an edge"
            " in a taper and 100 in an outline"
        ),
    )
    right_side_only = Flag(**said("shape on right-side rows only; row 1 is one"))
    left = edge("left edge of an outline, as the right side faces")
    right = edge("right edge of an outline")
    sides = edge("both edges of an outline, alike")
    row_multiple = Part(MultipleSchema, **said("counts of rows that the stitch pattern allows"))


class FoldSchema(Loaded):
    """A section folded across."""

    makes = FoldPlan

    section = Text(40, 1, WORDS, required=True, **said("section that is folded"))
    layers = Whole(2, 10, **said("layers it is folded into; 2 when left out"))
    sides_joined = Flag(
        **said("whether its sides are joined then, which takes yarn; false when left out")
    )


class TemplateSchema(TemplateFields):
    """A piece as a document: what it measures, how it begins, and its sections bottom to top."""

    makes = Template

    foundation = Part(FoundationPlanSchema, required=True, **said("what the piece begins with"))
    sections = Parts(
        Part(SectionSchema), 1, 40, required=True, **said("sections, from the foundation up")
    )
    stitch_multiple = stitch_multiple_field()
    row_multiple = Part(MultipleSchema, **said("row counts that the stitch pattern allows"))
    closure_at = Choice(
        ("last-row", "row-ends"),
        **said("edge that a button closes over; last-row when left out"),
    )
    openings = Parts(
        Part(OpeningSchema), 0, 40, **said("openings inside the piece; several may share a row")
    )
    folds = Parts(
        Part(FoldSchema), 0, 40, **said("sections that are folded when the piece is put together")
    )
    assembly = assembly_field()
    hazards = hazards_field()
