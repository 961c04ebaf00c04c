"""Rounds: stitch counts from the circumference at the round's own gauge."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, groupby, repeat, starmap
from math import floor, pi
from operator import itemgetter
from typing import TYPE_CHECKING, Annotated, Literal

from .edgings import Extent
from .exact import Fraction
from .profile import Profile
from .units import Length

if TYPE_CHECKING:
    from .roundbegun import RoundBegun

FEWEST_IN_RING = 3
"""Stitches: a ring of fewer cannot be worked round. Source: common-practice."""
SHOWS = Fraction(1, 8)
"""Off from flat: the trade's own multiples lie within it at published gauges (8 half double for
9.08, 12 double for 10.89, 6 single for 5.50), so past it is where it shows.
Source: published-gauges, common-practice."""


@dataclass(frozen=True, slots=True)
class Start:
    kind: Annotated[str, "ring, chain (closed), or oval (a chain worked along both sides)"]
    chain: Annotated[int | None, "chains to make; left out for a ring"]
    first_stitch_in_chain: Annotated[int | None, "chain the first stitch goes into, from the hook"]
    turning_chain: Annotated[int, "chains at the start of a joined round"]
    turning_chain_counts: Annotated[bool, "whether they stand for a stitch"]
    stitches: Annotated[int, "stitches that the first round is worked into; 0 in a ring"]
    side_stitches: Annotated[int | None, "stitches along each straight side of an oval"]


@dataclass(frozen=True, slots=True)
class RoundRun:
    """A stretch of rounds at one rate; a stretch with no shaping has ``times`` 0."""

    rows: Annotated[int, "rounds this run covers"]
    every: Annotated[int, "a shaping round each so many rounds; the last of each so many"]
    times: Annotated[int, "shaping rounds in the run; 0 when it is worked even"]
    change: Annotated[int, "stitches gained (or lost, negative) in a shaping round, spread evenly"]
    stitches_after: Annotated[int, "stitches of the last round of the run"]


@dataclass(frozen=True, slots=True)
class Flatness:
    """How a disc will lie."""

    increases_a_round: Annotated[float, "stitches gained a round, as chosen"]
    flat_increases: Annotated[float, "stitches a round that lie flat at this gauge: 2 pi h / w"]
    off_percent: Annotated[float, "chosen over flat, per cent: below zero cups, above ruffles"]
    shows_past_percent: Annotated[float, "how far off begins to show, either way"]
    lies: Annotated[Literal["flat", "cups", "ruffles"], "how it will lie"]
    rounds_to_a_stitch_off: Annotated[
        int | None, "rounds after which the rim is a whole stitch off; left out where it never is"
    ]


@dataclass(frozen=True, slots=True)
class RoundSize:
    circumference_at_start: Annotated[Length, "round the work where the section starts"]
    circumference_at_end: Annotated[Length, "round its last round"]
    diameter_at_end: Annotated[Length, "across its last round"]
    along_fabric: Annotated[Length, "rounds measured along the fabric"]
    height: Annotated[Length, "rise along the axis: 0 for a disc"]


@dataclass(frozen=True, slots=True)
class RoundSection:
    name: Annotated[str, "name from the template"]
    first_row: Annotated[int, "round of the piece that the section starts with"]
    rows: Annotated[int, "rounds in the section"]
    stitches_at_start: Annotated[int, "stitches of the round it is worked into; 0 in a ring"]
    stitches_at_end: Annotated[int, "stitches of its last round"]
    schedule: Annotated[tuple[RoundRun, ...], "shaping, in working order; empty when worked even"]
    in_words: Annotated[str, "the shaping in the trade's form"]
    finished: Annotated[RoundSize, "finished size of the section"]
    flatness: Annotated[Flatness | None, "how a disc will lie"]
    row_counts: Annotated[tuple[int, ...] | None, 'stitches of each round, with "detail": "rows"']


_rounds = itemgetter(1)


@dataclass(frozen=True, slots=True)
class Counts:
    """Stitches of each round, like rounds together: so many stitches, for so many rounds.

    A tube of 10,000 rounds is one stretch, and costs what one of 10 does.
    """

    stretches: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, counts: Iterable[int]) -> Counts:
        """Join equal counts that follow each other.

        >>> Counts.of((6, 12, 12)).stretches
        ((6, 1), (12, 2))
        """
        return cls(tuple([(stitches, len([*like])) for stitches, like in groupby(counts)]))

    def __iter__(self) -> Iterator[int]:
        return chain.from_iterable(starmap(repeat, self.stretches))

    @property
    def rounds(self) -> int:
        return sum(map(_rounds, self.stretches))

    @property
    def total(self) -> int:
        return sum(stitches * rounds for stitches, rounds in self.stretches)

    @property
    def last(self) -> int:
        return self.stretches[-1][0]

    @property
    def most(self) -> int:
        return max(self.stretches)[0]

    @property
    def fewest(self) -> int:
        return min(self.stretches)[0]


@dataclass(frozen=True, slots=True)
class RoundSized:
    start: Start
    sections: tuple[RoundSection, ...]
    counts: tuple[Counts, ...]
    came_to: Mapping[str, Fraction]
    extent: Extent
    blunted: bool
    begun: RoundBegun | None = None


def nearest(exact: float) -> int:
    """The nearest whole stitch; ties go up. Source: common-practice.

    >>> nearest(12.566), nearest(2.5)
    (13, 3)
    """
    return floor(exact + 0.5)


def flat_increases(stitch_width: Fraction, row_height: Fraction) -> float:
    """Stitches a round must gain for a disc to lie flat: 2 pi h / w. Source: geometry.

    >>> round(flat_increases(Fraction(1), Fraction(1)), 2)
    6.28
    """
    return 2 * pi * float(row_height / stitch_width)


def disc(start: float, a_round: float, rounds: int) -> tuple[int, ...]:
    """Counts of a disc's rounds: ``start`` stitches (0 in a ring) and so many more each round.

    Source: geometry.

    >>> disc(0, 2 * pi, 10)
    (6, 13, 19, 25, 31, 38, 44, 50, 57, 63)
    """
    # As nearest has it, without a call for each of what may be thousands of rounds.
    return tuple([floor(start + i * a_round + 0.5) for i in range(1, rounds + 1)])


def straight(start: int, end: int, rounds: int) -> tuple[int, ...]:
    """Counts from ``start`` to ``end`` stitches, spread evenly over the rounds. Source: geometry.

    >>> straight(0, 20, 4), straight(20, 6, 3)
    ((5, 10, 15, 20), (15, 11, 6))
    """
    return tuple(
        (2 * (start * (rounds - i) + end * i) + rounds) // (2 * rounds)
        for i in range(1, rounds + 1)
    )


def along(shape: Profile, stitch_width: Fraction, rounds: int) -> tuple[int, ...]:
    """Counts along a profile: each round's circumference at its outer end, over a stitch's width.

    Source: geometry.

    >>> from .profile import Segment, profile
    >>> dome = profile(0, (Segment(40, 40, "level-first"),))
    >>> along(dome, Fraction(4), 4)
    (24, 44, 58, 63)
    """
    step = shape.length / rounds
    return tuple(
        nearest(max(0.0, 2 * pi * shape.radius(i * step)) / float(stitch_width))
        for i in range(1, rounds + 1)
    )


def runs(start: int, counts: Counts) -> tuple[RoundRun, ...]:
    """The counts as runs: like spaces and like changes together.

    Source: common-practice.

    >>> [(r.rows, r.every, r.times, r.change) for r in runs(6, Counts.of((12, 18, 18, 24, 24)))]
    [(2, 1, 2, 6), (2, 2, 1, 6), (1, 1, 0, 0)]
    """
    made: list[RoundRun] = []
    before, waiting = start, 0
    for count, rounds in counts.stretches:
        if count == before:
            waiting += rounds
            continue
        every, change = waiting + 1, count - before
        last = made[-1] if made else None
        if last and (last.every, last.change) == (every, change):
            made[-1] = RoundRun(last.rows + every, every, last.times + 1, change, count)
        else:
            made.append(RoundRun(every, every, 1, change, count))
        before, waiting = count, rounds - 1
    if waiting and made:
        made.append(RoundRun(waiting, 1, 0, 0, before))
    return tuple(made)


def flatness(a_round: float, flat: float) -> Flatness:
    """How a disc with ``a_round`` increases lies where ``flat`` would lie flat.

    Source: geometry.

    >>> flatness(6, 2 * pi).lies, flatness(8, 2 * pi).lies
    ('flat', 'ruffles')
    """
    off = a_round / flat - 1
    stitch = abs(a_round - flat)
    return Flatness(
        increases_a_round=float(a_round),
        flat_increases=flat,
        off_percent=100 * off,
        shows_past_percent=float(100 * SHOWS),
        lies="flat" if abs(off) <= SHOWS else "cups" if off < 0 else "ruffles",
        rounds_to_a_stitch_off=None if stitch < 1e-9 else -int(-1 // stitch),
    )
