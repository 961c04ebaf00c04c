"""The trials of deploy/trials.py, each made short: they run, and what does not hang on time holds.

What a busy machine may change (how soon, how many a second) is told by the trials and not judged
here; so is memory, which takes minutes to judge.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from service.api.path_documents import ROOT

sys.path.insert(0, str(ROOT / "deploy"))
from faults import asking, full_disk, load, numbered, overload, questions, serving, soak, watching
from faults.findings import Finding
from trials import TRIALS

sys.path.pop(0)

# Seconds asked, and what else makes it short. Capacity is told, and is far below what there is.
LITTLE = ("--capacity", "60", "--questions", "90")
SHORT: dict[str, tuple[float, tuple[str, ...]]] = {
    "capacity": (1.2, ("--measure", "1", "--questions", "90")),
    "soak": (1.2, LITTLE),
    # More than any machine here could answer.
    "overload": (1, ("--capacity", "2000", "--questions", "90", "--set", "QUEUE=20")),
    "killing": (1.2, LITTLE),
    "reload": (3, LITTLE),
    "slow": (2, LITTLE),
    "clock": (1, LITTLE),
    "full-disk": (3, LITTLE),
    "read-only": (1, LITTLE),
}


def made(name: str, folder: Path, *more: str) -> tuple[int, dict[str, dict[str, Any]]]:
    """The exit code of a trial, and its findings by what each is of."""
    seconds, options = SHORT[name]
    told = folder / "found.json"
    command = [sys.executable, "deploy/trials.py", name, "--minutes", str(seconds / 60),
               "--json", str(told), *options, *more]  # fmt: skip
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert told.exists(), done.stdout + done.stderr
    findings = json.loads(told.read_text())["findings"]
    assert all(finding["what"] in done.stdout for finding in findings)
    return done.returncode, {finding["what"]: finding for finding in findings}


def test_each_trial_has_a_short_form_here() -> None:
    assert set(SHORT) == set(TRIALS)


@pytest.mark.parametrize("name", SHORT)
def test_a_trial_made_short_holds(name: str, tmp_path: Path) -> None:
    code, findings = made(name, tmp_path)
    wrong = [one for one in findings.values() if one["holds"] is False]
    assert [one for one in wrong if not one["timed"]] == []
    assert code == bool(wrong)
    assert sum(one["holds"] is True for one in findings.values()) >= 3


@pytest.fixture(scope="module")
def asked() -> questions.Questions:
    return questions.questions(90)


def test_questions_are_many_different_and_of_many_operations(asked: questions.Questions) -> None:
    sent = [one for one, _, _ in asked.known]
    assert len(set(sent)) == len(sent) == 90
    assert {one.split(b" ")[0] for one in sent} == {b"POST", b"QUERY", b"GET"}
    paths = {one.split(b" ")[1].split(b"?")[0] for one in sent}
    assert len(paths) >= 9
    assert {status for _, status, _ in asked.known} == {200, 422}
    new = {numbered.fresh(asked.templates[n % len(asked.templates)], n)[0] for n in range(2000)}
    assert len(new) == 2000
    assert not new & set(sent)


class Pretender(threading.Thread):
    """A server that answers what it is asked with what it was given, in turn; None breaks the
    connection off. It says nothing for so long after it was first asked."""

    def __init__(self, answers: list[bytes | None], silence: float = 0) -> None:
        super().__init__(daemon=True)
        self.answers, self.silence = iter(answers), silence
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.listening.getsockname()[1]

    def run(self) -> None:
        speaks = threading.Event()
        while True:
            try:
                connection, _ = self.listening.accept()
            except OSError:
                return
            threading.Thread(target=self.serve, args=(connection, speaks), daemon=True).start()

    def serve(self, connection: socket.socket, speaks: threading.Event) -> None:
        with connection:
            while connection.recv(65536):
                if self.silence:
                    threading.Timer(self.silence, speaks.set).start()
                    speaks.wait()
                answer = next(self.answers, None)
                if answer is None:
                    break
                connection.sendall(answer)


def http(status: int, body: bytes, *fields: str) -> bytes:
    head = "\r\n".join([f"HTTP/1.1 {status} Kit", f"Content-Length: {len(body)}", *fields])
    return head.encode() + b"\r\n\r\n" + body


GOOD = http(200, b"{}")
QUESTION = questions.Questions([(b"GET /kit HTTP/1.1\r\nHost: localhost\r\n\r\n", 200, b"{}")], [])


@pytest.fixture
def ask() -> Iterator[Any]:
    """Ask a pretender a question at a time, over one connection."""
    with ExitStack() as stack:

        def asks(answers: list[bytes | None], seconds: float = 0.1, **more: Any) -> asking.Seen:
            server = Pretender(answers)
            stack.callback(server.listening.close)
            server.start()
            with asking.Run(server.port, QUESTION, at_once=1, seconds=seconds, new=0,
                            connections=1, **more) as run:  # fmt: skip
                return run.seen()

        yield asks


BAD: list[tuple[bytes | None, int]] = [
    (http(200, b"{ }"), load.WRONG),
    (http(200, b"{}x"), load.WRONG),
    (http(404, b"{}"), load.WRONG),
    (http(500, b"{}"), load.WRONG),
    (http(503, b"{}", "Retry-After: 1"), 503),
    (http(429, b"{}"), 429),
    (http(502, b""), 502),
    (None, load.LOST),
    (GOOD[:-1], load.TIMED_OUT),
    (b"HTTP/1.1 200 Kit\r\n", load.TIMED_OUT),
]


def test_the_sender_sees_every_answer_that_is_not_right(ask: Any) -> None:
    answers = [one for bad, _ in BAD for one in (GOOD, bad, GOOD)] + [GOOD] * 100_000
    seen = ask(answers, seconds=1, patience=0.2)
    assert seen.failed == seen.raw == Counter(how for _, how in BAD)
    assert [how for _, _, how in seen.all[: 3 * len(BAD)]] == [
        one for _, how in BAD for one in (200, how, 200)
    ]
    assert seen.wrong == 4


def test_the_sender_asks_again_as_the_rule_has_it(ask: Any) -> None:
    # A broken connection: half a second. Told 0 seconds: at once. Then a second, since it is the
    # third time, unless told.
    later = http(503, b"", "Retry-After: 0")
    seen = ask([None, later, later, *[GOOD] * 100_000], retry=True)
    assert seen.raw == {load.LOST: 1, 503: 2}
    assert not seen.failed
    (first, *_) = seen.times()
    assert 0.5 <= first < 5


def test_the_sender_gives_up_after_five_more_times(ask: Any) -> None:
    seen = ask([http(503, b"", "Retry-After: 0")] * 6 + [GOOD] * 100_000, retry=True)
    assert seen.raw == {503: 6}
    assert seen.failed == {503: 1}


def test_a_time_is_counted_from_when_the_question_was_due() -> None:
    server = Pretender([GOOD] * 1000, silence=0.6)
    server.start()
    with asking.Run(server.port, QUESTION, [(0.3, 100.0)], new=0) as run:
        seen = run.seen()
    server.listening.close()
    assert len(seen.all) > 10
    # None was answered before the silence was over, so that each took what was left of it.
    assert all(due + took >= 0.6 for due, took, _ in seen.all)
    assert min(due for due, _, _ in seen.all) < 0.15


def test_growth_is_seen_and_flatness_is_let_be() -> None:
    def life(descriptors: Any, resident: Any) -> watching.Life:
        made = watching.Life("server 1, worker")
        for n in range(120):
            made.at.append(5.0 * n)
            made.descriptors.append(int(descriptors(n)))
            made.resident.append(int(resident(n)))
            made.share.append(10**7)
        return made

    def judged(*made: watching.Life, full: float | None = 100) -> list[bool | None]:
        return [finding.holds for finding in soak.growth([*made], 600, full)]

    assert judged(life(lambda n: 13 + n % 3, lambda n: 5e7 + 1e5 * (n % 7))) == [True, True]
    # A fifth a sample is 8 in the time that is judged, 4 from half to half; then 1 % a minute.
    assert judged(life(lambda n: 13 + n / 5, lambda n: 5e7)) == [False, True]
    # Many at once are no leak if they go again, however late they come.
    assert judged(life(lambda n: 150 if n > 110 and n % 3 else 13, lambda n: 5e7)) == [True, True]
    # What goes from one worker to its like is none either.
    gone, come = (life(lambda n, by=by: 40 + by * (n > 90), lambda n: 5e7) for by in (-9, 9))
    assert judged(gone, come) == [True, True, True]
    assert judged(come) == [False, True]
    assert judged(life(lambda n: 13, lambda n: 5e7 * (1 + 0.01 * n / 12))) == [True, False]
    # What fills up at the beginning is no growth; before it is full nothing can be said.
    assert judged(life(lambda n: 13, lambda n: min(5e7 + 1e6 * n, 7e7))) == [True, True]
    assert judged(life(lambda n: 13, lambda n: 5e7 + 1e6 * n), full=None) == [True, None]


def test_recovery_is_the_last_of_what_was_late_or_told_no() -> None:
    class Seen:
        @staticmethod
        def within(start: float) -> list[tuple[float, float, int]]:
            return [(10.1, 0.4, 200), (10.6, 0.01, 503), (11.0, 0.2, 200)]

    assert overload.recovery(Seen(), 10) == pytest.approx(0.6)  # type: ignore[arg-type]


def test_a_line_that_was_cut_is_counted() -> None:
    assert full_disk.lines_of('{"method": "GET"}\n{"method": "G\n[1] told\n') == (1, 1)


def test_the_table_says_no_where_something_does_not_hold() -> None:
    from faults.findings import table

    text = table([Finding("failed", "1 x 502", "none", False)])
    assert text.splitlines()[1].split()[-1] == "NO"


def test_a_log_that_is_full_says_nothing_elsewhere(tmp_path: Path) -> None:
    told = tmp_path / "told"
    environment = {**os.environ, "BIND": f"unix:{tmp_path}/s", "WORKERS": "1"}
    with Path("/dev/full").open("wb") as full, told.open("wb") as errors:
        process = subprocess.Popen(serving.gunicorn(), cwd=ROOT, env=environment, stdout=full,
                                   stderr=errors)  # fmt: skip
        try:
            server = serving.Server(tmp_path, 1, 1, serving.How())
            server.socket = tmp_path / "s"
            serving.until(server.answers, "an answer")
            assert all(server.answers() for _ in range(20))
        finally:
            serving.stop(process)
    assert "Traceback" not in told.read_text()
