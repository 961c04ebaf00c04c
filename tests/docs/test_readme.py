"""The README's tour is run as written, against a running service, and answers as it says."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys

import pytest

from tests.conftest import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"```sh\n(?P<command>curl .*?)```\n\n```(?P<kind>\w+)\n(?P<answer>.*?)```", re.S)
TOUR = [(m["command"], m["kind"], m["answer"]) for m in BLOCK.finditer(README)]


# The tour must also run where there is no curl: this stands in for the few options it uses.
CURL = """#!{python}
import sys
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

url, headers, data, arguments = "", {{}}, None, iter(sys.argv[1:])
for argument in arguments:
    if argument == "-H":
        name, value = next(arguments).split(": ", 1)
        headers[name] = value
    elif argument in ("-d", "--data-binary"):
        text = next(arguments)
        data = Path(text[1:]).read_bytes() if text.startswith("@") else text.encode()
    elif argument != "-s":
        url = argument
try:
    answer = urlopen(Request(url, data, headers))
except HTTPError as error:
    answer = error
sys.stdout.buffer.write(answer.read())
"""


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("bin")
    for name, text in (
        ("curl", CURL.format(python=sys.executable)),
        ("python3", f'#!/bin/sh\nexec "{sys.executable}" "$@"\n'),
    ):
        (folder / name).write_text(text)
        (folder / name).chmod(0o755)
    return f"{folder}:{os.environ['PATH']}"


def run(command: str, server: str, path: str) -> str:
    here = command.replace("http://127.0.0.1:8000", server)
    return subprocess.run(
        ["bash", "-c", here], cwd=ROOT, env={**os.environ, "PATH": path, "PYTHONUTF8": "1"},
        capture_output=True, text=True, check=True, timeout=30, encoding="utf-8",
    ).stdout  # fmt: skip


@pytest.mark.parametrize(
    ("command", "kind", "answer"), TOUR, ids=[f"stop {i}" for i in range(1, len(TOUR) + 1)]
)
def test_a_stop_of_the_tour_answers_as_the_readme_says(
    server: str, path: str, command: str, kind: str, answer: str
) -> None:
    told = run(command, server, path)
    if kind == "json":
        assert json.loads(told) == json.loads(answer)
    else:
        assert told.strip() == answer.strip()


def test_the_tour_has_all_its_stops() -> None:
    assert len(TOUR) == README.count("```sh\ncurl") == 10


def test_the_two_commands_are_the_ones_ci_and_the_reader_run() -> None:
    for command in ("deploy/run", "deploy/test"):
        assert f"```sh\n{command}\n```" in README
        assert (ROOT / command).stat().st_mode & 0o111
    assert "deploy/test" in (ROOT / ".ci" / "run").read_text()
