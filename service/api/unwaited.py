"""Standard output and error that nobody waits for.

What a server writes goes into a file, a pipe (a container's) or a socket (systemd's). A pipe that
nobody reads is full after some 300 lines, and whoever writes then waits until somebody reads: every
worker with an answer in its hands, and their server too. Here a line that is not taken at once is
left out and counted.
"""

from __future__ import annotations

import io
import logging
import os
import socket
import stat
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import partial

Put = Callable[[bytes], int]


class Unwaited(io.TextIOBase):
    """Text onto an open file, which leaves out the lines that the file does not take.

    A line of which it took a part is finished before the next one, so that none runs into another.
    """

    def __init__(self, file: int) -> None:
        self._file, self._put = file, _put(file)
        self._begin()
        os.register_at_fork(after_in_child=self._begin)

    def _begin(self) -> None:
        self._rest, self._missed = b"", 0

    def left_out(self) -> int:
        """How many lines were left out since this was asked last."""
        missed, self._missed = self._missed, 0
        return missed

    def writable(self) -> bool:
        return True

    def fileno(self) -> int:
        return self._file

    def write(self, text: str) -> int:
        try:
            self._rest = self._rest[self._put(self._rest) :] if self._rest else b""
            if self._rest:
                raise BlockingIOError
            line = text.encode("utf-8", "backslashreplace")
            self._rest = line[self._put(line) :]
        except OSError:
            self._missed += 1
        return len(text)


def _put(file: int) -> Put:
    """How to write onto it without waiting: how many bytes were taken, or OSError."""
    mode = os.fstat(file).st_mode
    if stat.S_ISSOCK(mode):
        connection = socket.socket(fileno=os.dup(file))
        return lambda line: connection.send(line, socket.MSG_DONTWAIT)
    if stat.S_ISFIFO(mode) or stat.S_ISCHR(mode):
        # Opened anew, since not to wait is a property that all share who have it from each other:
        # a shell would be surprised.
        try:
            flags = os.O_WRONLY | os.O_NONBLOCK | os.O_NOCTTY
            file = os.open(f"/proc/self/fd/{file}", flags)
        except OSError:  # there is no /proc, or it belongs to another user
            os.set_blocking(file, False)
    return partial(os.write, file)


def unwait(*loggers: str) -> dict[str, Unwaited]:
    """From now on write onto standard output and error so, in this process and those forked from
    it; the handlers of those loggers too."""
    made = {}
    for name in ("stdout", "stderr"):
        before = getattr(sys, name)
        if before is None:  # it was closed when the server started
            continue
        with suppress(OSError):  # there is no room for what waits in it: a start goes on without
            before.flush()
        made[name] = after = Unwaited(before.fileno())
        setattr(sys, name, after)
        for handler in (h for logger in loggers for h in logging.getLogger(logger).handlers):
            if isinstance(handler, logging.StreamHandler) and handler.stream is before:
                handler.stream = after  # setStream would flush again what there is no room for
    return made
