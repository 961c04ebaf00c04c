"""What can be looked up: templates, tables, schemas, the contract, health."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from service import __version__
from service.api.builtins import DOCUMENTS
from service.engine.sources import SOURCES
from service.engine.standards import TABLES


@pytest.mark.parametrize(
    ("name", "measurements"),
    [
        # As the contract fixes them; a mark says it may be left out.
        ("panel", ["width", "height"]),
        ("flap-panel", ["width", "body_height", "flap_depth?"]),
        ("rounded-flap-panel", ["width", "body_height", "flap_depth"]),
        ("triangle", ["width", "height?"]),
        ("trapezoid", ["bottom_width", "top_width", "height"]),
        ("band", ["length", "depth"]),
        ("strap", ["length", "depth?"]),
        ("disc", ["diameter"]),
        ("oval", ["length", "width"]),
        ("tube", ["circumference", "height"]),
        ("cone", ["base_diameter", "height"]),
        ("ball", ["diameter"]),
        ("cup", ["diameter", "height"]),
        ("cap", ["circumference", "depth?"]),
        # Our own.
        ("gusset", ["base_width", "height"]),
        ("cuff", ["around", "depth"]),
        ("sleeve", ["cuff_width", "upper_width", "shaping_length", "even_length"]),
    ],
)
def test_the_built_in_templates_ask_for_what_the_contract_says(
    client: FlaskClient, name: str, measurements: list[str]
) -> None:
    document = client.get(f"/v1/templates/{name}").json
    assert document
    asked = [m["name"] + ("?" if m.get("optional") else "") for m in document["measurements"]]
    assert asked == measurements
    listed = client.get("/v1/templates").json
    assert listed
    assert [t["name"] for t in listed["templates"]] == sorted(DOCUMENTS)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_built_in_template_sent_inline_gives_the_same_piece(
    client: FlaskClient, name: str
) -> None:
    size = {"value": 20, "unit": "cm"}
    cm_10 = {"value": 10, "unit": "cm"}
    body: dict[str, Any] = {
        "gauge": {"stitch": "single-crochet", "stitches": 16, "width": cm_10, "rows": 19,
                  "height": cm_10},
        "measurements": {m["name"]: size for m in DOCUMENTS[name]["measurements"]},
    }  # fmt: skip
    if name in ("oval", "cap"):
        body["measurements"]["length" if name == "oval" else "depth"] = {"value": 1, "unit": "m"}
    by_name = client.post("/v1/pieces", json={**body, "template": name})
    inline = client.post("/v1/pieces", json={**body, "template": DOCUMENTS[name]})
    assert by_name.status_code == 200
    assert by_name.json == inline.json


@pytest.mark.parametrize("table", TABLES)
def test_every_row_of_a_table_says_its_source(client: FlaskClient, table: str) -> None:
    answer = client.get(f"/v1/standards/{table}").json
    assert answer
    assert len(answer["rows"]) == len(TABLES[table])
    assert all(row["source"] in SOURCES.values() for row in answer["rows"])


def test_tables_come_in_either_unit_system(client: FlaskClient) -> None:
    # Craft Yarn Council: H-8 is 5 mm; by hand 5 / 25.4 in.
    for units, expected in (("metric", 5.0), ("imperial", round(5 / 25.4, 6))):
        answer = client.get(f"/v1/standards/hook-sizes?units={units}").json
        assert answer
        (hook,) = [row for row in answer["rows"] if row["us_label"] == "H-8"]
        assert hook["diameter"]["value"] == expected


@pytest.mark.parametrize(
    ("us", "uk"),
    [
        # Craft Yarn Council: terms in both dialects.
        ("slip stitch", "slip stitch"),
        ("single crochet", "double crochet"),
        ("half double crochet", "half treble"),
        ("double crochet", "treble"),
        ("treble crochet", "double treble"),
        ("double treble crochet", "triple treble"),
    ],
)
def test_stitch_terms_are_told_in_both_dialects(client: FlaskClient, us: str, uk: str) -> None:
    answer = client.get("/v1/standards/stitch-terms").json
    assert answer
    assert (us, uk) in [(row["us"], row["uk"]) for row in answer["rows"]]


def test_the_units_asked_for_win_over_those_of_the_gauge(client: FlaskClient) -> None:
    ten = {"value": 10, "unit": "cm"}
    gauge = {"stitch": "single-crochet", "stitches": 16, "width": {"value": 4, "unit": "in"},
             "rows": 19, "height": ten}  # fmt: skip
    body = {"gauge": gauge, "template": "panel", "measurements": {"width": ten, "height": ten}}
    for units, expected in (({}, "in"), ({"units": "metric"}, "cm"), ({"units": "imperial"}, "in")):
        answer = client.post("/v1/pieces", json={**body, **units}).json
        assert answer
        assert answer["measurements"]["width"]["asked"]["unit"] == expected


def test_every_answer_says_the_version_and_its_schema(client: FlaskClient) -> None:
    response = client.post("/v1/shaping", json={"from": 8, "to": 2, "rows": 3})
    assert response.headers["Service-Version"] == __version__
    assert '</v1/schemas/shaping-answer>; rel="describedby"' in response.headers.getlist("Link")
    assert client.get("/v1/schemas/shaping-answer").status_code == 200
    assert client.get("/v1/openapi.json").json["openapi"] == "3.1.0"  # type: ignore[index]


def test_health_is_told(client: FlaskClient) -> None:
    assert client.get("/livez").json == {"status": "alive"}
    assert client.get("/readyz").json == {"status": "ready"}


def test_head_and_options_work(client: FlaskClient) -> None:
    assert client.head("/v1/templates").status_code == 200
    assert "POST" in client.options("/v1/pieces").headers["Allow"]
