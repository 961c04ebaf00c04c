"""What whoever starts a server here needs: its command, and a port that is free."""

from __future__ import annotations

import socket
import sys
from contextlib import ExitStack


def gunicorn(*options: str, app: str = "service:create_app()") -> list[str]:
    """The command that serves with the configuration of a deployment, from the repository root."""
    return [sys.executable, "-m", "gunicorn", "--config", "deploy/gunicorn.conf.py", *options, app]


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
