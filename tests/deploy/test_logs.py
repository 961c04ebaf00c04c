"""Logs of a real nginx and gunicorn: no question is in them, and nobody waits for their reader."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
import socket
from collections.abc import Callable
from pathlib import Path

import pytest
import requests

from deploy.starting import free_port
from tests.api.test_metrics import key, samples
from tests.conftest import serving
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


def short_pipe() -> tuple[int, int]:
    """Room for some 17 lines."""
    read, write = os.pipe()
    fcntl.fcntl(write, fcntl.F_SETPIPE_SZ, 4096)
    return read, write


def short_socket() -> tuple[int, int]:
    read, write = socket.socketpair()
    write.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 4096)
    return read.detach(), write.detach()


def read_all(file: int) -> str:
    """What is there now."""
    got = b""
    while True:
        try:
            got += os.read(file, 65536)
        except BlockingIOError:
            return got.decode()


@pytest.mark.parametrize("ends", [short_pipe, short_socket])
def test_a_log_that_nobody_reads_holds_nobody_up(ends: Callable[[], tuple[int, int]]) -> None:
    asked, (read, write) = 150, ends()
    os.set_blocking(read, False)
    with serving(output=write) as base:
        try:
            for n in range(asked):
                address = f"{base}/v1/shaping?from=38&to=20&rows={40 + n}"
                assert requests.get(address, timeout=10).status_code == 200
            told = samples(requests.get(f"{base}/metrics", timeout=10).text)
            left_out = told[key("sizing_log_lines_left_out_total", stream="stdout")]
            lines = [json.loads(line) for line in read_all(read).splitlines()]
            here = sum(line["route"] == "/v1/shaping" for line in lines)
            assert 0 < here < 50
            # What a worker left out is counted with its next request; two were about readiness.
            assert asked - here - 2 <= left_out <= asked - here + 2
            assert os.get_blocking(write)  # who else writes there is not surprised
            # Who reads again has what is written from then on.
            requests.get(f"{base}/livez", headers={"X-Request-Id": "kit-9"}, timeout=10)
            assert '"request_id": "kit-9"' in read_all(read)
        finally:
            os.close(read)
            os.close(write)
