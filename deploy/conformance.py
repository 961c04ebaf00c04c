"""The whole contract by schemathesis: every operation, every check, right and wrong requests.

In an environment of its own, since schemathesis brings other releases of what the tests use:

    python -m venv checking
    checking/bin/pip install -r deploy/requirements.txt
    checking/bin/pip install 'schemathesis>=4.32,<5'
    checking/bin/python deploy/conformance.py --json build/conformance.json

It starts the service itself, on a free port, and holds it against /v1/openapi-3.2.json, which is
openapi.json with the QUERY method, one operation and one phase at a time. Each is given a document
of its path alone: of the whole, most of the time would go to reading what is not asked for. The
phase "stateful" is of the whole document. It fails if any check fails, or if a phase was cut off
after --seconds.

--only pieces,GET   words that the operation's line ("QUERY /v1/pieces") must hold one of
--examples 100      cases of the phase "fuzzing"; "coverage" has as many as it finds
--seed 1            of the phase "fuzzing"
--url ADDRESS       a service that runs already
--go-on             take up where a run with the same --json broke off, or failed
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from deploy.starting import free_port, gunicorn  # noqa: E402  (from a clone)

COMPONENTS = "#/components/schemas/"
METHODS = ("post", "get", "query")
WHOLE = "the whole document"
HOOKED = {**os.environ, "SCHEMATHESIS_HOOKS": str(ROOT / "deploy" / "schemathesis_hooks.py")}


@contextmanager
def serving(log: Path) -> Iterator[str]:
    """The address of the service as it is deployed, but for the proxy in front."""
    port = free_port()
    command = gunicorn("--log-level", "error")
    environment = {**os.environ, "PORT": str(port), "ACCESS_LOG": "off"}
    with (
        log.open("wb") as told,
        subprocess.Popen(command, cwd=ROOT, env=environment, stderr=told) as process,
    ):
        base = f"http://127.0.0.1:{port}"
        try:
            for _ in range(300):
                try:
                    urlopen(f"{base}/readyz", timeout=2).close()
                    break
                except URLError:
                    time.sleep(0.1)
            yield base
        finally:
            process.terminate()


def references(node: Any) -> set[str]:
    if isinstance(node, dict):
        here = node.get("$ref")
        found = {here.removeprefix(COMPONENTS)} if isinstance(here, str) else set()
        return found.union(*(references(value) for value in node.values()))
    return set().union(*map(references, node)) if isinstance(node, list) else set()


def alone(document: dict[str, Any], path: str) -> dict[str, Any]:
    """The document of one path, with the schemas that it leads to."""
    kept, schemas = {path: document["paths"][path]}, document["components"]["schemas"]
    needed: set[str] = set()
    todo = references(kept)
    while todo:
        needed |= todo
        todo = set().union(*(references(schemas[name]) for name in todo)) - needed
    parts = {"schemas": {name: schemas[name] for name in sorted(needed)}}
    return {**document, "paths": kept, "components": parts}


class Checking:
    """Runs of schemathesis against one service."""

    def __init__(
        self, base: str, folder: Path, asked: argparse.Namespace, rows: list[dict[str, Any]]
    ) -> None:
        self.base, self.folder, self.asked = base, folder, asked
        self.done = {(row["operation"], row["phase"]) for row in rows}

    def phase(self, document: dict[str, Any], operation: str, phase: str) -> dict[str, Any]:
        """Cases, failures and seconds of one phase."""
        contract, report = self.folder / "contract.json", self.folder / "report.json"
        contract.write_text(json.dumps(document), encoding="utf-8")
        report.unlink(missing_ok=True)
        only = [] if operation == WHOLE else ["--include-method", operation.split()[0]]
        command = [
            str(Path(sys.executable).parent / "schemathesis"),
            "--config-file", str(ROOT / "deploy" / "schemathesis.toml"), "run", str(contract),
            "--url", self.base,
            "--phases", phase, "--checks", "all", "--continue-on-failure", "--mode", "all",
            "--max-examples", str(self.asked.examples), "--seed", str(self.asked.seed),
            "--request-timeout", "30", "--generation-database", "none", "--no-color",
            "--warnings", "off", "--report", "json", "--report-json-path", str(report), *only,
        ]  # fmt: skip
        begun, said = time.monotonic(), ""
        try:
            done = subprocess.run(
                command,
                cwd=self.folder,
                env=HOOKED,
                capture_output=True,
                text=True,
                timeout=self.asked.seconds,
            )
            said = done.stdout + done.stderr
        except subprocess.TimeoutExpired as cut:
            said = (cut.stdout or b"").decode(errors="replace")
        row = {"operation": operation, "phase": phase, "seconds": time.monotonic() - begun}
        if not report.exists():
            return {**row, "outcome": "cut off or broken", "cases": 0, "failures": 1, "told": said}
        told = json.loads(report.read_text(encoding="utf-8"))
        failures = told["test_cases"]["unique_failures"] + len(told["errors"])
        row |= {"outcome": told["phases"][phase]["skip_reason"] or told["phases"][phase]["status"]}
        row |= {"cases": told["test_cases"]["generated"], "failures": failures}
        return {**row, "told": said} if failures else row

    def all(self, document: dict[str, Any]) -> Iterator[dict[str, Any]]:
        for method in METHODS:
            for path in (p for p, item in document["paths"].items() if method in item):
                for phase in ("examples", "coverage", "fuzzing"):
                    if self.wanted(f"{method.upper()} {path}", phase):
                        yield self.phase(alone(document, path), f"{method.upper()} {path}", phase)
        if self.wanted(WHOLE, "stateful"):
            yield self.phase(document, WHOLE, "stateful")

    def wanted(self, operation: str, phase: str) -> bool:
        named = any(word in operation for word in self.asked.only.split(","))
        return named and (operation, phase) not in self.done


def main() -> None:
    parser = argparse.ArgumentParser(description=str(__doc__).split("\n", 1)[0])
    parser.add_argument("--only", default="")
    parser.add_argument("--examples", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=600, help="that a phase may take")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--url")
    parser.add_argument("--go-on", action="store_true", help="pass over what has passed")
    parser.add_argument("--json", type=Path, help="where the rows are written as well")
    asked = parser.parse_args()
    rows: list[dict[str, Any]] = []
    if asked.go_on and asked.json.exists():
        before = json.loads(asked.json.read_text(encoding="utf-8"))
        rows = [row for row in before if not row["failures"]]
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        with nullcontext(asked.url) if asked.url else serving(folder / "server.log") as base:
            with urlopen(f"{base}/v1/openapi-3.2.json") as sent:
                document = json.load(sent)
            for row in Checking(base, folder, asked, rows).all(document):
                rows.append(row)
                print(
                    f"{row['operation']:40} {row['phase']:9} {row['cases']:6} cases"
                    f" {row['failures']:3} failures {row['seconds']:6.1f} s  {row['outcome']}",
                    flush=True,
                )
                if row["failures"]:
                    print(row["told"], flush=True)
                if asked.json:
                    asked.json.parent.mkdir(exist_ok=True)
                    asked.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")
    cases, failures = (sum(row[what] for row in rows) for what in ("cases", "failures"))
    seconds = sum(row["seconds"] for row in rows)
    operations = len({row["operation"] for row in rows} - {WHOLE})
    print(
        f"{operations} operations: {cases} cases, {failures} failures, {seconds / 60:.1f} minutes"
    )
    sys.exit(bool(failures))


if __name__ == "__main__":
    main()
