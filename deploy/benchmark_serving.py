"""How long the service takes to start, the memory of a worker, and answers a second by workers.

python deploy/benchmark_serving.py [SECONDS]   (from the repository root; 8 seconds a run)

The starts are from the command to the first 200. Throughput is of whole projects, each never asked
before, over kept connections straight to gunicorn, two at a time for each worker. A project takes
the worker so much longer than it takes who asks that the cores are the workers' own: answers a
second should then grow as the workers do, and answers a second of the workers' CPU time stay level,
which says that they do not hold each other up. Nothing is judged here.
"""

from __future__ import annotations

import json
import os
import re
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from itertools import count
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from deploy.starting import free_port, gunicorn  # noqa: E402  (from a clone)
from service.api.processes import children  # noqa: E402

KIT = json.loads((ROOT / "openapi/examples/projects/field-sketching-kit.request.json").read_bytes())
STARTS = 11
_numbers = count()
TICKS = os.sysconf("SC_CLK_TCK")


def get(port: int, path: str) -> str:
    connection = HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("GET", path)
    with connection.getresponse() as response:
        text = response.read().decode()
        if response.status != 200:
            raise OSError(text)
    connection.close()
    return text


def cpu(pid: int) -> float:
    """Seconds of CPU time that a process has had."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


@contextmanager
def serving(workers: int) -> Iterator[tuple[int, int, float]]:
    """The port, the server's process id, and the seconds until it answered."""
    port = free_port()
    command = gunicorn("--log-level", "warning")
    more = {"PORT": str(port), "WORKERS": str(workers), "ACCESS_LOG": "off"}
    # As an installed package has it: compiled once, by the first of the starts.
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | more
    began = time.perf_counter()
    with subprocess.Popen(command, cwd=ROOT, env=environment) as server:
        try:
            while True:
                try:
                    get(port, "/readyz")
                    break
                except OSError:
                    time.sleep(0.002)
            yield port, server.pid, time.perf_counter() - began
        finally:
            server.terminate()


def project() -> bytes:
    """The kit with a margin of yarn that no other question has: none is answered from before."""
    yarn = {**KIT["yarn"], "margin_percent": next(_numbers) / 1000}
    return json.dumps({**KIT, "yarn": yarn}).encode()


def ask(port: int, until: float, answered: list[int]) -> None:
    connection = HTTPConnection("127.0.0.1", port, timeout=30)
    number = 0
    while time.perf_counter() < until:
        connection.request("POST", "/v1/projects", project(), {"Content-Type": "application/json"})
        with connection.getresponse() as response:
            response.read()
            if response.status != 200:
                raise SystemExit(f"not answered: {response.status}")
            number += 1
    answered.append(number)


def main(seconds: float) -> None:
    walls, cpus = [], []
    for _ in range(STARTS):
        with serving(2) as (_, server, took):
            walls.append(took)
            cpus.append(cpu(server))
    print(f"start: median {statistics.median(walls):.2f} s, least {min(walls):.2f} s;"
          f" CPU of the first process {min(cpus):.2f} s at least")  # fmt: skip
    print("load while measured:", *(f"{value:.1f}" for value in os.getloadavg()))
    for workers in (1, 2):
        with serving(workers) as (port, server, _):
            answered: list[int] = []
            before = sum(map(cpu, children(server)))
            until = time.perf_counter() + seconds
            asking = [
                threading.Thread(target=ask, args=(port, until, answered))
                for _ in range(2 * workers)
            ]
            for thread in asking:
                thread.start()
            for thread in asking:
                thread.join()
            spent = sum(map(cpu, children(server))) - before
            total = sum(answered)
            busy = spent / seconds / workers
            print(f"{workers} workers: {total / seconds:,.1f} projects a second,"
                  f" {total / spent:,.1f} a second of their CPU time;"
                  f" {busy:.0%} of their cores' time was theirs")  # fmt: skip
            for kind in ("resident", "proportional"):
                sizes = re.findall(rf'memory_bytes{{kind="{kind}".*}} (\S+)', get(port, "/metrics"))
                told = ", ".join(f"{float(size) / 2**20:.0f}" for size in sizes)
                print(f"  {kind} memory, MiB a worker: {told}")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 8)
