"""How the engine says no: what was wrong, where, and what would work."""

from __future__ import annotations

from collections.abc import Mapping
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


class Collecting:
    """A block whose refusals are kept."""

    __slots__ = ("found", "prefix")

    def __init__(self, found: Findings, prefix: Path) -> None:
        self.found, self.prefix = found, prefix

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> bool:
        if not isinstance(error, Refused):
            return False
        self.found.keep(error, self.prefix)
        return True


@dataclass(slots=True)
class Findings:
    """Collects refusals, so that a maker hears of all of them at once."""

    refusals: list[Refusal] = field(default_factory=list)

    def add(self, code: str, path: Path, detail: str, permitted: Permitted | None = None) -> None:
        self.refusals.append(Refusal(code, path, detail, permitted))

    def keep(self, refused: Refused, prefix: Path = ()) -> None:
        """Keep what was refused; paths get ``prefix`` in front."""
        self.refusals += [replace(r, path=(*prefix, *r.path)) for r in refused.refusals]

    def collecting(self, prefix: Path = ()) -> Collecting:
        """Keep what the block refuses and go on; paths get ``prefix`` in front.

        Where every microsecond counts, ``keep`` in an except clause does the same for less.
        """
        return Collecting(self, prefix)

    def settle(self) -> None:
        """Raise Refused if anything was found."""
        if self.refusals:
            raise Refused(*self.refusals)
