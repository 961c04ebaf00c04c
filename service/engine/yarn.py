"""Yarn: how much a piece takes in all and of each colour, and how well that is known."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, replace
from operator import attrgetter
from typing import Annotated, Any

from .buying import Ball, Substitute, ball_of, balls, substitute
from .errors import Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .units import Mass, YarnLength
from .yarnorder import YarnOrder
from .yarnrates import METHODS, Method, Rate, rate
from .yarnwork import Part, Work

WHY_MARGIN = (
    "joins, rows taken back and a hand that changes from ball to ball; a tenth is common practice"
    " (10 to 15 per cent, from memory: no published source)"
)


@dataclass(frozen=True, slots=True)
class YarnPart:
    part: Annotated[str, "what the yarn goes into"]
    section: Annotated[str | None, "section it is of, where it is fabric"]
    colour: Annotated[str | None, "its colour, where colours were told"]
    length: Annotated[YarnLength | None, "length of yarn, where its length is known"]
    mass: Annotated[Mass | None, "mass of yarn, where its mass is known"]


@dataclass(frozen=True, slots=True)
class Estimate:
    """Yarn of one colour."""

    length: Annotated[YarnLength | None, "yarn it takes, tails included, margin not"]
    mass: Annotated[Mass | None, "the same by mass, where that is known"]
    interval: Annotated[
        tuple[YarnLength, YarnLength] | None, "least and most it is likely to take, by length"
    ]
    mass_interval: Annotated[tuple[Mass, Mass] | None, "the same by mass"]
    interval_percent: Annotated[float, "how far the most is over the estimate, in per cent of it"]
    method: Annotated[Method, "how the estimate was made; of several colours, the least sure"]
    method_source: Annotated[str, "where its figures are from, and how well they agree"]
    margin_percent: Annotated[float, "what is bought over the estimate"]
    to_buy: Annotated[YarnLength | None, "estimate and margin, by length"]
    to_buy_mass: Annotated[Mass | None, "estimate and margin, by mass"]
    ball: Annotated[Ball | None, "the ball counted in; of several colours, the first's"]
    balls: Annotated[int | None, "whole balls to buy for the estimate and margin"]
    balls_at_most: Annotated[int | None, "balls if it takes the most of the interval"]
    substitute: Annotated[Substitute | None, "the same in another yarn, where that was asked"]
    parts: Annotated[tuple[YarnPart, ...], "where the yarn goes"]


@dataclass(frozen=True, slots=True)
class ColourYarn(Estimate):
    """Yarn of one colour of several."""

    colour: Annotated[str, "name of the colour"]


@dataclass(frozen=True, slots=True)
class Yarn(Estimate):
    """Yarn of a piece: all colours together, and each of its own."""

    margin_reason: Annotated[str, "what the margin is for"]
    colours: Annotated[tuple[ColourYarn, ...] | None, "each colour, where colours were told"]


_NAMES = tuple(f.name for f in fields(Estimate))
_VALUES: Callable[[Estimate], tuple[Any, ...]] = attrgetter(*_NAMES)


def estimate(
    work: Work,
    gauge: Gauge,
    order: YarnOrder | None,
    yarns: Mapping[str, YarnOrder] | None = None,
) -> Yarn:
    """Yarn for the work, each colour by the best method that its own order (or ``order``) allows.

    Raises Refused when a substitute's length cannot be told. Source: swatch-test, yarn-experiment.

    >>> from .foundation import Turning
    >>> from .gauge import square
    >>> from .yarnorder import SwatchYarn
    >>> swatch = SwatchYarn(unravelled=Fraction(14_000), stitches=16, rows=19)
    >>> parts = (Part("fabric", stitches={"single-crochet": 304, "chain": 17 + 18}),)
    >>> one = estimate(Work(parts, Turning(1, False)), square(16, 19), YarnOrder(swatch=swatch))
    >>> one.length
    Fraction(14000, 1)
    """
    by_colour: dict[str, list[Part]] = {}
    for part in work.parts:
        by_colour.setdefault(part.colour, []).append(part)
    made: list[ColourYarn] = []
    swatched: list[YarnOrder] = []
    for colour, parts in by_colour.items():
        own = (yarns or {}).get(colour, order)
        assert own is not None  # check_colours saw to it
        if own in swatched:  # one swatch tells of all colours of a yarn
            own = replace(own, include_swatch=False)
        elif own.include_swatch:
            swatched.append(own)
        one = _estimate(tuple(parts), rate(gauge, work.turn, own), own)
        values = dict(zip(_NAMES, _VALUES(one), strict=True))
        made.append(ColourYarn(**values, colour=colour))
    return together(tuple(made))


def _estimate(parts: tuple[Part, ...], at: Rate, order: YarnOrder) -> Estimate:
    per_gram = at.millimetres_a_gram

    def as_length(amount: Fraction) -> Fraction | None:
        return amount if not at.by_mass else amount * per_gram if per_gram else None

    def as_mass(amount: Fraction) -> Fraction | None:
        return amount if at.by_mass else amount / per_gram if per_gram else None

    amounts: dict[tuple[str, str | None, str], Fraction] = {}
    for part in parts:
        plain = part.length if not at.by_mass else part.length / per_gram if per_gram else 0
        key = (part.name, part.section, part.colour)
        amounts[key] = amounts.get(key, Fraction(0)) + part.units * at.each + plain
    if order.include_swatch:
        amounts[("swatch", None, parts[0].colour)] = at.swatch
    total, top = sum(amounts.values(), Fraction(0)), at.top
    low, high = total / top, total * top
    buy = total * (1 + order.margin)
    ball = ball_of(order, per_gram, at.density_is)
    lows, highs = (as_length(low), as_mass(low)), (as_length(high), as_mass(high))
    to_buy, most = as_length(buy), as_length(max(buy, high))
    if order.substitute and (to_buy is None or most is None):
        raise Refused(
            Refusal(
                "length-unknown",
                ("yarn", "substitute"),
                "the swatch was weighed, and nothing tells the yarn's length to its mass: give the"
                " first yarn's ball (length and mass), its count or its category",
                {"one_of": ["ball", "count", "weight_category"]},
            )
        )
    return Estimate(
        length=as_length(total),
        mass=as_mass(total),
        interval=None if lows[0] is None or highs[0] is None else (lows[0], highs[0]),
        mass_interval=None if lows[1] is None or highs[1] is None else (lows[1], highs[1]),
        interval_percent=float(100 * (top - 1)),
        method=at.method,
        method_source=at.method_source,
        margin_percent=float(100 * order.margin),
        to_buy=to_buy,
        to_buy_mass=as_mass(buy),
        ball=ball,
        balls=balls(buy, ball, at.by_mass),
        balls_at_most=balls(max(buy, high), ball, at.by_mass),
        substitute=None
        if to_buy is None or most is None
        else substitute(order, to_buy, most, per_gram),
        parts=tuple(
            YarnPart(name, section, colour or None, as_length(amount), as_mass(amount))
            for (name, section, colour), amount in amounts.items()
            if amount
        ),
    )


def together(made: tuple[ColourYarn, ...]) -> Yarn:
    """All colours as one: amounts and whole balls added, the least sure method named.

    Source: common-practice.

    >>> from .foundation import Turning
    >>> from .gauge import square
    >>> parts = tuple(Part("fabric", c, {"single-crochet": 100}) for c in ("ink", "ochre"))
    >>> both = estimate(Work(parts, Turning(1, False)), square(16, 19), YarnOrder(4))
    >>> both.balls, [c.balls for c in both.colours]
    (2, [1, 1])
    """
    if len(made) == 1 and not made[0].colour:
        (one,) = made
        values = dict(zip(_NAMES, _VALUES(one), strict=True))
        return Yarn(**values, margin_reason=WHY_MARGIN, colours=None)
    first = max(made, key=lambda y: METHODS.index(y.method))
    told = any(one.colour for one in made)
    length, mass = add(y.length for y in made), add(y.mass for y in made)
    interval, mass_interval = ends(y.interval for y in made), ends(y.mass_interval for y in made)
    most = first.interval_percent
    for total, span in ((length, interval), (mass, mass_interval)):
        if total and span:
            most = float(100 * (span[1] / total - 1))
            break
    counted, at_most = [y.balls for y in made], [y.balls_at_most for y in made]
    return Yarn(
        length=length,
        mass=mass,
        interval=interval,
        mass_interval=mass_interval,
        interval_percent=most,
        method=first.method,
        method_source=first.method_source,
        margin_percent=made[0].margin_percent,
        to_buy=add(y.to_buy for y in made),
        to_buy_mass=add(y.to_buy_mass for y in made),
        ball=made[0].ball,
        balls=None if None in counted else sum(n for n in counted if n),
        balls_at_most=None if None in at_most else sum(n for n in at_most if n),
        substitute=made[0].substitute if len(made) == 1 else None,
        parts=tuple(part for one in made for part in one.parts),
        margin_reason=WHY_MARGIN,
        colours=made if told else None,
    )


def add(amounts: Iterable[Fraction | None]) -> Fraction | None:
    """The sum; None where any is not known. Source: common-practice.

    >>> add((Fraction(1), Fraction(2))), add((Fraction(1), None))
    (Fraction(3, 1), None)
    """
    total = Fraction(0)
    for amount in amounts:
        if amount is None:
            return None
        total += amount
    return total


def ends(
    intervals: Iterable[tuple[Fraction, Fraction] | None],
) -> tuple[Fraction, Fraction] | None:
    """Intervals added end to end: what is not known of a yarn or a hand is the same for all.

    Source: common-practice.

    >>> ends(((Fraction(1), Fraction(2)), (Fraction(3), Fraction(5))))
    (Fraction(4, 1), Fraction(7, 1))
    """
    low, high = Fraction(0), Fraction(0)
    for interval in intervals:
        if interval is None:
            return None
        low, high = low + interval[0], high + interval[1]
    return low, high
