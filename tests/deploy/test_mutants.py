"""Mutants that are listed as the same engine are still mutants of it."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.conftest import ROOT


def runner() -> Any:
    spec = importlib.util.spec_from_file_location("mutants", ROOT / "deploy" / "mutants.py")
    assert spec
    assert spec.loader
    made = importlib.util.module_from_spec(spec)
    sys.modules["mutants"] = made  # where its dataclasses look for their names
    spec.loader.exec_module(made)
    return made


def test_each_mutant_that_is_listed_with_why_is_still_there() -> None:
    mutants = runner()
    listed = mutants.known()
    assert listed
    there = {m: {*mutants.keys_of(m).values()} for m in {module for module, *_ in listed}}
    gone = [key for key in listed if key not in there[key[0]]]
    assert not gone, "no longer in the engine as listed in deploy/mutants_known.toml"
    assert all(why for why in listed.values())


SHARED = """
import time

import pytest


@pytest.fixture(scope="module")
def shared():
    return 1


def test_that_takes_its_time(shared):
    end = time.process_time() + 0.4
    while time.process_time() < end:
        pass


def test_past_the_budget(shared):
    raise AssertionError("it is passed over")
"""
RUN = """
import sys
import tempfile

import pytest

import mutants

mutants.PINNED = ("test_pinned.py",)


class Loop:
    def pytest_runtestloop(self, session):
        with tempfile.TemporaryFile() as told:
            code = mutants.run(session.items, [9.0] * 3, 0.2, told.fileno())
            last = told.read().decode().split()[0] if told.seek(0) == 0 else ""
        print([mutants.OUTCOME[code], last])
        return True


pytest.main(["-qs", "-p", "no:cacheprovider", "--rootdir", sys.argv[1], sys.argv[1]], [Loop()])
"""


def test_a_test_that_is_passed_over_for_the_budget_fails_no_other(tmp_path: Path) -> None:
    # What tests share is torn down for the one that was to follow, and that was passed over.
    (tmp_path / "test_of_meaning.py").write_text(SHARED)
    (tmp_path / "test_pinned.py").write_text("def test_answers():\n    pass\n")
    told = subprocess.run(
        [sys.executable, "-c", RUN, str(tmp_path)], env={"PYTHONPATH": str(ROOT / "deploy")},
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "['over budget', 'test_pinned.py::test_answers']" in told.stdout, told.stdout
