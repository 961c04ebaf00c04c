"""Gauge: what a swatch says of a stitch's width and a row's height, and how surely."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import Annotated, Literal

from .cautions import Caution
from .errors import Findings
from .exact import Fraction
from .standards import YARN_WEIGHTS, YarnWeight
from .stitches import STITCHES, Stitch
from .units import FOUR_INCHES, TEN_CM, Fine, Length

COUNTED_TO = Fraction(1, 4)
"""Stitches: a swatch is counted to the nearest quarter stitch. Source: common-practice."""
READ_TO = Fraction(2)
"""Millimetres: how well a tape is read on a soft edge. Source: common-practice."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """So many stitches over this width, so many rows over this height, in one stitch.

    Lengths in millimetres. The blocked pair is the same swatch measured again after blocking.
    """

    stitch: str
    stitches: Fraction
    width: Length
    rows: Fraction
    height: Length
    blocked_width: Length | None = None
    blocked_height: Length | None = None

    @property
    def kind(self) -> Stitch:
        return STITCHES[self.stitch]

    @property
    def stitch_width(self) -> Fraction:
        """Width of a finished stitch (blocked, where the swatch was), in millimetres."""
        return (self.blocked_width or self.width) / self.stitches

    @property
    def row_height(self) -> Fraction:
        """Height of a finished row, in millimetres."""
        return (self.blocked_height or self.height) / self.rows

    @property
    def hook_stitch_width(self) -> Fraction:
        """Width of a stitch as a tape reads it on the hook, before blocking, in millimetres."""
        return self.width / self.stitches

    @property
    def hook_row_height(self) -> Fraction:
        """Height of a row as a tape reads it on the hook, before blocking, in millimetres."""
        return self.height / self.rows


def square(
    stitches: int | Fraction,
    rows: int | Fraction,
    side: Fraction = TEN_CM,
    stitch: str = "single-crochet",
) -> Gauge:
    """The gauge of a square swatch: so many stitches by so many rows to ``side`` millimetres.

    >>> square(16, 19).stitch_width
    Fraction(25, 4)
    """
    return Gauge(stitch, Fraction(stitches), side, Fraction(rows), side)


@dataclass(frozen=True, slots=True)
class Uncertainty:
    stitches_per_10_cm: Annotated[float, "stitches to 10 cm, either way"]
    rows_per_10_cm: Annotated[float, "rows to 10 cm, either way"]
    stitches_percent: Annotated[float, "the same, in per cent of the stitch gauge"]
    rows_percent: Annotated[float, "the same, in per cent of the row gauge"]
    method: Annotated[str, "how the interval was made"]


@dataclass(frozen=True, slots=True)
class Reading:
    """A gauge in the forms makers use."""

    stitches_per_10_cm: Annotated[float, "stitches to 10 cm"]
    rows_per_10_cm: Annotated[float, "rows to 10 cm"]
    stitches_per_4_in: Annotated[float, "stitches to 4 in (10.16 cm)"]
    rows_per_4_in: Annotated[float, "rows to 4 in (10.16 cm)"]
    stitch_width: Annotated[Fine, "width of one stitch"]
    row_height: Annotated[Fine, "height of one row"]
    uncertainty: Annotated[Uncertainty, "how far the reading may be off"]


@dataclass(frozen=True, slots=True)
class BlockingChange:
    width_percent: Annotated[float, "growth of the width in blocking, per cent"]
    height_percent: Annotated[float, "growth of the height in blocking, per cent"]


@dataclass(frozen=True, slots=True)
class Published:
    """Where a gauge sits in the published range for the yarn weight."""

    weight_category: Annotated[int, "yarn weight category, 0 to 7"]
    name: Annotated[str, "the category's name"]
    stitch: Annotated[str, "stitch the published range is for"]
    stitches_per_4_in: Annotated[float, "this gauge in the range's own measure"]
    low: Annotated[int, "fewest stitches to 4 in of the published range"]
    high: Annotated[int, "most stitches to 4 in of the published range"]
    position: Annotated[
        Literal["looser", "within", "tighter", "not-comparable"],
        "not-comparable when the range is for another stitch than the swatch",
    ]
    hook_mm: Annotated[str, "published hook sizes, in millimetres"]
    source: Annotated[str, "where the range is published"]


@dataclass(frozen=True, slots=True)
class GaugeAnswer:
    """What the swatch says; pieces are sized by the reading named in ``used``."""

    stitch: Annotated[str, "stitch of the swatch"]
    before_blocking: Annotated[Reading, "as measured first; what a tape reads on the hook"]
    after_blocking: Annotated[Reading | None, "as measured again, when it was"]
    blocking_change: Annotated[BlockingChange | None, "what blocking did to the swatch"]
    used: Annotated[
        Literal["before-blocking", "after-blocking"], "the reading finished sizes are made with"
    ]
    published: Annotated[Published | None, "the published range, when a yarn weight was given"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]


def relative_uncertainty(count: Fraction, over: Fraction) -> float:
    """How far a count over a measured length may be off, as a share of it.

    The quarter stitch and the tape's two millimetres are independent, so their squares add.
    Source: common-practice.

    >>> round(relative_uncertainty(Fraction(16), Fraction(100)), 4)
    0.0254
    """
    return hypot(COUNTED_TO / count, READ_TO / over)


def read(stitches: Fraction, width: Fraction, rows: Fraction, height: Fraction) -> Reading:
    """The gauge of ``stitches`` over ``width`` and ``rows`` over ``height`` (millimetres).

    Source: geometry.

    >>> read(Fraction(14), Fraction(1016, 10), Fraction(16), Fraction(1016, 10)).stitches_per_4_in
    14.0
    """
    by_stitch, by_row = stitches / width, rows / height
    off_stitches, off_rows = (
        relative_uncertainty(stitches, width),
        relative_uncertainty(rows, height),
    )
    return Reading(
        stitches_per_10_cm=float(by_stitch * TEN_CM),
        rows_per_10_cm=float(by_row * TEN_CM),
        stitches_per_4_in=float(by_stitch * FOUR_INCHES),
        rows_per_4_in=float(by_row * FOUR_INCHES),
        stitch_width=1 / by_stitch,
        row_height=1 / by_row,
        uncertainty=Uncertainty(
            float(by_stitch * TEN_CM) * off_stitches,
            float(by_row * TEN_CM) * off_rows,
            100 * off_stitches,
            100 * off_rows,
            "count to a quarter stitch and tape to 2 mm, squares added"
            " (common practice, no published source)",
        ),
    )


def position(weight: YarnWeight, gauge: Gauge, reading: Reading) -> Published:
    """Where the swatch sits in the published range of a yarn weight.

    Ranges overlap and are "guidelines only": this never names a category from a gauge.
    Source: council-standards.

    >>> g = square(14, 16, FOUR_INCHES)
    >>> position(YARN_WEIGHTS[4], g, read(g.stitches, g.width, g.rows, g.height)).position
    'within'
    """
    low, high = weight.single_crochet_per_4_in
    found = reading.stitches_per_4_in
    where: Literal["looser", "within", "tighter", "not-comparable"]
    if weight.range_stitch != gauge.stitch:
        where = "not-comparable"
    else:
        where = "looser" if found < low else "tighter" if found > high else "within"
    return Published(
        weight.category,
        weight.name,
        weight.range_stitch,
        found,
        low,
        high,
        where,
        weight.hook_mm,
        weight.source,
    )


def assess(gauge: Gauge, weight_category: int | None = None) -> GaugeAnswer:
    """Everything a swatch says, before and after blocking.

    Raises Refused for a category the table lacks. Source: council-standards.

    >>> g = square(16, 19)
    >>> assess(g).before_blocking.rows_per_10_cm
    19.0
    """
    before = read(gauge.stitches, gauge.width, gauge.rows, gauge.height)
    after = change = None
    if gauge.blocked_width or gauge.blocked_height:
        width, height = gauge.blocked_width or gauge.width, gauge.blocked_height or gauge.height
        after = read(gauge.stitches, width, gauge.rows, height)
        change = BlockingChange(
            float(100 * (width / gauge.width - 1)), float(100 * (height / gauge.height - 1))
        )
    published = None
    if weight_category is not None:
        if weight_category not in YARN_WEIGHTS:
            findings = Findings()
            findings.add(
                "unknown-yarn-weight",
                ("yarn", "weight_category"),
                f"there is no yarn weight category {weight_category}",
                {"minimum": min(YARN_WEIGHTS), "maximum": max(YARN_WEIGHTS)},
            )
            findings.settle()
        # The published ranges are of finished fabric.
        published = position(YARN_WEIGHTS[weight_category], gauge, after or before)
    return GaugeAnswer(
        stitch=gauge.stitch,
        before_blocking=before,
        after_blocking=after,
        blocking_change=change,
        used="after-blocking" if after else "before-blocking",
        published=published,
        cautions=swatch_cautions(gauge),
    )


def swatch_cautions(gauge: Gauge) -> tuple[Caution, ...]:
    """A swatch under 10 cm (4 in), or never blocked, says less than it seems to.

    Source: council-standards.

    >>> g = Gauge("single-crochet", Fraction(8), Fraction(50), Fraction(19), Fraction(100))
    >>> [c.code for c in swatch_cautions(g)]
    ['small-swatch']
    """
    sides = (("width", gauge.width), ("height", gauge.height))
    return tuple(
        Caution(
            "small-swatch",
            f"The swatch was measured over less than 10 cm (4 in) of its {side}; measure at"
            " least that much, inside a larger swatch, for a gauge to plan by.",
            ("gauge", side),
            "council-standards",
        )
        for side, size in sides
        if size < TEN_CM
    )
