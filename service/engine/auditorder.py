"""Written rows as a designer states them: stitches worked, and what they are said to come to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeVar

from .errors import Findings, Path
from .exact import Fraction
from .gauge import Gauge
from .openings import STRETCH, Button, check_button
from .projectorder import SeamOrder
from .units import System

T = TypeVar("T")

MOST_LINES = 400
"""Lines of rows in a piece, at most."""
MOST_WORK = 200_000
"""Stitch groups worked through in one audit, at most."""

Count = int | Mapping[str, int]
"""The same in every size, or by the size's name."""
Size = Fraction | Mapping[str, Fraction]
"""A length in millimetres, the same in every size or by the size's name."""

Kind = Literal[
    "plain", "increase", "together", "skip", "chain", "into_space", "same_stitch", "into_ring",
    "turning_chain", "leave", "repeat",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class ToLast:
    """As far as this many stitches before the end of the row."""

    stitches: Count


Extent = Count | ToLast | Literal["to-end"]


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """One thing worked along a row. ``extent``: how many, or how far; ``group``: what is repeated;
    ``counts_as``: stitches that chains count as in their row."""

    kind: Kind
    extent: Extent
    counts_as: Count = 0
    group: tuple[WorkOrder, ...] = ()


@dataclass(frozen=True, slots=True)
class RunOrder:
    """A run of a schedule: ``change`` stitches in each of ``times`` rows, one in ``every``."""

    rows: int
    every: int = 1
    times: int = 0
    change: int = 0
    stitches_after: int | None = None


Work = tuple[WorkOrder, ...]
Runs = tuple[RunOrder, ...]


@dataclass(frozen=True, slots=True)
class LineOrder:
    """One line of a pattern: its rows, all worked alike, by a schedule, or as the rows from the
    first to the last of ``as_rows`` over and over; and the count stated."""

    work: Work | Mapping[str, Work] | None = None
    schedule: Runs | Mapping[str, Runs] | None = None
    first_row: Count | None = None
    last_row: Count | None = None
    stitches: Count | None = None
    section: str | None = None
    sizes: tuple[str, ...] | None = None
    as_rows: tuple[Count, Count] | None = None


@dataclass(frozen=True, slots=True)
class FoundationOrder:
    """The chain that is stated, and the stitches that its first row is worked over."""

    chain: Count | None = None
    first_stitch_in_chain: int = 1
    skipped_chains_count: bool = False
    both_sides: bool = False
    stitches: Count | None = None

    def bases(self, chain: int) -> int:
        """Places to work into along ``chain`` chains; none where the first stitch has no chain.

        >>> FoundationOrder(first_stitch_in_chain=4, skipped_chains_count=True).bases(13)
        11
        """
        if chain < self.first_stitch_in_chain:
            return 0
        along = chain - (self.first_stitch_in_chain - 1) + self.skipped_chains_count
        return 2 * along - 2 if self.both_sides else along

    def chain_for(self, bases: int) -> int | None:
        """Chains that give so many places; None where no whole number does.

        >>> FoundationOrder(first_stitch_in_chain=2).chain_for(38)
        39
        """
        along, odd = divmod(bases + 2, 2) if self.both_sides else (bases, 0)
        return None if odd else along + (self.first_stitch_in_chain - 1) - self.skipped_chains_count


Measures = Literal["width", "height", "circumference", "diameter"]


@dataclass(frozen=True, slots=True)
class StatedMeasurement:
    """A finished measurement as the pattern states it."""

    name: str
    measures: Measures
    stated: Size
    at: Literal["foundation", "last-row", "widest"] = "widest"
    section: str | None = None


@dataclass(frozen=True, slots=True)
class StatedClosure:
    """An opening as the pattern states it, and the button that is to pass."""

    name: str
    kind: Literal["loop", "slit"]
    button: Button
    chains: Count | None = None
    spans: Count | None = None
    skipped: Count | None = None
    stretch: Fraction = STRETCH


@dataclass(frozen=True, slots=True)
class AuditPiece:
    name: str
    rows: tuple[LineOrder, ...]
    worked: Literal["flat", "round"] = "flat"
    foundation: FoundationOrder | None = None
    gauge: Gauge | None = None
    measurements: tuple[StatedMeasurement, ...] = ()
    closures: tuple[StatedClosure, ...] = ()


@dataclass(frozen=True, slots=True)
class AuditOrder:
    sizes: tuple[str, ...]
    pieces: tuple[AuditPiece, ...]
    seams: tuple[SeamOrder, ...] = ()
    gauge: Gauge | None = None
    units: System = "metric"


def in_size(value: T | Mapping[str, T], size: str) -> T:
    """What a value is in one size. Source: common-practice.

    >>> in_size({"pocket": 20, "desk": 38}, "desk"), in_size(4, "desk")
    (38, 4)
    """
    return value[size] if isinstance(value, Mapping) else value


def check_audit(order: AuditOrder) -> None:
    """Whether the form can be audited at all: names that are known, every size where one is told.

    Raises Refused with all that cannot be read. Source: common-practice.

    >>> check_audit(AuditOrder(("one",), ()))
    """
    found = Findings()
    _unlike(order.sizes, ("sizes",), "size", found)
    _unlike(tuple(p.name for p in order.pieces), ("pieces",), "piece", found, "name")
    for i, piece in enumerate(order.pieces):
        _check_piece(piece, _Sizes(order.sizes, order.sizes), ("pieces", i), found)
    _check_seams(order, found)
    found.settle()


def _unlike(names: tuple[str, ...], path: Path, what: str, found: Findings, *leaf: str) -> None:
    for i, name in enumerate(names):
        if name in names[:i]:
            found.add(f"{what}-twice", (*path, i, *leaf), f"two are called {name}")


@dataclass(frozen=True, slots=True)
class _Sizes:
    """The sizes there are, and those that a line is worked in."""

    known: tuple[str, ...]
    own: tuple[str, ...]


def _check_sizes(value: object, which: _Sizes, path: Path, found: Findings) -> None:
    """A value by size names every size that it is for, and none that there is not."""
    if isinstance(value, ToLast):
        _check_sizes(value.stitches, which, (*path, "to_last"), found)
    if not isinstance(value, Mapping):
        return
    sizes = which.known
    for name in value:
        if name not in sizes:
            detail = f"there is no size {name} here; there are {', '.join(sizes)}"
            found.add("unknown-size", (*path, "by_size", name), detail, [*sizes])
    for name in which.own:
        if name not in value:
            detail = f"size {name} is missing"
            found.add("size-missing", (*path, "by_size"), detail, [*sizes])


def _check_piece(piece: AuditPiece, sizes: _Sizes, path: Path, found: Findings) -> None:
    base = piece.foundation
    if base is None and piece.worked == "flat":
        detail = "a piece worked flat begins on a foundation; only rounds begin in a ring"
        found.add("foundation-missing", (*path, "foundation"), detail, ["chain", "stitches"])
    if base is not None:
        if base.chain is None and base.stitches is None:
            detail = "a foundation needs its chain, its stitches, or both"
            found.add("foundation-size", (*path, "foundation"), detail, ["chain", "stitches"])
        _check_sizes(base.chain, sizes, (*path, "foundation", "chain"), found)
        _check_sizes(base.stitches, sizes, (*path, "foundation", "stitches"), found)
    for i, line in enumerate(piece.rows):
        _check_line(line, sizes, (*path, "rows", i), found)
        if line.work is not None and (i or base is not None):
            for at, work in _works(line, (*path, "rows", i)):
                _refuse_ring(work, at, found)
    sections = list(dict.fromkeys(line.section for line in piece.rows if line.section))
    for i, measurement in enumerate(piece.measurements):
        at = (*path, "measurements", i)
        _check_sizes(measurement.stated, sizes, (*at, "stated"), found)
        _check_section(measurement.section, sections, at, found)
    for i, closure in enumerate(piece.closures):
        at = (*path, "closures", i)
        needs = "chains" if closure.kind == "loop" else "skipped"
        if getattr(closure, needs) is None:
            found.add("closure-size", at, f"a {closure.kind} needs its {needs}", [needs])
        with found.collecting(at):
            check_button(closure.button)
        for name in ("chains", "spans", "skipped"):
            _check_sizes(getattr(closure, name), sizes, (*at, name), found)


def _check_section(name: str | None, sections: list[str], path: Path, found: Findings) -> None:
    if name is not None and name not in sections:
        detail = f"no rows of the piece are of a section {name}"
        found.add("unknown-section", (*path, "section"), detail, sections)


def _check_line(line: LineOrder, sizes: _Sizes, path: Path, found: Findings) -> None:
    own = sizes
    if line.sizes is not None:
        _unlike(line.sizes, (*path, "sizes"), "size", found)
        for i, name in enumerate(line.sizes):
            if name not in sizes.known:
                found.add("unknown-size", (*path, "sizes", i), f"no size {name}", [*sizes.known])
        own = _Sizes(sizes.known, tuple(s for s in sizes.known if s in line.sizes))
    ways = ["work", "schedule", "as_rows"]
    if sum(getattr(line, way) is not None for way in ways) != 1:
        detail = "a line has the work of its rows, their schedule, or the rows they are worked as"
        found.add("one-way-to-tell-rows", path, detail, {"one_of": ways})
    if line.as_rows is not None:
        low, high = line.as_rows
        _check_sizes(low, own, (*path, "as_rows", "first"), found)
        _check_sizes(None if high is low else high, own, (*path, "as_rows", "last"), found)
    for name in ("work", "schedule", "first_row", "last_row", "stitches"):
        _check_sizes(getattr(line, name), own, (*path, name), found)
    for at, work in _works(line, path):
        for i, op in enumerate(work):
            _check_op(op, own, (*at, i), found)
            if op.kind == "turning_chain" and i:
                detail = "a turning chain comes first in its row"
                found.add("turning-chain-not-first", (*at, i), detail)


def _works(line: LineOrder, path: Path) -> list[tuple[Path, Work]]:
    at: Path = (*path, "work")
    if isinstance(line.work, Mapping):
        return [((*at, "by_size", size), work) for size, work in line.work.items()]
    return [] if line.work is None else [(at, line.work)]


def _check_op(op: WorkOrder, sizes: _Sizes, path: Path, found: Findings) -> None:
    told = "times" if op.kind == "repeat" else op.kind
    _check_sizes(op.extent, sizes, (*path, told), found)
    _check_sizes(op.counts_as, sizes, (*path, "counts_as"), found)
    for i, inner in enumerate(op.group):
        _check_op(inner, sizes, (*path, "repeat", i), found)
        if isinstance(inner.extent, (str, ToLast)) or inner.kind == "leave":
            detail = "inside a repeat everything has a number"
            found.add("open-in-repeat", (*path, "repeat", i, inner.kind), detail)


def _refuse_ring(work: Work, path: Path, found: Findings) -> None:
    for i, op in enumerate(work):
        if op.kind == "into_ring":
            detail = "only the first round of a piece with no foundation is worked into a ring"
            found.add("no-ring-here", (*path, i, "into_ring"), detail)
        if op.kind == "repeat":
            _refuse_ring(op.group, (*path, i, "repeat"), found)


def _check_seams(order: AuditOrder, found: Findings) -> None:
    pieces = {p.name: p for p in order.pieces}
    for i, seam in enumerate(order.seams):
        for j, edge in enumerate(seam.edges):
            path: Path = ("seams", i, "edges", j)
            if edge.piece not in pieces:
                detail = f"no piece is called {edge.piece}"
                found.add("unknown-piece", (*path, "piece"), detail, [*pieces])
                continue
            sections = [line.section for line in pieces[edge.piece].rows if line.section]
            if edge.section is not None and not edge.in_rows:
                detail = f"{edge.edge} is one row: leave the section out, or join left or right"
                found.add("section-of-a-level-edge", (*path, "section"), detail)
            else:
                _check_section(edge.section, list(dict.fromkeys(sections)), path, found)
        fits = {"stitch-for-stitch": (False, False), "row-for-row": (True, True)}
        counted = (seam.edges[0].in_rows, seam.edges[1].in_rows)
        if isinstance(seam.join, str) and fits[seam.join] != counted:
            detail = "foundation and last-row are counted in stitches, left and right in rows"
            will = [*(join for join, kinds in fits.items() if kinds == counted), "a ratio"]
            found.add("edges-counted-otherwise", ("seams", i, "join"), detail, will)
