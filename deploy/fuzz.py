"""Coverage-guided fuzzing of what reads strangers' bytes, and of what their words come out in.

    python -m venv fuzzing && fuzzing/bin/pip install -r deploy/requirements.txt
    fuzzing/bin/pip install atheris
    fuzzing/bin/python deploy/fuzz.py TARGET [-max_total_time=60 ...]

Targets: decoding (JSON bodies), parameters (the query of a GET, up to the engine), loading (bodies
to the engine and back, quickly and by the schemas), batch (its lines), renders (a caller's words in
every form of an answer), flatform (cells of the bulk command). libFuzzer's own options follow. A
crash is an exception that no caller is told of, or an answer that tests/harmless.py does not take.
The seeds are made from the documented requests.
"""

from __future__ import annotations

import json
import sys
import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any
from urllib.parse import quote

import atheris

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]

with atheris.instrument_imports(
    include=["service.api", "service.engine", "service.renders", "service.bulk", "json"]
):
    from marshmallow import ValidationError
    from mutating import documented, nodes

    from service.api import batch, decoding, parameters
    from service.api.compiled import loader
    from service.api.operations import OPERATIONS, by_id
    from service.api.problems import explained, from_messages
    from service.api.representations import JSON, Context
    from service.api.writing import dumps
    from service.bulk import flatform
    from service.engine.errors import Refused
    from service.engine.working import allowance
    from tests import harmless

SCHEMAS = [(o.request(), loader(o.request()), o.compute) for o in OPERATIONS]
IDS = [operation.id for operation in OPERATIONS]
TOLD = (decoding.Malformed, parameters.BadParameters, ValidationError, Refused)


def decode(data: bytes) -> None:
    """What is decoded is JSON by another reader too, and is the same."""
    try:
        value = decoding.decode(data)
    except decoding.Malformed:
        return
    assert json.loads(data) is not None or value is None
    dumps(json.loads(data))


def chosen(data: bytes) -> tuple[Any, Any, Any]:
    return SCHEMAS[data[0] % len(SCHEMAS)] if data else SCHEMAS[0]


def query(data: bytes) -> None:
    schema, load, compute = chosen(data)
    try:
        document, errors = parameters.document(schema, parameters.parse(data[1:]))
        for error in errors:
            dumps(error)
        order = load(document)
        with allowance():
            JSON.render(compute(order), order, Context("", ""))
    except TOLD as error:
        dumps(explained(error))


def verdict(load: Any, body: Any) -> tuple[str, Any]:
    try:
        return repr(order := load(body)), order
    except ValidationError as error:
        return json.dumps(from_messages(error.messages)), None


def load(data: bytes) -> None:
    schema, quick, compute = chosen(data)
    try:
        body = decoding.decode(data[1:])
        told, order = verdict(quick, body)
        assert told == verdict(schema.load, decoding.decode(data[1:]))[0]
        if order is not None:
            with allowance():
                harmless.check(
                    "application/json", JSON.render(compute(order), order, Context("", ""))
                )
    except TOLD as error:
        dumps(explained(error))


def lines(data: bytes) -> None:
    *_, last = batch.answers(BytesIO(data), len(data))
    summary = json.loads(last)["summary"]
    assert not summary["failed"], summary
    assert summary["complete"], summary


EXAMPLES = [
    (operation, request, words)
    for operation, request in documented()
    if (words := [(at, key) for at, key in nodes(request) if isinstance(at[key], str)])
]


def render(data: bytes) -> None:
    """A few words of a documented request replaced, and the answer written in every form."""
    given = atheris.FuzzedDataProvider(data)
    operation, request, words = EXAMPLES[given.ConsumeIntInRange(0, len(EXAMPLES) - 1)]
    before = []
    try:
        for _ in range(given.ConsumeIntInRange(1, 3)):
            at, key = words[given.ConsumeIntInRange(0, len(words) - 1)]
            before.append((at, key, at[key]))
            at[key] = given.ConsumeUnicodeNoSurrogates(given.ConsumeIntInRange(0, 41))
        _, load, compute = SCHEMAS[IDS.index(operation)]
        order = load(decoding.decode(json.dumps(request).encode()))
        with allowance():
            made = compute(order)
            for offer in by_id(operation).offers:
                written = offer.render(made, order, Context(operation, ""))
                harmless.check(offer.media_type, str(written))
    except TOLD as error:
        harmless.check("application/json", dumps(explained(error)))
    finally:
        for at, key, word in reversed(before):
            at[key] = word


def flat(data: bytes) -> None:
    """Cells of a table: a document that can be sent, or told to be unclear."""
    cells = [line.partition("=") for line in data.decode("utf-8", "surrogateescape").split("\n")]
    try:
        document = flatform.flat_to_document((name, text) for name, _, text in cells if name)
    except (flatform.Unclear, RecursionError):  # service/bulk/reading.py tells of both
        return
    json.dumps(document, allow_nan=False)
    list(flatform.document_to_flat(document))


TARGETS: dict[str, Any] = {
    "decoding": decode, "parameters": query, "loading": load, "batch": lines, "renders": render,
    "flatform": flat,
}  # fmt: skip


def seeds(target: str, folder: Path) -> None:
    """The documented requests, to begin from."""
    folder.mkdir(parents=True, exist_ok=True)
    for number, (operation, request) in enumerate(documented()):
        body = json.dumps(request).encode()
        if target == "loading":
            body = bytes([IDS.index(operation)]) + body
        if target == "parameters":
            body = bytes([IDS.index(operation)]) + b"ask=" + quote(json.dumps(request)).encode()
        if target == "batch":
            body = b'{"id":1,"operation":"%s","body":%s}\n' % (operation.encode(), body)
        if target == "renders":
            body = f"<script>{number}</script>\u202e".encode() * 3
        if target == "flatform":
            body = "\n".join(map("=".join, flatform.document_to_flat(request))).encode()
        (folder / f"{number}").write_bytes(body)


def main() -> None:
    target, options = sys.argv[1], sys.argv[2:]
    folder = Path(tempfile.gettempdir()) / f"fuzzed-{target}"
    seeds(target, folder)
    atheris.Setup([sys.argv[0], str(folder), "-max_len=8000", *options], TARGETS[target])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
