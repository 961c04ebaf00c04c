"""The yarn and its colours as callers tell of them."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.yarncounts import COUNT_SYSTEMS, YarnCount
from ..engine.yarnorder import BallOrder, ColoursOrder, StripeOrder, SwatchYarn, YarnOrder
from .fields import (
    LEAST,
    WORDS,
    Choice,
    Flag,
    Length,
    Loaded,
    Mass,
    Named,
    Number,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)
from .parts_in import percent

MOST_COLOURS = 20


class SwatchYarnSchema(Strict):
    """A swatch and the yarn it took, foundation chain and all: its mass, or its length unravelled.

    Its size is told by width and height, or (surer) by the stitches and rows counted.
    """

    width = Length("width of the swatch")
    height = Length("height of the swatch")
    stitches = Whole(1, 1000, **said("stitches of a row of the whole swatch"))
    rows = Whole(1, 1000, **said("rows of the whole swatch"))
    mass = Mass("what the swatch weighs")
    unravelled_length = Length("length of its yarn, unravelled")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> SwatchYarn:
        return SwatchYarn(unravelled=data.pop("unravelled_length", None), **data)


class BallSchema(Loaded):
    """What a ball holds."""

    makes = BallOrder

    length = Length("length of yarn on a ball")
    mass = Mass("mass of a ball")


class YarnCountSchema(Loaded):
    """The yarn's count as its label has it."""

    makes = YarnCount

    system = Choice(
        COUNT_SYSTEMS,
        required=True,
        **said("tex: grams to 1,000 m; denier: grams to 9,000 m; nm: metres to a gram; ne: cotton"),
    )
    value = Number(LEAST, 100_000, required=True, **said("the count"))


class SubstituteSchema(Strict):
    """Another yarn to make the same from, at the same gauge."""

    ball = Part(BallSchema, required=True, **said("what a ball of it holds: length and mass"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["ball"]


class YarnSchema(Strict):
    """What is known of the yarn; the more, the closer the estimate."""

    weight_category = Whole(0, 7, **said("yarn weight category, 0 (lace) to 7 (jumbo)"))
    ball = Part(BallSchema, **said("what a ball holds"))
    count = Part(YarnCountSchema, **said("the yarn's count"))
    wraps_per_inch = Number(LEAST, 200, **said("wraps that lie side by side along an inch"))
    swatch = Part(SwatchYarnSchema, **said("a swatch and the yarn it took"))
    include_swatch = Flag(**said("whether the swatch is to be bought too; false when left out"))
    margin_percent = Number(0, 100, **said("bought over the estimate; 10 when left out"))
    substitute = Part(SubstituteSchema, **said("another yarn to make the same from"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> YarnOrder:
        ball = data.pop("ball", BallOrder())
        if "margin_percent" in data:
            data["margin"] = percent(data.pop("margin_percent"))
        return YarnOrder(**data, ball_length=ball.length, ball_mass=ball.mass)


def colour(description: str, **kwargs: Any) -> Text:
    return Text(40, 1, WORDS, **said(description, **kwargs))


class StripeRowsSchema(Strict):
    """Rows of one colour."""

    colour = colour("name of the colour", required=True)
    rows = Whole(1, 1000, required=True, **said("rows or rounds of it"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["colour"], data["rows"]


class StripesSchema(Loaded):
    """Colours in turn, from the first row of a section and over again to its last."""

    makes = StripeOrder

    section = Text(40, 1, WORDS, **said("section that is striped; each of them when left out"))
    repeat = Parts(
        Part(StripeRowsSchema), 1, 40, required=True, **said("the colours in turn, with their rows")
    )


class ColoursSchema(Loaded):
    """Which colour goes where. The foundation is in the colour of the first row."""

    makes = ColoursOrder

    main = colour("colour of all that is not told", required=True)
    sections = Named(colour("its colour"), 40, WORDS, **said("colours of sections, by their names"))
    stripes = Parts(Part(StripesSchema), 0, 40, **said("sections that are striped"))
    edging = colour("colour of the edging")
    loop = colour("colour of the button loop; that of what it stands on when left out")
    seams = colour("colour of the sewing yarn")
    carried = Flag(
        **said(
            "whether yarn is carried up the edge from stripe to stripe; when left out it is broken"
            " off at each change of colour, with two tails"
        )
    )


def yarns_field() -> Named:
    return Named(
        Part(YarnSchema),
        MOST_COLOURS,
        WORDS,
        **said("yarns by colour, where they differ from yarn"),
    )
