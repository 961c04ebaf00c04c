"""The work held against its plan: on course or not, the gauge it has, and what mends it.

"common practice" is short for common practice, no published source.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from math import hypot

import numpy as np
import pytest

from service.engine.ask_gauge_check import Companion, GaugeCheck, GaugeCheckOrder, gauge_check
from service.engine.checkpoints import NEAR_ENOUGH
from service.engine.continuing import ContinueOrder
from service.engine.errors import Refused
from service.engine.gauge import Gauge, square
from service.engine.hooks import hook_step
from service.engine.patterns import piece
from service.engine.rounding import Multiple
from service.engine.sizing import PieceOrder
from service.engine.standards import HOOK_SIZES
from service.engine.tapes import Measured
from service.engine.weighing import Known, by_swatch, by_work, combine, weighed
from tests.engine.test_continuing import examples, places
from tests.pieces import order

PRACTICE = "common practice, no published source"
TAYLOR = "Taylor, An Introduction to Error Analysis, 2nd ed., 1997, ch. 7"
INCH = Fraction(254, 10)
GAUGE = square(16, 19)
CASE = order("flap-panel", GAUGE, width=240, body_height=300, flap_depth=150)


def check(
    asked: PieceOrder, section: str, row: int, measured: Measured,
    companion: Companion | None = None, hook: Fraction | None = None,
) -> GaugeCheck:  # fmt: skip
    return gauge_check(GaugeCheckOrder(asked, section, row, measured, companion, hook))


def kinds(made: GaugeCheck) -> list[str]:
    return [c.kind for c in made.corrections]


# --- check values --------------------------------------------------------------------------------

# A swatch that promised 47 stitches to 12 in; the work gives 42 over 11.5 in.
PROMISED = Gauge("single-crochet", Fraction(47), 12 * INCH, Fraction(55), 12 * INCH)
BAND = order("band", PROMISED, length=12 * INCH, depth=4 * INCH)
SHOWN = Fraction(47) * Fraction(23, 2) / 42 * INCH  # what 47 stitches then measure: 12.87 in


@pytest.mark.parametrize(
    ("partner", "ease", "spare", "source"),
    [
        # Half an inch longer than its partner; three stitches too many; no restart.
        (Fraction(23, 2), Fraction(1, 2), 3, PRACTICE),
        # By hand: 11.5 in and nothing more is 42 stitches, five too many.
        (Fraction(23, 2), Fraction(0), 5, "by hand"),
    ],
)
def test_spare_stitches_after_the_first_row_come_out_of_the_foundation(
    partner: Fraction, ease: Fraction, spare: int, source: str
) -> None:
    companion = Companion(partner * INCH, ease * INCH, "length")
    made = check(BAND, "band", 1, Measured(width=SHOWN), companion)
    first = made.corrections[0]
    assert (first.kind, first.chains, first.stitches_undone) == ("chains-out", spare, spare), source
    assert first.reaches
    assert "restart" not in kinds(made), source
    assert first.go_on
    assert first.go_on.stitches == 47 - spare
    # Half an inch in twelve is as far off as is still on course.
    assert made.course.width
    assert made.course.width.tolerance == max(
        (partner + ease) * INCH * NEAR_ENOUGH, PROMISED.stitch_width
    )


def test_42_over_11_and_a_half_and_55_over_12_are_read_off_the_work() -> None:
    # common practice: 42 sc across 11.5 in, 55 rows up 12 in. The plan's swatch was loose of it.
    panel = order("panel", square(16, 20), width=12 * INCH, height=14 * INCH)
    plan = piece(panel)
    stitches = plan.sections[0].stitches_at_end
    width, height = stitches * Fraction(23, 2) / 42 * INCH, 12 * INCH
    made = check(panel, "panel", 55, Measured(width=width, height=height))
    work = made.gauge.stitch_width.work, made.gauge.row_height.work
    assert work == (Fraction(23, 2) * INCH / 42, 12 * INCH / 55)


# --- what a tape tells ---------------------------------------------------------------------------


def test_the_weights_are_those_of_a_general_library() -> None:
    dice = random.Random(5)
    for _ in range(200):
        known = [
            Known(Fraction(dice.randint(300, 900), 100), Fraction(dice.randint(1, 400), 10**4))
            for _ in range(2)
        ]
        made = combine(*known)
        mean, weight = np.average(
            [float(k.size) for k in known],
            weights=[1 / float(k.variance) for k in known],
            returned=True,
        )
        assert float(made.size) == pytest.approx(mean), TAYLOR
        assert float(made.variance) == pytest.approx(1 / weight), TAYLOR


def test_swatch_and_work_weighed_by_hand() -> None:
    # 16 over 100 mm: 6.25, off by 6.25 x sqrt((1/64)^2 + (1/50)^2) = 0.158625. 38 over 240 mm, to
    # 2 mm: 6.315789, off by 2/38 = 0.052632. Weights 39.7429 and 361: 6.309265, off by 0.049953.
    seen = weighed(
        by_swatch(Fraction(16), Fraction(100)),
        by_work(Fraction(240, 38), Fraction(240), Fraction(2)),
    )
    assert float(seen.swatch_off) == pytest.approx(0.158625, abs=1e-6)
    assert seen.work_off is not None
    assert float(seen.work_off) == pytest.approx(2 / 38)
    assert float(seen.combined) == pytest.approx(6.309265, abs=1e-6)
    assert float(seen.interval[1] - seen.combined) == pytest.approx(0.049953, abs=1e-6)
    assert seen.weight_of_work_percent == pytest.approx(100 * 361 / 400.74288, abs=1e-4)


def test_a_swatch_of_another_hand_counts_for_little() -> None:
    # 7 mm for 6.25: 0.75 apart, where both may be off by 0.16 and 0.05. The swatch is then off by
    # sqrt(0.75^2 - 0.05^2), and the work weighs (0.5625 - 0.0025) / 0.5625 = 99.556 %.
    seen = weighed(Known(Fraction(25, 4), Fraction(1, 40)), Known(Fraction(7), Fraction(1, 400)))
    assert seen.weight_of_work_percent == pytest.approx(100 * 0.56 / 0.5625)
    made = check(CASE, "body", 20, Measured(width=Fraction(38 * 7)))
    assert [c.code for c in made.cautions] == ["swatch-and-work-differ"]


def test_a_better_tape_weighs_more() -> None:
    fine, coarse = (
        check(CASE, "body", 20, Measured(width=Fraction(240), reading=Fraction(mm)))
        for mm in (1, 10)
    )
    assert fine.gauge.stitch_width.weight_of_work_percent > 95
    assert coarse.gauge.stitch_width.weight_of_work_percent < 35


@pytest.mark.parametrize(
    "asked",
    [
        CASE,
        replace(CASE, gauge=replace(GAUGE, blocked_width=Fraction(104))),
        order("trapezoid", GAUGE, bottom_width=200, top_width=120, height=150),
        order("tube", GAUGE, circumference=240, height=90),
        order("disc", GAUGE, diameter=120),
        order("cup", GAUGE, diameter=80, height=110),
        order("oval", GAUGE, length=160, width=90),
    ],
    ids=lambda o: o.template.name,
)
def test_the_course_is_that_of_the_pieces_checkpoints(asked: PieceOrder) -> None:
    made = piece(asked)
    told = [c for c in made.checkpoints if c.where != "first row"]
    for section, checkpoint in zip(made.sections, told, strict=True):
        if checkpoint.width is None or checkpoint.width_tolerance is None:
            continue
        height = checkpoint.height
        for share, verdict in ((Fraction(99, 100), "on-course"), (Fraction(11, 10), "over"),
                               (Fraction(-11, 10), "under")):  # fmt: skip
            off = share * checkpoint.width_tolerance
            measured = Measured(width=checkpoint.width + off, height=height, reading=Fraction(1))
            seen = check(asked, section.name, checkpoint.after_row, measured).course
            assert seen.width
            assert seen.width.expected == checkpoint.width
            assert seen.width.tolerance == checkpoint.width_tolerance
            assert seen.width.verdict == verdict
            assert seen.on_course is (verdict == "on-course")
            assert (seen.height.expected if seen.height else None) == height


def test_work_that_measures_as_planned_needs_nothing() -> None:
    made = check(CASE, "body", 57, Measured(width=Fraction(475, 2), height=Fraction(300)))
    assert made.course.on_course
    assert made.corrections == ()
    # As planned: 38 stitches of 6.25 mm, 57 rows of 100/19 mm.
    whole = piece(CASE)
    assert {n: m.finished for n, m in made.finished_if_unchanged.items()} == {
        n: m.finished for n, m in whole.measurements.items()
    }


@pytest.mark.parametrize("asked", examples(), ids=lambda o: o.template.name)
def test_a_plan_gone_on_with_at_its_own_gauge_comes_to_what_it_was_to_come_to(
    asked: PieceOrder,
) -> None:
    planned = {n: m.finished for n, m in piece(asked).measurements.items()}
    for section, row, stitches in places(piece(asked))[::7]:
        made = check(asked, section, row, Measured(stitches=stitches))
        told = {n: m.finished for n, m in made.finished_if_unchanged.items()}
        assert told == pytest.approx(planned)
        assert made.corrections == ()


def test_a_difference_less_than_the_tape_can_tell_is_on_course() -> None:
    measured = Measured(width=Fraction(475, 2) + 14, reading=Fraction(15))
    assert check(CASE, "body", 12, measured).course.on_course


# --- what mends it -------------------------------------------------------------------------------


def test_rows_to_leave_out_by_hand() -> None:
    # A panel, 20 rows to 10 cm, 40 cm: 80 rows. After 40 the tape reads 22 cm to 0.1 mm: 5.5 mm a
    # row, and 18 cm are left: 32.7 rows, 33. So 73 rows for 80.
    panel = order("panel", square(16, 20), width=200, height=400)
    made = check(panel, "panel", 40, Measured(height=Fraction(220), reading=Fraction(1, 10)))
    (first, *_) = made.corrections
    assert first.kind == "rows-left-out"
    assert first.rows
    assert [(c.planned, c.rows, c.change) for c in first.rows] == [(80, 73, -7)]
    assert made.finished_if_unchanged["height"].finished > 438
    assert first.stitches_undone == 0


def test_more_rows_than_are_wanted_are_taken_back() -> None:
    # 56 of 57 rows read 33 cm: 300 / (330 / 56) = 50.9, so row 51.
    made = check(CASE, "body", 56, Measured(height=Fraction(330)))
    (back, *_) = made.corrections
    assert (back.kind, back.stitches_undone) == ("take-back", 5 * 38)
    assert back.go_on
    assert back.go_on.row == 51


def test_a_panel_whose_width_is_off_past_its_first_row_takes_a_hook_or_a_new_start() -> None:
    panel = order("panel", GAUGE, width=240, height=300)
    made = check(panel, "panel", 12, Measured(width=Fraction(270)), hook=Fraction(5))
    assert kinds(made) == ["hook-down", "restart"]
    down, anew = made.corrections
    assert down.reaches is None
    assert down.hook
    assert down.hook.try_hook == Fraction(9, 2)
    assert anew.reaches
    assert anew.stitches_undone == 12 * 38


@pytest.mark.parametrize("row", range(5, 55, 7))
def test_a_rest_replanned_is_the_best_of_all_row_counts(row: int) -> None:
    for high in (Fraction(row) * 5, Fraction(row) * Fraction(59, 10)):
        made = check(CASE, "body", row, Measured(height=high, reading=Fraction(1)))
        h = made.gauge.row_height.combined
        wanted = [c for c in made.corrections if c.kind == "reshape" and c.finished]
        for reshaped in wanted:
            assert reshaped.finished
            off = abs(reshaped.finished["body_height"].difference or 0)
            # Brute force: any number of rows, those worked as high as they are.
            assert off == min(abs(high + (n - row) * h - 300) for n in range(row, 120))
            deep = abs(reshaped.finished["flap_depth"].difference or 0)
            assert deep == min(abs(n * h - 150) for n in range(18, 120))


def test_mended_work_comes_within_its_rounding() -> None:
    dice, mended = random.Random(3), 0
    for _ in range(60):
        trapezoid = order(
            "trapezoid", GAUGE, bottom_width=dice.randint(150, 300),
            top_width=dice.randint(150, 300), height=dice.randint(200, 400),
        )  # fmt: skip
        rows = piece(trapezoid).totals.rows
        row = dice.randint(1, rows // 2)
        here = ContinueOrder(piece(trapezoid).sections[0].name, row)
        stitches = piece(replace(trapezoid, continue_after=here)).continued
        assert stitches
        factor = Fraction(dice.randint(85, 115), 100)
        measured = Measured(
            width=stitches.stitches * factor * Fraction(25, 4),
            height=row * factor * Fraction(100, 19) + 5,
            reading=Fraction(1),
        )
        made = check(trapezoid, here.section, row, measured)
        w, h = made.gauge.stitch_width.combined, made.gauge.row_height.combined
        for c in made.corrections:
            if c.kind not in ("reshape", "chains-in", "chains-out", "restart") or not c.finished:
                continue
            mended += 1
            assert abs(c.finished["top_width"].difference or 0) <= w / 2
            assert abs(c.finished["height"].difference or 0) <= h / 2
            if c.kind != "reshape":
                assert abs(c.finished["bottom_width"].difference or 0) <= w / 2
            # What is worked stays, but for what a correction says of itself.
            assert (c.stitches_undone == 0) == (c.kind in ("reshape", "chains-in"))
        ranks = [c.rank for c in made.corrections]
        assert ranks == list(range(1, len(ranks) + 1))
    assert mended > 40


def test_what_a_correction_asks_for_is_what_the_piece_then_is() -> None:
    seen = 0
    for asked, section, row, measured in (
        (CASE, "body", 30, Measured(Fraction(239), Fraction(175))),
        (CASE, "flap", 66, Measured(stitches=30)),
        (order("cup", GAUGE, diameter=80, height=110), "base", 5, Measured(Fraction(69))),
        (BAND, "band", 1, Measured(SHOWN)),
    ):
        made = check(asked, section, row, measured)
        had = replace(
            asked.gauge,
            width=made.gauge.combined.width,
            height=made.gauge.combined.height,
        )
        for c in made.corrections:
            if not c.go_on:
                continue
            at = ContinueOrder(
                c.go_on.section, c.go_on.row, c.go_on.stitches, c.go_on.height, asked.gauge
            )
            rest = piece(replace(asked, gauge=had, continue_after=at))
            assert rest.sections == c.sections
            assert {n: m.finished for n, m in rest.measurements.items()} == {
                n: m.finished for n, m in (c.finished or {}).items()
            }
            seen += 1
    assert seen >= 4


def test_a_stitch_multiple_is_kept_when_chains_come_out() -> None:
    panel = replace(order("panel", GAUGE, width=240, height=100), stitch_multiple=Multiple(6, 2))
    made = check(panel, "panel", 1, Measured(width=Fraction(290)))
    (first, *_) = made.corrections
    assert first.kind == "chains-out"
    assert first.go_on
    # Brute force: of the counts that are a multiple of 6 plus 2, the one nearest to 24 cm.
    w = made.gauge.stitch_width.combined
    assert first.go_on.stitches == min(range(2, 80, 6), key=lambda n: abs(n * w - 240))


def test_a_hook_goes_the_way_of_the_stitch_by_at_least_a_size() -> None:
    for size in HOOK_SIZES[1:-1]:
        up = hook_step(Fraction(61, 10), Fraction(6), size.diameter).try_hook
        down = hook_step(Fraction(59, 10), Fraction(6), size.diameter).try_hook
        assert up is not None
        assert down is not None
        assert down < size.diameter < up
    assert hook_step(Fraction(7), Fraction(6), HOOK_SIZES[-1].diameter).try_hook is None


def test_if_nothing_changes_the_interval_is_that_of_the_gauge() -> None:
    # 38 stitches, each off alike; 27 rows to come, each off alike, and the tape off by its 2 mm.
    # Errors that are independent add as squares: Taylor, ch. 3.
    made = check(CASE, "body", 30, Measured(width=Fraction(239), height=Fraction(158)))
    stitch, row = made.gauge.stitch_width, made.gauge.row_height
    width, body, flap = (
        made.finished_if_unchanged[n] for n in ("width", "body_height", "flap_depth")
    )
    off_stitch, off_row = stitch.interval[1] - stitch.combined, row.interval[1] - row.combined
    for measured, off in (
        (width, 38 * off_stitch),
        (body, hypot(27 * off_row, 2)),
        (flap, 29 * off_row),
    ):
        least, most = measured.interval
        assert float(most - measured.finished) == pytest.approx(float(off))
        assert most - measured.finished == measured.finished - least


def test_a_flap_that_the_gauge_can_no_longer_fit_is_said_to_be_past_mending() -> None:
    # 38 to 2 stitches takes 18 rows, 9.5 cm as planned; at 5.9 mm a row 16 fit.
    short = order("flap-panel", GAUGE, width=240, body_height=300, flap_depth=95)
    made = check(short, "body", 30, Measured(height=Fraction(177)))
    assert made.corrections == ()
    assert [c.code for c in made.cautions] == ["swatch-and-work-differ", "nothing-mends"]


# --- what cannot be answered ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "section", "row", "measured", "companion", "codes"),
    [
        (CASE, "lid", 4, Measured(Fraction(9)), None, {"unknown-section": "at/section"}),
        (CASE, "body", 58, Measured(Fraction(9)), None, {"row-past-section": "at/row"}),
        (CASE, "flap", 57, Measured(Fraction(9)), None, {"row-before-section": "at/row"}),
        (CASE, "body", 4, Measured(), None, {"nothing-measured": "measured"}),
        (
            CASE, "flap", 86, Measured(Fraction(12)), None,
            {"too-few-stitches": "measured/width"},
        ),
        (
            order("disc", GAUGE, diameter=80), "disc", 3, Measured(height=Fraction(20)), None,
            {"flat-round": "measured/height"},
        ),
        (
            order("tube", GAUGE, circumference=240, height=90), "tube", 3, Measured(stitches=2),
            None, {"too-few-stitches": "measured/stitches"},
        ),
        (
            CASE, "body", 4, Measured(Fraction(240), reading=Fraction(240)),
            Companion(Fraction(240), measurement="girth"),
            {"reading-too-coarse": "reading", "unknown-measurement": "companion/measurement"},
        ),
        (
            CASE, "body", 4, Measured(Fraction(240)), Companion(Fraction(50), Fraction(-50)),
            {"nothing-left": "companion/ease"},
        ),
    ],
)  # fmt: skip
def test_what_no_tape_can_tell_is_refused(
    asked: PieceOrder, section: str, row: int, measured: Measured, companion: Companion | None,
    codes: dict[str, str],
) -> None:  # fmt: skip
    with pytest.raises(Refused) as refused:
        check(asked, section, row, measured, companion)
    found = {r.code: "/".join(map(str, r.path)) for r in refused.value.refusals}
    assert found == codes
    assert all(r.permitted for r in refused.value.refusals)
