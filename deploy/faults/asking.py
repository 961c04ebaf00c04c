"""The sender's other end: a run of load.py, and what it saw."""

from __future__ import annotations

import pickle
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from .load import LATER, LOST, TIMED_OUT, WRONG
from .questions import Questions, wrong_samples

DEPLOY = Path(__file__).parent.parent
NAMES = {LOST: "connection broken", TIMED_OUT: "no answer in time", WRONG: "wrong answer"}
# Questions that no answer is kept for yet; the rest were asked before. Of our own choosing.
NEW = 0.4
_next = [0]


def quantile(values: Sequence[float], part: float) -> float:
    """The least value that this part of them does not exceed; not a number where there is none.

    >>> quantile([3, 1, 2, 4], 0.5), quantile([3, 1, 2, 4], 0.99)
    (2, 4)
    """
    if not values:
        return float("nan")
    ordered = sorted(values)
    return ordered[max(0, -int(-part * len(ordered) // 1) - 1)]


class Seen:
    """What a run saw: of each question when it was due, how long it took, and how it ended."""

    def __init__(self, told: dict[str, Any]) -> None:
        self.began: float = told["began"]
        self.seconds: float = told["seconds"]
        self.cpu: float = told["cpu"]
        self.all = list(zip(told["at"], told["took"], told["ended"], strict=True))
        self.raw: Counter[int] = Counter(told["raw"])
        self.raw_at: list[tuple[float, int]] = told["raw_at"]
        self.late = told["late"]
        self.checked = len(told["samples"])
        self.wrongs: list[str] = told["wrongs"] + wrong_samples(told["samples"])

    def within(self, start: float = 0, end: float = float("inf")) -> list[tuple[float, float, int]]:
        """Those due from start to end, in seconds of the run."""
        return [one for one in self.all if start <= one[0] < end]

    def times(self, start: float = 0, end: float = float("inf")) -> list[float]:
        """Seconds that those took which were answered as they should be."""
        return [took for at, took, how in self.all if good(how) and start <= at < end]

    @property
    def failed(self) -> Counter[int]:
        """How those ended that had no answer at last, the rule kept, or a wrong one."""
        return Counter(how for _, _, how in self.all if not good(how))

    @property
    def wrong(self) -> int:
        return max(self.failed[WRONG], len(self.wrongs))


def good(how: int) -> bool:
    """Ended with the answer that it should have."""
    return how > 0 and how not in LATER


def named(counted: Counter[int]) -> str:
    """For people: "none", or "3 x 502, 1 x connection broken"."""
    return ", ".join(f"{n} x {NAMES.get(how, how)}" for how, n in sorted(counted.items())) or "none"


class Run:
    """A sender at work. ``seen()`` waits for it; ``offset()`` tells where in its time it is now."""

    def __init__(
        self,
        port: int,
        asked: Questions,
        phases: Sequence[tuple[float, float]] = (),
        *,
        at_once: int = 0,
        seconds: float = 0,
        retry: bool = False,
        new: float = NEW,
        patience: float = 10,
        connections: int = 100,
        seed: int = 7,
    ) -> None:
        plan = {
            "port": port, "known": asked.known, "templates": asked.templates, "phases": [*phases],
            "at_once": at_once, "seconds": seconds, "retry": retry, "new": new, "seed": seed,
            "number": _next[0], "patience": patience, "connections": connections, "sources": 240,
            "samples": 400,
        }  # fmt: skip
        self.process = subprocess.Popen(
            [sys.executable, "-m", "faults.load"],
            cwd=DEPLOY,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        assert self.process.stdin
        pickle.dump(plan, self.process.stdin)
        self.process.stdin.close()
        self.began = time.perf_counter()

    def going(self) -> bool:
        return self.process.poll() is None

    def end(self) -> None:
        """Ask no more; what was asked is still waited for."""
        if self.going():
            self.process.send_signal(signal.SIGUSR1)

    def seen(self) -> Seen:
        """What it saw, once it is done. Raises RuntimeError where it failed itself."""
        assert self.process.stdout
        told = self.process.stdout.read()
        if self.process.wait():
            raise RuntimeError("the sender failed")
        made = pickle.loads(told)
        _next[0] = made["number"]
        return Seen(made)

    def __enter__(self) -> Run:
        return self

    def __exit__(self, *_: object) -> None:
        if self.going():
            self.process.terminate()
        assert self.process.stdout
        self.process.stdout.close()
        self.process.wait()


def saturated(port: int, asked: Questions, seconds: float, **more: Any) -> Seen:
    """As much as it can do: 24 questions are always open."""
    with Run(port, asked, at_once=24, seconds=seconds, **more) as run:
        return run.seen()


def capacity_of(seen: Seen, seconds: float) -> float:
    """Answers a second, the first fifth of the time left out."""
    ended = [at + took for at, took, how in seen.all if good(how)]
    return len([one for one in ended if seconds / 5 <= one < seconds]) / (0.8 * seconds)
