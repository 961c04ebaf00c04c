"""Descriptors and memory of processes over time, and whether they grow."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from service.api.processes import memory_of

from .serving import Stand

EVERY = 5.0


@dataclass
class Life:
    """What one process had, sample by sample; memory in bytes, resident and its share."""

    name: str
    at: list[float] = field(default_factory=list)
    descriptors: list[int] = field(default_factory=list)
    resident: list[int] = field(default_factory=list)
    share: list[int] = field(default_factory=list)

    def sample(self, pid: int, now: float) -> None:
        descriptors = len([*Path(f"/proc/{pid}/fd").iterdir()])
        sizes = memory_of(pid)
        self.at.append(now)
        self.descriptors.append(descriptors)
        self.resident.append(sizes["resident"])
        self.share.append(sizes["proportional"])

    def within(
        self, start: float, end: float, values: Sequence[float]
    ) -> tuple[list[float], list[float]]:
        """Times and values of the samples from start to end."""
        kept = [(at, v) for at, v in zip(self.at, values, strict=True) if start <= at <= end]
        return [at for at, _ in kept], [v for _, v in kept]


def slope(at: Sequence[float], values: Sequence[float]) -> float:
    """By how much a value grows in a unit of time, by least squares; 0 for fewer than two samples.

    >>> slope([0, 1, 2, 3], [5, 7, 9, 11])
    2.0
    """
    many = len(at)
    if many < 2:
        return 0.0
    middle, mean = sum(at) / many, sum(values) / many
    spread = sum((x - middle) ** 2 for x in at)
    return sum((x - middle) * (y - mean) for x, y in zip(at, values, strict=True)) / spread


class Watch:
    """Samples the processes of a stand while the block lasts; times of samples are readings of
    ``perf_counter`` until it is told what they are counted from."""

    def __init__(self, stand: Stand, every: float = EVERY) -> None:
        self.stand, self.every = stand, every
        self.lives: dict[int, Life] = {}
        self.kept: list[tuple[float, float]] = []  # when, and bytes that the workers keep
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def sample(self) -> None:
        self.kept.append((time.perf_counter(), self.stand.kept_bytes()))
        now = time.perf_counter()
        for pid, name in self.stand.processes().items():
            life = self.lives.setdefault(pid, Life(name))
            try:
                life.sample(pid, now)
            except (OSError, KeyError):  # it has just ended
                continue

    def _watch(self) -> None:
        self.sample()
        while not self._done.wait(self.every):
            self.sample()

    def counted_from(self, began: float) -> None:
        self.kept = [(at - began, size) for at, size in self.kept]
        for life in self.lives.values():
            life.at = [at - began for at in life.at]

    def __enter__(self) -> Watch:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._done.set()
        self._thread.join()
