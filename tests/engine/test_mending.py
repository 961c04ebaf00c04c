"""What mends work that is off course, in order and by hand; and where a tape tells nothing.

Source of all: common practice, no published source; the arithmetic is by hand.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from service.engine.ask_gauge_check import GaugeCheck, GaugeCheckOrder, gauge_check
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.hooks import hook_step, hook_text
from service.engine.openingplans import OpeningPlan
from service.engine.patterns import piece
from service.engine.sizing import PieceOrder
from service.engine.tapes import Measured, gauge_had
from service.engine.templates import FoundationPlan, MeasurementPlan, SectionPlan, Template
from service.engine.terms import Term
from tests.pieces import order

SC = square(16, 19)
# Stitches and rows of 5 mm.
FINE = square(20, 20)


def check(asked: PieceOrder, section: str, row: int, **measured: Any) -> GaugeCheck:
    told = {n: Fraction(v) if n != "stitches" else v for n, v in measured.items()}
    return gauge_check(GaugeCheckOrder(asked, section, row, Measured(**told)))


PLANS = [
    (order("flap-panel", SC, width=240, body_height=300, flap_depth=150), "body", 20),
    (order("trapezoid", SC, bottom_width=200, top_width=120, height=150), "trapezoid", 9),
    (order("panel", SC, width=240, height=300), "panel", 1),
    (order("cup", SC, diameter=80, height=110), "wall", 14),
    (order("tube", SC, circumference=240, height=90), "tube", 5),
    (order("rounded-flap-panel", SC, width=240, body_height=100, flap_depth=80), "flap", 25),
]  # fmt: skip


@pytest.mark.parametrize("plan", PLANS, ids=lambda p: p[0].template.name)
@pytest.mark.parametrize("tall", [80, 95, 108, 130])
@pytest.mark.parametrize("wide", [90, 100, 112])
def test_corrections_stand_best_first_and_say_what_they_come_to(
    plan: Any, tall: int, wide: int
) -> None:
    asked, section, row = plan
    whole = piece(asked)
    counts = {s.name: s for s in whole.sections}
    height = row * Fraction(100, 19) * tall / 100
    planned = check(asked, section, row, stitches=3).course.stitches.expected
    # 16 stitches to 100 mm; in the round the work is laid flat.
    layers = 1 if isinstance(asked.template, Template) else 2
    across = planned * Fraction(25, 4) * wide / 100 / layers
    made = check(asked, section, row, width=across, height=height)
    told = made.corrections
    assert [c.rank for c in told] == [*range(1, len(told) + 1)]
    # First what comes near enough, then hooks, then what does not; starting again is the last.
    group = [3 if c.kind == "restart" else {True: 0, None: 1, False: 2}[c.reaches] for c in told]
    order_of = [(g, c.stitches_undone, c.worst_percent or 0.0)
                for g, c in zip(group, told, strict=True)]  # fmt: skip
    assert order_of == sorted(order_of)
    assert ("restart" in [c.kind for c in told]) is (bool(told) and 0 not in group)
    for one in told:
        if one.finished is None:
            assert one.kind in ("hook-up", "hook-down")
            assert one.worst_percent is None
            continue
        offs = [abs(float(m.difference / m.asked)) * 100 for m in one.finished.values() if m.asked]
        assert one.worst_percent == pytest.approx(max(offs))
        for change in one.rows or ():
            assert change.planned == counts[change.section].rows
            assert change.change == change.rows - change.planned != 0


@pytest.mark.parametrize(
    ("row", "tall", "kind", "rows"),
    [
        # 57 rows of 100/19 mm make 30 cm. 20 rows that measure 120 mm leave 180 mm: at the work's
        # 6 mm a row and the swatch's, weighed, fewer rows; at 4.5 mm more.
        (20, 120, "rows-left-out", -1), (20, 90, "rows-added", 1),
    ],
)  # fmt: skip
def test_rows_go_the_way_of_the_tape(row: int, tall: int, kind: str, rows: int) -> None:
    panel = order("panel", SC, width=240, height=300)
    made = check(panel, "panel", row, height=tall)
    (one,) = [c for c in made.corrections if c.kind == kind]
    assert one.rows
    assert (one.rows[0].change > 0) is (rows > 0)
    assert one.go_on is None
    assert one.reaches
    assert one.finished
    assert abs(one.finished["height"].difference) <= Fraction(100, 19)  # type: ignore[arg-type]


def test_more_than_is_wanted_is_taken_back_and_what_comes_off_is_counted() -> None:
    # 20 rows of 38 were to be 105 mm of a panel of 110 mm; they measure 150: some must come off.
    panel = order("panel", SC, width=240, height=110)
    made = check(panel, "panel", 20, height=150)
    (back,) = [c for c in made.corrections if c.kind == "take-back"]
    assert back.go_on
    assert 1 <= back.go_on.row < 20
    assert back.stitches_undone == 38 * (20 - back.go_on.row)
    assert back.go_on.stitches == 38
    # What is left measures as much less as rows are fewer.
    assert back.go_on.height == Fraction(150 * back.go_on.row, 20)
    assert back.finished
    assert back.reaches
    # Two stitches too many stay too many further down.
    made = check(panel, "panel", 20, height=150, stitches=40)
    (back,) = [c for c in made.corrections if c.kind == "take-back"]
    assert back.go_on
    assert back.go_on.stitches == 40
    # In the round as well: 38 stitches a round.
    tube = order("tube", SC, circumference=240, height=110)
    made = check(tube, "tube", 20, height=150)
    (back,) = [c for c in made.corrections if c.kind == "take-back"]
    assert back.go_on
    assert back.stitches_undone == 38 * (20 - back.go_on.row)


def test_starting_again_undoes_all_that_is_worked() -> None:
    # A panel of 240 mm whose stitches come to 7.5 mm is 285 mm: past its first row nothing mends.
    panel = order("panel", SC, width=240, height=300)
    made = check(panel, "panel", 20, width=285)
    again = made.corrections[-1]
    assert again.kind == "restart"
    assert again.stitches_undone == 20 * 38
    assert again.sections
    assert f"with {again.sections[0].stitches_at_start} stitches" in again.text
    assert again.sections[0].stitches_at_start < 38


def test_starting_a_point_again_undoes_its_rows_one_by_one() -> None:
    # 38 stitches lose two in every row: 36, 34 and so on to 20 are the first nine rows.
    triangle = order("triangle", SC, width=240)
    made = check(triangle, "triangle", 9, stitches=20, width=200, height=47)
    again = made.corrections[-1]
    assert again.kind == "restart"
    assert again.stitches_undone == sum(range(20, 37, 2)) == 252


@pytest.mark.parametrize(("shown", "kind"), [(260, "chains-out"), (215, "chains-in")])
def test_after_the_first_row_chains_go_in_or_out(shown: int, kind: str) -> None:
    panel = order("panel", SC, width=240, height=300)
    made = check(panel, "panel", 1, width=shown)
    (one,) = [c for c in made.corrections if c.kind == kind]
    assert one.go_on
    assert one.chains == abs(one.go_on.stitches - 38)
    assert one.stitches_undone == (one.chains if kind == "chains-out" else 0)
    assert f"{one.chains} " in one.text
    assert str(one.go_on.stitches) in one.text
    # Not after another row, and of no round.
    assert kind not in [c.kind for c in check(panel, "panel", 2, width=shown).corrections]
    tube = order("tube", SC, circumference=240, height=300)
    assert kind not in [c.kind for c in check(tube, "tube", 1, width=shown / 2).corrections]


def test_rows_that_change_with_the_chains_are_told_with_them() -> None:
    # The first row measures 10 mm, twice its 100/19: what is left of 300 mm is not 56 rows then.
    panel = order("panel", SC, width=240, height=300)
    for height in (None, Fraction(10)):
        made = check(panel, "panel", 1, **({"stitches": 37} if height is None else
                                           {"stitches": 37, "height": height}))  # fmt: skip
        (one,) = [c for c in made.corrections if c.kind == "chains-in"]
        assert bool(one.rows) is ("Then go on with panel:" in one.text) is (height is not None)
        for change in one.rows or ():
            word = "more" if change.change > 0 else "fewer"
            told = f"panel: {change.rows} rows for 57, {abs(change.change)} {word}."
            assert one.text.endswith(f"Then go on with {told}")


def test_one_chain_and_several_are_told_alike() -> None:
    panel = order("panel", SC, width=240, height=300)
    seen = set()
    for shown in range(222, 256):
        for one in check(panel, "panel", 1, width=shown).corrections:
            if one.chains is None:
                continue
            assert one.go_on
            more = one.go_on.stitches - 38
            assert (one.kind, one.chains) == ("chains-in" if more > 0 else "chains-out", abs(more))
            several = "" if abs(more) == 1 else "es"
            told = f"work {more} more stitch{several} that" if more > 0 else (
                f"Take back the last {-more} stitch{several} of the first row")  # fmt: skip
            assert told in one.text
            seen.add(more)
    # A stitch counted short is one chain in.
    (one,) = [c for c in check(panel, "panel", 1, stitches=37).corrections if c.chains]
    assert (one.kind, one.chains, one.stitches_undone) == ("chains-in", 1, 0)
    assert "work 1 more stitch that" in one.text
    assert {-2, -1, 2, 3} <= seen


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (1, [(1, "first row")]), (2, [(1, "first row"), (2, "end of the panel")]),
        (3, [(1, "first row"), (3, "end of the panel")]),
    ],
)  # fmt: skip
def test_a_tape_is_laid_after_the_first_row_and_at_the_end(
    rows: int, told: list[tuple[int, str]]
) -> None:
    made = piece(order("panel", FINE, width=100, height=5 * rows))
    assert [(c.after_row, c.where) for c in made.checkpoints] == told
    # Across 20 stitches of 5 mm; up only where the piece has come to something.
    assert all(c.width == 100 for c in made.checkpoints)
    assert [c.height for c in made.checkpoints] == [None, *[5 * rows] * (rows > 1)]
    # Three stitches are too few to lay a tape across, and four are not.
    for stitches, across in ((4, 20), (3, None)):
        end = piece(order("panel", FINE, width=5 * stitches, height=50)).checkpoints[-1]
        assert (end.width, end.height) == (across, 50)


@pytest.mark.parametrize(
    ("wanted", "had", "hook", "tried", "label", "up"),
    [
        # A tenth wider on 5 mm is 5.5 mm; narrower 4.5.
        (Fraction(66, 10), Fraction(6), Fraction(5), "5.5", "I-9", True),
        (Fraction(54, 10), Fraction(6), Fraction(5), "4.5", "7", False),
        # A hair wider is a size up all the same; a third wider on 6 mm is 8.
        (Fraction(601, 100), Fraction(6), Fraction(5), "5.5", "I-9", True),
        (Fraction(8), Fraction(6), Fraction(6), "8", "L-11", True),
        # Midway between 4.5 and 5 (on 5.5): the thinner; past the largest there is none.
        (Fraction(475, 550), Fraction(1), Fraction(11, 2), "4.5", "7", False),
        (Fraction(7), Fraction(6), Fraction(10), None, None, True),
        (Fraction(7), Fraction(6), None, None, None, True),
    ],
)  # fmt: skip
def test_a_hook_goes_the_way_of_the_stitch(
    wanted: Fraction, had: Fraction, hook: Fraction | None, tried: str | None, label: str | None,
    up: bool,
) -> None:  # fmt: skip
    step = hook_step(wanted, had, hook)
    assert step.try_hook == (None if tried is None else Fraction(tried))
    assert step.us_label == label
    assert step.stitch_percent == pytest.approx(float(100 * (wanted - had) / had))
    assert step.in_proportion == (None if hook is None else hook * wanted / had)
    text = hook_text(step, "metric")
    assert ("thicker" in text, "wider" in text) == (up, up)
    assert ("thinner" in text, "narrower" in text) == (not up, not up)
    assert ("Try" in text) is (tried is not None)
    assert tried is None or f"Try {tried} mm ({label} in the US) first." in text


def test_a_gauge_that_was_had_keeps_what_blocking_did() -> None:
    # 16 stitches of 6 mm and 19 rows of 5 mm; blocked 4 % wider and 2 % shorter than before.
    told = replace(SC, blocked_width=Fraction(104), blocked_height=Fraction(98))
    had = gauge_had(told, Fraction(6), Fraction(5))
    assert (had.width, had.height) == (96, 95)
    assert had.blocked_width == Fraction(96) * Fraction(104, 100)
    assert had.blocked_height == Fraction(95) * Fraction(98, 100)
    bare = gauge_had(SC, Fraction(6), Fraction(5))
    assert (bare.blocked_width, bare.blocked_height) == (None, None)


def test_an_opening_to_come_is_where_the_rows_below_it_put_it() -> None:
    # A slot 50 mm up, 10 rows of 5 mm below it. Of those 6 are worked and measure 36 mm, and the
    # other 4 are worked at the gauge that is then had; the swatch and the work say what that is.
    bag = Template(
        "bag", "Bag", (MeasurementPlan("up", "to the slot"),), FoundationPlan(stitches=30),
        (SectionPlan("bag", "even", rows=20),),
        openings=(OpeningPlan("slot", Term("up"), stitches=6),),
    )  # fmt: skip
    asked = PieceOrder(FINE, bag, {"up": Fraction(50)})
    made = check(asked, "bag", 6, height=36)
    row = made.gauge.row_height.combined
    assert made.finished_if_unchanged["up"].finished == 36 + 4 * row
    # Once it is passed, only what is below it counts: 10 of 15 rows that measure 90 mm.
    made = check(asked, "bag", 15, height=90)
    assert made.finished_if_unchanged["up"].finished == 60


@pytest.mark.parametrize(
    ("asked", "section", "row", "measured", "code", "permitted"),
    [
        (PLANS[0][0], "body", 20, {}, "nothing-measured",
         {"one_of": ["width", "height", "stitches"]}),
        (PLANS[0][0], "lid", 20, {"height": 9}, "unknown-section", ["body", "flap"]),
        (PLANS[0][0], "body", 58, {"height": 9}, "row-past-section",
         {"minimum": 1, "maximum": 57}),
        (PLANS[0][0], "flap", 57, {"height": 9}, "row-before-section", {"minimum": 58}),
        (PLANS[3][0], "base", 3, {"height": 30}, "flat-round", ["width", "stitches"]),
        (PLANS[3][0], "base", 3, {"stitches": 2}, "too-few-stitches", {"minimum": 3}),
        (order("panel", SC, width=19, height=300), "panel", 9, {"width": 19},
         "too-few-stitches", ["height", "stitches"]),
    ],
)  # fmt: skip
def test_what_a_tape_cannot_tell(
    asked: PieceOrder, section: str, row: int, measured: Any, code: str, permitted: object
) -> None:
    with pytest.raises(Refused) as refused:
        check(asked, section, row, **measured)
    assert (code, permitted) in [(r.code, r.permitted) for r in refused.value.refusals]


@pytest.mark.parametrize("row", [57, 58, 86])
def test_the_ends_of_a_section_are_in_it(row: int) -> None:
    section = "body" if row == 57 else "flap"
    made = check(PLANS[0][0], section, row, height=Fraction(100 * row, 19))
    assert made.course.on_course
    assert made.course.height
    assert made.course.height.difference == 0
    assert made.course.where.startswith("in the flap" if row == 58 else f"end of the {section}")


def test_what_is_as_far_off_as_may_be_is_on_course() -> None:
    # 57 rows are 300 mm: a twenty-fourth is 12.5 mm either way, and that is still on course.
    case = PLANS[0][0]
    for off, verdict in ((Fraction(25, 2), "on-course"), (Fraction(-25, 2), "on-course"),
                         (Fraction(126, 10), "over"), (Fraction(-126, 10), "under")):  # fmt: skip
        made = check(case, "body", 57, height=300 + off).course
        assert made.height
        assert made.height.verdict == verdict
    # A tape that reads to 20 mm can tell no less than that.
    read = Measured(height=Fraction(319), reading=Fraction(20))
    rough = gauge_check(GaugeCheckOrder(case, "body", 57, read))
    assert rough.course.on_course
    for stitches, verdict in ((38, "on-course"), (39, "over"), (37, "under")):
        assert check(case, "body", 57, stitches=stitches).course.stitches.verdict == verdict


def test_a_disc_read_across_tells_of_rows_and_stitches() -> None:
    # Ten rounds of 5 mm are 100 mm across; 110 mm are a tenth more of both.
    disc = order("disc", FINE, diameter=100)
    made = check(disc, "disc", 10, width=Fraction(63 * 5 * 11, 10) / Fraction(355, 113))
    assert made.gauge.row_height.work
    assert made.gauge.stitch_width.work
    assert float(made.gauge.row_height.work) == pytest.approx(5.5, rel=1e-3)
    assert float(made.gauge.stitch_width.work) == pytest.approx(5.5, rel=1e-3)
    # Laid flat, a wall tells of its stitches alone: 31.5 stitches of 5 mm are half of 63.
    cup = order("cup", FINE, diameter=100, height=50)
    made = check(cup, "wall", 14, width=Fraction(63 * 5 * 11, 20))
    assert made.gauge.row_height.work is None
    assert made.gauge.stitch_width.work == Fraction(55, 10)
    # With a stitch counted more, each is narrower.
    made = check(cup, "wall", 14, width=Fraction(63 * 5 * 11, 20), stitches=66)
    assert made.gauge.stitch_width.work == Fraction(55, 10) * 63 / 66
