"""Loading made quick: each request schema turned, once, into functions that take what is right.

The schemas stay the one truth. What is made here is read off their fields, gives what they give,
and judges nothing: wherever a value is not plainly right it raises ``Doubt``, and the schema itself
is asked, so that every refusal is the schema's own. A test holds thousands of bodies to that.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from marshmallow import Schema, ValidationError, missing

from ..engine.units import exact
from . import fields

Read = Callable[[Any], Any]


class Doubt(Exception):
    """Not plainly right: the schema is to judge."""


_known: dict[type[Schema], Read] = {}


def reader(schema: Schema) -> Read:
    """What the schema's ``load`` gives, or Doubt; made once for all schemas of a class."""
    if schema.only or schema.exclude or schema.partial or schema.many:
        return _reader(schema)
    kind = type(schema)
    if kind not in _known:
        _known[kind] = _reader(schema)
    return _known[kind]


def _reader(schema: Schema) -> Read:
    hooks = schema._hooks  # marshmallow has no public name for them
    made = [
        (getattr(schema, name), bool(told.get("pass_original")))
        for name, _, told in hooks["post_load"]
    ]
    if len(made) > 1 or any(hooks[tag] for tag in hooks if tag != "post_load"):
        return _of_the_schema(schema)
    members = []
    for name, field in schema.load_fields.items():
        if field.load_default is not missing:
            return _of_the_schema(schema)
        members.append(
            (field.data_key or name, field.attribute or name, of_field(field), field.required)
        )
    make, with_original = made[0] if made else (None, False)

    def read(value: Any) -> Any:
        if type(value) is not dict:
            raise Doubt
        taken = {}
        get = value.get
        for key, name, inner, required in members:
            given = get(key, missing)
            if given is not missing:
                taken[name] = inner(given)
            elif required:
                raise Doubt
        if len(taken) != len(value):  # there are members that the schema does not know
            raise Doubt
        if make is None:
            return taken
        return make(taken, value) if with_original else make(taken)

    return read


def _of_the_schema(schema: Schema) -> Read:
    return schema.load


def of_field(field: Any) -> Read:
    """What the field's ``deserialize`` gives a value that is there, or Doubt."""
    kind = type(field)
    plain = not (field.validators or field.allow_none or field.pre_load or field.post_load)
    make = _MAKERS.get(kind) if plain else None
    if make:
        return make(field)
    # A kind that overrides how it loads is asked itself.
    for known, make in _MAKERS.items():
        same = kind._deserialize is known._deserialize  # type: ignore[attr-defined]
        if plain and isinstance(field, known) and same:
            return make(field)
    whole: Read = field.deserialize
    return whole


def _number(field: fields.Number) -> Read:
    low, high = field.low, field.high

    def read(value: Any) -> Any:
        kind = type(value)
        if (kind is int or kind is Decimal or kind is float) and low <= value <= high:
            return exact(value)
        raise Doubt

    return read


def _whole(field: fields.Whole) -> Read:
    low, high = field.low, field.high

    def read(value: Any) -> Any:
        if type(value) is int and low <= value <= high:
            return value
        return field.deserialize(value)  # 16.0 is a whole number too

    return read


def _flag(_: fields.Flag) -> Read:
    def read(value: Any) -> Any:
        if value is True or value is False:
            return value
        raise Doubt

    return read


def _text(field: fields.Text) -> Read:
    shortest, longest = field.shortest, field.longest
    search = field._matches.search if field._matches else None

    def read(value: Any) -> Any:
        fits = type(value) is str and shortest <= len(value) <= longest
        if fits and (search is None or search(value)):
            return value
        raise Doubt

    return read


def _choice(field: fields.Choice) -> Read:
    choices = frozenset(field.choices)

    def read(value: Any) -> Any:
        if type(value) is str and value in choices:
            return value
        raise Doubt

    return read


def _part(field: fields.Part) -> Read:
    inner: Read | None = None

    def read(value: Any) -> Any:
        nonlocal inner
        if inner is None:  # made at its first use: schemas may hold each other
            inner = reader(field.schema)
        return inner(value)

    return read


def _parts(field: fields.Parts) -> Read:
    inner, fewest, most = of_field(field.inner), field.fewest, field.most

    def read(value: Any) -> Any:
        if type(value) is list and fewest <= len(value) <= most:
            return tuple([inner(item) for item in value])
        raise Doubt

    return read


def _named(field: fields.Named) -> Read:
    inner, fewest, most = of_field(field.inner), field.fewest, field.most
    key = _text(fields.Text(40, 1, field.pattern))

    def read(value: Any) -> Any:
        if type(value) is dict and fewest <= len(value) <= most:
            return {key(name): inner(item) for name, item in value.items()}
        raise Doubt

    return read


def _one_of(field: fields.OneOfKinds) -> Read:
    kinds = {name: of_field(kind) for name, kind in field.kinds.items()}
    kind_of = field.kind_of

    def read(value: Any) -> Any:
        kind = kind_of(value)
        if kind is None:
            raise Doubt
        return kinds[kind](value)

    return read


_MAKERS: dict[type, Callable[[Any], Read]] = {
    fields.Number: _number,
    fields.Whole: _whole,
    fields.Flag: _flag,
    fields.Text: _text,
    fields.Choice: _choice,
    fields.Part: _part,
    fields.Parts: _parts,
    fields.Named: _named,
    fields.OneOfKinds: _one_of,
}


def loader(schema: Schema) -> Read:
    """The schema's ``load``, quick where the value is right.

    Raises ValidationError, the schema's own.
    """
    quick = reader(schema)

    def load(value: Any) -> Any:
        try:
            return quick(value)
        except (Doubt, ValidationError):
            return schema.load(value)

    return load
