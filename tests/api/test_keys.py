"""Keys and their rates: who is let through, who is told what, and that nothing tells of a key."""

from __future__ import annotations

import base64
import hmac
import logging
import os
import random
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
import requests
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as some

from service import create_app
from service.api import caching, keyring, keys
from service.api.answer_cache import Keeping
from service.api.documents import openapi
from service.api.keyring import BadFile, Entry, holder, made, parsed
from service.api.keys import Guard, main
from service.api.operations import OPERATIONS
from service.api.origins import ASKS_WITH
from service.api.rates import SECOND, Rates
from tests.conftest import ROOT, serving

GET = "/v1/shaping?from=38&to=20&rows=40"
BODY = {"from": 38, "to": 20, "rows": 40}
LINE = b'{"id": 1, "operation": "shaping", "body": {"from": 8, "to": 2, "rows": 3}}\n'
STUDIO, STUDIO_ENTRY = made("studio")
BLOG, BLOG_ENTRY = made("blog", 2, 3)
SECRET = "hidden-17.5cm"
ZEROS = f"sha256:{'0' * 64}"


def bearing(key: str, scheme: str = "Bearer") -> dict[str, str]:
    return {"Authorization": f"{scheme} {key}"}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "keys"
    path.write_text(f"# who may ask\n\n{STUDIO_ENTRY}\n  {BLOG_ENTRY}\n")
    return path


@pytest.fixture
def app(file: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Flask:
    """The service with keys; required unless a test says otherwise."""
    monkeypatch.setenv("SIZING_KEYS", str(file))
    monkeypatch.setenv("SIZING_KEYS_REQUIRED", getattr(request, "param", "yes"))
    monkeypatch.setenv("SIZING_ORIGINS", "https://pages.example")
    return create_app()


OPTIONAL = pytest.mark.parametrize("app", ["no"], indirect=True)


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def guard(app: Flask) -> Guard:
    assert isinstance(app.wsgi_app, Guard)
    return app.wsgi_app


# ---- the file ----


@pytest.mark.parametrize(
    ("line", "entry"),
    [
        (f"studio {ZEROS}", Entry("studio", bytes(32))),
        (f"\tA.b-c_9  {ZEROS}\t", Entry("A.b-c_9", bytes(32))),
        (f"blog {ZEROS} rate=5", Entry("blog", bytes(32), 5, 5)),
        (f"blog {ZEROS} burst=9 rate=5", Entry("blog", bytes(32), 5, 9)),
    ],
)
def test_a_line_is_a_name_a_digest_and_what_it_may_ask(line: str, entry: Entry) -> None:
    for text in (line, f"# kit\n\n{line}\n", f"{line}\r\n   # the end"):
        assert parsed(text) == (entry,)
    assert parsed(str(entry)) == (entry,)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no key"),
        ("# none\n", "no key"),
        ("studio", "line 1: after the name"),
        (f"\n{ZEROS} studio", "line 2: a name has"),
        ("studio sha256:abc", "line 1: after the name"),
        (f"studio {'0' * 64}", "line 1: after the name"),
        (f"studio sha256:{'A' * 64}", "line 1: after the name"),
        (f"{'x' * 41} {ZEROS}", "line 1: a name has"),
        (f"caf\u00e9 {ZEROS}", "line 1: a name has"),
        (f"a {ZEROS} rate=0", "line 1: after the digest"),
        (f"a {ZEROS} rate=1.5", "line 1: after the digest"),
        (f"a {ZEROS} rate=1 rate=2", "line 1: after the digest"),
        (f"a {ZEROS} speed=1", "line 1: after the digest"),
        (f"a {ZEROS} # studio", "line 1: after the digest"),
        (f"a {ZEROS} burst=1", "line 1: a burst is on top of a rate"),
        (f"a {ZEROS}\na sha256:{'1' * 64}", "line 2: the same name or key"),
        (f"a {ZEROS}\nb {ZEROS}", "line 2: the same name or key"),
        ("\n".join(f"k{n} sha256:{n:064x}" for n in range(1001)), "more than 1000"),
    ],
)
def test_a_file_that_is_none_is_told_by_its_line(text: str, why: str) -> None:
    with pytest.raises(BadFile, match=why):
        parsed(text)


def test_what_is_wrong_is_told_without_what_stands_there() -> None:
    # Someone may have put the key itself where its digest goes.
    for line in (f"studio {STUDIO}", f"{STUDIO}", f"studio {ZEROS} {STUDIO}"):
        with pytest.raises(BadFile) as told:
            parsed(line)
        assert STUDIO not in str(told.value)


def test_the_command_makes_a_key_once_and_a_line_that_has_no_more_than_its_digest(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    seen = set()
    for _ in range(2):
        assert main(["new", "studio", "--rate", "5"]) == 0
        first, second = capsys.readouterr().out.splitlines()
        key, line = first.removeprefix("key:  "), second.removeprefix("line: ")
        # RFC 6750, 2.1: what a bearer token is made of. 43 characters of base64 are 256 bits.
        assert re.fullmatch("[A-Za-z0-9._~+/-]+=*", key)
        assert len(base64.urlsafe_b64decode(f"{key.removeprefix('sizing_')}=")) == 32
        assert line == f"studio sha256:{sha256(key.encode()).hexdigest()} rate=5 burst=5"
        assert key not in line
        (tmp_path / "keys").write_text(line)
        assert main(["check", str(tmp_path / "keys")]) == 0
        assert capsys.readouterr().out == "1 keys\n"
        seen.add(key)
    assert len(seen) == 2
    for wrong in (["new", "a b"], ["new", "a", "--burst", "2"], ["new", "a", "--rate", "0"],
                  ["check", str(tmp_path / "none")]):  # fmt: skip
        assert main(wrong) == 2
        assert capsys.readouterr().out == ""


def test_a_key_is_held_against_all_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    many = [made(f"k{n}") for n in range(50)]
    compared: list[tuple[bytes, bytes]] = []
    real = hmac.compare_digest

    def counting(a: bytes, b: bytes) -> bool:
        compared.append((a, b))
        return real(a, b)

    monkeypatch.setattr(hmac, "compare_digest", counting)
    entries = [entry for _, entry in many]
    for key, whose in ((many[0][0], "k0"), (many[25][0], "k25"), (many[49][0], "k49"),
                       (many[0][0][:-1], None), ("", None), ("x" * 8000, None)):  # fmt: skip
        compared.clear()
        found = holder(key.encode(), entries)
        assert (found.name if found else None) == whose
        # Digests of one length, whatever was sent.
        assert [a for a, _ in compared] == [entry.digest for entry in entries]
        assert {b for _, b in compared} == {sha256(key.encode()).digest()}


# ---- who is let through ----


def ask(client: FlaskClient, how: str, **headers: str) -> Any:
    if how == "batch":
        kind = {"Content-Type": "application/x-ndjson"}
        return client.post("/v1/batch", data=LINE, headers={**kind, **headers})
    if how in ("GET", "HEAD"):
        return client.open(GET, method=how, headers=headers)
    return client.open("/v1/shaping", method=how, json=BODY, headers=headers)


HOW = pytest.mark.parametrize("how", ["GET", "HEAD", "POST", "QUERY", "batch"])


@HOW
def test_who_has_a_key_is_answered_and_who_has_none_is_told_of_it(
    client: FlaskClient, how: str
) -> None:
    # RFC 6750, 3: no error code where no key was sent; RFC 9110, 11.1: the scheme in any case.
    for scheme in ("Bearer", "bearer", "BEARER"):
        assert ask(client, how, **bearing(STUDIO, scheme)).status_code == 200
    basic = base64.b64encode(f"studio:{STUDIO}".encode()).decode()
    for headers in ({}, bearing(basic, "Basic"), {"Authorization": STUDIO}, {"X-Api-Key": STUDIO}):
        check(ask(client, how, **headers), how, "key-needed", "Bearer")
    for key in ("", "x", STUDIO[:-1], STUDIO + "x", STUDIO.upper(), f"{STUDIO},{STUDIO}",
                f"{STUDIO} {STUDIO}", "\xe9", STUDIO_ENTRY.digest.hex()):  # fmt: skip
        wrong = ask(client, how, **bearing(key))
        check(wrong, how, "key-unknown", 'Bearer error="invalid_token"')


def check(response: Any, how: str, slug: str, challenge: str) -> None:
    assert response.status_code == 401
    assert response.headers["WWW-Authenticate"] == challenge
    assert response.headers["Cache-Control"] == "no-store"
    for name in ("X-Request-Id", "traceresponse", "Service-Version", "Content-Security-Policy"):
        assert response.headers[name]
    assert response.mimetype == "application/problem+json"
    if how != "HEAD":
        told = response.get_json()
        assert (told["type"], told["status"]) == (f"/v1/problems/{slug}", 401)
        assert told["detail"]
        assert STUDIO[:-1] not in response.text


def test_a_key_in_the_address_is_none(client: FlaskClient) -> None:
    # RFC 6750, 5.3: addresses are logged and kept.
    assert client.get(f"{GET}&access_token={STUDIO}").status_code == 401


@pytest.mark.parametrize("path", ["/v1/shaping/", "//v1/shaping", "/v1//shaping", "/v1/./shaping",
                                  "/v1/%73haping", "/v1/shaping%2f", "/V1/shaping"])  # fmt: skip
def test_no_other_spelling_of_an_address_goes_round_the_key(client: FlaskClient, path: str) -> None:
    query = GET.partition("?")[2]
    for key in ({}, bearing("x")):
        response = client.get(f"{path}?{query}", headers=key)
        assert response.status_code in (301, 308, 401, 404)
        if "Location" in response.headers:
            again = client.get(response.headers["Location"], headers=key)
            assert again.status_code == 401


def test_every_route_is_open_or_needs_a_key(app: Flask, client: FlaskClient) -> None:
    computed = {operation.path for operation in OPERATIONS} | {"/v1/batch"}
    guarded = set()
    for rule in app.url_map.iter_rules():
        assert rule.methods
        path = rule.rule.replace("<name>", "panel").replace("<table>", "hook-sizes")
        for method in sorted(rule.methods - {"OPTIONS"}):
            status = client.open(path.replace("<slug>", "malformed"), method=method).status_code
            assert (status == 401) is (rule.rule in computed), (method, path, status)
            if status == 401:
                guarded.add(rule.rule)
    assert guarded == computed


@pytest.mark.parametrize(
    "path",
    ["/livez", "/readyz", "/metrics", "/docs", "/docs.js", "/docs/swagger-ui.css", "/widget",
     "/widget.js", "/v1/openapi.json", "/v1/openapi-3.2.json", "/v1/templates/panel",
     "/v1/templates/panel/drawing", "/v1/standards/hook-sizes", "/v1/schemas/problem",
     "/v1/problems/key-needed", "/v1/problems/key-unknown"],
)  # fmt: skip
def test_what_is_only_read_needs_no_key(client: FlaskClient, path: str) -> None:
    plain = client.get(path)
    assert plain.status_code == 200
    assert client.get(path, headers=bearing("wrong")).status_code == 200
    assert "private" not in plain.headers["Cache-Control"]
    assert client.get("/v1/hats").status_code == 404


def test_a_listed_page_may_send_a_key_and_no_other(client: FlaskClient) -> None:
    # WHATWG Fetch, 3.2: a preflight carries no key; Authorization must be named, * does not do.
    asked = {"Access-Control-Request-Method": "POST",
             "Access-Control-Request-Headers": "authorization"}  # fmt: skip
    page = {"Origin": "https://pages.example"}
    allowed = client.options("/v1/pieces", headers={**asked, **page})
    assert allowed.status_code == 204
    names = allowed.headers["Access-Control-Allow-Headers"].split(", ")
    assert "Authorization" in names
    assert set(ASKS_WITH.split(", ")) < set(names)
    other = client.options("/v1/pieces", headers={**asked, "Origin": "https://other.example"})
    assert other.status_code == 403
    assert not [name for name in dict(other.headers) if name.startswith("Access-Control")]
    assert client.options("/v1/pieces").status_code == 204
    refused = client.get(GET, headers=page)
    assert refused.status_code == 401
    assert refused.headers["Access-Control-Allow-Origin"] == page["Origin"]
    exposed = refused.headers["Access-Control-Expose-Headers"].split(", ")
    assert {"WWW-Authenticate", "Retry-After", "RateLimit"} <= set(exposed)


@OPTIONAL
@HOW
def test_where_keys_are_not_required_only_a_wrong_one_is_refused(
    client: FlaskClient, how: str
) -> None:
    assert ask(client, how).status_code == 200
    assert ask(client, how, **bearing(STUDIO)).status_code == 200
    assert ask(client, how, **bearing("abc", "Basic")).status_code == 200
    check(ask(client, how, **bearing("x")), how, "key-unknown", 'Bearer error="invalid_token"')


# ---- answers that are kept ----


def store(app: Flask) -> dict[str, int]:
    kept = guard(app)._kept
    assert isinstance(kept, Keeping)
    return kept.store.stats()


@pytest.mark.parametrize("how", ["GET", "POST", "QUERY"])
def test_what_is_kept_for_one_is_not_for_who_has_no_key_and_is_kept_once(
    app: Flask, client: FlaskClient, how: str
) -> None:
    first = ask(client, how, **bearing(STUDIO))
    second = ask(client, how, **bearing(BLOG, "bearer"))
    assert (first.data, store(app)["hits"]) == (second.data, 1)
    for headers in ({}, bearing("x"), bearing("abc", "Basic")):
        refused = ask(client, how, **headers)
        assert refused.status_code == 401
        assert b"schedule" not in refused.data
    told = store(app)
    assert (told["hits"], told["misses"], told["kept"]) == (1, 1, 1)


def test_what_is_answered_before_the_framework_needs_the_key_too(client: FlaskClient) -> None:
    for rows in range(40, 44):  # the first teaches how the others are answered
        for headers, status in (bearing(STUDIO), 200), ({}, 401), (bearing("x"), 401):
            body = {**BODY, "rows": rows}
            answer = client.post("/v1/shaping", json=body, headers=headers)
            assert (answer.status_code, b"schedule" in answer.data) == (status, status == 200)


def test_no_proxy_keeps_what_needs_a_key(client: FlaskClient) -> None:
    # RFC 9111, 3.5 and 5.2.2.7: public and s-maxage would let a shared cache hand it to anyone.
    for _ in range(2):  # reckoned, and from the store
        for how in ("GET", "HEAD", "QUERY"):
            told = ask(client, how, **bearing(STUDIO)).headers["Cache-Control"]
            assert re.split(", ?", told)[0] == "private"
            assert not {"public", "s-maxage"} & set(re.split("[, =]+", told))
    again = client.get(GET, headers={**bearing(STUDIO), "If-None-Match": "*"})
    assert (again.status_code, again.headers["Cache-Control"]) == (304, caching.KEPT_BY_ONE)
    assert ask(client, "POST", **bearing(STUDIO)).headers["Cache-Control"] == "no-store"
    assert client.get("/v1/templates").headers["Cache-Control"] == caching.KEPT


@OPTIONAL
def test_what_anyone_may_have_may_be_kept_by_a_proxy(client: FlaskClient) -> None:
    plain, keyed = ask(client, "GET"), ask(client, "GET", **bearing(BLOG))
    assert plain.headers["Cache-Control"] == keyed.headers["Cache-Control"] == caching.KEPT
    # What is kept by others tells nothing of who had it made.
    of_one = {"X-Request-Id", "traceresponse"}
    first, second = (
        sorted(h for h in told.headers if h[0] not in of_one) for told in (plain, keyed)
    )
    assert first == second


def test_without_a_file_nothing_is_in_the_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SIZING_KEYS", raising=False)
    app = create_app()
    assert isinstance(app.wsgi_app, Keeping)
    hooks = [h.__module__ for h in app.before_request_funcs[None]]
    assert keys.__name__ not in hooks
    client = app.test_client()
    response = client.get(GET, headers=bearing("x"))
    assert (response.status_code, response.headers["Cache-Control"]) == (200, caching.KEPT)
    assert "WWW-Authenticate" not in str(response.headers)


# ---- starting, and reading anew ----


@pytest.mark.parametrize(
    ("settings", "why"),
    [
        ({"SIZING_KEYS": "FOLDER/none"}, "SIZING_KEYS: FOLDER/none: No such file"),
        ({"SIZING_KEYS": "FOLDER"}, "SIZING_KEYS: FOLDER: Is a directory"),
        ({"SIZING_KEYS": "FOLDER/bad"}, "SIZING_KEYS: FOLDER/bad: line 1: after the name"),
        ({"SIZING_KEYS": "FOLDER/bytes"}, "SIZING_KEYS: FOLDER/bytes: it is not text"),
        ({"SIZING_KEYS_REQUIRED": "yes"}, "no file is named by SIZING_KEYS"),
        ({"SIZING_KEYS_REQUIRED": "true"}, "'true' is neither yes nor no"),
        ({"SIZING_KEYS": "", "SIZING_KEYS_REQUIRED": "yes"}, "no file is named"),
    ],
)
def test_a_start_that_cannot_be_meant_is_none(
    settings: dict[str, str], why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "bad").write_text("studio letmein\n")
    (tmp_path / "bytes").write_bytes(b"\xff\xfe")
    for name, told in settings.items():
        monkeypatch.setenv(name, told.replace("FOLDER", str(tmp_path)))
    with pytest.raises(ValueError, match=re.escape(why.replace("FOLDER", str(tmp_path)))) as error:
        create_app()
    assert "letmein" not in str(error.value)


class Clock:
    """Time that passes when it is told to."""

    def __init__(self) -> None:
        self.now = 1000.0

    def monotonic(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(keyring, "time", made)
    return made


def replace(file: Path, text: str) -> None:
    new = file.with_suffix(".new")
    new.write_text(text)
    new.rename(file)


def test_the_file_is_read_anew_when_it_has_changed(
    clock: Clock, file: Path, client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    def statuses() -> list[int]:
        return [ask(client, "GET", **bearing(key)).status_code for key in (STUDIO, CUP)]

    key, entry = made("cup")
    CUP = key  # noqa: N806
    assert statuses() == [200, 401]
    replace(file, f"{entry}\n")
    clock.now += 0.9  # looked at once a second at most
    assert statuses() == [200, 401]
    clock.now += 0.2
    assert statuses() == [401, 200]
    for bad in (b"", b"cup letmein\n", b"\xff", None):
        file.unlink() if bad is None else file.write_bytes(bad)
        caplog.clear()
        for _ in range(3):
            clock.now += 1.1
            assert statuses() == [401, 200]
        (line,) = [r.message for r in caplog.records if r.levelno == logging.ERROR]
        assert line.startswith(f"SIZING_KEYS: {file}: ")
        assert line.endswith("; the keys before stay")
        assert "letmein" not in line
    file.write_text(f"{STUDIO_ENTRY}\n{entry}\n")
    clock.now += 1.1
    assert statuses() == [200, 200]


def test_the_file_is_looked_at_seldom(
    clock: Clock, app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks = 0
    real = Path.stat

    def stat(self: Path, **how: Any) -> os.stat_result:
        nonlocal looks
        looks += self == guard(app).ring._path
        return real(self, **how)

    monkeypatch.setattr(Path, "stat", stat)
    for _ in range(20):
        clock.now += 0.1
        ask(client, "GET", **bearing(STUDIO))
    assert looks in (1, 2)


# ---- rates ----


def test_who_asks_too_much_is_told_when_to_ask_again(
    app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = 10**12
    monkeypatch.setattr(guard(app).ring._rates, "_now", lambda: now)
    statuses = [ask(client, "GET", **bearing(BLOG)).status_code for _ in range(6)]
    assert statuses == [200] * 4 + [429] * 2  # one, and three at once on top of it
    for how in ("GET", "POST", "QUERY", "batch"):  # kept answers too
        refused = ask(client, how, Origin="https://pages.example", **bearing(BLOG))
        told = refused.get_json()
        assert (refused.status_code, told["status"]) == (429, 429)
        assert told["type"] == "/v1/problems/too-many-requests"
        assert "2 times a second" in told["detail"]
        # RFC 6585, 4; draft-ietf-httpapi-ratelimit-headers, as the proxy has it.
        assert refused.headers["Retry-After"] == "1"
        assert refused.headers["RateLimit"] == '"key";r=0;t=1'
        assert refused.headers["RateLimit-Policy"] == '"key";q=2;w=1'
        assert refused.headers["Cache-Control"] == "no-store"
        assert refused.headers["Access-Control-Allow-Origin"] == "https://pages.example"
        assert "blog" not in refused.text
    # Nobody else is held up, and what needs no key is had.
    assert ask(client, "GET", **bearing(STUDIO)).status_code == 200
    assert client.get("/v1/templates", headers=bearing(BLOG)).status_code == 200
    now += SECOND // 2
    statuses = [ask(client, "GET", **bearing(BLOG)).status_code for _ in range(2)]
    assert statuses == [200, 429]


def test_a_key_without_a_rate_is_held_to_none_here(client: FlaskClient) -> None:
    assert {ask(client, "GET", **bearing(STUDIO)).status_code for _ in range(50)} == {200}


class Bucket:
    """The other way to say it: a bucket of tokens, refilled as time goes, in exact thousandths."""

    def __init__(self, rate: int, burst: int, now: int) -> None:
        self.rate, self.most, self.then = rate, burst + 1, now
        self.tokens = self.most * SECOND

    def take(self, now: int) -> bool:
        self.tokens = min(self.most * SECOND, self.tokens + (now - self.then) * self.rate)
        self.then = now
        if self.tokens < SECOND:
            return False
        self.tokens -= SECOND
        return True


@given(
    some.sampled_from([1, 2, 4, 5, 10, 100, 1000]),  # those that a second divides by
    some.integers(0, 20),
    some.lists(some.integers(0, 2 * SECOND), min_size=1, max_size=60),
)
def test_a_rate_is_a_bucket_of_tokens(rate: int, burst: int, pauses: list[int]) -> None:
    # Oracle: a bucket, in whole nanoseconds.
    now = 10**15
    rates = Rates(1, lambda: now)
    place, bucket = rates.places(["cup"])["cup"], Bucket(rate, burst, now)
    for pause in pauses:
        now += pause // rate
        wait = rates.wait(place, rate, burst)
        assert (wait == 0) is bucket.take(now)
        if wait:  # at that time and not before
            now += wait - 1
            assert rates.wait(place, rate, burst) == 1
            assert not bucket.take(now)


def test_a_rate_that_changes_holds_nobody_longer_than_a_burst() -> None:
    now = 10**15
    rates = Rates(2, lambda: now)
    place = rates.places(["cup"])["cup"]
    for _ in range(101):
        assert rates.wait(place, 1, 100) == 0
    assert rates.wait(place, 1, 100) == SECOND
    # At ten a second and two on top, three were had just now.
    assert rates.wait(place, 10, 2) == SECOND // 10
    rates._memory[:] = b"\xff" * len(rates._memory)  # no time at all
    place = rates.places(["strap"])["strap"]
    assert rates.wait(place, 10, 2) == 0


def test_a_name_keeps_its_place_when_others_come_and_go() -> None:
    now = 10**15
    rates = Rates(3, lambda: now)
    at = rates.places(["case", "cup", "strap"])["cup"]
    assert rates.wait(at, 1, 1) == rates.wait(at, 1, 1) == 0
    dice = random.Random("places")
    for _ in range(200):
        others = [f"k{dice.randrange(9)}" for _ in range(2)]
        told = rates.places([*dict.fromkeys(others), "cup"])
        assert told["cup"] == at
        assert len(set(told.values())) == len(told)
    assert rates.wait(at, 1, 1) == SECOND


FORKED = """
import os, sys, time
from service.api.rates import Rates
rates = Rates(4)
place = rates.places(["cup"])["cup"]
if {killed}:
    child = os.fork()
    if not child:
        rates._enter()
        os.kill(os.getpid(), 9)
    os.waitpid(child, 0)
began, children = time.monotonic(), []
waits, go = os.pipe()
for _ in range(4):
    reads, writes = os.pipe()
    if os.fork() == 0:
        os.close(go)
        os.read(waits, 1)  # until all are there
        place = rates.places(["cup"])["cup"]
        let = sum(rates.wait(place, 1, 20_000) == 0 for _ in range(10_000))
        os.write(writes, str(let).encode())
        os._exit(0)
    children.append(reads)
os.close(go)
total = 0
for reads in children:
    os.wait()
    total += int(os.read(reads, 10))
print(total, time.monotonic() - began)
"""


@pytest.mark.parametrize("killed", [False, True], ids=["", "after one was killed in the act"])
def test_forked_workers_share_one_rate_exactly(killed: bool) -> None:
    done = subprocess.run(
        [sys.executable, "-c", FORKED.format(killed=killed)], cwd=ROOT, timeout=60, check=True,
        capture_output=True, text=True,
    )  # fmt: skip
    total, took = done.stdout.split()
    assert 20_001 <= int(total) <= 20_001 + float(took)


# ---- as it is served ----


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path, Path]]:
    """The service as it is deployed, with keys: where it is, its file of keys, its log."""
    folder = tmp_path_factory.mktemp("keys")
    (folder / "keys").write_text(f"{STUDIO_ENTRY}\n{BLOG_ENTRY}\n")
    settings = {"SIZING_KEYS": str(folder / "keys"), "SIZING_KEYS_REQUIRED": "yes",
                "METRICS_DIR": str(folder)}  # fmt: skip
    with (folder / "log").open("wb") as log, serving(output=log, **settings) as base:
        yield base, folder / "keys", folder / "log"


def test_workers_of_a_server_share_the_rate_of_a_key(keyed: tuple[str, Path, Path]) -> None:
    began = time.monotonic()
    statuses = [
        requests.get(f"{keyed[0]}{GET}", headers=bearing(BLOG), timeout=10).status_code
        for _ in range(24)
    ]
    assert set(statuses) == {200, 429}
    assert 4 <= statuses.count(200) <= 4 + 2 * (time.monotonic() - began)


def test_every_worker_reads_the_file_anew_and_so_does_a_reload(
    keyed: tuple[str, Path, Path],
) -> None:
    base, file, _ = keyed
    key, entry = made("desk")

    def statuses() -> set[int]:
        return {
            requests.get(f"{base}{GET}", headers=bearing(key), timeout=10).status_code
            for _ in range(8)
        }

    def become(status: int) -> None:
        until = time.monotonic() + 20
        while statuses() != {status}:
            assert time.monotonic() < until
            time.sleep(0.1)

    assert statuses() == {401}
    before = file.read_text()
    replace(file, f"{before}{entry}\n")
    become(200)
    (pid,) = (path.name.rsplit("-", 1)[1] for path in file.parent.glob("sizing-metrics-*"))
    replace(file, before)
    os.kill(int(pid), signal.SIGHUP)
    become(401)


def test_no_log_tells_a_key_a_header_or_a_body(keyed: tuple[str, Path, Path]) -> None:
    base, _, log = keyed
    port = int(base.rsplit(":", 1)[1])
    wrong, _ = made("wrong")
    for key in (STUDIO, wrong):
        requests.post(f"{base}/v1/shaping", json={"pocket": SECRET}, headers=bearing(key))
        requests.post(f"{base}/v1/shaping", f"{{{SECRET}", headers=bearing(key))
        requests.get(f"{base}/v1/shaping?pocket={SECRET}", headers=bearing(key))
    hidden = {"Content-Type": "application/x-ndjson"}
    requests.post(f"{base}/v1/batch", SECRET, headers={**bearing(STUDIO), **hidden})
    # What gunicorn itself refuses, and tells of in its own words.
    asks = "POST /v1/shaping HTTP/1.1\r\nHost: kit\r\n"
    for sent in (
        f"{asks}Authorization Bearer {STUDIO}\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\x01\r\n\r\n",
        f"{asks}Authorization: Bearer\r\n {STUDIO}\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\r\nAuthorization Bearer {STUDIO}\r\n\r\n",
        f"{asks}{STUDIO}\x7f: x\r\n\r\n",
        f"{asks}X-Long: {STUDIO * 400}\r\n\r\n",
        f"GET /v1/shaping?pocket={SECRET} {STUDIO} HTTP/1.1\r\n\r\n",
        f"{STUDIO} /v1/shaping HTTP/1.1\r\n\r\n",
        f"GET /v1/shaping HTTP/{STUDIO}\r\n\r\n",
        f"{asks}Transfer-Encoding: chunked\r\nAuthorization: Bearer {STUDIO}\r\n\r\n{SECRET}\r\n",
        f"{asks}Content-Length: {SECRET}\r\n\r\n",
        f"{asks}Transfer-Encoding: {SECRET}\r\n\r\n",
        f"{asks}Expect: {SECRET}\r\n\r\n",
    ):
        with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
            connection.sendall(sent.encode("latin-1"))
            connection.recv(4096)
    told = log.read_text(encoding="utf-8")
    assert '"route": "/v1/shaping", "status": 401' in told
    assert "Invalid request from ip=127.0.0.1" in told
    for secret in (STUDIO.removeprefix("sizing_"), wrong, SECRET, "Bearer"):
        assert secret not in told


def test_the_server_tells_of_its_own_faults_without_the_query(tmp_path: Path) -> None:
    script = (
        "import logging, runpy, sys\n"
        "for _ in range(2): runpy.run_path('deploy/gunicorn.conf.py')\n"  # as at a reload
        "log = logging.getLogger('gunicorn.error')\n"
        "assert len(log.filters) == 1\n"
        "log.addHandler(logging.StreamHandler(sys.stdout))\n"
        f"log.error('Error handling request %s %s', 'GET', '/v1/shaping?pocket={SECRET}')\n"
        f"log.error('Error handling request %s', '/v1/shaping?pocket={SECRET}')\n"
        "log.error('Error handling request')"
    )
    environment = {**os.environ, "METRICS_DIR": str(tmp_path)}
    told = subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=environment, check=True,
                          capture_output=True, text=True).stdout  # fmt: skip
    assert told.splitlines() == [
        "Error handling request GET /v1/shaping", "Error handling request /v1/shaping",
        "Error handling request",
    ]  # fmt: skip


def test_no_fault_writes_what_was_sent_into_the_log(
    client: FlaskClient,
    app: Flask,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def fail(*sent: object) -> None:
        raise RuntimeError(f"{SECRET} {STUDIO} {sent}")

    monkeypatch.setitem(app.config, "PROPAGATE_EXCEPTIONS", False)
    monkeypatch.setattr("service.api.reading.decode", fail)
    monkeypatch.setattr("service.api.batch.decode", fail)
    assert ask(client, "POST", **bearing(STUDIO)).status_code == 500
    assert b'"status": 500' in ask(client, "batch", **bearing(STUDIO)).data
    assert len([r for r in caplog.records if r.levelno == logging.ERROR]) == 2
    # Where it failed is told, and with what.
    assert len(re.findall("^RuntimeError$", caplog.text, re.M)) == 2
    assert caplog.text.count("in fail") == 2
    assert SECRET not in caplog.text
    assert STUDIO not in caplog.text


def test_the_log_of_answers_tells_no_key(
    client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        for key in (STUDIO, STUDIO, "wrong", BLOG):  # reckoned, from the store, refused
            ask(client, "GET", **bearing(key))
        assert STUDIO not in client.get("/metrics").text
    assert len(caplog.records) == 5
    for secret in (STUDIO, BLOG, "wrong", "Bearer"):
        assert secret not in caplog.text


# ---- the contract ----


def test_the_contract_tells_of_keys_where_they_may_be_sent() -> None:
    document = openapi()
    scheme = document["components"]["securitySchemes"]["bearer"]
    assert (scheme["type"], scheme["scheme"]) == ("http", "bearer")
    computed = {operation.path for operation in OPERATIONS} | {"/v1/batch"}
    for path, methods in document["paths"].items():
        for method, told in methods.items():
            if method.startswith("x-"):
                continue
            assert (told.get("security") == [{}, {"bearer": []}]) is (path in computed)
            assert ({"401", "429"} <= set(told["responses"])) is (path in computed)
            if path in computed:
                assert "WWW-Authenticate" in told["responses"]["401"]["headers"]
