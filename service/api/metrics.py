"""What whoever runs the service can watch: Prometheus metrics, summed over one server's workers.

Series are by route template, known method, status and process id: nothing that a caller sends
becomes a label, so that no caller can make them many and no question can be read from them.

Where ``PROMETHEUS_MULTIPROC_DIR`` names a folder before this is imported, every worker counts in
files there and any of them can tell of all; deploy/gunicorn.conf.py sees to that.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from flask import Response, g, request
from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.exposition import choose_encoder
from prometheus_client.metrics_core import Metric
from prometheus_client.multiprocess import MultiProcessCollector

from .. import __version__
from . import metric_files
from .processes import children, memory_of

metric_files.reserve()

_OWN = CollectorRegistry()
_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "POST", "QUERY"})
# From half a millisecond, which most answers take, to what nginx waits for at most.
_BOUNDS = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)

REQUESTS = Counter(
    "sizing_requests", "Requests answered", ["method", "route", "status"], registry=_OWN
)
SECONDS = Histogram(
    "sizing_request_seconds",
    "Seconds from a request's headers to the end of its answer, in the worker",
    ["method", "route"], buckets=_BOUNDS, registry=_OWN,
)  # fmt: skip
LINES = Counter("sizing_batch_lines", "Lines of batches answered", ["status"], registry=_OWN)
LOOKS = Counter(
    "sizing_kept", "Looks into what the workers keep: whole answers, and what counts alike share",
    ["store", "found"], registry=_OWN,
)  # fmt: skip
HELD = Gauge(
    "sizing_kept_bytes", "Bytes that the workers' stores hold together",
    ["store"], registry=_OWN, multiprocess_mode="livesum",
)  # fmt: skip

LEFT_OUT = Counter(
    "sizing_log_lines_left_out", "Lines of logs that were not taken at once, and so left out",
    ["stream"], registry=_OWN,
)  # fmt: skip

_Series = tuple[Callable[[], None], Callable[[float], None]]
_series: dict[tuple[str, str, int], _Series] = {}
_lines: dict[int, Callable[[], None]] = {}


@dataclass(slots=True)
class _Watched:
    """A store: what it tells of itself, and what of that was counted last."""

    name: str
    stats: Callable[[], Mapping[str, int]]
    told: Mapping[str, int]


_stores: dict[str, _Watched] = {}
_logs: dict[str, Callable[[], int]] = {}


def watch(store: str, stats: Callable[[], Mapping[str, int]]) -> None:
    """Count what a store tells of itself: ``hits`` and ``misses`` from now on, and ``bytes`` that
    it holds now."""
    _stores[store] = _Watched(store, stats, {**stats(), "bytes": -1})


def watch_log(stream: str, left_out: Callable[[], int]) -> None:
    """Count the lines that a log left out since it was asked last. It is asked at each request, and
    tells nothing by itself: to count may write a line of its own."""
    _logs[stream] = left_out


def count(response: Response) -> Response:
    """Count the request that this answers; a streamed answer, when it has been sent."""
    rule = request.url_rule
    method = request.method if request.method in _METHODS else "other"
    key = (method, rule.rule if rule else "none", response.status_code)
    if response.is_streamed:
        response.call_on_close(partial(counted, *key, g.started))
    else:
        counted(*key, g.started)
    return response


def counted(method: str, route: str, status: int, started: float) -> None:
    """Count a request of a known method and route, begun at that reading of ``perf_counter``."""
    key = (method, route, status)
    series = _series.get(key)
    if series is None:
        series = _series[key] = (
            REQUESTS.labels(method, route, status).inc, SECONDS.labels(method, route).observe,
        )  # fmt: skip
    add, observe = series
    add()
    observe(time.perf_counter() - started)
    for store in _stores.values():
        _look(store)
    for stream, left_out in _logs.items():
        if more := left_out():
            LEFT_OUT.labels(stream).inc(more)


def _look(store: _Watched) -> None:
    now, told = store.stats(), store.told
    for name, found in (("hits", "yes"), ("misses", "no")):
        if more := now[name] - told[name]:
            LOOKS.labels(store.name, found).inc(more)
    if now["bytes"] != told["bytes"]:
        HELD.labels(store.name).set(now["bytes"])
    store.told = dict(now)


def line(status: int) -> None:
    """Count a line of a batch."""
    add = _lines.get(status)
    if add is None:
        add = _lines[status] = LINES.labels(status).inc
    add()


class _Scraped:
    """What is looked up when it is asked for."""

    def collect(self) -> Iterator[Metric]:
        build = GaugeMetricFamily("sizing_build", "The version that serves", labels=["version"])
        build.add_metric([__version__], 1)
        yield build
        told = "Bytes of memory of a worker, by kind: resident, and its proportional share"
        memory = GaugeMetricFamily("sizing_worker_memory_bytes", told, labels=["pid", "kind"])
        for pid in workers():
            for kind, size in memory_of(pid).items():
                memory.add_metric([str(pid), kind], size)
        yield memory


def workers() -> list[int]:
    """Process ids of the workers of this server; where there is but one process, that one."""
    # A parent that is no gunicorn may have other children.
    ours = "PROMETHEUS_MULTIPROC_DIR" in os.environ
    return (sorted(children(os.getppid())) if ours else []) or [os.getpid()]


def exposed(accept: str | None) -> tuple[bytes, str]:
    """All metrics as text, and its media type: Prometheus' own, or OpenMetrics where asked for."""
    registry = CollectorRegistry()
    if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    else:
        registry.register(_OWN)
    registry.register(_Scraped())
    write, media_type = choose_encoder(accept or "")
    return write(registry), media_type
