"""The files that workers count in, with their room taken before they are counted in.

prometheus_client writes its counts through memory that is mapped onto a file with holes in it.
Where the file system is full, filling a hole ends the process (SIGBUS), and so each request would
cost a worker. Here the room is taken when a file is opened; where there is none, that worker counts
in its own memory alone: the sums lack what it counted, and every question is answered.
"""

from __future__ import annotations

import logging
import os
from typing import Any

from prometheus_client import values
from prometheus_client.mmap_dict import MmapedDict

_LOG = logging.getLogger("service")
ROOM = 512 * 1024
"""Bytes of a file: all series that there can be, and no need to grow."""


class _Reserved(MmapedDict):
    def __init__(self, filename: str, read_mode: bool = False) -> None:
        if not read_mode and hasattr(os, "posix_fallocate"):
            filename = _with_room(filename)
        super().__init__(filename, read_mode)  # type: ignore[no-untyped-call]


def _with_room(filename: str) -> str:
    """The file with its room taken, or a place in memory where that cannot be."""
    try:
        file = os.open(filename, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            os.posix_fallocate(file, 0, ROOM)
        except OSError:
            os.unlink(filename)  # else it is read as one that was cut
            raise
        finally:
            os.close(file)
    except OSError as error:
        _LOG.error("counts of process %d are not told: %s", os.getpid(), error.strerror)
        # Held for as long as the process lives.
        return f"/proc/self/fd/{os.memfd_create('counts')}"
    return filename


def reserve() -> None:
    """Have the files of counts opened so from now on."""
    known: Any = values
    known.MmapedDict = _Reserved
