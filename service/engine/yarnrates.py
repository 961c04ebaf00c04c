"""How much yarn a stitch takes, by the best method there is, and how surely."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot
from typing import Literal

from .exact import Fraction
from .foundation import Turning
from .gauge import READ_TO, Gauge, relative_uncertainty
from .sources import SOURCES
from .yarncounts import (
    PACKING_OFF,
    diameter_from_mass,
    diameter_from_wraps,
    metres_to_100_g,
    millimetres_to_a_gram,
    usual_wraps,
)
from .yarnmodel import CALIBRATION, COVER, MODEL_OFF, YARN_RATIO, loop_length, model_off
from .yarnorder import SwatchYarn, YarnOrder

Method = Literal["swatch-length", "swatch-mass", "loop-length-model", "weight-category"]
METHODS: tuple[Method, ...] = (
    "swatch-length", "swatch-mass", "loop-length-model", "weight-category",
)  # fmt: skip
"""Best first."""

CATEGORY_OFF = 0.60
"""When only a category is known: the interval goes from 1 / 1.8 to 1.8 times the estimate, and
takes in every published figure that the model was held against. Source: common-practice."""
HAND = 0.05
"""How far a maker's hand differs from swatch to piece. Source: common-practice."""
SCALE = Fraction(1, 2)
"""Grams: what a scale that shows whole grams may be off. Source: common-practice."""
UNRAVELLED = 0.02
"""How well the length of kinked, unravelled yarn is read. Source: common-practice."""
WRAPPED = 0.10
"""How far wraps to the inch differ by how hard they are wound. Source: common-practice."""


@dataclass(frozen=True, slots=True)
class Rate:
    """Yarn in a single crochet of the piece's gauge: millimetres, or grams where ``by_mass``.

    off: either way, as a share (of its logarithm); millimetres_a_gram: None where not known.
    """

    each: Fraction
    by_mass: bool
    off: float
    method: Method
    method_source: str
    millimetres_a_gram: Fraction | None
    density_is: str
    swatch: Fraction

    @property
    def top(self) -> Fraction:
        """The most over the estimate."""
        return Fraction(exp(self.off))


def to_a_gram(order: YarnOrder) -> tuple[Fraction | None, str]:
    """Millimetres of yarn to a gram, and whether that was given.

    Source: yarn-counts, spinners-table.

    >>> to_a_gram(YarnOrder(ball_length=Fraction(85_000), ball_mass=Fraction(50)))
    (Fraction(1700, 1), 'given')
    """
    if order.ball_length and order.ball_mass:
        return order.ball_length / order.ball_mass, "given"
    if order.count:
        return millimetres_to_a_gram(order.count), "given"
    usual = None if order.weight_category is None else metres_to_100_g(order.weight_category)
    if usual:
        return usual * 10, "usual for the weight category"
    return None, ""


def thickness(order: YarnOrder) -> tuple[float, float | None]:
    """Diameter of the yarn in millimetres, and how far it may be off; None where only a category is
    known. Wraps are the thickness itself, and come before what a mass makes of it.

    Source: council-standards, spinners-table.

    >>> round(thickness(YarnOrder(weight_category=4))[0], 2)
    2.42
    """
    if order.wraps_per_inch:
        return diameter_from_wraps(order.wraps_per_inch), WRAPPED
    per_gram, known = to_a_gram(order)
    if per_gram and known == "given":
        return diameter_from_mass(per_gram), PACKING_OFF
    assert order.weight_category is not None  # check_order saw to it
    return diameter_from_wraps(usual_wraps(order.weight_category)), None


def swatch_units(
    gauge: Gauge, turn: Turning, stitches: Fraction | int, rows: Fraction | int
) -> Fraction:
    """Yarn in a swatch of so many stitches and rows, in single crochet; chains and all.

    Source: swatch-test.

    >>> from .gauge import square
    >>> float(swatch_units(square(16, 19), Turning(1, False), 16, 19) * 53)
    17004.5
    """
    if not gauge.kind.makes_rows:
        return YARN_RATIO["chain"] * stitches * rows
    worked = stitches * rows - rows * turn.counts
    chains = stitches + turn.chains - turn.counts + (rows - 1) * turn.chains
    return Fraction(worked * YARN_RATIO[gauge.stitch] + chains * YARN_RATIO["chain"])


_MODEL = (
    f"yarn to an area times its diameter, {COVER:.2f} in the middle of"
    f" {', '.join(f'{one.what} {one.cover:.2f}' for one in CALIBRATION)}: all within"
    f" {100 * (exp(MODEL_OFF) - 1):.0f} %"
)
_SOURCES = "; ".join(SOURCES[key] for key in dict.fromkeys(one.source for one in CALIBRATION))


def rate(gauge: Gauge, turn: Turning, order: YarnOrder) -> Rate:
    """Yarn a stitch: by the swatch, else by the loop-length model, else by category alone.

    Source: swatch-test, yarn-experiment, common-practice.

    >>> from .gauge import square
    >>> rate(square(16, 19), Turning(1, False), YarnOrder(weight_category=4)).method
    'weight-category'
    """
    per_gram, density_is = to_a_gram(order)
    if order.swatch:
        return _by_swatch(gauge, turn, order.swatch, per_gram, density_is)
    diameter, diameter_off = thickness(order)
    stitch = loop_length(gauge, diameter)
    each = stitch / YARN_RATIO[gauge.stitch]
    told = f"{_MODEL}; here a yarn {diameter:.2f} mm thick. {_SOURCES}"
    if diameter_off is None:
        method: Method = "weight-category"
        off = max(CATEGORY_OFF, model_off(gauge, diameter, 0.0))
        told += f". Thickness: {SOURCES['council-standards']}"
    else:
        method, off = "loop-length-model", model_off(gauge, diameter, diameter_off)
    swatch = each * swatch_units(gauge, turn, gauge.stitches, gauge.rows)
    return Rate(each, False, off, method, told, per_gram, density_is, swatch)


def _by_swatch(
    gauge: Gauge, turn: Turning, swatch: SwatchYarn, per_gram: Fraction | None, density_is: str
) -> Rate:
    if swatch.stitches is not None and swatch.rows is not None:
        counted = swatch_units(gauge, turn, swatch.stitches, swatch.rows)
        measured = [0.0]
    else:
        assert swatch.width is not None
        assert swatch.height is not None  # check_order saw to it
        stitches, rows = swatch.width / gauge.stitch_width, swatch.height / gauge.row_height
        counted = swatch_units(gauge, turn, stitches, rows)
        measured = [
            relative_uncertainty(gauge.stitches, gauge.width),
            relative_uncertainty(gauge.rows, gauge.height),
            float(READ_TO / swatch.width),
            float(READ_TO / swatch.height),
        ]
    if swatch.unravelled is not None:
        took, method, reading = swatch.unravelled, METHODS[0], UNRAVELLED
    else:
        assert swatch.mass is not None
        took, method, reading = swatch.mass, METHODS[1], float(SCALE / swatch.mass)
    off = hypot(HAND, reading, *measured)
    by_mass = method == "swatch-mass"
    told = "your own swatch"
    return Rate(took / counted, by_mass, off, method, told, per_gram, density_is, took)
