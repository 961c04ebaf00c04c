"""What a real nginx writes down of questions that it cannot answer: never the question."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
import requests

from deploy.ports import free_port
from tests.deploy.test_proxy import start_nginx, wait_for
from tests.wire import parted, told

SECRET = "hidden17"
QUERY = f"/v1/shaping?from={SECRET}&to=20&rows=40"


@pytest.mark.parametrize(("level", "repeats"), [("emerg", False), ("info", True)])
def test_no_log_of_nginx_repeats_a_question(
    server: str, tmp_path: Path, level: str, repeats: bool
) -> None:
    """Nothing behind, nothing that says so in time, a limit, a full disk and what is no request."""
    gone, here = f"127.0.0.1:{free_port()}", server.removeprefix("http://")
    written, seen = "", set()
    for name, upstreams, limits in (
        ("gone", gone, {"BURST": "3", "RATE": "1"}), ("one gone", f"{gone},{here}", {}),
        ("full", here, {}),
    ):  # fmt: skip
        folder = tmp_path / name.replace(" ", "-")
        folder.mkdir()
        with (folder / "nginx.log").open("wb") as errors:
            front, base = start_nginx(folder, upstreams, errors, FAULTS=level, **limits)
            try:
                wait_for(f"{base}/livez")
                if name == "full":  # as a full disk is: no file can be made there
                    for kept in ("proxy", "body"):
                        shutil.rmtree(folder / kept)
                        (folder / kept).touch()
                for n in range(8):
                    seen.add(requests.get(f"{base}{QUERY}&n={n}", timeout=10).status_code)
                large = {"data": b"{}\n" * 40_000, "timeout": 10}
                seen.add(requests.post(f"{base}/v1/batch?{SECRET}", **large).status_code)
                for sent in (
                    f"GET {QUERY} HTTP/1.1\r\nHost: kit\r\nContent-Length: x\r\n\r\n",
                    f"GET {QUERY}{'0' * 9000} HTTP/1.1\r\nHost: kit\r\n\r\n",
                    f"GET {QUERY} HTTP/1.1\r\nHost: kit\r\nX: {'0' * 9000}\r\n\r\n",
                    f"GET {QUERY} HTTP/1.1\r\nHost: kit\r\nHost: pen\r\n\r\n",
                ):
                    seen.add(parted(told(base, sent.encode()))[0])
            finally:
                front.terminate()
                front.wait()
        written += (folder / "nginx.log").read_text() + (folder / "access.log").read_text()
    assert seen >= {400, 414, 422, 429, 431, 500, 502}
    assert (SECRET in written) is repeats


def test_the_access_log_tells_which_servers_were_asked_and_what_they_said(
    server: str, tmp_path: Path
) -> None:
    gone, here = f"127.0.0.1:{free_port()}", server.removeprefix("http://")
    front, base = start_nginx(tmp_path, f"{gone},{here}")
    try:
        wait_for(f"{base}/livez")
        for method in ("GET", "POST"):  # one after the other, since nginx takes the servers in turn
            for n in range(4):
                answer = requests.request(
                    method, f"{base}/v1/shaping?from=38&to=20&rows=4{n}", timeout=10,
                    json={} if method == "POST" else None,
                    headers={"X-Request-Id": f"kit-{n}"},
                )  # fmt: skip
                assert not {"X-Asked", "X-Answered"} & set(answer.headers)
    finally:
        front.terminate()
        front.wait()
    lines = [json.loads(line) for line in (tmp_path / "access.log").read_text().splitlines()]
    lines = [line for line in lines if line["request_id"].startswith("kit-")]
    assert len(lines) == 8
    for method, status in (("GET", "200"), ("POST", "422")):
        tries = {(line["asked"], line["answered"]) for line in lines if line["method"] == method}
        assert (f"{gone}, {here}", f"502, {status}") in tries
        assert tries <= {(here, status), (f"{gone}, {here}", f"502, {status}")}
