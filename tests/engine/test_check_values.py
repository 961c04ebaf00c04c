"""The main job held against figures from outside, each with the source it stands in.

"common practice" is short for common practice, no published source. Lengths in inches are exact
(1 in = 25.4 mm). No expected value here is the service's own output.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from service.engine.cautions import SMALL_PARTS_CYLINDER, small_part
from service.engine.checkpoints import checkpoints, tolerance
from service.engine.distribution import interleaved, spread
from service.engine.edgings import Corner, EdgingOrder, Side, edging, round_height, usual_stitches
from service.engine.foundation import foundation, turning
from service.engine.gauge import Gauge, assess, square
from service.engine.openings import Button, ClosureOrder, loop, slit
from service.engine.outline import sides_of
from service.engine.patterns import piece
from service.engine.rounding import whole
from service.engine.shaping import plan, row_counts
from service.engine.spacing import Placing, place, space
from service.engine.standards import BUTTON_SIZES, YARN_WEIGHTS
from service.engine.stitches import STITCHES
from service.engine.units import FOUR_INCHES, TEN_CM, length
from service.engine.wanting import Wanted, needed
from tests.pieces import order

HANDBOOK = "Knitting & Crocheting All-in-One (handbook)"
TEACHING = "teaching page of worked foundation arithmetic"
EVEN = "published, by the rule of Sweater 101 (1991) and Knitwear Design Workshop (2010)"
SLEEVE = "teaching page, sleeve worked by hand"
COUNCIL = "Craft Yarn Council, Standards & Guidelines, 2018 print"
BORDERS = "Simply Crochet, borders handbook, 2017"
LINE = "button line (ligne), general trade use"
MAGAZINE = "magazine lessons on openings"
PRACTICE = "common practice, no published source"
MADE = "published pattern gauges"

INCH = Fraction(254, 10)
# Category 4 yarn on a 5 mm hook: 42 sc across 11.5 in, 55 rows up 12 in. Common practice.
WORSTED = Gauge("single-crochet", Fraction(42), Fraction(23, 2) * INCH, Fraction(55), 12 * INCH)


@pytest.mark.parametrize(
    ("stitch", "chains", "counts", "stitches", "chain", "first", "source"),
    [
        ("single-crochet", None, None, 10, 11, 2, TEACHING),
        ("single-crochet", None, None, 42, 43, 2, PRACTICE),
        ("half-double-crochet", None, True, 11, 12, 3, TEACHING),
        ("half-double-crochet", None, False, 11, 13, 3, TEACHING),
        ("half-double-crochet", None, None, 11, 12, 3, HANDBOOK),
        ("half-double-crochet", 1, None, 11, 12, 2, HANDBOOK),
        ("double-crochet", None, False, 10, 13, 4, TEACHING),
        ("double-crochet", None, False, 11, 14, 4, TEACHING),
        ("double-crochet", None, None, 11, 13, 4, HANDBOOK),
        ("double-crochet", 2, True, 11, 12, 3, HANDBOOK),
        ("treble-crochet", None, False, 11, 15, 5, TEACHING),
        ("treble-crochet", None, None, 11, 14, 5, HANDBOOK),
    ],
)
def test_the_foundation_has_as_many_chains_as_the_trade_makes(
    stitch: str,
    chains: int | None,
    counts: bool | None,
    stitches: int,
    chain: int,
    first: int,
    source: str,
) -> None:
    made = foundation(stitches, turning(STITCHES[stitch], chains, counts))
    assert (made.chain, made.first_stitch_in_chain) == (chain, first), source


@pytest.mark.parametrize(
    ("units", "parts", "expected", "source"),
    [
        (124, 14, {8: 2, 9: 12}, EVEN),
        (140, 36, {3: 4, 4: 32}, EVEN),
        (83, 6, {13: 1, 14: 5}, EVEN),
        (204, 8, {25: 4, 26: 4}, "published edging, spread evenly"),
        (42, 6, {7: 6}, EVEN),  # 42 sc less 6: (5 sc, dec) six times, a decrease takes two
        (40, 8, {5: 8}, EVEN),  # 40 plus 8: every 5th
        (56, 16, {3: 8, 4: 8}, EVEN),  # 56 less 16: 3 and 4 in turn
        (72, 6, {12: 6}, "band of 100, 3 each end, 7 holes of 4: gaps of 11 besides the hole"),
        (108, 11, {9: 2, 10: 9}, SLEEVE),
    ],
)
def test_events_are_spread_by_quotient_and_remainder(
    units: int, parts: int, expected: dict[int, int], source: str
) -> None:
    assert {s.size: s.times for s in spread(units, parts)} == expected, source
    counted = {size: interleaved(units, parts).count(size) for size in expected}
    assert counted == expected, source


def test_three_and_four_in_turn_are_in_turn() -> None:
    # Published, by the same rule: 56 less 16, "3 and 4 in turn".
    gaps = interleaved(56, 16)
    assert all(a != b for a, b in pairwise(gaps))


def test_the_sleeve_worked_by_hand_comes_out_the_same() -> None:
    # Teaching page: 5 sts and 7 rows to the inch; cuff 7 3/4 in is 38.75, taken down to 38 so that
    # both ends are even; upper 12 in is 60; 15 1/2 in of shaping is 108.5, taken down to 108.
    gauge = Gauge("single-crochet", Fraction(5), INCH, Fraction(7), INCH)
    assert length(7.75, "in") / gauge.stitch_width == Fraction(155, 4)
    even = whole(Fraction(155, 4), rounding="at-most")
    upper = whole(length(12, "in") / gauge.stitch_width)
    rows = whole(length(15.5, "in") / gauge.row_height, rounding="at-most")
    assert (even, upper, rows) == (38, 60, 108)
    runs = plan(even, upper, rows)
    assert sum(run.times for run in runs) == 11
    assert [(run.every, run.times) for run in runs] == [(9, 2), (10, 9)]


def test_a_panel_tapers_from_42_to_2_as_the_trade_works_it() -> None:
    # Common practice: one stitch at each end of every row; the last row works 4 stitches into 2.
    runs = plan(42, 2, 20)
    counts = list(row_counts(42, 20, runs))
    assert counts[-2:] == [4, 2]
    assert [(r.every, r.times, r.left, r.right) for r in runs] == [(1, 20, -1, -1)]


@pytest.mark.parametrize(
    ("count", "unit", "measured", "source"),
    [
        (42, WORSTED.stitch_width, Fraction(23, 2) * INCH, PRACTICE),
        (55, WORSTED.row_height, 12 * INCH, PRACTICE),
        (14, square(14, 16, FOUR_INCHES).stitch_width, FOUR_INCHES, MADE),
        (16, square(14, 16, FOUR_INCHES).row_height, FOUR_INCHES, MADE),
        # 22 for 20 stitches turns 40 in into 44.
        (220, length(4, "in") / 20, 44 * INCH, "published on gauge"),
    ],
)
def test_counts_measure_what_the_gauge_says(
    count: int, unit: Fraction, measured: Fraction, source: str
) -> None:
    assert count * unit == measured, source
    assert whole(measured / unit) == count, source


def test_four_inches_and_ten_centimetres_differ_by_a_sixtieth() -> None:
    # Published gauge advice: 1.6 per cent.
    assert Fraction(16, 1000) == FOUR_INCHES / TEN_CM - 1


def test_half_an_inch_in_a_foot_counts_as_on_course() -> None:
    # Common practice, no published source: 55 rows, 12 in, within half an inch.
    assert tolerance(12 * INCH, WORSTED.row_height) == INCH / 2
    made = piece(order("panel", WORSTED, width=Fraction(23, 2) * INCH, height=12 * INCH))
    first, last = checkpoints(made.sections, WORSTED)
    assert (first.stitches, last.after_row) == (42, 55)
    assert first.width == Fraction(23, 2) * INCH
    assert first.width_tolerance <= INCH / 2


def test_a_half_inch_button_takes_a_loop_of_four_covered_by_five() -> None:
    # Common practice, no published source; worked over the two stitches left at a point.
    made = loop(Button(INCH / 2), WORSTED.stitch_width, ClosureOrder())
    assert (made.chain, made.spans, made.covering_stitches) == (4, 2, 5)
    assert made.button_passes


def test_a_larger_button_wants_more_chains() -> None:
    # Common practice, no published source.
    chains = [
        loop(Button(size.diameter), WORSTED.stitch_width, ClosureOrder()).chain
        for size in BUTTON_SIZES
    ]
    assert chains == sorted(chains)
    assert chains[0] < chains[-1]


@pytest.mark.parametrize("button", [size.diameter for size in BUTTON_SIZES])
def test_a_worked_slit_is_no_wider_than_its_button_at_a_fine_gauge(button: Fraction) -> None:
    # Magazine lessons on openings: slightly smaller than the button, or it comes undone.
    made = slit(Button(button), Fraction(2), Fraction(2), ClosureOrder("slit"))
    assert made.length <= button < made.length + 2
    assert made.button_passes


def test_one_chain_fewer_may_stand_over_an_opening_and_the_count_comes_back() -> None:
    # Magazine lessons on openings: chains stretch, so some make one fewer.
    order_ = ClosureOrder("slit", skipped=6, chains_over="one-fewer")
    made = slit(Button(Fraction(18)), Fraction(3), Fraction(3), order_)
    assert (made.skipped, made.chain, made.stitches_worked_back) == (6, 5, 6)


@pytest.mark.parametrize(
    ("line", "millimetres"),
    [(16, "10.16"), (20, "12.70"), (24, "15.24"), (28, "17.78"), (32, "20.32"), (36, "22.86"),
     (50, "31.75"), (60, "38.10")],
)  # fmt: skip
def test_buttons_by_line_have_their_published_diameter(line: int, millimetres: str) -> None:
    # Button line (ligne), general trade use: 40 lines to the inch.
    (row,) = [size for size in BUTTON_SIZES if size.line == line]
    assert row.diameter == Fraction(millimetres)


def test_seven_holes_of_four_on_a_band_of_a_hundred_leave_gaps_of_eleven() -> None:
    # Published band: 100 stitches, 3 at each end.
    assert place(Placing(7, 100, 3), 4).gaps == (11,) * 6


def test_eight_buttons_over_fifteen_inches_are_a_seventh_apart() -> None:
    # Published: 15 / 7 = 2.14 in.
    spacing = space(8, 15 * INCH).spacing
    assert spacing is not None
    assert spacing / INCH == Fraction(15, 7)


def test_a_line_50_button_is_as_wide_as_the_small_parts_cylinder() -> None:
    # 16 CFR 1501.4: 31.75 mm.
    assert Fraction("31.75") == SMALL_PARTS_CYLINDER
    assert next(s.diameter for s in BUTTON_SIZES if s.line == 50) == SMALL_PARTS_CYLINDER
    # What is as wide as the cylinder goes into it.
    assert small_part(SMALL_PARTS_CYLINDER, ("button",))
    assert small_part(SMALL_PARTS_CYLINDER + Fraction(1, 100), ("button",)) is None


@pytest.mark.parametrize(
    ("stitch", "row_ends", "stitches", "source"),
    [
        ("single-crochet", 55, 55, HANDBOOK),
        ("double-crochet", 20, 40, HANDBOOK),
        ("treble-crochet", 20, 60, "row ends, trade ratio (medium confidence)"),
    ],
)
def test_row_ends_take_the_usual_number_of_single_crochet(
    stitch: str, row_ends: int, stitches: int, source: str
) -> None:
    assert usual_stitches(stitch, "row-ends", row_ends) == stitches, source


@pytest.mark.parametrize(
    ("corner", "a_round", "source"),
    [
        (Corner(3, 0), 8, BORDERS),  # 3 sc in each of four corners
        (Corner(2, 1), 8, BORDERS),  # (sc, ch 1, sc)
        (Corner(5, 0), 16, BORDERS),  # 5 dc
        (Corner(0, 1), 8, PRACTICE),  # one chain, two stitches into it in the next round
    ],
)
def test_each_later_round_grows_by_its_four_corners(
    corner: Corner, a_round: int, source: str
) -> None:
    sides = tuple(
        Side(name, "foundation", 20, Fraction(100), corner="here") for name in ("a", "b", "c", "d")
    )
    rounds = edging(sides, square(20, 20), EdgingOrder(rounds=3, corner=corner)).rounds
    assert [b - a for a, b in pairwise(rounds)] == [a_round, a_round], source


def test_a_round_of_edging_makes_the_piece_about_half_an_inch_wider() -> None:
    # Common practice, no published source: sc edging, category 4 yarn on a 5 mm hook.
    grown = edging((), WORSTED, EdgingOrder()).growth.width / INCH
    assert abs(grown - Fraction(1, 2)) < Fraction(1, 8)


@pytest.mark.parametrize(
    ("stitch", "stitches", "rows", "side", "low", "high"),
    [
        ("single-crochet", 14, 16, FOUR_INCHES, 0.875, 0.93),
        ("single-crochet", 13, 14, FOUR_INCHES, 0.88, 0.93),
        ("half-double-crochet", 13, 9, FOUR_INCHES, 1.37, 1.45),
        ("half-double-crochet", 14, 10, TEN_CM, 1.37, 1.44),
        ("double-crochet", 13, Fraction(15, 2), FOUR_INCHES, 1.73, 2.0),
    ],
)
def test_row_heights_stand_to_stitch_widths_as_published_gauges_have_them(
    stitch: str, stitches: int, rows: int | Fraction, side: Fraction, low: float, high: float
) -> None:
    # Published pattern gauges, weight 4. The relative heights we use lie in the same range.
    gauge = square(stitches, rows, side, stitch)
    assert low <= gauge.row_height / gauge.stitch_width <= high
    assert low <= STITCHES[stitch].relative_height <= high


def test_an_edging_of_another_stitch_is_as_high_as_that_stitch() -> None:
    # Published pattern gauges, weight 4: hdc rows of 4 in / 9, sc rows of 4 in / 16 to 4 in / 14.
    height, _ = round_height(
        EdgingOrder("single-crochet"), square(13, 9, FOUR_INCHES, "half-double-crochet")
    )
    assert FOUR_INCHES / 16 <= height <= FOUR_INCHES / 13


@pytest.mark.parametrize(
    ("category", "low", "high", "source"),
    [(1, 21, 32, COUNCIL), (2, 16, 20, COUNCIL), (3, 12, 17, COUNCIL), (4, 11, 14, COUNCIL),
     (5, 8, 11, COUNCIL), (6, 6, 9, COUNCIL)],
)  # fmt: skip
def test_a_gauge_is_placed_in_the_published_range(
    category: int, low: int, high: int, source: str
) -> None:
    assert YARN_WEIGHTS[category].single_crochet_per_4_in == (low, high), source
    where = {
        stitches: assess(square(stitches, 16, FOUR_INCHES), category).published
        for stitches in (low - 1, low, high, high + 1)
    }
    positions = [found.position for found in where.values() if found]
    assert positions == ["looser", "within", "within", "tighter"], source


def test_a_swatch_that_loosens_in_the_wash_is_sized_by_its_second_gauge() -> None:
    # One published case: 24 stitches before washing, 22 after, to 4 in.
    gauge = Gauge(
        "single-crochet", Fraction(24), FOUR_INCHES, Fraction(24), FOUR_INCHES,
        FOUR_INCHES * 24 / 22, None,
    )  # fmt: skip
    found = assess(gauge)
    assert found.after_blocking is not None
    assert found.after_blocking.stitches_per_4_in == 22
    assert found.used == "after-blocking"


def test_a_slit_shorter_than_its_button_has_its_ease_below_zero() -> None:
    # 3 stitches of 6.25 mm are 18.75 mm, which a button of 20 mm is 1.25 wider than.
    made = slit(Button(Fraction(20)), Fraction(25, 4), Fraction(100, 19), ClosureOrder("slit"))
    assert (made.skipped, made.length, made.ease) == (3, Fraction(75, 4), Fraction(-5, 4))


@pytest.mark.parametrize(
    ("stitches", "width", "per_10_cm", "per_4_in", "source"),
    [
        (16, TEN_CM, 16, 16.256, "4 in are 10.16 cm"),
        (14, FOUR_INCHES, 1400 / 101.6, 14, "4 in are 10.16 cm"),
        (10, Fraction(50), 20, 20.32, "half the width, as by hand"),
    ],
)  # fmt: skip
def test_a_swatch_is_read_to_ten_centimetres_and_to_four_inches(
    stitches: int, width: Fraction, per_10_cm: float, per_4_in: float, source: str
) -> None:
    found = assess(square(stitches, stitches, width)).before_blocking
    told = (found.stitches_per_10_cm, found.rows_per_10_cm)
    assert told == pytest.approx((per_10_cm, per_10_cm)), source
    assert (found.stitches_per_4_in, found.rows_per_4_in) == pytest.approx((per_4_in, per_4_in))
    assert found.stitch_width == found.row_height == width / stitches


def test_what_blocking_does_is_told_of_each_way() -> None:
    # By hand: 100 mm that come to 104 are 4 % more, and 100 that come to 97 are 3 % less.
    gauge = Gauge("single-crochet", Fraction(16), TEN_CM, Fraction(19), TEN_CM,
                  Fraction(104), Fraction(97))  # fmt: skip
    change = assess(gauge).blocking_change
    assert change
    assert (change.width_percent, change.height_percent) == pytest.approx((4, -3))


def test_the_gauge_that_is_wanted_is_told_over_what_the_swatch_was() -> None:
    # 16 stitches over 80 mm and 10 rows over 50, both 5 mm. 40 stitches are to be 250 mm instead of
    # 200: over 80 mm 12.8 then. 60 rows are to be 240 mm instead of 300: over 50 mm 12.5.
    swatch = Gauge("single-crochet", Fraction(16), Fraction(80), Fraction(10), Fraction(50),
                   None, None)  # fmt: skip
    need = needed(Wanted(Fraction(250), Fraction(240)), swatch, 40, 60, "metric")
    assert need.stitches
    assert need.rows
    told = [(w.now, w.over, w.needed, w.needed_per_10_cm, w.factor, w.direction)
            for w in (need.stitches, need.rows)]  # fmt: skip
    assert told == [(200, 80, 12.8, 16, 1.25, "larger"), (300, 50, 12.5, 25, 0.8, "smaller")]
    assert need.hook == "opposite"
    # At the swatch as it is, 240 mm are 48 rows.
    assert need.rows_at_present_gauge == 48
    # Rows of 5 mm: one is the fewest there are, of 2 mm too; 7.5 mm are a row and a half, so two.
    for height, rows in ((2, 1), (Fraction(15, 2), 2)):
        assert (
            needed(Wanted(None, Fraction(height)), swatch, 40, 60, "metric").rows_at_present_gauge
            == rows
        )


def test_no_stitch_is_left_out_for_a_loop_that_is_not_there() -> None:
    # 10 stitches of 4 mm along the foundation and along the last row; two for a loop leave 8.
    foot, top = sides_of(10, (), Fraction(4), Fraction(3))
    assert (foot.length, top.length, foot.skipped, top.skipped) == (40, 40, 0, 0)
    assert sides_of(10, (), Fraction(4), Fraction(3), 2)[-1].length == 32
