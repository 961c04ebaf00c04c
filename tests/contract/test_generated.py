"""Documents made from the published schemas alone: each is answered, or refused with reasons."""

from __future__ import annotations

import json
import os
import re
from functools import cache
from typing import Any
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from service.api.operations import OPERATIONS
from service.api.path_documents import examples
from service.api.problems import KINDS

from .. import harmless
from .generating import documents
from .test_documents import validator

# CONFORMING_CASES=2000 deploy/test tests/contract/test_generated.py makes more, and others.
CASES = int(os.environ.get("CONFORMING_CASES", "0"))
CODE = re.compile("[a-z]+(-[a-z]+)*")
PROBLEM = validator("problem")
published = cache(validator)


def leads(asked: Any, pointer: str, schema: dict[str, Any]) -> bool:
    """Whether a JSON Pointer (RFC 6901) leads to what was asked, or to what the schema would take.

    A member may be missing with all that it is in; an item of a list may only be the next.
    """
    there, takes = [asked], [schema]
    for part in pointer.split("/")[1:]:
        name = part.replace("~1", "/").replace("~0", "~")
        takes = [inner for kind in takes for inner in within(kind, name, schema["$defs"])]
        if any(isinstance(node, list) and int(name) > len(node) for node in there):
            return False
        there = [inner for node in there for inner in items(node, name)]
    return bool(takes)


def items(node: Any, name: str) -> list[Any]:
    if isinstance(node, dict):
        return [node[name]] if name in node else []
    return node[int(name) :][:1] if isinstance(node, list) else []


def within(kind: dict[str, Any], name: str, definitions: dict[str, Any]) -> list[dict[str, Any]]:
    """The schemas of a member of this name, or of the item of this number."""
    if "$ref" in kind:
        return within(definitions[kind["$ref"].split("/")[-1]], name, definitions)
    if "anyOf" in kind:
        return [found for one in kind["anyOf"] for found in within(one, name, definitions)]
    if name in kind.get("properties", {}):
        return [kind["properties"][name]]
    if isinstance(kind.get("additionalProperties"), dict):
        return [kind["additionalProperties"]]
    return [kind["items"]] if "items" in kind and name.isdecimal() else []


def check_refusal(response: TestResponse, asked: Any, schema: dict[str, Any]) -> None:
    assert response.status_code == 422, response.text
    assert response.mimetype == "application/problem+json"
    assert "<" not in response.text
    told = json.loads(response.text)
    PROBLEM.validate(told)
    # The schema allows it, so what is wrong is what it asks for.
    assert told["type"] == KINDS["cannot-be-made"].uri, told
    for error in told["errors"]:
        assert CODE.fullmatch(error["code"])
        assert leads(asked, error["pointer"], schema), error


def check_answer(response: TestResponse, operation: str, name: str) -> None:
    harmless.check(response.mimetype, response.text)
    if name == "json":
        published(f"{operation}-answer").validate(json.loads(response.text))


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.id)
def test_what_the_published_schema_allows_is_answered_or_refused_with_reasons(
    client: FlaskClient, operation: Any
) -> None:
    asks = published(f"{operation.id}-request")
    pairs = examples(operation.id).values()
    documented = [pair["request"] for pair in pairs if "type" not in pair["response"]]
    seen = {200: 0, 422: 0}

    # To shrink what was found would take minutes: it is small enough to be read as it is.
    @settings(
        max_examples=CASES or 20, derandomize=not CASES, database=None,
        suppress_health_check=list(HealthCheck), phases=[Phase.generate],
    )  # fmt: skip
    @given(documents(asks.schema), st.sampled_from(documented), st.data())
    def judge(made: Any, example: Any, data: st.DataObject) -> None:
        # As it was made, or an example with some of its members: more of these can be worked.
        count = data.draw(st.sampled_from([None, 0, 1, 1, 2]), "members")
        few = st.lists(st.sampled_from([*made]), min_size=count or 0, max_size=count or 0)
        asked = made
        if count is not None:
            asked = {**example, **{name: made[name] for name in data.draw(few, "kept")}}
        assert asks.is_valid(asked)
        body = json.dumps(asked)
        chosen = data.draw(st.sampled_from(operation.offers), "chosen").name
        response = client.post(
            f"{operation.path}?as={chosen}", data=body, content_type="application/json"
        )
        seen[response.status_code] = seen.get(response.status_code, 0) + 1
        if response.status_code == 200:
            check_answer(response, operation.id, chosen)
        else:
            check_refusal(response, asked, asks.schema)
        if chosen != "json":
            return
        line = f'{{"id": 1, "operation": "{operation.id}", "body": {body}}}'
        batch = client.post("/v1/batch", data=line, content_type="application/x-ndjson")
        told = json.loads(batch.text.split("\n")[0])
        assert told == {"id": 1, "status": response.status_code, "body": json.loads(response.text)}
        if len(query := quote(body)) < 6000:
            by_get = client.get(f"{operation.path}?ask={query}")
            assert by_get.status_code == response.status_code
            assert by_get.text == response.text or response.status_code == 422

    judge()
    print(operation.id, seen)  # shown by -s
    assert seen[200] > 0
