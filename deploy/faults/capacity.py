"""How much is answered at most, and how long answers take below that."""

from __future__ import annotations

from .asking import Run
from .findings import Finding
from .trial import Told, capacity, latencies, none_failed, sender

SHARES = (0.25, 0.5, 0.8)


def trial(told: Told) -> list[Finding]:
    asked = told.asked()
    with told.standing() as stand:
        most, findings = capacity(told, stand, asked)
        seconds = told.seconds / len(SHARES)
        for share in SHARES:
            with Run(stand.port, asked, [(seconds, share * most)]) as run:
                seen = run.seen()
            when = f"at {share:.0%}, "
            findings += none_failed(seen, when) + latencies(seen.times(), when)
        findings.append(sender(seen))
    return findings
