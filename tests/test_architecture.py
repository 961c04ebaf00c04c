"""Rules of the house that a reader should be able to rely on."""

from __future__ import annotations

import ast
import inspect
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from types import FunctionType, ModuleType

import pytest

from service.api.operations import OPERATIONS
from service.engine.sources import SOURCES

ROOT = Path(__file__).parent.parent
ENGINE = sorted((ROOT / "service" / "engine").glob("*.py"))
MODULES = [import_module(f"service.engine.{p.stem}") for p in ENGINE if p.stem != "__init__"]
PUBLIC = [
    (module.__name__, function)
    for module in MODULES
    for name, function in vars(module).items()
    if isinstance(function, FunctionType)
    and function.__module__ == module.__name__
    and not name.startswith("_")
]


@pytest.mark.parametrize("path", ENGINE, ids=lambda path: path.stem)
def test_the_engine_imports_itself_and_the_standard_library_alone(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            roots = {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level < 2, "the engine reaches outside itself"
            roots = set() if node.level else {(node.module or "").split(".")[0]}
        else:
            continue
        if path.stem == "exact":
            roots -= {"quicktions"}  # the same numbers in compiled code, where it is installed
        assert roots <= sys.stdlib_module_names
        assert not roots & {"os", "time", "datetime", "random", "socket", "pathlib", "io"}


def test_the_engine_imports_with_nothing_installed() -> None:
    modules = ", ".join(module.__name__ for module in MODULES)
    # -S leaves out site-packages, -I the environment.
    script = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import {modules}"
    subprocess.run([sys.executable, "-I", "-S", "-c", script], check=True)


def test_to_serve_needs_no_tool_of_the_tests() -> None:
    script = (
        "import sys; from service import create_app; create_app();"
        "assert not {'apispec', 'jsonschema', 'pytest'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=True)


@pytest.mark.parametrize(
    ("module", "function"), PUBLIC, ids=[f"{m}.{f.__name__}" for m, f in PUBLIC]
)
def test_a_public_function_of_the_engine_tells_what_it_does(
    module: str, function: FunctionType
) -> None:
    told = inspect.getdoc(function)
    assert told, "no docstring"
    assert "->" in str(inspect.signature(function)), "no types"
    if "raise Refused" in inspect.getsource(function):
        assert "Raises Refused" in told


WORDS = {
    "rowtext", "rowlines", "roundwords", "edgingtext", "closuretext", "instructions", "numerals",
    "errors",
}  # fmt: skip


@pytest.mark.parametrize(
    ("module", "function"),
    [(m, f) for m, f in PUBLIC if m.rsplit(".", 1)[-1] not in WORDS],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_a_computation_names_its_source(module: str, function: FunctionType) -> None:
    told = inspect.getdoc(function) or ""
    named = re.search(r"Source: ([\w, -]+)\.", told)
    if module.endswith(".units") or function.__name__ == "square":
        return  # conversions name theirs at the table of units
    assert named, function.__name__
    assert set(named[1].split(", ")) <= set(SOURCES)


def test_every_source_is_used_and_none_is_unknown() -> None:
    text = "\n".join(path.read_text(encoding="utf-8") for path in ENGINE)
    listed = re.findall(r"Source: ([\w-]+(?:, [\w-]+)*)", text)
    named = {key for keys in listed for key in keys.split(", ")}
    named |= set(re.findall(r'"([\w-]+)"', text)) & set(SOURCES)
    assert {key for key in named if key not in SOURCES} == set()
    unused = {key for key in SOURCES if text.replace(f'    "{key}": ', "").find(key) < 0}
    assert unused == set()


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_no_module_of_the_engine_is_long(module: ModuleType) -> None:
    assert len(inspect.getsource(module).splitlines()) <= 330


def test_every_operation_answers_a_request_of_its_own() -> None:
    ids = [operation.id for operation in OPERATIONS]
    assert len(set(ids)) == len(ids)
    assert len({operation.request for operation in OPERATIONS}) == len(ids)
    assert all(operation.path == f"/v1/{operation.id}" for operation in OPERATIONS)


def test_the_top_level_holds_what_the_card_says() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "service", "schemas", "tests", "deploy",
        "openapi",
    }  # fmt: skip
    made_by_tools = {"__pycache__", "build"}
    top = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert top - made_by_tools == allowed
