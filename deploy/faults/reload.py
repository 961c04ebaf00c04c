"""Replaced while asked: workers 20 times by SIGHUP; then two servers, one after the other."""

from __future__ import annotations

import signal
import time
from dataclasses import replace

from .asking import Run, Seen
from .findings import Finding
from .questions import Questions
from .serving import Stand, until
from .trial import Told, capacity, latencies, none_failed, sender

SHARE, TIMES, APART = 0.5, 20, 0.5


def often(seconds: float) -> int:
    """How often in that time: with some time between, so that each is a reload of its own."""
    return min(TIMES, int(seconds / APART))


def reloaded(stand: Stand, asked: Questions, rate: float, seconds: float) -> tuple[Seen, int]:
    """All servers told to reload, spread over the time, and how often."""
    times, most = 0, often(seconds)
    with Run(stand.port, asked, [(seconds, rate)], retry=True) as run:
        for _ in range(most):
            time.sleep(seconds / (most + 1))
            if not run.going():
                break
            for server in stand.servers:
                server.process.send_signal(signal.SIGHUP)  # type: ignore[union-attr]
            times += 1
        seen = run.seen()
    until(stand.all_there, "workers to be there again")
    return seen, times


def restarted(stand: Stand, asked: Questions, rate: float, seconds: float) -> tuple[Seen, int]:
    """Each server ended by SIGTERM and started again when the one before answers again: each once,
    and over again for as long as there is time."""
    times, many = 0, len(stand.servers)
    pause = seconds / (4 * many)
    with Run(stand.port, asked, [(60 + 10 * seconds, rate)], retry=True) as run:
        while times < many or time.perf_counter() < run.began + seconds:
            time.sleep(pause)
            server = stand.servers[times % many]
            server.stop()
            time.sleep(pause)
            server.start()
            times += 1
        time.sleep(pause)
        run.end()
        return run.seen(), times


def trial(told: Told) -> list[Finding]:
    asked, findings = told.asked(), []
    for servers, replaced, when, least in (
        (told.servers, reloaded, "SIGHUP: ", often(told.seconds / 2)),
        (max(2, told.servers), restarted, "restarted in turn: ", 2),
    ):
        with replace(told, servers=servers).standing() as stand:
            before = set(stand.workers())
            most, found = capacity(told, stand, asked)
            seen, times = replaced(stand, asked, SHARE * most, told.seconds / 2)
            stayed = len(before & set(stand.workers()))
        findings += [
            *found,
            Finding(f"{when}times", times, f"{least} or more", times >= least),
            Finding(f"{when}workers that were there before", stayed, "0", stayed == 0),
            *none_failed(seen, when, rule=True, first=True),
            *latencies(seen.times(), when),
            sender(seen),
        ]
    return findings
