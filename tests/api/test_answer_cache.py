"""Kept answers are attacked here: none is stale, none is another's, and they stay within bounds."""

from __future__ import annotations

import json
import random
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from service import create_app
from service.api import answer_cache
from service.api.answer_cache import Headers, Keeping, keeping
from service.api.operations import OPERATIONS, by_id
from service.api.store import BLOCK, Store

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "openapi" / "examples" / "pieces" / "case-pocket.request.json").read_bytes()
ASKED_ONCE = {"X-Request-Id", "traceresponse", "Date"}
SHAPING = {"from": 38, "to": 20, "rows": 40}


@pytest.fixture
def app() -> Flask:
    return create_app()


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> Flask:
    """The application that keeps nothing: what every answer must be."""
    with monkeypatch.context() as patch:
        patch.setenv(answer_cache.SETTING, "0")
        app = create_app()
    assert not isinstance(app.wsgi_app, Keeping)
    return app


def store(app: Flask) -> Store[Headers]:
    assert isinstance(app.wsgi_app, Keeping)
    return app.wsgi_app.store


def asked(app: Flask, path: str, method: str = "POST", **how: Any) -> tuple[int, Any, bytes]:
    answer = app.test_client().open(path, method=method, **how)
    told = sorted((k, v) for k, v in answer.headers.items() if k not in ASKED_ONCE)
    return answer.status_code, told, answer.data


def body(value: Any, **more: Any) -> dict[str, Any]:
    data = value if isinstance(value, bytes) else json.dumps(value).encode()
    return {"data": data, "content_type": "application/json", **more}


def ways() -> list[tuple[str, str, dict[str, Any]]]:
    """Questions that differ in one thing from each other, and so may be taken for one another."""
    made: list[tuple[str, str, dict[str, Any]]] = []
    piece = json.loads(DEMO)
    for change in (
        {}, {"units": "imperial"}, {"units": "metric"}, {"terms": "uk"}, {"terms": "us"},
        {"detail": "rows"}, {"detail": "runs"}, {"template": "flap-panel "}, {"max_change": 1},
        {"max_change": 2}, {"rounding": "at-least"}, {"rounding": "at-most"},
    ):  # fmt: skip
        made += [(m, "/v1/pieces", body({**piece, **change})) for m in ("POST", "QUERY")]
    for spaced in (DEMO + b" ", b" " + DEMO, DEMO.replace(b"12,", b"12.0,"), DEMO[:-2]):
        made.append(("POST", "/v1/pieces", body(spaced)))
    for kept in by_id("pieces").offers:
        named = {"headers": {"Accept": kept.media_type}}
        made.append(("QUERY", "/v1/pieces", body(DEMO, **named)))
        made.append(("POST", f"/v1/pieces?as={kept.name}", body(DEMO)))
    for header in (
        {"Accept": "application/json;q=0.1, text/csv"}, {"Accept": "image/png"},
        {"Origin": "https://pages.example"}, {"If-None-Match": "*"},
        {"Content-Encoding": "gzip"}, {"Access-Control-Request-Method": "POST"},
    ):  # fmt: skip
        made.append(("QUERY", "/v1/pieces", body(DEMO, headers=header)))
    for kind in ("application/json; charset=utf-8", "application/jsonx", "text/plain", ""):
        made.append(("POST", "/v1/pieces", {"data": DEMO, "content_type": kind}))
    for rows in range(40, 48):
        made.append(("GET", f"/v1/shaping?from=38&to=20&rows={rows}", {}))
        made.append(("HEAD", f"/v1/shaping?from=38&to=20&rows={rows}", {}))
        made.append(("POST", "/v1/shaping", body({**SHAPING, "rows": rows})))
    made += [("POST", operation.path, body(SHAPING)) for operation in OPERATIONS]
    made += [("DELETE", "/v1/shaping", {}), ("OPTIONS", "/v1/shaping", {})]
    return made


def test_every_answer_is_as_if_nothing_were_kept(app: Flask, plain: Flask) -> None:
    questions = ways()
    expected = [asked(plain, path, method, **how) for method, path, how in questions]
    order = [*range(len(questions))] * 3
    random.Random("kept").shuffle(order)
    for at in order:
        method, path, how = questions[at]
        assert asked(app, path, method, **how) == expected[at], (method, path, how)
    told = store(app).stats()
    assert told["hits"] > 80
    assert told["hits"] + told["misses"] < len(order)  # what is not to be kept is not looked for


def test_threads_are_not_given_each_others_answers(plain: Flask, app: Flask) -> None:
    questions = [q for q in ways() if q[0] in ("POST", "QUERY")]
    expected = [asked(plain, path, method, **how) for method, path, how in questions]
    small = Keeping(plain.wsgi_app, Store(400_000))
    app.wsgi_app = small  # type: ignore[method-assign]
    wrong: list[Any] = []

    def ask(seed: int) -> None:
        dice = random.Random(seed)
        for _ in range(60):
            at = dice.randrange(len(questions))
            method, path, how = questions[at]
            if asked(app, path, method, **how) != expected[at]:
                wrong.append(questions[at])

    threads = [threading.Thread(target=ask, args=(seed,)) for seed in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    told = small.store.stats()
    assert told["hits"]
    assert told["bytes"] <= told["most_bytes"]


def test_another_version_is_not_answered_with_what_an_older_one_said(
    app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    for version in ("0.1.0", "0.1.0", "9.9.9"):
        monkeypatch.setattr(answer_cache, "__version__", version)
        asked(app, "/v1/shaping", **body(SHAPING))
    told = store(app).stats()
    assert (told["hits"], told["misses"]) == (1, 2)


def test_each_request_has_ids_of_its_own(app: Flask) -> None:
    trace = "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01"
    first, second, third = (
        app.test_client().post("/v1/shaping", json=SHAPING, headers=headers)
        for headers in ({}, {}, {"X-Request-Id": "mine", "traceparent": trace})
    )
    assert store(app).stats()["hits"] == 2
    assert len({a.headers["X-Request-Id"] for a in (first, second, third)}) == 3
    assert len({a.headers["traceresponse"] for a in (first, second, third)}) == 3
    assert third.headers["X-Request-Id"] == "mine"
    assert third.headers["traceresponse"].startswith(trace[:36])
    for answer in (first, second):
        assert len(answer.headers.getlist("X-Request-Id")) == 1


class Alike(bytes):
    """Bytes that all have one hash."""

    def __hash__(self) -> int:
        return 7


def test_questions_of_one_hash_are_told_apart() -> None:
    kept = Store[int](2**20)
    for number in range(50):
        kept.put((Alike(b"%d" % number),), number, b"%d" % number)
    for number in range(50):
        assert kept.get((Alike(b"%d" % number),)) == (number, b"%d" % number)
    assert kept.get((Alike(b"50"),)) is None


def test_what_was_used_longest_ago_goes_first_and_the_bound_is_kept() -> None:
    kept = Store[str](100_000)
    for number in range(1000):
        kept.put(number, "x", b"y" * 1000)
        assert kept.get(0) is not None  # asked for all the time
        assert kept.bytes <= kept.most_bytes
    assert kept.get(1) is None
    assert kept.get(999) is not None
    held = kept.stats()
    kept.put(999, "x", b"y" * 1000)  # the same again takes no more
    assert kept.stats() == held


def test_what_is_very_large_is_not_kept() -> None:
    kept = Store[str](100_000)
    kept.put("small", "x", b"y")
    kept.put("large", "x", b"y" * 50_000)
    kept.put("large by its key", "x", b"y", 50_000)
    assert kept.get("large") is None
    assert kept.get("large by its key") is None
    assert kept.get("small") == ("x", b"y")


def test_texts_are_given_back_as_they_were_and_leave_no_gaps() -> None:
    """Against a plain dict, with texts of every length about that of a block and of many."""
    dice, kept, put = random.Random("blocks"), Store[int](2**18), dict[int, tuple[int, bytes]]()
    lengths = [0, 1, BLOCK - 1, BLOCK, BLOCK + 1, 2 * BLOCK, 3 * BLOCK + 7]
    for note in range(4000):
        key = dice.randrange(200)
        text = dice.randbytes(dice.choice(lengths))
        put[key] = note, text
        kept.put(key, note, text)
        found = [(other, kept.get(other)) for other in dice.sample(range(200), 5)]
        assert all(got is None or got == put[other] for other, got in found)
        assert kept.get(key) == (note, text)
    # However often they were exchanged, no more room was ever used than texts may take.
    assert kept._blocks._used <= kept.most_bytes
    assert kept.stats()["kept"] > 50


@pytest.mark.parametrize("large", ["body", "question", "header"])
def test_an_answer_is_as_large_as_all_that_is_kept_of_it(app: Flask, large: str) -> None:
    """What is sent, and what it is answered with, both count."""
    spaces = b" " * 9_000 if large == "question" else b""
    headers = {"X-Long": "y" * 9_000} if large == "header" else {}
    detail = {"detail": "rows"} if large == "body" else {}
    question = json.dumps({**json.loads(DEMO), **detail}).encode()
    before = store(app).stats()["bytes"]
    answer = asked(app, "/v1/pieces", **body(question + spaces, headers=headers))[2]
    grown = store(app).stats()["bytes"] - before
    told = len(answer) + len(question) + len(spaces) + len(headers.get("X-Long", ""))
    assert told < grown < told + 3_000


@pytest.mark.parametrize(
    ("path", "how"),
    [
        ("/v1/shaping", body({**SHAPING, "rows": 1})),  # refused
        ("/v1/shaping", body(b"{")),
        ("/v1/batch", {"data": b"{}\n", "content_type": "application/x-ndjson"}),
        ("/v1/pieces", body(DEMO, headers={"Accept": "image/png"})),
        ("/v1/unknown", body(SHAPING)),
    ],
)
def test_only_whole_answers_are_kept(app: Flask, path: str, how: dict[str, Any]) -> None:
    for _ in range(2):
        asked(app, path, **how)
    assert store(app).stats()["kept"] == store(app).stats()["hits"] == 0


class Cut:
    """A body that ends before its length, or breaks."""

    def __init__(self, data: bytes, error: type[Exception] | None) -> None:
        self.data, self.error = data, error

    def read(self, most: int = -1) -> bytes:
        if self.error:
            raise self.error
        given, self.data = self.data[:most], self.data[most:] if most >= 0 else b""
        return given


@pytest.mark.parametrize("error", [None, OSError])
def test_a_body_that_is_cut_is_refused_and_not_kept(
    app: Flask, error: type[Exception] | None
) -> None:
    said: list[str] = []
    start: Callable[..., Any] = lambda status, headers, *_: said.append(status)  # noqa: E731
    environ = {
        "REQUEST_METHOD": "POST", "PATH_INFO": "/v1/pieces", "QUERY_STRING": "",
        "CONTENT_TYPE": "application/json", "CONTENT_LENGTH": str(len(DEMO) + 1),
        "SERVER_NAME": "localhost", "SERVER_PORT": "80", "SERVER_PROTOCOL": "HTTP/1.1",
        "wsgi.url_scheme": "http", "wsgi.input": Cut(DEMO, error),
    }  # fmt: skip
    b"".join(app.wsgi_app(environ, start))
    assert said == ["400 BAD REQUEST"]
    assert store(app).stats()["kept"] == 0


def test_megabytes_are_as_the_setting_has_them(app: Flask) -> None:
    assert keeping(app.wsgi_app, {answer_cache.SETTING: "0"}) is app.wsgi_app
    assert keeping(app.wsgi_app, {answer_cache.SETTING: "3"}).store.most_bytes == 3 * 2**20
