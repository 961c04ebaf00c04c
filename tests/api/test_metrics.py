"""What /metrics tells, read by Prometheus' own parser, and who is told to go elsewhere."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from mmap import mmap
from pathlib import Path

import pytest
import requests
from flask.testing import FlaskClient
from prometheus_client.openmetrics.parser import text_string_to_metric_families as open_families
from prometheus_client.parser import text_string_to_metric_families as families

from service import __version__
from service.api import health, metrics
from service.api.processes import children
from tests.conftest import ROOT, serving

Samples = dict[tuple[str, frozenset[tuple[str, str]]], float]


def samples(text: str) -> Samples:
    return {
        (s.name, frozenset(s.labels.items())): s.value
        for family in families(text)
        for s in family.samples
    }


def key(name: str, **labels: str) -> tuple[str, frozenset[tuple[str, str]]]:
    return name, frozenset(labels.items())


@pytest.fixture(scope="module")
def two_workers() -> Iterator[str]:
    with serving() as base:
        yield base


def test_counts_are_those_of_all_workers_whichever_is_asked(two_workers: str) -> None:
    asked = 40
    for _ in range(asked):  # each over a connection of its own: either worker may take it
        requests.get(f"{two_workers}/v1/shaping?from=38&to=20&rows=40", timeout=10)
    requests.get(f"{two_workers}/v1/shaping?from=word", timeout=10)
    lines = b'{"id": 1, "operation": "shaping", "body": {"from": 8, "to": 2, "rows": 3}}\n{}\n'
    kind = {"Content-Type": "application/x-ndjson"}
    requests.post(f"{two_workers}/v1/batch", lines, headers=kind, timeout=10)
    good = key("sizing_requests_total", method="GET", route="/v1/shaping", status="200")
    for _ in range(6):
        answer = requests.get(f"{two_workers}/metrics", timeout=10)
        assert answer.headers["Cache-Control"] == "no-store"
        told = samples(answer.text)
        assert told[good] == asked
        bad = key("sizing_requests_total", method="GET", route="/v1/shaping", status="422")
        assert told[bad] == 1
        timed = key("sizing_request_seconds_count", method="GET", route="/v1/shaping")
        assert told[timed] == asked + 1
        for status in ("200", "422"):
            assert told[key("sizing_batch_lines_total", status=status)] == 1
    # Each worker reckoned the question once at most.
    assert told[key("sizing_kept_total", store="answers", found="yes")] >= asked - 2
    assert told[key("sizing_kept_bytes", store="answers")] > 0
    memory = {dict(k)["pid"]: v for (name, k), v in told.items() if "memory" in name}
    assert len(memory) == 2
    assert all(5e6 < size < 1e9 for size in memory.values())
    assert told[key("sizing_build", version=__version__)] == 1


def test_no_caller_makes_a_series_and_none_is_told_of(client: FlaskClient) -> None:
    for name in ("secret-1", "secret-2"):
        client.get(f"/{name}")
        client.get(f"/v1/templates/{name}")
        client.open("/v1/shaping", method=name.upper())
        client.get(f"/v1/shaping?{name}=1", headers={"X-Request-Id": name, "Origin": name})
    answer = client.get("/metrics")
    assert "secret" not in answer.text.lower()
    told = samples(answer.text)
    one = key("sizing_requests_total", method="GET", route="/v1/templates/<name>", status="404")
    assert told[one] >= 2
    assert told[key("sizing_requests_total", method="other", route="none", status="405")] >= 2


def test_openmetrics_is_told_to_who_asks_for_it(client: FlaskClient) -> None:
    client.get("/livez")
    kind = "application/openmetrics-text; version=1.0.0"
    answer = client.get("/metrics", headers={"Accept": kind})
    assert answer.mimetype == "application/openmetrics-text"
    assert {f.name for f in open_families(answer.text)} >= {"sizing_requests", "sizing_build"}
    assert client.get("/metrics", headers={"Accept": "text/plain"}).mimetype == "text/plain"


def test_what_the_workers_keep_is_counted(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = {"store": "answers"}

    def looked() -> dict[str, float]:
        told = samples(client.get("/metrics").text)
        return {f: told.get(key("sizing_kept_total", **here, found=f), 0) for f in ("yes", "no")}

    before, stats = looked(), {"hits": 3, "misses": 1, "bytes": 900}
    monkeypatch.setattr(metrics, "_stores", {})
    metrics.watch("answers", lambda: stats)
    stats["hits"], stats["misses"] = 5, 2
    client.get("/livez")
    stats["hits"] = 8
    client.get("/livez")
    assert samples(client.get("/metrics").text)[key("sizing_kept_bytes", **here)] == 900
    assert {f: count - before[f] for f, count in looked().items()} == {"yes": 5, "no": 1}


def test_a_server_that_drains_is_not_ready_but_alive(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(health, "_leaving", mmap(-1, 1))
    assert client.get("/readyz").status_code == 200
    health.drain()
    refused = client.get("/readyz")
    assert (refused.status_code, refused.mimetype) == (503, "application/problem+json")
    assert refused.headers["Retry-After"] == "1"
    assert client.get("/livez").status_code == 200


def test_a_reload_keeps_the_counts_and_sigterm_leaves_time_to_go_elsewhere(tmp_path: Path) -> None:
    at = tmp_path / "metrics"
    at.mkdir()
    with (
        serving(DRAIN_SECONDS="1", METRICS_DIR=str(at), ACCESS_LOG="off") as base,
    ):
        server = int(next(at.iterdir()).name.rsplit("-", 1)[1])
        livez = key("sizing_requests_total", method="GET", route="/livez", status="200")
        requests.get(f"{base}/livez", timeout=2)
        os.kill(server, signal.SIGHUP)  # its workers are replaced, and what they counted is not
        time.sleep(0.5)
        requests.get(f"{base}/livez", timeout=2)
        assert samples(requests.get(f"{base}/metrics", timeout=2).text)[livez] == 2
        os.kill(server, signal.SIGTERM)
        time.sleep(0.2)
        for _ in range(6):  # whichever worker
            assert requests.get(f"{base}/readyz", timeout=2).status_code == 503
            question = f"{base}/v1/shaping?from=38&to=20&rows=40"
            assert requests.get(question, timeout=2).status_code == 200
        began = time.monotonic()
        while time.monotonic() - began < 5:
            try:
                requests.get(f"{base}/livez", timeout=2)
            except requests.ConnectionError:
                break
            time.sleep(0.05)
        else:
            pytest.fail("it did not stop")
        for _ in range(100):
            if not any(at.iterdir()):
                break
            time.sleep(0.05)
        assert not any(at.iterdir())  # the folder of counts goes with the server


def test_who_starts_clears_away_what_a_killed_server_left_and_nothing_else(tmp_path: Path) -> None:
    def there() -> set[str]:
        return {folder.name for folder in tmp_path.iterdir()}

    settings = {"METRICS_DIR": str(tmp_path), "ACCESS_LOG": "off", "WORKERS": "1"}
    # Named as if this very process had left it, which is there and is no gunicorn.
    taken = f"sizing-metrics-{os.getuid()}-{os.getpid()}"
    for name, locked in ((taken, True), (f"sizing-metrics-{os.getuid()}-1", False), ("pen", True)):
        (tmp_path / name).mkdir()
        (tmp_path / name / ("lived-in" if locked else "counter_1.db")).touch()
    kept = there() - {taken}
    with serving(**settings) as alive:
        (living,) = there() - kept
        requests.get(f"{alive}/livez", timeout=10)
        with serving(**settings):
            (left,) = there() - kept - {living}
            server = int(left.rsplit("-", 1)[1])
            (worker,) = children(server)
            os.kill(worker, signal.SIGSTOP)  # else it notices, and goes too
            os.kill(server, signal.SIGKILL)
        with serving(**settings):
            assert there() > kept | {living, left}  # its worker may still count
        os.kill(worker, signal.SIGKILL)
        with serving(**settings):
            assert len(there() - kept - {living}) == 1
            assert left not in there()
        livez = key("sizing_requests_total", method="GET", route="/livez", status="200")
        assert samples(requests.get(f"{alive}/metrics", timeout=10).text)[livez] == 1


def test_a_process_begins_anew_where_one_of_its_id_was(tmp_path: Path) -> None:
    script = """
import os, pathlib, runpy
left = pathlib.Path(os.environ["METRICS_DIR"], f"sizing-metrics-{os.getuid()}-{os.getpid()}")
left.mkdir()
(left / "counter_1.db").touch()  # and no lock, as where it was killed before it had one
runpy.run_path("deploy/gunicorn.conf.py")
assert os.listdir(left) == ["lived-in"]
runpy.run_path("deploy/gunicorn.conf.py")  # as at a reload
assert os.listdir(left) == ["lived-in"]
"""
    environment = {**os.environ, "METRICS_DIR": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert not done.returncode, done.stderr


def test_counting_reads_no_file_and_needs_no_gunicorn() -> None:
    script = (
        "from service import create_app; c = create_app().test_client();"
        "assert c.get('/livez').status_code == 200; t = c.get('/metrics').text;"
        "assert 'route=\"/livez\"' in t and t.count('kind=\"resident\"') == 1"
    )
    environment = {k: v for k, v in os.environ.items() if k != "PROMETHEUS_MULTIPROC_DIR"}
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=environment, check=True)


def test_no_room_for_counts_costs_no_worker(tmp_path: Path) -> None:
    """A full file system: what is counted is not told, and what is asked is answered."""
    script = """
import errno, os
def full(file, start, length):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
os.posix_fallocate = full
from service import create_app
client = create_app().test_client()
for rows in range(40, 44):
    assert client.get(f"/v1/shaping?from=38&to=20&rows={rows}").status_code == 200
told = client.get("/metrics")
assert told.status_code == 200 and "sizing_build" in told.text
assert not os.listdir(os.environ["PROMETHEUS_MULTIPROC_DIR"])
"""
    environment = {**os.environ, "PROMETHEUS_MULTIPROC_DIR": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert not done.returncode, done.stderr
    assert "No space left on device" in done.stderr


def test_the_room_for_all_series_is_taken_at_once(tmp_path: Path) -> None:
    """Every route asked by each of its methods, refused and answered: no file outgrows its room."""
    script = """
import os
from service import create_app
from service.api.metrics import counted
app = create_app()
for rule in app.url_map.iter_rules():
    for method in rule.methods:
        for status in (200, 304, 422, 503):
            counted(method, rule.rule, status, 0.0)
from service.api.metric_files import ROOM
for name in os.listdir(os.environ["PROMETHEUS_MULTIPROC_DIR"]):
    path = os.path.join(os.environ["PROMETHEUS_MULTIPROC_DIR"], name)
    assert os.stat(path).st_size == ROOM, (name, os.stat(path).st_size)
    assert os.stat(path).st_blocks * 512 >= ROOM, "there are holes in it"
"""
    environment = {**os.environ, "PROMETHEUS_MULTIPROC_DIR": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert not done.returncode, done.stderr
