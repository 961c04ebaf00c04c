"""No room for a log line: all is answered, and where there is room again lines are whole again.

First everything that nginx and gunicorn log goes to a device that is full from the start. Then it
goes to a small disk that is filled, nginx's own folder being there too, and has room again later.
"""

from __future__ import annotations

import json
import time
from pathlib import Path

from .apart import UNPRIVILEGED, fill, small_disk
from .asking import Run
from .disturbing import disturb
from .findings import Finding
from .questions import Questions
from .serving import How, Stand
from .trial import Told, capacity, latencies, none_failed, sender

SHARE, FULL, KILOBYTES = 0.5, Path("/dev/full"), 4096


def lines_of(text: str) -> tuple[int, int]:
    """How many lines of requests there are, and how many that are not whole.

    >>> lines_of('{"method": "GET"}\\nworker started\\n{"method": "G{"method": "GET"}\\n')
    (1, 1)
    """
    whole = cut = 0
    for line in text.split("\n")[:-1]:
        try:
            whole += "method" in json.loads(line)
        except (ValueError, TypeError):
            cut += '"method"' in line
    return whole, cut


def under_load(
    stand: Stand, asked: Questions, rate: float, seconds: float, when: str
) -> list[Finding]:
    """Asked for so long, one worker being killed and the others replaced."""
    with Run(stand.port, asked, [(seconds, rate)], retry=True) as run:
        time.sleep(seconds / 4)
        replaced = disturb(stand, seconds / 8)
        seen = run.seen()
    return [
        *none_failed(seen, when, rule=True),
        *latencies(seen.times(), when),
        Finding(f"{when}workers replaced when told", replaced, "True", replaced),
        sender(seen),
    ]


def trial(told: Told) -> list[Finding]:
    asked, seconds = told.asked(), told.seconds / 3
    how = How(UNPRIVILEGED, out=FULL)
    with told.standing(how, how) as stand:
        rate, findings = capacity(told, stand, asked)
        rate *= SHARE
        findings += under_load(stand, asked, rate, seconds, "full from the start: ")
    with small_disk(KILOBYTES) as logs:
        how = How(UNPRIVILEGED, out=logs)
        state = logs / "state"
        state.mkdir()
        with told.standing(how, how, STATE=str(state)) as stand:
            ballast = fill(logs)
            findings += under_load(stand, asked, rate, seconds, "filled: ")
            ballast.unlink()
            before = {file: file.stat().st_size for file in logs.iterdir()}
            with Run(stand.port, asked, [(seconds, min(rate, 50.0))]) as run:
                seen = run.seen()
            findings += none_failed(seen, "with room again: ")
            for file in (stand.servers[0].out, logs / "access.log"):
                with file.open("rb") as log:
                    log.seek(before[file])
                    whole, cut = lines_of(log.read().decode(errors="replace"))
                # One line may have been begun when the room ended.
                findings.append(
                    Finding(f"with room again: lines in {file.name}", f"{whole}, {cut} not whole",
                            "some, at most 1 not whole", whole > 0 and cut <= 1)
                )  # fmt: skip
    return findings
