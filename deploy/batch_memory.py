"""One batch of many lines, and the memory of the worker that answers it (Linux).

python deploy/batch_memory.py [LINES]   (from the repository root; 1,000,000 when left out)

Starts a gunicorn of one worker on a free port with its own configuration, sends the lines in one
chunked request, reads the answers meanwhile, and shows the worker's resident memory, how far the
sender was ahead, and lines a second. Nothing is judged here.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from deploy.starting import free_port, gunicorn  # noqa: E402  (from a clone)
from service.api.processes import children, memory_of  # noqa: E402

TOGETHER = 50  # lines in one chunk


def line(number: int) -> bytes:
    body = {"from": 38 + number % 40, "to": 20, "rows": 40 + number % 60}
    return json.dumps({"id": number, "operation": "shaping", "body": body}).encode() + b"\n"


def resident(process: int) -> int:
    """Resident memory of a process in KiB."""
    return memory_of(process)["resident"] // 1024


@dataclass
class Seen:
    memory: dict[int, int] = field(default_factory=dict)  # KiB after so many answers
    most_ahead: int = 0
    sent: int = 0
    answered: int = 0
    end: str = ""


def ask(port: int, lines: int, worker: int, every: int) -> Seen:
    """Send the lines in one batch, reading meanwhile, and watch the worker."""
    seen = Seen()
    connection = HTTPConnection("127.0.0.1", port, timeout=60)
    connection.putrequest("POST", "/v1/batch")
    connection.putheader("Content-Type", "application/x-ndjson")
    connection.putheader("Transfer-Encoding", "chunked")
    connection.endheaders()
    out = connection.sock.dup()  # http.client closes its own once it has seen the answer's headers

    def send() -> None:
        for first in range(0, lines, TOGETHER):
            numbers = range(first, min(first + TOGETHER, lines))
            text = b"".join(map(line, numbers))
            out.sendall(b"%x\r\n%s\r\n" % (len(text), text))
            seen.sent = numbers.stop
            seen.most_ahead = max(seen.most_ahead, seen.sent - seen.answered)
        out.sendall(b"0\r\n\r\n")

    sender = threading.Thread(target=send)
    sender.start()
    with connection.getresponse() as response:
        while answer := response.readline():
            if not answer.startswith(b'{"id": %d,' % seen.answered):
                seen.end += answer.decode()
                continue
            seen.answered += 1
            if seen.answered % every == 0:
                seen.memory[seen.answered] = resident(worker)
    sender.join()
    out.close()
    connection.close()
    return seen


def main(lines: int) -> None:
    port = free_port()
    command = gunicorn("--log-level", "warning")
    environment = {**os.environ, "PORT": str(port), "WORKERS": "1"}
    with subprocess.Popen(command, cwd=ROOT, env=environment) as server:
        try:
            for _ in range(100):
                try:
                    socket.create_connection(("127.0.0.1", port)).close()
                    break
                except OSError:
                    time.sleep(0.1)
            ask(port, 1000, server.pid, 1000)  # to warm up; by then the worker is there
            (worker,) = children(server.pid)
            before, start = resident(worker), time.monotonic()
            seen = ask(port, lines, worker, max(1, lines // 10))
            took = time.monotonic() - start
            print(f"{'lines':>12} {'resident KiB':>14}\n{0:>12,} {before:>14,}")
            for answered, memory in seen.memory.items():
                print(f"{answered:>12,} {memory:>14,}")
            print(f"the sender was at most {seen.most_ahead:,} lines ahead of the answers")
            print(
                f"{seen.answered:,} answers in {took:.0f} s: {seen.answered / took:,.0f} a second"
            )
            print(seen.end, end="")
        finally:
            server.terminate()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
