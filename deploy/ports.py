"""Ports that nobody listens on."""

from __future__ import annotations

import socket
from contextlib import ExitStack


def free_ports(many: int) -> list[int]:
    """So many ports of loopback that are free now, no two alike."""
    with ExitStack() as stack:
        held = [stack.enter_context(socket.socket()) for _ in range(many)]
        for one in held:
            one.bind(("127.0.0.1", 0))
        return [one.getsockname()[1] for one in held]


def free_port() -> int:
    (port,) = free_ports(1)
    return port
