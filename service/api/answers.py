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
from math import isfinite
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


def _quantity(kind: str, system: System) -> str:
    """A quantity to six decimals, as a part of an f-string that has it for ``member``."""
    unit = WRITTEN[kind][system]
    one = MILLIMETRES.get(unit) or GRAMS[unit]
    times, over = one.denominator, one.numerator
    # One division of integers gives the nearest double, as that of a Fraction does.
    top = "member.numerator" + (f" * {times}" if times > 1 else "")
    under = f"(member.denominator * {over})" if over > 1 else "member.denominator"
    number = "{round(" + f"{top} / {under}" + ", 6)!r}"
    return '{{"value": ' + number + f', "unit": "{unit}"' + "}}"


def quantity(kind: str, system: System) -> Write:
    """How a quantity is written: ``in_unit``, and the unit."""
    told = _quantity(kind, system)
    made: Write = _made(["def write(member):", f"    return f'{told}'"], {})
    return made


def _number(value: float) -> str:
    """To six decimals. Raises ValueError for what JSON has no number for."""
    rounded = round(value, 6)
    return repr(rounded) if isfinite(rounded) else dumps(rounded)


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
        return _number
    if hint is bool:
        return lambda value: "true" if value else "false"
    if origin is Literal and all(isinstance(word, str) for word in args):
        return _quoted
    return _PLAIN.get(hint, dumps)


def _object_writer(cls: Any, system: System) -> Write:
    """One function for all members of a class, written out as code: a call a member is saved."""
    code, known = _written_out(cls, system)
    made: Write = _made([*code, "    return '{' + made[2:] + '}'"], known)
    return made


def _written_out(cls: Any, system: System, apart: str = "") -> tuple[list[str], dict[str, Any]]:
    """The lines of such a function, and what they call; the text goes into ``made``, and what
    stands before a member that is kept ``apart`` into ``before``."""
    known: dict[str, Any] = {"quoted": _quoted, "number": _number}
    lines = ["def write(value):", "    made = ''"]
    for name, hint, _, optional in _parts(cls):
        if name == apart:
            lines.append("    before, made = made, ''")
            continue
        told, indent = _told(name, hint, system, known), "    "
        lines.append(f"{indent}member = value.{name}")
        if optional:
            lines.append(f"{indent}if member is not None:")
            indent *= 2
        lines.append(f"{indent}made += f', \"{name}\": {told}'")
    return lines, known


def _told(name: str, hint: Any, system: System, known: dict[str, Any]) -> str:
    """A member's text, as a part of an f-string."""
    if hint is int:
        return "{member}"
    if hint is float:
        return "{number(member)}"
    if hint is str:
        return "{quoted(member)}"
    origin, args = get_origin(hint), get_args(hint)
    if origin is Annotated and args[1] != "pointer":
        return _quantity(args[1], system)
    if origin is Literal and all(str(word).isidentifier() for word in args):
        return '"{member}"'
    known[f"write_{name}"] = writer(hint, system)
    return f"{{write_{name}(member)}}"


def _made(lines: list[str], known: dict[str, Any]) -> Any:
    exec("\n".join(lines), known)  # nothing but names of the dataclass's own fields goes in
    return known["write"]


def write(answer: Any, system: System) -> str:
    """The answer as JSON text, in the unit system; members that are None are left out."""
    return unmarked(writer(answer.__class__, system)(answer))


@cache
def around(cls: Any, name: str, system: System) -> Callable[[Any], tuple[str, str]]:
    """What ``write`` writes before and after the value of one member, which is always there."""
    code, known = _written_out(cls, system, apart=name)
    made = _made([*code, "    return before, made"], known)

    def write(value: Any) -> tuple[str, str]:
        before, after = map(unmarked, made(value))
        return f'{{{before[2:]}, "{name}": ', f"{after}}}"

    return write


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
