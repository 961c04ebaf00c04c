"""The same body gives the same bytes: across hash seeds, processes, workers and restarts.

The corpus (deploy/golden.py makes it) is five hundred requests and the digests of their answers.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
import requests
from flask.testing import FlaskClient

from service import __version__
from tests.conftest import ROOT, serving

CORPUS = ROOT / "tests" / "golden" / "corpus.ndjson"
HEAD, *LINES = [json.loads(line) for line in CORPUS.read_text(encoding="utf-8").splitlines()]
TO_DO = (
    "where that is meant: raise __version__ unless it is not released, say what a caller will"
    " notice under Changes in DEVELOPERS.md, and run python deploy/golden.py renew"
)
JSON = {"Content-Type": "application/json"}


def sent(line: Any) -> bytes:
    """The body as the digest was made of it: what is told first hangs on the members' order."""
    return json.dumps(line["body"], ensure_ascii=False).encode()


def test_the_corpus_is_of_this_version_and_broad() -> None:
    assert HEAD["version"] == __version__, TO_DO
    assert len(LINES) == 500
    statuses = [line["status"] for line in LINES]
    assert statuses.count(200) >= 400
    assert set(statuses) == {200, 422}
    assert len({line["sha256"] for line in LINES}) > 400


def test_no_answer_has_changed(client: FlaskClient) -> None:
    changed = []
    for number, line in enumerate(LINES, 2):
        path = f"/v1/{line['operation']}"
        answer = client.post(path, data=sent(line), content_type="application/json")
        told = answer.status_code, sha256(answer.data).hexdigest()
        if told != (line["status"], line["sha256"]):
            changed.append(f"line {number}, {line['operation']}")
    assert not changed, f"other answers than at {HEAD['version']}; {TO_DO}"


def test_answers_in_every_form_are_alike_whatever_the_hash_seed() -> None:
    told = []
    for seed in ("2", "3"):  # which put two names in a set either way round
        command = [sys.executable, "deploy/golden.py", "ask"]
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        told.append(subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE))
    first, second = (process.communicate()[0].decode().splitlines() for process in told)
    assert [line.split()[0] for line in first] == [line["sha256"] for line in LINES]
    assert first == second


def test_workers_and_restarts_make_no_difference() -> None:
    for workers in ("2", "1"):
        with serving(WORKERS=workers) as base, requests.Session() as session:
            for line in LINES[::9]:
                for _ in range(2):
                    path = f"{base}/v1/{line['operation']}"
                    answer = session.post(path, sent(line), headers=JSON, timeout=20)
                    assert sha256(answer.content).hexdigest() == line["sha256"], line


def renewed(folder: Path, version: str, changes: str, spoil: bool) -> str:
    """What the command to renew says in a copy of the house."""
    for name in ("deploy", "service", "openapi", "schemas"):
        (folder / name).symlink_to(ROOT / name)
    (folder / "tests" / "golden").mkdir(parents=True)
    head, *lines = CORPUS.read_text(encoding="utf-8").splitlines()[:4]
    lines = [line.replace('"sha256": "', '"sha256": "x') for line in lines] if spoil else lines
    (folder / "tests/golden/corpus.ndjson").write_text("\n".join([head, *lines]), encoding="utf-8")
    (folder / "DEVELOPERS.md").write_text(f"# The map\n\n## Changes\n\n{changes}", encoding="utf-8")
    script = (
        "import sys; sys.path.insert(0, 'deploy'); import golden; from pathlib import Path;"
        f"golden.ROOT = Path({str(folder)!r}); golden.__version__ = {version!r};"
        "golden.CORPUS = golden.ROOT / 'tests/golden/corpus.ndjson';"
        "sys.argv = ['golden', 'renew']; golden.main()"
    )
    return subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    ).stderr


@pytest.mark.parametrize(
    ("version", "changes", "spoil", "words"),
    [
        (__version__, f"- {__version__}: as ever.\n", False, ""),
        (__version__, f"- {__version__}: as ever.\n", True, "raise __version__"),
        (__version__, f"- {__version__} (not released): as ever.\n", True, ""),
        ("99.0.0", f"- {__version__}: as ever.\n", True, "has no line"),
        ("99.0.0", "- 99.0.0: loops are a chain longer.\n", True, ""),
    ],
)
def test_a_change_is_taken_when_it_is_acknowledged(
    tmp_path: Path, version: str, changes: str, spoil: bool, words: str
) -> None:
    told = renewed(tmp_path, version, changes, spoil)
    assert words in told if words else told == ""
