"""A question as query parameters: the same document, the same answer, the same refusals."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

import pytest
from flask.testing import FlaskClient

from service.api.fields import OneOfKinds
from service.api.operations import OPERATIONS, by_id
from service.api.parameters import WHOLE, BadParameters, document, name_of, parse
from service.api.reading import LONGEST_QUERY
from service.api.representations import CHOSEN_BY

GAUGE = (
    "gauge.stitch=single-crochet&gauge.stitches=16&gauge.width=10cm&gauge.rows=19&gauge.height=10cm"
)
CM_10 = {"value": 10, "unit": "cm"}
GAUGE_BODY = {
    "stitch": "single-crochet", "stitches": 16, "width": CM_10, "rows": 19, "height": CM_10,
}  # fmt: skip


@pytest.mark.parametrize(
    ("operation", "query", "body"),
    [
        ("shaping", "from=38&to=20&rows=40", {"from": 38, "to": 20, "rows": 40}),
        ("shaping", "from=38&to=20&rows=40&right_side_only=true&detail=rows",
         {"from": 38, "to": 20, "rows": 40, "right_side_only": True, "detail": "rows"}),
        ("shaping", f"from=38&to=20&height=10.5+cm&{GAUGE}",
         {"from": 38, "to": 20, "height": {"value": 10.5, "unit": "cm"}, "gauge": GAUGE_BODY}),
        ("pieces", f"template=strap&measurements.length=60cm&uses=carrying&uses=heat&{GAUGE}",
         {"template": "strap", "measurements": {"length": {"value": 60, "unit": "cm"}},
          "uses": ["carrying", "heat"], "gauge": GAUGE_BODY}),
        ("pieces", f"template=strap&measurements.length=60cm&uses=carrying&{GAUGE}",
         {"template": "strap", "measurements": {"length": {"value": 60, "unit": "cm"}},
          "uses": ["carrying"], "gauge": GAUGE_BODY}),
        ("pieces", "template=strap&measurements.length.body.population=men"
         f"&measurements.length.body.measure=wrist&measurements.length.ease=-6mm&{GAUGE}",
         {"template": "strap", "gauge": GAUGE_BODY, "measurements": {"length": {
             "body": {"population": "men", "measure": "wrist"},
             "ease": {"value": -6, "unit": "mm"}}}}),
        # What is a word by its field stays one, though it looks like a number.
        ("edgings", "sides.0.name=1&sides.0.along=row-ends&sides.0.places=30"
         f"&sides.1.name=true&sides.1.along=foundation&sides.1.places=2e1&{GAUGE}",
         {"gauge": GAUGE_BODY, "sides": [{"name": "1", "along": "row-ends", "places": 30},
                                         {"name": "true", "along": "foundation", "places": 20}]}),
        ("edgings", "sides.0.name=10cm&sides.0.along=row-ends&sides.0.places=30"
         f"&sides.0.length.value=0.2&sides.0.length.unit=m&{GAUGE}",
         {"gauge": GAUGE_BODY, "sides": [{"name": "10cm", "along": "row-ends", "places": 30,
                                          "length": {"value": 0.2, "unit": "m"}}]}),
        ("buttonholes", f"button.diameter=18mm&placing.holes=5&placing.length=40cm&{GAUGE}",
         {"gauge": GAUGE_BODY, "button": {"diameter": {"value": 18, "unit": "mm"}},
          "placing": {"holes": 5, "length": {"value": 40, "unit": "cm"}}}),
        ("gauge", f"yarn.weight_category=4&units=imperial&{GAUGE}",
         {"gauge": GAUGE_BODY, "yarn": {"weight_category": 4}, "units": "imperial"}),
    ],
)  # fmt: skip
def test_parameters_ask_what_the_body_asks(
    client: FlaskClient, operation: str, query: str, body: dict[str, Any]
) -> None:
    by_get = client.get(f"/v1/{operation}?{query}")
    by_post = client.post(f"/v1/{operation}", json=body)
    assert by_get.status_code == 200, by_get.text
    assert by_get.data == by_post.data


@pytest.mark.parametrize(
    ("query", "at", "parameter", "code", "words"),
    [
        # which member, which parameter, as what, in which words
        ("from=38", "/to", "to", "missing-field", "required"),
        ("from=38&too=20", "/too", "too", "unknown-field", "did you mean to?"),
        ("from=x&to=2&rows=9", "/from", "from", "wrong-type", "whole number"),
        ("from=&to=2&rows=9", "/from", "from", "wrong-type", "whole number"),
        ("from=0x10&to=2&rows=9", "/from", "from", "wrong-type", "whole number"),
        ("from=NaN&to=2&rows=9", "/from", "from", "wrong-type", "whole number"),
        ("from=38cm&to=2&rows=9", "/from", "from", "wrong-type", "whole number"),
        ("from=3&to=2&rows=9&right_side_only=yes", "/right_side_only", "right_side_only",
         "wrong-type", "true or false"),
        ("from=3&to=2&height=9ell", "/height", "height", "wrong-type", "object"),
        ("from=3&to=2&height=0cm", "/height/value", "height", "out-of-range", "0.001"),
        ("from=3&to=2&height.unit=cm", "/height/value", "height.value", "missing-field", "requir"),
        ("from=3&to=2&rows=9&gauge.stitch=sc", "/gauge/stitch", "gauge.stitch", "not-a-choice",
         "single-crochet"),
        ("from=38&to=2&rows=4", "/rows", "rows", "shaping-does-not-fit", "needs at least"),
        ("from=3&from=3&to=2&rows=9", "", "from", "repeated-parameter", "once"),
        ("from=3&from.value=3&to=2&rows=9", "", "from.value", "parameters-clash", "another"),
        ("from.value=3&from=3&to=2&rows=9", "", "from", "parameters-clash", "another"),
        ("from=3&to=2&rows=9&as=tapestry", "", "as", "not-a-choice", "json"),
        ("from=3&to=2&rows=9&as=json&as=json", "", "as", "repeated-parameter", "once"),
        ("ask={}&to=2", "", "to", "unknown-parameter", "there are ask"),
        ("ask={}&ask={}", "", "ask", "repeated-parameter", "once"),
        ('ask={"from":3}', "/to", "ask", "missing-field", "required"),
    ],
)  # fmt: skip
def test_a_fault_names_the_member_and_the_parameter(
    client: FlaskClient, query: str, at: str, parameter: str, code: str, words: str
) -> None:
    response = client.get(f"/v1/shaping?{query}")
    assert (response.status_code, response.mimetype) == (422, "application/problem+json")
    told = [e for e in response.json["errors"] if (e["pointer"], e["code"]) == (at, code)]  # type: ignore[index]
    assert len(told) == 1, response.text
    assert told[0]["parameter"] == parameter
    assert words in told[0]["detail"]


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("from=%zz", "hexadecimal"),
        ("from=%", "hexadecimal"),
        ("from=%ff", "not UTF-8"),
        ("from", "bad query field"),
        ("from=1&&to=2", "bad query field"),
        ("&".join(f"a{i}=1" for i in range(301)), "Max number of fields"),
        ("ask={", "line 1"),
        ('ask={"a":1,"a":2}', "given twice"),
        ("from=1e400", "out of range"),
        ("ask=" + "[" * 41 + "]" * 41, "more than 40 levels"),
    ],
)
def test_a_query_that_is_not_well_formed_is_malformed(
    client: FlaskClient, query: str, words: str
) -> None:
    response = client.get(f"/v1/shaping?{query}")
    assert response.status_code == 400, response.text
    assert words in response.json["detail"]  # type: ignore[index]


def test_items_of_a_list_are_numbered_without_gaps(client: FlaskClient) -> None:
    response = client.get(f"/v1/edgings?sides.1.name=a&{GAUGE}")
    error, *_ = response.json["errors"]  # type: ignore[index]
    assert (error["code"], error["parameter"]) == ("items-not-numbered", "sides")
    for much in ("sides.00.name=a", "sides.a.name=a", "sides.0.name=a&sides.2.name=a"):
        assert client.get(f"/v1/edgings?{much}&{GAUGE}").status_code == 422


def test_names_nested_past_all_sense_are_refused(client: FlaskClient) -> None:
    response = client.get(f"/v1/shaping?{'.'.join('a' * 3000)}=1")
    assert response.json["errors"][0]["code"] == "too-deep"  # type: ignore[index]


def test_a_query_too_long_is_told_to_be_sent_as_a_body(client: FlaskClient) -> None:
    fits = f"from=3&to=2&rows=9&a={'x' * LONGEST_QUERY}"[:LONGEST_QUERY]
    assert client.get(f"/v1/shaping?{fits}").status_code == 422
    response = client.get(f"/v1/shaping?{fits}x")
    assert (response.status_code, response.mimetype) == (414, "application/problem+json")
    assert "QUERY or POST" in response.json["detail"]  # type: ignore[index]


@pytest.mark.parametrize("method", ["POST", "QUERY"])
def test_a_body_is_not_mixed_with_parameters(client: FlaskClient, method: str) -> None:
    body = {"from": 3, "to": 2, "rows": 9}
    response = client.open("/v1/shaping?rows=7", method=method, json=body)
    (error,) = response.json["errors"]  # type: ignore[index]
    assert (error["code"], error["parameter"]) == ("unknown-parameter", "rows")
    assert client.open("/v1/shaping?as=json", method=method, json=body).status_code == 200


def test_what_is_looked_up_takes_no_parameter_it_does_not_know(client: FlaskClient) -> None:
    assert client.get("/v1/templates?sort=name").status_code == 422
    assert client.get("/v1/standards/hook-sizes?units=imperial").status_code == 200
    response = client.get("/v1/standards/hook-sizes?units=furlongs")
    assert response.json["errors"][0]["permitted"] == ["metric", "imperial"]  # type: ignore[index]


def test_every_top_level_name_leaves_the_two_reserved_ones_free() -> None:
    for operation in OPERATIONS:
        names = {f.data_key or name for name, f in operation.request().fields.items()}
        assert not names & {WHOLE, CHOSEN_BY}
        # A dot in a name would be taken for one between names.
        assert not any("." in name for name in names)


def test_the_openapi_document_names_the_parameters(client: FlaskClient) -> None:
    paths = client.get("/v1/openapi.json").json["paths"]  # type: ignore[index]
    told = {p["name"]: p.get("schema") for p in paths["/v1/pieces"]["get"]["parameters"]}
    assert told["gauge.stitches"]["type"] == "number"
    assert told["uses"]["items"]["enum"]
    assert {"template", "gauge.width", "ask", "as"} <= set(told)
    assert "measurements" not in told


def test_every_documented_parameter_is_understood(client: FlaskClient) -> None:
    paths = client.get("/v1/openapi.json").json["paths"]  # type: ignore[index]
    for operation in OPERATIONS:
        for parameter in paths[operation.path]["get"]["parameters"]:
            if parameter["name"] in (WHOLE, CHOSEN_BY):
                continue
            path = parameter["name"].split(".")
            response = client.get(f"{operation.path}?{parameter['name']}=2cm")
            errors = response.json["errors"]  # type: ignore[index]
            unknown = [e["pointer"] for e in errors if e["code"] == "unknown-field"]
            assert f"/{'/'.join(path)}" not in unknown


def test_a_document_read_from_parameters_is_nothing_but_json() -> None:
    schema = by_id("pieces").request()
    assert isinstance(schema.fields["template"], OneOfKinds)
    told = [("template", "tab"), ("button.diameter", "1.80e1 mm"), ("a.b.c", "x"), ("", "y")]
    made, faults = document(schema, parse(urlencode(told, quote_via=quote).encode()))
    assert not faults
    assert made == {
        "template": "tab", "button": {"diameter": {"value": 18, "unit": "mm"}},
        "a": {"b": {"c": "x"}}, "": "y",
    }  # fmt: skip
    _, (clash,) = document(schema, [("gauge.width", "1cm"), ("gauge.width.unit", "cm")])
    assert clash["parameter"] == "gauge.width.unit"
    with pytest.raises(BadParameters):
        document(schema, [(WHOLE, "{}"), ("template", "tab")])


def test_all_faults_of_a_query_are_told_at_once(client: FlaskClient) -> None:
    response = client.get("/v1/shaping?from=0&from=1&rows=9.5&colour=red")
    told = {(e["parameter"], e["code"]) for e in response.json["errors"]}  # type: ignore[index]
    assert told == {
        ("from", "repeated-parameter"), ("from", "out-of-range"), ("to", "missing-field"),
        ("rows", "wrong-type"), ("colour", "unknown-field"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("pointer", "names", "parameter"),
    [
        ("/gauge/width/value", ["gauge.width"], "gauge.width"),
        ("/gauge/width", ["gauge.stitch"], "gauge.width"),
        ("/uses/1", ["uses"], "uses"),
        ("/a~1b/c~0d", [], "a/b.c~d"),
        ("", ["rows"], None),
        ("/rows", ["ask"], "ask"),
    ],
)
def test_a_pointer_leads_back_to_its_parameter(
    pointer: str, names: list[str], parameter: str | None
) -> None:
    assert name_of(pointer, names) == parameter
