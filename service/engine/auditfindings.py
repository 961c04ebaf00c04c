"""What an audit finds: where, what was stated, what it comes to, and the nearest correction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from .errors import Path
from .units import Length

Code = Literal[
    "foundation-count",
    "stated-count",
    "stitches-left-over",
    "stitches-short",
    "repeat-does-not-fit",
    "no-space-here",
    "nothing-left",
    "row-numbers",
    "schedule-rows",
    "run-does-not-fit",
    "measurement-off",
    "seam-disagrees",
    "closure-too-small",
    "sizes-do-not-grow",
]


@dataclass(frozen=True, slots=True)
class Amount:
    """A count of something, or a length."""

    count: Annotated[int | None, "how many"] = None
    of: Annotated[str | None, "what is counted: stitches, rows, chains, times"] = None
    length: Annotated[Length | None, "the length"] = None


@dataclass(frozen=True, slots=True)
class Remedy:
    """The nearest change of one field that makes it right."""

    text: Annotated[str, "what to change, in words"]
    field: Annotated[Path, "JSON Pointer to the field to change"]
    count: Annotated[int | None, "the count to put there, where it is one"] = None
    length: Annotated[Length | None, "the length to put there, where it is one"] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that does not hold, in one size."""

    code: Annotated[Code, "kind of fault"]
    size: Annotated[str, "size it is found in"]
    piece: Annotated[str | None, "piece it is found in; left out for a seam"] = None
    row: Annotated[int | None, "row or round it is found in, as the pattern numbers them"] = None
    last_row: Annotated[int | None, "last row of the line it stands in"] = None
    stated: Annotated[Amount | None, "what was stated"] = None
    comes_to: Annotated[Amount | None, "what it comes to"] = None
    correction: Annotated[Remedy, "the nearest correction"]
    text: Annotated[str, "the finding in words"]
    field: Annotated[Path, "JSON Pointer to what is wrong"]


@dataclass(frozen=True, slots=True)
class Stretch:
    rows: int
    stitches: int


@dataclass(frozen=True, slots=True)
class Walked:
    """A piece in one size: its counts as they are gone on from, and what was found."""

    foundation: int
    last: int
    widest: int
    rows: int
    sections: Mapping[str, Stretch]
    numbered: bool
    stated: int
    findings: tuple[Finding, ...]
