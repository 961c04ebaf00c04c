"""Yarn: how much a piece takes, how well that is known, and how many balls to buy."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Annotated, Literal

from .cautions import Caution
from .errors import Findings
from .gauge import Gauge, relative_uncertainty
from .sources import SOURCES
from .standards import YARN_WEIGHTS
from .units import FOUR_INCHES, Mass, YarnLength

Method = Literal["swatch-length", "swatch-mass", "weight-category"]

MEASURED_DENSITY = Fraction(314, 10) / Fraction(254, 10)
"""Millimetres of yarn to a square millimetre of fabric, category 4. Source: swatch-test."""
MEASURED_STITCH_WIDTH = FOUR_INCHES / Fraction(25, 2)
"""Millimetres: a stitch at the middle of the published range of category 4, where that was."""
CHAIN_SHARE = Fraction(255, 530)
"""Yarn in a chain over yarn in a single crochet. Source: swatch-test."""

CATEGORY_INTERVAL = 0.40
"""Either way, when only a category is known. Source: common-practice."""
SWATCH_READING = 0.05
"""Either way, for the swatch's own mass or length as weighed at home. Source: common-practice."""

MARGIN = Fraction(1, 10)
"""Bought over the estimate. Source: common-practice."""
TAIL = Fraction(150)
"""Millimetres of tail to weave in; two a piece. Source: common-practice."""


@dataclass(frozen=True, slots=True)
class SwatchYarn:
    """The yarn one swatch took: its size in millimetres, and its mass or unravelled length."""

    width: Fraction
    height: Fraction
    mass: Fraction | None = None
    unravelled: Fraction | None = None


@dataclass(frozen=True, slots=True)
class YarnOrder:
    """What is known of the yarn. Lengths in millimetres, masses in grams."""

    weight_category: int | None = None
    ball_length: Fraction | None = None
    ball_mass: Fraction | None = None
    swatch: SwatchYarn | None = None
    margin: Fraction = MARGIN


@dataclass(frozen=True, slots=True)
class Work:
    """What is to be made, in counts."""

    stitches: int
    turning_chains: int = 0
    foundation_chains: int = 0
    edging_stitches: int = 0
    edging_relative_height: Fraction = Fraction(1)
    edging_chains: int = 0
    loop_chains: int = 0
    loop_covering: int = 0
    tails: int = 2


@dataclass(frozen=True, slots=True)
class YarnPart:
    part: Annotated[str, "what the yarn goes into"]
    length: Annotated[YarnLength | None, "length of yarn, where its length is known"]
    mass: Annotated[Mass | None, "mass of yarn, where its mass is known"]


@dataclass(frozen=True, slots=True)
class Ball:
    length: Annotated[YarnLength | None, "yarn on a ball"]
    mass: Annotated[Mass | None, "mass of a ball"]
    source: Annotated[str, "whether the ball was given or assumed"]


@dataclass(frozen=True, slots=True)
class Yarn:
    length: Annotated[YarnLength | None, "yarn the piece takes, tails included, margin not"]
    mass: Annotated[Mass | None, "the same by mass, where that is known"]
    interval: Annotated[
        tuple[YarnLength, YarnLength] | None, "least and most it is likely to take, by length"
    ]
    mass_interval: Annotated[tuple[Mass, Mass] | None, "the same by mass"]
    interval_percent: Annotated[float, "half the interval, in per cent of the estimate"]
    method: Annotated[Method, "how the estimate was made"]
    method_source: Annotated[str, "where its figures are from"]
    margin_percent: Annotated[float, "what is bought over the estimate"]
    to_buy: Annotated[YarnLength | None, "estimate and margin, by length"]
    to_buy_mass: Annotated[Mass | None, "estimate and margin, by mass"]
    ball: Annotated[Ball | None, "the ball counted in"]
    balls: Annotated[int | None, "balls to buy for the estimate and margin"]
    balls_at_most: Annotated[int | None, "balls if it takes the most of the interval"]
    parts: Annotated[tuple[YarnPart, ...], "where the yarn goes"]


def metres_to_100_g(category: int) -> Fraction | None:
    """Middle of the usual range, metres to 100 g; its one limit where it has one, None where none.

    Source: spinners-table.

    >>> metres_to_100_g(4), metres_to_100_g(0), metres_to_100_g(7)
    (Fraction(151, 1), Fraction(484, 1), None)
    """
    weight = YARN_WEIGHTS[category]
    limits = (weight.fewest_metres_per_100_g, weight.most_metres_per_100_g)
    known = [limit for limit in limits if limit is not None]
    return Fraction(sum(known), len(known)) if known else None


def length_per_stitch(gauge: Gauge) -> Fraction:
    """Millimetres of yarn in one stitch of the fabric, when no swatch was weighed.

    The measured figure is a length to an area at one gauge; a fabric of the same build at another
    scale takes yarn to an area in inverse proportion to its stitch width. Source: swatch-test.

    >>> from .gauge import square
    >>> g = square(Fraction(25, 2), 14, FOUR_INCHES)
    >>> round(float(length_per_stitch(g)))
    73
    """
    area = gauge.stitch_width * gauge.row_height
    return MEASURED_DENSITY * area * MEASURED_STITCH_WIDTH / gauge.stitch_width


def check_order(order: YarnOrder) -> None:
    """Raises Refused when nothing in the order lets yarn be reckoned. Source: common-practice.

    >>> check_order(YarnOrder(weight_category=4))
    """
    findings = Findings()
    if order.weight_category is None and order.swatch is None:
        findings.add(
            "yarn-unknown",
            ("yarn",),
            "give the yarn's weight category, or a swatch with its mass or unravelled length",
            {"one_of": ["weight_category", "swatch"]},
        )
    swatch = order.swatch
    if swatch and (swatch.mass is None) == (swatch.unravelled is None):
        findings.add(
            "swatch-yarn-unknown",
            ("yarn", "swatch"),
            "give either the swatch's mass or its unravelled length",
            {"one_of": ["mass", "unravelled_length"]},
        )
    findings.settle()


def _per_mass(order: YarnOrder) -> tuple[Fraction | None, str]:
    """Millimetres of yarn to a gram, and whether that was given."""
    if order.ball_length and order.ball_mass:
        return order.ball_length / order.ball_mass, "given"
    usual = None if order.weight_category is None else metres_to_100_g(order.weight_category)
    if usual:
        return usual * 10, "usual for the weight category"
    return None, ""


def estimate(work: Work, gauge: Gauge, order: YarnOrder) -> Yarn:
    """Yarn for the work, by the best method that the order allows, with its interval.

    Raises Refused when the order holds nothing to reckon from. Source: swatch-test.

    >>> from .gauge import square
    >>> g = square(16, 19)
    >>> swatch = SwatchYarn(Fraction(100), Fraction(100), unravelled=Fraction(14000))
    >>> estimate(Work(304, tails=0), g, YarnOrder(swatch=swatch)).length
    Fraction(14000, 1)
    """
    check_order(order)
    per_gram, density_is = _per_mass(order)
    swatch, method = order.swatch, "weight-category"
    per_stitch: Fraction  # millimetres, or grams where only a mass is known
    by_mass = False
    off = CATEGORY_INTERVAL
    if swatch:
        swatch_stitches = (swatch.width / gauge.stitch_width) * (swatch.height / gauge.row_height)
        off = sum(
            relative_uncertainty(count, over)
            for count, over in ((gauge.stitches, gauge.width), (gauge.rows, gauge.height))
        )
        off += SWATCH_READING
        if swatch.unravelled is not None:
            method, per_stitch = "swatch-length", swatch.unravelled / swatch_stitches
        else:
            assert swatch.mass is not None  # check_order saw to it
            method, per_stitch = "swatch-mass", swatch.mass / swatch_stitches
            by_mass = True
    else:
        per_stitch = length_per_stitch(gauge)

    relative = gauge.kind.relative_height
    in_single = Fraction(905, 1000) / relative if relative else Fraction(1)
    chain = per_stitch * in_single * CHAIN_SHARE
    amounts = {
        "fabric": work.stitches * per_stitch,
        "foundation and turning chains": (work.foundation_chains + work.turning_chains) * chain,
        "edging": work.edging_stitches * per_stitch * work.edging_relative_height
        + work.edging_chains * chain,
        "button loop": work.loop_chains * chain + work.loop_covering * per_stitch * in_single,
    }
    tails = work.tails * TAIL
    if not by_mass:
        amounts["tails"] = tails
    elif per_gram:
        amounts["tails"] = tails / per_gram
    total = sum(amounts.values(), Fraction(0))

    def as_length(amount: Fraction) -> Fraction | None:
        return amount if not by_mass else amount * per_gram if per_gram else None

    def as_mass(amount: Fraction) -> Fraction | None:
        return amount if by_mass else amount / per_gram if per_gram else None

    low, high = total * Fraction(1 - off), total * Fraction(1 + off)
    buy = total * (1 + order.margin)
    ball = _ball(order, per_gram, density_is)
    a_ball = None if ball is None else (ball.mass if by_mass else ball.length)
    length_low, length_high = as_length(low), as_length(high)
    mass_low, mass_high = as_mass(low), as_mass(high)
    return Yarn(
        length=as_length(total),
        mass=as_mass(total),
        interval=None if length_low is None or length_high is None else (length_low, length_high),
        mass_interval=None if mass_low is None or mass_high is None else (mass_low, mass_high),
        interval_percent=100 * off,
        method=method,  # type: ignore[arg-type]  # one of the three literals above
        method_source=SOURCES["swatch-test"] if method == "weight-category" else "your own swatch",
        margin_percent=float(100 * order.margin),
        to_buy=as_length(buy),
        to_buy_mass=as_mass(buy),
        ball=ball,
        balls=None if a_ball is None else ceil(buy / a_ball),
        balls_at_most=None if a_ball is None else ceil(max(buy, high) / a_ball),
        parts=tuple(
            YarnPart(part, as_length(amount), as_mass(amount))
            for part, amount in amounts.items()
            if amount
        ),
    )


def _ball(order: YarnOrder, per_gram: Fraction | None, density_is: str) -> Ball | None:
    """The ball as given, completed where the yarn's density allows; else 100 g of the category."""
    length, mass = order.ball_length, order.ball_mass
    if length or mass:
        if per_gram:
            length = length or (mass or Fraction(0)) * per_gram
            mass = mass or length / per_gram
        return Ball(
            length,
            mass,
            "given"
            if density_is in ("given", "")
            else "given; the rest as usual for the weight category",
        )
    if per_gram is None:
        return None
    return Ball(
        100 * per_gram,
        Fraction(100),
        "assumed: 100 g, metres as usual for the weight category",
    )


def yarn_cautions(yarn: Yarn) -> tuple[Caution, ...]:
    """When the balls reckoned may not be enough. Source: common-practice.

    >>> from .gauge import square
    >>> g = square(16, 19)
    >>> [c.code for c in yarn_cautions(estimate(Work(2508), g, YarnOrder(weight_category=4)))]
    ['yarn-may-run-out']
    """
    if yarn.balls is None or yarn.balls_at_most is None or yarn.balls_at_most <= yarn.balls:
        return ()
    return (
        Caution(
            "yarn-may-run-out",
            f"The estimate is good to about {yarn.interval_percent:.0f} % either way: {yarn.balls}"
            f" {'ball' if yarn.balls == 1 else 'balls'} should do, {yarn.balls_at_most} if the work"
            " takes the most of it. Weigh or unravel a swatch for a closer figure, and buy one dye"
            " lot.",
            ("yarn",),
            "common-practice",
        ),
    )
