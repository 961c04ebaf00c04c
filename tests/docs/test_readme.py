"""The README's tour is run as written, against a running service, and answers as it says."""

from __future__ import annotations

import json
import re
import subprocess

import pytest

from tests.conftest import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"```sh\n(?P<command>curl .*?)```\n\n```(?P<kind>\w+)\n(?P<answer>.*?)```", re.S)
TOUR = [(m["command"], m["kind"], m["answer"]) for m in BLOCK.finditer(README)]


def run(command: str, server: str) -> str:
    here = command.replace("http://127.0.0.1:8000", server)
    return subprocess.run(
        ["bash", "-c", here], cwd=ROOT, capture_output=True, text=True, check=True, timeout=30
    ).stdout


@pytest.mark.parametrize(
    ("command", "kind", "answer"), TOUR, ids=[f"stop {i}" for i in range(1, len(TOUR) + 1)]
)
def test_a_stop_of_the_tour_answers_as_the_readme_says(
    server: str, command: str, kind: str, answer: str
) -> None:
    told = run(command, server)
    if kind == "json":
        assert json.loads(told) == json.loads(answer)
    else:
        assert told.strip() == answer.strip()


def test_the_tour_has_all_its_stops() -> None:
    assert len(TOUR) == README.count("```sh\ncurl") == 7


def test_the_two_commands_are_the_ones_ci_and_the_reader_run() -> None:
    for command in ("deploy/run", "deploy/test"):
        assert f"```sh\n{command}\n```" in README
        assert (ROOT / command).stat().st_mode & 0o111
    assert "deploy/test" in (ROOT / ".ci" / "run").read_text()
