"""Answers on disk, so that a run can be broken off at any moment and gone on with.

Answers are appended to OUTPUT.part, and are safe on disk before the next are asked for. The
answers there, whole lines, say how much of the input is done; a line torn by a crash is asked
again. OUTPUT.state says of which input they are. OUTPUT itself appears when all is done, at once.
"""

from __future__ import annotations

import csv
import fcntl
import hashlib
import json
import os
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from .flatform import document_to_flat
from .reading import Form


class InTheWay(Exception):
    """There is something on disk that this run must not touch; the text says what to do."""


def fingerprint(path: Path, form: Form) -> str:
    """What the answers depend on, the service aside."""
    with path.open("rb") as file:
        asked = hashlib.file_digest(file, "sha256").hexdigest()
    return json.dumps([asked, form.table, form.operation, form.defaults], sort_keys=True)


class Kept:
    """The answers of one run, begun now or earlier."""

    def __init__(self, output: Path, of: str, anew: bool) -> None:
        self._output = output
        self._part = output.with_name(output.name + ".part")
        self._state = output.with_name(output.name + ".state")
        self._lock = os.open(self._state, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            self._begin(of, anew)
        except BaseException:
            os.close(self._lock)
            raise
        self._file = self._part.open("ab")
        self._sync_folder()
        self.statuses: Counter[int] = Counter()
        self._take_up()

    def _begin(self, of: str, anew: bool) -> None:
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise InTheWay(f"another run is writing {self._output}") from None
        begun = self._part.exists() and self._part.stat().st_size > 0 and not anew
        if begun and self._state.read_text(encoding="utf-8") != of:
            raise InTheWay(f"{self._part} is of another input or defaults: finish it, or --anew")
        if not begun:
            if self._output.exists() and not anew:
                self._state.unlink()
                raise InTheWay(f"{self._output} is there already: name another, or say --anew")
            self._part.unlink(missing_ok=True)
            os.ftruncate(self._lock, 0)
            os.pwrite(self._lock, of.encode(), 0)
            os.fsync(self._lock)

    @property
    def done(self) -> int:
        """Answers there are."""
        return self.statuses.total()

    def _take_up(self) -> None:
        whole = 0
        with self._part.open("rb") as file:
            for line in file:
                if not line.endswith(b"\n"):
                    break
                whole += len(line)
                self.statuses[json.loads(line)["status"]] += 1
        self._file.truncate(whole)

    def keep(self, answers: Iterable[dict[str, Any]]) -> None:
        """Put answers behind those that are there; on return they are on disk."""
        made = []
        for answer in answers:
            self.statuses[answer["status"]] += 1
            text = json.dumps(answer, ensure_ascii=False)
            # What was no UTF-8 in an id of a table cannot be written as it was.
            made.append(text.encode(errors="replace") + b"\n")
        self._file.write(b"".join(made))
        self._file.flush()
        os.fsync(self._file.fileno())

    def finish(self, table: bool, columns: list[str]) -> None:
        """Make the output of what is kept."""
        self._file.close()
        if table:
            made = self._output.with_name(self._output.name + ".table")
            with made.open("w", encoding="utf-8", newline="") as file:
                self._write_table(csv.writer(file, lineterminator="\n"), columns)
                file.flush()
                os.fsync(file.fileno())
            os.replace(made, self._output)
            self._part.unlink()
        else:
            os.replace(self._part, self._output)
        self._state.unlink()
        self._sync_folder()

    def _write_table(self, writer: Any, columns: list[str]) -> None:
        columns = columns or list(dict.fromkeys(name for row in self._rows() for name in row))
        writer.writerow(columns)
        for row in self._rows():
            writer.writerow([row.get(column, "") for column in columns])

    def _rows(self) -> Iterator[dict[str, str]]:
        with self._part.open("rb") as file:
            for line in file:
                answer = json.loads(line)
                body = answer.pop("body")
                name = "" if answer["status"] == 200 else "problem"
                yield {
                    "id": "", **dict(document_to_flat(answer)), **dict(document_to_flat(body, name))
                }  # fmt: skip

    def _sync_folder(self) -> None:
        folder = os.open(self._output.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)

    def close(self) -> None:
        """Let go of the files; what is kept stays."""
        self._file.close()
        os.close(self._lock)
