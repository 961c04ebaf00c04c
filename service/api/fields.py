"""marshmallow fields that take JSON's types at their word, and errors that carry a way out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar, cast

from marshmallow import RAISE, Schema, ValidationError, fields, post_load

from ..engine.errors import Permitted
from ..engine.exact import Fraction
from ..engine.units import GRAMS, MILLIMETRES, exact
from ..engine.units import length as a_length
from ..engine.units import mass as a_mass

# (?!\n) because Python lets $ stand before a last line end, and the published pattern must not.
NAME = r"^[a-z][a-z0-9_]{0,39}$(?!\n)"
SLUG = r"^[a-z][a-z0-9-]{0,39}$(?!\n)"
WORDS = r"^[a-z][a-z0-9 _-]{0,39}$(?!\n)"
LABEL = r"^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}$(?!\n)"

TOLD = {
    NAME: "a name is small letters, digits and underscores, a letter first, up to 40",
    SLUG: "a name is small letters, digits and hyphens, a letter first, up to 40",
    WORDS: "a name is small letters, digits, spaces, underscores and hyphens, a letter first, up to"
    " 40",
    LABEL: "a name of a size or gauge is letters, digits, spaces, underscores or hyphens, up to 40",
}


class Said(str):
    """An error message with its stable code and what would be permitted."""

    code: str
    permitted: Permitted | None

    def __new__(cls, text: str, code: str, permitted: Permitted | None = None) -> Said:
        said = super().__new__(cls, text)
        said.code, said.permitted = code, permitted
        return said


class Strict(Schema):
    """A request object: members it does not know are refused."""

    class Meta:
        unknown = RAISE

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        known = sorted(f.data_key or name for name, f in self.fields.items())
        self.error_messages = {
            **self.error_messages,
            "unknown": Said(
                f"no such field here; there are {', '.join(known)}", "unknown-field", known
            ),
            "type": Said("this must be an object", "wrong-type", "object"),
        }


class Loaded(Strict):
    """A request object that loads into what the engine takes: its members under the same names."""

    makes: ClassVar[type]

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return self.makes(**data)


class Field(fields.Field[Any]):
    """Base of our fields: required and null errors with codes."""

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        known = {
            "required": Said("this field is required", "missing-field"),
            "null": Said("null is not a value here; leave the field out instead", "wrong-type"),
        }
        if key in known:
            return ValidationError([known[key]])
        return super().make_error(key, **kwargs)


def refuse(text: str, code: str, permitted: Permitted | None = None) -> ValidationError:
    return ValidationError([Said(text, code, permitted)])


class Number(Field):
    """A finite JSON number between two limits, kept exact as a Fraction."""

    def __init__(self, low: Decimal | int, high: Decimal | int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.low, self.high = low, high

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
            raise refuse("this must be a number", "wrong-type", "number")
        if not self.low <= value <= self.high:
            raise refuse(
                f"{_short(value)} is outside {self.low} to {self.high}",
                "out-of-range",
                {"minimum": float(self.low), "maximum": float(self.high)},
            )
        return exact(value)


class Whole(Field):
    """A JSON integer between two limits; 16.0 is one, 16.5 is not."""

    def __init__(self, low: int, high: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.low, self.high = low, high

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        number = isinstance(value, (int, float, Decimal)) and not isinstance(value, bool)
        if not number or value != int(value):
            raise refuse("this must be a whole number", "wrong-type", "integer")
        if not self.low <= value <= self.high:
            raise refuse(
                f"{_short(value)} is outside {self.low} to {self.high}",
                "out-of-range",
                {"minimum": self.low, "maximum": self.high},
            )
        return int(value)


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) <= 24 else f"{text[:12]}… ({len(text)} characters)"


class Flag(Field):
    """true or false, and nothing that only looks like it."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, bool):
            raise refuse("this must be true or false", "wrong-type", "boolean")
        return value


class Text(Field):
    """A string of bounded length, optionally of a pattern."""

    def __init__(self, longest: int, shortest: int = 0, pattern: str = "", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.longest, self.shortest, self.pattern = longest, shortest, pattern
        self._matches = re.compile(pattern) if pattern else None

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str):
            raise refuse("this must be a string", "wrong-type", "string")
        if not self.shortest <= len(value) <= self.longest:
            raise refuse(
                f"this must be {self.shortest} to {self.longest} characters",
                "out-of-range",
                {"shortest": self.shortest, "longest": self.longest},
            )
        if self._matches and not self._matches.search(value):
            raise refuse(TOLD[self.pattern], "wrong-pattern", {"pattern": self.pattern})
        return value


class Choice(Field):
    """One of a few words (or numbers)."""

    def __init__(self, choices: tuple[str, ...], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.choices = choices

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str):
            raise refuse("this must be a string", "wrong-type", "string")
        if value not in self.choices:
            raise refuse(
                f"{_short(value)!r} is not one of {', '.join(self.choices)}",
                "not-a-choice",
                [*self.choices],
            )
        return value


class Part(Field):
    """A nested object of its own schema."""

    def __init__(self, schema: type[Schema], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.schema_class = schema
        self._schema: Schema | None = None

    @property
    def schema(self) -> Schema:
        if self._schema is None:
            self._schema = self.schema_class()
        return self._schema

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return self.schema.load(value)


class Parts(Field):
    """A list of values of one field."""

    def __init__(self, inner: Field, fewest: int, most: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.inner, self.fewest, self.most = inner, fewest, most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise refuse("this must be a list", "wrong-type", "array")
        if not self.fewest <= len(value) <= self.most:
            raise refuse(
                f"this must hold {self.fewest} to {self.most} items, not {len(value)}",
                "out-of-range",
                {"fewest": self.fewest, "most": self.most},
            )
        return tuple(collect(enumerate(value), self.inner).values())


class Named(Field):
    """An object of values of one field, each under a name of the caller's."""

    def __init__(
        self, inner: Field, most: int, pattern: str = NAME, fewest: int = 0, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.inner, self.most, self.pattern, self.fewest = inner, most, pattern, fewest

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise refuse("this must be an object", "wrong-type", "object")
        if len(value) > self.most:
            raise refuse(f"at most {self.most} names", "out-of-range", {"most": self.most})
        if len(value) < self.fewest:
            permitted = {"fewest": self.fewest, "most": self.most}
            told = f"this must hold {self.fewest} to {self.most} names, not {len(value)}"
            raise refuse(told, "out-of-range", permitted)
        return collect(value.items(), self.inner, Text(40, 1, self.pattern))


def collect(items: Any, inner: Field, key: Field | None = None) -> dict[Any, Any]:
    """Deserialise every item, gathering the errors of all of them."""
    made: dict[Any, Any] = {}
    errors: dict[Any, Any] = {}
    for name, item in items:
        try:
            if key:
                key.deserialize(name)
            made[name] = inner.deserialize(item)
        except ValidationError as error:
            errors[name] = error.messages
    if errors:
        raise ValidationError(cast(Any, errors))
    return made


PLAIN = ("string", "number", "array", "object")


class OneOfKinds(Field):
    """A value of one of several fields, told apart by its JSON type and members."""

    def __init__(self, kinds: Mapping[str, Field], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.kinds = kinds

    def kind_of(self, value: Any) -> str | None:
        """The kind of a plain value by its JSON type, else the one named by a member."""
        plain = "string" if isinstance(value, str) else "array" if isinstance(value, list) else None
        if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
            plain = "number"
        if plain:
            return plain if plain in self.kinds else None
        if isinstance(value, dict):
            return next((k for k in self.kinds if k in value or k == "object"), None)
        return None

    def told(self) -> list[str]:
        """What is accepted, in words."""
        return [k if k in PLAIN else f"object with {k}" for k in self.kinds]

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        kind = self.kind_of(value)
        if kind is None:
            told = self.told()
            raise refuse(f"this must be one of: {', '.join(told)}", "wrong-type", told)
        return self.kinds[kind].deserialize(value)


LEAST, MOST = Decimal("0.001"), 100_000


class LengthSchema(Strict):
    """A length: a number and its unit."""

    value = Number(LEAST, MOST, required=True, metadata={"description": "how many units"})
    unit = Choice(tuple(MILLIMETRES), required=True, metadata={"description": "unit of length"})

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Fraction:
        return a_length(data["value"], data["unit"])


class EaseSchema(Strict):
    """A length that may be taken off as well as added: a number and its unit."""

    value = Number(-MOST, MOST, required=True, metadata={"description": "how many units"})
    unit = Choice(tuple(MILLIMETRES), required=True, metadata={"description": "unit of length"})

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Fraction:
        return a_length(data["value"], data["unit"])


class MassSchema(Strict):
    """A mass: a number and its unit."""

    value = Number(LEAST, MOST, required=True, metadata={"description": "how many units"})
    unit = Choice(tuple(GRAMS), required=True, metadata={"description": "unit of mass"})

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Fraction:
        return a_mass(data["value"], data["unit"])


def said(description: str, **kwargs: Any) -> dict[str, Any]:
    """Keyword arguments of a field that is described in the published schema."""
    return {"metadata": {"description": description}, **kwargs}


def Length(description: str, **kwargs: Any) -> Part:  # noqa: N802  (reads as a field)
    return Part(LengthSchema, **said(description, **kwargs))


def Mass(description: str, **kwargs: Any) -> Part:  # noqa: N802  (reads as a field)
    return Part(MassSchema, **said(description, **kwargs))
