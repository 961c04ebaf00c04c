"""The clock set a day on, back, a day back and right again while asked: nobody notices.

libfaketime gives nginx and gunicorn another clock than the machine's; the monotonic one goes on, as
it does when a real clock is set.
"""

from __future__ import annotations

import os
import socket
import time
from email.utils import parsedate_to_datetime
from pathlib import Path

from .asking import Run
from .findings import Finding
from .serving import How
from .trial import Told, capacity, latencies, none_failed, sender

SHARE, DAY = 0.5, 86_400
JUMPS = (DAY, 0, -DAY, 0)
LIBRARY = "faketime/libfaketime.so.1"
_GET = b"GET /livez HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"


def library() -> Path:
    """Raises RuntimeError where it is not installed."""
    for folder in (Path("/usr/lib"), Path("/usr/local/lib")):
        for found in (*folder.glob(LIBRARY), *folder.glob(f"*/{LIBRARY}")):
            return found
    raise RuntimeError("libfaketime is not installed: apt-get install faketime")


def off(sock: socket.socket, at: object) -> float:
    """By how many seconds the Date that is told there is off the machine's clock."""
    with sock:
        sock.settimeout(10)
        sock.connect(at)  # type: ignore[arg-type]
        sock.sendall(_GET)
        told = b""
        while part := sock.recv(65536):
            told += part
    (date,) = (line for line in told.decode().split("\r\n") if line.lower().startswith("date: "))
    return parsedate_to_datetime(date[6:]).timestamp() - time.time()


def trial(told: Told) -> list[Finding]:
    asked, preload = told.asked(), library()
    seen_off: list[tuple[int, float, float]] = []
    # Not below the stand's folder, which is not there yet.
    file = Path("/dev/shm") / f"trial-clock-{os.getpid()}"
    file.write_text("+0\n")
    how = How(environment={
        "LD_PRELOAD": str(preload), "FAKETIME_TIMESTAMP_FILE": str(file),
        "FAKETIME_NO_CACHE": "1", "FAKETIME_DONT_FAKE_MONOTONIC": "1",
        "DONT_FAKE_MONOTONIC": "1", "NO_FAKE_STAT": "1", "FAKETIME_DISABLE_SHM": "1",
        "PYTHONPATH": str(Path(__file__).parent / "clocked"),
    })  # fmt: skip
    try:
        with told.standing(how, how) as stand:
            before = set(stand.workers())
            most, findings = capacity(told, stand, asked)
            with Run(stand.port, asked, [(told.seconds, SHARE * most)]) as run:
                for jump in JUMPS:
                    time.sleep(told.seconds / (len(JUMPS) + 1))
                    file.write_text(f"{jump:+d}\n")
                    time.sleep(0.3)
                    behind = socket.socket(socket.AF_UNIX), str(stand.servers[0].socket)
                    front = socket.socket(), ("127.0.0.1", stand.port)
                    seen_off.append((jump, off(*behind), off(*front)))
                seen = run.seen()
            stayed = before == set(stand.workers())
    finally:
        file.unlink()
    jumped = all(abs(one - jump) < 5 for jump, *both in seen_off for one in both)
    days = ", ".join(
        " and ".join(f"{round(one / DAY, 1) + 0:+.1f}" for one in both) for _, *both in seen_off
    )
    return [
        *findings,
        Finding("days that the service and nginx were off", days, "+1, 0, -1, 0", jumped),
        *none_failed(seen),
        *latencies(seen.times()),
        Finding("workers as before", "yes" if stayed else "no", "yes", stayed),
        sender(seen),
    ]
