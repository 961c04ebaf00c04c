"""JSON as RFC 8259 and I-JSON (RFC 7493) have it, and nothing looser."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

DEEPEST = 40
LONGEST_NUMBER = 400
_EXACT = 32
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"', re.DOTALL)
_BRACKETS = re.compile(r"[\[\]{}]")
# Such a run of digits may be a number that is too long; what else it may be does no harm.
_LONG = re.compile(f"[0-9]{{{LONGEST_NUMBER}}}")
_SURROGATE = re.compile("[\ud800-\udfff]")


class Malformed(Exception):
    """The body is not JSON that this service takes; the text says why."""


def decode(body: bytes) -> Any:
    """The value of a JSON document in UTF-8; decimals stay exact.

    Raises Malformed for another encoding, a byte order mark, a name given twice, NaN or an
    infinity, a number out of all range, a lone surrogate, or nesting past 40 levels.
    """
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Malformed(f"not UTF-8: byte {error.start} does not belong") from None
    if text.startswith("\ufeff"):
        raise Malformed("a byte order mark stands before the document: leave it out")
    _check_depth(text)
    try:
        value = (_CAREFUL if _LONG.search(text) else _PLAIN).decode(text)
    except json.JSONDecodeError as error:
        raise Malformed(f"{error.msg}: line {error.lineno}, column {error.colno}") from None
    if "\\u" in text and _SURROGATE.search(json.dumps(value, ensure_ascii=False, default=str)):
        raise Malformed("a string holds half of a surrogate pair")
    return value


def _check_depth(text: str) -> None:
    if text.count("[") + text.count("{") <= DEEPEST:
        return
    depth = 0
    for bracket in _BRACKETS.findall(_STRING.sub("", text)):
        depth += 1 if bracket in "[{" else -1
        if depth > DEEPEST:
            raise Malformed(f"nested more than {DEEPEST} levels deep")


def _decimal(literal: str) -> Decimal:
    number = float(literal)
    if math.isinf(number) or len(literal) > LONGEST_NUMBER:
        raise Malformed(f"the number {literal[:12]}… is out of range")
    # A number of more digits than any tape or scale gives is taken at a double's precision.
    if len(literal) > _EXACT or (number and abs(number) < 1e-30):
        return Decimal(repr(number))
    return Decimal(literal)


def _integer(literal: str) -> int:
    if len(literal) > LONGEST_NUMBER:
        raise Malformed(f"the number {literal[:12]}… is out of range")
    return int(literal)


def _constant(literal: str) -> Any:
    raise Malformed(f"{literal} is not a JSON number")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise Malformed(f"the name {json.dumps(twice)[:60]} is given twice in one object")
    return made


def _decoder(parse_int: Callable[[str], int] | None) -> json.JSONDecoder:
    return json.JSONDecoder(
        parse_float=_decimal,
        parse_int=parse_int,
        parse_constant=_constant,
        object_pairs_hook=_object,
    )


_PLAIN, _CAREFUL = _decoder(None), _decoder(_integer)
