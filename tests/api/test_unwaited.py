"""Lines that are taken at once, in part, and not at all."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

from service.api.unwaited import Unwaited


def test_a_line_that_was_cut_is_finished_before_the_next() -> None:
    read, write = socket.socketpair()
    with read, write:
        log = Unwaited(write.fileno())
        long = "x" * 3_000_000 + "\n"  # more than a socket holds
        log.write(long)
        log.write("left out\n")
        assert (log.left_out(), log.left_out()) == (1, 0)
        got = b""
        read.setblocking(False)
        while len(got) < len(long):
            got += read.recv(65536)
            log.write("there is room\n")
        assert got.decode()[: len(long)] == long
        got += read.recv(65536)
        assert set(got.decode()[len(long) :].splitlines()) == {"there is room"}


def test_a_file_is_written_where_its_other_writers_are(tmp_path: Path) -> None:
    with (tmp_path / "log").open("wb", buffering=0) as file:
        file.write(b"before\n")
        log = Unwaited(file.fileno())
        log.write("\udcff\n")
        file.write(b"after\n")
    assert (tmp_path / "log").read_text() == "before\n\\udcff\nafter\n"
    assert log.left_out() == 0


def test_what_is_left_out_is_told_by_the_process_that_did_so() -> None:
    read, write = os.pipe()
    os.close(read)  # every write fails
    log = Unwaited(write)
    log.write("a line\n")
    if not (child := os.fork()):
        os._exit(log.left_out())
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert log.left_out() == 1
    os.close(write)


def test_text_that_waits_for_room_there_is_not_stops_no_start() -> None:
    begun = (
        "import logging, sys; from service.api.unwaited import unwait;"
        "logging.raiseExceptions = False; logging.basicConfig(); logging.error('waiting');"
        "sys.stdout.write('waiting'); told = unwait('root'); logging.error('a line');"
        "sys.stdout.write('a line\\n');"
        "sys.exit(3 * any(one.left_out() != 1 for one in told.values()))"
    )
    with Path("/dev/full").open("wb") as full:
        command = [sys.executable, "-c", begun]
        buffered = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
        run = subprocess.run(command, stdout=full, stderr=full, env=buffered, timeout=30)
    assert run.returncode == 0
