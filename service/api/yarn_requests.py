"""What callers send to ask for yarn alone."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.ask_yarn import FindOrder, SeamLength, YarnQuestion
from ..engine.rounding import MOST_STITCHES
from ..engine.yarnorder import SEWN
from .fields import (
    LABEL,
    NAME,
    WORDS,
    Choice,
    Length,
    Loaded,
    Mass,
    Named,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)
from .parts_in import EdgingSchema
from .piece_requests import PieceFields, piece_order
from .yarn_in import MOST_COLOURS, ColoursSchema, YarnSchema, yarns_field


class LengthLeftSchema(Strict):
    """Yarn that is left, by its length."""

    length = Length("length that is left", required=True)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["length"], False


class MassLeftSchema(Strict):
    """Yarn that is left, by its mass."""

    mass = Mass("mass that is left", required=True)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["mass"], True


def _amount() -> dict[str, Part]:
    return {"length": Part(LengthLeftSchema), "mass": Part(MassLeftSchema)}


class ColoursLeftSchema(Strict):
    """Yarn that is left of each colour."""

    colours = Named(
        OneOfKinds({**_amount()}, **said("length or mass that is left")),
        MOST_COLOURS,
        WORDS,
        required=True,
        **said("what is left of each colour"),
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["colours"]


class RowsOfSchema(Loaded):
    """The most rows of a section."""

    makes = FindOrder

    rows_of = Text(40, 1, WORDS, required=True, **said("section, worked even, to give rows to"))


class MeasurementFoundSchema(Loaded):
    """The largest a measurement can be."""

    makes = FindOrder

    measurement = Text(40, 1, NAME, required=True, **said("measurement to make as large as can be"))


class SizesFoundSchema(Loaded):
    """The largest of several sizes: the one that takes the most yarn."""

    makes = FindOrder

    sizes = Named(
        Named(Length("the measurement in this size"), 40, **said("measurements of the size")),
        20,
        LABEL,
        fewest=1,
        required=True,
        **said("sizes by name, each with the measurements that differ from the piece's"),
    )


class SeamLengthSchema(Loaded):
    """A seam of the piece, by its length."""

    makes = SeamLength

    length = Length("length of the seam", required=True)
    places = Whole(
        1,
        MOST_STITCHES,
        **said("stitches or rows along a crocheted seam; by its length when left out"),
    )
    sewn = Choice(SEWN, **said("what it is worked in; mattress when left out"))


class YarnRequest(PieceFields):
    """One piece and its yarn: what to buy; or, with what is left, what can be made from it."""

    edging = Part(EdgingSchema, **said("an edging round the piece"))
    yarn = Part(YarnSchema, **said("what is known of the yarn"))
    colours = Part(ColoursSchema, **said("which colour goes where; one yarn when left out"))
    yarns = yarns_field()
    seams = Parts(Part(SeamLengthSchema), 0, 40, **said("seams besides those of the template"))
    left = OneOfKinds(
        {"colours": Part(ColoursLeftSchema), **_amount()},
        **said("yarn that is left: a length or a mass, or one for each colour"),
    )
    find = OneOfKinds(
        {
            "rows_of": Part(RowsOfSchema),
            "measurement": Part(MeasurementFoundSchema),
            "sizes": Part(SizesFoundSchema),
        },
        **said("what to find for what is left; whether it is enough for the piece when left out"),
    )

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> YarnQuestion:
        asked = {key: data.pop(key) for key in ("seams", "left", "find") if key in data}
        if "left" in asked and not isinstance(asked["left"], dict):
            asked["left"] = {"": asked["left"]}
        units = self.units_of(original)
        return YarnQuestion(piece_order(data, units), **asked)
