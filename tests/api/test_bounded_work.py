"""Whatever is asked is answered within a hundred times the work of the demo, or refused by name.

Work is counted in calls of functions, which are the same on every machine; the requests are of the
kinds that a search (deploy/slowest.py) found to take longest.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service import create_app
from service.api.answer_cache import SETTING

ROOT = Path(__file__).parent.parent.parent
DEMO = json.loads(
    (ROOT / "openapi/examples/pieces/case-pocket.request.json").read_text(encoding="utf-8")
)


def cm(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "cm"}


GAUGE = {"stitch": "single-crochet", "stitches": 16, "width": cm(10), "rows": 19, "height": cm(10)}
FINE = {**GAUGE, "stitches": 100, "rows": 100}


def pieces(template: str, *, max_change: int | None = None, **measurements: float) -> Any:
    asked = {name: cm(size) for name, size in measurements.items()}
    change = {"max_change": max_change} if max_change else {}
    return {"gauge": FINE, "template": template, "measurements": asked, **change}


def project(count: int, sizes: int) -> Any:
    made = [
        {"name": f"case {i}", "template": "flap-panel", "edging": {},
         "button": {"diameter": {"value": 18, "unit": "mm"}},
         "measurements": {"width": cm(10 + i / 10), "body_height": cm(20)}}
        for i in range(count)
    ]  # fmt: skip
    names = [f"s{i}" for i in range(sizes)]
    return {"sizes": names, "gauge": GAUGE, "yarn": {"weight_category": 4}, "pieces": made}


def table(gauges: int, sizes: int) -> Any:
    return {
        "template": "rounded-flap-panel",
        "gauges": [{"name": f"g{i}", "gauge": {**GAUGE, "rows": 19 + i / 10}}
                   for i in range(gauges)],
        "sizes": [{"name": f"s{i}", "measurements": {
            "width": cm(10 + i), "body_height": cm(5), "flap_depth": cm(20)}}
            for i in range(sizes)],
    }  # fmt: skip


def check_of_a_cup(diameter: float) -> Any:
    """Early in the base of a cup of some thousand rounds: the rest is planned anew in each way."""
    cup = pieces("cup", diameter=diameter, height=24)
    gauge = {**GAUGE, "stitches": 140, "rows": 500}
    return {
        **cup,
        "gauge": gauge,
        "at": {"section": "base", "row": 5},
        "measured": {"width": cm(1.5)},
    }


def calls(client: FlaskClient, operation: str, body: Any) -> tuple[int, Any]:
    """How many functions are called to answer, and the answer."""
    counted = 0

    def count(*_: object) -> None:
        nonlocal counted
        counted += 1

    sent, before = json.dumps(body), sys.getprofile()
    sys.setprofile(count)
    try:
        response = client.post(f"/v1/{operation}", data=sent, content_type="application/json")
    finally:
        sys.setprofile(before)
    return counted, response


@pytest.fixture(scope="module")
def client() -> Iterator[FlaskClient]:
    """A service that keeps no answers: what is asked again is worked again."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(SETTING, "0")
        yield create_app().test_client()


@pytest.mark.parametrize(
    ("operation", "body", "code"),
    [
        # of five pieces in ten sizes, with edging, button and yarn, a maker may want all
        ("projects", project(5, 10), None),
        ("projects", project(20, 20), "too-much-work"),
        ("size-tables", table(3, 10), None),
        ("size-tables", table(20, 20), "too-much-work"),
        ("pieces", pieces("rounded-flap-panel", width=60, body_height=10, flap_depth=98), None),
        ("pieces", pieces("rounded-flap-panel", width=60, body_height=10, flap_depth=900),
         "outline-too-long"),
        ("pieces", pieces("ball", diameter=300), None),
        ("gauge-checks", check_of_a_cup(80), None),
        ("gauge-checks", check_of_a_cup(160), None),
        ("gauge-checks", check_of_a_cup(200), "too-much-work"),
        ("pieces", pieces("triangle", width=340, max_change=1), None),
        ("pieces", pieces("triangle", width=480, max_change=1), "too-much-work"),
    ],
)  # fmt: skip
def test_the_work_of_a_request_is_bounded(
    client: FlaskClient, operation: str, body: Any, code: str | None
) -> None:
    calls(client, "pieces", DEMO)  # so that what is kept is there
    demo, _ = calls(client, "pieces", DEMO)
    taken, response = calls(client, operation, body)
    assert taken <= 100 * demo
    if code is None:
        assert response.status_code == 200, response.text[:300]
        return
    assert response.status_code == 422
    (error,) = response.json["errors"]
    assert error["code"] == code
    assert error["permitted"]


def test_a_line_of_a_batch_is_bounded_and_the_next_has_its_own_allowance(
    client: FlaskClient,
) -> None:
    lines = [{"id": i, "operation": "projects", "body": body}
             for i, body in enumerate((project(20, 20), project(2, 2)))]  # fmt: skip
    sent = "\n".join(map(json.dumps, lines))
    told = client.post("/v1/batch", data=sent, content_type="application/x-ndjson")
    first, second, _ = map(json.loads, told.text.splitlines())
    assert first["body"]["errors"][0]["code"] == "too-much-work"
    assert second["status"] == 200
