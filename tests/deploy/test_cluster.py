"""A batch worked on a cluster that is started here gives the very bytes of /v1/batch."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

from service.api.batch import LONGEST_LINE, answers
from service.api.path_documents import ROOT


def test_a_cluster_answers_as_the_service_does(tmp_path: Path) -> None:
    lines = [
        json.dumps(
            {"id": n, "operation": "shaping", "body": {"from": 60 + n % 40, "to": 20, "rows": 50}}
        ).encode()
        for n in range(520)  # more than one part
    ]
    for file in sorted((ROOT / "openapi" / "examples" / "batch").glob("*.request.ndjson")):
        lines += file.read_bytes().split(b"\n")
    lines[300] = b"{not json"
    lines[510] = b"x" * (LONGEST_LINE + 1)
    whole = b"\n".join(lines)
    questions, told = tmp_path / "questions.ndjson", tmp_path / "answers.ndjson"
    questions.write_bytes(whole)
    command = [sys.executable, "deploy/cluster.py", str(questions), str(told)]
    done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    expected = b"".join(answers(io.BytesIO(whole), len(whole)))
    assert told.read_bytes() == expected
    assert json.loads(done.stdout)["lines"] >= 520
