"""Errors are part of the product: one table of bad requests - what was sent, and what came back."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.api.operations import OPERATIONS
from service.api.problems import KINDS
from service.api.reading import LARGEST_BODY
from service.api.representations import JSON

CM_10 = {"value": 10, "unit": "cm"}
GAUGE = {"stitch": "single-crochet", "stitches": 16, "width": CM_10, "rows": 19, "height": CM_10}
PANEL = {
    "gauge": GAUGE,
    "template": "panel",
    "measurements": {"width": CM_10, "height": CM_10},
}


def changed(body: dict[str, Any], pointer: str, value: Any) -> dict[str, Any]:
    """The body with one member put in, replaced, or (with ``...``) taken out."""
    made: dict[str, Any] = json.loads(json.dumps(body))
    *path, last = pointer.strip("/").split("/")
    place: Any = made
    for key in path:
        place = place[int(key)] if isinstance(place, list) else place.setdefault(key, {})
    if value is ...:
        del place[last]
    else:
        place[last] = value
    return made


@pytest.mark.parametrize(
    ("path", "pointer", "value", "at", "code", "words"),
    [
        # what is sent in place of what; where it is told, as what, in which words
        ("pieces", "/gauge", ..., "/gauge", "missing-field", "required"),
        ("pieces", "/gauge", None, "/gauge", "wrong-type", "leave the field out"),
        ("pieces", "/gauge", [], "/gauge", "wrong-type", "object"),
        ("pieces", "/gauge/stitch", "sc", "/gauge/stitch", "not-a-choice", "single-crochet"),
        ("pieces", "/gauge/stitch", 4, "/gauge/stitch", "wrong-type", "string"),
        ("pieces", "/gauge/stitches", "16", "/gauge/stitches", "wrong-type", "number"),
        ("pieces", "/gauge/stitches", True, "/gauge/stitches", "wrong-type", "number"),
        ("pieces", "/gauge/stitches", 0, "/gauge/stitches", "out-of-range", "0.001 to 1000"),
        ("pieces", "/gauge/width/unit", "ell", "/gauge/width/unit", "not-a-choice", "yd"),
        ("pieces", "/gauge/width/value", -1, "/gauge/width/value", "out-of-range", "-1 is"),
        ("pieces", "/gauge/hight", CM_10, "/gauge/hight", "unknown-field", "did you mean height?"),
        ("pieces", "/template", "pannel", "/template", "not-a-choice", "flap-panel"),
        ("pieces", "/template", 3, "/template", "wrong-type", "object with foundation"),
        ("pieces", "/template", {}, "/template", "wrong-type", "object with start"),
        ("pieces", "/template", {"foundation": {}}, "/template/name", "missing-field", "required"),
        ("pieces", "/template", {"start": {}}, "/template/start/kind", "missing-field", "required"),
        ("pieces", "/measurements/Width", CM_10, "/measurements/Width", "wrong-pattern", "small"),
        ("pieces", "/measurements/depth", CM_10, "/measurements/depth", "unknown-measurement",
         "no measurement depth"),
        ("pieces", "/measurements/width", ..., "/measurements/width", "measurement-missing",
         "across the foundation"),
        ("pieces", "/measurements/width/value", 0.1, "/measurements/width",
         "measurement-too-small", "one stitch needs at least 0.3125 cm"),
        ("pieces", "/measurements/width/value", 9e3, "/measurements/width",
         "measurement-too-large", "at most 10000"),
        ("pieces", "/measurements/width/value", 9e4, "/measurements/width",
         "measurement-out-of-range", "at least 0.1 cm and at most 10000 cm"),
        ("pieces", "/stitch_multiple", {"multiple": 0}, "/stitch_multiple/multiple",
         "out-of-range", "1 to 1000"),
        ("pieces", "/stitch_multiple", {"multiple": 2.5}, "/stitch_multiple/multiple",
         "wrong-type", "whole number"),
        ("pieces", "/right_side_only", "yes", "/right_side_only", "wrong-type", "true or false"),
        ("pieces", "/uses", ["heat"] * 4, "/uses", "out-of-range", "0 to 3"),
        ("pieces", "/uses", ["frost"], "/uses/0", "not-a-choice", "heat"),
        ("pieces", "/uses", "heat", "/uses", "wrong-type", "list"),
        ("pieces", "/foundation", {"turning_chain": 3}, "/foundation/turning_chain",
         "turning-chain-length", "turns with 1 chain, not 3"),
        ("pieces", "/foundation", {"turning_chain_counts": True},
         "/foundation/turning_chain_counts", "turning-chain-too-short-to-count", "too short"),
        ("pieces", "/closure", {"kind": "loop"}, "/closure", "closure-without-button", "button"),
        ("pieces", "/button", {"diameter": CM_10, "thickness": {"value": 11, "unit": "cm"}},
         "/button/thickness", "button-thicker-than-wide", "a ball's thickness"),
        ("pieces", "/yarn", {}, "/yarn", "yarn-unknown", "weight category"),
        ("pieces", "/yarn", {"swatch": {"width": CM_10, "height": CM_10}}, "/yarn/swatch",
         "swatch-yarn-unknown", "unravelled length"),
        ("pieces", "/yarn", {"swatch": {"width": CM_10, "stitches": 16,
                                        "mass": {"value": 9, "unit": "g"}}}, "/yarn/swatch",
         "swatch-size-unknown", "width and height"),
        ("pieces", "/yarn", {"ball": {"mass": {"value": 50, "unit": "g"}}}, "/yarn",
         "yarn-unknown", "ball's length and mass"),
        ("pieces", "/yarn", {"weight_category": 4, "count": {"system": "tex", "value": 0}},
         "/yarn/count/value", "out-of-range", "0.001 to"),
        ("pieces", "/colours", {"main": "Ink"}, "/colours/main", "wrong-pattern", "small"),
        ("pieces", "/yarns", {"ochre": {"weight_category": 4}}, "/yarns/ochre", "unknown-colour",
         "no part is in ochre"),
        ("yarn", "/yarn", ..., "/yarn", "yarn-unknown", "tell what is known"),
        ("yarn", "/find", {"sizes": {}}, "/find/sizes", "out-of-range", "1 to 20 names, not 0"),
        ("yarn", "/colours", {"main": "ink", "sections": {"flap": "ochre"}},
         "/colours/sections/flap", "unknown-section", "there are panel"),
        ("yarn", "/colours", {"main": "ink", "stripes": [
            {"section": "lid", "repeat": [{"colour": "ochre", "rows": 2}]}]},
         "/colours/stripes/0/section", "unknown-section", "there are panel"),
        ("yarn", "/colours", {"main": "ink", "sections": {"panel": "ink"}, "stripes": [
            {"section": "panel", "repeat": [{"colour": "ochre", "rows": 2}]}]},
         "/colours/stripes/0/section", "section-coloured-twice", "already"),
        ("yarn", "/colours", {"main": "ink", "stripes": [{"repeat": []}]},
         "/colours/stripes/0/repeat", "out-of-range", "1 to 40"),
        ("yarn", "/colours", {"main": "ink", "carried": True, "stripes": [
            {"repeat": [{"colour": "ochre", "rows": 3}, {"colour": "ink", "rows": 2}]}]},
         "/colours/stripes/0/repeat", "carried-on-odd-rows", "even rows"),
        ("yarn", "/colours", {"main": "ink", "edging": "ochre"}, "/colours/edging",
         "colour-of-nothing", "no edging"),
        ("yarn", "/colours", {"main": "ink", "loop": "ochre"}, "/colours/loop",
         "colour-of-nothing", "no loop"),
        ("yarn", "/colours", {"main": "ink", "seams": "ochre"}, "/colours/seams",
         "colour-of-nothing", "no seams"),
        ("yarn", "/yarn/substitute", {"ball": {"mass": {"value": 50, "unit": "g"}}},
         "/yarn/substitute/ball", "substitute-unknown", "length and the mass"),
        ("yarn", "/yarn", {"swatch": {"stitches": 9, "rows": 9, "mass": {"value": 9, "unit": "g"}},
                           "substitute": {"ball": {"mass": {"value": 50, "unit": "g"},
                                                   "length": {"value": 85, "unit": "m"}}}},
         "/yarn/substitute", "length-unknown", "ball (length and mass)"),
        ("yarn", "/find", {"rows_of": "panel"}, "/find", "find-without-left", "what is left"),
        ("yarn", "/left", {"colours": {"ink": {"length": CM_10}}}, "/left/colours",
         "left-of-which-colour", "no colours"),
        ("yarn", "/left", {"colours": {"ink": 3}}, "/left/colours/ink", "wrong-type",
         "object with length"),
        ("yarn", "/left", {"length": CM_10}, "/left", "not-enough-yarn", "more than is left"),
        ("projects", "/yarns", {"ochre": {"weight_category": 4}}, "/yarns/ochre",
         "unknown-colour", "no piece is in ochre"),
        ("projects", "/pieces/0/colours", {"main": "ink", "sections": {"lid": "ochre"}},
         "/pieces/0/colours/sections/lid", "unknown-section", "there are panel"),
        ("shaping", "/to", 0, "/to", "out-of-range", "1 to 10000"),
        ("shaping", "/to", 20.5, "/to", "wrong-type", "whole"),
        ("shaping", "/rows", ..., "", "no-extent", "give the rows"),
        ("shaping", "/rows", 4, "/rows", "shaping-does-not-fit", "needs at least 9 rows"),
        ("shaping", "/height", CM_10, "/height", "rows-and-height", "not both"),
        ("shaping", "/every", 100, "/rows", "shaping-does-not-fit", "every 100th row"),
        ("edgings", "/template", ..., "", "piece-or-sides", "either the piece"),
        ("edgings", "/sides", [{"name": "a", "along": "row-ends", "places": 3}], "",
         "piece-or-sides", "not both"),
        ("edgings", "/edging", {"corner": {"stitches": 21}}, "/edging/corner/stitches",
         "out-of-range", "0 to 20"),
        ("buttonholes", "/button", ..., "/button", "missing-field", "required"),
        ("buttonholes", "/button/diameter/value", 0.01, "/button/diameter", "button-too-small",
         "one chain"),
        ("buttonholes", "/placing", {"holes": 9, "stitches": 12, "hole_stitches": 2},
         "/placing/holes", "openings-do-not-fit", "9 openings of 2"),
        ("buttonholes", "/placing", {"holes": 2}, "/placing", "stitches-or-length", "its length"),
        ("buttonholes", "/placing",
         {"holes": 2, "length": CM_10, "end_distance": {"value": 5, "unit": "cm"}},
         "/placing/end_distance", "margins-meet", "no length between"),
        ("gauge", "/yarn", {"weight_category": 8}, "/yarn/weight_category", "out-of-range",
         "0 to 7"),
        ("gauge", "/yarn", {}, "/yarn/weight_category", "missing-field", "required"),
        ("projects", "/sizes", [], "/sizes", "out-of-range", "1 to 20"),
        ("projects", "/sizes", ["a/b"], "/sizes/0", "wrong-pattern", "name of a size"),
        ("projects", "/pieces/0/units", "metric", "/pieces/0/units", "unknown-field", "no such"),
        ("projects", "/gauge", ..., "/pieces/0/gauge", "gauge-missing", "whole project"),
        ("projects", "/pieces/0/measurements/width", {"piece": "lid", "measurement": "width"},
         "/pieces/0/measurements/width/piece", "unknown-piece", "there are case"),
        ("projects", "/pieces/0/measurements/width", {"by_size": {"desk": CM_10}},
         "/pieces/0/measurements/width/by_size/pocket", "size-missing", "not for pocket"),
        ("projects", "/pieces/0/measurements/width", 3, "/pieces/0/measurements/width",
         "wrong-type", "object with by_size"),
        ("projects", "/seams", [{"name": "s", "edges": [], "join": "row-for-row"}],
         "/seams/0/edges", "out-of-range", "2 to 2"),
        ("projects", "/most_off_percent", 101, "/most_off_percent", "out-of-range", "0 to 100"),
        ("projects", "/gauge/stitch", "chain", "/gauge/stitch", "stitch-makes-no-rows", "cord"),
        ("projects", "/pieces/0/template", {
            "name": "tab", "title": "Tab", "measurements": [], "foundation": {"stitches": 5},
            "sections": [{"name": "tab", "shape": "even", "rows": 5}],
            "folds": [{"section": "lid"}]}, "/pieces/0/template/folds/0/section",
         "unknown-section", "no section lid"),
    ],
)  # fmt: skip
def test_a_fault_is_told_at_its_field_in_words_that_help(
    client: FlaskClient, path: str, pointer: str, value: Any, at: str, code: str, words: str
) -> None:
    bodies: dict[str, dict[str, Any]] = {
        "pieces": PANEL,
        "yarn": {**PANEL, "yarn": {"weight_category": 4}},
        "edgings": PANEL,
        "shaping": {"from": 38, "to": 20, "rows": 40},
        "buttonholes": {"gauge": GAUGE, "button": {"diameter": {"value": 18, "unit": "mm"}}},
        "gauge": {"gauge": GAUGE},
        "projects": {
            "sizes": ["pocket", "desk"],
            "gauge": GAUGE,
            "pieces": [{k: v for k, v in PANEL.items() if k != "gauge"} | {"name": "case"}],
        },
    }
    response = client.post(f"/v1/{path}", json=changed(bodies[path], pointer, value))
    assert response.status_code == 422, response.text
    assert response.mimetype == "application/problem+json"
    told = response.json
    assert told
    (error,) = [e for e in told["errors"] if e["pointer"] == at]
    assert error["code"] == code
    assert words in error["detail"]


@pytest.mark.parametrize(
    ("left", "find", "at", "code", "words"),
    [
        ({"length": CM_10}, {"rows_of": "lid"}, "/find/rows_of", "unknown-section", "are body"),
        ({"length": CM_10}, {"rows_of": "flap"}, "/find/rows_of", "section-is-shaped", "shaped"),
        ({"length": CM_10}, {"measurement": "depth"}, "/find/measurement", "unknown-measurement",
         "no measurement depth"),
        ({"length": CM_10}, {"measurement": "width"}, "/left", "not-enough-yarn",
         "the least of it"),
        ({"length": CM_10}, {"sizes": {"pocket": {}}}, "/left", "not-enough-yarn",
         "the size pocket"),
        ({"length": {"value": 10, "unit": "m"}}, {"sizes": {"pocket": {"depth": CM_10}}},
         "/measurements/depth", "unknown-measurement", "no measurement depth"),
        ({"mass": {"value": 10, "unit": "oz"}}, {"rows_of": "body"}, "/left/mass",
         "left-in-another-measure", "length that is left"),
    ],
)  # fmt: skip
def test_what_cannot_be_found_from_what_is_left_is_told(
    client: FlaskClient, left: Any, find: Any, at: str, code: str, words: str
) -> None:
    body = {
        "gauge": GAUGE, "template": "flap-panel", "left": left, "find": find,
        "measurements": {"width": CM_10, "body_height": CM_10},
        "yarn": {"swatch": {"stitches": 9, "rows": 9, "unravelled_length": CM_10 | {"value": 400}}},
    }  # fmt: skip
    told = client.post("/v1/yarn", json=body).json
    assert told
    error = told["errors"][0]
    assert (error["pointer"], error["code"]) == (at, code)
    assert words in error["detail"]


def test_several_faults_are_told_at_once(client: FlaskClient) -> None:
    body = {"gauge": {"stitch": "sc", "stitches": 0}, "template": "nothing", "colour": "red"}
    told = client.post("/v1/pieces", json=body).json
    assert told
    assert {e["pointer"] for e in told["errors"]} == {
        "/gauge/stitch", "/gauge/stitches", "/gauge/width", "/gauge/rows", "/gauge/height",
        "/template", "/colour",
    }  # fmt: skip
    assert told["detail"].endswith("(and 6 more)")


OFFERS = {operation.path: operation.offers for operation in OPERATIONS}
BODIED = pytest.mark.parametrize("method", ["POST", "QUERY"])


@BODIED
@pytest.mark.parametrize("path", OFFERS)
@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "Expecting value"),
        (b"{", "line 1, column 2"),
        (b"[1,]", "line 1"),
        (b'{"a": 1, "a": 2}', 'name "a" is given twice'),
        (b'{"a": NaN}', "NaN is not a JSON number"),
        (b'{"a": -Infinity}', "-Infinity is not a JSON number"),
        (b'{"a": 1e400}', "out of range"),
        (b'{"a": 1' + b"0" * 500 + b"}", "out of range"),
        (b'\xef\xbb\xbf{"a": 1}', "byte order mark"),
        ('{"a": 1}'.encode("utf-16"), "not UTF-8"),
        (b'{"a": "\xc3"}', "not UTF-8: byte 7"),
        (b'{"a": "\\ud800"}', "surrogate"),
        (b'{"\\udc00": 1}', "surrogate"),
        (b"[" * 41 + b"]" * 41, "more than 40 levels"),
        (b"[" * 20_000, "more than 40 levels"),
        (b'{"a": "\x00"}', "control character"),
    ],
)  # fmt: skip
def test_what_is_not_json_is_refused_with_the_place(
    client: FlaskClient, method: str, path: str, body: bytes, words: str
) -> None:
    # RFC 8259 and RFC 7493 (I-JSON).
    response = client.open(path, method=method, data=body, content_type="application/json")
    assert response.status_code == 400
    assert response.json
    assert response.json["type"] == "/v1/problems/malformed"
    assert words in response.json["detail"]


@BODIED
@pytest.mark.parametrize("path", OFFERS)
@pytest.mark.parametrize("body", ["[]", "3", '"panel"', "null", "true"])
def test_json_that_is_no_object_is_unprocessable(
    client: FlaskClient, method: str, path: str, body: str
) -> None:
    response = client.open(path, method=method, data=body, content_type="application/json")
    assert response.status_code == 422
    assert response.json
    assert response.json["errors"][0]["pointer"] == ""


@BODIED
@pytest.mark.parametrize("path", OFFERS)
def test_other_media_types_and_compression_are_refused(
    client: FlaskClient, method: str, path: str
) -> None:
    # RFC 9110, 415 with Accept-Post.
    for headers in (
        {"Content-Type": "text/plain"},
        {},
        {"Content-Type": "application/json", "Content-Encoding": "gzip"},
    ):
        response = client.open(path, method=method, data=b"{}", headers=headers)
        assert response.status_code == 415
        assert response.headers["Accept-Post"] == "application/json"


@BODIED
@pytest.mark.parametrize("path", OFFERS)
def test_a_body_too_large_is_refused(client: FlaskClient, method: str, path: str) -> None:
    body = b" " * (LARGEST_BODY + 1)
    response = client.open(path, method=method, data=body, content_type="application/json")
    assert response.status_code == 413
    assert response.json
    assert str(LARGEST_BODY) in response.json["detail"]


@pytest.mark.parametrize(
    "accept", ["text/html", "image/png, audio/*;q=0.5", "application/json;q=0"]
)
@pytest.mark.parametrize("path", [*OFFERS, "/v1/templates"])
def test_an_answer_that_is_not_accepted_is_not_sent(
    client: FlaskClient, path: str, accept: str
) -> None:
    send = client.get if path.endswith("templates") else client.post
    response = send(path, headers={"Accept": accept})
    assert response.status_code == 406
    assert response.json
    offered = [o.media_type for o in OFFERS.get(path, [JSON])]
    assert response.json["errors"][0]["permitted"] == [*dict.fromkeys(offered)]
    assert offered[0] == "application/json"


@pytest.mark.parametrize(
    "accept", ["*/*", "application/*", "text/html, application/json;q=0.1", ""]
)
def test_an_answer_that_is_accepted_is_sent(client: FlaskClient, accept: str) -> None:
    response = client.post("/v1/pieces", json=PANEL, headers={"Accept": accept})
    assert response.status_code == 200


def test_a_wrong_method_names_the_right_ones(client: FlaskClient) -> None:
    response = client.delete("/v1/pieces")
    assert response.status_code == 405
    assert response.headers["Allow"] == "GET, HEAD, OPTIONS, POST, QUERY"
    assert client.delete("/v1/templates").headers["Allow"] == "GET, HEAD, OPTIONS"


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/v1/template", "/v1/openapi.json"),
        ("/v1/templates/hat", "flap-panel"),
        ("/v1/standards/hats", "yarn-weights"),
        ("/v1/schemas/hats", "pieces-request"),
        ("/v1/problems/hats", "malformed"),
        ("/v1/schemas/../openapi.json", ""),
    ],
)
def test_what_is_not_there_says_what_is(client: FlaskClient, path: str, words: str) -> None:
    response = client.get(path)
    assert response.status_code == 404
    assert response.json
    assert words in response.json["detail"]


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.slug)
def test_every_type_of_problem_can_be_read_up(client: FlaskClient, kind: Any) -> None:
    told = client.get(kind.uri).json
    assert told
    assert told["status"] == kind.status
    assert told["meaning"]


def test_a_fault_of_the_service_tells_nothing_of_its_inside(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    from service.api import direct, reading

    def fail(*_: object) -> None:
        raise RuntimeError("secret of the inside")

    for module in (direct, reading):
        monkeypatch.setattr(module, "decode", fail)
    monkeypatch.setitem(client.application.config, "PROPAGATE_EXCEPTIONS", False)
    response = client.post("/v1/shaping", json={"from": 3, "to": 1, "rows": 9})
    assert f"request {response.headers['X-Request-Id']} failed" in caplog.text
    assert response.status_code == 500
    assert response.mimetype == "application/problem+json"
    assert "secret" not in response.text


def test_members_that_are_not_known_are_told_by_name(client: FlaskClient) -> None:
    # In an order of their own, since marshmallow has them in none.
    sent = ["z", "mid", "a", "fifth", "more", "b", "q"]
    body = json.dumps({**dict.fromkeys(sent, 1), **PANEL})
    answer = client.post("/v1/pieces", data=body, content_type="application/json")
    assert [e["pointer"] for e in answer.json["errors"]] == [f"/{name}" for name in sorted(sent)]
