"""Keys behind a real nginx: what it keeps, whom it holds to which limit, and what it logs."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import requests

from deploy.starting import gunicorn
from service.api.keyring import made
from service.api.path_documents import ROOT
from tests.deploy.test_proxy import PAGE, check, start_nginx, wait_for

STUDIO, STUDIO_ENTRY = made("studio")
BLOG, BLOG_ENTRY = made("blog", 2, 3)
MADE_UP = [f"sizing_{n:043}" for n in range(60)]
SECRET = "hidden-17.5cm"
RATE, BURST, KEY_RATE, KEY_BURST = 5, 6, 10, 20
LIMITS = {"RATE": RATE, "BURST": BURST, "KEY_RATE": KEY_RATE, "KEY_BURST": KEY_BURST}
LINE = b'{"id": 1, "operation": "shaping", "body": {"from": 8, "to": 2, "rows": 3}}\n'


@dataclass
class Stand:
    """nginx and the service behind it, and what they write down."""

    base: str
    folder: Path

    def logs(self) -> str:
        names = ("access.log", "nginx.log", "service.log")
        return "".join((self.folder / name).read_text(encoding="utf-8") for name in names)


@contextmanager
def serving(folder: Path, **settings: str) -> Iterator[str]:
    """The service behind a socket in that folder, and where that is."""
    command = gunicorn("--log-level", "warning")
    environment = {**os.environ, **settings, "BIND": f"unix:{folder}/socket", "WORKERS": "2"}
    with (folder / "service.log").open("wb") as log:
        process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=log, stderr=log)
        try:
            while not (folder / "socket").exists():
                assert process.poll() is None
                time.sleep(0.02)
            yield f"unix:{folder}/socket"
        finally:
            process.terminate()
            process.wait()


@contextmanager
def proxying(folder: Path, upstream: str, **settings: str) -> Iterator[str]:
    """nginx that keeps its things in that folder, and its address."""
    with (folder / "nginx.log").open("wb") as log:
        front, base = start_nginx(folder, upstream, stderr=log, **settings)
        try:
            wait_for(base)
            yield base
        finally:
            front.terminate()
            front.wait()


@contextmanager
def stand(required: str, **limits: str) -> Iterator[Stand]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "keys").write_text(f"{STUDIO_ENTRY}\n{BLOG_ENTRY}\n")
        keys = {"SIZING_KEYS": str(folder / "keys"), "SIZING_KEYS_REQUIRED": required}
        with (
            serving(folder, SIZING_ORIGINS=PAGE, **keys) as upstream,
            proxying(folder, upstream, **keys, **limits) as base,
        ):
            yield Stand(base, folder)


@pytest.fixture(scope="module")
def required() -> Iterator[Stand]:
    with stand("yes", RATE="10000", BURST="10000", KEY_RATE="10000", KEY_BURST="10000") as made:
        yield made


@pytest.fixture(scope="module")
def optional() -> Iterator[Stand]:
    limits = {name: str(value) for name, value in LIMITS.items()}
    with stand("no", TRUSTED="127.0.0.0/8", **limits) as made:
        yield made


def get(at: Stand, path: str, key: str | None = None, **headers: str) -> requests.Response:
    if key is not None:
        headers["Authorization"] = f"Bearer {key}"
    return requests.get(f"{at.base}{path}", headers=headers, timeout=10)


def test_nginx_hands_nothing_that_was_kept_to_who_has_no_key(required: Stand) -> None:
    path = "/v1/shaping?from=38&to=20&rows=40"
    first = get(required, path, STUDIO)
    assert first.status_code == 200
    assert first.headers["Cache-Control"].startswith("private")
    for _ in range(2):
        for answer in (get(required, path), get(required, path, "wrong"),
                       get(required, path, Authorization="Basic YTpi")):  # fmt: skip
            assert (answer.status_code, "schedule" in answer.text) == (401, False)
            assert answer.headers["WWW-Authenticate"].startswith("Bearer")
            assert answer.headers["Content-Type"] == "application/problem+json"
        # Nor is a refusal kept for who has one.
        again = get(required, path, STUDIO)
        assert (again.status_code, again.content) == (200, first.content)
        assert "hit" not in again.headers["Cache-Status"]
    assert (
        get(required, path, STUDIO, **{"If-None-Match": first.headers["ETag"]}).status_code == 304
    )


def test_what_needs_no_key_is_kept_as_ever(required: Stand) -> None:
    for expected in ("nginx; fwd=miss", "nginx; hit"):
        assert get(required, "/v1/templates/cup").headers["Cache-Status"] == expected
    assert get(required, "/readyz").status_code == 200


def test_what_was_kept_before_keys_were_required_is_not_found(
    required: Stand, tmp_path: Path
) -> None:
    def asked(base: str) -> list[requests.Response]:
        # What is kept is kept by the host, too.
        address, host = f"{base}/v1/shaping?from=36&to=20&rows=40", {"Host": "kit"}
        return [requests.get(address, headers=host, timeout=10) for _ in range(2)]

    def statuses(answers: list[requests.Response]) -> list[int]:
        return [answer.status_code for answer in answers]

    with tempfile.TemporaryDirectory() as name, serving(Path(name)) as upstream:
        with proxying(tmp_path, upstream) as base:
            before = asked(base)
        with proxying(tmp_path, f"unix:{required.folder}/socket") as base:
            untold = asked(base)
    keys = {"SIZING_KEYS_REQUIRED": "yes", "SIZING_KEYS": "somewhere"}
    with proxying(tmp_path, f"unix:{required.folder}/socket", **keys) as base:
        after = asked(base)
    assert statuses(before) == [200, 200]
    assert before[1].headers["Cache-Status"] == "nginx; hit"
    assert statuses(untold) == [200, 200]  # why nginx must be told too
    assert statuses(after) == [401, 401]


def test_every_method_and_a_batch_need_the_key(required: Stand) -> None:
    for key, expected in ((STUDIO, 200), ("wrong", 401), (None, 401)):
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        for method in ("POST", "QUERY"):
            answer = requests.request(
                method, f"{required.base}/v1/shaping", json={"from": 38, "to": 2, "rows": 18},
                headers=headers, timeout=10,
            )  # fmt: skip
            assert answer.status_code == expected
        batch = requests.post(
            f"{required.base}/v1/batch", LINE * (1 if key == STUDIO else 20_000), timeout=10,
            headers={**headers, "Content-Type": "application/x-ndjson"},
        )  # fmt: skip
        assert batch.status_code == expected


def test_a_key_is_held_to_its_rate_and_told_so_through_nginx(required: Stand) -> None:
    began = time.monotonic()
    answers = [get(required, "/v1/shaping?from=9&to=3&rows=6", BLOG, Origin=PAGE)
               for _ in range(12)]  # fmt: skip
    fine = sum(answer.status_code == 200 for answer in answers)
    assert 4 <= fine <= 4 + 2 * (time.monotonic() - began)
    refused = next(answer for answer in answers if answer.status_code != 200)
    assert (refused.status_code, refused.headers["Retry-After"]) == (429, "1")
    assert refused.headers["RateLimit"] == '"key";r=0;t=1'
    # A list (RFC 9651, 3.1): the key's own, and the proxy's.
    assert refused.headers["RateLimit-Policy"] == '"key";q=2;w=1, "keys";q=10000;w=1'
    assert refused.headers["Access-Control-Allow-Origin"] == PAGE


def let_in(at: Stand, asks: list[tuple[str, str | None]]) -> tuple[Counter[int], float]:
    """Ask from those addresses with those keys, all at once or nearly; and how long it took."""
    began, seen = time.monotonic(), Counter[int]()
    with requests.Session() as session:
        for address, key in asks:
            headers = {"X-Forwarded-For": address}
            if key:
                headers["Authorization"] = f"Bearer {key}"
            path = f"{at.base}/v1/shaping?from=38&to=20&rows=40"
            seen[session.get(path, headers=headers, timeout=10).status_code] += 1
    return seen, time.monotonic() - began


def test_who_has_a_key_is_not_held_to_the_limit_by_address_alone(optional: Stand) -> None:
    seen, took = let_in(optional, [("192.0.2.1", None)] * 30)
    assert 1 + BURST <= seen[200] <= 2 + BURST + RATE * took
    # The same address with a key has more.
    seen, took = let_in(optional, [("192.0.2.1", STUDIO)] * 60)
    assert 1 + KEY_BURST <= seen[200] <= 2 + KEY_BURST + KEY_RATE * took
    assert seen[200] + seen[429] == 60
    refused = get(optional, "/v1/shaping?from=38&to=20&rows=40", STUDIO, Origin=PAGE,
                  **{"X-Forwarded-For": "192.0.2.1"})  # fmt: skip
    check("too-many-requests", refused.status_code, refused.headers, refused.content)
    assert refused.headers["RateLimit"] == '"keys";r=0;t=1'
    assert refused.headers["RateLimit-Policy"] == f'"keys";q={KEY_RATE};w=1'


def test_a_key_has_its_limit_from_all_addresses_together(optional: Stand) -> None:
    other = MADE_UP[0]  # for nginx as good as any
    seen, took = let_in(optional, [(f"198.51.100.{n}", other) for n in range(60)])
    assert 1 + KEY_BURST <= 60 - seen[429] <= 2 + KEY_BURST + KEY_RATE * took


@pytest.mark.parametrize("kind", ["made up", "longer than any", "of another kind"])
def test_nobody_has_more_by_making_keys_up(optional: Stand, kind: str) -> None:
    address = {"made up": "192.0.2.7", "longer than any": "192.0.2.8"}.get(kind, "192.0.2.9")
    many = {"made up": "", "longer than any": "x" * 100, "of another kind": "\xe9"}[kind]
    seen, took = let_in(optional, [(address, f"{key}{many}") for key in MADE_UP])
    rate, burst = (KEY_RATE, KEY_BURST) if kind == "made up" else (RATE, BURST)
    assert 1 + burst <= 60 - seen[429] <= 2 + burst + rate * took


def test_no_log_tells_a_key_or_a_body(required: Stand) -> None:
    port = int(required.base.rsplit(":", 1)[1])
    wrong = MADE_UP[1]
    for key in (STUDIO, wrong):
        get(required, "/v1/shaping?from=38", key)
        headers = {"Authorization": f"Bearer {key}"}
        for body in (f'{{"pocket": "{SECRET}"}}', SECRET, f'"{SECRET * 5000}"', SECRET * 9000):
            requests.post(f"{required.base}/v1/shaping", body, timeout=10,
                          headers={**headers, "Content-Type": "application/json"})  # fmt: skip
    asks = "POST /v1/shaping HTTP/1.1\r\nHost: kit\r\nConnection: close\r\n"
    for sent in (
        f"{asks}Authorization Bearer {STUDIO}\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\x01\r\n\r\n",
        f"{asks}Authorization: Bearer\r\n {STUDIO}\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\r\nAuthorization: Bearer {wrong}\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO * 200}\r\n\r\n",
        f"{asks}{STUDIO}\x7f: x\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\r\nContent-Length: {SECRET}\r\n\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\r\nTransfer-Encoding: chunked\r\n\r\n{SECRET}\r\n",
        f"{asks}Authorization: Bearer {STUDIO}\r\nContent-Length: 99\r\n\r\n{SECRET}",
    ):
        with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
            connection.sendall(sent.encode("latin-1"))
            connection.shutdown(socket.SHUT_WR)
            connection.recv(4096)
    told = required.logs()
    statuses = [json.loads(line)["status"] for line in told.splitlines() if '"seconds"' in line]
    assert {200, 400, 401} <= set(statuses)
    for secret in (STUDIO.removeprefix("sizing_"), wrong, "17.5cm", "Bearer"):
        assert secret not in told


def test_no_log_tells_a_key_when_nothing_is_behind(tmp_path: Path) -> None:
    limits = {"SIZING_KEYS": "somewhere", "KEY_RATE": "1", "KEY_BURST": "1",
              "FAULTS": "info"}  # fmt: skip
    with proxying(tmp_path, f"unix:{tmp_path}/none", **limits) as base:
        at = Stand(base, tmp_path)
        statuses = [get(at, "/v1/shaping", STUDIO).status_code for _ in range(6)]
    assert set(statuses) == {502, 429}
    lines = (tmp_path / "access.log").read_text().splitlines()
    assert {json.loads(line)["status"] for line in lines} == {502, 429}
    told = (tmp_path / "nginx.log").read_text()
    assert "limiting requests" in told
    assert "No such file" in told
    told += "".join(lines)
    for secret in (STUDIO.removeprefix("sizing_"), "Bearer"):
        assert secret not in told
