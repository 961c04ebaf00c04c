"""The service as it is deployed, under load and under faults: a trial a name (Linux, nginx).

python deploy/trials.py TRIAL [--minutes N] [--servers N] [--workers N] [--capacity N]
                              [--measure SECONDS] [--questions N] [--set NAME=VALUE]
                              [--json FILE]                     (from the repository root)

All is on loopback, started here and ended here: nginx by deploy/nginx_conf.py before gunicorn by
deploy/gunicorn.conf.py, logs and limits as deployed. What asks runs beside it in a process of its
own (deploy/faults/load.py) and checks every answer; it takes part of the same cores, so capacity is
what can be answered with it there. Each trial measures that first (see --measure), unless
--capacity tells it. A table is printed, and the exit code is 1 where something that is judged does
not hold: then the table says NO.

TRIALS
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from importlib import import_module
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from faults.apart import go_apart
from faults.findings import plain, table
from faults.questions import MANY
from faults.trial import Told

# Name, module, minutes unless told otherwise, and what it does.
TRIALS = {
    "capacity": ("capacity", 0.5, "answers a second at most, and p50 and p99 by share of that"),
    "soak": ("soak", 10, "80 % of capacity: no error, p99; descriptors and memory flat"),
    "overload": ("overload", 0.5, "3 x capacity, then half: 503 or 429 at once, and back at once"),
    "killing": ("killing", 1, "a worker killed each 3 s at half of capacity; the rule kept"),
    "reload": ("reload", 4, "SIGHUP 20 times at half of capacity; two servers restarted in turn"),
    "slow": ("slow", 0.5, "500 clients that send a byte a second, beside half of capacity"),
    "clock": ("clock", 0.5, "the clock set a day on and back while asked (libfaketime)"),
    "full-disk": (
        "full_disk",
        0.5,
        "no room for logs from the start; later none for kept answers either",
    ),
    "read-only": ("read_only", 0.5, "no file can be written but where the deployment says"),
}
# These mount, and so are made where their mounts are nobody else's.
APART = {"full-disk", "read-only"}


def main() -> None:
    names = "\n".join(
        f"{name:<10} {minutes:>4} min  {does}" for name, (_, minutes, does) in TRIALS.items()
    )
    asked = argparse.ArgumentParser(
        description=(__doc__ or "").replace("TRIALS\n", names),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    asked.add_argument("trial", choices=TRIALS)
    asked.add_argument("--minutes", type=float, help="how long; see the list above")
    asked.add_argument("--servers", type=int, default=1, help="gunicorns behind nginx (1)")
    asked.add_argument("--workers", type=int, default=2, help="workers of each (2)")
    asked.add_argument("--capacity", type=float, help="answers a second, if known")
    asked.add_argument(
        "--measure",
        type=float,
        default=15,
        help="half of that is spent on the most, twice that on each rate that may be kept up (15)",
    )
    asked.add_argument("--questions", type=int, default=MANY, help="asked again and again (300)")
    asked.add_argument("--set", action="append", default=[], metavar="NAME=VALUE",
                       help="a setting of nginx_conf.py that is not as deployed")  # fmt: skip
    asked.add_argument("--json", type=Path, help="where findings go as JSON, too")
    told = asked.parse_args()
    if told.trial in APART:
        go_apart()
    module, usual, does = TRIALS[told.trial]
    minutes = usual if told.minutes is None else told.minutes
    print(f"{told.trial}: {does}\nload of the machine: {os.getloadavg()[0]:.1f}", flush=True)
    settings = dict(one.split("=", 1) for one in told.set)
    given = Told(minutes * 60, told.servers, told.workers, told.capacity, told.measure,
                 told.questions, settings)  # fmt: skip
    findings = import_module(f"faults.{module}").trial(given)
    print(table(findings))
    if told.json:
        told.json.parent.mkdir(parents=True, exist_ok=True)
        told.json.write_text(
            json.dumps({"trial": told.trial, "findings": plain(findings)}, indent=1)
        )
    sys.exit(any(finding.holds is False for finding in findings))


if __name__ == "__main__":
    main()
