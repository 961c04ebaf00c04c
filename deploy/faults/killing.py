"""Workers killed one after another while asked: a client that keeps the rule gets every answer."""

from __future__ import annotations

import os
import signal
import time
from contextlib import suppress
from random import Random

from .asking import Run, named
from .findings import Finding
from .serving import until
from .trial import Told, capacity, latencies, none_failed, sender

SHARE, EVERY = 0.5, 3.0


def trial(told: Told) -> list[Finding]:
    asked, chance, killed = told.asked(), Random(11), 0
    every = min(EVERY, told.seconds / 4)
    with told.standing() as stand:
        most, findings = capacity(told, stand, asked)
        with Run(stand.port, asked, [(told.seconds, SHARE * most)], retry=True) as run:
            end = run.began + told.seconds
            while run.going() and time.perf_counter() + every < end:
                time.sleep(every)
                workers = stand.workers()
                if workers:
                    with suppress(ProcessLookupError):
                        os.kill(chance.choice(workers), signal.SIGKILL)
                        killed += 1
            seen = run.seen()
        until(stand.all_there, "workers to be there again")
        # What the workers that are gone leave behind in shared memory.
        left = sum(1 for _ in stand.counts())
        with Run(stand.port, asked, [(1.0, 20.0)]) as run:
            afterwards = run.seen()
    return [
        *findings,
        Finding("workers killed (SIGKILL)", killed, "some", killed > 0),
        *none_failed(seen, rule=True),
        Finding("failed so, for each killed", f"{seen.raw.total() / max(1, killed):.1f}"),
        *latencies(seen.times()),
        Finding("files of counts, afterwards", left),
        Finding("failed afterwards", named(afterwards.failed), "none", not afterwards.failed),
        sender(seen),
    ]  # fmt: skip
