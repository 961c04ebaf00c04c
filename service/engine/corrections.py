"""A correction as it is told: what is done, what it undoes, and what the piece then comes to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from .hooks import HookStep
from .measures import Measure
from .rounds import RoundSection
from .sections import Section
from .units import Length

Kind = Literal[
    "chains-out", "chains-in", "rows-added", "rows-left-out", "reshape", "take-back",
    "hook-up", "hook-down", "restart",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class RowsChange:
    section: Annotated[str, "name of the section"]
    planned: Annotated[int, "rows it was planned with"]
    rows: Annotated[int, "rows it has now, those worked among them"]
    change: Annotated[int, "rows more, or fewer"]


@dataclass(frozen=True, slots=True)
class GoOn:
    """Send this as continue_after to /v1/pieces for the rest of the piece in full.

    With it go the combined gauge as gauge, the plan's own as planned_gauge, and where the piece is
    to match a companion, the measurement that the companion wants.
    """

    section: Annotated[str, "section in hand"]
    row: Annotated[int, "last row worked"]
    stitches: Annotated[int, "stitches on it, once mended"]
    height: Annotated[Length | None, "as the tape read it"]


@dataclass(frozen=True, slots=True)
class Correction:
    rank: Annotated[int, "1 is the first to think of"]
    kind: Annotated[Kind, "what is done"]
    text: Annotated[str, "what to do"]
    reaches: Annotated[
        bool | None, "whether every measurement is then near enough; left out where not reckoned"
    ]
    worst_percent: Annotated[
        float | None, "the measurement that is then furthest off, in per cent of what was asked"
    ]
    stitches_undone: Annotated[int, "stitches already worked that are undone"]
    chains: Annotated[int | None, "chains taken out of the foundation, or added"]
    rows: Annotated[tuple[RowsChange, ...] | None, "sections with another number of rows"]
    sections: Annotated[
        tuple[Section | RoundSection, ...] | None, "what is left of the piece, re-planned"
    ]
    hook: Annotated[HookStep | None, "the change of hook"]
    finished: Annotated[
        Mapping[str, Measure] | None, "what each measurement then comes to at the combined gauge"
    ]
    go_on: Annotated[GoOn | None, "how to ask for the rest of the piece"]
