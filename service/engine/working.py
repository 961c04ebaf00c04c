"""The work that one question may take, asked for before it is done.

Whoever answers a question does so within an ``allowance``. What takes long asks for its share first
(``spend``), so that work past the allowance is never begun. Outside of one nothing is counted. What
one spends hangs on the question alone, so a question is refused everywhere or nowhere.

A unit is about a two-hundredth of the work of a small piece: what each thing takes was measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from .errors import Path, Refusal, Refused

MOST_WORK = 18_000
"""Units of one question."""

MOST_OUTLINE_ROWS = 1_000
"""Rows of one section that follows an outline: those are fitted row by row."""

# What things take, in units.
PIECE = 40
SECTION = 12
EDGING = 25
YARN = 30
OUTLINE_ROW = 9
STRAINED_ROW = 4
ROUND = 0.6
ROUND_RUN = 3
RUN = 5
STEP = 8
WRITTEN_ROW = 3
SEARCH_STEP = 0.5
COMPARED = 0.02
AUDITED_ROW = 1
AUDITED_STEP = 0.3


@dataclass(slots=True)
class _Allowance:
    left: float


_allowance: ContextVar[_Allowance | None] = ContextVar("allowance", default=None)


class Spent(Exception):
    """More work than there may be.

    Not a refusal until it leaves the allowance: what tries one thing after another, and takes a
    refusal for an answer, must not take this for one.
    """

    def __init__(self, path: Path) -> None:
        super().__init__("more work than there may be")
        self.path = path


def spend(units: float, path: Path = ()) -> None:
    """Ask for work before doing it; ``path`` is of the field that would have to ask for less.

    Raises Spent. Source: common-practice.

    >>> spend(10 * MOST_WORK)
    >>> with allowance():
    ...     spend(10 * MOST_WORK)
    Traceback (most recent call last):
    service.engine.errors.Refused: this takes more work than one request may: fewer pieces, sizes, \
gauges or rows at once would do
    """
    here = _allowance.get()
    if here is None:
        return
    here.left -= units
    if here.left < 0:
        raise Spent(path)


@contextmanager
def share(units: float) -> Iterator[_Allowance]:
    """At most so many units of what is left, for what can be done without.

    Raises Spent past them, with the rest of the allowance as it was; outside of an allowance
    too, so that what is done without does not hang on who asks. Source: common-practice.

    >>> with allowance(100):
    ...     with share(20) as own:
    ...         spend(15)
    ...     spend(85)
    >>> own.left
    5
    """
    whole = _allowance.get()
    mine = units if whole is None else max(0, min(units, whole.left))
    own = _Allowance(mine)
    token = _allowance.set(own)
    try:
        yield own
    finally:
        _allowance.reset(token)
        own.left = max(0, own.left)
        if whole is not None:
            whole.left -= mine - own.left


@contextmanager
def allowance(units: float = MOST_WORK) -> Iterator[None]:
    """The work of one question. Raises Refused past it. Source: common-practice."""
    token = _allowance.set(_Allowance(units))
    try:
        yield
    except Spent as spent:
        detail = (
            "this takes more work than one request may: fewer pieces, sizes, gauges or rows at once"
            " would do"
        )
        fewer = ["pieces", "sizes", "gauges", "rows"]
        permitted = {"work": MOST_WORK, "by_fewer": fewer}
        raise Refused(Refusal("too-much-work", spent.path, detail, permitted)) from None
    finally:
        _allowance.reset(token)
