"""Asking for a measurement by a body or an object, and looking at where it is taken."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

from service.api.builtins import DOCUMENTS

CM_10 = {"value": 10, "unit": "cm"}
GAUGE = {"stitch": "single-crochet", "stitches": 16, "width": CM_10, "rows": 19, "height": CM_10}
BOOK = {
    "width": {"value": 10.5, "unit": "cm"},
    "height": {"value": 14.8, "unit": "cm"},
    "thickness": {"value": 15, "unit": "mm"},
}
WRIST = {"population": "men", "measure": "wrist"}


def strap(length: Any, **more: Any) -> dict[str, Any]:
    return {"gauge": GAUGE, "template": "strap", "measurements": {"length": length}, **more}


@pytest.mark.parametrize(
    ("asked", "cm"),
    [
        # ANSUR II: a man's wrist is 17.6 cm round. By hand: plus 6 cm; 2 x (10.5 + 1.5) cm.
        ({"body": WRIST}, 17.6),
        ({"body": WRIST, "ease": {"value": 6, "unit": "cm"}}, 23.6),
        ({"body": WRIST, "ease": {"value": -6, "unit": "mm"}, "times": 2}, 34.6),
        ({"object": BOOK, "as": "around-width"}, 24.0),
        ({"object": BOOK, "as": "around-width", "ease": {"value": -1, "unit": "in"}}, 21.46),
    ],
)
def test_a_measurement_is_made_from_a_body_or_an_object(
    client: FlaskClient, asked: dict[str, Any], cm: float
) -> None:
    answer = client.post("/v1/pieces", json=strap(asked)).json
    assert answer
    length = answer["measurements"]["length"]
    assert length["asked"] == {"value": cm, "unit": "cm"}
    assert length["made_from"]["source"]


def test_other_requests_that_size_a_piece_take_it_too(client: FlaskClient) -> None:
    body = strap({"body": WRIST, "ease": {"value": 6, "unit": "cm"}})
    answer = client.post("/v1/edgings", json=body)
    assert answer.status_code == 200
    # ANSUR II, by hand: 23.6 cm at 1.6 stitches a cm are 37.76, so 38 along the foundation.
    (foundation,) = [s for s in answer.json["sides"] if s["along"] == "foundation"]  # type: ignore[index]
    assert foundation["stitches"] == 38


def test_a_plain_length_has_nothing_to_say_of_how_it_was_made(client: FlaskClient) -> None:
    answer = client.post("/v1/pieces", json=strap(CM_10)).json
    assert answer
    assert "made_from" not in answer["measurements"]["length"]


@pytest.mark.parametrize(
    ("asked", "at", "code"),
    [
        ({}, "/value", "missing-field"),
        ({"valeu": 1, "unit": "cm"}, "/valeu", "unknown-field"),
        (3, "", "wrong-type"),
        ({"body": WRIST, "value": 3}, "/value", "unknown-field"),
        ({"body": WRIST, "as": "width"}, "/as", "unknown-field"),
        ({"body": {**WRIST, "population": "elves"}}, "/body/population", "not-a-choice"),
        ({"body": {"population": "men"}}, "/body/measure", "missing-field"),
        ({"body": WRIST, "ease": 3}, "/ease", "wrong-type"),
        ({"body": WRIST, "times": 0}, "/times", "out-of-range"),
        ({"object": BOOK}, "/as", "missing-field"),
        ({"object": BOOK, "as": "round"}, "/as", "not-a-choice"),
        ({"object": {**BOOK, "depth": CM_10}, "as": "width"}, "/object/depth", "unknown-field"),
        ({"object": {}, "as": "around-height"}, "/object/height", "object-size-missing"),
        ({"body": {**WRIST, "size": "S"}}, "/body/size", "no-such-body-size"),
    ],
)
def test_a_slip_is_told_at_its_field(client: FlaskClient, asked: Any, at: str, code: str) -> None:
    response = client.post("/v1/pieces", json=strap(asked))
    assert response.status_code == 422
    told = {(e["pointer"], e["code"]) for e in response.json["errors"]}  # type: ignore[index]
    assert (f"/measurements/length{at}", code) in told


def test_a_template_of_ones_own_says_what_it_takes(client: FlaskClient) -> None:
    document = {
        "name": "tag",
        "title": "Tag",
        "measurements": [
            {"name": "size", "meaning": "along", "takes": {"body": ["wrist"]},
             "maximum": {"value": 30, "unit": "cm"}}
        ],
        "foundation": {"width": "size"},
        "sections": [{"name": "tag", "shape": "even", "rows": 4}],
    }  # fmt: skip
    body = {"gauge": GAUGE, "template": document, "measurements": {"size": {"body": WRIST}}}
    assert client.post("/v1/pieces", json=body).status_code == 200
    body["measurements"] = {"size": {"object": BOOK, "as": "width"}}
    refused = client.post("/v1/pieces", json=body).json
    assert refused
    assert refused["errors"][0]["permitted"] == ["a length", "body"]
    body["measurements"] = {"size": {"body": WRIST, "times": 2}}  # 35.2 cm
    (error,) = client.post("/v1/pieces", json=body).json["errors"]  # type: ignore[index]
    assert error["permitted"] == {"maximum": {"value": 30.0, "unit": "cm"}}
    assert "its own limits" in error["detail"]


def test_body_sizes_are_told_with_what_they_are(client: FlaskClient) -> None:
    table = client.get("/v1/standards/body-sizes").json
    assert table
    assert "not of garments" in table["note"]
    # ANSUR II: a woman's wrist is 15.5 cm round on average.
    (wrist,) = [r for r in table["rows"] if (r["population"], r["measure"]) == ("women", "wrist")]
    assert (wrist["value"], wrist["statistic"]) == ({"value": 15.5, "unit": "cm"}, "mean")
    assert "note" not in client.get("/v1/standards/hook-sizes").json  # type: ignore[operator]


def test_a_template_in_the_list_links_to_its_drawing(client: FlaskClient) -> None:
    listed = client.get("/v1/templates").json
    assert listed
    for template in listed["templates"]:
        drawing = client.get(template["drawing"])
        assert drawing.mimetype == "image/svg+xml"
        texts = {e.text for e in ElementTree.fromstring(drawing.text).iter()}
        for measurement in template["measurements"]:
            assert measurement["name"] in texts
            assert measurement["meaning"] in template["drawing_in_words"]
            assert {"minimum", "maximum", "example"} <= set(measurement)


def test_a_drawing_is_refused_as_other_resources_are(client: FlaskClient) -> None:
    missing = client.get("/v1/templates/hammock/drawing")
    assert (missing.status_code, missing.mimetype) == (404, "application/problem+json")
    assert "flap-panel" in missing.text
    for accepted, status in (
        ("image/svg+xml", 200),
        ("image/*", 200),
        ("text/html, */*;q=0.1", 200),
        ("application/json", 406),
    ):
        answer = client.get("/v1/templates/panel/drawing", headers={"Accept": accepted})
        assert answer.status_code == status
    assert answer.json["errors"][0]["permitted"] == ["image/svg+xml"]  # type: ignore[index]
    assert client.post("/v1/templates/panel/drawing").status_code == 405


@pytest.mark.parametrize("name", DOCUMENTS)
def test_what_a_measurement_takes_can_be_asked_for(client: FlaskClient, name: str) -> None:
    document = DOCUMENTS[name]
    examples = {m["name"]: m["example"] for m in document["measurements"]}
    # At this gauge a stitch is 0.5 mm: whatever is asked for comes to some stitches, and the piece
    # may be shaped by many of them in a row.
    mm_10 = {"value": 10, "unit": "mm"}
    fine = {**GAUGE, "stitches": 20, "width": mm_10, "rows": 20, "height": mm_10}
    for measurement in document["measurements"]:
        takes = measurement["takes"]
        ways: list[dict[str, Any]] = [{"object": BOOK, "as": way} for way in takes["object"]]
        for measure in takes.get("body", []):
            rows = client.get("/v1/standards/body-sizes").json["rows"]  # type: ignore[index]
            row = next(row for row in rows if row["measure"] == measure)
            told = ("population", "measure", "size", "statistic")
            ways.append({"body": {key: row[key] for key in told}})
        for way in ways:
            asked = {**examples, measurement["name"]: way}
            body = {"gauge": fine, "template": name, "measurements": asked, "max_change": 60}
            assert client.post("/v1/pieces", json=body).status_code == 200, way
