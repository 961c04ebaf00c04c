"""How the engine says no: what was wrong, where, and what would work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Annotated

Path = Annotated[tuple[str | int, ...], "pointer"]
"""Where in the order the trouble is: keys and indexes from the top."""

Permitted = str | list[str] | Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Refusal:
    """One thing that cannot be done: a stable code, the field's path, and the way out."""

    code: str
    path: Path
    detail: str
    permitted: Permitted | None = None


class Refused(Exception):
    """Raised by the engine with every refusal it found."""

    def __init__(self, *refusals: Refusal) -> None:
        super().__init__("; ".join(r.detail for r in refusals))
        self.refusals = refusals


@dataclass(slots=True)
class Findings:
    """Collects refusals, so that a maker hears of all of them at once."""

    refusals: list[Refusal] = field(default_factory=list)

    def add(self, code: str, path: Path, detail: str, permitted: Permitted | None = None) -> None:
        self.refusals.append(Refusal(code, path, detail, permitted))

    @contextmanager
    def collecting(self, prefix: Path = ()) -> Iterator[None]:
        """Keep what the block refuses and go on; paths get ``prefix`` in front."""
        try:
            yield
        except Refused as refused:
            self.refusals += [replace(r, path=(*prefix, *r.path)) for r in refused.refusals]

    def settle(self) -> None:
        """Raise Refused if anything was found."""
        if self.refusals:
            raise Refused(*self.refusals)
