"""Three times what it can do, then half of it: what is too much is told so at once, the rest is
answered, and as soon as the rush is over all is.
"""

from __future__ import annotations

from collections import Counter

from .asking import Run, Seen, good, named, quantile
from .findings import Finding, milliseconds
from .trial import Told, capacity, latencies, sender

TIMES, AFTERWARDS = 3.0, 0.5
# Told no at once, and back at once: by those who ask, not by those who wait.
SOON, BACK, GOODPUT = 0.25, 2.0, 0.7
# Answered as when there is no rush.
USUAL = 0.25
SHEDS = (429, 503)


def recovery(seen: Seen, rush: float) -> float:
    """Seconds from the end of the rush to the last question that was told no or waited long; 0
    where none was."""
    bad = [at - rush for at, took, how in seen.within(rush) if not good(how) or took > USUAL]
    return max(bad, default=0.0)


def trial(told: Told) -> list[Finding]:
    asked = told.asked()
    rush, calm = told.seconds, max(2.0, told.seconds / 2)
    with told.standing() as stand:
        most, findings = capacity(told, stand, asked)
        phases = [(rush, TIMES * most), (calm, AFTERWARDS * most)]
        with Run(stand.port, asked, phases) as run:
            seen = run.seen()
        there = stand.all_there()
    during = seen.within(0, rush)
    ended = Counter(how for _, _, how in during)
    shed = [took for _, took, how in during if how in SHEDS]
    goodput = sum(n for how, n in ended.items() if good(how)) / rush
    others = Counter({how: n for how, n in ended.items() if not good(how) and how not in SHEDS})
    back = recovery(seen, rush)
    late = seen.within(rush + calm / 2)
    failing = Counter(how for _, _, how in late if not good(how))
    return [
        *findings,
        Finding("asked a second in the rush", f"{len(during) / rush:,.0f}"),
        Finding("told 429 or 503", named(Counter({h: ended[h] for h in SHEDS if ended[h]})),
                "some", bool(shed)),
        Finding("failed in any other way", named(others), "none", not others),
        Finding("p50 of being told so", milliseconds(quantile(shed, 0.5))),
        Finding("p99 of being told so", milliseconds(quantile(shed, 0.99)),
                f"under {milliseconds(SOON)}", quantile(shed, 0.99) < SOON, timed=True),
        Finding("answered a second in the rush",
                f"{goodput:,.0f} ({goodput / most:.0%} of capacity)",
                f"{GOODPUT:.0%} or more", goodput >= GOODPUT * most, timed=True),
        *latencies(seen.times(0, rush), "answered in the rush, "),
        Finding(f"back to all answered within {milliseconds(USUAL)}", f"{back:.2f} s",
                f"under {BACK:.0f} s", back < BACK, timed=True),
        Finding("failed in the second half of the calm", named(failing), "none", not failing,
                timed=True),
        *latencies(seen.times(rush + calm / 2), "in the second half of the calm, "),
        Finding("answered wrongly", seen.wrong, "0", seen.wrong == 0),
        Finding("workers all there", "yes" if there else "no", "yes", there),
        sender(seen),
    ]  # fmt: skip
