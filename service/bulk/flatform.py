"""Requests and answers as flat names and texts, the way a table holds them."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Iterator
from typing import Any

from ..dotted import NUMBER, Leaf, Tree, numbered, put

_UNITS = "mm, cm, in, m, yd, g, oz"
_QUANTITY = re.compile(rf"({NUMBER}) ?({_UNITS.replace(', ', '|')})")
_LIKE_ONE = re.compile(rf"{NUMBER} ?[^\W\d_]+")
_WORDS = {"true": True, "false": False}


class Unclear(ValueError):
    """The names and texts make no document; the text says why."""


def loads(text: str | bytes) -> Any:
    """JSON, where a name given twice, NaN and what is past a double are no more taken than by the
    service."""

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        if len(made := dict(pairs)) < len(pairs):
            raise ValueError("a name is given twice")
        return made

    def finite(literal: str) -> float:
        if not math.isfinite(number := float(literal)):
            raise ValueError(f"{literal[:12]} is out of range")
        return number

    return json.loads(text, object_pairs_hook=once, parse_float=finite, parse_constant=finite)


def value_of(text: str) -> Any:
    """What a text stands for: a quantity, a number, true or false, JSON, or itself.

    >>> value_of("24.5cm"), value_of("16"), value_of("true"), value_of("flap-panel")
    ({'value': 24.5, 'unit': 'cm'}, 16, True, 'flap-panel')

    A string that would be taken for something else is put in quotation marks:

    >>> value_of('"16"'), value_of('["heat"]')
    ('16', ['heat'])
    """
    text = text.strip()
    if text in _WORDS:
        return _WORDS[text]
    if quantity := _QUANTITY.fullmatch(text):
        return {"value": _json(quantity[1]), "unit": quantity[2]}
    if _LIKE_ONE.fullmatch(text):
        raise Unclear(f"{text[:40]!r} is no quantity: units are {_UNITS}; quote it to be a string")
    if text[:1] in ('"', "[", "{") or re.fullmatch(NUMBER, text):
        return _json(text)
    return text


def _json(text: str) -> Any:
    try:
        return loads(text)
    except ValueError as error:
        raise Unclear(f"{text[:40]!r} begins as JSON and is none: {error}") from None


def flat_to_document(pairs: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """The document that dotted names and their texts tell of; numbers in names count lists from 0.

    >>> flat_to_document([("gauge.width", "10 cm"), ("uses.0", "heat")])
    {'gauge': {'width': {'value': 10, 'unit': 'cm'}}, 'uses': ['heat']}

    Raises Unclear where a name is both a value and holds others, a text is broken JSON, or a number
    is followed by a word that is no unit.
    """
    tree: Tree = {}
    for name, text in pairs:
        path = name.split(".")
        at = put(tree, path, value_of(text))
        if at == len(path) - 1:
            raise Unclear(f"{name} is given twice, or holds others")
        if at is not None:
            raise Unclear(f"{name} lies within {path[at]}, which has a value of its own")
    return {name: _settled(node) for name, node in tree.items()}


def _settled(node: Any) -> Any:
    if isinstance(node, Leaf):
        return node.value
    inner = {name: _settled(within) for name, within in node.items()}
    items = numbered(inner)
    return inner if items is None else items


def merged(under: Any, over: Any) -> Any:
    """One document over another; a quantity is replaced whole.

    >>> merged({"gauge": {"rows": 19, "stitches": 16}}, {"gauge": {"rows": 20}})
    {'gauge': {'rows': 20, 'stitches': 16}}
    """
    both = isinstance(under, dict) and isinstance(over, dict)
    if not both or "value" in under or "value" in over:
        return over
    return under | {k: merged(under[k], v) if k in under else v for k, v in over.items()}


def document_to_flat(document: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """The other way; a list is one text of JSON.

    >>> dict(document_to_flat({"chain": 39, "width": {"value": 24.5, "unit": "cm"}, "in": [1]}))
    {'chain': '39', 'width': '24.5cm', 'in': '[1]'}
    """
    if isinstance(document, dict) and set(document) == {"value", "unit"}:
        yield name, f"{document['value']}{document['unit']}"
    elif isinstance(document, dict):
        for key, value in document.items():
            yield from document_to_flat(value, f"{name}.{key}" if name else key)
    elif isinstance(document, str):
        yield name, document
    else:
        yield name, json.dumps(document, ensure_ascii=False)
