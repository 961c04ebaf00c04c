"""The service beside what it stands on: CPU and requests a second, in one run (Linux).

python deploy/benchmark.py [--rounds 7] [--requests 400] [--json FILE]   (from the repository root)

Each row is a server of one worker with the same gunicorn configuration, access log off, that gets
the demo piece and returns as many bytes; one connection a request, four at a time, as by a proxy.
The rows are measured in turns, round after round, so that what else the machine does falls on all
alike; medians of the rounds are shown, latencies of all requests. CPU is that of the worker, as the
kernel has it. Nothing is judged but the ratios, and those are printed beside what they should be:

  bare     a WSGI application that returns fixed bytes: the limit of the server
  floor    Flask, with marshmallow loading the body by the service's own schema; fixed bytes
  new      /v1/pieces, bodies never seen before: sizes between 9 x 26 and 14 x 38 cm at one gauge
  alone    the same where nothing is shared by pieces that come to the same counts
  again    /v1/pieces, one body over and over
  batch    /v1/batch, lines never seen before; a request is a piece
  peer     msgspec loading the body on Granian without a framework; fixed bytes

``peer`` needs ``pip install granian msgspec`` (the extra ``benchmark``) and is left out without.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import selectors
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from itertools import count
from pathlib import Path
from statistics import median, quantiles
from typing import Any

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from deploy.starting import free_port, gunicorn  # noqa: E402  (from a clone)
from service.api.processes import children  # noqa: E402

DEMO = json.loads((ROOT / "openapi/examples/pieces/case-pocket.request.json").read_bytes())
AT_ONCE = 4
_numbers = count()


def demo(number: int | None = None) -> bytes:
    """The demo piece; with a number, one of a size that no other number (of 600,000) has.

    Widths go from 9 to 14 cm and heights from 26 to 38 cm, to the tenth of a millimetre.
    """
    made = json.loads(json.dumps(DEMO))
    if number is not None:
        width, height = divmod(number * 350_003 % 600_000, 1200)
        made["measurements"]["width"]["value"] = 9 + width / 100
        made["measurements"]["body_height"]["value"] = 26 + height / 100
    return json.dumps(made).encode()


def request(path: str, body: bytes, media_type: str = "application/json") -> bytes:
    head = (
        f"POST {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
        f"Content-Type: {media_type}\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


@contextmanager
def serving(command: list[str], port: int, **more: str) -> Iterator[subprocess.Popen[bytes]]:
    environment = {**os.environ, "PORT": str(port), "WORKERS": "1", "ACCESS_LOG": "off", **more}
    with subprocess.Popen(command, cwd=ROOT, env=environment) as server:
        try:
            for _ in range(200):
                try:
                    socket.create_connection(("127.0.0.1", port)).close()
                    break
                except OSError:
                    time.sleep(0.05)
            time.sleep(0.5)
            yield server
        finally:
            server.terminate()


def command(app: str) -> list[str]:
    return gunicorn("--log-level", "warning", "--pythonpath", "deploy", app=app)


def processes(root: int) -> list[int]:
    """A process and all that came of it."""
    return [root, *(pid for child in children(root) for pid in processes(child))]


def cpu(server: int) -> int:
    """Nanoseconds of CPU that a server's processes have had, all their threads together."""
    return sum(
        int(task.read_text().split()[0])
        for pid in processes(server)
        for task in Path(f"/proc/{pid}/task").glob("*/schedstat")
    )


def ask(port: int, requests: list[bytes]) -> tuple[float, list[float], int]:
    """Send them, four at a time; seconds it took, seconds of each, and bytes of the last answer."""
    waiting, open_now, took = list(reversed(requests)), 0, []
    watched, size = selectors.DefaultSelector(), 0
    begun = time.perf_counter()
    while waiting or open_now:
        while waiting and open_now < AT_ONCE:
            started = time.perf_counter()
            sock = socket.create_connection(("127.0.0.1", port))
            sock.sendall(waiting.pop())
            watched.register(sock, selectors.EVENT_READ, (started, bytearray()))
            open_now += 1
        for event, _ in watched.select():
            started, told = event.data
            part = event.fileobj.recv(1 << 20)  # type: ignore[union-attr]
            told += part
            if part:
                continue
            watched.unregister(event.fileobj)
            event.fileobj.close()  # type: ignore[union-attr]
            open_now -= 1
            took.append(time.perf_counter() - started)
            if not told.startswith((b"HTTP/1.1 200", b"HTTP/1.0 200")):
                raise SystemExit(f"not answered: {bytes(told[:300])!r}")
            size = len(told)
    return time.perf_counter() - begun, took, size


def new(many: int) -> list[bytes]:
    return [request("/v1/pieces", demo(next(_numbers))) for _ in range(many)]


def again(many: int) -> list[bytes]:
    return [request("/v1/pieces", demo())] * many


def batch(many: int) -> list[bytes]:
    lines = b"".join(
        b'{"id": %d, "operation": "pieces", "body": %s}\n' % (i, demo(next(_numbers)))
        for i in range(many)
    )
    return [request("/v1/batch", lines, "application/x-ndjson")]


def measured(server: int, port: int, requests: list[bytes], many: int) -> dict[str, Any]:
    before = cpu(server)
    seconds, took, size = ask(port, requests)
    used = cpu(server) - before
    told = {"cpu_us": used / many / 1000, "a_second": many / seconds}
    return {**told, "took": took, "bytes": size}


def engine(runs: int = 25, times: int = 40) -> dict[str, float]:
    """CPU microseconds, in process: marshmallow loading the demo, and the engine sizing it."""
    from service.api.compiled import loader
    from service.api.decoding import decode
    from service.api.piece_requests import PieceRequest
    from service.engine.patterns import piece
    from service.engine.sizing import size

    schema = PieceRequest()
    body = decode(demo())
    order = schema.load(body)
    sides = ("width", "height")
    plain = schema.load(
        {"gauge": body["gauge"], "template": "panel",
         "measurements": dict.fromkeys(sides, body["measurements"]["width"])}
    )  # fmt: skip
    quick = loader(schema)
    work: dict[str, Callable[[], object]] = {
        "marshmallow loads the demo": lambda: schema.load(body),
        "the service loads the demo": lambda: quick(body),
        "counts and schedule of the demo": lambda: size(order),
        "counts of a plain panel": lambda: size(plain),
        "whole answer of the demo": lambda: piece(order),
    }
    least = dict.fromkeys(work, float("inf"))
    for _ in range(runs):
        for name, one in work.items():
            begun = time.process_time()
            for _ in range(times):
                one()
            least[name] = min(least[name], (time.process_time() - begun) / times * 1e6)
    return least


def started(stack: ExitStack) -> dict[str, tuple[int, int]]:
    """The process and the port of what answers each of the table's rows, in its order."""

    def start(command: list[str], port: int, **more: str) -> tuple[int, int]:
        return stack.enter_context(serving(command, port, **more)).pid, port

    ours = start(command("service:create_app()"), free_port())
    _, _, size = ask(ours[1], again(1))
    fixed = {"BENCHMARK_BYTES": str(size)}
    at = {
        "bare": start(command("benchmark_apps:bare"), free_port(), **fixed),
        "floor": start(command("benchmark_apps:floor()"), free_port(), **fixed),
        "new": ours,
        "alone": start(command("service:create_app()"), free_port(), SIZING_SHARED_MEGABYTES="0"),
        "again": ours,
        "batch": ours,
    }
    if all(map(importlib.util.find_spec, ("granian", "msgspec"))):
        port = free_port()
        peer = [sys.executable, "-m", "granian", "--interface", "rsgi", "--port", str(port),
                "--no-ws", "--log-level", "warning", "benchmark_peer:peer"]  # fmt: skip
        at["peer"] = start(peer, port, **fixed, PYTHONPATH="deploy")
    return at


def main() -> None:
    told = argparse.ArgumentParser(description="The service beside what it stands on.")
    told.add_argument("--rounds", type=int, default=7)
    told.add_argument("--requests", type=int, default=400)
    told.add_argument("--json", type=Path)
    asked = told.parse_args()
    many, bodies = asked.requests, {"again": again, "batch": batch}
    with ExitStack() as stack:
        at = started(stack)
        names = [*at]
        for name in names:  # to warm up
            ask(at[name][1], bodies.get(name, new)(50))
        rounds: dict[str, list[dict[str, Any]]] = {name: [] for name in names}
        for turn in range(asked.rounds):
            for name in names[turn % len(names) :] + names[: turn % len(names)]:
                requests = bodies.get(name, new)(many)
                rounds[name].append(measured(*at[name], requests, many))
    rows = {name: _row(each, name) for name, each in rounds.items()}
    in_process = engine()
    report = {"requests": many, "rounds": asked.rounds, "servers": rows, "engine": in_process}
    report["ratios"] = _told(rows, in_process)
    if asked.json:
        asked.json.write_text(json.dumps(report, indent=2) + "\n", encoding="utf-8")


def _row(rounds: list[dict[str, Any]], name: str) -> dict[str, float]:
    row = {key: median(one[key] for one in rounds) for key in ("cpu_us", "a_second")}
    took = [1000 * one for each in rounds for one in each["took"]]
    if name != "batch":
        cuts = quantiles(took, n=100)
        row |= {"p50_ms": cuts[49], "p99_ms": cuts[98]}
    return {**row, "bytes": rounds[-1]["bytes"]}


def _told(rows: dict[str, dict[str, float]], engine: dict[str, float]) -> list[dict[str, Any]]:
    print(f"{'':<10}{'CPU µs':>10}{'a second':>10}{'p50 ms':>9}{'p99 ms':>9}{'bytes':>10}")
    for name, row in rows.items():
        late = "".join(f"{row[p]:>9.2f}" if p in row else f"{'':>9}" for p in ("p50_ms", "p99_ms"))
        print(f"{name:<10}{row['cpu_us']:>10.0f}{row['a_second']:>10.0f}{late}{row['bytes']:>10}")
    print("\nin process, CPU µs (least of many)")
    for name, spent in engine.items():
        print(f"  {name:<34}{spent:>8.1f}")
    load = engine["marshmallow loads the demo"]
    cpu_of = {name: row["cpu_us"] for name, row in rows.items()}
    ratios = [
        ("CPU of new over floor", cpu_of["new"] / cpu_of["floor"], 1.35, True),
        ("CPU of alone over floor", cpu_of["alone"] / cpu_of["floor"], 1.35, True),
        ("requests a second, again over bare",
         rows["again"]["a_second"] / rows["bare"]["a_second"], 0.75, False),
        ("pieces a second, batch over new",
         rows["batch"]["a_second"] / rows["new"]["a_second"], 8, False),
        ("counts of the demo over marshmallow's load",
         engine["counts and schedule of the demo"] / load, 60 / 140, True),
        ("counts of a plain panel over the same",
         engine["counts of a plain panel"] / load, 15 / 140, True),
    ]  # fmt: skip
    print(f"\n{'ratio':<46}{'is':>8}{'should be':>16}")
    for name, ratio, bound, at_most in ratios:
        wanted = f"{'at most' if at_most else 'at least'} {bound:.2f}"
        print(f"{name:<46}{ratio:>8.2f}{wanted:>16}")
    return [
        {"ratio": name, "is": ratio, ("at_most" if at_most else "at_least"): bound}
        for name, ratio, bound, at_most in ratios
    ]


if __name__ == "__main__":
    main()
