"""The stitches of the vocabulary: heights, turning chains, names in both dialects."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .exact import Fraction

Terms = Literal["us", "uk"]


@dataclass(frozen=True, slots=True)
class Name:
    """A stitch's name and standard abbreviation in one dialect."""

    full: str
    short: str


@dataclass(frozen=True, slots=True)
class Stitch:
    """What the arithmetic needs to know of a stitch.

    turning_chain: chains to turn with; other_turning_chain where the trade has two.
    turning_chain_counts: whether that chain commonly counts as a stitch.
    edge_ratio: single crochet that the trade works along one row end, if it has a usual number.
    relative_height: height of a row over the width of a stitch, from published gauges.
    """

    key: str
    us: Name
    uk: Name
    turning_chain: int
    other_turning_chain: int | None
    turning_chain_counts: bool
    makes_rows: bool
    edge_ratio: Fraction | None
    relative_height: Fraction
    height_source: str
    source: str

    def name(self, terms: Terms) -> Name:
        return self.us if terms == "us" else self.uk


def _stitch(
    key: str,
    us: tuple[str, str],
    uk: tuple[str, str],
    turning: tuple[int, int | None, bool],
    edge_ratio: Fraction | None,
    relative_height: tuple[int, str],
    source: str = "all-in-one",
) -> Stitch:
    height, height_source = relative_height
    return Stitch(
        key, Name(*us), Name(*uk), *turning, key != "chain", edge_ratio,
        Fraction(height, 1000), height_source, source,
    )  # fmt: skip


# Relative heights are the middle of what published gauges give (sc 0.88-0.93, hdc 1.37-1.44,
# dc 1.73-2.00). No gauge for the others was found: a treble is taken as 4/3 of a double, as its
# turning chain is, and a slip stitch as half of a single.
STITCHES: dict[str, Stitch] = {
    s.key: s
    for s in (
        _stitch("chain", ("chain", "ch"), ("chain", "ch"), (0, None, False), None,
                (0, "common-practice")),
        _stitch("slip-stitch", ("slip stitch", "sl st"), ("slip stitch", "ss"), (1, None, False),
                None, (450, "common-practice"), "common-practice"),
        _stitch("single-crochet", ("single crochet", "sc"), ("double crochet", "dc"),
                (1, None, False), Fraction(1), (905, "published-gauges")),
        _stitch("half-double-crochet", ("half double crochet", "hdc"), ("half treble", "htr"),
                (2, 1, True), Fraction(3, 2), (1405, "published-gauges")),
        _stitch("double-crochet", ("double crochet", "dc"), ("treble", "tr"), (3, 2, True),
                Fraction(2), (1865, "published-gauges")),
        _stitch("treble-crochet", ("treble crochet", "tr"), ("double treble", "dtr"),
                (4, None, True), Fraction(3), (2487, "common-practice")),
    )
}  # fmt: skip
"""Stitches by key, shortest first."""

MAKE_ROWS: tuple[str, ...] = tuple(s.key for s in STITCHES.values() if s.makes_rows)
"""Keys of the stitches that a fabric can be worked in."""
