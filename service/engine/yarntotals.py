"""Yarn of several pieces bought together: sums, and balls counted on the sum."""

from __future__ import annotations

from dataclasses import replace

from .buying import Substitute, balls
from .exact import Fraction
from .yarn import Estimate, YarnPart, add, ends


def in_all(made: tuple[Estimate, ...]) -> Estimate:
    """The yarn of what is worked from the same yarn, at least one.

    Their intervals are added end to end; balls are counted on the sum, so that what one piece
    leaves goes into the next. Source: common-practice.

    >>> from .foundation import Turning
    >>> from .gauge import square
    >>> from .yarn import estimate
    >>> from .yarnorder import YarnOrder
    >>> from .yarnwork import Part, Work
    >>> work = Work((Part("fabric", stitches={"single-crochet": 2508}),), Turning(1, False))
    >>> one = estimate(work, square(16, 19), YarnOrder(weight_category=4))
    >>> in_all((one, one)).length == 2 * one.length
    True
    """
    first = made[0]
    by_mass = first.method == "swatch-mass"
    length, mass = add(y.length for y in made), add(y.mass for y in made)
    interval, mass_interval = ends(y.interval for y in made), ends(y.mass_interval for y in made)
    to_buy, to_buy_mass = add(y.to_buy for y in made), add(y.to_buy_mass for y in made)
    needs, span, total = (
        (to_buy_mass, mass_interval, mass) if by_mass else (to_buy, interval, length)
    )
    most = max(needs, span[1]) if needs is not None and span else None
    return Estimate(
        length=length,
        mass=mass,
        interval=interval,
        mass_interval=mass_interval,
        interval_percent=float(100 * (span[1] / total - 1)) if span and total else 0.0,
        method=first.method,
        method_source=first.method_source,
        margin_percent=first.margin_percent,
        to_buy=to_buy,
        to_buy_mass=to_buy_mass,
        ball=first.ball,
        balls=balls(needs, first.ball, by_mass),
        balls_at_most=balls(most, first.ball, by_mass),
        substitute=_substitute(first.substitute, to_buy, interval),
        parts=_parts(made),
    )


def without_swatch(one: Estimate) -> Estimate:
    """The same but for the swatch, which is made once and not with every piece or size.

    The balls are still those with it: ``in_all`` counts them anew. Source: common-practice.

    >>> from .foundation import Turning
    >>> from .gauge import square
    >>> from .yarn import estimate
    >>> from .yarnorder import SwatchYarn, YarnOrder
    >>> from .yarnwork import Part, Work
    >>> work = Work((Part("fabric", length=Fraction(50_000)),), Turning(1, False))
    >>> swatch = SwatchYarn(unravelled=Fraction(14_000), stitches=16, rows=19)
    >>> made = estimate(work, square(16, 19), YarnOrder(swatch=swatch, include_swatch=True))
    >>> int(made.length), int(without_swatch(made).length)
    (64000, 50000)
    """
    swatches = [part for part in one.parts if part.part == "swatch"]
    if not swatches:
        return one
    if one.length and swatches[0].length is not None:
        left = 1 - sum(p.length or 0 for p in swatches) / one.length
    else:
        left = 1 - sum(p.mass or 0 for p in swatches) / (one.mass or Fraction(1))

    def less(amount: Fraction | None) -> Fraction | None:
        return None if amount is None else amount * left

    def span(ends: tuple[Fraction, Fraction] | None) -> tuple[Fraction, Fraction] | None:
        return ends and (ends[0] * left, ends[1] * left)

    return replace(
        one,
        length=less(one.length),
        mass=less(one.mass),
        interval=span(one.interval),
        mass_interval=span(one.mass_interval),
        to_buy=less(one.to_buy),
        to_buy_mass=less(one.to_buy_mass),
        parts=tuple(part for part in one.parts if part.part != "swatch"),
    )


def _substitute(
    one: Substitute | None, buy: Fraction | None, interval: tuple[Fraction, Fraction] | None
) -> Substitute | None:
    if one is None or buy is None or interval is None or one.ball.length is None:
        return None
    most, weight = max(buy, interval[1]), one.mass / one.length
    return replace(
        one,
        length=buy,
        mass=buy * weight,
        balls=balls(buy, one.ball, by_mass=False) or 0,
        balls_at_most=balls(most, one.ball, by_mass=False) or 0,
    )


def _parts(made: tuple[Estimate, ...]) -> tuple[YarnPart, ...]:
    """Like parts added; sections of several pieces are fabric all together."""
    named: dict[tuple[str, str | None], list[YarnPart]] = {}
    for one in made:
        for part in one.parts:
            named.setdefault((part.part, part.colour), []).append(part)
    return tuple(
        YarnPart(name, None, colour, add(p.length for p in parts), add(p.mass for p in parts))
        for (name, colour), parts in named.items()
    )
