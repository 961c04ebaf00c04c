"""Template documents: one schema for the built-in ones and for those a caller writes."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from marshmallow import post_load

from ..engine.bodies import MEASURES
from ..engine.deriving import PARTS
from ..engine.edgeplans import PointPlan
from ..engine.edgeplans import SegmentPlan as EdgeSegmentPlan
from ..engine.rounding import Multiple
from ..engine.roundplans import RoundPlan, RoundTemplate, SegmentPlan, StartPlan
from ..engine.templates import (
    FoldPlan,
    FoundationPlan,
    MeasurementPlan,
    OpeningPlan,
    SectionPlan,
    Template,
    Term,
)
from .fields import (
    LEAST,
    NAME,
    SLUG,
    WORDS,
    Choice,
    EaseSchema,
    Flag,
    Length,
    LengthSchema,
    Number,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)


class MultipleSchema(Strict):
    """Counts a stitch pattern allows: a multiple of so many, plus so many."""

    multiple = Whole(1, 1000, required=True, **said("stitches or rows of one repeat"))
    plus = Whole(0, 1000, **said("stitches or rows besides the repeats; 0 when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Multiple:
        return Multiple(**data)


class TermSchema(Strict):
    """A length made from a measurement: times a factor, plus an ease."""

    measurement = Text(40, 1, NAME, required=True, **said("name of the measurement"))
    times = Number(LEAST, 1000, **said("factor; 1 when left out"))
    plus = Part(EaseSchema, **said("ease, added; negative to take off"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Term:
        return _term(data)


def _term(data: dict[str, Any]) -> Term:
    return Term(data["measurement"], data.get("times", Fraction(1)), data.get("plus", Fraction(0)))


class SignedTermSchema(Strict):
    """A length made from a measurement, which may be taken off as well as added."""

    measurement = Text(40, 1, NAME, required=True, **said("name of the measurement"))
    times = Number(-1000, 1000, **said("factor; 1 when left out"))
    plus = Part(EaseSchema, **said("ease, added; negative to take off"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Term:
        return _term(data)


class _NameOnly(Text):
    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Term:
        return Term(super()._deserialize(value, attr, data, **kwargs))


class _Fixed(Part):
    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Term:
        return Term(None, plus=super()._deserialize(value, attr, data, **kwargs))


def term(description: str, **kwargs: Any) -> OneOfKinds:
    """A length in a template: a measurement's name, one made from a measurement, or fixed."""
    return OneOfKinds(
        {
            "string": _NameOnly(40, 1, NAME, **said("name of a measurement")),
            "measurement": Part(TermSchema),
            "value": _Fixed(LengthSchema),
        },
        **said(description),
        **kwargs,
    )


def signed_term(description: str, **kwargs: Any) -> OneOfKinds:
    """The same, and it may be nothing or less."""
    return OneOfKinds(
        {
            "string": _NameOnly(40, 1, NAME, **said("name of a measurement")),
            "measurement": Part(SignedTermSchema),
            "value": _Fixed(EaseSchema),
        },
        **said(description, **kwargs),
    )


class TakesSchema(Strict):
    """What a measurement may be made from, in place of a length."""

    body = Parts(Choice(MEASURES), 1, len(MEASURES), **said("body measures it may be made from"))
    object = Parts(
        Choice(tuple(PARTS)), 1, len(PARTS), **said("what may be taken of an object for it")
    )


class ShiftSchema(TermSchema):
    """A length made from a measurement, that may go either way."""

    times = Number(-1000, 1000, **said("factor, not zero; below zero to go outwards"))


def shift(description: str) -> OneOfKinds:
    """A length that may be zero or below: told as a term is."""
    return OneOfKinds(
        {
            "string": _NameOnly(40, 1, NAME, **said("name of a measurement")),
            "measurement": Part(ShiftSchema),
            "value": _Fixed(EaseSchema),
        },
        data_key="in",
        **said(description),
    )


class PointSchema(Strict):
    """A point of a polyline, from where its segment starts."""

    inwards = shift("towards the middle of the piece, below zero for outwards; 0 when left out")
    up = term("above the segment's start, no lower than the point before", required=True)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> PointPlan:
        return PointPlan(**data)


class EdgeSegmentSchema(Strict):
    """One stretch of an edge, from where the one below it ends.

    A line has in, up or both, an arc up and mostly in, points its points. An arc is a quarter of
    an ellipse, or an arc of a circle where it has a radius.
    """

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

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> EdgeSegmentPlan:
        return EdgeSegmentPlan(**data)


def edge(description: str) -> Parts:
    return Parts(Part(EdgeSegmentSchema), 1, 40, **said(description))


class OpeningSchema(Strict):
    """An opening across a row, skipped and chained over: a width or a stitch count, not both."""

    name = Text(40, 1, WORDS, required=True, **said("name of the opening"))
    height = term("from the foundation to the opening", required=True)
    width = term("along the opening")
    stitches = Whole(1, 10_000, **said("stitches the opening takes"))
    from_left = term("from the left edge of its row to the opening; in the middle when left out")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> OpeningPlan:
        return OpeningPlan(**data)


class MeasurementSchema(Strict):
    """A measurement that the template asks for."""

    name = Text(40, 1, NAME, required=True, **said("name it is asked for by"))
    meaning = Text(200, 1, required=True, **said("where on the piece it is taken"))
    optional = Flag(**said("whether it may be left out; false when not given"))
    minimum = Length("smallest the template is made for: its own limit, not a published one")
    maximum = Length("largest the template is made for: its own limit, not a published one")
    example = Length("a size it may have; the template is drawn with it")
    takes = Part(TakesSchema, **said("what it may be made from, in place of a length"))
    default = term("what it follows from when it is left out")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> MeasurementPlan:
        takes = data.pop("takes", {})
        return MeasurementPlan(**data, **takes)


class FoundationPlanSchema(Strict):
    """What the piece begins with: a width or a stitch count, not both."""

    width = term("width of the foundation")
    stitches = Whole(1, 10_000, **said("stitches of the foundation"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> FoundationPlan:
        return FoundationPlan(**data)


class SectionSchema(Strict):
    """A stretch of rows, worked even, tapered (in either direction), or following an outline.

    A taper goes to exactly one of: to_width, to_stitches, to_point. Its extent is its height
    where that is asked for; else its rows; else what shaping every so many rows takes.
    An outline has left and right, or sides for both alike, and no other extent: each edge is told
    from the end of the row below, in segments from the bottom up, and an edge that is left out
    goes straight up. It is stretched or squeezed to the nearest whole rows and read at the middle
    of each, where each edge takes the nearest stitch, ties to the wider row.
    """

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

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> SectionPlan:
        return SectionPlan(**data)


class FoldSchema(Strict):
    """A section folded across."""

    section = Text(40, 1, WORDS, required=True, **said("section that is folded"))
    layers = Whole(2, 10, **said("layers it is folded into; 2 when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> FoldPlan:
        return FoldPlan(**data)


class TemplateSchema(Strict):
    """A piece as a document: what it measures, how it begins, and its sections bottom to top."""

    name = Text(40, 1, SLUG, required=True, **said("name of the template"))
    title = Text(80, 1, required=True, **said("name for people"))
    description = Text(400, **said("what the piece is"))
    measurements = Parts(
        Part(MeasurementSchema), 0, 40, required=True, **said("measurements it asks for")
    )
    foundation = Part(FoundationPlanSchema, required=True, **said("what the piece begins with"))
    sections = Parts(
        Part(SectionSchema), 1, 40, required=True, **said("sections, from the foundation up")
    )
    stitch_multiple = Part(MultipleSchema, **said("stitch counts that the stitch pattern allows"))
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
    assembly = Parts(
        Text(300, 1), 0, 20, **said("how the piece is put together, step by step; no counts")
    )
    hazards = Parts(Choice(("cord",)), 0, 1, **said("what the piece is that calls for a caution"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Template:
        return Template(**data)


class StartSchema(Strict):
    """How the first round begins: a ring takes no size, a closed chain one, an oval two."""

    kind = Choice(
        ("ring", "chain", "oval"),
        required=True,
        **said("ring; chain, closed; or oval, a chain worked along both sides"),
    )
    circumference = term("round a closed chain")
    stitches = Whole(3, 10_000, **said("stitches of a closed chain"))
    length = term("length the oval grows to")
    width = term("width the oval grows to")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> StartPlan:
        return StartPlan(**data)


class SegmentSchema(Strict):
    """A stretch of a profile, from where the one before it ends."""

    out = signed_term("away from the axis; negative: towards it", required=True)
    up = signed_term("along the axis", required=True)
    bend = Choice(
        ("line", "level-first", "upright-first"),
        **said("straight, or a quarter of an ellipse that starts level or upright"),
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> SegmentPlan:
        return SegmentPlan(**data)


class RoundSectionSchema(Strict):
    """A stretch of rounds.

    even keeps its count, and needs height, rounds or reaches; disc grows flat, and needs
    to_diameter or to_circumference; cone goes to a width or count, and needs height or rounds;
    profile follows its segments.
    """

    name = Text(40, 1, WORDS, required=True, **said("name of the section"))
    shape = Choice(
        ("even", "disc", "cone", "profile"), required=True, **said("shape of the rounds")
    )
    height = term("height along the axis")
    rounds = Whole(1, 10_000, **said("rounds of the section"))
    reaches = term("length from the start, along the fabric, that the section works up to")
    to_diameter = term("diameter the section ends with")
    to_circumference = term("circumference the section ends with")
    to_stitches = Whole(3, 10_000, **said("stitches the section ends with"))
    profile = Parts(Part(SegmentSchema), 1, 40, **said("the profile, from where the work stands"))
    increases = Whole(
        1, 200, **said("stitches a disc gains a round; those that lie flat when left out")
    )
    closes = Flag(**said("whether the last round is drawn together"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> RoundPlan:
        return RoundPlan(**data)


class RoundTemplateSchema(Strict):
    """A piece in the round as a document: what it measures, its start, and its sections."""

    name = Text(40, 1, SLUG, required=True, **said("name of the template"))
    title = Text(80, 1, required=True, **said("name for people"))
    description = Text(400, **said("what the piece is"))
    measurements = Parts(
        Part(MeasurementSchema), 0, 40, required=True, **said("measurements it asks for")
    )
    start = Part(StartSchema, required=True, **said("how the first round begins"))
    sections = Parts(
        Part(RoundSectionSchema), 1, 40, required=True, **said("sections, in working order")
    )
    rounds = Choice(("joined", "spiral"), **said("how rounds end; joined when left out"))
    offset = Flag(**said("whether increases are set off from those of the round before"))
    stitch_multiple = Part(MultipleSchema, **said("stitch counts that the stitch pattern allows"))
    row_multiple = Part(MultipleSchema, **said("round counts that the stitch pattern allows"))
    hazards = Parts(Choice(("cord",)), 0, 1, **said("what the piece is that calls for a caution"))
    assembly = Parts(
        Text(300, 1), 0, 20, **said("how the piece is put together, step by step; no counts")
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> RoundTemplate:
        return RoundTemplate(**data)


def template_document(**kwargs: Any) -> OneOfKinds:
    """A template document: flat where it has a foundation, in the round where it has a start."""
    return OneOfKinds(
        {"foundation": Part(TemplateSchema), "start": Part(RoundTemplateSchema)}, **kwargs
    )
