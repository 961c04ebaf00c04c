"""Clients that send a byte a second, in a process of its own: half in the header, half in the body.

Each is let go of when the server ends it; what was seen goes as JSON to standard output.
"""

from __future__ import annotations

import json
import select
import socket
import sys
import time
from typing import Any

HEADER = b"POST /v1/shaping HTTP/1.1\r\nHost: localhost\r\nX-Slowly: "
BODY = (
    b"POST /v1/shaping HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
    b"Content-Length: 60000\r\n\r\n"
)


def main(port: int, many: int, seconds: float) -> None:
    poll = select.epoll()
    open_now: dict[int, tuple[str, socket.socket]] = {}
    ended: dict[str, list[float]] = {"header": [], "body": []}
    told: dict[str, int] = {}
    begun = time.monotonic()

    def end(kind: str, sock: socket.socket, first: bytes) -> None:
        ended[kind].append(round(time.monotonic() - begun, 2))
        status = first[9:12].decode("ascii", "replace") or "nothing"
        told[status] = told.get(status, 0) + 1
        poll.unregister(sock.fileno())
        del open_now[sock.fileno()]
        sock.close()

    for number in range(many):
        sock = socket.socket()
        sock.bind((f"127.0.0.{2 + number % 240}", 0))
        sock.connect(("127.0.0.1", port))
        kind = "header" if number % 2 else "body"
        sock.sendall(BODY if kind == "body" else HEADER)
        sock.setblocking(False)
        open_now[sock.fileno()] = (kind, sock)
        poll.register(sock.fileno(), select.EPOLLIN | select.EPOLLRDHUP)
    print("all connected", flush=True)
    at_most = len(open_now)
    while time.monotonic() < begun + seconds and open_now:
        second = time.monotonic() + 1
        for kind, sock in [*open_now.values()]:
            try:
                sock.send(b"x" if kind == "header" else b" ")
            except OSError:
                end(kind, sock, b"")
        while (left := second - time.monotonic()) > 0:
            for fd, _ in poll.poll(left):
                kind, sock = open_now[fd]
                try:
                    first = sock.recv(4096)
                except OSError:
                    first = b""
                end(kind, sock, first)
    still = [kind for kind, _ in open_now.values()]
    seen: dict[str, Any] = {
        "connected": at_most, "ended": ended, "told": told,
        "still": {kind: still.count(kind) for kind in ended},
    }  # fmt: skip
    print(json.dumps(seen))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))
