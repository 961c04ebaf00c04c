"""Yarn of several pieces bought together: sums, and balls counted on the sum."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from math import ceil

from .yarn import Yarn, YarnPart


def in_all(yarns: tuple[Yarn, ...]) -> Yarn:
    """The yarn of pieces that are worked from the same yarn, at least one of them.

    Their intervals are added end to end, since what is not known of the yarn is the same for
    all; balls are counted on the sum, so that what one piece leaves goes into the next.
    Source: common-practice.

    >>> from .gauge import square
    >>> from .yarn import Work, YarnOrder, estimate
    >>> one = estimate(Work(2508), square(16, 19), YarnOrder(weight_category=4))
    >>> in_all((one, one)).length == 2 * one.length
    True
    """
    first = yarns[0]
    by_mass = first.method == "swatch-mass"
    buy, buy_mass = _sum(y.to_buy for y in yarns), _sum(y.to_buy_mass for y in yarns)
    length, mass = _sum(y.length for y in yarns), _sum(y.mass for y in yarns)
    interval = _ends([y.interval for y in yarns])
    mass_interval = _ends([y.mass_interval for y in yarns])
    off = sum(y.interval_percent for y in yarns) / len(yarns)
    total, ends = (mass, mass_interval) if by_mass else (length, interval)
    if total and ends:
        off = float(100 * (ends[1] - ends[0]) / (2 * total))
    ball = None
    if first.ball:
        ball = first.ball.mass if by_mass else first.ball.length
    needs = buy_mass if by_mass else buy
    most = max(needs, ends[1]) if needs is not None and ends else None
    return replace(
        first,
        length=length,
        mass=mass,
        interval=interval,
        mass_interval=mass_interval,
        interval_percent=off,
        to_buy=buy,
        to_buy_mass=buy_mass,
        balls=None if ball is None or needs is None else ceil(needs / ball),
        balls_at_most=None if ball is None or most is None else ceil(most / ball),
        parts=_parts(yarns),
    )


def _sum(amounts: Iterable[Fraction | None]) -> Fraction | None:
    """The sum; None where any is not known."""
    total = Fraction(0)
    for amount in amounts:
        if amount is None:
            return None
        total += amount
    return total


def _ends(intervals: list[tuple[Fraction, Fraction] | None]) -> tuple[Fraction, Fraction] | None:
    known = [i for i in intervals if i is not None]
    if len(known) < len(intervals):
        return None
    return sum((i[0] for i in known), Fraction(0)), sum((i[1] for i in known), Fraction(0))


def _parts(yarns: tuple[Yarn, ...]) -> tuple[YarnPart, ...]:
    named: dict[str, list[YarnPart]] = {}
    for yarn in yarns:
        for part in yarn.parts:
            named.setdefault(part.part, []).append(part)
    return tuple(
        YarnPart(name, _sum(p.length for p in parts), _sum(p.mass for p in parts))
        for name, parts in named.items()
    )
