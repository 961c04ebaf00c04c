"""What the search for counts chooses among: pieces with a count for each of their measurements."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .candidates import Candidate, Counted
from .exact import Fraction
from .projectorder import EdgeOrder
from .sizing import Sized


@dataclass(frozen=True, slots=True)
class Option:
    """A piece with its counts chosen, what its joined edges count, and how far off it is.

    sized is None as long as the edges are foretold and the piece has not been made; kept is how
    far off the measurements are that no one count drives.
    """

    candidates: Mapping[str, Candidate]
    values: Mapping[str, Fraction]
    edges: Mapping[EdgeOrder, int]
    sized: Sized | None
    kept: tuple[Fraction, ...] = ()

    @property
    def worst(self) -> Fraction:
        return max((*(c.error for c in self.candidates.values()), *self.kept), default=Fraction(0))

    @property
    def cost(self) -> tuple[Fraction, int, tuple[int, ...]]:
        """Sum of errors, counts moved, counts: compared in that order."""
        chosen = self.candidates.values()
        errors = sum((*(c.error for c in chosen), *self.kept), Fraction(0))
        return errors, sum(c.moved for c in chosen), tuple(c.count for c in chosen)


Chosen = Mapping[str, Option]


@dataclass(frozen=True, slots=True)
class Member:
    """A piece as the search sees it.

    counted: its measurements that were asked for and are counted, each after those it hangs on;
    near: how far off all that were asked for are at their nearest counts; hinges: the counted
    that joined edges, other pieces, and others of them hang on; fixed: whether what is asked
    hangs on no other piece of the group; asked: what is asked of it, once the pieces before it
    are chosen; size: the piece in those measurements, None where it cannot be made; edges: those
    that are joined;
    read: what other pieces of the group take from it; added: edges that count as some
    measurements do, added up, and so many more; foretell: the edges from the counts alone,
    where every choice can be made and no piece reads it.
    """

    name: str
    counted: Mapping[str, Counted]
    near: Mapping[str, Fraction]
    hinges: frozenset[str]
    fixed: bool
    asked: Callable[[Chosen], Mapping[str, Fraction] | None]
    size: Callable[[Mapping[str, Fraction]], Sized | None]
    edges: tuple[EdgeOrder, ...]
    read: Callable[[Sized], tuple[object, ...]]
    added: Mapping[EdgeOrder, tuple[tuple[str, ...], int]]
    foretell: Callable[[Mapping[str, Candidate]], Mapping[EdgeOrder, int]] | None = None


@dataclass(frozen=True, slots=True)
class Solution:
    options: Chosen
    worst: Fraction
    cost: tuple[Fraction, int, tuple[tuple[int, ...], ...]]


def off(sized: Sized, name: str, asked: Fraction) -> Fraction:
    """How far off a measurement of a piece is, as a part of what was asked in millimetres.

    Source: common-practice.

    >>> from .gauge import square
    >>> from .sizing import PieceOrder, size
    >>> from .templates import FoundationPlan, MeasurementPlan, Template, Term
    >>> tab = Template("tab", "Tab", (MeasurementPlan("width", "across"),),
    ...     FoundationPlan(Term("width")), ())
    >>> off(size(PieceOrder(square(20, 20), tab, {"width": Fraction(48)})), "width", Fraction(48))
    Fraction(1, 24)
    """
    made = sized.measurements.get(name)
    return abs(made.finished - asked) / asked if made and asked else Fraction(0)
