"""The slowest accepted requests, found by search: hill climbing on the CPU that each takes.

    python deploy/slowest.py SECONDS [SEED] [FOLDER] [OPERATION,...]

Starts from every documented request of an operation, changes them by chance (mutating.py), and
keeps what is accepted and takes longer; nothing is answered with what was answered before. Tells,
for each operation, the most CPU, as a multiple of the demo request's; with a folder, writes the
requests there.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from pathlib import Path
from random import Random
from typing import Any

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]

from mutating import EXAMPLES, Mutator, documented  # noqa: E402

from service import create_app  # noqa: E402
from service.api import answer_cache  # noqa: E402
from service.api.operations import by_id  # noqa: E402

KEPT = 12
DEMO = (EXAMPLES / "pieces" / "case-pocket.request.json").read_bytes()
os.environ[answer_cache.SETTING] = "0"  # what is kept takes no time
client = create_app().test_client()


def cpu(operation: str, named: str, body: bytes, times: int = 1) -> tuple[float, int, int]:
    """Milliseconds of CPU (the least of so many), status, and bytes of the answer."""
    least, status, size = float("inf"), 0, 0
    for _ in range(times):
        begun = time.process_time()
        answer = client.post(
            f"/v1/{operation}?as={named}", data=body, content_type="application/json"
        )
        size, status = len(answer.data), answer.status_code
        least = min(least, (time.process_time() - begun) * 1000)
    return least, status, size


def demo() -> float:
    return min(cpu("pieces", "json", DEMO)[0] for _ in range(20))


def climb(operation: str, seconds: float, random: Random) -> tuple[float, int, str, Any, float]:
    mutator = Mutator(random)
    names = [offer.name for offer in by_id(operation).offers]
    starts = [request for name, request in documented() if name == operation]
    best: list[tuple[float, int, str, Any]] = []
    refused = 0.0
    for request in starts:
        took, status, size = cpu(operation, "json", json.dumps(request).encode(), 2)
        if status == 200:
            best.append((took, size, "json", request))
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        pick = best[min(int(random.expovariate(0.5)), len(best) - 1)]
        named = random.choice(names) if random.random() < 0.15 else pick[2]
        request = mutator.mutated(operation, pick[3], random.choice((1, 1, 2, 3, 6)))
        body = json.dumps(request).encode()
        took, status, size = cpu(operation, named, body)
        if status >= 500:
            print("FAILED", operation, named, json.dumps(request), flush=True)
        if status != 200:
            refused = max(refused, took)
            continue
        if len(best) < KEPT or took > best[-1][0]:
            took = min(took, cpu(operation, named, body)[0])
            best.append((took, size, named, request))
            best.sort(key=lambda found: -found[0])
            del best[KEPT:]
    took, size, named, request = best[0]
    body = json.dumps(request).encode()
    # Side by side with the demo at last, so that both had the machine alike.
    pairs = [(cpu(operation, named, body)[0], demo()) for _ in range(5)]
    times = min(took for took, _ in pairs) / min(one for _, one in pairs)
    return times, size, named, request, refused


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    folder = Path(sys.argv[3]) if len(sys.argv) > 3 else None
    print(f"demo {demo():.2f} ms; seed {seed}; {seconds:g} s in all")
    operations = (
        sys.argv[4].split(",") if len(sys.argv) > 4 else sorted({name for name, _ in documented()})
    )
    for operation in operations:
        times, size, named, request, refused = climb(
            operation, seconds / len(operations), Random(f"{seed} {operation}")
        )
        print(
            f"{operation:14} {times:7.1f} x demo, {size:8} bytes of {named};"
            f" slowest refusal {refused:6.1f} ms",
            flush=True,
        )
        if folder:
            (folder / f"{operation}.{named}.json").write_text(json.dumps(request), encoding="utf-8")
    print(f"largest resident size {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB")


if __name__ == "__main__":
    main()
