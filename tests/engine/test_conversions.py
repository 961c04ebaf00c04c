"""Counts from one gauge to another: published figures first, then what must hold of any."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.ask_conversion import ConversionOrder, WrittenCount, conversions
from service.engine.errors import Refused
from service.engine.gauge import Gauge, square
from service.engine.patterns import piece
from service.engine.rounding import Multiple
from service.engine.shaping import Rules, Run, plan, row_counts
from service.engine.units import FOUR_INCHES, MILLIMETRES, TEN_CM
from service.engine.wanting import Wanted
from service.engine.writtenwork import WrittenFoundation, WrittenRun, WrittenSection
from tests.pieces import order

IN = MILLIMETRES["in"]


def written(*runs: tuple[int, int, int, int, int]) -> tuple[WrittenRun, ...]:
    return tuple(WrittenRun(*run) for run in runs)


PLAIN = Rules()


def of_plan(start: int, end: int, rows: int, rules: Rules = PLAIN) -> tuple[WrittenRun, ...]:
    return tuple(
        WrittenRun(r.rows, r.every, r.times, r.left, r.right, None, r.stitches_after)
        for r in plan(start, end, rows, rules)
    )


CASE = (
    WrittenSection("body", 57),
    WrittenSection("flap", 18, 2, written((18, 1, 18, -1, -1))),
)


@pytest.mark.parametrize(
    ("count", "was", "now", "converted", "source"),
    [
        # 20 stitches told, 22 made in their width: 40 in would come out 36.36; 44 for 40 the other
        # way about. Counts for the same 40 in go by 22/20.
        (200, square(20, 20, FOUR_INCHES), square(22, 20, FOUR_INCHES), 220,
         "facts of gauge: 22 for 20 (read); 200 x 22/20 by hand"),
        # 14 sc to 4 in against 13 sc to 4 in, both published for weight 4: 70 x 13/14 = 65.
        (70, square(14, 16, FOUR_INCHES), square(13, 14, FOUR_INCHES), 65, "published gauges"),
        # hdc 13 to 4 in to hdc 14 to 10 cm: 13 x 10.16/10 x 14/13 over 100: 100 x 14 x 1.016/13
        # = 109.4.
        (100, square(13, 9, FOUR_INCHES), square(14, 10), 109, "published; 4 in is 10.16 cm"),
        # 20 to 4 in against 20 to 10 cm: 1.6 % apart, so 250 are 254.
        (250, square(20, 20, FOUR_INCHES), square(20, 20), 254, "4 in and 10 cm differ by 1.6 %"),
        (3, square(16, 19), square(8, 19), 2, "1.5 by hand: ties go up"),
        (1, square(16, 19), square(4, 19), 1, "0.25 by hand: there is at least one"),
    ],
)  # fmt: skip
def test_a_count_at_another_gauge(
    count: int, was: Gauge, now: Gauge, converted: int, source: str
) -> None:
    asked = ConversionOrder(was, now, counts=(WrittenCount("flap", "stitches", count),))
    assert conversions(asked).counts[0].converted == converted, source


def test_what_happens_to_a_size_when_counts_are_kept() -> None:
    # Published worked example: 22 stitches for 20 turn 40 in into 44. A maker whose width for 20
    # stitches is that of the pattern's 22 makes everything a tenth wider.
    made = conversions(
        ConversionOrder(
            square(22, 20, FOUR_INCHES), square(20, 20, FOUR_INCHES),
            counts=(WrittenCount("band", "stitches", 220),),
        )
    )  # fmt: skip
    assert made.factors
    assert made.factors.width_if_unchanged_percent == pytest.approx(10)
    # 220 stitches at 22 to 4 in are 40 in; unchanged at 20 to 4 in they are 44 in.
    assert made.counts[0].sizes.written == 40 * IN
    assert 220 * square(20, 20, FOUR_INCHES).stitch_width == 44 * IN
    # 4 in against 10 cm, in per cent: 1.6.
    same = ConversionOrder(square(20, 20), square(20, 20, FOUR_INCHES),
                           counts=(WrittenCount("band", "stitches", 9),))  # fmt: skip
    factors = conversions(same).factors
    assert factors
    assert factors.width_if_unchanged_percent == pytest.approx(1.6)


def test_the_desk_case_at_a_looser_gauge() -> None:
    # By hand: 38 x 14/16 = 33.25 → 33; 57 x 17/19 = 51; 18 x 17/19 = 16.1 → 16; a point of 33 is 1.
    asked = ConversionOrder(
        square(16, 19), square(14, 17), foundation=WrittenFoundation(39, 38), sections=CASE
    )
    made = conversions(asked)
    assert made.foundation
    assert (made.foundation.chain, made.foundation.stitches) == (34, 33)
    assert [(s.rows, s.stitches_at_end) for s in made.sections] == [(51, 33), (16, 1)]
    assert made.sections[1].in_words == "decrease 1 stitch at each edge every row 16 times"
    assert made.sections[0].sizes.height.difference == 0


def test_the_turning_chain_follows_the_stitch() -> None:
    # All-in-one handbook: hdc turns with 2 that count, so n stitches are chain n + 1.
    hdc = square(16, 12, stitch="half-double-crochet")
    asked = ConversionOrder(square(16, 19), hdc, foundation=WrittenFoundation(39))
    made = conversions(asked).foundation
    assert made
    assert (made.written_chain, made.stitches, made.chain) == (39, 38, 39)
    assert (made.turning_chain, made.turning_chain_counts, made.first_stitch_in_chain) == (
        2,
        True,
        3,
    )
    one = conversions(replace(asked, new_turning=(1, False))).foundation
    assert one
    assert (one.chain, one.first_stitch_in_chain) == (39, 2)


def test_multiples_are_kept() -> None:
    # 41 = 4 x 10 + 1. By hand 41 x 14/16 = 35.875, nearest of 33, 37 is 37; 30 rows x 17/19 = 26.8,
    # of multiples of 6 nearest is 24 or 30: 26.8 is nearer 24.
    asked = ConversionOrder(
        square(16, 19), square(14, 17), foundation=WrittenFoundation(stitches=41),
        sections=(WrittenSection("body", 30),),
        stitch_multiple=Multiple(4, 1), row_multiple=Multiple(6),
    )  # fmt: skip
    made = conversions(asked)
    assert made.foundation
    assert made.foundation.stitches == 37
    assert made.sections[0].rows == 24
    up = conversions(replace(asked, rounding="at-least"))
    assert up.foundation
    assert (up.foundation.stitches, up.sections[0].rows) == (37, 30)


def test_a_shape_of_several_rates_is_kept() -> None:
    # Ten decreases in ten rows and twenty rows even, at half as many again of both: 15 in 15 and
    # 30 even, and never 15 over 45.
    shoulder = WrittenSection("shoulder", 30, None, written((10, 1, 10, 0, -1), (20, 1, 0, 0, 0)))
    made = conversions(
        ConversionOrder(square(20, 20), square(30, 30),
                        foundation=WrittenFoundation(stitches=40), sections=(shoulder,))
    ).sections[0]  # fmt: skip
    assert [(r.rows, r.every, r.times, r.stitches_after) for r in made.schedule] == [
        (15, 1, 15, 45), (30, 1, 0, 45),
    ]  # fmt: skip


def test_edges_shaped_unlike_stay_unlike() -> None:
    # Left 6, right 2 in 12 rows; at twice the gauge 12 and 4 in 24 rows.
    side = WrittenSection("side", 12, None, written((12, 3, 4, -1, 0), (0 + 2, 1, 2, -1, -1)))
    side = replace(side, rows=14)
    made = conversions(
        ConversionOrder(square(10, 10), square(20, 20),
                        foundation=WrittenFoundation(stitches=20), sections=(side,))
    ).sections[0]  # fmt: skip
    assert sum(r.left * r.times for r in made.schedule if hasattr(r, "left")) == -12
    assert sum(r.right * r.times for r in made.schedule if hasattr(r, "right")) == -4
    assert made.stitches_at_end == 24


@pytest.mark.parametrize(
    ("left", "right", "gauge", "runs", "end"),
    [
        # Source: arithmetic. The edges lean: one gives what the other takes, and the count stays.
        (-1, 1, (10, 10), [(10, 1, 10, -1, 1)], 20),
        (1, -1, (10, 20), [(20, 2, 10, 1, -1)], 20),
        (-2, 2, (10, 10), [(10, 1, 10, -2, 2)], 20),
        # One edge takes two where the other gives one: ten stitches more in all.
        (-1, 2, (10, 10), [(10, 1, 10, -1, 2)], 30),
    ],
)
def test_a_piece_that_leans(
    left: int, right: int, gauge: tuple[int, int], runs: list[tuple[int, ...]], end: int
) -> None:
    lean = WrittenSection("lean", 10, None, written((10, 1, 10, left, right)))
    made = conversions(
        ConversionOrder(square(10, 10), square(*gauge),
                        foundation=WrittenFoundation(stitches=20), sections=(lean,))
    ).sections[0]  # fmt: skip
    assert [(r.rows, r.every, r.times, r.left, r.right) for r in made.schedule] == runs  # type: ignore[union-attr]
    assert made.stitches_at_end == end


_SHAPED = st.tuples(
    st.integers(1, 4), st.integers(1, 6), st.sampled_from((-3, -2, -1, 1, 2, 3)), st.integers(-3, 3)
).map(lambda r: (r[0] * r[1], *r))
_EVEN = st.integers(1, 12).map(lambda rows: (rows, 1, 0, 0, 0))


@settings(max_examples=200)
@given(
    st.lists(_SHAPED | _EVEN, min_size=1, max_size=4),
    st.integers(6, 30), st.integers(6, 30), st.sampled_from((None, None, 2, 3)), st.booleans(),
)  # fmt: skip
def test_whatever_is_written_is_spread_whole_or_refused(
    runs: list[tuple[int, int, int, int, int]],
    stitches: int,
    rows: int,
    most: int | None,
    right_side: bool,
) -> None:
    # Source: arithmetic. The runs add up to the rows, and their changes to the change of count.
    section = WrittenSection("side", sum(run[0] for run in runs), None, written(*runs))
    asked = ConversionOrder(square(16, 16), square(stitches, rows), max_change=most,
                            foundation=WrittenFoundation(stitches=60), sections=(section,),
                            right_side_only=right_side)  # fmt: skip
    try:
        answer = conversions(asked)
    except Refused:
        return
    made, start = answer.sections[0], answer.foundation
    assert start
    stitches_now = start.stitches
    for run in made.schedule:
        assert isinstance(run, Run)
        assert run.rows >= run.every * run.times
        stitches_now += run.times * (run.left + run.right)
        assert run.stitches_after == stitches_now
    assert stitches_now == made.stitches_at_end
    assert sum(run.rows for run in made.schedule) in (0, made.rows)


def test_in_the_round() -> None:
    # 6 a round for 7 rounds, the trade's flat disc in single crochet; at a gauge half as fine again
    # both ways, 63 in 10.5 → 11 rounds: 63 x 1/11 a round, by hand 5 or 6.
    base = WrittenSection("base", 7, 42, (WrittenRun(7, 1, 7, change=6, stitches_after=42),))
    made = conversions(
        ConversionOrder(square(16, 16), square(24, 24), worked="round",
                        foundation=WrittenFoundation(stitches=0),
                        sections=(base, WrittenSection("wall", 20)), detail="rows")
    )  # fmt: skip
    assert made.foundation
    assert made.foundation.chain is None
    assert [(s.rows, s.stitches_at_end) for s in made.sections] == [(11, 63), (30, 63)]
    counts = made.sections[0].row_counts
    assert counts
    assert counts == tuple((2 * 63 * i + 11) // 22 for i in range(1, 12))


@pytest.mark.parametrize(
    ("foundation", "sections", "pointer", "code", "permitted"),
    [
        (WrittenFoundation(40, 38), (), ("foundation", "chain"), "chain-disagrees",
         {"chain": 39, "stitches": 39}),
        (WrittenFoundation(), (), ("foundation",), "no-foundation-count",
         {"one_of": ["stitches", "chain"]}),
        (WrittenFoundation(1), (), ("foundation",), "foundation-too-small", {"stitches": 1}),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 18, 4, written((18, 1, 18, -1, -1))),),
         ("sections", 0, "stitches_at_end"), "schedule-disagrees", {"stitches_at_end": 2}),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 17, 2, written((18, 1, 18, -1, -1))),),
         ("sections", 0, "rows"), "schedule-disagrees", {"rows": 18}),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 20, None, written((20, 1, 18, -1, -1))),),
         ("sections", 0, "schedule", 0, "rows"), "schedule-disagrees", {"rows": 18}),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 20, None, (WrittenRun(18, 1, 18, -1, -1, None, 3),)),),
         ("sections", 0, "schedule", 0, "stitches_after"), "schedule-disagrees",
         {"stitches_after": 2}),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 20, None, written((19, 1, 19, -1, -1))),),
         ("sections", 0, "schedule", 0), "schedule-out-of-range", {"minimum": 1}),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 20, None, (WrittenRun(2, 1, 2, change=-1),)),),
         ("sections", 0, "schedule", 0, "change"), "wrong-edge", ["left", "right"]),
        (WrittenFoundation(stitches=38),
         (WrittenSection("flap", 20, None, (WrittenRun(2, 1, 0, -1),)),),
         ("sections", 0, "schedule", 0, "times"), "schedule-disagrees", {"minimum": 1}),
    ],
)  # fmt: skip
def test_what_does_not_add_up_is_told(
    foundation: WrittenFoundation, sections: tuple[WrittenSection, ...], pointer: tuple[str | int],
    code: str, permitted: object,
) -> None:  # fmt: skip
    asked = ConversionOrder(
        square(16, 19), square(14, 17), foundation=foundation, sections=sections
    )
    with pytest.raises(Refused) as refused:
        conversions(asked)
    (refusal,) = refused.value.refusals
    assert (refusal.path, refusal.code, refusal.permitted) == (pointer, code, permitted)


def test_a_flap_that_cannot_fit_names_what_would() -> None:
    # 38 to 2 in 18 sc rows; hdc at 10 rows to 10 cm has 9 rows for it, which reach 15 of 33.
    asked = ConversionOrder(
        square(16, 19), square(14, 10, stitch="half-double-crochet"),
        foundation=WrittenFoundation(39), sections=CASE,
    )  # fmt: skip
    with pytest.raises(Refused) as refused:
        conversions(asked)
    (refusal,) = refused.value.refusals
    assert refusal.path == ("sections", 1, "rows")
    told = refusal.permitted
    assert isinstance(told, dict)
    assert (told["minimum_rows"], told["rows_given"], told["nearest_stitches"]) == (16, 9, 15)
    most = told["max_change"]
    assert isinstance(most, int)
    assert conversions(replace(asked, max_change=most)).sections[1].stitches_at_end == 1
    with pytest.raises(Refused):  # and no less would do
        conversions(replace(asked, max_change=most - 1))
    plain = replace(asked, sections=(CASE[0], WrittenSection("flap", 18, 2)))
    with pytest.raises(Refused) as refused:
        conversions(plain)
    told = refused.value.refusals[0].permitted
    assert isinstance(told, dict)
    rows = told["written_rows"]
    assert isinstance(rows, int)
    for tried, fits in ((rows, True), (rows - 1, False)):
        again = replace(plain, sections=(CASE[0], WrittenSection("flap", tried, 2)))
        if fits:
            assert conversions(again).sections[1].rows == told["minimum_rows"]
        else:
            with pytest.raises(Refused):
                conversions(again)


def test_past_the_most_there_is() -> None:
    # 10 times as fine: 1,001 stitches would be 10,010, past 10,000; what is permitted works.
    asked = ConversionOrder(square(4, 4), square(40, 40),
                            foundation=WrittenFoundation(stitches=1001))  # fmt: skip
    with pytest.raises(Refused) as refused:
        conversions(asked)
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.permitted) == ("too-many", {"maximum": 1000})
    fits = conversions(replace(asked, foundation=WrittenFoundation(stitches=1000)))
    assert fits.foundation
    assert fits.foundation.stitches == 10_000


def test_no_more_rows_than_are_reckoned() -> None:
    # 600 rows at ten times the rows are 6,000; two such sections are past 10,000.
    two = (WrittenSection("body", 600), WrittenSection("flap", 600))
    asked = ConversionOrder(square(4, 4), square(4, 40), sections=two,
                            foundation=WrittenFoundation(stitches=9))  # fmt: skip
    with pytest.raises(Refused) as refused:
        conversions(asked)
    assert [(r.code, r.path) for r in refused.value.refusals] == [("too-many-rows", ("sections",))]


def test_right_side_rows_only() -> None:
    # 10 decreases on right-side rows, 1, 3, ... 19, of 20; at half the gauge 5 in 10 rows.
    flap = WrittenSection("flap", 20, None, of_plan(30, 10, 20, Rules(right_side_only=True)))
    made = conversions(
        ConversionOrder(square(20, 20), square(10, 10), right_side_only=True, detail="rows",
                        foundation=WrittenFoundation(stitches=30), sections=(flap,))
    ).sections[0]  # fmt: skip
    assert made.row_counts == (13, 13, 11, 11, 9, 9, 7, 7, 5, 5)


# The inverse: which gauge, which way the hook goes.


@pytest.mark.parametrize(
    ("width", "height", "needed", "hook", "first"),
    [
        # 38 x 57 at 16 x 19 are 23.75 x 30 cm. Wanted over now by hand.
        (Fraction(250), None, 15.2, "larger", 5.5),  # 16 x 23.75/25
        (Fraction(200), None, 19.0, "smaller", 4.5),  # 16 x 23.75/20
        (Fraction(2375, 10), None, 16.0, "same", None),
        (Fraction(240), None, 16 * 23.75 / 24, "same", None),  # within half a stitch, 3.1 mm
        (Fraction(260), Fraction(270), 16 * 23.75 / 26, "opposite", 5.5),
        (Fraction(260), Fraction(330), 16 * 23.75 / 26, "larger", 5.5),
    ],
)
def test_the_gauge_that_gives_the_wanted_size(
    width: Fraction, height: Fraction | None, needed: float, hook: str, first: float | None
) -> None:
    asked = ConversionOrder(
        square(16, 19), None, Wanted(width, height, Fraction(5)),
        foundation=WrittenFoundation(stitches=38), sections=CASE[:1],
    )  # fmt: skip
    made = conversions(asked)
    assert made.needed
    assert made.needed.stitches
    assert made.needed.stitches.needed == pytest.approx(needed)
    assert made.needed.hook == hook
    assert [float(h.diameter) for h in made.needed.hooks_to_try][:1] == ([first] if first else [])
    assert [c.code for c in made.cautions] == (["gauges-pull-apart"] if hook == "opposite" else [])
    assert made.needed.source == "common-practice"
    # At the gauge that is needed, the counts come to the size that is wanted.
    assert 38 * TEN_CM / Fraction(made.needed.stitches.needed) == pytest.approx(float(width))


# What must hold of any.

gauges = st.builds(square, st.integers(6, 40), st.integers(6, 40))
tapers = st.tuples(st.integers(1, 80), st.integers(1, 80), st.integers(1, 120))


@given(gauges, tapers, tapers)
def test_a_gauge_to_itself_changes_nothing(
    gauge: Gauge, first: tuple[int, int, int], second: tuple[int, int, int]
) -> None:
    (start, middle, rows), (_, end, more) = first, second
    rows, more = max(rows, abs(start - middle)), max(more, abs(middle - end))
    sections = (
        WrittenSection("body", rows, middle, of_plan(start, middle, rows)),
        WrittenSection("neck", more, end, of_plan(middle, end, more)),
    )
    made = conversions(
        ConversionOrder(gauge, gauge, foundation=WrittenFoundation(stitches=start),
                        sections=sections)
    )  # fmt: skip
    assert made.foundation
    assert made.foundation.stitches == start
    for section, (a, b, n) in zip(
        made.sections, ((start, middle, rows), (middle, end, more)), strict=True
    ):
        assert (section.stitches_at_start, section.stitches_at_end, section.rows) == (a, b, n)
        assert section.schedule == plan(a, b, n)
        assert section.sizes.height.difference == section.sizes.width_at_end.difference == 0


@given(gauges, gauges, st.integers(1, 150), st.integers(1, 300), st.integers(1, 6))
def test_there_and_back_is_within_what_rounding_can_do(
    a: Gauge, b: Gauge, stitches: int, rows: int, multiple: int
) -> None:
    def to(was: Gauge, now: Gauge, n: int, of: int) -> tuple[int, int]:
        asked = ConversionOrder(
            was, now, foundation=WrittenFoundation(stitches=n * multiple),
            sections=(WrittenSection("body", of),), stitch_multiple=Multiple(multiple),
        )  # fmt: skip
        made = conversions(asked)
        assert made.foundation
        if made.foundation.stitches > multiple:  # one repeat is the fewest there are
            off = abs(made.foundation.width.difference)
            assert off <= Fraction(multiple, 2) * now.stitch_width
        if made.sections[0].rows > 1:
            assert abs(made.sections[0].sizes.height.difference) <= now.row_height / 2
        return made.foundation.stitches // multiple, made.sections[0].rows

    there = to(a, b, stitches, rows)
    if there[0] == 1 or there[1] == 1:
        return
    back = to(b, a, *there)
    # Half a multiple at B, told in A, and half a multiple at A again.
    ratio = b.stitch_width / a.stitch_width
    assert abs(back[0] - stitches) <= ratio / 2 + Fraction(1, 2)
    assert abs(back[1] - rows) <= b.row_height / a.row_height / 2 + Fraction(1, 2)


@given(gauges, gauges, tapers, st.fractions(Fraction(1, 10), 10))
def test_counts_do_not_depend_on_the_unit(
    a: Gauge, b: Gauge, taper: tuple[int, int, int], scale: Fraction
) -> None:
    start, end, rows = taper
    asked = ConversionOrder(a, b, foundation=WrittenFoundation(stitches=start), max_change=100,
                            sections=(WrittenSection("flap", rows, end),))  # fmt: skip

    def scaled(g: Gauge) -> Gauge:
        return replace(g, width=g.width * scale, height=g.height * scale)

    def counts(order: ConversionOrder) -> object:
        try:
            made = conversions(order)
        except Refused as refused:
            return [(r.code, r.path) for r in refused.refusals]
        return made.foundation and made.foundation.chain, [
            (s.rows, s.stitches_at_end, s.schedule) for s in made.sections
        ]

    both = replace(asked, written_at=scaled(a), to=scaled(b))
    assert counts(asked) == counts(both)


@settings(max_examples=60, deadline=None)
@given(gauges, gauges, st.integers(40, 400), st.integers(40, 400), st.integers(100, 900))
def test_a_piece_converted_agrees_with_the_piece_sized_there(
    a: Gauge, b: Gauge, bottom: int, top: int, height: int
) -> None:
    """A trapezoid sized at A and converted, against one sized at B to what A's came to.

    The lengths are the same, so that every count is the same, and so is every row.
    """
    sizes = {"bottom_width": bottom, "top_width": top, "height": height}
    try:
        was = piece(order("trapezoid", a, **sizes))
        finished = {name: m.finished for name, m in was.measurements.items()}
        there = piece(order("trapezoid", b, **finished))
    except Refused:
        return
    assert was.foundation
    (section,) = was.sections
    runs = tuple(
        WrittenRun(r.rows, r.every, r.times, r.left, r.right)  # type: ignore[union-attr]
        for r in section.schedule
    )
    made = conversions(
        ConversionOrder(
            a, b, foundation=WrittenFoundation(was.foundation.chain, was.foundation.stitches),
            sections=(WrittenSection(section.name, section.rows, section.stitches_at_end, runs),),
        )
    )  # fmt: skip
    assert made.foundation
    assert there.foundation
    assert made.foundation.chain == there.foundation.chain
    (ours,), (theirs,) = made.sections, there.sections
    assert ours.rows == theirs.rows
    # A point is kept as one, which a trapezoid does not know of: there a count may differ by one.
    pointed = section.stitches_at_end <= 2 and theirs.stitches_at_end <= 2
    assert abs(ours.stitches_at_end - theirs.stitches_at_end) <= pointed
    # A taper of one stitch does not tell whether one edge or both are meant: it is kept at the one.
    told = abs(section.stitches_at_end - section.stitches_at_start) != 1
    if told and not pointed:
        mine, other = (
            list(row_counts(s.stitches_at_start, s.rows, s.schedule))  # type: ignore[arg-type]
            for s in (ours, theirs)
        )
        assert mine == other


@given(gauges, gauges, st.data())
def test_any_schedule_converts_to_one_that_adds_up(a: Gauge, b: Gauge, data: st.DataObject) -> None:
    """What is answered is written again: it must come to what it says, by the same check."""
    steps = st.tuples(st.integers(1, 5), st.integers(0, 6), st.integers(-2, 2), st.integers(-2, 2))
    runs, stitches = [], 40
    for every, times, left, right in data.draw(st.lists(steps, min_size=1, max_size=6)):
        if not times or not left + right:
            runs.append(WrittenRun(every))
        elif stitches + times * (left + right) >= 1:
            stitches += times * (left + right)
            runs.append(WrittenRun(every * times, every, times, left, right))
    if not runs:
        return
    section = WrittenSection("flap", sum(r.rows for r in runs), stitches, tuple(runs))
    asked = ConversionOrder(a, b, foundation=WrittenFoundation(stitches=40), sections=(section,),
                            max_change=100)  # fmt: skip
    try:
        made = conversions(asked)
    except Refused as refused:
        if any(r.code != "shaping-does-not-fit" for r in refused.refusals):
            raise
        return
    (ours,) = made.sections
    again = tuple(
        WrittenRun(r.rows, r.every, r.times, r.left, r.right, None, r.stitches_after)  # type: ignore[union-attr]
        for r in ours.schedule
    )
    assert made.foundation
    same = conversions(
        ConversionOrder(b, b, foundation=WrittenFoundation(stitches=made.foundation.stitches),
                        max_change=100,
                        sections=(WrittenSection("flap", ours.rows, ours.stitches_at_end, again),))
    )  # fmt: skip
    assert same.sections[0].stitches_at_end == ours.stitches_at_end


@given(gauges, gauges, st.sampled_from((0, 6, 40)), st.data())
def test_rounds_come_to_what_they_say(a: Gauge, b: Gauge, start: int, data: st.DataObject) -> None:
    steps = st.tuples(st.integers(1, 4), st.integers(1, 5), st.integers(-6, 8))
    runs, stitches = [], start
    for every, times, change in data.draw(st.lists(steps, min_size=1, max_size=5)):
        if change and stitches + times * change >= 3:
            stitches += times * change
            runs.append(WrittenRun(every * times, every, times, change=change))
        elif stitches:
            runs.append(WrittenRun(every))
    if not stitches:
        return
    rows = sum(r.rows for r in runs)
    section = WrittenSection("base", rows, stitches, tuple(runs))
    asked = ConversionOrder(a, b, worked="round", foundation=WrittenFoundation(stitches=start),
                            sections=(section,), detail="rows")  # fmt: skip
    try:
        (made,) = conversions(asked).sections
    except Refused as refused:
        if any(r.code != "shaping-does-not-fit" for r in refused.refusals):
            raise
        return
    assert made.row_counts
    assert len(made.row_counts) == made.rows
    assert made.row_counts[-1] == made.stitches_at_end
    assert min(made.row_counts) >= 3  # a ring of fewer cannot be worked round
    assert sum(run.rows for run in made.schedule) in (0, made.rows)
    if a == b:
        assert made.stitches_at_end == stitches


@given(gauges, gauges, st.integers(1, 20), st.integers(1, 20), st.integers(1, 40))
def test_the_end_of_each_stretch_stays_where_it_was(
    a: Gauge, b: Gauge, decreases: int, even: int, every: int
) -> None:
    """Decreases, then even rows: the neck begins where it did, to what a row and a stitch can."""
    runs = written((every * decreases, every, decreases, 0, -1), (even, 1, 0, 0, 0))
    section = WrittenSection("neck", every * decreases + even, None, runs)
    asked = ConversionOrder(a, b, foundation=WrittenFoundation(stitches=decreases + 10),
                            sections=(section,), max_change=100)  # fmt: skip
    try:
        (made,) = conversions(asked).sections
    except Refused as refused:
        if any(r.code != "shaping-does-not-fit" for r in refused.refusals):
            raise
        return
    if not made.schedule:
        return
    last = made.schedule[-1]
    rows = made.rows - (last.rows if not last.times else 0)
    # Half a row of the section, and half a row of the stretch, both at the new gauge.
    off = rows * b.row_height - every * decreases * a.row_height
    assert abs(off) <= b.row_height
    assert abs(made.sizes.width_at_end.difference) <= b.stitch_width / 2
