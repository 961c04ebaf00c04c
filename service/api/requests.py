"""What callers send to ask one thing: a schema a question, each loading into an engine order."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.ask_buttonhole import ButtonholeOrder, PlacingOrder
from ..engine.ask_edging import EdgingsOrder, SideOrder
from ..engine.ask_gauge import GaugeOrder
from ..engine.ask_shaping import ShapingOrder
from ..engine.edgings import EdgingOrder
from ..engine.rounding import MOST_ROWS, MOST_STITCHES
from .fields import (
    Choice,
    Flag,
    Length,
    Loaded,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)
from .parts_in import (
    EDGES,
    ROUNDINGS,
    Asked,
    ButtonSchema,
    ClosureSchema,
    EdgingSchema,
    GaugeSchema,
    detail_field,
    units_field,
)
from .piece_requests import PieceFields, piece_order


class ShapingRequest(Asked):
    """From so many stitches to so many, over rows, over a height, or every so many rows."""

    start = Whole(
        1, MOST_STITCHES, required=True, data_key="from", **said("stitches before the first row")
    )
    end = Whole(1, MOST_STITCHES, required=True, data_key="to", **said("stitches on the last row"))
    rows = Whole(1, MOST_ROWS, **said("rows to shape over"))
    height = Length("height to shape over; needs the gauge")
    every = Whole(1, 1000, **said("a shaping row each so many rows"))
    gauge = Part(GaugeSchema, **said("gauge of the height"))
    edges = Choice(EDGES, **said("edges that are shaped; both when left out"))
    right_side_only = Flag(**said("shape on right-side rows only"))
    first_row = Choice(
        ("right-side", "wrong-side"), **said("what the first row is; right-side when left out")
    )
    max_change = Whole(
        1,
        1000,
        **said(
            "most stitches gained or lost in a row, both edges together; one an edge when left out"
        ),
    )
    rounding = Choice(ROUNDINGS, **said("which whole row count to take; nearest when left out"))
    detail = detail_field()
    units = units_field()

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> ShapingOrder:
        return ShapingOrder(**{**data, "units": self.units_of(original)})


class SideSchema(Loaded):
    """One side to edge, told by its count."""

    makes = SideOrder

    name = Text(60, 1, required=True, **said("name of the side"))
    along = Choice(
        ("foundation", "last-row", "row-ends"),
        required=True,
        **said("what the stitches are worked into"),
    )
    places = Whole(1, MOST_STITCHES, required=True, **said("chains, stitches or row ends along it"))
    length = Length("measured along the side; straight at the gauge when left out")
    corner = Flag(**said("whether a corner comes after it; true when left out"))


class EdgingRequest(PieceFields):
    """An edging round a piece from a template, or round sides told one by one."""

    edging = Part(EdgingSchema, **said("the edging; one round of the piece's stitch when left out"))
    sides = Parts(
        Part(SideSchema), 1, 40, **said("the sides in working order, in place of a template")
    )
    template = OneOfKinds(
        PieceFields._declared_fields["template"].kinds,  # type: ignore[attr-defined]
        **said("a built-in template's name, or a template document"),
    )

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> EdgingsOrder:
        units, edging = self.units_of(original), data.pop("edging", EdgingOrder())
        sides = data.pop("sides", ())
        piece = piece_order({**data, "edging": edging}, units) if "template" in data else None
        besides = () if piece else tuple(name for name in data if name not in ("gauge", "units"))
        return EdgingsOrder(data["gauge"], edging, piece, sides, units, besides)


class PlacingSchema(Loaded):
    """Several openings along a band, told by its stitches or by its length."""

    makes = PlacingOrder

    holes = Whole(1, 200, required=True, **said("openings along the band"))
    stitches = Whole(1, MOST_STITCHES, **said("stitches of the band"))
    end_margin = Whole(0, MOST_STITCHES, **said("plain stitches at each end; 0 when left out"))
    hole_stitches = Whole(1, 100, **said("stitches of one opening; as worked out when left out"))
    length = Length("length of the band")
    end_distance = Length("from each end to the middle of the nearest button; 0 when left out")


class ButtonholeRequest(Asked):
    """A button, the gauge, and how it is to close."""

    gauge = Part(GaugeSchema, required=True, **said("gauge of the fabric"))
    button = Part(ButtonSchema, required=True, **said("the button in hand"))
    closure = Part(ClosureSchema, **said("how the button closes; a loop when left out"))
    placing = Part(PlacingSchema, **said("several openings along a band"))
    units = units_field()

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> ButtonholeOrder:
        return ButtonholeOrder(**{**data, "units": self.units_of(original)})


class YarnWeightSchema(Strict):
    """The yarn, as far as gauge goes."""

    weight_category = Whole(
        0, 7, required=True, **said("yarn weight category, 0 (lace) to 7 (jumbo)")
    )


class GaugeRequest(Asked):
    """A swatch, and the yarn weight whose published range it is held against."""

    gauge = Part(GaugeSchema, required=True, **said("the swatch"))
    yarn = Part(YarnWeightSchema, **said("the yarn"))
    units = units_field()

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> GaugeOrder:
        category = data.get("yarn", {}).get("weight_category")
        return GaugeOrder(data["gauge"], category, self.units_of(original))
