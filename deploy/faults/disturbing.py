"""What a trial does to a server beside its own fault: a worker killed, the rest replaced."""

from __future__ import annotations

import os
import signal
import time

from .serving import Stand, until


def disturb(stand: Stand, pause: float) -> bool:
    """One worker of the first server killed, then all replaced (SIGHUP); whether all are there
    again and none of them was there before."""
    server = stand.servers[0]
    before = set(server.workers())
    os.kill(server.workers()[0], signal.SIGKILL)
    time.sleep(pause)
    server.process.send_signal(signal.SIGHUP)  # type: ignore[union-attr]
    time.sleep(pause)

    def replaced() -> bool:
        return stand.all_there() and not before & set(server.workers())

    try:
        until(replaced, "workers to be replaced")
    except TimeoutError:
        return False
    return True
