"""Things kept in so many bytes, the one used longest ago let go of first."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from threading import Lock
from typing import Generic, TypeVar

_ROOM_FOR_ONE = 1 / 32  # the most of the whole that one thing may take
_ITSELF = 1500  # bytes that an entry takes besides what it holds

Kept = TypeVar("Kept")


class Store(Generic[Kept]):
    """Things by key, of so many bytes at most."""

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self.hits = self.misses = self.bytes = 0
        self._kept: OrderedDict[Hashable, tuple[Kept, int]] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable) -> Kept | None:
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                self.misses += 1
                return None
            self.hits += 1
            self._kept.move_to_end(key)
            return found[0]

    def put(self, key: Hashable, kept: Kept, size: int) -> None:
        """Keep it, unless it is too big; ``size`` is the bytes that it and its key hold."""
        size += _ITSELF
        if size > self.most_bytes * _ROOM_FOR_ONE:
            return
        with self._lock:
            _, before = self._kept.pop(key, (None, 0))
            self._kept[key] = (kept, size)
            self.bytes += size - before
            while self.bytes > self.most_bytes:
                _, (_, gone) = self._kept.popitem(last=False)
                self.bytes -= gone

    def stats(self) -> dict[str, int]:
        """Hits and misses from the start on; things and bytes that are held now."""
        with self._lock:
            held = {"kept": len(self._kept), "bytes": self.bytes, "most_bytes": self.most_bytes}
            return {"hits": self.hits, "misses": self.misses, **held}
