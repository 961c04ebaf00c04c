"""Batches over HTTP, by a gunicorn as it is deployed."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import requests

from service.api.batch import NDJSON
from service.api.documents import ROOT
from service.api.processes import children
from tests.conftest import serving

EXAMPLES = sorted((ROOT / "openapi" / "examples" / "batch").glob("*.request.ndjson"))
FLAP = {"from": 38, "to": 2, "rows": 18}
LINE = json.dumps({"id": 1, "operation": "shaping", "body": FLAP}).encode() + b"\n"
HEAD = (
    b"POST /v1/batch HTTP/1.1\r\nHost: here\r\nContent-Type: application/x-ndjson\r\n"
)  # fmt: skip
CHUNKED = HEAD + b"Transfer-Encoding: chunked\r\n\r\n"


def chunk(data: bytes) -> bytes:
    return b"%x\r\n%s\r\n" % (len(data), data)


@pytest.fixture
def wire(server: str) -> Iterator[socket.socket]:
    with connected(server) as made:
        yield made


def connected(server: str) -> socket.socket:
    address = urlsplit(server)
    return socket.create_connection((address.hostname or "", address.port or 0), timeout=20)


def told_until(wire: socket.socket, mark: bytes) -> bytes:
    told = b""
    while mark not in told:
        part = wire.recv(65536)
        assert part, f"closed before {mark!r}: {told[-500:]!r}"
        told += part
    return told


def summary_in(told: bytes) -> Any:
    (line,) = [line for line in told.splitlines() if line.startswith(b'{"summary"')]
    return json.loads(line)["summary"]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_the_running_service_answers_the_example_to_the_letter(server: str, path: Path) -> None:
    response = requests.post(
        f"{server}/v1/batch", path.read_bytes(), headers={"Content-Type": NDJSON}, timeout=10
    )
    answered = path.with_name(path.name.replace(".request.", ".response."))
    assert response.content == answered.read_bytes()


def test_answers_come_before_the_body_is_sent(wire: socket.socket) -> None:
    wire.sendall(CHUNKED)
    for _ in range(3):
        # gunicorn hands a body on by the kilobyte; blank lines push a line through.
        wire.sendall(chunk(LINE + b"\n" * 1024))
        assert b'"status": 200' in told_until(wire, b"18 times")
    wire.sendall(b"0\r\n\r\n")
    assert summary_in(told_until(wire, b'"summary"'))["good"] == 3


@pytest.mark.parametrize(
    ("rest", "word"),
    [
        (b"zz\r\n", "could not be read"),  # no size of a chunk
        (b"5\r\n{}", "could not be read"),  # an end within a chunk
        (b"", "could not be read"),  # no last chunk
    ],
)
def test_a_broken_transfer_is_told_in_the_last_line(
    wire: socket.socket, rest: bytes, word: str
) -> None:
    wire.sendall(CHUNKED + chunk(LINE * 20) + rest)
    wire.shutdown(socket.SHUT_WR)
    told = told_until(wire, b'"summary"')
    assert told.startswith(b"HTTP/1.1 200")
    summary = summary_in(told)
    assert summary["complete"] is False
    assert word in summary["problem"]["detail"]
    assert summary["next_line"] == summary["lines"] + 1


def test_a_body_shorter_than_it_says_is_told_in_the_last_line(wire: socket.socket) -> None:
    wire.sendall(HEAD + b"Content-Length: %d\r\n\r\n" % (3 * len(LINE)) + 2 * LINE + LINE[:-9])
    wire.shutdown(socket.SHUT_WR)
    summary = summary_in(told_until(wire, b'"summary"'))
    assert (summary["lines"], summary["complete"], summary["next_line"]) == (2, False, 3)


def test_a_batch_outlasts_the_timeout_of_its_worker() -> None:
    # A sync worker is killed after a second without a sign; each line is one.
    with serving("--workers", "1", "--timeout", "1") as server, connected(server) as wire:
        wire.sendall(CHUNKED)
        for _ in range(8):
            time.sleep(0.3)
            wire.sendall(chunk(LINE + b"\n" * 1024))
        wire.sendall(b"0\r\n\r\n")
        assert summary_in(told_until(wire, b'"summary"'))["good"] == 8


def test_who_leaves_is_worked_for_no_more() -> None:
    with serving("--workers", "1") as server:
        # Minutes of work for the one worker there is: a million lines of seven are promised.
        with connected(server) as wire:
            wire.sendall(HEAD + b"Content-Length: 70000000\r\n\r\n" + LINE * 100)
            told_until(wire, b"18 times")
        assert requests.get(f"{server}/livez", timeout=15).ok


def test_a_worker_that_is_told_to_stop_ends_its_batch_and_says_where(tmp_path: Path) -> None:
    pid = tmp_path / "pid"
    with serving("--workers", "1", "--pid", str(pid)) as server, connected(server) as wire:
        wire.sendall(CHUNKED + chunk(LINE + b"\n" * 1024))
        told_until(wire, b"18 times")
        (worker,) = children(int(pid.read_text()))
        os.kill(worker, signal.SIGTERM)
        time.sleep(0.1)
        wire.sendall(chunk(LINE + b"\n" * 1024))
        summary = summary_in(told_until(wire, b'"summary"'))
        assert summary["problem"]["status"] == 503
        assert (summary["lines"], summary["complete"], summary["next_line"]) == (1, False, 2)


def test_memory_does_not_grow_with_lines() -> None:
    # Held in memory, 5,000 lines and their answers would be 2 MB of text and more of objects.
    told = subprocess.run(
        [sys.executable, "deploy/batch_memory.py", "5000"],
        cwd=ROOT, capture_output=True, text=True, check=True, timeout=60,
    ).stdout  # fmt: skip
    table = re.findall(r"^ +([\d,]+) +([\d,]+)$", told, re.MULTILINE)
    memory = {int(n.replace(",", "")): int(kib.replace(",", "")) for n, kib in table}
    assert set(memory) == set(range(0, 5_001, 500))
    assert max(memory.values()) - memory[0] < 1_000
    assert json.loads(told.splitlines()[-1])["summary"]["good"] == 5_000
