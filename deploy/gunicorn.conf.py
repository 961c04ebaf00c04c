"""gunicorn: every setting that is not the default, and why.

BIND (), PORT (8000)   unix:/path or host:port to listen on; or a port of loopback
WORKERS (2)            worker processes
ACCESS_LOG (on)        "off" leaves out the line a request
DRAIN_SECONDS (0)      how long SIGTERM leaves the server answering while /readyz says 503
METRICS_DIR ()         where a folder for the workers' counts is made; shared memory if there is any
"""

import fcntl
import gc
import logging
import os
import re
import shutil
import signal
import sys
import tempfile
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

from gunicorn import util

_SHARED_MEMORY = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None

# Loopback only, or a socket (BIND=unix:/run/sizing/socket): what faces the network is a proxy in
# front (deploy/nginx.conf).
bind = os.environ.get("BIND") or f"127.0.0.1:{os.environ.get('PORT', '8000')}"

# Answers are pure computation of well under a millisecond, so a sync worker a core is the
# steadiest; it must stand behind a proxy that buffers slow clients. Threads would share one
# interpreter and win nothing.
worker_class = "sync"
workers = int(os.environ.get("WORKERS", "2"))

# No accepted request takes seconds; one that does is a fault, and its worker is replaced.
timeout = 30
# What is being answered at the end is finished; a batch ends at its next line.
graceful_timeout = 10

# The application holds only read-only tables: load it once and share the pages. A fault in it then
# also stops the start, instead of every worker in turn.
preload_app = True

# A worker's sign of life is written to a file: where that is a disk, a slow one stalls the worker.
worker_tmp_dir = _SHARED_MEMORY

# Nothing needs to steer a running server through a socket.
control_socket_disable = True

# A question asked by GET stands in the request line; this is as long as gunicorn allows.
limit_request_line = 8190

# The parser is part of what was tested: do not change to another because one happens to be there.
http_parser = "python"

# max_requests stays 0: a batch of any length takes no more memory (deploy/batch_memory.py), what is
# kept is bounded, and a worker that is replaced for no reason is one that is missing meanwhile.

# A log line that cannot be written is left out. logging would tell of each on standard error with
# the whole stack, which takes as long as an answer does and fills what room there is.
logging.raiseExceptions = False

# One line of JSON a request on standard output, written by the service itself, since only it knows
# the route and the trace. ACCESS_LOG=off leaves it out.
if os.environ.get("ACCESS_LOG") != "off":
    _log = logging.getLogger("service.access")
    if not _log.handlers:  # this file is read again at every reload
        _log.addHandler(logging.StreamHandler(sys.stdout))
    _log.setLevel(logging.INFO)
    _log.propagate = False


# gunicorn tells of what it cannot read by repeating it, which may be a key or a measurement: its
# address and the kind of fault are enough.
class _Discreet(logging.Filter):
    def filter(self, record: logging.LogRecord) -> bool:
        if str(record.msg).startswith("Invalid request from ip="):
            record.msg = re.split("b?[\"'(]", record.msg)[0].rstrip(": ")
        elif str(record.msg).startswith("Error handling request"):
            record.args = tuple(str(told).partition("?")[0] for told in record.args or ())
        return True


_errors = logging.getLogger("gunicorn.error")
if not any(type(known).__name__ == _Discreet.__name__ for known in _errors.filters):
    _errors.addFilter(_Discreet())

# The workers count in files of a folder that belongs to this server alone, named before the
# application is loaded. It is fresh at the start and kept at a reload (SIGHUP), when this is read
# again by the same process. A server that was killed leaves its folder behind, in memory: the next
# to start clears it away. A lock says whether anyone lives there, where a process id would not (it
# may be another's by now). Workers have the lock from their server, so that those who outlive it
# keep the folder.
_made_in = os.environ.get("METRICS_DIR") or _SHARED_MEMORY or tempfile.gettempdir()
_named = f"sizing-metrics-{os.getuid()}-"
_metrics = Path(_made_in) / f"{_named}{os.getpid()}"
_LOCK = "lived-in"


def _clear_away(folder: Path, without_lock: bool = False) -> None:
    """Remove the folder, if it is ours and nobody lives there. One without a lock is left alone
    unless told: somebody may be about to make one."""
    with suppress(OSError):
        if folder.lstat().st_uid != os.getuid():
            return
        flags = os.O_RDWR | os.O_NOFOLLOW | (os.O_CREAT if without_lock else 0)
        lock = os.open(folder / _LOCK, flags, 0o600)
        with os.fdopen(lock, "rb+", buffering=0):
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.fstat(lock).st_nlink:  # else another start has removed it, and somebody moved in
                shutil.rmtree(folder)


def _move_in(folder: Path) -> None:
    """Make the folder, with a lock that is held as long as this process or one of its workers."""
    while True:
        folder.mkdir(mode=0o700)
        lock = os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT, 0o600)
        fcntl.flock(lock, fcntl.LOCK_EX)
        if os.fstat(lock).st_nlink:
            return
        os.close(lock)  # another start took it for left behind, just before it was locked


if os.environ.get("PROMETHEUS_MULTIPROC_DIR") != str(_metrics):
    for _left in Path(_made_in).glob(f"{_named}*"):
        _clear_away(_left)
    _clear_away(_metrics, without_lock=True)  # nobody else has this process's id
    _move_in(_metrics)
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(_metrics)
    gc.disable()  # nothing that the start makes is garbage: see when_ready


def _write_error(connection: Any, status: int, _: str, told: str) -> None:
    """What gunicorn itself refuses is told as the service tells its problems, and not in HTML."""
    from service.api.problems import refused_unread

    util.write_nonblock(connection, refused_unread(int(status), told))


# gunicorn has no setting for it; tests/api/test_nasty_connections.py holds that it is gone by.
util.write_error = _write_error

# A batch that is refused is not read to its end. nginx gives up an answer where it cannot send the
# rest of the question, so what still comes is taken for as long as gunicorn waits (two seconds),
# and not for 64 KB, its own bound.
util.close_graceful = partial(util.close_graceful, max_drain=2**28)

_drain_seconds = float(os.environ.get("DRAIN_SECONDS", "0"))


def on_starting(server: Any) -> None:
    """A log that nobody reads holds nobody up: what it does not take is left out and counted."""
    from service.api.metrics import watch_log
    from service.api.unwaited import unwait

    for name, stream in unwait("gunicorn.error", "service.access").items():
        watch_log(name, stream.left_out)


def when_ready(server: Any) -> None:
    """Collect no garbage in what is shared, and put the end off until others know of it.

    A collection writes into every object that it looks at, which would give each worker a copy of
    the pages. And at SIGTERM gunicorn closes its sockets at once: with DRAIN_SECONDS everything is
    still answered for that long, but /readyz says 503, so that a load balancer sends elsewhere
    before connections are refused. A second SIGTERM ends the wait.
    """
    gc.freeze()
    gc.enable()
    stop = signal.getsignal(signal.SIGTERM)
    if not _drain_seconds or not callable(stop):
        return
    from service.api.health import drain, draining

    def end(_: int, frame: Any) -> None:
        stop(signal.SIGTERM, frame)

    def begin(_: int, frame: Any) -> None:
        if draining():
            return end(_, frame)
        drain()
        signal.setitimer(signal.ITIMER_REAL, _drain_seconds)
        return None

    signal.signal(signal.SIGALRM, end)
    signal.signal(signal.SIGTERM, begin)


def pre_fork(server: Any, worker: Any) -> None:
    """A worker that takes another's place begins warm: it is waited for, and the start is over."""
    if worker.age > server.num_workers:
        from service.api.warming import warm

        warm()


def child_exit(server: Any, worker: Any) -> None:
    """Let go of what a worker that is gone showed of itself; what it counted stays in the sums."""
    from prometheus_client.multiprocess import mark_process_dead

    mark_process_dead(worker.pid)


def on_exit(server: Any) -> None:
    shutil.rmtree(_metrics, ignore_errors=True)


def post_worker_init(worker: Any) -> None:
    """A batch may last longer than the timeout above: have it show at each line that it is alive.

    A sync worker shows that between requests only, and is killed when it does not. With this a
    caller who neither sends nor reads for that long is still cut off. A worker that is told to
    stop ends its batch at the next line and says where to go on.
    """
    from service.api.batch import at_each_line

    def go_on() -> bool:
        worker.notify()
        # A worker that has had its fill of requests still finishes the one it is at.
        return bool(worker.alive or worker.nr >= worker.max_requests)

    at_each_line(go_on)
