"""Answers given before the framework, and those that share what counts alike have in common.

What the framework alone would answer, with nothing kept, is what every answer must be.
"""

from __future__ import annotations

import json
import os
import random
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from service import create_app
from service.api import answer_cache, direct, sharing
from service.api.operations import OPERATIONS
from service.api.store import Store
from tests.conftest import ROOT

ASKED_ONCE = {"X-Request-Id", "traceresponse"}
EXAMPLES = [
    path
    for operation in OPERATIONS
    for path in sorted((ROOT / "openapi" / "examples" / operation.id).glob("*.request.json"))
]
CASES = int(os.environ.get("SHARED_CASES", "150"))
PIECES = [path for path in EXAMPLES if path.parent.name == "pieces"]


@pytest.fixture(scope="module")
def app() -> Flask:
    return create_app()


@pytest.fixture(scope="module")
def plain() -> Flask:
    """The application that keeps nothing."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(answer_cache.SETTING, "0")
        return create_app()


@pytest.fixture(autouse=True)
def _nothing_shared_yet(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sharing, "kept", Store(2**22))


def asked(app: Flask, path: str, document: Any, **headers: str) -> tuple[int, Any, bytes]:
    sent, kind = json.dumps(document), "application/json"
    answer = app.test_client().post(path, data=sent, content_type=kind, headers=headers)
    told = [(k, v) for k, v in answer.headers.items() if k not in ASKED_ONCE]
    return answer.status_code, sorted(told), answer.data


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: f"{p.parent.name}-{p.stem.split('.')[0]}")
def test_every_example_is_answered_as_by_the_framework(
    app: Flask, plain: Flask, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = f"/v1/{path.parent.name}"
    document = json.loads(path.read_bytes())
    for headers in ({}, {"Origin": "https://pages.example", "Accept": "application/json"}):
        expected = asked(plain, where, document, **headers)
        first = asked(app, where, {**document, "units": "metric"}, **headers)
        with monkeypatch.context() as patch:
            if first[0] == expected[0] == 200:  # the way is learned: the framework is not asked
                patch.setattr(app, "full_dispatch_request", None)
            assert asked(app, where, document, **headers) == expected


def test_what_is_wrong_is_told_by_the_framework_and_not_reckoned_twice(
    app: Flask, plain: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = {"from": 38, "to": 20, "rows": 40}
    refused = {"from": 38, "to": 20, "rows": 1}
    assert asked(app, "/v1/shaping", good)[0] == 200
    for document in (refused, {**good, "rows": "many"}, {**good, "row": 1}, [], None):
        assert asked(app, "/v1/shaping", document) == asked(plain, "/v1/shaping", document)
    reckoned: list[Any] = []
    compute = sharing._COMPUTE["shaping"]
    monkeypatch.setitem(
        sharing._COMPUTE, "shaping", lambda order: reckoned.append(order) or compute(order)
    )
    assert asked(app, "/v1/shaping", {**refused, "from": 40})[0] == 422
    assert len(reckoned) == 1  # and the view has raised what was found here


def test_ways_of_asking_are_forgotten_before_they_are_too_many(
    app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(direct, "MOST_WAYS", 5)
    kept: Any = app.wsgi_app
    document = {"from": 38, "to": 20, "rows": 40}
    for number in range(23):
        asked(app, "/v1/shaping", document, **{"X-Way": str(number)})
        assert len(kept._ways._learned) <= 5


def spread(document: dict[str, Any], dice: random.Random) -> dict[str, Any]:
    """The same piece with its measurements a little off, and now and then another thing changed."""
    made = deepcopy(document)
    for size in made.get("measurements", {}).values():
        if "value" in size:
            size["value"] = round(float(size["value"]) * dice.choice((1, 1.01, 1.003, 0.99)), 3)
            if size["unit"] == "cm" and dice.random() < 0.1:
                size.update(value=round(size["value"] / 2.54, 3), unit="in")
    for name, choices in (
        ("units", ("metric", "imperial")), ("terms", ("us", "uk")), ("detail", ("runs", "rows")),
        ("rounding", ("nearest", "at-least")), ("max_change", (1, 4)),
    ):  # fmt: skip
        if dice.random() < 0.1:
            made[name] = dice.choice(choices)
    if dice.random() < 0.1:
        made["gauge"] = {**made["gauge"], "stitches": dice.randint(12, 20)}
    return made


def test_pieces_of_like_counts_share_all_but_their_measurements(app: Flask, plain: Flask) -> None:
    dice = random.Random("shared")
    for _ in range(CASES):
        document = spread(json.loads(dice.choice(PIECES).read_bytes()), dice)
        given, expected = asked(app, "/v1/pieces", document), asked(plain, "/v1/pieces", document)
        assert given == expected, document
    assert sharing.kept.hits > CASES / 10


@pytest.mark.parametrize(
    "measurements",
    [
        {"width": {"value": 11.5, "unit": "cm"}, "body_height": {"value": 30, "unit": "cm"}},
        {"width": {"value": 4.5, "unit": "in"}, "body_height": {"value": 300, "unit": "mm"}},
        {"width": {"object": {"width": {"value": 9, "unit": "cm"}}, "as": "width"},
         "body_height": {"value": 30, "unit": "cm"}},
        {"width": {"value": "11.5", "unit": "cm"}, "body_height": {"value": 30, "unit": "cm"}},
        {"width": {"value": 11.5, "unit": "ell"}, "body_height": {"value": 30, "unit": "cm"}},
        {"breadth": {"value": 11.5, "unit": "cm"}, "body_height": {"value": 30, "unit": "cm"}},
        {"width": {"value": 11.5, "unit": "cm"}},
        {}, [], None, "11.5 cm",
    ],
)  # fmt: skip
def test_measurements_alone_are_loaded_and_judged_as_with_all_the_rest(
    app: Flask, plain: Flask, measurements: Any
) -> None:
    rest = {
        "gauge": {"stitch": "single-crochet", "width": {"value": 10, "unit": "cm"},
                  "height": {"value": 10, "unit": "cm"}, "stitches": 16, "rows": 19},
        "template": "flap-panel",
    }  # fmt: skip
    first = {"width": {"value": 12, "unit": "cm"}, "body_height": {"value": 32, "unit": "cm"}}
    assert asked(app, "/v1/pieces", {**rest, "measurements": first})[0] == 200
    document = {**rest, "measurements": measurements}
    assert asked(app, "/v1/pieces", document) == asked(plain, "/v1/pieces", document)
    # And what was loaded for them has not crept into the rest.
    document = {**rest, "measurements": first}
    assert asked(app, "/v1/pieces", document) == asked(plain, "/v1/pieces", document)
    left_out = asked(app, "/v1/pieces", rest)
    assert left_out == asked(plain, "/v1/pieces", rest)
    assert left_out[0] == 422


def test_a_line_of_a_batch_is_answered_as_alone(app: Flask, plain: Flask) -> None:
    dice = random.Random("lines")
    documents = [spread(json.loads(dice.choice(PIECES).read_bytes()), dice) for _ in range(40)]
    lines = "".join(
        json.dumps({"id": i, "operation": "pieces", "body": document}) + "\n"
        for i, document in enumerate(documents)
    )
    client = app.test_client()
    answer = client.post("/v1/batch", data=lines, content_type="application/x-ndjson")
    for document, line in zip(documents, answer.text.splitlines()[:-1], strict=True):
        assert json.loads(line)["body"] == json.loads(asked(plain, "/v1/pieces", document)[2])
