"""What the README shows is run as written, against a running service, and answers as it says."""

from __future__ import annotations

import json
import re

import pytest

from tests.conftest import ROOT
from tests.docs.tour import BLOCK, shown
from tests.docs.tour import README as FILE

README = FILE.read_text(encoding="utf-8")
TOUR = [(m["asked"], m["language"], m["kind"], m["answer"]) for m in BLOCK.finditer(README)]


@pytest.mark.parametrize(
    ("asked", "language", "kind", "answer"), TOUR, ids=[f"stop {i + 1}" for i in range(len(TOUR))]
)
def test_a_stop_of_the_tour_answers_as_the_readme_says(
    server: str, asked: str, language: str, kind: str, answer: str
) -> None:
    told = shown(asked, language, server)
    if kind == "json":
        assert json.loads(told) == json.loads(answer)
    else:
        # A trailing blank that a command prints is not kept in the page.
        assert [line.rstrip() for line in told.strip().splitlines()] == [
            line.rstrip() for line in answer.strip().splitlines()
        ]


def test_the_tour_has_all_its_stops() -> None:
    starts = re.findall(r"```sh\n(?:curl|size-in-bulk)|```python\n", README)
    assert len(TOUR) == len(starts) == 26


def test_every_operation_stands_in_the_table_of_what_there_is() -> None:
    from service.api.operations import OPERATIONS

    for operation in OPERATIONS:
        assert f"| `POST {operation.path}` |" in README


def test_the_two_commands_are_the_ones_ci_and_the_reader_run() -> None:
    for command in ("deploy/run", "deploy/test"):
        assert f"```sh\n{command}\n```" in README
        assert (ROOT / command).stat().st_mode & 0o111
    assert "deploy/test" in (ROOT / ".ci" / "run").read_text()
