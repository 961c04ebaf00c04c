"""A question as query parameters: the same document as in a body, written into an address.

A member within a member is named with dots (``gauge.stitch=single-crochet``), a quantity is a
number and its unit (``gauge.width=10cm``), a list is repeated (``uses=heat&uses=carrying``) or
numbered from 0 (``sides.0.name=left``). Or one parameter, ``ask``, holds the whole document in
JSON.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias
from urllib.parse import parse_qsl

from marshmallow import Schema, fields

from ..dotted import NUMBER, Leaf, Tree, numbered, put
from ..engine.units import GRAMS, MILLIMETRES
from .decoding import DEEPEST, Malformed, decode
from .fields import Choice, Named, OneOfKinds, Part, Parts, Text

WHOLE = "ask"
MOST = 300
_LITERAL = re.compile(f"{NUMBER}|true|false")
QUANTITY = f"({NUMBER}) ?({'|'.join([*MILLIMETRES, *GRAMS])})"
_QUANTITY = re.compile(QUANTITY)
_ESCAPE = re.compile("%(?![0-9A-Fa-f]{2})")

Pairs: TypeAlias = Sequence[tuple[str, str]]
_Fields: TypeAlias = list[fields.Field[Any]]


class BadParameters(Exception):
    """Some parameters are not what they should be: every error, as a problem document has it."""

    def __init__(self, errors: list[dict[str, Any]]) -> None:
        super().__init__(errors)
        self.errors = errors


def fault(name: str, code: str, detail: str, permitted: Any = None) -> dict[str, Any]:
    told = {"pointer": "", "parameter": name, "code": code, "detail": detail}
    return told if permitted is None else {**told, "permitted": permitted}


def parse(query: bytes) -> Pairs:
    """Names and values of a query string, in its order. Raises Malformed."""
    if not query:
        return []
    try:
        text = query.decode("ascii")
        if _ESCAPE.search(text):
            raise ValueError("a percent sign is not followed by two hexadecimal digits")
        return parse_qsl(
            text, keep_blank_values=True, strict_parsing=True, errors="strict", max_num_fields=MOST
        )
    except UnicodeDecodeError:
        raise Malformed("the query holds what is not UTF-8, percent-encoded") from None
    except ValueError as error:
        raise Malformed(f"the query is not parameters: {error}") from None


def only(pairs: Pairs, known: Iterable[str]) -> dict[str, str]:
    """The parameters by name, if there are no others and none twice. Raises BadParameters."""
    permitted = sorted(known)
    there_are = f"there are {', '.join(permitted)}" if permitted else "there are none"
    errors = [
        fault(name, "unknown-parameter", f"no such parameter here; {there_are}", permitted)
        for name in dict.fromkeys(name for name, _ in pairs)
        if name not in permitted
    ]
    if errors := errors + _repeated(pairs):
        raise BadParameters(errors)
    return dict(pairs)


def _repeated(pairs: Pairs) -> list[dict[str, Any]]:
    names = [name for name, _ in pairs]
    return [
        fault(name, "repeated-parameter", "give this parameter once")
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]


def document(schema: Schema, pairs: Pairs) -> tuple[Any, list[dict[str, Any]]]:
    """The document that the parameters tell, and where they contradict each other.

    The schema says what is a word and what a list. Raises Malformed where ``ask`` is not JSON, and
    BadParameters where it is not alone.
    """
    if any(name == WHOLE for name, _ in pairs):
        return decode(only(pairs, [WHOLE])[WHOLE].encode()), []
    tree: Tree = {}
    errors: list[dict[str, Any]] = []
    for name in dict.fromkeys(name for name, _ in pairs):
        path = name.split(".")
        if len(path) > DEEPEST:
            errors.append(fault(name, "too-deep", f"nested more than {DEEPEST} levels deep"))
            continue
        here = _fields_at(schema, path)
        values = [_value(text, here) for other, text in pairs if other == name]
        told_as_list = any(isinstance(field, Parts) for field in here)
        if len(values) > 1 and not told_as_list:
            errors.append(fault(name, "repeated-parameter", "give this parameter once"))
        if put(tree, path, values if told_as_list else values[0]) is not None:
            told = "another parameter tells the same member, or one within it"
            errors.append(fault(name, "parameters-clash", told))
    return _listed(tree, [Part(type(schema))], "", errors), errors


def name_of(pointer: str, names: Iterable[str]) -> str | None:
    """The parameter that told the member at a JSON Pointer, or that would tell it."""
    given = set(names)
    if WHOLE in given:
        return WHOLE
    path = [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]
    prefixes = [".".join(path[:length]) for length in range(len(path), 0, -1)]
    return next((name for name in prefixes if name in given), prefixes[0] if prefixes else None)


def _member(schema: Schema, name: str) -> _Fields:
    return [f for attribute, f in schema.fields.items() if (f.data_key or attribute) == name]


def _within(field: fields.Field[Any], name: str) -> _Fields:
    match field:
        case Part():
            return _member(field.schema, name)
        case Named():
            return [field.inner]
        case Parts():
            return [field.inner] if name.isdecimal() else []
        case OneOfKinds():
            return [inner for kind in field.kinds.values() for inner in _within(kind, name)]
    return []


def _fields_at(schema: Schema, path: list[str]) -> _Fields:
    here = _member(schema, path[0])
    for name in path[1:]:
        here = [inner for field in here for inner in _within(field, name)]
    return here


def _value(text: str, here: _Fields) -> Any:
    """A word where the field takes words, else a number, true, false or a quantity."""
    kinds = [f.inner if isinstance(f, Parts) else f for f in here]
    if kinds and all(isinstance(kind, Text | Choice) for kind in kinds):
        return text
    if _LITERAL.fullmatch(text):
        return decode(text.encode())
    if found := _QUANTITY.fullmatch(text):
        return {"value": decode(found[1].encode()), "unit": found[2]}
    return text


def _listed(node: Any, here: _Fields, name: str, errors: list[dict[str, Any]]) -> Any:
    """The tree with its leaves as values and its numbered members as lists."""
    if isinstance(node, Leaf):
        return node.value
    made = {}
    for key, inner in node.items():
        told = [f for field in here for f in _within(field, key)]
        made[key] = _listed(inner, told, f"{name}.{key}" if name else key, errors)
    if any(isinstance(field, Parts) for field in here):
        items = numbered(made)
        if items is not None:
            return items
        told_as = f"number the items of this list from 0: {name}.0, {name}.1"
        errors.append(fault(name, "items-not-numbered", told_as))
    return made
