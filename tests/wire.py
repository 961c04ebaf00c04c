"""Bytes that no HTTP library would send, put to a real socket, and what comes back to them."""

from __future__ import annotations

import socket
from urllib.parse import urlparse

from requests.structures import CaseInsensitiveDict

PATIENCE = 10
"""Seconds: enough for a busy machine, and far less than a gigabyte would take to wait for."""


def told(base: str, sent: bytes, done: bool = False, quiet: float | None = None) -> bytes:
    """All that comes back until the other side closes; nothing more is sent after those bytes.

    ``done`` says so to the other side. With ``quiet``, an end is also when nothing has come for so
    many seconds after something has, or nothing at all.
    """
    at = urlparse(base)
    with socket.create_connection((at.hostname or "", at.port or 0), PATIENCE) as connection:
        connection.sendall(sent)
        if done:
            connection.shutdown(socket.SHUT_WR)
        got = b""
        try:
            while more := connection.recv(65536):
                got += more
                connection.settimeout(quiet or PATIENCE)
        except ConnectionResetError:  # it was closed on what it had not read
            pass
        except TimeoutError:
            if quiet is None:
                raise
    return got


def parted(answer: bytes) -> tuple[int, CaseInsensitiveDict[str], bytes]:
    """Status, header fields and body of the only answer among those bytes."""
    head, _, body = answer.partition(b"\r\n\r\n")
    status, *lines = head.decode().split("\r\n")
    fields = CaseInsensitiveDict(line.split(": ", 1) for line in lines)
    return int(status.split()[1]), fields, body
