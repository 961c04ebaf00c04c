"""The parameters of a question asked by GET, for the OpenAPI document: read off its schema."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from marshmallow import Schema, fields

from . import fields as own
from . import parameters
from .operations import Operation
from .parameters import WHOLE
from .representations import CHOSEN_BY

_QUANTITIES = (own.LengthSchema, own.EaseSchema, own.MassSchema)
# Exponents past two digits are past all range, and malformed rather than wrong.
QUANTITY = parameters.QUANTITY.replace("[eE][+-]?[0-9]+", "[eE][+-]?[0-9]{1,2}")
_WHOLE_TOLD = (
    "the whole document as JSON, in place of the other parameters; see the request's schema"
)


def chosen_by(operation: Operation) -> dict[str, Any]:
    """The parameter that chooses a representation by name; with any method."""
    names = [offer.name for offer in operation.offers]
    told = "name of the representation to answer with, within what Accept allows"
    return _parameter(CHOSEN_BY, told, {"type": "string", "enum": names})


def asked_by(operation: Operation, reference: str) -> list[dict[str, Any]]:
    """All that may be asked in the query of a GET, named members of the caller's aside."""
    told = {"$ref": reference}
    whole = {"name": WHOLE, "in": "query", "description": _WHOLE_TOLD,
             "content": {"application/json": {"schema": told}}}  # fmt: skip
    return [*_members(operation.request(), "", 1), whole, chosen_by(operation)]


def _members(schema: Schema, prefix: str, depth: int) -> Iterator[dict[str, Any]]:
    for attribute, field in schema.fields.items():
        name = prefix + (field.data_key or attribute)
        told = str(field.metadata.get("description", ""))
        if isinstance(field, own.Part) and not isinstance(field.schema, _QUANTITIES):
            if depth:
                yield from _members(field.schema, f"{name}.", depth - 1)
        elif kind := _kind(field):
            yield _parameter(name, told, kind)


def _kind(field: fields.Field[Any]) -> dict[str, Any] | None:
    match field:
        case own.Whole():
            return {"type": "integer", "minimum": field.low, "maximum": field.high}
        case own.Number():
            return {"type": "number", "minimum": float(field.low), "maximum": float(field.high)}
        case own.Flag():
            return {"type": "boolean"}
        case own.Choice():
            return {"type": "string", "enum": list(field.choices)}
        case own.Part():
            return {"type": "string", "pattern": f"^{QUANTITY}$", "maxLength": 40}
        case own.OneOfKinds() if "string" in field.kinds:
            return _kind(field.kinds["string"])
        case own.Parts() if inner := _kind(field.inner):
            return {"type": "array", "items": inner, "maxItems": field.most}
    return None


def _parameter(name: str, told: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"name": name, "in": "query", "description": told, "schema": schema}
