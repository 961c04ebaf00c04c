"""What a conversion is answered with: counts as converted, beside what was written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .exact import Fraction
from .rounds import RoundRun
from .shaping import Run
from .units import Length


@dataclass(frozen=True, slots=True)
class Converted:
    """A length as written and as converted, side by side."""

    written: Annotated[Length, "as written, at its own gauge"]
    finished: Annotated[Length, "as converted, at the new gauge"]
    difference: Annotated[Length, "finished less written"]

    @classmethod
    def of(cls, written: Fraction, finished: Fraction) -> Converted:
        return cls(written, finished, finished - written)


@dataclass(frozen=True, slots=True)
class ConvertedFoundation:
    chain: Annotated[int | None, "chains to make; left out for a ring"]
    first_stitch_in_chain: Annotated[
        int | None, "chain the first stitch goes into, from the hook; worked flat"
    ]
    turning_chain_counts: Annotated[bool, "whether the chains skipped stand for a stitch"]
    turning_chain: Annotated[int, "chains at the start of each row or joined round"]
    stitches: Annotated[int, "stitches of the first row, or that the first round goes into"]
    written_chain: Annotated[int | None, "chain as written; as its stitches want it, if not sent"]
    written_stitches: Annotated[int, "stitches as written"]
    width: Annotated[Converted, "width of the foundation (in the round, the way round it)"]


@dataclass(frozen=True, slots=True)
class WrittenCounts:
    rows: Annotated[int, "rows as written"]
    stitches_at_start: Annotated[int, "stitches it starts from, as written"]
    stitches_at_end: Annotated[int, "stitches of its last row, as written"]


@dataclass(frozen=True, slots=True)
class ConvertedSize:
    width_at_start: Annotated[Converted, "width where it starts (in the round, the way round)"]
    width_at_end: Annotated[Converted, "width of its last row (in the round, the way round)"]
    height: Annotated[Converted, "height (in the round, measured along the fabric)"]


@dataclass(frozen=True, slots=True)
class ConvertedSection:
    name: Annotated[str, "as sent"]
    first_row: Annotated[int, "row or round of the piece that the section starts with"]
    rows: Annotated[int, "rows or rounds in the section"]
    stitches_at_start: Annotated[int, "stitches it is worked into; 0 in a ring"]
    stitches_at_end: Annotated[int, "stitches of its last row or round"]
    schedule: Annotated[
        tuple[Run | RoundRun, ...], "shaping, in working order; empty when worked even"
    ]
    in_words: Annotated[str, "the shaping in the trade's form"]
    written: Annotated[WrittenCounts, "the counts as written"]
    sizes: Annotated[ConvertedSize, "what they come to, each at its own gauge"]
    row_counts: Annotated[tuple[int, ...] | None, 'stitches of each row, with "detail": "rows"']


@dataclass(frozen=True, slots=True)
class ConvertedTotals:
    rows: Annotated[int, "rows of the piece at the new gauge"]
    written_rows: Annotated[int, "rows of the piece as written"]
    width: Annotated[Converted, "the piece at its widest (in the round, the way round)"]
    height: Annotated[Converted, "all rows (in the round, measured along the fabric)"]
