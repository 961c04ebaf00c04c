"""How much each holder of a key may still ask: one table that all workers of a server share.

A rate is so many a second, and a burst so many at once on top of one. For each name one time is
kept: when all that it has asked would have been asked, had it kept to its rate. That time may run
ahead of now by as much as the burst takes. So nothing is to be refilled, and a name that has asked
for nothing has the time of long ago.

The table is memory made before the workers are forked, so the rate is that of one server however
many workers it has; servers know nothing of one another. The clock never goes back and is the same
in all processes. The lock is the kernel's: it lets go of what a killed worker held.
"""

from __future__ import annotations

import os
import tempfile
import time
import weakref
from collections.abc import Callable, Iterable
from fcntl import LOCK_EX, LOCK_UN, lockf
from hashlib import blake2b
from mmap import mmap
from struct import Struct
from threading import Lock

SECOND = 1_000_000_000
_PLACE = Struct("=16sq")  # whose it is, by a digest of the name; and the time, in nanoseconds
_TIME = Struct("=q")
_NOBODY = bytes(16)


class Rates:
    """A table for so many names at once, and as many again that are gone from it."""

    def __init__(self, most: int, now: Callable[[], int] = time.monotonic_ns) -> None:
        self._places, self._now = 2 * most, now
        size = self._places * _PLACE.size
        if hasattr(os, "memfd_create"):  # there may be no folder to write to
            self._file = os.memfd_create("rates")
        else:
            self._file, name = tempfile.mkstemp()
            os.unlink(name)
        os.truncate(self._file, size)
        self._memory = mmap(self._file, size)
        self._threads = Lock()  # the kernel's lock is between processes alone
        weakref.finalize(self, os.close, self._file)

    def places(self, names: Iterable[str]) -> dict[str, int]:
        """Where each name has its time: the same in every worker, and after the names change."""
        wanted = {_digest(name): name for name in names}
        self._enter()
        try:
            held = [_PLACE.unpack_from(self._memory, at * _PLACE.size)[0]
                    for at in range(self._places)]  # fmt: skip
            found = {wanted[whose]: at for at, whose in enumerate(held) if whose in wanted}
            # One that nobody had comes first, so that who goes and comes back finds their own.
            free = [at for at, whose in enumerate(held) if whose == _NOBODY]
            free += [at for at, whose in enumerate(held) if whose not in {_NOBODY, *wanted}]
            for whose, name in wanted.items():
                if name not in found:
                    found[name] = free.pop(0)
                    _PLACE.pack_into(self._memory, found[name] * _PLACE.size, whose, 0)
        finally:
            self._leave()
        return found

    def wait(self, place: int, rate: int, burst: int) -> int:
        """Count one more; nanoseconds to wait, and nothing counted, where it would be too many."""
        step, at = SECOND // rate, place * _PLACE.size + 16
        self._enter()
        try:
            now = self._now()
            (due,) = _TIME.unpack_from(self._memory, at)
            # Never further ahead than a full burst, whatever the rate was before.
            due = max(now, min(due, now + (burst + 1) * step))
            over: int = due - now - burst * step
            if over <= 0:
                _TIME.pack_into(self._memory, at, due + step)
        finally:
            self._leave()
        return max(0, over)

    def _enter(self) -> None:
        self._threads.acquire()
        lockf(self._file, LOCK_EX)

    def _leave(self) -> None:
        lockf(self._file, LOCK_UN)
        self._threads.release()


def _digest(name: str) -> bytes:
    return blake2b(name.encode(), digest_size=16).digest()
