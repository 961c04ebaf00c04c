"""Hypothesis strategies read off a published JSON Schema: documents that it allows.

Only the words of JSON Schema that our schemas use are known; another one is an error here, so that
none is passed over.
"""

from __future__ import annotations

import re
from typing import Any

from hypothesis import strategies as st

KNOWN = {
    "type", "enum", "anyOf", "$ref", "$defs", "properties", "required", "additionalProperties",
    "propertyNames", "minProperties", "maxProperties", "items", "minItems", "maxItems",
    "minLength", "maxLength", "pattern", "minimum", "maximum", "description",
    "title", "$id", "$schema",
}  # fmt: skip
MEMBERS, ITEMS = 4, 3  # of an object and a list, beyond what must be there: for speed
# Names that a built-in template asks for, so that some questions can be answered, and nasty ones.
NAMES = [
    "width", "height", "body_height", "flap_depth", "diameter", "circumference", "length", "depth",
    "body", "flap", "pocket", "desk", "wrap band", "brush cup", "ink", "constructor", "toString",
    "a", "a0", "zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz", "A", "0", "left", "2-1", "a b",
]  # fmt: skip
NASTY = [
    "<b>", "</text><script>", "=1+1", "| a | b", "# a", "\u202eab", "\0", "a\r\nb", "\x85",
    "\u2028", "]]>", "&lt;", "`", "[a](javascript:b)", "\ud7ff\ufffd", "\U0001f9f6",
]  # fmt: skip
TEXTS = st.one_of(
    st.sampled_from([*NAMES, *NASTY]),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
)


def documents(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    """Documents that the schema allows."""
    return _Reader(schema).documents()


class _Reader:
    def __init__(self, root: dict[str, Any]) -> None:
        self.definitions = root.get("$defs", {})
        self.root = root

    def documents(self) -> st.SearchStrategy[Any]:
        @st.composite
        def draw_one(draw: Any) -> Any:
            return self.drawn(draw, self.root, 0)

        return draw_one()

    def drawn(self, draw: Any, schema: dict[str, Any], depth: int) -> Any:
        if "$ref" in schema:
            return self.drawn(draw, self.definitions[schema["$ref"].split("/")[-1]], depth)
        assert set(schema) <= KNOWN, set(schema) - KNOWN
        if "anyOf" in schema:
            return self.drawn(draw, draw(st.sampled_from(schema["anyOf"])), depth)
        if "enum" in schema:
            return draw(st.sampled_from(schema["enum"]))
        match schema["type"]:
            case "object":
                return self._object(draw, schema, depth)
            case "array":
                fewest = schema["minItems"]
                length = draw(st.integers(fewest, min(fewest + ITEMS, schema["maxItems"])))
                return [self.drawn(draw, schema["items"], depth + 1) for _ in range(length)]
            case "string":
                return draw(_string(schema))
            case "boolean":
                return draw(st.booleans())
            case "integer" | "number":
                return draw(_number(schema))
        raise AssertionError(schema)

    def _object(self, draw: Any, schema: dict[str, Any], depth: int) -> dict[str, Any]:
        members = schema.get("properties", {})
        required = schema.get("required", [])
        optional = [name for name in members if name not in required]
        most = MEMBERS if depth < 3 else 1
        chosen = draw(st.lists(st.sampled_from(optional), max_size=most)) if optional else []
        made = {
            name: self.drawn(draw, members[name], depth + 1)
            for name in dict.fromkeys([*required, *chosen])
        }
        if isinstance(inner := schema.get("additionalProperties"), dict):
            named = _string(schema["propertyNames"])
            fewest, most = schema.get("minProperties", 0), min(ITEMS, schema["maxProperties"])
            for name in draw(st.lists(named, min_size=fewest, max_size=most, unique=True)):
                made[name] = self.drawn(draw, inner, depth + 1)
        return made


def _string(schema: dict[str, Any]) -> st.SearchStrategy[str]:
    shortest, longest = schema.get("minLength", 0), schema.get("maxLength", 40)
    if pattern := schema.get("pattern"):
        return st.sampled_from([name for name in NAMES if re.search(pattern, name)])
    filler = st.just("x" * longest)
    return st.one_of(TEXTS.filter(lambda t: shortest <= len(t) <= longest), filler)


def _number(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    low, high = schema["minimum"], schema["maximum"]
    usual = [n for n in (1, 2, 3, 4, 8, 10, 12, 16, 19, 20, 24, 38) if low <= n <= high]
    whole = st.integers(-int(-low // 1), int(high // 1))
    limits = st.sampled_from([*usual, low, high])
    if schema["type"] == "integer":
        return st.one_of(limits, whole)
    return st.one_of(limits, whole, st.floats(low, high, allow_nan=False))
