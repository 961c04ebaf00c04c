"""What all trials have in common."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path

from .asking import Seen, capacity_of, named, quantile, saturated
from .findings import Finding, milliseconds
from .load import WRONG
from .questions import MANY, Questions, questions
from .serving import How, Stand, standing


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
    """Answers a second that the stand can give, measured on it unless it was told."""
    if told.capacity is not None:
        return told.capacity, [Finding("capacity, told", f"{told.capacity:,.0f} a second")]
    seen = saturated(stand.port, asked, told.measure)
    found = capacity_of(seen, told.measure)
    return found, [
        Finding("capacity, answers a second", f"{found:,.0f}"),
        *none_failed(seen, "while it was measured, "),
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
