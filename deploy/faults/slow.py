"""500 clients that send a byte a second, beside others: these wait no longer for it.

nginx ends a header that is not there in 10 s (PATIENCE). A body it cannot end, since its timeout is
between two reads: each holds a connection of nginx's, of which one client may have only so many
(AT_ONCE), and never one of the service's.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

from .asking import Run, quantile
from .findings import Finding, milliseconds
from .trial import Told, capacity, latencies, none_failed, sender

SHARE, MANY = 0.5, 500
# As deployed, and what a busy machine may add. A trial too short to see that has less patience.
PATIENCE, MORE = 10, 3.0
# Of p99 alone; below that the machine's own noise is more than what is looked for.
TIMES, LEAST = 2.0, 0.05


def trial(told: Told) -> list[Finding]:
    asked = told.asked()
    patience = min(PATIENCE, max(1, int(told.seconds / 3)))
    # Long enough that those in the header are ended.
    seconds = max(told.seconds, patience + 1.5)
    with told.standing(PATIENCE=str(patience)) as stand:
        most, findings = capacity(told, stand, asked)
        with Run(stand.port, asked, [(told.seconds / 2, SHARE * most)]) as run:
            alone = run.seen()
        command = [sys.executable, str(Path(__file__).parent / "slowly.py"), str(stand.port),
                   str(MANY), str(seconds)]  # fmt: skip
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as slow:
            assert slow.stdout
            slow.stdout.readline()
            try:
                with Run(stand.port, asked, [(seconds, SHARE * most)]) as run:
                    time.sleep(patience / 2)
                    # With a server are those that it works at: the slow ones are not.
                    held = stand.connections()
                    beside = run.seen()
                tells = json.loads(slow.stdout.read())
            finally:
                slow.terminate()
        there = stand.all_there()
    before, after = (quantile(seen.times(), 0.99) for seen in (alone, beside))
    bound = max(TIMES * before, LEAST)
    headers, bodies = tells["ended"]["header"], tells["ended"]["body"]
    last = max(headers, default=float("inf"))
    cut = len(headers) == MANY // 2
    return [
        *findings,
        Finding("slow clients", tells["connected"], f"{MANY}", tells["connected"] == MANY),
        Finding("those in the header, ended by nginx",
                f"{len(headers)}, the last after {last:.1f} s",
                f"all in {patience + MORE:.0f} s", cut and last < patience + MORE, timed=True),
        Finding("those in the body, ended by nginx", f"{len(bodies)} of {MANY // 2}"),
        Finding("connections with the service, 500 being slow", held, "under 100", held < 100),
        *none_failed(beside, "beside them, "),
        *latencies(alone.times(), "without them, "),
        *latencies(beside.times(), "beside them, "),
        Finding("p99 beside them", milliseconds(after), f"at most {milliseconds(bound)}",
                after <= bound, timed=True),
        Finding("workers all there", "yes" if there else "no", "yes", there),
        sender(beside),
    ]  # fmt: skip
