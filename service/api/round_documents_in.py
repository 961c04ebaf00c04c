"""Template documents of pieces in the round."""

from __future__ import annotations

from ..engine.roundplans import RoundPlan, RoundTemplate, SegmentPlan, StartPlan
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
    signed_term,
    stitch_multiple_field,
    term,
)


class StartSchema(Loaded):
    """How the first round begins: a ring takes no size, a closed chain one, an oval two."""

    makes = StartPlan

    kind = Choice(
        ("ring", "chain", "oval"),
        required=True,
        **said("ring; chain, closed; or oval, a chain worked along both sides"),
    )
    circumference = term("round a closed chain")
    stitches = Whole(3, 10_000, **said("stitches of a closed chain"))
    length = term("length the oval grows to")
    width = term("width the oval grows to")


class SegmentSchema(Loaded):
    """A stretch of a profile, from where the one before it ends."""

    makes = SegmentPlan

    out = signed_term("away from the axis; negative: towards it", required=True)
    up = signed_term("along the axis", required=True)
    bend = Choice(
        ("line", "level-first", "upright-first"),
        **said("straight, or a quarter of an ellipse that starts level or upright"),
    )


class RoundSectionSchema(Loaded):
    """A stretch of rounds.

    even keeps its count, and needs height, rounds or reaches; disc grows flat, and needs
    to_diameter or to_circumference; cone goes to a width or count, and needs height or rounds;
    profile follows its segments.
    """

    makes = RoundPlan

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


class RoundTemplateSchema(TemplateFields):
    """A piece in the round as a document: what it measures, its start, and its sections."""

    makes = RoundTemplate

    start = Part(StartSchema, required=True, **said("how the first round begins"))
    sections = Parts(
        Part(RoundSectionSchema), 1, 40, required=True, **said("sections, in working order")
    )
    rounds = Choice(("joined", "spiral"), **said("how rounds end; joined when left out"))
    offset = Flag(**said("whether increases are set off from those of the round before"))
    stitch_multiple = stitch_multiple_field()
    row_multiple = Part(MultipleSchema, **said("round counts that the stitch pattern allows"))
    hazards = hazards_field()
    assembly = assembly_field()
