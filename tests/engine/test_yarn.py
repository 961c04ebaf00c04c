"""Yarn against what was published, against unit tables, and against itself.

PUBLISHED is also the table in the guide of how far the model is off.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import exp, log, sqrt

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.edgings import EdgingOrder
from service.engine.foundation import Turning
from service.engine.gauge import Gauge, square
from service.engine.openings import Button
from service.engine.patterns import piece
from service.engine.stitches import STITCHES
from service.engine.units import FOUR_INCHES
from service.engine.yarn import Yarn, estimate
from service.engine.yarncounts import (
    BOTH_PUBLISHED,
    YarnCount,
    diameter_from_mass,
    diameter_from_wraps,
    metres_to_100_g,
    tex,
    usual_wraps,
)
from service.engine.yarnmodel import CALIBRATION, COVER, MODEL_OFF, YARN_RATIO
from service.engine.yarnorder import BallOrder, SwatchYarn, YarnOrder
from service.engine.yarnwork import TAIL, Part, Work, fabric, seam
from tests.pieces import order

INCH = Fraction(254, 10)
UNITS = pint.UnitRegistry()
TEST = "one maker's published test, category 4, 5 mm hook (read, medium confidence)"
EXPERIMENT = "a craft magazine's experiment, Interweave (read, medium confidence)"
BANDS = "Knitting & Crocheting All-in-One: yards of a hat (read; a sanity band, no size given)"


def alone(gauge: Gauge, stitches: dict[str, int], known: YarnOrder) -> Yarn:
    work = Work((Part("fabric", stitches=stitches),), Turning(0, False))
    return estimate(work, gauge, known)


@dataclass(frozen=True)
class Published:
    what: str
    low: float
    high: float
    unit: str
    estimated: float
    top: float
    source: str

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def off_percent(self) -> float:
        return 100 * (self.estimated / self.middle - 1)


def _row(stitch: str, published: float) -> Published:
    """A row 5 in wide at the middle gauge of the category: 12.5 to 4 in, heights as published."""
    width = FOUR_INCHES / Fraction(25, 2)
    height = width * STITCHES[stitch].relative_height
    gauge = Gauge(stitch, Fraction(100), 100 * width, Fraction(100), 100 * (height or width))
    yarn = alone(gauge, {stitch: 1000}, YarnOrder(weight_category=4))
    assert yarn.length
    inches = float(yarn.length / 1000 / width * 5)
    told = "foundation chain" if stitch == "chain" else f"row of {stitch}"
    top = 1 + yarn.interval_percent / 100
    return Published(f"{told}, 5 in wide", published, published, "in", inches, top, TEST)


def _square(stitch: str, rows: str, published: float) -> Published:
    """5 x 5 in, at the row height that the published rows have, its chain included."""
    stitches = 100
    gauge = Gauge(stitch, Fraction(stitches), 5 * INCH, Fraction(rows), 5 * INCH)
    # The chain as published for its width, whatever the stitch count.
    made = alone(gauge, {stitch: 10_000}, YarnOrder(weight_category=4))
    assert made.length
    inches = float(made.length / 10_000 * stitches * Fraction(rows) / INCH) + 25.5
    top = 1 + made.interval_percent / 100
    return Published(f"5 x 5 in of {stitch}", published, published, "in", inches, top, TEST)


def _weighed(stitch: str, wide: str, tall: str, grams: int) -> Published:
    gauge = Gauge(stitch, Fraction(20), Fraction(wide) * INCH, Fraction(20), Fraction(tall) * INCH)
    kind = STITCHES[stitch]
    chains = 20 + 20 * kind.turning_chain - kind.turning_chain_counts
    made = alone(
        gauge,
        {stitch: 400 - 20 * kind.turning_chain_counts, "chain": chains},
        YarnOrder(weight_category=5),
    )
    assert made.mass
    top = 1 + made.interval_percent / 100
    what = f"20 x 20 {stitch}, bulky, 6 mm hook"
    return Published(what, grams, grams, "g", float(made.mass), top, EXPERIMENT)


def _hat(category: int, per_4_in: str, low: int, high: int) -> Published:
    """A plain cap 22 in round, 8.8 in deep, no brim, at the middle gauge of the category."""
    stitches = Fraction(per_4_in)
    width = FOUR_INCHES / stitches
    gauge = square(stitches, FOUR_INCHES / (width * Fraction(905, 1000)), FOUR_INCHES)
    made_up = {"yarn": YarnOrder(weight_category=category)}
    asked = order("cap", gauge, made_up, circumference=22 * INCH, depth=Fraction("8.8") * INCH)
    yarn = piece(asked).yarn
    assert yarn
    assert yarn.length
    yards = float(yarn.length / Fraction("914.4"))
    top = 1 + yarn.interval_percent / 100
    return Published(f"hat, category {category}", low, high, "yd", yards, top, BANDS)


def published() -> tuple[Published, ...]:
    return (
        _row("chain", 25.5),
        _row("single-crochet", 53),
        _row("half-double-crochet", 78.5),
        _row("double-crochet", 102),
        _square("single-crochet", "14.34", 785.5),
        _square("half-double-crochet", "9.89", 802),
        _square("double-crochet", "7.50", 790),
        _weighed("single-crochet", "6.25", "5.75", 19),
        _weighed("half-double-crochet", "6.75", "9.25", 28),
        _hat(3, "14.5", 200, 300),
        _hat(4, "12.5", 150, 250),
        _hat(5, "9.5", 125, 200),
    )


PUBLISHED = published()


@pytest.mark.parametrize("figure", PUBLISHED, ids=lambda figure: figure.what)
def test_every_published_figure_lies_in_the_interval_of_a_category_alone(
    figure: Published,
) -> None:
    assert figure.estimated / figure.top <= figure.middle <= figure.estimated * figure.top, (
        figure.source
    )


@pytest.mark.parametrize(
    ("what", "stitch", "yarn", "area", "diameter"),
    [
        # Inches of yarn to a square inch, chain taken off, over inches to millimetres; wraps of
        # category 4: 9 to 12, so 25.4 / 10.5 mm.
        ("sc", "single-crochet", (785.5 - 25.5) * 25.4, 25 * 25.4**2, 25.4 / 10.5),
        ("hdc", "half-double-crochet", (802 - 25.5) * 25.4, 25 * 25.4**2, 25.4 / 10.5),
        ("dc", "double-crochet", (790 - 25.5) * 25.4, 25 * 25.4**2, 25.4 / 10.5),
        # 101 m to 100 g in the middle of category 5, wraps 6 to 9. Of the 19 g, 400 sc and 40
        # chains (20, and one a row) of 25.5 / 53 of an sc; of the 28 g, 380 hdc and 59 chains.
        ("sc, bulky", "single-crochet", 19 * 1010 * 400 / (400 + 40 * 25.5 / 53),
         6.25 * 5.75 * 25.4**2, 25.4 / 7.5),
        ("hdc, bulky", "half-double-crochet",
         28 * 1010 * 380 * 78.5 / (380 * 78.5 + 59 * 25.5), 6.75 * 9.25 * 25.4**2, 25.4 / 7.5),
    ],
)  # fmt: skip
def test_the_calibration_is_worked_out_again_from_the_published_figures(
    what: str, stitch: str, yarn: float, area: float, diameter: float
) -> None:
    (found,) = [
        one
        for one in CALIBRATION
        if one.stitch == stitch and one.diameter == pytest.approx(diameter)
    ]
    assert found.cover == pytest.approx(yarn / area * diameter, rel=1e-6), what
    assert abs(log(COVER / found.cover)) <= MODEL_OFF < 0.2


def test_the_model_stands_midway_between_the_two_makers() -> None:
    covers = [one.cover for one in CALIBRATION]
    first = exp(sum(map(log, covers[:3])) / 3)
    second = exp(sum(map(log, covers[3:])) / 2)
    assert pytest.approx(sqrt(first * second)) == COVER


def test_stitches_take_yarn_as_the_published_rows_do() -> None:
    # One maker's test: 25.5, 53, 78.5 and 102 in for a row of each, all 5 in wide.
    for kind, inches in (("chain", 25.5), ("half-double-crochet", 78.5), ("double-crochet", 102)):
        assert float(YARN_RATIO[kind]) == pytest.approx(inches / 53)
    assert set(STITCHES) <= set(YARN_RATIO)


@pytest.mark.parametrize(("system", "value"), [("tex", "661.5"), ("denier", "4500"), ("nm", "2")])
@given(times=st.integers(1, 500))
def test_yarn_counts_are_those_of_a_units_library(system: str, value: str, times: int) -> None:
    count = Fraction(value) * times
    unit = {"tex": "tex", "denier": "denier", "nm": "number_meter"}[system]
    theirs = UNITS.Quantity(float(count), unit)
    if system == "nm":  # a length to a mass, where the others are a mass to a length
        theirs = 1 / theirs.to("m/g")
    assert float(tex(YarnCount(system, count))) == pytest.approx(  # type: ignore[arg-type]
        theirs.to("g/km").magnitude
    )


def test_cotton_count_is_hanks_of_840_yards_to_the_pound() -> None:
    # 590.54 tex to Ne 1 (trade handbooks): 453.59237 g over 840 x 0.9144 m.
    exact = 453.59237 / (840 * 0.9144) * 1000
    assert float(tex(YarnCount("ne", Fraction(1)))) == pytest.approx(exact, rel=1e-5)
    # Nm 2 and 500 tex are one yarn (trade handbooks).
    assert tex(YarnCount("nm", Fraction(2))) == 500


def test_a_thickness_from_a_mass_is_near_that_from_the_wraps_of_the_category() -> None:
    # The two published tables, wraps and metres to 100 g, against each other.
    for category in BOTH_PUBLISHED:
        metres = metres_to_100_g(category)
        assert metres
        by_mass = diameter_from_mass(metres * 10)
        assert by_mass == pytest.approx(diameter_from_wraps(usual_wraps(category)), rel=0.22)


SWATCHES = st.sampled_from([s for s in STITCHES if STITCHES[s].makes_rows])


@given(SWATCHES, st.integers(2, 40), st.integers(1, 40), st.booleans(), st.booleans())
def test_a_swatch_foretells_itself(
    stitch: str, stitches: int, rows: int, weighed: bool, by_size: bool
) -> None:
    # Identity: a panel of the swatch's own counts takes the swatch's yarn, tails left aside.
    gauge = square(16, 19, stitch=stitch)
    took = {"mass": Fraction(7)} if weighed else {"unravelled": Fraction(13_700)}
    width, height = stitches * gauge.stitch_width, rows * gauge.row_height
    counted = (
        {"width": width, "height": height} if by_size else {"stitches": stitches, "rows": rows}
    )
    known = YarnOrder(swatch=SwatchYarn(**took, **counted))  # type: ignore[arg-type]
    yarn = piece(order("panel", gauge, {"yarn": known}, width=width, height=height)).yarn
    assert yarn
    total = sum((p.mass if weighed else p.length) or 0 for p in yarn.parts if p.part != "tails")
    assert total == (7 if weighed else 13_700)


@given(st.integers(1, 5000), st.sampled_from([4, 1, 7]))
def test_twice_the_area_is_twice_the_fabric_yarn(stitches: int, category: int) -> None:
    known = YarnOrder(weight_category=category)
    once, twice = (
        alone(square(16, 19), {"single-crochet": n}, known).length for n in (stitches, 2 * stitches)
    )
    assert once
    assert twice == 2 * once


def test_the_area_method_is_met() -> None:
    # Published: total = swatch mass x area / swatch area. Two panels of 20 x 28 in are 1120 sq in;
    # fabric alone, chains taken off both.
    gauge = square(16, 19, FOUR_INCHES)
    swatch = SwatchYarn(FOUR_INCHES, FOUR_INCHES, mass=Fraction(10))
    stitches = Fraction(16 * 19, 16) * 1120  # 16 sq in hold 304 stitches
    bare = Work((Part("fabric", stitches={"single-crochet": int(stitches)}),), Turning(0, False))
    made = estimate(bare, gauge, YarnOrder(swatch=swatch))
    chains = Fraction(16 * 255, 530)
    assert made.mass == Fraction(10) * 1120 / 16 * 304 / (304 + chains)


@pytest.mark.parametrize(
    ("known", "method"),
    [
        # best available first
        ({"swatch": SwatchYarn(unravelled=Fraction(9000), stitches=16, rows=19)}, "swatch-length"),
        ({"swatch": SwatchYarn(mass=Fraction(9), stitches=16, rows=19)}, "swatch-mass"),
        ({"ball_length": Fraction(85_000), "ball_mass": Fraction(50)}, "loop-length-model"),
        ({"count": YarnCount("tex", Fraction(600))}, "loop-length-model"),
        ({"wraps_per_inch": Fraction(10)}, "loop-length-model"),
        ({}, "weight-category"),
    ],
)
def test_the_best_method_is_taken_and_the_surer_the_narrower(
    known: dict[str, object], method: str
) -> None:
    yarn = alone(square(16, 19), {"single-crochet": 100}, YarnOrder(4, **known))  # type: ignore[arg-type]
    assert yarn.method == method
    widths = {"swatch-length": 6, "swatch-mass": 8, "loop-length-model": 33, "weight-category": 83}
    assert widths[method] * 0.6 < yarn.interval_percent < widths[method]


def test_what_is_not_known_of_gauge_and_swatch_is_carried_through() -> None:
    # A swatch told by its size hangs on the gauge; one that was counted does not.
    took = {"unravelled": Fraction(9000)}
    by_size = YarnOrder(swatch=SwatchYarn(Fraction(100), Fraction(100), **took))  # type: ignore[arg-type]
    counted = YarnOrder(swatch=SwatchYarn(stitches=16, rows=19, **took))  # type: ignore[arg-type]
    rough = Gauge("single-crochet", Fraction(4), Fraction(25), Fraction(5), Fraction(25))
    fine = square(16, 19)
    off = {
        name: alone(gauge, {"single-crochet": 100}, known).interval_percent
        for name, gauge, known in (
            ("rough", rough, by_size), ("fine", fine, by_size), ("counted", rough, counted),
        )
    }  # fmt: skip
    assert off["counted"] < off["fine"] < off["rough"]
    rough_model, fine_model = (
        alone(gauge, {"single-crochet": 9}, YarnOrder(wraps_per_inch=Fraction(10))).interval_percent
        for gauge in (rough, fine)
    )
    assert fine_model < rough_model


@pytest.mark.parametrize(
    ("metres", "balls"),
    # Ball-band arithmetic by hand: 200 m and a tenth are 220 m, of 85 m a ball 2.59; and so on.
    [(200, 3), (77, 1), (78, 2), (850, 11)],
)
def test_balls_are_whole_and_of_the_ball_band(metres: int, balls: int) -> None:
    swatch = SwatchYarn(unravelled=Fraction(1000), stitches=1, rows=1)
    known = YarnOrder(ball_length=Fraction(85_000), ball_mass=Fraction(50), swatch=swatch)
    work = Work((Part("fabric", length=Fraction(metres) * 1000),), Turning(1, False))
    yarn = estimate(work, square(16, 19), known)
    assert yarn.length == metres * 1000
    assert (yarn.balls, yarn.mass) == (balls, Fraction(metres * 50, 85))


def test_another_yarn_takes_the_same_length() -> None:
    # By hand: 200 m and a tenth are 220 m, of 60 m a ball 3.67; at 50 g to 60 m, 183.3 g; the
    # other yarn is 50 / 60 g a metre against 50 / 85, 41.7 % heavier.
    other = BallOrder(Fraction(60_000), Fraction(50))
    known = YarnOrder(4, Fraction(85_000), Fraction(50), substitute=other)
    work = Work((Part("fabric", length=Fraction(200_000)),), Turning(1, False))
    made = estimate(work, square(16, 19), known).substitute
    assert made
    assert (made.balls, made.length) == (4, 220_000)
    assert float(made.mass) == pytest.approx(220 * 50 / 60)
    assert made.heavier_percent == pytest.approx(100 * (85 / 60 - 1))


def test_everything_of_a_case_is_counted() -> None:
    swatch = SwatchYarn(unravelled=Fraction(14_000), stitches=16, rows=19)
    known = YarnOrder(swatch=swatch, ball_length=Fraction(85_000), include_swatch=True)
    made_up = {"edging": EdgingOrder(), "button": Button(Fraction(18), Fraction(3)), "yarn": known}
    made = piece(order("flap-panel", square(16, 19), made_up, width=240, body_height=300))
    yarn = made.yarn
    assert yarn
    amounts = {(p.part, p.section): p.length for p in yarn.parts}
    assert {part for part, _ in amounts} == {
        "foundation", "fabric", "turning chains", "edging", "button loop", "seams", "tails",
        "swatch",
    }  # fmt: skip
    # By hand: the swatch is 304 sc and 17 + 18 chains of 25.5 / 53 sc. The body is 57 rows of 38.
    # In 18 rows the flap loses 36 stitches one by one: 342 stitches, 36 more and 36 chains fewer.
    chain = Fraction(255, 530)
    each = 14_000 / (304 + 35 * chain)
    assert amounts["fabric", "body"] == 57 * 38 * each
    assert amounts["fabric", "flap"] == (342 + 36 - 36 * chain) * each
    assert amounts["foundation", None] == 39 * chain * each
    assert amounts["turning chains", None] == 74 * chain * each
    # Both sides of the body, 57 rows folded in two: 300 mm in all, three times, and two tails each.
    assert amounts["seams", None] == 3 * 300 + 2 * 2 * TAIL
    assert amounts["tails", None] == 2 * TAIL
    assert amounts["swatch", None] == 14_000
    assert yarn.length == sum(p.length for p in yarn.parts if p.length)
    assert yarn.interval
    assert yarn.interval[0] < yarn.length < yarn.interval[1]
    assert yarn.to_buy == yarn.length * Fraction(11, 10)


def test_one_swatch_tells_of_all_colours_of_a_yarn() -> None:
    # By hand: 14 m once for the yarn that ink and ochre share, 9 m for that of chalk.
    shared = SwatchYarn(unravelled=Fraction(14_000), stitches=16, rows=19)
    own = SwatchYarn(unravelled=Fraction(9_000), stitches=16, rows=19)
    parts = tuple(Part("fabric", c, {"single-crochet": 100}) for c in ("ink", "ochre", "chalk"))
    made = estimate(
        Work(parts, Turning(1, False)),
        square(16, 19),
        YarnOrder(swatch=shared, include_swatch=True),
        {"chalk": YarnOrder(swatch=own, include_swatch=True)},
    )
    swatches = {p.colour: p.length for p in made.parts if p.part == "swatch"}
    assert swatches == {"ink": 14_000, "chalk": 9_000}


def test_two_worked_together_take_less_than_two_and_more_than_one() -> None:
    plain = Part("fabric", stitches=fabric("double-crochet", 10))
    shaped = Part("fabric", stitches=fabric("double-crochet", 10, lost=1))
    assert plain.units < shaped.units < plain.units + YARN_RATIO["double-crochet"]


def test_a_crocheted_seam_takes_a_stitch_a_place_and_a_sewn_one_its_length() -> None:
    assert seam("seam", Fraction(100), 20, "single-crochet").units == 20
    assert seam("seam", Fraction(100), 20, "whip").length == 3 * 100 + 2 * TAIL
