"""What template documents of every kind are written in: multiples, terms, measurements."""

from __future__ import annotations

from typing import Any

from marshmallow import post_load

from ..engine.bodies import MEASURES
from ..engine.deriving import PARTS
from ..engine.rounding import Multiple
from ..engine.templates import (
    MeasurementPlan,
    Term,
)
from .fields import (
    LEAST,
    NAME,
    SLUG,
    Choice,
    EaseSchema,
    Flag,
    Length,
    LengthSchema,
    Loaded,
    Number,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)


class MultipleSchema(Loaded):
    """Counts a stitch pattern allows: a multiple of so many, plus so many."""

    makes = Multiple

    multiple = Whole(1, 1000, required=True, **said("stitches or rows of one repeat"))
    plus = Whole(0, 1000, **said("stitches or rows besides the repeats; 0 when left out"))


class TermSchema(Strict):
    """A length made from a measurement: times a factor, plus an ease."""

    measurement = Text(40, 1, NAME, required=True, **said("name of the measurement"))
    times = Number(LEAST, 1000, **said("factor; 1 when left out"))
    plus = Part(EaseSchema, **said("ease, added; negative to take off"))

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Term:
        return _term(data)


def _term(data: dict[str, Any]) -> Term:
    return Term(data["measurement"], **{n: data[n] for n in ("times", "plus") if n in data})


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


class TemplateFields(Loaded):
    """What every template document begins with."""

    name = Text(40, 1, SLUG, required=True, **said("name of the template"))
    title = Text(80, 1, required=True, **said("name for people"))
    description = Text(400, **said("what the piece is"))
    measurements = Parts(
        Part(MeasurementSchema), 0, 40, required=True, **said("measurements it asks for")
    )


# Members that stand at different places in each, and are listed there in the published schemas.
def stitch_multiple_field() -> Part:
    return Part(MultipleSchema, **said("stitch counts that the stitch pattern allows"))


def hazards_field() -> Parts:
    return Parts(Choice(("cord",)), 0, 1, **said("what the piece is that calls for a caution"))


def assembly_field() -> Parts:
    told = said("how the piece is put together, step by step; no counts")
    return Parts(Text(300, 1), 0, 20, **told)
