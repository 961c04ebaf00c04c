"""Yarn in a stitch where no swatch was weighed: a loop-length model, its data, and how far off.

What was measured: in five pieces of crochet by two makers, the length of yarn to an area of fabric
times the yarn's diameter came to about the same (2.3 to 3.0), whatever the stitch. So a stitch of
width w and height h in a yarn of diameter d takes COVER x w x h / d.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, lcm, log, sqrt
from typing import Annotated

from .exact import Fraction
from .gauge import Gauge, relative_uncertainty
from .stitches import STITCHES
from .yarncounts import diameter_from_wraps, metres_to_100_g, usual_wraps

INCH = Fraction(254, 10)

ROW_OF_FIVE_INCHES: dict[str, Fraction] = {
    "chain": Fraction(255, 10),
    "single-crochet": Fraction(53),
    "half-double-crochet": Fraction(785, 10),
    "double-crochet": Fraction(102),
}
"""Inches of yarn in a row of one stitch 5 in wide, category 4, 5 mm hook. Source: swatch-test."""
PIECE_OF_FIVE_INCHES: dict[str, Fraction] = {
    "single-crochet": Fraction(7855, 10),
    "half-double-crochet": Fraction(802),
    "double-crochet": Fraction(790),
}
"""Inches of yarn in a piece of 5 x 5 in, foundation chain and all. Source: swatch-test."""
SINGLE_IN_A_ROW = ROW_OF_FIVE_INCHES["single-crochet"]

YARN_RATIO: dict[str, Fraction] = {
    kind: row / SINGLE_IN_A_ROW for kind, row in ROW_OF_FIVE_INCHES.items()
}
"""Yarn in a stitch over yarn in a single crochet of the same width. Source: swatch-test."""
# Each step up, from chain to double crochet, adds about a chain's worth (0.52, 0.48, 0.44). No
# figure was found for the others: a slip stitch, one loop pulled through, is taken as a chain,
# and each step above a double crochet as a chain more. Source: common-practice.
YARN_RATIO["slip-stitch"] = YARN_RATIO["chain"]
YARN_RATIO["treble-crochet"] = YARN_RATIO["double-crochet"] + YARN_RATIO["chain"]
YARN_RATIO["double-treble-crochet"] = YARN_RATIO["treble-crochet"] + YARN_RATIO["chain"]

# The same over one denominator, so that yarn in many stitches is a sum of whole numbers.
SHARES_OF_ONE = lcm(*(ratio.denominator for ratio in YARN_RATIO.values()))
RATIO_SHARES = {kind: int(ratio * SHARES_OF_ONE) for kind, ratio in YARN_RATIO.items()}

CHAIN_TO_ITS_LENGTH = ROW_OF_FIVE_INCHES["chain"] / 5
"""Yarn in a chain over the chain's length. Source: swatch-test."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A piece of fabric whose yarn was measured; lengths in millimetres."""

    what: Annotated[str, "what was measured"]
    stitch: Annotated[str, "its stitch"]
    to_the_area: Annotated[float, "millimetres of yarn to a square millimetre, chains taken off"]
    diameter: Annotated[float, "of the yarn, in millimetres, from the middle of its category"]
    loop_scale: Annotated[float, "square root of a stitch's width times height, over the diameter"]
    source: Annotated[str, "key of its source"]

    @property
    def cover(self) -> float:
        return self.to_the_area * self.diameter


def _of_five_inches(stitch: str) -> Measured:
    """The published rows say the row's height; the width is the middle of published ratios."""
    chain, row = ROW_OF_FIVE_INCHES["chain"], ROW_OF_FIVE_INCHES[stitch]
    fabric = PIECE_OF_FIVE_INCHES[stitch] - chain
    height = float(5 * row / fabric * INCH)
    width = height / float(STITCHES[stitch].relative_height)
    diameter = diameter_from_wraps(usual_wraps(4))
    return Measured(
        f"5 in square of {stitch}, category 4", stitch, float(fabric / 25 / INCH), diameter,
        sqrt(width * height) / diameter, "swatch-test",
    )  # fmt: skip


def _of_twenty_by_twenty(stitch: str, grams: int, wide: str, tall: str) -> Measured:
    """20 stitches by 20 rows weighed, in bulky yarn of the middle length to its mass."""
    width, height = Fraction(wide) * INCH, Fraction(tall) * INCH
    metres, kind = metres_to_100_g(5), STITCHES[stitch]
    assert metres is not None
    chains = 20 + kind.turning_chain * 20 - kind.turning_chain_counts
    stitches = 20 * 20 - 20 * kind.turning_chain_counts
    in_fabric = stitches * YARN_RATIO[stitch]
    share = in_fabric / (in_fabric + chains * YARN_RATIO["chain"])
    yarn, diameter = grams * metres * 10 * share, diameter_from_wraps(usual_wraps(5))
    return Measured(
        f"20 x 20 {stitch}, category 5", stitch, float(yarn / (width * height)), diameter,
        sqrt(width * height / 400) / diameter, "yarn-experiment",
    )  # fmt: skip


CALIBRATION: tuple[Measured, ...] = (
    _of_five_inches("single-crochet"),
    _of_five_inches("half-double-crochet"),
    _of_five_inches("double-crochet"),
    _of_twenty_by_twenty("single-crochet", 19, "6.25", "5.75"),
    _of_twenty_by_twenty("half-double-crochet", 28, "6.75", "9.25"),
)
"""What the model is calibrated on. Source: swatch-test, yarn-experiment."""


def _calibrated() -> float:
    """Geometric middle of the two makers, each the middle of its own: neither outweighs."""
    by_maker: dict[str, list[float]] = {}
    for one in CALIBRATION:
        by_maker.setdefault(one.source, []).append(log(one.cover))
    return exp(sum(sum(c) / len(c) for c in by_maker.values()) / len(by_maker))


COVER = _calibrated()
"""Times that the yarn of a fabric, laid side by side, covers it. Source: swatch-test,
yarn-experiment."""
MODEL_OFF = max(abs(log(one.cover / COVER)) for one in CALIBRATION)
"""The worst residual of the calibration, as a share. Source: swatch-test, yarn-experiment."""
_TIGHTEST, _LOOSEST = (f(one.loop_scale for one in CALIBRATION) for f in (min, max))
_TESTED = frozenset(one.stitch for one in CALIBRATION)
UNTESTED_STITCH_OFF = 0.15
"""Added for a fabric of a stitch that no figure was found for. Source: common-practice."""


def loop_length(gauge: Gauge, diameter: float) -> Fraction:
    """Millimetres of yarn in one stitch of the fabric, its yarn ``diameter`` millimetres thick.

    A chain takes its own length so many times. Source: swatch-test, yarn-experiment.

    >>> from .gauge import square
    >>> round(float(loop_length(square(16, 19), 2.4)))
    37
    """
    if not gauge.kind.makes_rows:
        return gauge.stitch_width * CHAIN_TO_ITS_LENGTH
    return gauge.stitch_width * gauge.row_height * Fraction(COVER / diameter)


def model_off(gauge: Gauge, diameter: float, diameter_off: float) -> float:
    """How far the loop length may be off either way, as a share (of its logarithm).

    The worst residual, the diameter's own doubt, the gauge's, and what lies outside the data: a
    stitch not measured, or a fabric closer or looser than any that was. They are independent, so
    their squares add. Source: swatch-test, yarn-experiment, common-practice.

    >>> from .gauge import square
    >>> round(model_off(square(16, 19), 2.4, 0.1), 2)
    0.2
    """
    stitches = relative_uncertainty(gauge.stitches, gauge.width)
    if not gauge.kind.makes_rows:
        return hypot(MODEL_OFF, stitches)
    scale = sqrt(gauge.stitch_width * gauge.row_height) / diameter
    # A knitted loop keeps its shape at any size (yarn to an area as 1 / scale); this model has it
    # fill in (yarn to an area the same). The truth past the data is taken to lie midway.
    outside = max(0.0, log(_TIGHTEST / scale), log(scale / _LOOSEST)) / 2
    return hypot(
        MODEL_OFF,
        diameter_off,
        stitches,
        relative_uncertainty(gauge.rows, gauge.height),
        0.0 if gauge.stitch in _TESTED else UNTESTED_STITCH_OFF,
        outside,
    )
