"""The service's own answers pass their own audit, by their schedules and by their text."""

from __future__ import annotations

import json
from random import Random as Dice

import pytest
from flask.testing import FlaskClient

from service.api.answers import write
from service.api.builtins import TEMPLATES
from service.engine.patterns import piece
from tests.auditing import Json, audited, form, written
from tests.engine.test_outlines import any_edge, outlined
from tests.test_oracle import Random

ROUND = [name for name, template in TEMPLATES.items() if hasattr(template, "start")]


def told(answer: Json) -> str:
    return "\n".join(step["text"] for step in answer["instructions"])


def holds(gauge: Json, answer: Json, text: bool) -> None:
    made = audited(form(gauge, answer))
    assert made.holds, (made.findings[0].text, told(answer))
    if text:
        made = audited(form(gauge, answer, written(answer)))
        assert made.holds, (made.findings[0].text, told(answer))


@pytest.mark.parametrize("inline", [False, True])
def test_random_pieces_worked_flat_pass(client: FlaskClient, inline: bool) -> None:
    passed = 0
    for seed in range(90):
        asked = Random(f"{seed}{inline}").order(inline) | {"terms": "us"}
        if seed % 3 == 0 and "button" in asked:
            asked["closure"] = {"kind": "slit", "chains_over": "one-fewer"}
        reply = client.post("/v1/pieces", json=asked)
        if reply.status_code == 200:
            holds(asked["gauge"], reply.get_json(), text=True)
            passed += 1
    assert passed > 25


def as_json(made: object) -> Json:
    answer: Json = json.loads(write(made, "metric"))
    return answer


@pytest.mark.parametrize("seed", range(25))
def test_random_outlines_pass(seed: int) -> None:
    dice = Dice(seed)
    tall = dice.randint(8, 40)
    plans = {side: any_edge(dice, tall, 9) for side in ("left", "right")}
    asked = outlined(60, plans)
    answer = as_json(piece(asked))
    holds(gauge_of(asked.gauge), answer, text=True)


def gauge_of(gauge: object) -> Json:
    names = ("stitch", "stitches", "width", "rows", "height")
    values = {name: getattr(gauge, name) for name in names}
    for name in ("stitches", "rows"):
        values[name] = float(values[name])
    for name in ("width", "height"):
        values[name] = {"value": float(values[name]), "unit": "mm"}
    return values


@pytest.mark.parametrize("name", ROUND)
@pytest.mark.parametrize("rounds", ["joined", "spiral"])
def test_random_pieces_in_the_round_pass(client: FlaskClient, name: str, rounds: str) -> None:
    dice, passed = Random(f"{name}{rounds}"), 0
    for _ in range(15):
        asked: Json = {
            "gauge": dice.gauge(("single-crochet", "half-double-crochet", "double-crochet")),
            "template": name,
            "in_the_round": {"rounds": rounds, "offset": dice.chance(0.5)},
            "measurements": {
                m.name: {"value": dice.randint(90, 600), "unit": "mm"}
                for m in TEMPLATES[name].measurements
            },
        }
        reply = client.post("/v1/pieces", json=asked)
        if reply.status_code == 200:
            answer = reply.get_json()
            holds(asked["gauge"], answer, text=answer["start"]["kind"] != "oval")
            passed += 1
    assert passed > 2
