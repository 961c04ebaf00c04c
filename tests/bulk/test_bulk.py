"""The bulk command against a running service: everything answered once, whatever happens."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from service.api.batch import LONGEST_LINE
from service.bulk.__main__ import main
from service.bulk.flatform import Unclear, flat_to_document
from service.bulk.reading import LONGEST
from tests.conftest import ROOT

CM_10 = {"value": 10, "unit": "cm"}
GAUGE = {"stitch": "single-crochet", "stitches": 16, "width": CM_10, "rows": 19, "height": CM_10}

TABLE = """\
id,template,measurements.width,measurements.body_height,units
pocket case,flap-panel,12cm,33 cm,
desk case,flap-panel,24cm,13in,metric
wrong unit,flap-panel,24ell,33cm,
too few,flap-panel,24cm
"wide
case",flap-panel,30cm,33cm,
,flap-panel,24cm,33cm,
"""


def answers(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def shapings(path: Path, lines: int) -> Path:
    body = ({"from": 38 + n % 9, "to": 20, "rows": 40 + n % 7} for n in range(lines))
    asked = ({"id": n, "operation": "shaping", "body": b} for n, b in enumerate(body))
    path.write_text("".join(json.dumps(line) + "\n" for line in asked))
    return path


def test_a_table_is_answered_row_by_row_and_bad_rows_stop_no_good_ones(
    server: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "kit.csv").write_text(TABLE)
    (tmp_path / "kit.json").write_text(json.dumps({"gauge": GAUGE}))
    code = main(
        [str(tmp_path / "kit.csv"), str(tmp_path / "kit.ndjson"), "--url", server,
         "--operation", "pieces", "--defaults", str(tmp_path / "kit.json"),
         "--set", "gauge.rows=20", "--lines", "2"]
    )  # fmt: skip
    assert code == 1
    told = answers(tmp_path / "kit.ndjson")
    assert [(t["id"], t["status"]) for t in told] == [
        ("pocket case", 200), ("desk case", 200), ("wrong unit", 400), (4, 400),
        ("wide\ncase", 200), (6, 200),
    ]  # fmt: skip
    # 24 cm at 1.6 a cm: 38 stitches and a chain; 13 in = 33.02 cm at 2 rows a cm: 66 rows.
    assert told[1]["body"]["foundation"]["chain"] == 39
    assert told[1]["body"]["sections"][0]["rows"] == 66
    assert "'24ell' is no quantity: units are mm, cm" in told[2]["body"]["detail"]
    assert "3 cells under a header of 5" in told[3]["body"]["detail"]
    assert "6 lines: 4 good, 2 refused, 0 failed" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["kit.csv", "kit.json", "kit.ndjson"]


def test_bytes_that_are_no_text_spoil_their_own_row_alone(server: str, tmp_path: Path) -> None:
    (tmp_path / "in.csv").write_bytes(
        b'\xef\xbb\xbfid,from,to,rows\na\xff,38,2,18\nb,38,2,18\xff\nc,38,2,18\n"d,38,2,18\n'
    )
    out = tmp_path / "out.ndjson"
    assert main([str(tmp_path / "in.csv"), str(out), "--url", server, "--operation", "shaping"])
    assert [(t["id"], t["status"]) for t in answers(out)] == [
        ("a?", 400), ("b", 400), ("c", 200), (4, 400),
    ]  # fmt: skip


def test_answers_as_a_table_have_a_row_each(server: str, tmp_path: Path) -> None:
    asked = tmp_path / "flaps.ndjson"
    asked.write_text('{"from": 38, "to": 2, "rows": 18}\n\n{"from": 38, "to": 2, "rows": 14}\n{\n')
    told = tmp_path / "flaps.csv"
    assert main([str(asked), str(told), "--url", server, "--operation", "shaping"]) == 1
    with told.open(newline="", encoding="utf-8") as file:
        fine, short, broken = csv.DictReader(file)
    assert (fine["id"], fine["status"], fine["stitches_at_end"]) == ("1", "200", "2")
    assert json.loads(fine["schedule"])[0]["times"] == 18
    assert (short["id"], short["status"]) == ("3", "422")
    assert "at least 18 rows" in short["problem.detail"]
    assert (broken["id"], broken["status"]) == ("4", "400")


def test_lines_of_any_kind_have_an_answer_each(server: str, tmp_path: Path) -> None:
    fine = b'{"id": "flap", "operation": "shaping", "body": {"from": 38, "to": 2, "rows": 18}}'
    lines = [fine, b"{", b"", b"\xff\x00", b"x" * 200_000, fine + b"\r", b"[]", b"[" * 9_000, fine]
    (tmp_path / "in.ndjson").write_bytes(b"\n".join(lines))
    code = main([str(tmp_path / "in.ndjson"), str(tmp_path / "out.ndjson"), "--url", server])
    assert code == 1
    told = [(t["id"], t.get("line"), t["status"]) for t in answers(tmp_path / "out.ndjson")]
    assert told == [
        ("flap", None, 200), (None, 2, 400), (None, 4, 400), (None, 5, 413), ("flap", None, 200),
        (None, 7, 422), (None, 8, 400), ("flap", None, 200),
    ]  # fmt: skip
    assert LONGEST == LONGEST_LINE


@pytest.mark.parametrize("kind", ["ndjson", "csv"])
def test_a_run_killed_at_any_moment_goes_on_with_nothing_lost_or_doubled(
    server: str, tmp_path: Path, kind: str
) -> None:
    asked, whole = shapings(tmp_path / "in.ndjson", 1_500), tmp_path / f"whole.{kind}"
    assert main([str(asked), str(whole), "--url", server]) == 0
    broken = tmp_path / f"broken.{kind}"
    part = tmp_path / f"broken.{kind}.part"
    command = [sys.executable, "-m", "service.bulk", str(asked), str(broken), "--url", server,
               "--lines", "20"]  # fmt: skip
    for kill in range(2):
        with subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE) as process:
            begun = part.stat().st_size if part.exists() else 0
            while process.poll() is None and (not part.exists() or part.stat().st_size <= begun):
                time.sleep(0.005)
            process.send_signal(signal.SIGKILL)
            process.communicate()
        assert process.returncode == -signal.SIGKILL
        assert not broken.exists()
        if kill:  # as a crash of the machine would leave it
            os.truncate(part, part.stat().st_size - 9)
    last = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    assert "going on after" in last.stderr
    assert broken.read_bytes() == whole.read_bytes()
    assert not part.exists()


Answer = Callable[[BaseHTTPRequestHandler, list[dict[str, Any]]], None]


@contextmanager
def stand_in(answer: Answer) -> Iterator[tuple[str, list[list[Any]]]]:
    """A service that answers as it is told, and the ids of the batches that it was sent."""
    batches: list[list[Any]] = []

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            lines = [json.loads(line) for line in body.splitlines()]
            batches.append([line["id"] for line in lines])
            answer(self, lines)

        def log_message(self, *_: Any) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_address[1]}", batches
        finally:
            server.shutdown()
            thread.join()


def reply(to: BaseHTTPRequestHandler, lines: list[dict[str, Any]], cut: bool = False) -> None:
    to.send_response(200)
    to.send_header("Connection", "close")
    to.end_headers()
    for line in lines:
        made = {"id": line["id"], "status": 200, "body": {}}
        to.wfile.write(json.dumps(made).encode() + b"\n")
    to.wfile.write(b'{"id": 9' if cut else b'{"summary": {"complete": true}}\n')
    to.close_connection = True


def test_what_was_answered_before_a_cut_is_kept_and_only_the_rest_asked_again(
    tmp_path: Path,
) -> None:
    def answer(to: BaseHTTPRequestHandler, lines: list[dict[str, Any]]) -> None:
        reply(to, lines[:3], cut=True) if len(lines) > 3 else reply(to, lines)

    asked, told = shapings(tmp_path / "in.ndjson", 8), tmp_path / "out.ndjson"
    with stand_in(answer) as (url, batches):
        assert main([str(asked), str(told), "--url", url]) == 0
    assert batches == [[*range(8)], [*range(3, 8)], [6, 7]]
    assert [t["id"] for t in answers(told)] == [*range(8)]


def test_a_line_that_breaks_the_service_is_given_up_and_the_others_answered(
    tmp_path: Path,
) -> None:
    def answer(to: BaseHTTPRequestHandler, lines: list[dict[str, Any]]) -> None:
        good = next((i for i, line in enumerate(lines) if line["id"] == 2), len(lines))
        reply(to, lines[:good], cut=good < len(lines))

    asked, told = shapings(tmp_path / "in.ndjson", 5), tmp_path / "out.ndjson"
    with stand_in(answer) as (url, _):
        assert main([str(asked), str(told), "--url", url, "--retries", "0"]) == 1
    assert [(t["id"], t["status"]) for t in answers(told)] == [
        (0, 200), (1, 200), (2, 500), (3, 200), (4, 200),
    ]  # fmt: skip


def test_a_service_that_says_when_is_asked_then(tmp_path: Path) -> None:
    times: list[float] = []

    def answer(to: BaseHTTPRequestHandler, lines: list[dict[str, Any]]) -> None:
        times.append(time.monotonic())
        if len(times) > 2:
            reply(to, lines)
            return
        status, wait = ((429, "1"), (503, "0"))[len(times) - 1]
        to.send_response(status)
        to.send_header("Retry-After", wait)
        to.send_header("Content-Length", "0")
        to.end_headers()

    asked, told = shapings(tmp_path / "in.ndjson", 2), tmp_path / "out.ndjson"
    with stand_in(answer) as (url, _):
        assert main([str(asked), str(told), "--url", url]) == 0
    assert times[1] - times[0] >= 1  # RFC 9110, Retry-After in seconds


def test_a_service_that_is_not_there_ends_the_run_which_can_go_on(
    server: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked, told = shapings(tmp_path / "in.ndjson", 5), tmp_path / "out.ndjson"
    assert main([str(asked), str(told), "--url", "http://127.0.0.1:9", "--retries", "0"]) == 2
    assert "run the same again" in capsys.readouterr().err
    assert main([str(asked), str(told), "--url", server]) == 0
    assert len(answers(told)) == 5


@pytest.mark.parametrize("terminal", [True, False])
def test_progress_is_shown_to_a_terminal_and_to_nothing_else(
    server: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    terminal: bool,
) -> None:
    asked = shapings(tmp_path / "in.ndjson", 4)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: terminal)
    assert main([str(asked), str(tmp_path / "out.ndjson"), "--url", server]) == 0
    assert ("4/4 [" in capsys.readouterr().err) is terminal


def test_what_is_in_the_way_is_not_touched(server: str, tmp_path: Path) -> None:
    asked, told = shapings(tmp_path / "in.ndjson", 2), tmp_path / "out.ndjson"
    told.write_text("mine\n")
    command = [str(asked), str(told), "--url", server]
    assert main(command) == 2
    assert told.read_text() == "mine\n"
    told.unlink()
    # An unfinished run of another input.
    (tmp_path / "out.ndjson.part").write_text('{"id": 7, "status": 200, "body": {}}\n')
    (tmp_path / "out.ndjson.state").write_text("of another input")
    assert main(command) == 2
    assert main([*command, "--anew"]) == 0
    assert [t["id"] for t in answers(told)] == [0, 1]


@pytest.mark.parametrize(
    ("name", "text", "options"),
    [
        ("a.csv", "", []),
        ("a.csv", "id,from,from\n", []),
        ("a.csv", "id,from,\n", []),
        ("a.csv", "from\n38\n", ["--set", "to"]),
        ("a.csv", "from\n38\n", ["--set", "to={"]),
        ("a.csv", "from\n38\n", ["--defaults", "nowhere.json"]),
        ("a.ndjson", "{}\n", ["--set", "to=20"]),
        ("nowhere.ndjson", None, []),
    ],
)
def test_a_run_that_cannot_be_made_says_so(
    server: str, tmp_path: Path, name: str, text: str | None, options: list[str]
) -> None:
    if text is not None:
        (tmp_path / name).write_text(text)
    out = tmp_path / "out.ndjson"
    assert main([str(tmp_path / name), str(out), "--url", server, *options]) == 2
    assert not out.exists()


@pytest.mark.parametrize(
    ("pairs", "document"),
    [
        ([("a.b", "1"), ("a.c", "-2.50")], {"a": {"b": 1, "c": -2.5}}),
        ([("w", "24.5cm"), ("h", "13 in")],
         {"w": {"value": 24.5, "unit": "cm"}, "h": {"value": 13, "unit": "in"}}),
        ([("w.value", "24.5"), ("w.unit", "cm")], {"w": {"value": 24.5, "unit": "cm"}}),
        ([("uses.0", "heat"), ("uses.1", "carrying")], {"uses": ["heat", "carrying"]}),
        ([("uses", '["heat"]'), ("n", '"16"')], {"uses": ["heat"], "n": "16"}),
        ([("a", "true"), ("b", " flap-panel "), ("c", "size 16"), ("d", "007")],
         {"a": True, "b": "flap-panel", "c": "size 16", "d": "007"}),
    ],
)  # fmt: skip
def test_names_and_texts_make_a_document(pairs: Any, document: Any) -> None:
    assert flat_to_document(pairs) == document


@pytest.mark.parametrize(
    "pairs", [[("a", "1"), ("a.b", "2")], [("a.b", "2"), ("a", "1")], [("a", "24 ell")],
              [("a", "{")], [("a", '{"b": 1, "b": 2}')], [("a", "1e999")], [("a", "1e999cm")],
              [("a", "[NaN]")], [("a", "9" * 5000)], [("a", "9" * 5000 + "cm")]],
)  # fmt: skip
def test_names_and_texts_that_contradict_are_refused(pairs: Any) -> None:
    with pytest.raises(Unclear):
        flat_to_document(pairs)
