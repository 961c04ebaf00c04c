"""The same answers to the letter by the standard library's fractions and by the compiled ones."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from pathlib import Path

from service import create_app
from service.engine.exact import Fraction

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "openapi" / "examples").glob("*/*.request.json"))

PLAIN = """
import sys
sys.modules["quicktions"] = None
from tests.contract.test_exact import told
print(told())
"""


def told() -> str:
    """What was reckoned with, and a digest of every example's answer."""
    client, digest = create_app().test_client(), hashlib.sha256()
    for file in EXAMPLES:
        body = json.loads(file.read_bytes())
        for units in ("metric", "imperial"):
            asked = {**body, "units": units}
            digest.update(client.post(f"/v1/{file.parent.name}", json=asked).data)
    return f"{Fraction.__module__} {digest.hexdigest()}"


def test_answers_are_the_same_with_and_without_compiled_fractions() -> None:
    run = subprocess.run(
        [sys.executable, "-c", PLAIN], cwd=ROOT, check=True, capture_output=True, text=True
    )
    plain, compiled = run.stdout.split(), told().split()
    assert [plain[0], compiled[0]] == ["fractions", "quicktions"]
    assert plain[1] == compiled[1]
