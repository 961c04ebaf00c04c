"""The service as it is deployed: nginx by our configuration, a unix socket, gunicorn."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import requests

from deploy.nginx_conf import made_whole
from deploy.starting import free_port, gunicorn
from service.api.operations import OPERATIONS
from service.api.path_documents import ROOT, examples
from service.api.problems import KINDS
from tests.wire import parted, told

PAGE = "https://pages.example"
QUESTION = {"from": 38, "to": 20, "rows": 40}
GET = "/v1/shaping?from=38&to=20&rows=40"


def nginx() -> str:
    found = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
    assert found, "nginx is not installed, and these tests need it: apt-get install nginx"
    return found


def start_nginx(
    folder: Path, upstreams: str, stderr: Any = None, **more: str
) -> tuple[subprocess.Popen[bytes], str]:
    port, configuration = free_port(), folder / "nginx.conf"
    settings = {
        "LISTEN": f"127.0.0.1:{port}", "KEEP": str(free_port()),
        "UPSTREAMS": upstreams, "STATE": str(folder),
        "ACCESS_LOG": str(folder / "access.log"), "SIZING_ORIGINS": PAGE, **more,
    }  # fmt: skip
    made = subprocess.run(
        [sys.executable, "deploy/nginx_conf.py"], cwd=ROOT, env={**os.environ, **settings},
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    # Of root's workers, who else may write into the folder; for any other user it says nothing.
    user = "user root;\n" if os.getuid() == 0 else ""
    configuration.write_text(user + made)
    process = subprocess.Popen(
        [nginx(), "-p", str(folder), "-c", str(configuration), "-g", "daemon off;"],
        stderr=stderr,
    )
    return process, f"http://127.0.0.1:{port}"


def wait_for(address: str) -> None:
    for _ in range(300):
        try:
            requests.get(address, timeout=2)
        except requests.ConnectionError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError(f"nothing answers at {address}")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the service writes its log."""
    return tmp_path_factory.mktemp("log") / "service.log"


@pytest.fixture(scope="module")
def proxy(log: Path) -> Iterator[str]:
    """The address of nginx before gunicorn."""
    command = gunicorn("--log-level", "warning")
    # The path of a unix socket is short by nature: not below pytest's own folder.
    with tempfile.TemporaryDirectory() as folder:
        at = f"unix:{folder}/socket"
        environment = {**os.environ, "BIND": at, "SIZING_ORIGINS": PAGE, "WORKERS": "2"}
        with (
            log.open("wb") as lines,
            subprocess.Popen(command, cwd=ROOT, env=environment, stdout=lines) as service,
        ):
            front, base = start_nginx(Path(folder), at)
            try:
                wait_for(base)
                for _ in range(300):
                    if requests.get(f"{base}/readyz", timeout=2).ok:
                        break
                    time.sleep(0.1)
                yield base
            finally:
                for process in (front, service):
                    process.terminate()
                front.wait()


@pytest.fixture(scope="module")
def nothing_behind(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of nginx before a port where nothing listens."""
    folder = tmp_path_factory.mktemp("nginx")
    front, base = start_nginx(folder, f"127.0.0.1:{free_port()}")
    try:
        wait_for(base)
        yield base
    finally:
        front.terminate()
        front.wait()


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda o: o.id)
def test_every_operation_is_asked_by_each_method(proxy: str, operation: Any) -> None:
    case = next(p for p in examples(operation.id).values() if "type" not in p["response"])
    path = f"{proxy}{operation.path}"
    posted = requests.post(path, json=case["request"], timeout=10)
    queried = requests.request("QUERY", path, json=case["request"], timeout=10)
    assert posted.status_code == queried.status_code == 200
    assert posted.json() == case["response"]
    assert queried.content == posted.content
    assert queried.headers["Accept-Query"] == "application/json"
    got = requests.get(path, params={"ask": json.dumps(case["request"])}, timeout=10)
    assert got.status_code in (200, 414)
    if got.ok:
        assert got.content == posted.content
    if at := queried.headers.get("Content-Location"):
        assert requests.get(f"{proxy}{at}", timeout=10).content == posted.content


def test_an_answer_is_kept_by_address_and_not_sent_again(proxy: str) -> None:
    address = f"{proxy}/v1/shaping?from=37&to=21&rows=40"
    first, second = (requests.get(address, timeout=10) for _ in range(2))
    assert first.headers["Cache-Status"] == "nginx; fwd=miss"
    assert second.headers["Cache-Status"] == "nginx; hit"
    assert first.content == second.content
    known = {"If-None-Match": second.headers["ETag"]}
    assert requests.get(address, headers=known, timeout=10).status_code == 304
    # What is kept does not carry another request's ids.
    assert first.headers["X-Request-Id"] != second.headers["X-Request-Id"]
    assert "traceresponse" in first.headers
    assert "traceresponse" not in second.headers
    # It is kept apart by what it varies by.
    refused = requests.get(address, headers={"Accept": "text/html"}, timeout=10)
    assert refused.status_code == 406
    page = requests.get(address, headers={"Origin": PAGE}, timeout=10)
    assert page.headers["Access-Control-Allow-Origin"] == PAGE
    assert "Access-Control-Allow-Origin" not in requests.get(address, timeout=10).headers


@pytest.mark.parametrize("method", ["QUERY", "POST"])
def test_what_is_asked_with_a_body_always_reaches_the_service(proxy: str, method: str) -> None:
    for rows in (40, 41):
        body = {**QUESTION, "rows": rows}
        response = requests.request(method, f"{proxy}/v1/shaping", json=body, timeout=10)
        assert response.json()["rows"] == rows
        assert "hit" not in response.headers.get("Cache-Status", "")


def test_a_query_is_not_sent_again_either(proxy: str) -> None:
    def ask(**headers: str) -> requests.Response:
        return requests.request(
            "QUERY", f"{proxy}/v1/shaping", json=QUESTION, headers=headers, timeout=10
        )

    assert ask(**{"If-None-Match": ask().headers["ETag"]}).status_code == 304


def test_large_answers_are_compressed_and_keep_a_weak_validator(proxy: str) -> None:
    address = f"{proxy}/v1/openapi.json"
    packed = requests.get(address, timeout=10)
    plain = requests.get(address, headers={"Accept-Encoding": "identity"}, timeout=10)
    assert packed.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in packed.headers["Vary"]
    assert packed.content == plain.content
    # RFC 9110, 8.8.3.3: a strong validator is of one encoding only.
    assert packed.headers["ETag"] == f"W/{plain.headers['ETag']}"
    known = {"If-None-Match": packed.headers["ETag"]}
    assert requests.get(address, headers=known, timeout=10).status_code == 304


def test_a_preflight_and_a_problem_come_through(proxy: str) -> None:
    asked = {"Origin": PAGE, "Access-Control-Request-Method": "QUERY"}
    preflight = requests.options(f"{proxy}/v1/pieces", headers=asked, timeout=10)
    assert preflight.status_code == 204
    assert preflight.headers["Access-Control-Max-Age"] == "7200"
    problem = requests.get(f"{proxy}/v1/shaping", headers={"Origin": PAGE}, timeout=10)
    assert problem.status_code == 422
    assert problem.headers["Access-Control-Allow-Origin"] == PAGE


HEAD = f"HTTP/1.1\r\nHost: kit\r\nOrigin: {PAGE}\r\nX-Request-Id: kit-7\r\nConnection: close\r\n"


@pytest.mark.parametrize(
    ("slug", "request_line", "rest"),
    [
        ("too-large", "POST /v1/pieces",
         f"Content-Type: application/json\r\nContent-Length: 65537\r\n\r\n{' ' * 65537}"),
        ("header-too-large", "GET /livez", f"X-Long: {'x' * 9000}\r\n\r\n"),
        ("method-not-allowed", "TRACE /livez", "\r\n"),
        ("not-found", "GET /nginx/timed-out", "\r\n"),
        ("malformed", "GET /livez", "Content-Length: x\r\n\r\n"),
        ("malformed", "POST /v1/pieces",
         "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"),
    ],
)  # fmt: skip
def test_nginx_tells_its_own_errors_as_the_service_does(
    proxy: str, slug: str, request_line: str, rest: str
) -> None:
    status, headers, body = parted(told(proxy, f"{request_line} {HEAD}{rest}".encode()))
    check(slug, status, headers, body)
    assert headers["X-Request-Id"] == "kit-7"


def check(slug: str, status: int, headers: Any, body: bytes) -> None:
    kind, told = KINDS[slug], json.loads(body)
    assert status == kind.status
    assert headers["Content-Type"] == "application/problem+json"
    assert told.pop("detail")
    assert told == {"type": kind.uri, "title": kind.title, "status": kind.status}
    assert headers["Access-Control-Allow-Origin"] == PAGE
    assert "X-Request-Id" in headers["Access-Control-Expose-Headers"]
    assert "Origin" in headers["Vary"]
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Content-Security-Policy"] == "default-src 'none'; frame-ancestors 'none'"


def test_an_address_too_long_is_a_problem_wherever_it_is_noticed(proxy: str) -> None:
    for length in (7000, 8000, 9000):  # by the service, by the service, by nginx
        response = requests.get(f"{proxy}/v1/shaping?from={'3' * length}", timeout=10)
        assert response.status_code == 414
        assert response.headers["Content-Type"] == "application/problem+json"
        assert response.json()["type"] == "/v1/problems/uri-too-long"


def test_a_service_that_is_down_is_a_problem_that_a_page_can_read(nothing_behind: str) -> None:
    for method in ("GET", "POST", "QUERY"):
        response = requests.request(
            method, f"{nothing_behind}/v1/shaping", headers={"Origin": PAGE}, timeout=10
        )
        check("unreachable", response.status_code, response.headers, response.content)
        assert response.headers["Retry-After"] == "1"
        assert re.fullmatch("[0-9a-f]{32}", response.headers["X-Request-Id"])
    # So is a batch that is longer than any other body may be.
    batch = {"Origin": PAGE, "Content-Type": "application/x-ndjson"}
    response = requests.post(
        f"{nothing_behind}/v1/batch", b"{}\n" * 40_000, headers=batch, timeout=10
    )
    check("unreachable", response.status_code, response.headers, response.content)
    other = requests.get(f"{nothing_behind}/livez", headers={"Origin": "null"}, timeout=10)
    assert other.status_code == 502
    assert "Access-Control-Allow-Origin" not in other.headers


def test_a_disk_that_cannot_be_written_costs_kept_answers_and_no_answer(
    server: str, tmp_path: Path
) -> None:
    front, base = start_nginx(tmp_path, server.removeprefix("http://"))
    try:
        wait_for(base)
        first, kept = (requests.get(f"{base}{GET}", timeout=10) for _ in range(2))
        assert kept.headers["Cache-Status"] == "nginx; hit"  # so it lies where it will
        for folder in ("proxy", "body"):  # as a full disk does: no file can be made there
            shutil.rmtree(tmp_path / folder)
            (tmp_path / folder).touch()
        for path in ("/v1/shaping?from=36&to=20&rows=40", "/v1/openapi.json", "/v1/templates/x"):
            for _ in range(2):
                got, wanted = (requests.get(f"{at}{path}", timeout=10) for at in (base, server))
                assert (got.status_code, got.content) == (wanted.status_code, wanted.content)
                assert got.headers["X-Request-Id"]
                assert "hit" not in got.headers.get("Cache-Status", "")
        assert requests.head(f"{base}/v1/shaping?from=35&to=20&rows=40", timeout=10).ok
        assert requests.post(f"{base}/v1/shaping", json=QUESTION, timeout=10).ok
        kept = requests.get(f"{base}{GET}", timeout=10)
        assert kept.headers["Cache-Status"] == "nginx; hit"
        assert kept.content == first.content
        # What would have to lie there meanwhile is told so: it was not taken.
        headers = {"Content-Type": "application/x-ndjson", "Origin": PAGE}
        long = b"{}\n" * 40_000
        refused = requests.post(f"{base}/v1/batch", long, headers=headers, timeout=10)
        check("internal", refused.status_code, refused.headers, refused.content)
    finally:
        front.terminate()
        front.wait()


def test_the_service_logs_a_line_of_json_for_each_request_it_had(proxy: str, log: Path) -> None:
    headers = {"X-Request-Id": "kit-8"}
    requests.get(f"{proxy}/v1/shaping?from=31&to=20&rows=40", headers=headers, timeout=10)
    lines = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    (line,) = [line for line in lines if line["request_id"] == "kit-8"]
    assert (line["method"], line["route"], line["status"]) == ("GET", "/v1/shaping", 200)
    assert "from" not in json.dumps(line)


def test_every_problem_of_nginx_is_one_of_the_service_and_can_be_read_up(proxy: str) -> None:
    told = re.findall(r"return \d+ '(.+)';", made_whole({}))
    assert len(told) == 12
    for problem in map(json.loads, told):
        read = requests.get(f"{proxy}{problem['type']}", timeout=10).json()
        assert (read["title"], read["status"]) == (problem["title"], problem["status"])
    assert "@{" not in made_whole({})
    assert 'default "*";' in made_whole({"SIZING_ORIGINS": "*"})
    # Without keys none is asked after.
    assert "bearer" not in made_whole({})
    for bad in (
        {"LISTEN": "1;evil"}, {"FAULTS": "debug"}, {"UPSTREAMS": "a b"}, {"UPSTREAMS": ""},
        {"SIZING_ORIGINS": "null"},
        {"RATE": "0"}, {"BURST": "9;"}, {"QUEUE": "0"}, {"PATIENCE": "-1"},
        {"TRUSTED": "10.0.0.0/8;x"}, {"OPERATIONS": "a b"}, {"OPERATIONS": "a:1,b:2"},
        {"KEY_RATE": "0"},
    ):  # fmt: skip
        with pytest.raises(ValueError, match="not a"):
            made_whole(bad)


@pytest.mark.parametrize(
    ("method", "headers", "status"),
    [
        ("POST", {"Content-Type": "text/plain"}, 415),
        ("POST", {"Content-Type": "application/x-ndjson", "Accept": "image/png"}, 406),
        ("PUT", {"Content-Type": "application/x-ndjson"}, 405),
    ],
)
def test_a_large_batch_that_is_refused_is_told_why(
    proxy: str, method: str, headers: dict[str, str], status: int
) -> None:
    """Though the service did not read it to its end."""
    lines = b'{"id": 1, "operation": "gauge", "body": {}}\n' * 100_000
    answer = requests.request(method, f"{proxy}/v1/batch", data=lines, headers=headers, timeout=30)
    assert answer.status_code == status, answer.text[:200]
    assert answer.headers["Content-Type"] == "application/problem+json"
