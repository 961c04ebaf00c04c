"""Every documented example: judged by the published schemas, and asked of a running gunicorn."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlencode

import pytest
import requests
from flask.testing import FlaskClient

from service.api.operations import OPERATIONS
from service.api.path_documents import ROOT, examples
from service.api.reading import LONGEST_QUERY
from tests.contract.test_documents import validator

CASES = [(o.id, case, pair) for o in OPERATIONS for case, pair in examples(o.id).items()]
IDS = [f"{operation}/{case}" for operation, case, _ in CASES]


@pytest.mark.parametrize(("operation", "case", "pair"), CASES, ids=IDS)
def test_the_running_service_answers_the_example_to_the_letter(
    server: str, operation: str, case: str, pair: dict[str, Any]
) -> None:
    response = requests.post(f"{server}/v1/{operation}", json=pair["request"], timeout=10)
    assert response.json() == pair["response"]
    told = pair["response"]
    assert response.status_code == (told["status"] if "type" in told else 200)
    by_query = requests.request(
        "QUERY", f"{server}/v1/{operation}", json=pair["request"], timeout=10
    )
    assert (by_query.status_code, by_query.content) == (response.status_code, response.content)


@pytest.mark.parametrize(("operation", "case", "pair"), CASES, ids=IDS)
def test_the_example_asked_by_get_has_the_same_answer(
    client: FlaskClient, operation: str, case: str, pair: dict[str, Any]
) -> None:
    asked = json.dumps(pair["request"], ensure_ascii=False)
    posted = client.post(f"/v1/{operation}", data=asked, content_type="application/json")
    assert posted.get_json() == pair["response"]
    got = client.get(f"/v1/{operation}", query_string={"ask": asked})
    if got.status_code == 414:
        # RFC 9110, 15.5.15: the document, percent-encoded, is longer than an address may be.
        assert len(urlencode({"ask": asked})) > LONGEST_QUERY
        return
    assert got.status_code == posted.status_code
    told = got.get_json()
    # A problem names the parameter besides, at each error.
    told_of = [error.pop("parameter", None) for error in told.get("errors", [])]
    assert all(name == "ask" for name in told_of)
    assert told == posted.get_json()
    assert told_of or got.data == posted.data


@pytest.mark.parametrize(("operation", "case", "pair"), CASES, ids=IDS)
def test_the_example_keeps_the_published_schemas(
    operation: str, case: str, pair: dict[str, Any]
) -> None:
    refused = "type" in pair["response"]
    spoiled = refused and pair["response"]["type"].endswith("invalid-request")
    assert validator(f"{operation}-request").is_valid(pair["request"]) is not spoiled
    validator("problem" if refused else f"{operation}-answer").validate(pair["response"])


def test_every_operation_has_an_example_and_every_file_its_pair() -> None:
    assert {o.id for o in OPERATIONS} == {operation for operation, _, _ in CASES}
    for _, case, pair in CASES:
        assert set(pair) == {"request", "response"}, case


def test_the_openapi_document_carries_the_examples() -> None:
    document = json.loads((ROOT / "openapi" / "openapi.json").read_text())
    for operation, case, pair in CASES:
        post = document["paths"][f"/v1/{operation}"]["post"]
        asked = post["requestBody"]["content"]["application/json"]["examples"]
        assert asked[case]["value"] == pair["request"]


def test_the_running_service_refuses_as_it_does_in_process(server: str) -> None:
    short = requests.post(
        f"{server}/v1/pieces", data=b"{", headers={"Content-Type": "application/json"}, timeout=10
    )
    assert (short.status_code, short.headers["Content-Type"]) == (400, "application/problem+json")
    large = requests.post(
        f"{server}/v1/pieces", data=b" " * 70_000, headers={"Content-Type": "application/json"},
        timeout=10,
    )  # fmt: skip
    assert large.status_code == 413
    assert requests.put(f"{server}/v1/pieces", timeout=10).headers["Allow"] == (
        "GET, HEAD, OPTIONS, POST, QUERY"
    )
