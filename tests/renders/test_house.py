"""The renderers keep the engine's rules: pure, typed, and small."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
RENDERS = sorted((ROOT / "service" / "renders").glob("*.py"))


@pytest.mark.parametrize("path", RENDERS, ids=lambda path: path.stem)
def test_a_renderer_imports_the_engine_and_the_standard_library_alone(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 330
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            roots = {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            if node.level == 2:
                assert (node.module or "").startswith("engine.")
            assert node.level < 3
            roots = set() if node.level else {(node.module or "").split(".")[0]}
        else:
            continue
        assert roots <= sys.stdlib_module_names
        assert not roots & {"os", "time", "datetime", "random", "socket", "pathlib"}


def test_the_renderers_import_with_nothing_installed() -> None:
    names = ", ".join(f"service.renders.{path.stem}" for path in RENDERS if path.stem[0] != "_")
    script = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import {names}"
    subprocess.run([sys.executable, "-I", "-S", "-c", script], check=True)
