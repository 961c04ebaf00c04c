"""What a browser is told that it must not do. Source: OWASP Secure Headers Project; CSP level 3."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

GET = "/v1/shaping?from=38&to=20&rows=40"


def policy(response: Any) -> dict[str, list[str]]:
    told = response.headers["Content-Security-Policy"]
    words = [directive.split() for directive in told.split(";")]
    assert len({word[0] for word in words}) == len(words)  # the second of two would not count
    return {first: rest for first, *rest in words}


@pytest.mark.parametrize("path", ["/docs", "/widget"])
def test_a_page_loads_asks_and_is_framed_by_nothing_else(client: FlaskClient, path: str) -> None:
    response = client.get(path)
    assert (response.status_code, response.mimetype) == (200, "text/html")
    told = policy(response)
    assert told["default-src"] == ["'none'"]
    assert told["script-src"] == told["connect-src"] == ["'self'"]
    assert told["frame-ancestors"] == told["base-uri"] == told["form-action"] == ["'none'"]
    assert told["img-src"] == ["'self'", "data:"]
    inline = ["'unsafe-inline'"] if path == "/docs" else []
    assert told["style-src"] == ["'self'", *inline]
    for name, value in (
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("X-Frame-Options", "DENY"),
        ("Cross-Origin-Opener-Policy", "same-origin"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
        ("X-Permitted-Cross-Domain-Policies", "none"),
    ):
        assert response.headers[name] == value
    for feature in ("camera", "geolocation", "microphone"):
        assert f"{feature}=()" in response.headers["Permissions-Policy"]
    # Its scripts are files of their own, as its policy wants them.
    assert "<script>" not in response.text
    assert " on" not in response.text.partition("<body")[2].partition(">")[0]


@pytest.mark.parametrize(
    "path",
    [GET, "/v1/shaping", "/v1/hats", "/v1/templates", "/v1/templates/panel/drawing", "/docs.js",
     "/docs.css", "/docs/swagger-ui-bundle.js", "/widget.js", "/article.css", "/livez", "/readyz",
     "/metrics", "/v1/openapi.json", "/", "/docs/other.js"],
)  # fmt: skip
def test_whatever_is_sent_is_what_it_says_and_nothing_else(client: FlaskClient, path: str) -> None:
    for method in ("GET", "HEAD", "OPTIONS", "DELETE"):
        response = client.open(path, method=method)
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["Referrer-Policy"] == "no-referrer"
        told = policy(response)
        assert told["default-src"] == told["frame-ancestors"] == ["'none'"]
        assert "script-src" not in told
        # No name or version of what serves (OWASP: information leakage); no cookies at all.
        assert not {"X-Powered-By", "Set-Cookie"} & set(dict(response.headers))


def test_no_answer_lets_a_page_read_it_unless_its_origin_is_listed(client: FlaskClient) -> None:
    # The script is for every page to load; what it asks is another matter.
    for path in (GET, "/v1/shaping", "/v1/templates", "/v1/hats", "/docs", "/metrics", "/livez"):
        for origin in ("https://pages.example", "null", "http://127.0.0.1:8000", "*"):
            response = client.get(path, headers={"Origin": origin})
            assert not [n for n in dict(response.headers) if n.startswith("Access-Control")]
    script = client.get("/widget.js", headers={"Origin": "https://pages.example"})
    assert script.headers["Access-Control-Allow-Origin"] == "*"
    assert "Access-Control-Allow-Credentials" not in script.headers
