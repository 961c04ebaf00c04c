"""Engine answers as JSON: the published schema and the writing of it, both read off one dataclass.

An answer's dataclass says, field by field, what it is and in what kind of quantity; nothing about
an answer is written down twice.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields as dataclass_fields
from dataclasses import is_dataclass
from functools import cache
from json.encoder import encode_basestring
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from marshmallow import INCLUDE, Schema, fields

from ..engine.units import GRAMS, MILLIMETRES, WRITTEN, System
from .problems import pointer
from .writing import dumps, unmarked

Write = Callable[[Any], str]

_quoted = encode_basestring


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


def quantity(kind: str, system: System) -> Write:
    """A quantity to six decimals: ``in_unit``, with the division done in one step."""
    unit = WRITTEN[kind][system]
    one = MILLIMETRES.get(unit) or GRAMS[unit]
    times, over, end = one.denominator, one.numerator, f', "unit": "{unit}"}}'

    def write(value: Any) -> str:
        # Division of integers gives the nearest double, as that of a Fraction does.
        number = value.numerator * times / (value.denominator * over)
        return '{"value": ' + repr(round(number, 6)) + end

    return write


_PLAIN: dict[Any, Write] = {str: _quoted, int: repr}


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
def writer(hint: Any, system: System) -> Write:
    """How values of a type are written in a unit system; built once."""
    origin, args = get_origin(hint), get_args(hint)
    if origin is Annotated:
        if args[1] == "pointer":
            return lambda value: _quoted(pointer(value))
        return quantity(args[1], system)
    if origin in (Union, UnionType):
        by_class = {kind: writer(kind, system) for kind in args}
        return lambda value: by_class[type(value)](value)
    if origin is tuple:
        inner = writer(args[0], system)
        return lambda value: "[" + ", ".join([inner(v) for v in value]) + "]"
    if isinstance(origin, type) and issubclass(origin, Mapping):
        inner = writer(args[1], system)
        return lambda value: (
            "{" + ", ".join([f"{_quoted(k)}: {inner(v)}" for k, v in value.items()]) + "}"
        )
    if is_dataclass(hint) and isinstance(hint, type):
        return _object_writer(hint, system)
    if hint is float:
        return lambda value: dumps(round(value, 6))
    if hint is bool:
        return lambda value: "true" if value else "false"
    if origin is Literal and all(isinstance(word, str) for word in args):
        return _quoted
    return _PLAIN.get(hint, dumps)


def _object_writer(cls: Any, system: System) -> Write:
    """One function for all members of a class, written out as code: a call a member is saved."""
    known: dict[str, Any] = {"quoted": _quoted}
    lines = ["def write(value):", "    made = ''"]
    for name, hint, _, optional in _parts(cls):
        known[f"write_{name}"] = writer(hint, system)
        told = {int: "{member}", str: "{quoted(member)}"}.get(hint, f"{{write_{name}(member)}}")
        indent = "    "
        lines.append(f"{indent}member = value.{name}")
        if optional:
            lines.append(f"{indent}if member is not None:")
            indent *= 2
        lines.append(f"{indent}made += f', \"{name}\": {told}'")
    lines.append("    return '{' + made[2:] + '}'")
    exec("\n".join(lines), known)  # nothing but names of the dataclass's own fields goes in
    made: Write = known["write"]
    return made


def write(answer: Any, system: System) -> str:
    """The answer as JSON text, in the unit system; members that are None are left out."""
    return unmarked(writer(answer.__class__, system)(answer))


def around(answer: Any, name: str, system: System) -> tuple[str, str]:
    """What ``write`` writes before and after the value of a member, which has to be there."""
    texts = [
        (member, unmarked(writer(hint, system)(getattr(answer, member))))
        for member, hint, _, optional in _parts(answer.__class__)
        if not optional or getattr(answer, member) is not None
    ]
    at = [member for member, _ in texts].index(name)
    told = [f'"{member}": {text}' for member, text in texts]
    return (
        "{" + "".join(f"{one}, " for one in told[:at]) + f'"{name}": ',
        "".join(f", {one}" for one in told[at + 1 :]) + "}",
    )


def writer_of(cls: Any, name: str, system: System) -> Write:
    """How one member of an answer is written."""
    write = next(writer(hint, system) for member, hint, _, _ in _parts(cls) if member == name)
    return lambda value: unmarked(write(value))


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
