"""Answer more lines of a batch than one machine should, on a cluster of dask's distributed.

python deploy/cluster.py QUESTIONS.ndjson ANSWERS.ndjson [--scheduler tcp://HOST:8786]
(from the repository root, with the extra named "distributed" installed)

Questions are the lines that /v1/batch takes, and answers the lines that it gives, in order, the
summary last: the same engine, and the same bytes. Without --scheduler a cluster is started on this
machine for as long as it takes. Workers of any other need this package, of the same version, and
nothing else: they share no files, and a part that is lost with its worker is worked again.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import deque
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

sys.path.insert(0, str(Path(__file__).parent.parent))

from distributed import Client, LocalCluster

from service.api.batch import Lines, answers_to

# A line takes a millisecond or so and handing a part over several: so many go together.
TOGETHER = 500
# Parts that are worked or wait, for each process: enough that none is idle, and no more, so that
# memory holds a bounded piece of the input however long it is.
AHEAD = 3
# How often a part is worked again when its worker is lost.
AGAIN = 3


def parts(source: BinaryIO) -> Iterator[list[tuple[int, bytes | None]]]:
    """The numbered lines, some together; None stands for a line that is too long."""
    lines, part = Lines(source, None), []
    for text in lines:
        part.append((lines.number, text))
        if len(part) == TOGETHER:
            yield part
            part = []
    if part:
        yield part


def answer_all(client: Client, source: BinaryIO, out: BinaryIO) -> dict[str, Any]:
    """Write the answer to each line in order and the summary last, and give the summary."""
    waiting: deque[Any] = deque()
    counts = {"good": 0, "refused": 0, "failed": 0}

    def finish() -> None:
        text, more = waiting.popleft().result()
        out.write(text)
        for kind, count in more.items():
            counts[kind] += count

    at_most = AHEAD * max(1, len(client.scheduler_info(n_workers=-1)["workers"]))
    for part in parts(source):
        if len(waiting) >= at_most:
            finish()
        waiting.append(client.submit(answers_to, part, pure=False, retries=AGAIN))
    while waiting:
        finish()
    summary = {"lines": sum(counts.values()), **counts, "complete": True}
    out.write(json.dumps({"summary": summary}).encode() + b"\n")
    return summary


def main() -> None:
    asked = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    asked.add_argument("questions", type=Path)
    asked.add_argument("answers", type=Path)
    asked.add_argument("--scheduler", help="of a cluster that runs; else one is started here")
    asked.add_argument("--processes", type=int, default=2, help="of one started here")
    told = asked.parse_args()
    cluster = told.scheduler or LocalCluster(
        n_workers=told.processes, threads_per_worker=1, dashboard_address=None, memory_limit=0
    )
    with told.questions.open("rb") as source, told.answers.open("wb") as out:
        with Client(cluster) as client:
            print(json.dumps(answer_all(client, source, out)))
        if not told.scheduler:
            cluster.close()


if __name__ == "__main__":
    main()
