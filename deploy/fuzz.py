"""Coverage-guided fuzzing of what reads strangers' bytes: decoding, parameters, loading, lines.

    python -m venv fuzzing && fuzzing/bin/pip install atheris -r deploy/requirements.txt
    fuzzing/bin/python deploy/fuzz.py decoding|parameters|loading|batch [-max_total_time=60 ...]

libFuzzer's own options follow the target. A crash is an exception that no caller is told of.
"""

from __future__ import annotations

import json
import sys
import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any

import atheris

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]

with atheris.instrument_imports(include=["service.api", "service.engine", "json"]):
    from marshmallow import ValidationError

    from service.api import batch, decoding, parameters
    from service.api.operations import OPERATIONS
    from service.api.writing import dumps
    from service.engine.errors import Refused
    from service.engine.working import allowance

SCHEMAS = [(operation.request(), operation.compute) for operation in OPERATIONS]
TOLD = (decoding.Malformed, parameters.BadParameters, ValidationError, Refused)


def decode(data: bytes) -> None:
    """What is decoded is JSON by another reader too, and is the same."""
    try:
        value = decoding.decode(data)
    except decoding.Malformed:
        return
    assert json.loads(data) is not None or value is None
    dumps(json.loads(data))


def query(data: bytes) -> None:
    which = SCHEMAS[data[0] % len(SCHEMAS)][0] if data else SCHEMAS[0][0]
    try:
        document, errors = parameters.document(which, parameters.parse(data[1:]))
        for error in errors:
            dumps(error)
        which.load(document)
    except TOLD:
        pass


def load(data: bytes) -> None:
    schema, compute = SCHEMAS[data[0] % len(SCHEMAS)] if data else SCHEMAS[0]
    try:
        order = schema.load(decoding.decode(data[1:]))
        with allowance():
            compute(order)
    except TOLD:
        pass


def lines(data: bytes) -> None:
    *_, last = batch.answers(BytesIO(data), len(data))
    summary = json.loads(last)["summary"]
    assert not summary["failed"], summary
    assert summary["complete"], summary


TARGETS: dict[str, Any] = {
    "decoding": decode, "parameters": query, "loading": load, "batch": lines,
}  # fmt: skip


def seeds(target: str, folder: Path) -> None:
    """The documented requests, to begin from."""
    from mutating import documented

    folder.mkdir(parents=True, exist_ok=True)
    ids = [operation.id for operation in OPERATIONS]
    for number, (operation, request) in enumerate(documented()):
        body = json.dumps(request).encode()
        if target == "loading":
            body = bytes([ids.index(operation)]) + body
        if target == "parameters":
            body = bytes([ids.index(operation)]) + b"ask=" + body.replace(b" ", b"")
        if target == "batch":
            body = b'{"id":1,"operation":"%s","body":%s}\n' % (operation.encode(), body)
        (folder / f"{number}").write_bytes(body)


def main() -> None:
    target, options = sys.argv[1], sys.argv[2:]
    folder = Path(tempfile.gettempdir()) / f"fuzzed-{target}"
    seeds(target, folder)
    atheris.Setup([sys.argv[0], str(folder), "-max_len=8000", *options], TARGETS[target])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
