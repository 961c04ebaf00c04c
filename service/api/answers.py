"""Engine answers as JSON: the published schema and the writing of it, both read off one dataclass.

An answer's dataclass says, field by field, what it is and in what kind of quantity; nothing about
an answer is written down twice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields as dataclass_fields
from dataclasses import is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from marshmallow import INCLUDE, Schema, fields

from ..engine.exact import Fraction
from ..engine.units import GRAMS, MILLIMETRES, WRITTEN, System, in_unit
from .problems import pointer

Write = Callable[[Any, System], Any]


class Open(Schema):
    """An answer object; later versions may add members."""

    class Meta:
        unknown = INCLUDE


class Quantity(Open):
    """A number and its unit."""

    value = fields.Float(required=True, metadata={"description": "how many units"})
    unit = fields.String(
        required=True,
        metadata={"description": "unit of length or mass", "enum": [*MILLIMETRES, *GRAMS]},
    )


def quantity(kind: str) -> Write:
    units = WRITTEN[kind]

    def write(value: Fraction, system: System) -> dict[str, object]:
        unit = units[system]
        return {"value": in_unit(value, unit), "unit": unit}

    return write


def _as_is(value: Any, _: System) -> Any:
    return value


@cache
def _parts(cls: Any) -> tuple[tuple[str, Any, str, bool], ...]:
    """Name, type, description and optionality of each field of an answer."""
    hints = get_type_hints(cls, include_extras=True)
    parts = []
    for field in dataclass_fields(cls):
        hint = hints[field.name]
        description = ""
        if get_origin(hint) is Annotated:
            inner, *notes = get_args(hint)
            description = str(notes.pop())
            hint = Annotated[inner, notes[0]] if notes else inner
        optional = False
        if get_origin(hint) in (Union, UnionType) and NoneType in get_args(hint):
            optional = True
            (hint,) = (a for a in get_args(hint) if a is not NoneType)
        parts.append((field.name, hint, description, optional))
    return tuple(parts)


@cache
def writer(hint: Any) -> Write:
    """How values of a type are written; built once a type."""
    origin, args = get_origin(hint), get_args(hint)
    if origin is Annotated:
        if args[1] == "pointer":
            return lambda value, _: pointer(value)
        return quantity(args[1])
    if origin in (Union, UnionType):
        by_class = {kind: writer(kind) for kind in args}
        return lambda value, system: by_class[type(value)](value, system)
    if origin is tuple:
        inner = writer(args[0])
        return lambda value, system: [inner(v, system) for v in value]
    if isinstance(origin, type) and issubclass(origin, Mapping):
        inner = writer(args[1])
        return lambda value, system: {k: inner(v, system) for k, v in value.items()}
    if is_dataclass(hint) and isinstance(hint, type):
        return _object_writer(hint)
    if hint is float:
        return lambda value, _: round(value, 6)
    return _as_is


def _object_writer(cls: Any) -> Write:
    members = [(name, writer(hint)) for name, hint, _, _ in _parts(cls)]

    def write(value: Any, system: System) -> dict[str, Any]:
        made = {}
        for name, write_member in members:
            member = getattr(value, name)
            if member is not None:
                made[name] = write_member(member, system)
        return made

    return write


def write(answer: Any, system: System) -> Any:
    """The answer as JSON values, in the unit system; members that are None are left out."""
    return writer(answer.__class__)(answer, system)


@cache
def schema(cls: Any) -> type[Schema]:
    """The marshmallow schema of an answer's dataclass."""
    members = {
        name: _field(hint, required=not optional, metadata={"description": description})
        for name, hint, description, optional in _parts(cls)
    }
    made = Open.from_dict(members, name=cls.__name__)
    told = cls.__doc__ or ""
    # A dataclass with no docstring is given its signature for one.
    made.__doc__ = "" if told.startswith(f"{cls.__name__}(") else told.split("\n\n")[0].strip()
    return made


class EitherOf(fields.Field[Any]):
    """An answer object of one of several schemas."""

    def __init__(self, kinds: list[type[Schema]], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.kinds = kinds


def _field(hint: Any, **kwargs: Any) -> fields.Field[Any]:
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        return EitherOf([schema(kind) for kind in args], **kwargs)
    if origin is Annotated:
        return (
            fields.String(**kwargs) if args[1] == "pointer" else fields.Nested(Quantity, **kwargs)
        )
    if origin is Literal:
        kwargs["metadata"] = {**kwargs["metadata"], "enum": list(args)}
        return fields.String(**kwargs)
    if origin is tuple:
        return fields.List(_field(args[0], metadata={}), **kwargs)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return fields.Dict(keys=fields.String(), values=_field(args[1], metadata={}), **kwargs)
    if is_dataclass(hint) and isinstance(hint, type):
        return fields.Nested(schema(hint), **kwargs)
    plain: dict[Any, type[fields.Field[Any]]] = {
        int: fields.Integer,
        float: fields.Float,
        str: fields.String,
        bool: fields.Boolean,
    }
    return plain[hint](**kwargs)
