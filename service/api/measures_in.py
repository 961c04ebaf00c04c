"""The ways to ask for a measurement: a length, or made from a body or an object."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.bodies import MEASURES, POPULATIONS, SIZES, STATISTICS, BodyOrder
from ..engine.deriving import PARTS, Derivation, ObjectOrder
from ..engine.exact import Fraction
from .fields import (
    LEAST,
    Choice,
    EaseSchema,
    Length,
    Loaded,
    Number,
    OneOfKinds,
    Part,
    Strict,
    said,
)


class BodySchema(Loaded):
    """A body measure from the table of body sizes."""

    makes = BodyOrder

    population = Choice(POPULATIONS, required=True, **said("whose body"))
    measure = Choice(MEASURES, required=True, **said("what is measured"))
    size = Choice(SIZES, **said("age or named size; may be left out where there is only one"))
    statistic = Choice(
        STATISTICS, **said("the mean, the median or the published size when left out")
    )


class ObjectSchema(Strict):
    """An object in hand; only the sizes that are made use of need be given."""

    width = Length("across its front")
    height = Length("up its front")
    thickness = Length("from its front to its back")


class _Derived(Strict):
    ease = Part(EaseSchema, **said("ease, added; negative to take off; none when left out"))
    times = Number(LEAST, 1000, **said("factor, before the ease; 1 when left out"))


class FromBodySchema(_Derived):
    """A measurement made from a body: its measure times a factor, plus an ease."""

    body = Part(BodySchema, required=True, **said("body measure to make it from"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Derivation:
        return _derivation(data.pop("body"), data)


class FromObjectSchema(_Derived):
    """A measurement made from an object: what is taken of it times a factor, plus an ease."""

    object = Part(ObjectSchema, required=True, **said("object to make it from"))
    take = Choice(
        tuple(PARTS),
        required=True,
        data_key="as",
        **said(
            "what is taken: a size of it; around-width (or -height), twice that size and the"
            " thickness, goes round it; cover-width (or -height), the size plus the thickness, is"
            " half of that, for a front and a back; fold-height, twice the height plus the"
            " thickness, is folded under it"
        ),
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Derivation:
        return _derivation(ObjectOrder(data.pop("take"), **data.pop("object")), data)


def _derivation(of: BodyOrder | ObjectOrder, data: dict[str, Any]) -> Derivation:
    return Derivation(of, data.get("ease", Fraction(0)), data.get("times", Fraction(1)))


class AskedMeasurement(OneOfKinds):
    """A length, or a body or an object to make it from."""

    def __init__(self) -> None:
        super().__init__(
            {
                "value": Length("the measurement itself"),
                "body": Part(FromBodySchema),
                "object": Part(FromObjectSchema),
            },
            **said("a length, or a body or an object to make it from"),
        )

    def kind_of(self, value: Any) -> str | None:
        """An object that tells neither is taken for a length with a slip in it."""
        if not isinstance(value, dict):
            return None
        return next((kind for kind in ("body", "object") if kind in value), "value")

    def told(self) -> list[str]:
        return [f"object with {kind}" for kind in self.kinds]
