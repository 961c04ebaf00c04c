"""nginx before two servers: what one client may ask, and that the loss of one is not seen."""

from __future__ import annotations

import os
import select
import signal
import socket
import subprocess
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
import requests

from deploy.starting import free_port, gunicorn
from service.api.path_documents import ROOT
from service.client import new_session
from tests.deploy.test_proxy import PAGE, check, start_nginx, wait_for

RATE, BURST, BATCH_RATE, BATCH_BURST = 5, 12, 1, 2
LINE = b'{"id": 1, "operation": "shaping", "body": {"from": 8, "to": 2, "rows": 3}}\n'


@dataclass
class Stand:
    """nginx, and the servers behind it."""

    base: str
    operations: str
    servers: list[subprocess.Popen[bytes]]


@contextmanager
def two_servers(**limits: str) -> Iterator[Stand]:
    command = gunicorn("--log-level", "critical")
    with tempfile.TemporaryDirectory() as name, ExitStack() as stack:
        folder = Path(name)
        sockets = [f"unix:{folder}/{n}" for n in (1, 2)]
        settings = {**os.environ, "WORKERS": "1", "ACCESS_LOG": "off", "SIZING_ORIGINS": PAGE}
        servers = [
            subprocess.Popen(
                command, cwd=ROOT, env={**settings, "BIND": at}, start_new_session=True
            )
            for at in sockets
        ]
        stack.callback(lambda: [server.wait() for server in servers])
        stack.callback(lambda: [server.terminate() for server in servers])
        for at in sockets:
            while not Path(at.removeprefix("unix:")).exists():
                time.sleep(0.02)
        operations = f"127.0.0.1:{free_port()}"
        front, base = start_nginx(folder, ",".join(sockets), OPERATIONS=operations, **limits)
        stack.callback(front.wait)
        stack.callback(front.terminate)
        wait_for(base)
        yield Stand(base, f"http://{operations}", servers)


@pytest.fixture(scope="module")
def limited() -> Iterator[Stand]:
    limits = {"RATE": RATE, "BURST": BURST, "BATCH_RATE": BATCH_RATE, "BATCH_BURST": BATCH_BURST}
    with two_servers(**{name: str(value) for name, value in limits.items()},
                     TRUSTED="127.0.0.0/8") as stand:  # fmt: skip
        yield stand


def asking(client: str) -> requests.Session:
    """A session of one client, as a load balancer tells of it."""
    session = requests.Session()
    session.headers.update({"X-Forwarded-For": client, "Origin": PAGE})
    return session


def test_who_asks_more_than_the_limit_is_told_when_to_ask_again(limited: Stand) -> None:
    session, address = asking("192.0.2.1"), f"{limited.base}/v1/shaping?from=38&to=20&rows=40"
    began, answers = time.monotonic(), []
    for _ in range(2 * BURST):
        answers.append(session.get(address, timeout=10))
    let_in = sum(answer.status_code == 200 for answer in answers)
    # One at once, the burst on top of it, and what the rate has added meanwhile.
    assert 1 + BURST <= let_in <= 2 + BURST + RATE * (time.monotonic() - began)
    refused = next(answer for answer in answers if answer.status_code != 200)
    check("too-many-requests", refused.status_code, refused.headers, refused.content)
    assert refused.headers["Retry-After"] == "1"
    assert refused.headers["RateLimit"] == '"requests";r=0;t=1'
    assert refused.headers["RateLimit-Policy"] == f'"requests";q={RATE};w=1'
    assert answers[0].headers["RateLimit-Policy"] == f'"requests";q={RATE};w=1'
    assert {"RateLimit", "RateLimit-Policy", "Retry-After"} <= set(
        refused.headers["Access-Control-Expose-Headers"].split(", ")
    )
    # Health is not counted, and nobody else is held up.
    assert session.get(f"{limited.base}/readyz", timeout=10).status_code == 200
    assert asking("192.0.2.2").get(address, timeout=10).status_code == 200


def test_batches_have_a_limit_of_their_own(limited: Stand) -> None:
    session = asking("192.0.2.3")
    session.headers["Content-Type"] = "application/x-ndjson"
    statuses = Counter(
        session.post(f"{limited.base}/v1/batch", LINE, timeout=10).status_code
        for _ in range(BATCH_BURST + 4)
    )
    assert set(statuses) == {200, 429}
    assert 1 + BATCH_BURST <= statuses[200] <= 3 + BATCH_BURST
    refused = session.post(f"{limited.base}/v1/batch", LINE, timeout=10)
    check("too-many-requests", refused.status_code, refused.headers, refused.content)
    assert refused.headers["RateLimit"] == '"batches";r=0;t=1'
    alone = session.get(f"{limited.base}/v1/templates/panel", timeout=10)
    assert alone.status_code == 200


def test_a_client_that_keeps_the_rule_gets_every_answer(limited: Stand) -> None:
    # The rule of the documents: after 429 or 503 wait as Retry-After says, and ask again.
    with new_session() as session:
        session.headers["X-Forwarded-For"] = "192.0.2.4"
        address = f"{limited.base}/v1/shaping?from=37&to=20&rows=40"
        got = [session.get(address, timeout=10).status_code for _ in range(BURST + 5)]
    assert got == [200] * (BURST + 5)


@pytest.fixture
def silent(tmp_path: Path) -> Iterator[tuple[str, socket.socket]]:
    """nginx before a server that takes connections and says nothing until the test does."""
    with socket.create_server(("127.0.0.1", 0)) as behind:
        behind.settimeout(10)
        front, base = start_nginx(tmp_path, f"127.0.0.1:{behind.getsockname()[1]}", QUEUE="2",
                                  AT_ONCE="4", TRUSTED="127.0.0.0/8")  # fmt: skip
        try:
            host, port = "127.0.0.1", int(base.rsplit(":", 1)[1])
            wait_until_open(host, port)
            yield base, behind
        finally:
            front.terminate()
            front.wait()


@pytest.fixture
def one_gone(tmp_path: Path) -> Iterator[str]:
    """nginx before a server and another that can no longer be reached, as when its machine is gone.

    A connection to that one is neither made nor refused: its queue is full, and none is taken.
    """

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b"kit")

    with ExitStack() as stack:
        gone = stack.enter_context(socket.create_server(("127.0.0.1", 0), backlog=0))
        for _ in range(4):
            waiting = stack.enter_context(socket.socket())
            waiting.setblocking(False)
            waiting.connect_ex(gone.getsockname())
        there = stack.enter_context(ThreadingHTTPServer(("127.0.0.1", 0), Answering))
        stack.callback(there.shutdown)
        threading.Thread(target=there.serve_forever).start()
        servers = [f"127.0.0.1:{at.getsockname()[1]}" for at in (gone, there.socket)]
        front, base = start_nginx(tmp_path, ",".join(servers))
        stack.callback(front.wait)
        stack.callback(front.terminate)
        wait_until_open("127.0.0.1", int(base.rsplit(":", 1)[1]))
        yield base


def test_a_server_whose_address_is_gone_keeps_nobody_waiting_for_long(one_gone: str) -> None:
    for _ in range(6):  # to either of them first, in turns
        assert requests.post(f"{one_gone}/v1/shaping", b"{}", timeout=1.5).text == "kit"


def wait_until_open(host: str, port: int) -> None:
    for _ in range(300):
        try:
            socket.create_connection((host, port), 5).close()
            return
        except OSError:
            time.sleep(0.1)


def test_past_its_queue_a_server_is_left_alone_but_for_health(
    silent: tuple[str, socket.socket],
) -> None:
    base, behind = silent
    with ThreadPoolExecutor(4) as pool, ExitStack() as stack:

        def ask(path: str, client: str = "192.0.2.6") -> Any:
            return pool.submit(asking(client).get, f"{base}{path}", timeout=10)

        def taken() -> socket.socket:
            connection = stack.enter_context(behind.accept()[0])
            connection.settimeout(10)
            assert connection.recv(65536)
            return connection

        waiting = [(ask(f"/v1/shaping?rows={n}"), taken()) for n in (1, 2)]
        # The server has its fill: it is not asked, whoever asks.
        for client in ("192.0.2.6", "192.0.2.7"):
            refused = ask("/v1/shaping?rows=3", client).result()
            check("not-ready", refused.status_code, refused.headers, refused.content)
            assert refused.headers["Retry-After"] == "1"
            assert "Retry-After" in refused.headers["Access-Control-Expose-Headers"]
        for path in ("/readyz", "/livez"):
            waiting.append((ask(path), taken()))
        for answer, connection in waiting:
            connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\nkit")
            connection.close()
            assert answer.result().text == "kit"
        # There is room again.
        again, connection = ask("/v1/shaping?rows=3"), taken()
        connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\nkit")
        assert again.result().text == "kit"


def test_bodies_that_never_end_are_few_of_one_client_and_in_nobodys_way(
    silent: tuple[str, socket.socket],
) -> None:
    base, behind = silent
    address = ("127.0.0.1", int(base.rsplit(":", 1)[1]))
    head = (f"POST /v1/shaping HTTP/1.1\r\nHost: kit\r\nOrigin: {PAGE}\r\nContent-Length: 9\r\n"
            "X-Forwarded-For: 192.0.2.8\r\n\r\n").encode()  # fmt: skip
    with ThreadPoolExecutor(1) as pool, ExitStack() as stack:
        slow = [stack.enter_context(socket.create_connection(address, 10)) for _ in range(5)]
        for one in slow:
            one.sendall(head)
        # AT_ONCE are let be, though QUEUE is less: none is with the server. One is too many.
        poll = select.poll()
        for one in slow:
            poll.register(one, select.POLLIN)
        (told,) = {fd for fd, _ in poll.poll(10_000)}
        (refused,) = [one for one in slow if one.fileno() == told]
        assert refused.recv(12) == b"HTTP/1.1 429"
        # Who else asks is answered.
        answer = pool.submit(asking("192.0.2.9").get, f"{base}/v1/shaping?rows=4", timeout=10)
        connection = stack.enter_context(behind.accept()[0])
        assert b"rows=4" in connection.recv(65536)
        connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 3\r\n\r\nkit")
        assert answer.result().text == "kit"


def test_counts_are_not_for_the_public(limited: Stand) -> None:
    session = asking("192.0.2.5")
    for path in ("metrics", "metrics/", "%6detrics", "metrics?x=1", "v1/../metrics"):
        request = requests.Request("GET", f"{limited.base}/livez").prepare()
        request.url = f"{limited.base}/{path}"
        assert session.send(request, timeout=10).status_code == 404
    for number in (1, 2):
        told = requests.get(f"{limited.operations}/metrics/{number}", timeout=10)
        assert told.status_code == 200
        assert "sizing_build" in told.text
    assert requests.get(f"{limited.operations}/livez", timeout=10).status_code == 404


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM])
def test_a_server_that_goes_while_it_is_asked_is_not_missed(how: signal.Signals) -> None:
    with two_servers(RATE="10000", BURST="10000") as stand:
        seen: Counter[int] = Counter()
        wrong: list[str] = []
        cut: list[str] = []
        done = threading.Event()

        def ask(start: int) -> None:
            with requests.Session() as session:
                rows = start
                while not done.is_set():
                    rows = rows + 2 if rows < 8000 else start
                    body = {"from": 38, "to": 20, "rows": rows}
                    for method in ("POST", "QUERY", "GET"):
                        asked = {"params": body} if method == "GET" else {"json": body}
                        try:
                            answer = session.request(
                                method, f"{stand.base}/v1/shaping", timeout=10, **asked
                            )
                        except requests.exceptions.ChunkedEncodingError as error:
                            cut.append(f"{method} {rows}: {error}")
                            continue
                        seen[answer.status_code] += 1
                        if answer.status_code != 200 or answer.json()["rows"] != rows:
                            wrong.append(f"{method} {rows}: {answer.status_code} {answer.text}")

        threads = [threading.Thread(target=ask, args=(40 + n,)) for n in (0, 1)]
        for thread in threads:
            thread.start()
        time.sleep(0.4)
        before = seen[200]
        for number in (1, 2):  # both have their share
            told = requests.get(f"{stand.operations}/metrics/{number}", timeout=10).text
            assert 'route="/v1/shaping",status="200"' in told
        if how == signal.SIGKILL:
            os.killpg(stand.servers[0].pid, how)  # its worker too
        else:
            stand.servers[0].send_signal(how)
        time.sleep(0.6)
        between = seen[200]
        done.set()
        for thread in threads:
            thread.join()
        assert wrong == []
        # One that is killed between the head of an answer and its body has begun it: no proxy can
        # have it made elsewhere, and its client asks again. There is one worker, at one question.
        assert len(cut) <= (how == signal.SIGKILL), cut
        assert 0 < before < between
