"""Texts kept in so many bytes, the one used longest ago let go of first.

They lie in blocks of one size, of one stretch of memory: pieces of memory of a length of their own
would leave gaps that the next text does not fit into, and the process would grow for as long as it
is asked.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from mmap import MAP_ANONYMOUS, MAP_PRIVATE, mmap
from threading import Lock
from typing import Generic, TypeVar

BLOCK = 1024
_ROOM_FOR_ONE = 1 / 32  # the most of the whole that one thing may take
_ITSELF = 1500  # bytes that an entry takes besides what it holds

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")
Note = TypeVar("Note")
Places = tuple[int, ...]


def remember(known: dict[Key, Value], key: Key, value: Value, most: int) -> None:
    """Put it in; where there are so many others already, all of them are forgotten first."""
    if key not in known and len(known) >= most:
        known.clear()
    known[key] = value


class _Blocks:
    """One stretch of memory, of a process alone; no page of it is taken before it is used."""

    def __init__(self, size: int) -> None:
        self._memory = memoryview(mmap(-1, max(BLOCK, size), flags=MAP_PRIVATE | MAP_ANONYMOUS))
        self._used, self._free = 0, list[int]()

    def put(self, text: bytes) -> Places:
        places = []
        for start in range(0, len(text), BLOCK):
            if self._free:
                place = self._free.pop()
            else:
                place = self._used
                self._used += BLOCK
            part = text[start : start + BLOCK]
            self._memory[place : place + len(part)] = part
            places.append(place)
        return tuple(places)

    def get(self, places: Places, length: int) -> bytes:
        memory = self._memory
        return b"".join([memory[place : place + BLOCK] for place in places])[:length]

    def free(self, places: Places) -> None:
        self._free += places


class Store(Generic[Note]):
    """Texts, each with a note, by key; of so many bytes at most, all told."""

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self.hits = self.misses = self.bytes = 0
        self._blocks = _Blocks(most_bytes)
        self._kept: OrderedDict[Hashable, tuple[Note, Places, int, int]] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable) -> tuple[Note, bytes] | None:
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                self.misses += 1
                return None
            self.hits += 1
            self._kept.move_to_end(key)
            note, places, length, _ = found
            return note, self._blocks.get(places, length)

    def put(self, key: Hashable, note: Note, text: bytes, more: int = 0) -> None:
        """Keep it, unless it is too big; ``more`` is the bytes that its key and its note hold."""
        size = -(-len(text) // BLOCK) * BLOCK + more + _ITSELF
        if size > self.most_bytes * _ROOM_FOR_ONE:
            return
        with self._lock:
            self._drop(key)
            self.bytes += size
            while self.bytes > self.most_bytes:
                self._drop(next(iter(self._kept)))
            self._kept[key] = (note, self._blocks.put(text), len(text), size)

    def _drop(self, key: Hashable) -> None:
        if gone := self._kept.pop(key, None):
            _, places, _, size = gone
            self._blocks.free(places)
            self.bytes -= size

    def stats(self) -> dict[str, int]:
        """Hits and misses from the start on; things and bytes that are held now."""
        with self._lock:
            held = {"kept": len(self._kept), "bytes": self.bytes, "most_bytes": self.most_bytes}
            return {"hits": self.hits, "misses": self.misses, **held}
