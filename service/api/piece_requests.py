"""One piece as callers send it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from marshmallow import post_load

from ..engine.deriving import Derivation
from ..engine.roundplans import RoundTemplate
from ..engine.sizing import PieceOrder
from ..engine.templates import Template
from ..engine.units import System
from .builtins import TEMPLATES
from .fields import (
    Choice,
    Flag,
    Named,
    OneOfKinds,
    Part,
    Parts,
    Whole,
    said,
)
from .flat_documents_in import TemplateSchema
from .measures_in import AskedMeasurement
from .parts_in import (
    ROUNDINGS,
    Asked,
    ButtonSchema,
    ClosureSchema,
    ContinueSchema,
    EdgingSchema,
    FoundationSchema,
    GaugeSchema,
    InTheRoundSchema,
    detail_field,
    terms_field,
    units_field,
)
from .round_documents_in import RoundTemplateSchema
from .terms_in import MultipleSchema
from .yarn_in import ColoursSchema, YarnSchema, yarns_field


class _BuiltIn(Choice):
    def _deserialize(
        self, value: Any, attr: Any, data: Any, **kwargs: Any
    ) -> Template | RoundTemplate:
        return TEMPLATES[super()._deserialize(value, attr, data, **kwargs)]


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
    return PieceOrder(
        **{k: v for k, v in data.items() if k not in ("foundation", "units", "measurements")},
        **data.get("foundation", {}),
        **_measured(data.get("measurements", {})),
        units=units,
    )


def with_measurements(order: PieceOrder, asked: dict[str, Any]) -> PieceOrder:
    """The order with these measurements, as they are loaded, in place of its own."""
    return replace(order, **_measured(asked))


def _measured(asked: dict[str, Any]) -> dict[str, Any]:
    derived = {name: how for name, how in asked.items() if isinstance(how, Derivation)}
    lengths = {name: size for name, size in asked.items() if name not in derived}
    return {"measurements": lengths, "derived": derived}


class PieceRequest(PieceFields):
    """One piece: gauge, template and measurements, and what is to be made up on it."""

    edging = Part(EdgingSchema, **said("an edging round the piece"))
    yarn = Part(YarnSchema, **said("what is known of the yarn"))
    colours = Part(ColoursSchema, **said("which colour goes where; one yarn when left out"))
    yarns = yarns_field()
    uses = Parts(
        Choice(("carrying", "near-children", "heat")),
        0,
        3,
        **said("uses that call for a caution"),
    )
    continue_after = Part(
        ContinueSchema,
        **said("go on from here: what is worked stays as it is, and the rest is planned anew"),
    )
    terms = terms_field()
    detail = detail_field()

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> PieceOrder:
        return piece_order(data, self.units_of(original))
