"""One template, lists of gauges and of sizes, as callers send them for a table."""

from __future__ import annotations

from typing import Any

from marshmallow import RAISE, post_load

from ..engine.ask_size_table import MOST_GAUGES, MOST_OF_SIZES, SizeTableOrder
from ..engine.units import System, system_of
from .fields import LABEL, Named, Part, Parts, Strict, Text, said
from .measures_in import AskedMeasurement
from .parts_in import EdgingSchema, GaugeSchema
from .piece_requests import PieceFields, piece_order
from .yarn_in import YarnSchema


class NamedGaugeSchema(Strict):
    """A gauge of the table."""

    name = Text(40, 1, LABEL, required=True, **said("name of the gauge"))
    gauge = Part(GaugeSchema, required=True, **said("gauge to size by"))


class NamedSizeSchema(Strict):
    """A size of the table."""

    name = Text(40, 1, LABEL, required=True, **said("name of the size"))
    measurements = Named(
        AskedMeasurement(), 40, **said("the measurements that the template asks for")
    )


class SizeTableRequest(PieceFields):
    """One template at several gauges and in several sizes; what else is told is for all."""

    class Meta:
        unknown = RAISE
        exclude = ("gauge", "measurements")

    gauges = Parts(
        Part(NamedGaugeSchema), 1, MOST_GAUGES, required=True, **said("the gauges, each by name")
    )
    sizes = Parts(
        Part(NamedSizeSchema), 1, MOST_OF_SIZES, required=True, **said("the sizes, each by name")
    )
    edging = Part(EdgingSchema, **said("an edging round the piece"))
    yarn = Part(YarnSchema, **said("what is known of the yarn"))

    def units_of(self, original: dict[str, Any]) -> System:
        if "units" in original:
            return super().units_of(original)
        return system_of(original["gauges"][0]["gauge"]["width"]["unit"])

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> SizeTableOrder:
        units = self.units_of(original)
        gauges, sizes = data.pop("gauges"), data.pop("sizes")
        return SizeTableOrder(
            tuple(g["name"] for g in gauges),
            tuple(s["name"] for s in sizes),
            tuple(
                piece_order(
                    {**data, "gauge": g["gauge"], "measurements": s.get("measurements", {})}, units
                )
                for g in gauges
                for s in sizes
            ),
            units,
        )
