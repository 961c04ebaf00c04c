"""Many questions in one request, a JSON document a line (NDJSON) in and out, streamed.

A line is read when the answer before it has gone out, so that memory holds one line whatever the
number of them, and a caller who does not read stops the work instead of filling memory.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from logging import getLogger
from typing import Any, Protocol

from ..engine.working import allowance
from . import sharing
from .batch_lines import BatchLineSchema, Identifier
from .compiled import loader
from .decoding import decode
from .failures import where
from .metrics import line as counted
from .operations import OPERATIONS
from .problems import document, explained
from .writing import dumps

NDJSON = "application/x-ndjson"  # in wide use; not registered with IANA
LONGEST_LINE = 64 * 1024

_LOG = getLogger(__name__)
_ID, _load_line = Identifier(), loader(BatchLineSchema())
_LOAD = {o.id: loader(o.request()) for o in OPERATIONS}

# What hosts the service may ask to be told at each line, and may ask for an end: see
# deploy/gunicorn.conf.py.
_go_on: list[Callable[[], bool]] = []


def at_each_line(go_on: Callable[[], bool]) -> None:
    """Have this called before each line; a batch ends early where it gives False."""
    _go_on[:] = [go_on]


class Source(Protocol):
    """What a body is read from."""

    def readline(self, most: int, /) -> bytes: ...


class Lines:
    """The lines of a body, read one at a time; ``None`` stands for one that is too long."""

    def __init__(self, source: Source, length: int | None) -> None:
        self.number, self.fault = 0, ""
        self._source, self._length, self._read = source, length, 0

    def __iter__(self) -> Iterator[bytes | None]:
        while part := self._part():
            self.number += 1
            ended, long = part.endswith(b"\n"), len(part) > LONGEST_LINE
            if not ended and not long and self._cut():
                return  # what is left of a line that was cut might parse, and mean another thing
            if ended or not long:
                if part.strip():
                    yield part
                continue
            while part and not part.endswith(b"\n"):
                part = self._part()
            if not self.fault:
                yield None
        self._cut()

    def _part(self) -> bytes:
        try:
            part = self._source.readline(LONGEST_LINE + 1)
        except Exception:  # whatever a server raises for a broken transfer
            self.fault = "the body could not be read as it was sent"
            return b""
        self._read += len(part)
        return part

    def _cut(self) -> bool:
        if not self.fault and self._length is not None and self._read < self._length:
            self.fault = "the body is shorter than its Content-Length"
        return bool(self.fault)


def answers(source: Source, length: int | None) -> Iterator[bytes]:
    """The answer to each line as it is read, and the summary last."""
    lines = Lines(source, length)
    counts = _counts()
    answered, done = 0, False
    problem: dict[str, Any] | None = None
    try:
        for text in lines:
            if _go_on and not _go_on[0]():
                problem = document("not-ready", "this server is being replaced: ask for the rest")
                break
            status, answer = _answered(text, lines.number)
            counts[_kind(status)] += 1
            counted(status)
            yield answer
            answered = lines.number
        if lines.fault:
            problem = document("malformed", lines.fault)
        told: dict[str, Any] = {"lines": sum(counts.values()), **counts, "complete": not problem}
        if problem:
            told |= {"next_line": answered + 1, "problem": problem}
        yield dumps({"summary": told}).encode() + b"\n"
        done = True
    finally:
        if not done:
            _LOG.info("the caller left a batch after line %d", answered)


def answers_to(lines: list[tuple[int, bytes | None]]) -> tuple[bytes, dict[str, int]]:
    """The answers to numbered lines, and how many there are of each kind: a part of a batch that
    is worked elsewhere than the rest (deploy/cluster.py)."""
    counts, text = _counts(), []
    for number, line in lines:
        status, answer = _answered(line, number)
        counts[_kind(status)] += 1
        text.append(answer)
    return b"".join(text), counts


def _counts() -> dict[str, int]:
    return {"good": 0, "refused": 0, "failed": 0}


def _kind(status: int) -> str:
    return "good" if status == 200 else "refused" if status < 500 else "failed"


def _line(name: dict[str, Any], status: int, body: bytes) -> tuple[int, bytes]:
    """The status of an answer, and its line: the name, the status and the body's JSON text."""
    told = dumps({**name, "status": status})
    return status, b"".join((told[:-1].encode(), b', "body": ', body, b"}\n"))


def _answered(text: bytes | None, number: int) -> tuple[int, bytes]:
    name: dict[str, Any] = {"id": None, "line": number}
    try:
        if text is None:
            told = document("too-large", f"a line holds at most {LONGEST_LINE} bytes")
            return _line(name, told["status"], dumps(told).encode())
        line = decode(text.rstrip(b"\r\n"))
        try:
            asked = _load_line(line)
        except Exception:
            name = _name(line) or name
            raise
        name = {"id": asked["id"]}
    except Exception as error:
        told = explained(error, "invalid-line") or _failed(number)
        return _line(name, told["status"], dumps(told).encode())
    try:
        operation = asked["operation"]
        question = sharing.question(operation, asked["body"], _LOAD[operation])
        with allowance():
            return _line(name, 200, sharing.answer(question))
    except Exception as error:
        told = explained(error) or _failed(number)
        return _line(name, told["status"], dumps(told).encode())


def _name(line: Any) -> dict[str, Any] | None:
    try:
        return {"id": _ID.deserialize(line["id"])}
    except Exception:  # no object, no id, or one that is none: the schema says which
        return None


def _failed(number: int) -> dict[str, Any]:
    _LOG.error("line %d of a batch was not answered\n%s", number, where(sys.exc_info()[1]))
    return document("internal", "the line was not answered; the fault has been logged")
