"""Replaced while asked: workers 20 times by SIGHUP; then two servers, one after the other."""

from __future__ import annotations

import signal
import time

from .asking import Run, Seen
from .findings import Finding
from .questions import Questions, questions
from .serving import Stand, standing, until
from .trial import Told, capacity, latencies, none_failed, sender

SHARE, TIMES = 0.5, 20


def reloaded(stand: Stand, asked: Questions, rate: float, seconds: float) -> tuple[Seen, int]:
    """All servers told to reload, spread over the time, and how often."""
    times = 0
    with Run(stand.port, asked, [(seconds, rate)], retry=True) as run:
        for _ in range(TIMES):
            time.sleep(seconds / (TIMES + 1))
            if not run.going():
                break
            for server in stand.servers:
                server.process.send_signal(signal.SIGHUP)  # type: ignore[union-attr]
            times += 1
        seen = run.seen()
    until(stand.all_there, "workers to be there again")
    return seen, times


def restarted(stand: Stand, asked: Questions, rate: float, seconds: float) -> tuple[Seen, int]:
    """Each server ended by SIGTERM and started again, when the one before answers again."""
    times, pause = 0, seconds / (4 * len(stand.servers))
    with Run(stand.port, asked, [(seconds, rate)], retry=True) as run:
        while run.going():
            time.sleep(pause)
            if time.perf_counter() > run.began + seconds - pause:
                break
            server = stand.servers[times % len(stand.servers)]
            server.stop()
            time.sleep(pause)
            server.start()
            times += 1
        return run.seen(), times


def trial(told: Told) -> list[Finding]:
    asked, findings = questions(), []
    for servers, replaced, when, least in (
        (told.servers, reloaded, "SIGHUP: ", TIMES),
        (max(2, told.servers), restarted, "restarted in turn: ", 2),
    ):
        with standing(servers, told.workers) as stand:
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
