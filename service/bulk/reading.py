"""What to ask, line by line, from a file of JSON lines or a table (CSV, RFC 4180)."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TextIO

from .flatform import Unclear, flat_to_document, loads, merged

# The longest line that the service takes.
LONGEST = 64 * 1024


class Unusable(Exception):
    """The input as a whole cannot be read; the text says why."""


@dataclass(frozen=True, slots=True)
class Item:
    """A line or row of the input."""

    number: int  # of the line, or of the row under the header
    id: str | int | None  # what it is called where its line has no say
    line: bytes  # as it is sent, without its end
    unclear: str = ""  # why it is not sent at all


@dataclass(frozen=True, slots=True)
class Form:
    """How the input is to be taken."""

    table: bool
    operation: str | None = None
    defaults: dict[str, Any] | None = None


def items(path: Path, form: Form) -> Iterator[Item]:
    """Everything there is to ask, in order; blank lines are passed over.

    Raises Unusable.
    """
    if form.table:
        # Bytes that are no UTF-8 spoil their own row and no other.
        with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as file:
            yield from _rows(file, form)
    else:
        yield from _lines(path, form)


def _lines(path: Path, form: Form) -> Iterator[Item]:
    with path.open("rb") as file:
        number = 0
        while text := file.readline(LONGEST + 2):
            number += 1
            rest = text
            while rest and not rest.endswith(b"\n"):
                rest = file.readline(LONGEST)  # one too long is sent cut, and refused as too long
            if text.strip():
                yield _line(number, text.rstrip(b"\n"), form)


def _line(number: int, text: bytes, form: Form) -> Item:
    if form.operation is None:
        return Item(number, None, text)
    if form.defaults:
        with suppress(ValueError, RecursionError):  # the service says what is wrong with it
            text = json.dumps(merged(form.defaults, loads(text))).encode()
    return Item(number, number, _asked(number, form.operation, text))


def _asked(name: str | int, operation: str | None, body: bytes) -> bytes:
    named = {"id": name} | ({"operation": operation} if operation else {})
    return json.dumps(named).encode()[:-1] + b', "body": ' + body + b"}"


def _rows(file: TextIO, form: Form) -> Iterator[Item]:
    reader = csv.reader(file, strict=True)
    try:
        header = [name.strip() for name in next(reader)]
    except (StopIteration, csv.Error) as error:
        raise Unusable(f"the table has no header: {error}") from None
    if not all(header) or len(set(header)) < len(header):
        raise Unusable("the header has a name that is empty or given twice")
    number = 0
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            number += 1
            yield Item(number, number, b"", f"the row is no CSV: {error}")
            continue
        if row:
            number += 1
            yield _row(number, header, row, form)


def _row(number: int, header: list[str], row: list[str], form: Form) -> Item:
    if len(row) != len(header):
        told = f"the row has {len(row)} cells under a header of {len(header)}"
        return Item(number, number, b"", told)
    cells = {name: cell for name, cell in zip(header, row, strict=True) if cell.strip()}
    name = cells.pop("id", number)
    operation = cells.pop("operation", form.operation)
    try:
        body = merged(form.defaults or {}, flat_to_document(cells.items()))
    except (Unclear, RecursionError) as error:
        return Item(number, name, b"", str(error))
    return Item(number, name, _asked(name, operation, json.dumps(body).encode()))
