"""Template documents: one schema for the built-in ones and for those a caller writes."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from marshmallow import post_load

from ..engine.rounding import Multiple
from ..engine.templates import (
    FoldPlan,
    FoundationPlan,
    MeasurementPlan,
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
        return Term(
            data["measurement"], data.get("times", Fraction(1)), data.get("plus", Fraction(0))
        )


class _NameOnly(Text):
    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Term:
        return Term(super()._deserialize(value, attr, data, **kwargs))


class _Fixed(Part):
    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Term:
        return Term(None, plus=super()._deserialize(value, attr, data, **kwargs))


def term(description: str) -> OneOfKinds:
    """A length in a template: a measurement's name, one made from a measurement, or fixed."""
    return OneOfKinds(
        {
            "string": _NameOnly(40, 1, NAME, **said("name of a measurement")),
            "measurement": Part(TermSchema),
            "value": _Fixed(LengthSchema),
        },
        **said(description),
    )


class MeasurementSchema(Strict):
    """A measurement that the template asks for."""

    name = Text(40, 1, NAME, required=True, **said("name it is asked for by"))
    meaning = Text(200, 1, required=True, **said("where on the piece it is taken"))
    optional = Flag(**said("whether it may be left out; false when not given"))
    minimum = Length("smallest the template is made for")
    maximum = Length("largest the template is made for")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> MeasurementPlan:
        return MeasurementPlan(**data)


class FoundationPlanSchema(Strict):
    """What the piece begins with: a width or a stitch count, not both."""

    width = term("width of the foundation")
    stitches = Whole(1, 10_000, **said("stitches of the foundation"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> FoundationPlan:
        return FoundationPlan(**data)


class SectionSchema(Strict):
    """A stretch of rows, worked even or tapered (in either direction).

    A taper goes to exactly one of: to_width, to_stitches, to_point. Its extent is its height
    where that is asked for; else its rows; else what shaping every so many rows takes.
    """

    name = Text(40, 1, WORDS, required=True, **said("name of the section"))
    shape = Choice(("even", "taper"), required=True, **said("even keeps its stitch count"))
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
            "most stitches gained or lost in a row, both edges together; one an edge when left out"
        ),
    )
    right_side_only = Flag(**said("shape on right-side rows only; row 1 is one"))
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
