"""What HTTP itself promises, for every operation: negotiation, validators, origins, ids."""

from __future__ import annotations

import json
import logging
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

from service import __version__, create_app
from service.api.documents import openapi
from service.api.operations import OPERATIONS, Operation, by_id
from service.api.origins import configured
from service.api.path_documents import examples
from service.api.representations import JSON, Context, Representation
from service.api.tracing import read_trace

QUESTION = {"from": 38, "to": 20, "rows": 40}
GET = "/v1/shaping?from=38&to=20&rows=40"
ASKED = [
    (o.id, next(p["request"] for p in examples(o.id).values() if "type" not in p["response"]))
    for o in OPERATIONS
]
EVERY = pytest.mark.parametrize(("operation", "body"), ASKED, ids=[name for name, _ in ASKED])


def text(made: Any, order: Any, _: Context) -> str:
    return f"{order.start} to {order.end}: {made.rows} rows"


def drawing(label: str) -> Representation:
    return Representation("image/svg+xml", label, lambda *_: f"<svg><title>{label}</title></svg>")


@pytest.fixture
def several(monkeypatch: pytest.MonkeyPatch) -> None:
    """Shaping also as words and as two drawings."""
    more = (Representation("text/plain", "text", text), drawing("outline"), drawing("chart"))
    real = Operation.offers.fget
    assert real

    def offers(operation: Operation) -> tuple[Representation, ...]:
        return (JSON, *more) if operation.id == "shaping" else real(operation)

    monkeypatch.setattr(Operation, "offers", property(offers))


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        # RFC 9110, 12.5.1: the most specific range decides, then the weight; ties go to the
        # service's order.
        (None, "application/json"),
        ("*/*", "application/json"),
        ("text/plain", "text/plain"),
        ("text/*", "text/plain"),
        ("text/plain;q=0.5, application/json;q=0.4", "text/plain"),
        ("text/plain;q=0.5, application/json", "application/json"),
        ("application/json;q=0, */*;q=0.1", "text/plain"),
        ("text/*;q=0.9, text/plain;q=0.1, image/svg+xml;q=0.5", "image/svg+xml"),
        ("image/*", "image/svg+xml"),
        ("text/html, image/svg+xml, */*;q=0.8", "image/svg+xml"),
        ("TEXT/PLAIN", "text/plain"),
        ("application/json;charset=utf-8", "application/json"),
    ],
)
@pytest.mark.usefixtures("several")
def test_the_representation_liked_best_is_sent(
    client: FlaskClient, accept: str | None, media_type: str
) -> None:
    headers = {"Accept": accept} if accept else {}
    for send in (
        lambda: client.get(GET, headers=headers),
        lambda: client.post("/v1/shaping", json=QUESTION, headers=headers),
        lambda: client.open("/v1/shaping", method="QUERY", json=QUESTION, headers=headers),
    ):
        response = send()
        assert (response.status_code, response.mimetype) == (200, media_type)
        if response.request.method != "POST":
            assert "Accept" in response.headers["Vary"]


@pytest.mark.usefixtures("several")
def test_what_is_not_offered_is_refused_with_a_list(client: FlaskClient) -> None:
    response = client.get(GET, headers={"Accept": "text/html"})
    assert response.status_code == 406
    assert response.json["errors"][0]["permitted"] == [  # type: ignore[index]
        "application/json", "text/plain", "image/svg+xml",
    ]  # fmt: skip
    elsewhere = client.get("/v1/templates", headers={"Accept": "text/plain"})
    assert elsewhere.json["errors"][0]["permitted"] == ["application/json"]  # type: ignore[index]


@pytest.mark.usefixtures("several")
def test_two_drawings_of_one_media_type_are_told_apart_by_name(client: FlaskClient) -> None:
    def title(query: str, accept: str = "image/*") -> str | None:
        response = client.get(f"{GET}{query}", headers={"Accept": accept})
        assert response.status_code == 200
        return ElementTree.fromstring(response.text).findtext("title")

    assert title("") == "outline"
    assert title("&as=chart") == "chart"
    assert title("&as=chart", "*/*") == "chart"
    assert client.get(f"{GET}&as=chart", headers={"Accept": "text/plain"}).status_code == 406
    response = client.open("/v1/shaping?as=chart", method="QUERY", json=QUESTION)
    assert "chart" in response.text
    again = client.get(response.headers["Content-Location"])
    assert (again.data, again.headers["ETag"]) == (response.data, response.headers["ETag"])


@pytest.mark.usefixtures("several")
def test_the_openapi_document_lists_every_representation() -> None:
    content = openapi()["paths"]["/v1/shaping"]["post"]["responses"]["200"]["content"]
    assert list(content) == ["application/json", "text/plain", "image/svg+xml"]


@EVERY
def test_every_representation_is_had_by_every_method(
    client: FlaskClient, operation: str, body: dict[str, Any]
) -> None:
    path, told = f"/v1/{operation}", json.dumps(body)
    tags = set()
    for offer in by_id(operation).offers:
        query = {"as": offer.name}
        posted = client.post(path, query_string=query, json=body)
        assert (posted.status_code, posted.mimetype) == (200, offer.media_type), posted.text
        queried = client.open(path, method="QUERY", query_string=query, json=body)
        assert queried.data == posted.data
        tags.add(queried.headers["ETag"])
        got = client.get(path, query_string={**query, "ask": told})
        if got.status_code != 414:
            assert got.mimetype == offer.media_type
        accepted = client.post(path, json=body, headers={"Accept": offer.media_type})
        first = next(o for o in by_id(operation).offers if o.media_type == offer.media_type)
        assert accepted.mimetype == offer.media_type
        assert (accepted.data == posted.data) is (first is offer)
    assert len(tags) == len(by_id(operation).offers)


def test_json_comes_first_for_every_operation() -> None:
    for operation in OPERATIONS:
        offers = operation.offers
        assert offers[0] is JSON
        names = [offer.name for offer in offers]
        assert len(set(names)) == len(names)


@EVERY
def test_an_answer_may_be_kept_and_need_not_be_sent_again(
    client: FlaskClient, operation: str, body: dict[str, Any]
) -> None:
    path = f"/v1/{operation}"
    asked = client.open(path, method="QUERY", json=body)
    assert asked.status_code == 200
    etag = asked.headers["ETag"]
    assert re.fullmatch('"[0-9a-f]{32}"', etag)  # strong: no W/ (RFC 9110, 8.8.1)
    assert asked.headers["Cache-Control"].startswith("public, max-age=3600")
    got = client.get(path, query_string={"ask": json.dumps(body)})
    if got.status_code != 414:
        assert (got.headers["ETag"], got.data) == (etag, asked.data)
    # RFC 9110, 13.1.2: a list, weak comparison, or any.
    for known in (etag, f'"x", W/{etag}', "*"):
        response = client.open(path, method="QUERY", json=body, headers={"If-None-Match": known})
        assert (response.status_code, response.data) == (304, b"")
        # RFC 9110, 15.4.5: what a 200 would have said of these.
        for name in ("ETag", "Cache-Control", "Vary", "Content-Location"):
            assert response.headers.get(name) == asked.headers.get(name)
        assert "Content-Type" not in response.headers
    other = client.open(path, method="QUERY", json=body, headers={"If-None-Match": '"x"'})
    assert other.status_code == 200


@EVERY
def test_what_is_asked_by_post_is_kept_nowhere(
    client: FlaskClient, operation: str, body: dict[str, Any]
) -> None:
    # RFC 9110, 13.1.2: a 304 is for reads alone.
    response = client.post(f"/v1/{operation}", json=body, headers={"If-None-Match": "*"})
    assert response.status_code == 200
    assert response.headers["Cache-Control"] == "no-store"
    assert "ETag" not in response.headers


@pytest.mark.parametrize(
    "path",
    ["/v1/templates", "/v1/templates/panel", "/v1/templates/panel/drawing", "/v1/standards",
     "/v1/standards/hook-sizes", "/v1/schemas", "/v1/schemas/template", "/v1/openapi.json",
     "/v1/openapi-3.2.json", "/v1/problems/malformed", GET],
)  # fmt: skip
def test_what_is_read_has_a_validator_and_a_head(client: FlaskClient, path: str) -> None:
    got, head = client.get(path), client.head(path)
    assert head.data == b""
    for name in ("ETag", "Cache-Control", "Content-Type", "Content-Length"):
        assert head.headers[name] == got.headers[name]
    for send in (client.get, client.head):
        assert send(path, headers={"If-None-Match": got.headers["ETag"]}).status_code == 304


def test_another_version_another_unit_and_another_form_are_other_representations(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = client.get("/v1/schemas/template").headers["ETag"]
    assert client.get(
        "/v1/schemas/template", headers={"Accept": "application/json"}
    ).headers["ETag"] != before  # fmt: skip
    monkeypatch.setattr("service.api.caching.__version__", "9.9.9")
    assert client.get("/v1/schemas/template").headers["ETag"] != before


@pytest.mark.parametrize(
    ("path", "status"),
    [("/v1/shaping", 422), ("/v1/hats", 404), ("/livez", 200), ("/readyz", 200)],
)
def test_problems_and_health_are_not_kept(client: FlaskClient, path: str, status: int) -> None:
    response = client.get(path, headers={"If-None-Match": "*"})
    assert response.status_code == status
    assert response.headers["Cache-Control"] == "no-store"


@EVERY
def test_options_tell_how_to_ask(client: FlaskClient, operation: str, body: Any) -> None:
    # RFC 10008: Accept-Query; RFC 9110: Allow.
    response = client.options(f"/v1/{operation}")
    assert set(response.headers["Allow"].split(", ")) == {
        "GET", "HEAD", "OPTIONS", "POST", "QUERY",
    }  # fmt: skip
    assert response.headers["Accept-Query"] == "application/json"
    assert response.headers["Accept-Post"] == "application/json"
    asked = client.open(f"/v1/{operation}", method="QUERY", json=body)
    assert asked.headers["Accept-Query"] == "application/json"
    assert "Accept-Query" not in client.options("/v1/templates").headers
    refused = client.open(f"/v1/{operation}", method="QUERY", data=b"{}")
    assert (refused.status_code, refused.headers["Accept-Query"]) == (415, "application/json")


def test_a_query_names_the_address_that_get_has_it_at(client: FlaskClient) -> None:
    # RFC 9110, 8.7: Content-Location names another resource that this is a representation of.
    body = '{ "from": 38,\n "to": 20, "rows": 40.0 }'
    asked = client.open("/v1/shaping", method="QUERY", data=body, content_type="application/json")
    at = asked.headers["Content-Location"]
    assert " " not in at
    assert client.get(at).data == asked.data
    side = {"name": "a  b + c/ü", "along": "row-ends", "places": 9}
    long = {"gauge": ASKED[0][1]["gauge"], "sides": [side]}
    asked = client.open("/v1/edgings", method="QUERY", json=long)
    assert client.get(asked.headers["Content-Location"]).data == asked.data
    long["sides"] = [side] * 40
    asked = client.open("/v1/edgings", method="QUERY", json=long)
    assert asked.status_code == 200
    assert "Content-Location" not in asked.headers


PAGE = "https://pages.example"


@pytest.fixture
def listed(monkeypatch: pytest.MonkeyPatch) -> FlaskClient:
    monkeypatch.setenv("SIZING_ORIGINS", f"{PAGE}, http://localhost:3000")
    return create_app().test_client()


def preflight(client: FlaskClient, origin: str, path: str = "/v1/pieces") -> Any:
    headers = {
        "Origin": origin, "Access-Control-Request-Method": "QUERY",
        "Access-Control-Request-Headers": "content-type",
    }  # fmt: skip
    return client.options(path, headers=headers)


def test_a_page_of_a_listed_origin_may_ask(listed: FlaskClient) -> None:
    # WHATWG Fetch, 3.2 (HTTP CORS protocol).
    asked = preflight(listed, PAGE)
    assert (asked.status_code, asked.data) == (204, b"")
    assert asked.headers["Access-Control-Allow-Origin"] == PAGE
    assert asked.headers["Access-Control-Allow-Methods"] == "GET, HEAD, POST, QUERY"
    assert "Content-Type" in asked.headers["Access-Control-Allow-Headers"]
    assert asked.headers["Access-Control-Max-Age"] == "7200"
    assert "Origin" in asked.headers["Vary"]
    assert "Access-Control-Allow-Credentials" not in asked.headers
    for path, status in ((GET, 200), ("/v1/shaping", 422), ("/v1/hats", 404)):
        response = listed.get(path, headers={"Origin": PAGE})
        assert response.status_code == status
        assert response.headers["Access-Control-Allow-Origin"] == PAGE
        exposed = response.headers["Access-Control-Expose-Headers"]
        assert {"ETag", "X-Request-Id", "Service-Version"} <= set(exposed.split(", "))
        assert "Origin" in response.headers["Vary"]
    kept = listed.get(GET, headers={"Origin": PAGE, "If-None-Match": "*"})
    assert (kept.status_code, kept.headers["Access-Control-Allow-Origin"]) == (304, PAGE)


@pytest.mark.parametrize(
    "origin",
    ["null", "https://pages.example.evil.example", "http://pages.example", "https://PAGES.example",
     "https://pages.example:8443", ""],
)  # fmt: skip
def test_a_page_of_another_origin_may_not(listed: FlaskClient, origin: str) -> None:
    asked = preflight(listed, origin)
    assert (asked.status_code, asked.mimetype) == (403, "application/problem+json")
    assert asked.json["type"] == "/v1/problems/origin-not-allowed"
    for response in (asked, listed.get(GET, headers={"Origin": origin})):
        assert "Access-Control-Allow-Origin" not in response.headers
        assert "Origin" in response.headers["Vary"]


def test_no_page_may_ask_unless_it_is_said(client: FlaskClient) -> None:
    assert preflight(client, PAGE).status_code == 403
    response = client.get(GET, headers={"Origin": PAGE})
    assert "Access-Control-Allow-Origin" not in response.headers
    assert response.headers["Vary"] == "Accept"


def test_every_page_may_ask_if_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SIZING_ORIGINS", "*")
    client = create_app().test_client()
    response = client.get(GET, headers={"Origin": PAGE})
    assert response.headers["Access-Control-Allow-Origin"] == "*"
    assert response.headers["Vary"] == "Accept"  # one copy in a cache does for all
    assert preflight(client, PAGE).status_code == 204


@pytest.mark.parametrize(
    "told", ["null", "pages.example", "https://pages.example/", "https://*.example", "*, null"]
)
def test_a_list_of_what_are_no_origins_stops_the_start(
    told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SIZING_ORIGINS", told)
    with pytest.raises(ValueError, match="SIZING_ORIGINS"):
        create_app()
    assert configured({}) == frozenset()


TRACE = "0af7651916cd43dd8448eb211c80319c"
PARENT = "b7ad6b7169203331"


@pytest.mark.parametrize(
    ("header", "read"),
    [
        # W3C Trace Context, 3.2 (traceparent header).
        (f"00-{TRACE}-{PARENT}-01", (TRACE, 1)),
        (f"00-{TRACE}-{PARENT}-00", (TRACE, 0)),
        (f"00-{TRACE}-{PARENT}-ff", (TRACE, 1)),
        (f"cc-{TRACE}-{PARENT}-01-what-comes", (TRACE, 1)),
        (f"cc-{TRACE}-{PARENT}-01", (TRACE, 1)),
        (f"cc-{TRACE}-{PARENT}-01.more", None),
        (f"00-{TRACE}-{PARENT}-01-more", None),
        (f"ff-{TRACE}-{PARENT}-01", None),
        (f"00-{TRACE.upper()}-{PARENT}-01", None),
        (f"00-{'0' * 32}-{PARENT}-01", None),
        (f"00-{TRACE}-{'0' * 16}-01", None),
        (f"00-{TRACE}-{PARENT}", None),
        (f"00-{TRACE}-{PARENT}-01,00-{TRACE}-{PARENT}-01", None),
        ("", None),
        (None, None),
    ],
)
def test_a_trace_is_read_strictly(header: str | None, read: Any) -> None:
    assert read_trace(header) == read


def test_a_request_is_known_by_its_ids(
    client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    headers = {"X-Request-Id": "kit-1.a_b", "traceparent": f"00-{TRACE}-{PARENT}-01"}
    with caplog.at_level(logging.INFO, "service.access"):
        response = client.get(GET, headers=headers)
        client.get("/v1/hats/secret?secret=1")
    assert response.headers["X-Request-Id"] == "kit-1.a_b"
    version, trace, span, flags = response.headers["traceresponse"].split("-")
    assert (version, trace, flags) == ("00", TRACE, "01")
    assert re.fullmatch("[0-9a-f]{16}", span)
    assert span != PARENT
    line, missing = (json.loads(record.message) for record in caplog.records)
    assert line.pop("milliseconds") > 0
    assert line == {
        "method": "GET", "route": "/v1/shaping", "status": 200,
        "bytes": len(response.data), "request_id": "kit-1.a_b", "trace_id": TRACE, "span_id": span,
    }  # fmt: skip
    assert missing["route"] is None
    assert "secret" not in json.dumps(missing)


@pytest.mark.parametrize("told", ["", "a b", "x" * 65, "a\tb", "é", '"', "a,b", None])
def test_an_id_that_is_not_well_formed_is_replaced(client: FlaskClient, told: str | None) -> None:
    headers = {"X-Request-Id": told} if told is not None else {}
    first, second = (client.get("/livez", headers=headers).headers for _ in range(2))
    assert re.fullmatch("[0-9a-f]{32}", first["X-Request-Id"])
    assert first["X-Request-Id"] != second["X-Request-Id"]
    assert first["traceresponse"] != second["traceresponse"]


@pytest.mark.parametrize(
    ("path", "links"),
    [
        (GET, ["/v1/openapi.json service-desc", "/v1/schemas/shaping-answer describedby"]),
        ("/v1/shaping", ["/v1/openapi.json service-desc", "/v1/schemas/problem describedby"]),
        ("/v1/hats", ["/v1/openapi.json service-desc", "/v1/schemas/problem describedby"]),
        ("/v1/templates/panel/drawing", ["/v1/openapi.json service-desc"]),
    ],
)
def test_every_answer_says_its_version_and_where_to_read_on(
    client: FlaskClient, path: str, links: list[str]
) -> None:
    response = client.get(path)
    assert response.headers["Service-Version"] == __version__
    # RFC 8288 and RFC 8631.
    links = [*links, "/docs service-doc"]
    told = re.findall('<([^>]+)>; rel="([^"]+)"', ", ".join(response.headers.getlist("Link")))
    assert sorted(f"{at} {relation}" for at, relation in told) == sorted(links)
    for at, _ in told:
        assert client.get(at).status_code == 200
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Referrer-Policy"] == "no-referrer"
    policy = response.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'")
    assert ("style-src" in policy) is (response.mimetype == "image/svg+xml")
