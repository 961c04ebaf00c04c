"""Yarn over HTTP: the same wherever it is asked for, and in the words of the contract."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient


def of(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


GAUGE = {
    "stitch": "single-crochet", "stitches": 16, "width": of(10, "cm"), "rows": 19,
    "height": of(10, "cm"),
}  # fmt: skip
YARN = {
    "swatch": {"stitches": 24, "rows": 28, "mass": of(15, "g")},
    "ball": {"mass": of(50, "g"), "length": of(85, "m")},
}
CASE = {
    "template": "flap-panel",
    "measurements": {"width": of(24, "cm"), "body_height": of(60, "cm")},
    "button": {"diameter": of(18, "mm")},
    "edging": {"stitch": "single-crochet"},
    "colours": {
        "main": "ink",
        "sections": {"flap": "ochre"},
        "stripes": [
            {"section": "body",
             "repeat": [{"colour": "ink", "rows": 4}, {"colour": "ochre", "rows": 2}]},
        ],
        "edging": "ochre", "loop": "ochre", "seams": "ink",
    },
    "yarns": {"ochre": {"weight_category": 4}},
}  # fmt: skip


def test_a_piece_a_project_and_yarn_alone_tell_the_same(client: FlaskClient) -> None:
    alone = client.post("/v1/yarn", json={"gauge": GAUGE, "yarn": YARN, **CASE}).json
    made = client.post("/v1/pieces", json={"gauge": GAUGE, "yarn": YARN, **CASE}).json
    whole = client.post(
        "/v1/projects",
        json={
            "sizes": ["desk"],
            "gauge": GAUGE,
            "yarn": YARN,
            "pieces": [{"name": "case", **CASE}],
        },
    ).json  # fmt: skip
    assert alone
    assert made
    assert whole
    # What is said of a yarn points to where that yarn was told.
    fields = {c["field"] for c in alone["cautions"]}
    assert fields == {"/yarns/ochre", "/yarn"}
    assert {c["field"] for c in made["cautions"] if "yarn" in c["code"]} <= fields
    (short,) = [c for c in whole["cautions"] if "ochre" in c["text"]]
    assert short["fields"] == ["/pieces/0/yarns/ochre"]
    assert alone["yarn"] == made["yarn"] == whole["pieces"][0]["sizes"]["desk"]["yarn"]
    assert [needed["colour"] for needed in whole["yarn"]] == ["ink", "ochre"]
    ink, ochre = made["yarn"]["colours"]
    assert (ink["method"], ochre["method"]) == ("swatch-mass", "weight-category")
    # Of several colours the least sure method is named, and whole balls are added.
    assert made["yarn"]["method"] == "weight-category"
    assert made["yarn"]["balls"] == ink["balls"] + ochre["balls"]


def test_yarns_told_for_a_whole_project_go_to_the_pieces_of_their_colours(
    client: FlaskClient,
) -> None:
    strap = {
        "name": "strap", "template": "strap", "colours": {"main": "ochre"},
        "measurements": {"length": of(90, "cm")},
    }  # fmt: skip
    band = {
        "name": "wrap band", "template": "band",
        "measurements": {"length": of(28, "cm"), "depth": of(5, "cm")},
    }  # fmt: skip
    told = client.post(
        "/v1/projects",
        json={
            "sizes": ["desk"], "gauge": GAUGE, "yarn": YARN, "pieces": [strap, band],
            "yarns": {"ochre": {"wraps_per_inch": 10}},
        },
    ).json  # fmt: skip
    assert told
    methods = {needed["pieces"][0]: needed["in_all"]["method"] for needed in told["yarn"]}
    assert methods == {"strap": "loop-length-model", "wrap band": "swatch-mass"}


def test_yarn_is_told_in_the_units_that_are_asked_for(client: FlaskClient) -> None:
    body = {"gauge": GAUGE, "yarn": {"weight_category": 4}, "template": "panel",
            "measurements": {"width": of(10, "cm"), "height": of(10, "cm")}}  # fmt: skip
    metric, imperial = (
        client.post("/v1/yarn", json={**body, "units": units}).json["yarn"]  # type: ignore[index]
        for units in ("metric", "imperial")
    )
    assert (metric["length"]["unit"], imperial["length"]["unit"]) == ("m", "yd")
    # 1 yd is 0.9144 m exactly (international agreement, 1959).
    assert imperial["length"]["value"] * 0.9144 == pytest.approx(metric["length"]["value"])
    assert "from memory" in metric["margin_reason"]
