"""A project as it is asked for: sizes, pieces that may take their measure from others, seams."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from .errors import Path
from .exact import Fraction
from .sizing import PieceOrder
from .units import System
from .yarnorder import Sewn

MOST_PIECES = 20
MOST_SIZES = 20
MOST_SEAMS = 40

State = Literal["finished", "edged"]
EdgeName = Literal["foundation", "last-row", "left", "right"]


@dataclass(frozen=True, slots=True)
class Reference:
    """A measurement taken from another piece, times a factor, plus an ease in millimetres."""

    piece: str
    measurement: str
    state: State = "finished"
    times: Fraction = Fraction(1)
    plus: Fraction = Fraction(0)


Wanted = Fraction | Mapping[str, Fraction] | Reference
"""A measurement in millimetres for every size, for each size by its name, or another piece's."""


@dataclass(frozen=True, slots=True)
class ProjectPiece:
    """A piece of a project: its order without measurements, and the measurements wanted.

    order is None where neither the piece nor the project has a gauge; shared names the fields
    of the order that are the project's own.
    """

    name: str
    order: PieceOrder | None
    measurements: Mapping[str, Wanted]
    shared: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class EdgeOrder:
    """An edge of a piece that is sewn: of one section only, where that is named."""

    piece: str
    edge: EdgeName
    section: str | None = None

    @property
    def in_rows(self) -> bool:
        """Whether the edge is counted in rows, and not in stitches."""
        return self.edge in ("left", "right")


@dataclass(frozen=True, slots=True)
class Ratio:
    """So many of the first edge to so many of the second."""

    of: int
    to: int


Join = Literal["stitch-for-stitch", "row-for-row"] | Ratio


@dataclass(frozen=True, slots=True)
class SeamOrder:
    """Two edges to be joined; they may differ by so many stitches or rows of the first."""

    name: str
    edges: tuple[EdgeOrder, EdgeOrder]
    join: Join
    ease_at_most: int = 0
    sewn: Sewn = "mattress"

    @property
    def ratio(self) -> Ratio:
        return self.join if isinstance(self.join, Ratio) else Ratio(1, 1)


@dataclass(frozen=True, slots=True)
class ProjectOrder:
    """Several pieces in several sizes, to fit each other; colours whose yarn is told for all."""

    sizes: tuple[str, ...]
    pieces: tuple[ProjectPiece, ...]
    seams: tuple[SeamOrder, ...] = ()
    most_off: Fraction = Fraction(1, 4)
    units: System = "metric"
    yarns: tuple[str, ...] = ()

    def placed(self, piece: int, path: Path, size: str) -> Path:
        """Where in the project the field is that the order of one piece calls ``path``."""
        asked = self.pieces[piece]
        if path[:1] and path[0] in asked.shared:
            return path
        inside: Path = ("pieces", piece, *path)
        if len(path) == 2 and path[0] == "measurements":
            wanted = asked.measurements.get(str(path[1]))
            if isinstance(wanted, Mapping):
                return (*inside, "by_size", size)
        return inside
