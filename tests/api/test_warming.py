"""What is made before the first question: workers that take another's place begin with it."""

from __future__ import annotations

import subprocess
import sys
from types import SimpleNamespace

import pytest

from tests.conftest import ROOT


def test_the_first_questions_of_a_warm_process_make_no_writer() -> None:
    script = """
import json
from pathlib import Path
from service import create_app
from service.api import answers
from service.api.operations import OPERATIONS
from service.api.warming import warm
client = create_app().test_client()
warm()
written = answers.writer.cache_info().misses
for operation in OPERATIONS:
    for path in sorted(Path("openapi/examples", operation.id).glob("*.request.json")):
        client.post(operation.path, data=path.read_bytes(), content_type="application/json")
assert answers.writer.cache_info().misses == written
"""
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True)
    assert not done.returncode, done.stderr


@pytest.mark.parametrize(("age", "warm"), [(1, 0), (2, 0), (3, 1), (40, 1)])
def test_the_start_does_not_wait_for_it(
    age: int, warm: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two workers the first two are of the start; those after them take another's place."""
    from service.api import warming

    made: list[int] = []
    monkeypatch.setattr(warming, "warm", lambda: made.append(1))
    text = (ROOT / "deploy" / "gunicorn.conf.py").read_text(encoding="utf-8")
    hook = text[text.index("def pre_fork(") :].split("\n\n\n")[0]
    names: dict[str, object] = {"Any": object}
    exec(hook, names)
    fork = names["pre_fork"]
    assert callable(fork)
    fork(SimpleNamespace(num_workers=2), SimpleNamespace(age=age))
    assert len(made) == warm
