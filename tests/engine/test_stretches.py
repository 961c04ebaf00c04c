"""Written shaping cut into straight stretches and spread anew, by hand.

Source of the spread: Sweater 101 (1991); of what is one stretch: common practice, no published
source: runs whose spaces and changes differ by at most one are one even spread in two rates.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from service.engine.ask_conversion import ConversionOrder, WrittenCount, conversions
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.respread import Stretch, flat_schedule, round_counts, stretches
from service.engine.rounding import Multiple
from service.engine.shaping import Rules, Run, row_counts
from service.engine.writtenwork import WrittenFoundation, WrittenRun, WrittenSection


def run(rows: int, every: int, times: int, left: int, right: int) -> WrittenRun:
    return WrittenRun(rows, every, times, left, right)


@pytest.mark.parametrize(
    ("left", "right", "edges"),
    [
        (-3, -3, "both"), (3, 3, "both"), (-3, -4, "both"), (4, 3, "both"), (1, 1, "both"),
        (-3, -5, None), (2, -2, None), (1, -1, None), (5, 3, None), (-1, 2, None),
        (-3, 0, "left"), (0, -3, "right"), (1, 0, "left"), (0, 1, "right"), (-1, 0, "left"),
    ],
)  # fmt: skip
def test_edges_that_are_shaped_alike(left: int, right: int, edges: str | None) -> None:
    assert Stretch(9, 9, left, right, 1).edges == edges


@pytest.mark.parametrize(
    ("runs", "ends"),
    [
        # The two-rate form: every 4th five times, then every 5th four times.
        ([run(20, 4, 5, -1, -1), run(20, 5, 4, -1, -1)], [(40, 22, -9, -9, 2)]),
        # On right-side rows the two rates are two rows apart.
        ([run(20, 4, 5, -1, -1), run(24, 6, 4, -1, -1)], [(44, 22, -9, -9, 2)]),
        # Of odd spaces no two lie two rows apart on one side of the work.
        ([run(15, 3, 5, -1, -1), run(20, 5, 4, -1, -1)],
         [(15, 30, -5, -5, 2), (35, 22, -4, -4, 2)]),
        ([run(20, 4, 5, -1, -1), run(28, 7, 4, -1, -1)],
         [(20, 30, -5, -5, 2), (48, 22, -4, -4, 2)]),
        # What is lost and what is gained, and what is even, are never one stretch.
        ([run(5, 1, 5, -1, -1), run(5, 1, 5, 1, 1)], [(5, 30, -5, -5, 2), (10, 40, 5, 5, 2)]),
        ([run(5, 1, 5, -1, -1), run(5, 1, 0, 0, 0)], [(5, 30, -5, -5, 2), (10, 30, 0, 0, 0)]),
        ([run(5, 1, 0, 0, 0), run(5, 1, 5, -1, -1)], [(5, 40, 0, 0, 0), (10, 30, -5, -5, 2)]),
        ([run(5, 1, 0, 0, 0), run(4, 1, 0, 0, 0)], [(9, 40, 0, 0, 0)]),
        # What is done no times is even, whatever it would have been.
        ([run(5, 1, 5, -1, -1), run(5, 1, 0, -1, -1)], [(5, 30, -5, -5, 2), (10, 30, 0, 0, 2)]),
        ([run(5, 1, 0, -1, -1), run(5, 1, 5, -1, -1)], [(5, 40, 0, 0, 2), (10, 30, -5, -5, 2)]),
        # A slant: one edge goes out as the other comes in. At two rates it is one; turned round,
        # it is another, however short.
        ([run(8, 4, 2, -1, 1), run(9, 3, 3, -1, 1)], [(17, 40, -5, 5, 0)]),
        ([run(8, 4, 2, -1, 1), run(8, 4, 2, 1, -1)], [(8, 40, -2, 2, 0), (16, 40, 2, -2, 0)]),
        ([run(4, 4, 1, -1, 1), run(4, 4, 1, 1, -1)], [(4, 40, -1, 1, 0), (8, 40, 1, -1, 0)]),
        ([run(4, 4, 1, -2, 1), run(4, 4, 1, 1, -2)], [(4, 39, -2, 1, 1), (8, 38, 1, -2, 1)]),
        # A stitch more at one edge in one row alone shares an odd change; twice is another shape.
        ([run(8, 2, 4, -1, -1), run(2, 2, 1, -1, 0)], [(10, 31, -5, -4, 2)]),
        ([run(2, 2, 1, 0, -1), run(8, 2, 4, -1, -1)], [(10, 31, -4, -5, 2)]),
        ([run(8, 2, 4, -1, -1), run(4, 2, 2, -1, 0)], [(8, 32, -4, -4, 2), (12, 30, -2, 0, 1)]),
        # The edges in turn.
        ([run(2, 2, 1, -1, 0), run(2, 2, 1, 0, -1)], [(4, 38, -1, -1, 1)]),
        ([run(4, 2, 2, -1, 0), run(4, 2, 2, 0, -1)], [(4, 38, -2, 0, 1), (8, 36, 0, -2, 1)]),
        # Two stitches a row against four are two rates; three against four are one spread.
        ([run(4, 2, 2, -1, -1), run(4, 2, 2, -2, -2)], [(4, 36, -2, -2, 2), (8, 28, -4, -4, 4)]),
        ([run(4, 2, 2, -2, -1), run(4, 2, 2, -2, -2)], [(8, 26, -8, -6, 4)]),
    ],
)  # fmt: skip
def test_runs_that_are_one_spread(runs: list[WrittenRun], ends: list[Any]) -> None:
    rows = sum(r.rows for r in runs)
    change = sum(r.times * r.total for r in runs)
    section = WrittenSection("side", rows, schedule=tuple(runs))
    made = stretches(40, 40 + change, section)
    assert [(s.row, s.stitches, s.left, s.right, s.fastest) for s in made] == ends
    # Rows past the schedule are worked even, and are a stretch of their own.
    longer = stretches(40, 40 + change, WrittenSection("side", rows + 6, schedule=tuple(runs)))
    assert longer[: len(made)] == made
    assert longer[len(made) :] == (Stretch(rows + 6, 40 + change, 0, 0, 0),)


@pytest.mark.parametrize(
    ("edges", "left", "right"), [("both", 5, 4), ("left", 9, 0), ("right", 0, 9)]
)
def test_a_section_with_no_schedule_is_one_stretch(edges: Any, left: int, right: int) -> None:
    # An odd change over both edges leaves the left one more to do.
    section = WrittenSection("side", 20, 39, edges=edges)
    assert stretches(30, 39, section) == (Stretch(20, 39, left, right, 0),)


def test_edges_shaped_unlike_are_each_spread_evenly() -> None:
    # Left 4 and right 2 of 12 rows: every 3rd row and every 6th, told together where they meet.
    made = flat_schedule((Stretch(12, 14, -4, -2, 1),), (20, 14), 12, Rules())
    assert made == (
        Run(3, 3, 1, -1, 0, 19), Run(3, 3, 1, -1, -1, 17), Run(3, 3, 1, -1, 0, 16),
        Run(3, 3, 1, -1, -1, 14),
    )  # fmt: skip
    # One goes out as the other comes in: a slant of 3 stitches, every 4th row.
    made = flat_schedule((Stretch(14, 20, -3, 3, 1),), (20, 20), 14, Rules())
    assert [*row_counts(20, 14, made)] == [20] * 14
    assert sum(r.left * r.times for r in made) == -3
    assert sum(r.right * r.times for r in made) == 3
    assert sum(r.rows for r in made) == 14
    # Of the seven right-side rows the 2nd, the 4th and the last: rows 3, 7 and 13. Row 14 is even.
    made = flat_schedule((Stretch(14, 20, -3, 3, 1),), (20, 20), 14, Rules(right_side_only=True))
    assert made == (
        Run(3, 3, 1, -1, 1, 20), Run(4, 4, 1, -1, 1, 20), Run(6, 6, 1, -1, 1, 20),
        Run(1, 1, 0, 0, 0, 20),
    )  # fmt: skip


def test_stretches_at_one_rate_are_told_as_one() -> None:
    # Five times every 2nd row, and five times more; then even, twice.
    parts = (Stretch(10, 30, -5, -5, 2), Stretch(20, 20, -5, -5, 2), Stretch(24, 20, 0, 0, 0),
             Stretch(30, 20, 0, 0, 0))  # fmt: skip
    made = flat_schedule(parts, (40, 30, 20, 20, 20), 30, Rules())
    assert made == (Run(20, 2, 10, -1, -1, 20), Run(10, 1, 0, 0, 0, 20))


def test_half_as_many_stitches_are_shared_by_unlike_edges_as_they_were() -> None:
    # 6 and 2 lost, at half the stitches: 3 and 1.
    made = flat_schedule((Stretch(12, 12, -6, -2, 1),), (10, 6), 12, Rules(), Fraction(1, 2))
    assert (sum(r.left * r.times for r in made), sum(r.right * r.times for r in made)) == (-3, -1)
    # Gained likewise: 2 and none, and the other way about none and 2.
    for left, right, share in ((7, 1, (2, 0)), (1, 7, (0, 2))):
        made = flat_schedule(
            (Stretch(12, 12, left, right, 1),), (3, 5), 12, Rules(), Fraction(1, 4)
        )
        assert (sum(r.left * r.times for r in made), sum(r.right * r.times for r in made)) == share
    # Half a stitch of the left's would go up to one; where no stitch changes in all, none does.
    for left, right in ((2, 4), (-2, -4)):
        assert not flat_schedule((Stretch(12, 9, left, right, 1),), (5, 5), 12, Rules(),
                                 Fraction(1, 4))  # fmt: skip
    # 7 and 1 at a quarter: 1.75 and a quarter, 2 in all; neither edge turns round.
    made = flat_schedule((Stretch(12, 12, -7, -1, 1),), (5, 3), 12, Rules(), Fraction(1, 4))
    assert (sum(r.left * r.times for r in made), sum(r.right * r.times for r in made)) == (-2, 0)


def test_stretches_keep_their_place_and_their_side_of_the_work() -> None:
    # 10 rows even and 10 that lose 5, over 30 rows: 15 even. Rows 16 .. 30 shape from there, and
    # right-side rows are odd: 5 of rows 17, 19 .. 29.
    parts = (Stretch(10, 15, 0, 0, 0), Stretch(20, 10, -5, 0, 1))
    made = flat_schedule(parts, (15, 15, 10), 30, Rules(right_side_only=True))
    counts = [*row_counts(15, 30, made)]
    shaped = [n for n, (a, b) in enumerate(zip([15, *counts], counts, strict=False), 1) if a != b]
    assert len(shaped) == 5
    assert all(n % 2 for n in shaped)
    assert min(shaped) > 15
    even = flat_schedule(parts, (15, 15, 10), 30, Rules(right_side_only=True,
                                                        starts_on_right_side=False))  # fmt: skip
    counts = [*row_counts(15, 30, even)]
    shaped = [n for n, (a, b) in enumerate(zip([15, *counts], counts, strict=False), 1) if a != b]
    assert not any(n % 2 for n in shaped)


@pytest.mark.parametrize(
    ("written", "counts", "rounds", "made"),
    [
        # 24 in 4 rounds from nothing: 6 a round.
        ((Stretch(4, 24, 0, 24, 6),), (0, 24), 4, [6, 12, 18, 24]),
        # Then 4 rounds even, all at half as many rounds again.
        ((Stretch(4, 24, 0, 24, 6), Stretch(8, 24, 0, 0, 0)), (0, 24, 24), 12,
         [4, 8, 12, 16, 20, 24, *[24] * 6]),
        # Fewer than three cannot go round.
        ((Stretch(3, 9, 0, 9, 3),), (0, 9), 9, [3, 3, 3, 4, 5, 6, 7, 8, 9]),
        ((Stretch(2, 12, 0, 6, 3), Stretch(4, 6, 0, -6, 3)), (6, 12, 6), 4, [9, 12, 9, 6]),
    ],
)  # fmt: skip
def test_rounds_are_spread_over_their_part(
    written: tuple[Stretch, ...], counts: tuple[int, ...], rounds: int, made: list[int]
) -> None:
    schedule, held = round_counts(written, counts, rounds)
    assert [*held] == made
    assert sum(r.rows for r in schedule) == rounds
    stitches = counts[0]
    for part in schedule:
        stitches += part.times * part.change
        assert part.stitches_after == stitches


def test_a_stretch_with_no_round_left_says_how_many_it_takes() -> None:
    with pytest.raises(Refused) as refused:
        round_counts((Stretch(1, 12, 0, 6, 6), Stretch(20, 12, 0, 0, 0)), (6, 12, 12), 4)
    assert refused.value.refusals[0].code == "shaping-does-not-fit"
    # With nothing to change no round is needed.
    _, held = round_counts((Stretch(1, 6, 0, 0, 0), Stretch(20, 12, 0, 6, 6)), (6, 6, 12), 4)
    assert held.last == 12


# Whole questions.


def asked(*sections: WrittenSection, stitches: int = 40, **more: Any) -> ConversionOrder:
    return ConversionOrder(
        more.pop("was", square(20, 20)), more.pop("now", square(10, 10)),
        foundation=WrittenFoundation(stitches=stitches), sections=sections, **more,
    )  # fmt: skip


def test_a_count_that_comes_to_nothing_is_one_and_says_so() -> None:
    # A stitch at a twentieth of the gauge is 0.05 of one.
    made = conversions(asked(stitches=1, now=square(1, 20)))
    assert made.foundation
    assert made.foundation.stitches == 1
    (caution,) = [c for c in made.cautions if c.code == "fewest-stitches"]
    assert "1 stitches as written are 0.05" in caution.text or "0.05" in caution.text
    assert caution.field == ("foundation", "stitches")
    assert not conversions(asked(stitches=40)).cautions
    # In the round three are the fewest: 5 at half the gauge are 2.5, and three; 4 are two.
    for stitches, narrow in ((6, False), (5, False), (4, True)):
        tube = conversions(asked(stitches=stitches, worked="round")).foundation
        told = conversions(asked(stitches=stitches, worked="round")).cautions
        assert tube
        assert tube.stitches == 3
        assert bool(told) is narrow


def test_a_point_stays_a_point_as_its_edges_allow() -> None:
    # 40 to 2 in 19 rows: at half the stitches 20 to 2; of 38 to 2, 19 to 1, since both edges lose
    # alike. At one edge a point is one stitch.
    flap = WrittenSection("flap", 19, 2, (run(19, 1, 19, -1, -1),))
    assert conversions(asked(flap, now=square(10, 20))).sections[0].stitches_at_end == 2
    flap = WrittenSection("flap", 18, 2, (run(18, 1, 18, -1, -1),))
    made = conversions(asked(flap, stitches=38, now=square(10, 20)))
    assert made.sections[0].stitches_at_end == 1
    flap = WrittenSection("flap", 39, 1, (run(39, 1, 39, -1, 0),))
    assert conversions(asked(flap, now=square(10, 20))).sections[0].stitches_at_end == 1
    # Two stitches of a very thick yarn are six of a fine one: no point any more.
    flap = WrittenSection("flap", 19, 2, (run(19, 1, 19, -1, -1),))
    made = conversions(asked(flap, was=square(10, 20), now=square(30, 20), max_change=6))
    assert made.sections[0].stitches_at_end == 6


def test_the_piece_in_all_is_as_wide_as_its_widest() -> None:
    # 40 grow to 60 and come back to 20, 5 mm each; at half as many stitches 30 of 10 mm.
    out = WrittenSection("out", 20, 60, (run(20, 2, 10, 1, 1),))
    back = WrittenSection("back", 40, 20, (run(40, 2, 20, -1, -1),))
    made = conversions(asked(out, back))
    ends = [(s.first_row, s.rows, s.stitches_at_start, s.stitches_at_end) for s in made.sections]
    assert ends == [(1, 10, 20, 30), (11, 20, 30, 10)]
    assert made.totals
    assert (made.totals.rows, made.totals.written_rows) == (30, 60)
    assert (made.totals.width.written, made.totals.width.finished) == (300, 300)
    assert (made.totals.height.written, made.totals.height.finished) == (300, 300)


@pytest.mark.parametrize(("most", "fits"), [(12, True), (11, False)])
def test_the_most_a_round_may_change_is_not_of_its_beginning(most: int, fits: bool) -> None:
    # Begun with 14 in a ring, then 12 more in a round, then 6: the largest change is 12.
    runs = tuple(WrittenRun(1, 1, 1, change=n) for n in (14, 12, 6))
    base = WrittenSection("base", 3, 32, runs)
    order = ConversionOrder(
        square(20, 20), square(20, 20), worked="round", max_change=most,
        foundation=WrittenFoundation(stitches=0), sections=(base,),
    )  # fmt: skip
    if fits:
        assert conversions(order).sections[0].stitches_at_end == 32
        return
    with pytest.raises(Refused) as refused:
        conversions(order)
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.permitted) == ("changes-too-many", {"minimum": 12})


def test_a_counted_multiple_is_kept_and_never_none() -> None:
    # 13 rows at a tenth: 1.3, and the fewest of multiples of 4 is 4.
    counts = (WrittenCount("repeat", "rows", 13, Multiple(4)),)
    made = conversions(ConversionOrder(square(20, 20), square(20, 2), counts=counts)).counts[0]
    assert made.converted == 4
    assert (made.sizes.written, made.sizes.finished) == (65, 200)


def test_a_waist_of_one_stitch_keeps_one_however_few_they_are() -> None:
    # 8 stitches go in to one and out to 9. At a quarter they are 2, a quarter of one, and 2.25:
    # 2, one and 2, for nothing cannot be worked over.
    waist = WrittenSection("waist", 8, 9, (run(3, 1, 3, -1, -1), run(1, 1, 1, -1, 0),
                                           run(4, 1, 4, 1, 1)))  # fmt: skip
    asked = ConversionOrder(square(16, 20), square(4, 20), foundation=WrittenFoundation(stitches=8),
                            sections=(waist,))  # fmt: skip
    (made,) = conversions(asked).sections
    counts = [made.stitches_at_start, *(r.stitches_after for r in made.schedule if r.times)]
    assert counts == [2, 1, 2]
