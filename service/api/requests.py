"""What callers send: one schema a computing endpoint, each loading into an engine order."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from marshmallow import post_load

from ..engine.ask_buttonhole import ButtonholeOrder, PlacingOrder
from ..engine.ask_edging import EdgingsOrder, SideOrder
from ..engine.ask_gauge import GaugeOrder
from ..engine.ask_shaping import ShapingOrder
from ..engine.deriving import Derivation
from ..engine.edgings import Corner, EdgingOrder
from ..engine.gauge import Gauge
from ..engine.openings import Button, ClosureOrder
from ..engine.rounding import MOST_ROWS, MOST_STITCHES
from ..engine.roundplans import InTheRound, RoundTemplate
from ..engine.sizing import PieceOrder
from ..engine.stitches import STITCHES
from ..engine.templates import Template
from ..engine.units import System, system_of
from ..engine.yarn import SwatchYarn, YarnOrder
from .builtins import TEMPLATES
from .documents_in import MultipleSchema, RoundTemplateSchema, TemplateSchema
from .fields import (
    LEAST,
    Choice,
    Flag,
    Length,
    Mass,
    Named,
    Number,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)
from .measures_in import AskedMeasurement

WORKED = tuple(STITCHES)
ROUNDINGS = ("nearest", "at-least", "at-most")
EDGES = ("both", "left", "right")


def percent(value: Fraction) -> Fraction:
    return value / 100


class BlockedSchema(Strict):
    """The same swatch measured again after blocking."""

    width = Length("width of the same stitches, blocked")
    height = Length("height of the same rows, blocked")


class GaugeSchema(Strict):
    """So many stitches over this width, so many rows over this height."""

    stitch = Choice(WORKED, required=True, **said("stitch of the swatch"))
    stitches = Number(LEAST, 1000, required=True, **said("stitches counted, fractions too"))
    width = Length("width those stitches measure", required=True)
    rows = Number(LEAST, 1000, required=True, **said("rows counted, fractions too"))
    height = Length("height those rows measure", required=True)
    blocked = Part(BlockedSchema, **said("the same swatch measured again after blocking"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Gauge:
        blocked = data.pop("blocked", {})
        return Gauge(
            **data, blocked_width=blocked.get("width"), blocked_height=blocked.get("height")
        )


class ButtonSchema(Strict):
    """The button in hand."""

    diameter = Length("across the button", required=True)
    thickness = Length("through the button; 3 mm is taken when left out")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Button:
        return Button(**data)


class ClosureSchema(Strict):
    """How the button closes; sizes left out are worked out."""

    kind = Choice(("loop", "slit"), **said("a chain loop on the last row, or a slit in the fabric"))
    span = Whole(1, 100, **said("stitches that a loop bridges; 2 when left out"))
    chains = Whole(1, 200, **said("chains of the loop, to check a loop of your own"))
    skipped = Whole(1, 100, **said("stitches or rows of the slit, to check one of your own"))
    direction = Choice(("across", "along"), **said("a slit across a row, or up the rows"))
    chains_over = Choice(
        ("as-skipped", "one-fewer"),
        **said("chains over a slit: as many as skipped, or one fewer since chains stretch"),
    )
    stretch_percent = Number(
        0,
        100,
        **said("the most a slit is asked to give as the button goes through; 50 when left out"),
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> ClosureOrder:
        if "stretch_percent" in data:
            data["stretch"] = percent(data.pop("stretch_percent"))
        return ClosureOrder(**data)


class CornerSchema(Strict):
    """What is worked at a corner."""

    stitches = Whole(0, 20, **said("stitches into the corner, in place of one; 0 when left out"))
    chains = Whole(0, 10, **said("chains at the corner; 0 when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Corner:
        return Corner(data.get("stitches", 0), data.get("chains", 0))


class EdgingSchema(Strict):
    """An edging round the piece."""

    stitch = Choice(
        tuple(s for s in WORKED if STITCHES[s].makes_rows),
        **said("stitch of the edging; the piece's own when left out"),
    )
    rounds = Whole(1, 20, **said("rounds of edging; 1 when left out"))
    corner = Part(CornerSchema, **said("what is worked at each corner; one chain when left out"))
    spread = Choice(
        ("usual", "measured"),
        **said("sides by the stitch's usual ratio to row ends, or by measured length"),
    )
    gauge = Part(GaugeSchema, **said("the edging's own gauge, where it differs"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> EdgingOrder:
        return EdgingOrder(**data)


class SwatchYarnSchema(Strict):
    """A swatch and the yarn it took: its mass, or its unravelled length."""

    width = Length("width of the swatch", required=True)
    height = Length("height of the swatch", required=True)
    mass = Mass("what the swatch weighs")
    unravelled_length = Length("length of its yarn, unravelled")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> SwatchYarn:
        return SwatchYarn(
            data["width"], data["height"], data.get("mass"), data.get("unravelled_length")
        )


class BallSchema(Strict):
    """What a ball holds."""

    length = Length("length of yarn on a ball")
    mass = Mass("mass of a ball")


class YarnSchema(Strict):
    """What is known of the yarn."""

    weight_category = Whole(0, 7, **said("yarn weight category, 0 (lace) to 7 (jumbo)"))
    ball = Part(BallSchema, **said("what a ball holds"))
    swatch = Part(SwatchYarnSchema, **said("a swatch and the yarn it took"))
    margin_percent = Number(0, 100, **said("bought over the estimate; 10 when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> YarnOrder:
        ball = data.pop("ball", {})
        if "margin_percent" in data:
            data["margin"] = percent(data.pop("margin_percent"))
        return YarnOrder(**data, ball_length=ball.get("length"), ball_mass=ball.get("mass"))


class FoundationSchema(Strict):
    """The custom for turning chains, where the trade has two."""

    turning_chain = Whole(1, 5, **said("chains to turn with"))
    turning_chain_counts = Flag(**said("whether the turning chain stands for a stitch"))


class InTheRoundSchema(Strict):
    """Choices for a piece in the round; the template's own where left out."""

    rounds = Choice(("joined", "spiral"), **said("how rounds end"))
    offset = Flag(**said("whether increases are set off from those of the round before"))
    increases = Whole(
        1, 200, **said("stitches a disc gains a round; those that lie flat when left out")
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> InTheRound:
        return InTheRound(**data)


class _BuiltIn(Choice):
    def _deserialize(
        self, value: Any, attr: Any, data: Any, **kwargs: Any
    ) -> Template | RoundTemplate:
        return TEMPLATES[super()._deserialize(value, attr, data, **kwargs)]


def units_field() -> Choice:
    return Choice(
        ("metric", "imperial"), **said("units of the answer; those of the gauge when left out")
    )


def terms_field() -> Choice:
    return Choice(("us", "uk"), **said("terms of the instructions; us when left out"))


def detail_field() -> Choice:
    return Choice(("runs", "rows"), **said("rows adds the stitch count of every row"))


class Asked(Strict):
    """A request body; its unit system is the one asked for, else the gauge's own."""

    def units_of(self, original: dict[str, Any]) -> System:
        if "units" in original:
            system: System = original["units"]
            return system
        gauge = original.get("gauge")
        return system_of(gauge["width"]["unit"]) if gauge else "metric"


class PieceFields(Asked):
    """What tells a piece, its making up aside."""

    gauge = Part(GaugeSchema, required=True, **said("gauge to size by"))
    template = OneOfKinds(
        {
            "string": _BuiltIn(tuple(TEMPLATES), **said("name of a built-in template")),
            "foundation": Part(TemplateSchema),
            "start": Part(RoundTemplateSchema),
        },
        **said("a built-in template's name, or a template document"),
        required=True,
    )
    measurements = Named(
        AskedMeasurement(), 40, **said("the measurements that the template asks for")
    )
    foundation = Part(FoundationSchema, **said("the custom for turning chains"))
    stitch_multiple = Part(MultipleSchema, **said("stitch counts that the stitch pattern allows"))
    row_multiple = Part(MultipleSchema, **said("row counts that the stitch pattern allows"))
    rounding = Choice(ROUNDINGS, **said("which whole count to take; nearest when left out"))
    right_side_only = Flag(**said("shape on right-side rows only; row 1 is one"))
    max_change = Whole(
        1,
        100,
        **said(
            "most stitches gained or lost in a row, both edges together; when left out, one an edge"
            " in a taper and 100 in an outline"
        ),
    )
    in_the_round = Part(InTheRoundSchema, **said("choices for a piece in the round"))
    button = Part(ButtonSchema, **said("the button in hand"))
    closure = Part(ClosureSchema, **said("how the button closes; a loop when left out"))
    units = units_field()


def piece_order(data: dict[str, Any], units: System) -> PieceOrder:
    asked = data.get("measurements", {})
    derived = {name: how for name, how in asked.items() if isinstance(how, Derivation)}
    return PieceOrder(
        **{k: v for k, v in data.items() if k not in ("foundation", "units", "measurements")},
        **data.get("foundation", {}),
        measurements={name: size for name, size in asked.items() if name not in derived},
        derived=derived,
        units=units,
    )


class PieceRequest(PieceFields):
    """One piece: gauge, template and measurements, and what is to be made up on it."""

    edging = Part(EdgingSchema, **said("an edging round the piece"))
    yarn = Part(YarnSchema, **said("what is known of the yarn"))
    uses = Parts(
        Choice(("carrying", "near-children", "heat")),
        0,
        3,
        **said("uses that call for a caution"),
    )
    terms = terms_field()
    detail = detail_field()

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> PieceOrder:
        return piece_order(data, self.units_of(original))


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


class SideSchema(Strict):
    """One side to edge, told by its count."""

    name = Text(60, 1, required=True, **said("name of the side"))
    along = Choice(
        ("foundation", "last-row", "row-ends"),
        required=True,
        **said("what the stitches are worked into"),
    )
    places = Whole(1, MOST_STITCHES, required=True, **said("chains, stitches or row ends along it"))
    length = Length("measured along the side; straight at the gauge when left out")
    corner = Flag(**said("whether a corner comes after it; true when left out"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> SideOrder:
        return SideOrder(**data)


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
        return EdgingsOrder(data["gauge"], edging, piece, sides, units)


class PlacingSchema(Strict):
    """Several openings along a band, told by its stitches or by its length."""

    holes = Whole(1, 200, required=True, **said("openings along the band"))
    stitches = Whole(1, MOST_STITCHES, **said("stitches of the band"))
    end_margin = Whole(0, MOST_STITCHES, **said("plain stitches at each end; 0 when left out"))
    hole_stitches = Whole(1, 100, **said("stitches of one opening; as worked out when left out"))
    length = Length("length of the band")
    end_distance = Length("from each end to the middle of the nearest button; 0 when left out")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> PlacingOrder:
        return PlacingOrder(**data)


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
