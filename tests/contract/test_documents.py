"""The contract has one source: generated documents do not drift, and judge as the service does."""

from __future__ import annotations

import copy
import json
import random
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from marshmallow import ValidationError
from openapi_spec_validator import OpenAPIV32SpecValidator, validate

from service.api.answers import schema as answer_schema
from service.api.decoding import decode
from service.api.documents import files
from service.api.flat_documents_in import TemplateSchema
from service.api.lookups import later_contract
from service.api.operations import OPERATIONS
from service.api.path_documents import ROOT, examples
from service.api.round_documents_in import RoundTemplateSchema

GENERATED = files()


@pytest.mark.parametrize("path", GENERATED, ids=lambda path: path.name)
def test_a_document_is_as_its_definitions_make_it(path: Path) -> None:
    # Made anew by: python -m service.api.documents
    assert path.read_text(encoding="utf-8") == GENERATED[path]


def test_no_document_is_left_over() -> None:
    assert set((ROOT / "schemas").iterdir()) | {ROOT / "openapi" / "openapi.json"} == set(GENERATED)


def test_the_openapi_document_is_valid() -> None:
    # Oracle: openapi-spec-validator, by the published OpenAPI 3.1 schema.
    validate(json.loads(GENERATED[ROOT / "openapi" / "openapi.json"]))


def test_the_openapi_document_with_query_is_valid_and_says_the_same() -> None:
    # Oracle: openapi-spec-validator, by the published OpenAPI 3.2 schema.
    document = json.loads(later_contract())
    validate(document, cls=OpenAPIV32SpecValidator)
    for operation in OPERATIONS:
        path = document["paths"][operation.path]
        assert path["query"]["responses"] == path["post"]["responses"]
        assert path["query"]["operationId"] == f"{operation.id}-by-query"


@pytest.mark.parametrize("path", [p for p in GENERATED if p.parent.name == "schemas"], ids=str)
def test_a_schema_is_valid_and_says_where_it_is(path: Path) -> None:
    document = json.loads(GENERATED[path])
    Draft202012Validator.check_schema(document)
    assert document["$id"] == f"/v1/schemas/{path.stem}"


def validator(name: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads((ROOT / "schemas" / f"{name}.json").read_text()))


def objects(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, dict):
        return [node, *(o for value in node.values() for o in objects(value))]
    if isinstance(node, list):
        return [o for value in node for o in objects(value)]
    return []


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.id)
def test_requests_are_closed_answers_are_open_and_everything_is_described(operation: Any) -> None:
    for kind, closed in (("request", True), ("answer", False)):
        document = validator(f"{operation.id}-{kind}").schema
        for schema in objects(document):
            if schema.get("type") == "object" and "properties" in schema:
                assert ("additionalProperties" in schema) is closed
                for name, member in schema["properties"].items():
                    assert member.get("description"), name


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.id)
def test_an_answer_has_a_member_for_each_of_its_dataclass_and_no_other(operation: Any) -> None:
    schema = answer_schema(operation.answer)()
    published = validator(f"{operation.id}-answer").schema
    assert set(published["properties"]) == set(schema.fields)
    assert set(published["required"]) == {n for n, f in schema.fields.items() if f.required}


JUNK: list[Any] = [
    None, True, False, 0, 1, -1, 2, 16.0, 16.5, -0.0, 1e9, 10**30, 0.001, 0.0009, 100_000,
    100_000.5, "", "a", "16", "cm", "in", "both", "panel", "single-crochet", "nearest", "x" * 41,
    "a\n", "width", "Width", [], {}, [1], ["heat"], {"value": 1, "unit": "cm"}, {"value": 1},
    {"value": 1, "unit": "g"}, {"measurement": "width"}, {"measurement": "width", "value": 1},
    {"multiple": 2, "plus": 0}, {"stitches": 3}, {"length": {"value": 3, "unit": "m"}}, 7, 8, 20,
    21, 1000, 1001, 10_000, 10_001,
]  # fmt: skip


def places(node: Any) -> list[tuple[Any, Any]]:
    found: list[tuple[Any, Any]] = []
    if isinstance(node, dict | list):
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            found += [(node, key), *places(value)]
    return found


def spoiled(body: Any, dice: random.Random, properties: list[str]) -> Any:
    """The body with a few members replaced, taken out or put in."""
    body = json.loads(json.dumps(body))
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        spots = places(body)
        what = dice.random()
        if not spots or what < 0.1:
            if isinstance(body, dict):
                body[dice.choice(properties)] = copy.deepcopy(dice.choice(JUNK))
        else:
            place, key = dice.choice(spots)
            if what < 0.25:
                del place[key]
            elif what < 0.4 and isinstance(place[key], dict):
                place[key][dice.choice(properties)] = copy.deepcopy(dice.choice(JUNK))
            else:
                place[key] = copy.deepcopy(dice.choice(JUNK))
    return body


REQUESTS = [(o.id, o.request) for o in OPERATIONS]


@pytest.mark.parametrize(("name", "schema"), REQUESTS, ids=[n for n, _ in REQUESTS])
def test_the_published_schema_and_the_service_judge_alike(name: str, schema: Any) -> None:
    dice, published, loads = random.Random(name), validator(f"{name}-request"), schema()
    cases = [case["request"] for case in examples(name).values()]
    properties = sorted({p for s in objects(published.schema) for p in s.get("properties", {})})
    judged = {True: 0, False: 0}
    for _ in range(2500):
        body = spoiled(dice.choice(cases), dice, [*properties, "colour"])
        try:
            loads.load(decode(json.dumps(body).encode()))
            accepted = True
        except ValidationError:
            accepted = False
        assert accepted == published.is_valid(body), json.dumps(body)
        judged[accepted] += 1
    assert min(judged.values()) > 100  # both verdicts were put to the test


def test_the_template_schema_takes_every_built_in_document() -> None:
    for file in (ROOT / "service" / "templates").glob("*.json"):
        document = json.loads(file.read_text(encoding="utf-8"))
        name, loads = ("template", TemplateSchema)
        if "start" in document:
            name, loads = "round-template", RoundTemplateSchema
        validator(name).validate(document)
        assert loads().load(json.loads(json.dumps(document), parse_float=Decimal))
