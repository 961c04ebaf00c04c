"""What all trials have in common."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path

from .asking import Run, Seen, capacity_of, named, quantile, saturated
from .findings import Finding, milliseconds
from .load import WRONG
from .questions import MANY, Questions, questions
from .serving import How, Stand, standing

SHARES = (0.95, 0.85, 0.75, 0.65, 0.55, 0.45)
WAITS = 0.25
"""Seconds that one in a hundred may take where a load is kept up."""


@dataclass(frozen=True)
class Told:
    """How a trial is to be made."""

    seconds: float
    servers: int = 1
    workers: int = 2
    capacity: float | None = None
    measure: float = 15
    many: int = MANY
    settings: Mapping[str, str] = field(default_factory=dict)

    def asked(self) -> Questions:
        return questions(self.many)

    def standing(
        self,
        server: How | None = None,
        proxy: How | None = None,
        folder: Path | None = None,
        **more: str,
    ) -> AbstractContextManager[Stand]:
        settings = {**more, **self.settings}
        return standing(self.servers, self.workers, server, proxy, folder, **settings)


def capacity(told: Told, stand: Stand, asked: Questions) -> tuple[float, list[Finding]]:
    """Answers a second that the stand can give, measured on it unless it was told.

    First what it can do with always something to do; then, by a schedule as callers have it, the
    most of that which is kept up without a refusal, and with few that wait: that is the capacity.
    Kept up for long: what comes one by one takes more of the machine than what is always there, and
    a queue that grows slowly is not seen in a moment.
    """
    if told.capacity is not None:
        return told.capacity, [Finding("capacity, told", f"{told.capacity:,.0f} a second")]
    seconds = told.measure / 2
    seen = saturated(stand.port, asked, seconds)
    found = most = capacity_of(seen, seconds)
    findings = none_failed(seen, "while it was measured, ")
    for share in SHARES:
        found = share * most
        with Run(stand.port, asked, [(2 * told.measure, found)]) as run:
            seen = run.seen()
        if not seen.failed and quantile(seen.times(), 0.99) < WAITS:
            break
    return found, [
        Finding("answers a second with always something to do", f"{most:,.0f}"),
        *findings,
        Finding("capacity: kept up by schedule, answers a second", f"{found:,.0f}"),
    ]


def none_failed(
    seen: Seen, when: str = "", rule: bool = False, first: bool = False
) -> list[Finding]:
    """That every question was answered, rightly: by clients that keep the rule for asking again,
    if they do; and when it was first asked, if that is wanted too."""
    findings = [Finding(f"{when}asked", f"{len(seen.all):,}", "some", len(seen.all) > 0)]
    if rule:
        wanted, holds = ("none", not seen.raw) if first else ("", None)
        findings.append(Finding(f"{when}failed when first asked", named(seen.raw), wanted, holds))
    failed = seen.failed
    del failed[WRONG]  # told below
    what = f"{when}failed, the rule kept" if rule else f"{when}failed"
    findings.append(Finding(what, named(failed), "none", not failed))
    wrong = f"{seen.wrong}" + (f": {seen.wrongs[0]}" if seen.wrongs else "")
    findings.append(Finding(f"{when}answered wrongly", wrong, "0", seen.wrong == 0))
    return findings


def latencies(times: Sequence[float], when: str = "") -> list[Finding]:
    return [
        Finding(f"{when}{name}", milliseconds(quantile(times, part)))
        for name, part in (("p50", 0.5), ("p99", 0.99), ("p99.9", 0.999))
    ]


def sender(seen: Seen) -> Finding:
    """How far the sender kept its own schedule: what it was late by is in the times above."""
    return Finding(
        "the sender itself",
        f"late by {milliseconds(quantile(seen.late, 0.99))} (p99),"
        f" {100 * seen.cpu / seen.seconds:.0f} % of a core",
    )
