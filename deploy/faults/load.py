"""What asks, in a process of its own: by a fixed schedule, and checking every answer.

Arrivals are drawn beforehand (exponential gaps, seeded) and each is asked when it is due, whether
or not earlier ones are answered; its time is counted from when it was due. So a service that stalls
is charged for all that would have come meanwhile. With ``at_once`` instead of phases that many are
kept open for so long, which finds what the service can do at most.

Connections are kept, and each is bound to one of 127.0.0.2, 127.0.0.3, ...: the limits by client
stay as they are deployed. Every answer is compared with the expected bytes; of questions never
asked before, each answer must say again the one number that makes it new, and samples are handed
back, to be compared with what the application answers in process.

A plan comes pickled on standard input, what was seen goes pickled to standard output.
"""

from __future__ import annotations

import errno
import heapq
import json
import os
import pickle
import re
import select
import signal
import socket
import sys
import time
from array import array
from collections import Counter, deque
from random import Random
from typing import Any

from .numbered import Template, fresh

# The rule that the README gives to clients, and as often as service.client does.
LATER = (429, 502, 503, 504)
RETRIES, FIRST_WAIT, LONGEST_WAIT = 5, 0.5, 30.0
# What became of a question that got no answer with a status of its own.
LOST, TIMED_OUT, WRONG = 0, -1, -2
IDLE = 20.0  # nginx lets go of a connection after 30 s

_LENGTH = re.compile(rb"\r\ncontent-length: *(\d+)", re.I)
_CLOSES = re.compile(rb"\r\nconnection: *close", re.I)
_RETRY_AFTER = re.compile(rb"\r\nretry-after: *(\d+)", re.I)


class Question:
    """One that is to be asked, until it is answered or given up."""

    __slots__ = ("body", "due", "must_hold", "sent", "status", "tries")

    def __init__(self, due: float, sent: bytes, status: int, body: bytes, must_hold: bytes) -> None:
        self.due, self.sent, self.status, self.body = due, sent, status, body
        self.must_hold, self.tries = must_hold, 0


class Line:
    """A connection, and the question on it."""

    __slots__ = ("fd", "got", "left", "question", "sock", "until")

    def __init__(self, sock: socket.socket) -> None:
        self.sock, self.fd = sock, sock.fileno()
        self.question: Question | None = None
        self.got, self.left, self.until = bytearray(), b"", 0.0


class Sender:
    def __init__(self, plan: dict[str, Any]) -> None:
        self.port: int = plan["port"]
        self.known: list[tuple[bytes, int, bytes]] = plan["known"]
        self.templates: list[Template] = plan["templates"]
        self.new: float = plan["new"]
        self.number: int = plan["number"]
        self.patience: float = plan["patience"]
        self.retries = RETRIES if plan["retry"] else 0
        self.sources, self.most_samples = plan["sources"], plan["samples"]
        self.random = Random(plan["seed"])
        self.poll = select.epoll()
        self.lines: dict[int, Line] = {}
        self.idle: deque[Line] = deque()
        self.again: list[tuple[float, int, Question]] = []
        self.opened = 0
        # What was seen: when each was due, how long it took, and how it ended.
        self.at, self.took, self.ended = array("d"), array("d"), array("h")
        self.raw: Counter[int] = Counter()
        self.raw_at: list[tuple[float, int]] = []
        self.late = array("d")
        self.samples: list[tuple[bytes, bytes]] = []
        self.wrongs: list[str] = []
        self.began = 0.0
        self.ended_early = False

    # What is asked

    def question(self, due: float) -> Question:
        if self.random.random() >= self.new:
            sent, status, body = self.random.choice(self.known)
            return Question(due, sent, status, body, b"")
        template = self.templates[self.number % len(self.templates)]
        sent, must_hold = fresh(template, self.number)
        self.number += 1
        return Question(due, sent, 200, b"", must_hold)

    def open(self) -> Line:
        source = f"127.0.0.{2 + self.opened % self.sources}"
        self.opened += 1
        sock = socket.socket()
        sock.setblocking(False)
        sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        sock.setsockopt(socket.IPPROTO_IP, 24, 1)  # IP_BIND_ADDRESS_NO_PORT: ports by connection
        sock.bind((source, 0))
        error = sock.connect_ex(("127.0.0.1", self.port))
        line = Line(sock)
        line.until = time.perf_counter()
        if error not in (0, errno.EINPROGRESS):
            sock.close()
            raise OSError(error, "not connected")
        self.lines[line.fd] = line
        self.poll.register(line.fd, select.EPOLLIN)
        return line

    def ask(self, question: Question) -> None:
        now = time.perf_counter()
        try:
            line = self.idle.popleft() if self.idle else self.open()
        except OSError:
            self.failed(question, LOST)
            return
        line.question, line.left, line.until = question, question.sent, now + self.patience
        question.tries += 1
        self.write(line)

    def write(self, line: Line) -> None:
        try:
            line.left = line.left[line.sock.send(line.left) :]
        except BlockingIOError:
            pass
        except OSError as error:
            if error.errno not in (errno.ENOTCONN, errno.EPIPE, errno.ECONNRESET):
                raise
            self.drop(line, LOST)
            return
        # A refusal may come before all is sent, and is read.
        self.poll.modify(line.fd, select.EPOLLIN | (select.EPOLLOUT if line.left else 0))

    # What is answered

    def read(self, line: Line) -> None:
        try:
            part = line.sock.recv(1 << 18)
        except BlockingIOError:
            return
        except OSError:
            part = b""
        if not part:
            self.drop(line, LOST)
            return
        question, got = line.question, line.got
        if question is None:  # nothing was asked: whatever this is, it is no answer
            self.wrongs.append(f"unasked: {part[:200]!r}")
            self.drop(line, WRONG)
            return
        got += part
        end = got.find(b"\r\n\r\n")
        if end < 0:
            return
        length = _LENGTH.search(got, 0, end)
        if length is None:
            self.wrongs.append(f"without a length: {bytes(got[:end])!r}")
            self.drop(line, WRONG)
            return
        missing = end + 4 + int(length[1]) - len(got)
        if missing > 0:
            return
        head, body = bytes(got[:end]), bytes(got[end + 4 :])
        line.question = None
        got.clear()
        if _CLOSES.search(head) or line.left or missing < 0:
            self.close(line)
        else:
            line.until = time.perf_counter()
            self.idle.append(line)
        self.answered(question, int(head[9:12]), head, body)

    def answered(self, question: Question, status: int, head: bytes, body: bytes) -> None:
        if status != question.status and status in LATER:
            told = _RETRY_AFTER.search(head)
            self.failed(question, status, float(told[1]) if told else None)
            return
        if status != question.status or not self.right(question, body):
            self.wrongs.append(
                f"{status} {body[:300]!r} to {question.sent.split(b' HTTP', 1)[0]!r}"
                f" ... {question.sent[-300:]!r}"
            )
            self.raw[WRONG] += 1
            status = WRONG
        self.end(question, status)

    def right(self, question: Question, body: bytes) -> bool:
        if not question.must_hold:
            return body == question.body
        if question.must_hold not in body:
            return False
        if self.random.random() < 0.02:
            json.loads(body)
            if len(self.samples) < self.most_samples:
                self.samples.append((question.sent, body))
        return body[:1] == b"{" and body[-1:] == b"}"

    def failed(self, question: Question, how: int, told: float | None = None) -> None:
        """Counted, and asked again as the rule has it."""
        now = time.perf_counter()
        self.raw[how] += 1
        self.raw_at.append((now - self.began, how))
        if question.tries > self.retries:
            self.end(question, how)
            return
        doubled = min(FIRST_WAIT * 2 ** (question.tries - 1), LONGEST_WAIT)
        wait = doubled if told is None else told
        heapq.heappush(self.again, (now + wait, id(question), question))

    def end(self, question: Question, how: int) -> None:
        self.at.append(question.due - self.began)
        self.took.append(time.perf_counter() - question.due)
        self.ended.append(how)

    def close(self, line: Line) -> None:
        self.poll.unregister(line.fd)
        del self.lines[line.fd]
        line.sock.close()

    def drop(self, line: Line, how: int) -> None:
        question, line.question = line.question, None
        self.close(line)
        if question is None:
            self.idle = deque(one for one in self.idle if one is not line)
        else:
            self.failed(question, how)

    # The time it takes

    def tend(self, now: float) -> None:
        """Give up what has waited too long, and let go of what has long been idle."""
        for line in [one for one in self.lines.values() if one.question and now > one.until]:
            self.drop(line, TIMED_OUT)
        while self.idle and now > self.idle[0].until + IDLE:
            self.close(self.idle.popleft())

    def step(self, until: float) -> None:
        """Ask again what is due, and read what comes, until then at the latest."""
        now = time.perf_counter()
        while self.again and self.again[0][0] <= now:
            self.ask(heapq.heappop(self.again)[2])
        if self.again:
            until = min(until, self.again[0][0])
        # epoll alone would wait by whole milliseconds.
        select.select([self.poll], [], [], max(0.0, min(until - time.perf_counter(), 0.25)))
        for fd, event in self.poll.poll(0):
            line = self.lines.get(fd)
            if line is None:
                continue
            if event & select.EPOLLOUT:
                self.write(line)
            if event & ~select.EPOLLOUT and fd in self.lines:
                self.read(line)

    def open_now(self) -> int:
        return len(self.lines) - len(self.idle) + len(self.again)

    def by_schedule(self, phases: list[tuple[float, float]]) -> None:
        start, tended = 0.0, 0.0
        for seconds, rate in phases:
            due = start + self.random.expovariate(rate)
            while due < start + seconds and not self.ended_early:
                now = time.perf_counter() - self.began
                if now >= due:
                    self.late.append(now - due)
                    self.ask(self.question(self.began + due))
                    due += self.random.expovariate(rate)
                    if len(self.late) % 16:
                        continue
                self.step(self.began + due)
                if now > tended + 0.25:
                    self.tend(time.perf_counter())
                    tended = now
            start += seconds
        while self.open_now():
            self.step(time.perf_counter() + 0.25)
            self.tend(time.perf_counter())

    def as_many_as(self, at_once: int, seconds: float) -> None:
        end = self.began + seconds
        while time.perf_counter() < end:
            while self.open_now() < at_once:
                self.ask(self.question(time.perf_counter()))
            self.step(end)
            self.tend(time.perf_counter())
        while self.open_now():
            self.step(time.perf_counter() + 0.25)
            self.tend(time.perf_counter())


def main() -> None:
    plan = pickle.load(sys.stdin.buffer)
    sender = Sender(plan)
    signal.signal(signal.SIGUSR1, lambda *_: setattr(sender, "ended_early", True))
    for _ in range(plan["connections"]):
        sender.idle.append(sender.open())
    sender.began = time.perf_counter()
    if plan["at_once"]:
        sender.as_many_as(plan["at_once"], plan["seconds"])
    else:
        sender.by_schedule(plan["phases"])
    seconds = time.perf_counter() - sender.began
    times = os.times()
    seen = {
        "began": sender.began, "seconds": seconds, "cpu": times.user + times.system,
        "number": sender.number, "at": sender.at, "took": sender.took, "ended": sender.ended,
        "raw": dict(sender.raw), "raw_at": sender.raw_at, "late": sender.late,
        "samples": sender.samples, "wrongs": sender.wrongs[:20], "opened": sender.opened,
    }  # fmt: skip
    pickle.dump(seen, sys.stdout.buffer)


if __name__ == "__main__":
    main()
