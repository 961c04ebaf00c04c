"""Balls to buy: what one holds, how many it takes, and the same piece from another yarn."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Annotated

from .exact import Fraction
from .units import Mass, YarnLength
from .yarnorder import YarnOrder


@dataclass(frozen=True, slots=True)
class Ball:
    length: Annotated[YarnLength | None, "yarn on a ball"]
    mass: Annotated[Mass | None, "mass of a ball"]
    source: Annotated[str, "whether the ball was given or assumed"]


@dataclass(frozen=True, slots=True)
class Substitute:
    """The same piece in another yarn: at the same gauge it takes the same length."""

    ball: Annotated[Ball, "a ball of the other yarn"]
    length: Annotated[YarnLength, "length to buy, margin included; the same as of the first yarn"]
    mass: Annotated[Mass, "what that length weighs in the other yarn"]
    balls: Annotated[int, "balls of the other yarn to buy"]
    balls_at_most: Annotated[int, "balls if it takes the most of the interval"]
    tex: Annotated[float, "the other yarn's grams to 1,000 m"]
    heavier_percent: Annotated[
        float | None, "its mass to a length over the first yarn's, where that is known"
    ]


def ball_of(order: YarnOrder, per_gram: Fraction | None, density_is: str) -> Ball | None:
    """The ball as given, completed where the yarn's density allows; else 100 g of it.

    Source: common-practice.

    >>> ball_of(YarnOrder(ball_length=Fraction(85_000)), Fraction(1700), "given").mass
    Fraction(50, 1)
    """
    length, mass = order.ball_length, order.ball_mass
    if length or mass:
        if per_gram:
            length = length or (mass or Fraction(0)) * per_gram
            mass = mass or length / per_gram
        rest = density_is in ("given", "")
        return Ball(length, mass, "given" if rest else f"given; the rest as {density_is}")
    if per_gram is None:
        return None
    told = "as its count gives" if density_is == "given" else f"metres as {density_is}"
    return Ball(100 * per_gram, Fraction(100), f"assumed: 100 g, {told}")


def balls(amount: Fraction | None, ball: Ball | None, by_mass: bool) -> int | None:
    """Whole balls for an amount; None where one of them is not known. Source: common-practice.

    >>> balls(Fraction(86_000), Ball(Fraction(85_000), None, "given"), by_mass=False)
    2
    """
    holds = None if ball is None else ball.mass if by_mass else ball.length
    return None if amount is None or holds is None else ceil(amount / holds)


def substitute(
    order: YarnOrder, buy: Fraction, most: Fraction, per_gram: Fraction | None
) -> Substitute | None:
    """The same length of the other yarn, where one is asked for; millimetres.

    Source: common-practice.

    >>> from .yarnorder import BallOrder
    >>> order = YarnOrder(4, substitute=BallOrder(Fraction(100_000), Fraction(50)))
    >>> substitute(order, Fraction(250_000), Fraction(310_000), None).balls
    3
    """
    other = order.substitute
    if other is None:
        return None
    assert other.length is not None
    assert other.mass is not None  # check_order saw to it
    other_gram = other.length / other.mass
    return Substitute(
        Ball(other.length, other.mass, "given"),
        buy,
        buy / other_gram,
        ceil(buy / other.length),
        ceil(most / other.length),
        float(1_000_000 / other_gram),
        None if per_gram is None else float(100 * (per_gram / other_gram - 1)),
    )
