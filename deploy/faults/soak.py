"""80 % of capacity for long: no question fails, and nothing grows."""

from __future__ import annotations

import os
from collections import Counter

from service.api import answer_cache, sharing

from .asking import Run
from .findings import Finding
from .trial import Told, capacity, latencies, none_failed, sender
from .watching import EVERY, Life, Watch, slope

SHARE = 0.8
# Judged is the last third, three minutes and more, and from when the workers' stores are full: what
# a fork shares at first is touched page by page, and that takes its time.
LEAST, WARMING = 180.0, 2 / 3
FULL = (
    0.95
    * 2**20
    * sum(
        int(os.environ.get(store.SETTING) or store.USUAL_MEGABYTES)
        for store in (answer_cache, sharing)
    )
)
MOST_A_MINUTE = 0.005
# Connections come and go with the load; those of a leak stay, and so the fewest there are grow.
MOST_DESCRIPTORS = 4


def together(lives: list[Life], start: float, end: float) -> list[int]:
    """Descriptors of all of them, sample by sample."""
    total: Counter[float] = Counter()
    for life in lives:
        for at, descriptors in zip(life.at, life.descriptors, strict=True):
            if start <= at <= end:
                total[at] += descriptors
    return [total[at] for at in sorted(total)]


def growth(lives: list[Life], seconds: float, full: float | None) -> list[Finding]:
    """By each process: descriptors and memory, and by how much they grew over so many seconds, the
    workers' stores being full from one of them on (or never)."""
    findings = []
    start = max(WARMING * seconds, full or 0)
    judged = full is not None and seconds - start >= LEAST
    for name in dict.fromkeys(life.name for life in lives):
        # Of all of one kind together: a connection that goes to another of them is no leak.
        alike = [life for life in lives if life.name == name]
        descriptors = together(alike, start, seconds)
        if len(descriptors) < 2:
            continue
        half = len(descriptors) // 2
        more = min(descriptors[half:]) - min(descriptors[:half])
        first = sum(life.descriptors[0] for life in alike)
        told = f"{first}, then {min(descriptors)} to {max(descriptors)}"
        findings.append(
            Finding(f"{name}: descriptors" + (f" of all {len(alike)}" if len(alike) > 1 else ""),
                    f"{told}, the fewest {more:+}",
                    f"the fewest under {MOST_DESCRIPTORS:+}", more < MOST_DESCRIPTORS,
                    timed=seconds < LEAST)
        )  # fmt: skip
    for life in lives:
        at, resident = life.within(start, seconds, life.resident)
        if len(at) < 2:
            continue
        a_minute = slope(at, resident) * 60 / resident[-1]
        told = ", ".join(f"{size / 2**20:.1f}" for size in (life.resident[0], resident[-1]))
        findings.append(
            Finding(f"{life.name}: MiB resident, first and last",
                    f"{told} ({life.share[-1] / 2**20:.1f} its share), {a_minute:+.2%} a minute",
                    f"under {MOST_A_MINUTE:.1%} a minute" if judged else "(too short to judge)",
                    a_minute < MOST_A_MINUTE if judged else None)
        )  # fmt: skip
    return findings


def trial(told: Told) -> list[Finding]:
    asked = told.asked()
    with told.standing() as stand:
        most, findings = capacity(told, stand, asked)
        every = min(EVERY, told.seconds / 8)
        with (
            Run(stand.port, asked, [(told.seconds, SHARE * most)]) as run,
            Watch(stand, every) as watch,
        ):
            seen = run.seen()
        watch.counted_from(seen.began)
    findings += none_failed(seen) + latencies(seen.times()) + [sender(seen)]
    lives = [*watch.lives.values()]
    workers = sum(life.name.endswith("worker") and life.name[0] == "s" for life in lives)
    replaced = workers - told.servers * told.workers
    most_kept = told.servers * told.workers * FULL
    full = next((at for at, size in watch.kept if size >= most_kept), None)
    kept = f"{watch.kept[-1][1] / 2**20:.0f} MiB" if watch.kept else "nothing"
    findings.append(Finding("kept by the workers at last", kept))
    when = "never: too short to judge memory" if full is None else f"after {full:.0f} s"
    findings.append(Finding("the workers' stores were full", when))
    findings += growth(lives, told.seconds, full)
    findings.append(Finding("workers replaced", replaced, "0", replaced == 0))
    return findings
