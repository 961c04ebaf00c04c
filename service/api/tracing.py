"""Which request this is: ids taken from the caller or made, given back, and logged.

``traceparent`` is read as W3C Trace Context has it, strictly: one that is not well formed starts a
new trace. The answer tells the trace in ``traceresponse``, which is still a draft of the W3C's.
"""

from __future__ import annotations

import json
import logging
import os
import re
import time
from dataclasses import dataclass

from flask import Response, g, request

LOG = logging.getLogger("service.access")
REQUEST_ID = "X-Request-Id"
RESPONSE = "traceresponse"
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_TRACE = re.compile(r"([0-9a-f]{2})-([0-9a-f]{32})-([0-9a-f]{16})-([0-9a-f]{2})(-.*)?")
_SAMPLED = 1


@dataclass(frozen=True, slots=True)
class Trace:
    """A place in a trace: the trace, the work done here, and whether it is recorded."""

    trace: str
    span: str
    flags: int

    def __str__(self) -> str:
        return f"00-{self.trace}-{self.span}-{self.flags:02x}"


def read_trace(header: str | None) -> tuple[str, int] | None:
    """Trace id and flags of a ``traceparent``, or None where it is not a valid one.

    >>> read_trace("00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01")
    ('0af7651916cd43dd8448eb211c80319c', 1)
    """
    found = _TRACE.fullmatch(header or "")
    if not found:
        return None
    version, trace, parent, flags, more = found.groups()
    # Version ff is forbidden; only later versions than 00 may go on after the flags.
    if version == "ff" or (version == "00" and more):
        return None
    if not trace.strip("0") or not parent.strip("0"):
        return None
    return trace, int(flags, 16) & _SAMPLED


def ids(request_id: str | None, traceparent: str | None) -> tuple[str, Trace]:
    """The ids of a request: those it came with, as far as they are well formed, else new ones."""
    made = os.urandom(40).hex()
    given = request_id is not None and _REQUEST_ID.fullmatch(request_id)
    trace, flags = read_trace(traceparent) or (made[32:64], 0)
    return request_id if given and request_id else made[:32], Trace(trace, made[64:], flags)


def told(request_id: str, trace: Trace) -> list[tuple[str, str]]:
    """The ids as header fields of the answer."""
    return [(REQUEST_ID, request_id), (RESPONSE, str(trace))]


def write(
    method: str,
    route: str | None,
    status: int,
    size: int | None,
    started: float,
    request_id: str,
    trace: Trace,
) -> None:
    """One line of JSON a request: no bodies, no queries, and the route rather than the path."""
    if not LOG.isEnabledFor(logging.INFO):
        return
    line = {
        "method": method,
        "route": route,
        "status": status,
        "milliseconds": round((time.perf_counter() - started) * 1000, 3),
        "bytes": size,
        "request_id": request_id,
        "trace_id": trace.trace,
        "span_id": trace.span,
    }
    LOG.info(json.dumps(line))


def start() -> None:
    """Settle the ids of this request, before anything else is done with it."""
    g.started = time.perf_counter()
    g.request_id, g.trace = ids(request.headers.get(REQUEST_ID), request.headers.get("traceparent"))


def mark(response: Response) -> Response:
    for name, value in told(g.request_id, g.trace):
        response.headers[name] = value
    return response


def log(response: Response) -> Response:
    rule = request.url_rule
    write(
        request.method,
        rule.rule if rule else None,
        response.status_code,
        response.content_length,
        g.started,
        g.request_id,
        g.trace,
    )
    return response
