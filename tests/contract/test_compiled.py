"""What loads quickly is held to the schemas: the same orders, the same refusals to the letter."""

from __future__ import annotations

import json
import os
import random
from typing import Any

import pytest
from marshmallow import Schema, ValidationError

from service.api.batch_lines import BatchLineSchema
from service.api.compiled import Doubt, loader, reader
from service.api.decoding import decode
from service.api.operations import OPERATIONS
from service.api.path_documents import examples
from service.api.problems import from_messages

from .test_documents import objects, spoiled, validator

CASES = int(os.environ.get("COMPILED_CASES", "2000"))
LARGE = ("audits", "projects")  # bodies that take long to load: fewer of them
REQUESTS = [(o.id, o.request) for o in OPERATIONS]


def verdict(load: Any, body: Any) -> str:
    try:
        return repr(load(body))  # with the types of what is equal: 16 and 16.0
    except ValidationError as error:
        return json.dumps(from_messages(error.messages))


@pytest.mark.parametrize(("name", "schema"), REQUESTS, ids=[n for n, _ in REQUESTS])
def test_spoiled_bodies_load_as_the_schema_loads_them(name: str, schema: type[Schema]) -> None:
    dice, slow = random.Random(f"compiled {name}"), schema()
    quick = loader(schema())
    cases = [case["request"] for case in examples(name).values()]
    published = validator(f"{name}-request").schema
    properties = sorted({p for s in objects(published) for p in s.get("properties", {})})
    for _ in range(CASES // (40 if name in LARGE else 10)):
        body = spoiled(dice.choice(cases), dice, [*properties, "colour"])
        text = json.dumps(body).encode()
        assert verdict(quick, decode(text)) == verdict(slow.load, decode(text)), body


@pytest.mark.parametrize(("name", "schema"), REQUESTS, ids=[n for n, _ in REQUESTS])
def test_what_is_right_is_not_asked_of_the_schema(name: str, schema: type[Schema]) -> None:
    read, slow = reader(schema()), schema()
    taken = 0
    for case in examples(name).values():
        body = decode(json.dumps(case["request"]).encode())
        try:
            slow.load(body)
        except ValidationError:
            with pytest.raises((Doubt, ValidationError)):
                read(body)
        else:
            read(body)
            taken += 1
    assert taken


JUNK_LINES: list[Any] = [
    {}, [], None, {"id": 1}, {"id": 1.0, "operation": "pieces", "body": {}},
    {"id": None, "operation": "pieces", "body": None}, {"id": "a", "operation": "batch", "body": 1},
    {"id": "a", "operation": "shaping", "body": [], "more": 1}, {"id": True, "operation": 1},
    {"id": "", "operation": "yarn", "body": {}}, {"id": 2**53, "operation": "yarn", "body": {}},
]  # fmt: skip


@pytest.mark.parametrize("line", JUNK_LINES, ids=json.dumps)
def test_lines_of_a_batch_load_as_their_schema_loads_them(line: Any) -> None:
    assert verdict(loader(BatchLineSchema()), line) == verdict(BatchLineSchema().load, line)
