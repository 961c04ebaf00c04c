"""What is on the hook already, row by row by hand: where a miscount is taken to have begun.

Source: common practice, no published source: stitches differ since the last row that was shaped,
or since the start where none was. The counts are by hand.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from service.api.builtins import TEMPLATES
from service.engine.beginning import begin, left_of, stitches_of
from service.engine.continuing import ContinueOrder
from service.engine.counting import Scale
from service.engine.errors import Refused
from service.engine.foundation import Turning
from service.engine.gauge import square
from service.engine.roundbegun import begin_rounds, joined, rounds_left
from service.engine.rounds import Counts
from service.engine.roundsizing import build_rounds
from service.engine.schedules import clip, runs_of
from service.engine.sections import Section, build
from service.engine.shaping import Run, row_counts
from service.engine.templates import SectionPlan

# Stitches and rows of 5 mm.
FINE = square(20, 20)
SCALE = Scale(Fraction(5), Fraction(5))
# Ten rounds flat, 100 mm across (2 pi n stitches in round n, to the nearest), then straight up.
FLAT = [6, 13, 19, 25, 31, 38, 44, 50, 57, 63]


CUP = build_rounds(
    TEMPLATES["cup"],  # type: ignore[arg-type]
    {"diameter": Fraction(100), "height": Fraction(50)}, Turning(1, False), SCALE,
)  # fmt: skip


@pytest.mark.parametrize(
    ("row", "stitches", "rounds"),
    [
        (14, None, [*FLAT, 63, 63, 63, 63]),
        (14, 63, [*FLAT, 63, 63, 63, 63]),
        # Round 10 was the last to change the number: two too many have been there since.
        (14, 65, [*FLAT[:-1], 65, 65, 65, 65, 65]),
        (14, 60, [*FLAT[:-1], 60, 60, 60, 60, 60]),
        # In the base every round changes it: the round in hand alone.
        (4, 27, [6, 13, 19, 27]),
        (1, 5, [5]),
        (1, 3, [3]),
        # More rounds than were planned are worked on the last count.
        (22, 63, [*FLAT, *[63] * 12]),
    ],
)
def test_rounds_worked(row: int, stitches: int | None, rounds: list[int]) -> None:
    order = ContinueOrder("base" if row <= 10 else "wall", row, stitches=stitches)
    begun = begin_rounds(order, CUP, FINE)
    made = [n for part in (*begun.whole, begun.hand) for n in part]
    assert made == rounds
    assert (begun.rows, begun.stitches, begun.total) == (row, rounds[-1], sum(rounds))
    # 5 mm a round, of which the tape reads the same.
    assert (begun.height, begun.tape) == (5 * row, 5 * row)
    assert begun.start == CUP.start


def test_fewer_than_three_cannot_go_round() -> None:
    with pytest.raises(Refused) as refused:
        begin_rounds(ContinueOrder("base", 1, stitches=2), CUP, FINE)
    (refusal,) = refused.value.refusals
    assert (refusal.path, refusal.permitted) == (("continue_after", "stitches"), {"minimum": 3})


@pytest.mark.parametrize(
    ("rows", "stitches", "start"),
    [
        # 200 mm round are 40 stitches; 38 on the hook all the way are a chain of 38.
        (7, 38, 38), (7, 40, 40), (7, None, 40), (1, 43, 43),
    ],
)  # fmt: skip
def test_a_tube_that_never_changed_was_begun_with_what_is_on_the_hook(
    rows: int, stitches: int | None, start: int
) -> None:
    tube = build_rounds(
        TEMPLATES["tube"], {"circumference": Fraction(200), "height": Fraction(100)},  # type: ignore[arg-type]
        Turning(1, False), SCALE,
    )  # fmt: skip
    begun = begin_rounds(ContinueOrder("tube", rows, stitches=stitches), tube, FINE)
    assert (begun.start.stitches, begun.start.chain) == (start, start)
    assert [*begun.hand] == [start] * rows


def test_a_cone_that_changed_was_begun_as_planned() -> None:
    # Three rounds of 31 mm at each side, and nothing of the first chain is in doubt.
    cone = build_rounds(
        TEMPLATES["cone"], {"base_diameter": Fraction(60), "height": Fraction(60)},  # type: ignore[arg-type]
        Turning(1, False), SCALE,
    )  # fmt: skip
    planned = [*cone.counts[0]]
    begun = begin_rounds(ContinueOrder("cone", 4, stitches=planned[3] + 2), cone, FINE)
    assert begun.start == cone.start
    assert begun.hand.last == planned[3] + 2
    changed = max(i for i in range(1, 4) if planned[i] != planned[i - 1])
    assert [*begun.hand] == planned[:changed] + [planned[3] + 2] * (4 - changed)


def test_a_height_that_a_tape_reads_is_shared_by_the_rounds() -> None:
    # 14 rounds measure 84 mm: 6 mm each, and not 5.
    begun = begin_rounds(ContinueOrder("wall", 14, height=Fraction(84)), CUP, FINE)
    assert (begun.height, begun.tape) == (84, 84)
    # So 10 rounds of the base are 10 mm higher than planned, and 4 of the wall 4 mm.
    assert [begun.ahead(i, Fraction(5)) for i in range(2)] == [10, 4]
    # Nothing of the wall is worked after round 7.
    begun = begin_rounds(ContinueOrder("base", 7, height=Fraction(42)), CUP, FINE)
    assert begun.ahead(0, Fraction(5)) == 7
    # Blocked, a swatch 100 mm tall on the hook is 110: so are the rounds, and a stitch stays 5 mm.
    blocked = replace(FINE, blocked_width=Fraction(100), blocked_height=Fraction(110))
    begun = begin_rounds(ContinueOrder("wall", 14, height=Fraction(80)), CUP, blocked)
    assert (begun.height, begun.tape) == (88, 80)
    # Unmeasured, 14 rounds of 5 mm on the hook are 70 mm there, and 77 blocked.
    begun = begin_rounds(ContinueOrder("wall", 14), CUP, blocked)
    assert (begun.height, begun.tape) == (77, 70)


@pytest.mark.parametrize(
    ("hand", "fresh", "made"),
    [
        # Two over, by hand a third less in each of three rounds: 4/3, 2/3, 0.
        ([6, 13, 21], [6, 13, 19, 25, 31, 38], [6, 13, 21, 26, 32, 38]),
        # Three short: -2, -1, 0.
        ([6, 13, 16], [6, 13, 19, 25, 31, 38], [6, 13, 16, 23, 30, 38]),
        ([6, 13, 21], [6, 13, 19], [6, 13, 21]),
        # The plan at this gauge has another count there: 40 for 36 fade out over two rounds.
        ([40, 40], [36, 36, 36, 36], [40, 40, 38, 36]),
        ([40, 40], [40, 40, 40], [40, 40, 40]),
        ([40, 40], [40, 40, 44], [40, 40, 44]),
        ([38, 40], [40, 40, 40], [38, 40, 40]),
    ],
)
def test_rounds_worked_join_on_to_those_of_the_plan(
    hand: list[int], fresh: list[int], made: list[int]
) -> None:
    assert [*joined(Counts.of(hand), Counts.of(fresh), 1, "base")] == made


@pytest.mark.parametrize(("worked", "first", "row"), [(4, 1, 3), (9, 11, 13)])
def test_more_rounds_than_the_plan_has_are_to_be_taken_back(
    worked: int, first: int, row: int
) -> None:
    with pytest.raises(Refused) as refused:
        joined(Counts.of([9] * worked), Counts.of([9] * 3), first, "wall")
    (refusal,) = refused.value.refusals
    assert refusal.permitted == {"row": row, "or": '"section_done": true'}
    assert f"{worked} rounds" in refusal.detail


def test_rounds_left_by_hand() -> None:
    begun = begin_rounds(ContinueOrder("wall", 14, stitches=65), CUP, FINE)
    (wall,) = rounds_left(replace(CUP, begun=begun), Fraction(5), Fraction(5))
    # Ten rounds of wall, four of them worked: 30 of its 50 mm are left, from 65 stitches of 5 mm.
    assert (wall.first_row, wall.rows, wall.stitches_at_start) == (15, 6, 65)
    assert wall.finished.height == 30
    assert wall.finished.along_fabric == 30
    assert wall.finished.circumference_at_start == 325
    begun = begin_rounds(ContinueOrder("base", 10), CUP, FINE)
    assert [s.name for s in rounds_left(replace(CUP, begun=begun), Fraction(5), Fraction(5))] == [
        "wall"
    ]


# Worked flat: from 40 stitches, one lost at either edge each fourth row, five times, and six rows
# even, then ten more: 40 40 40 38 .. 32 32 32 30 30 30 30 30 30 30, 30 x 10.
SIDE = build(
    (SectionPlan("side", "taper", rows=26, every=4, to_stitches=30),
     SectionPlan("top", "even", rows=10)),
    40, {}, SCALE,
)  # fmt: skip
PLANNED = [40, 40, 40, *[38] * 4, *[36] * 4, *[34] * 4, *[32] * 4, *[30] * 17]


def test_rows_that_a_schedule_leaves_out_are_a_run_that_changes_nothing() -> None:
    assert runs_of(SIDE) == (
        Run(20, 4, 5, -1, -1, 30), Run(6, 1, 0, 0, 0, 30), Run(10, 1, 0, 0, 0, 30),
    )  # fmt: skip
    # Cut within them, and within a shaping run: every 4th row from row 1.
    assert clip(runs_of(SIDE), 22, 30) == (Run(5, 1, 0, 0, 0, 30), Run(4, 1, 0, 0, 0, 30))
    assert clip(runs_of(SIDE), 3, 13) == (
        Run(2, 2, 1, -1, -1, 38), Run(8, 4, 2, -1, -1, 34), Run(1, 1, 0, 0, 0, 34),
    )  # fmt: skip


def rows_of(sections: tuple[Section, ...]) -> list[int]:
    return [n for s in sections for n in row_counts(s.stitches_at_start, s.rows, s.schedule)]


@pytest.mark.parametrize(
    ("row", "stitches", "foundation", "rows"),
    [
        (23, None, 40, PLANNED[:23]),
        # Row 20 was the last to be shaped; rows 16 to 19 have 32.
        (23, 33, 40, [*PLANNED[:19], 33, 33, 33, 33]),
        (23, 28, 40, [*PLANNED[:19], 28, 28, 28, 28]),
        (20, 31, 40, [*PLANNED[:19], 31]),
        (19, 31, 40, [*PLANNED[:15], 31, 31, 31, 31]),
        (4, 41, 40, [40, 40, 40, 41]),
        # None is shaped before row 4: the chain itself was of so many.
        (3, 42, 42, [42, 42, 42]),
        (30, 29, 40, [*PLANNED[:19], *[29] * 11]),
        # More rows than planned are worked on the last count.
        (40, 30, 40, [*PLANNED, 30, 30, 30, 30]),
    ],
)
def test_rows_worked(row: int, stitches: int | None, foundation: int, rows: list[int]) -> None:
    order = ContinueOrder("side" if row <= 26 else "top", row, stitches=stitches)
    worked = begin(order, 40, SIDE, (), FINE)
    begun = worked.begun
    made = (*begun.sections, begun.current)
    assert worked.foundation == foundation
    assert rows_of(made) == rows
    assert (begun.rows, begun.stitches, begun.height, begun.row_height) == (
        row, rows[-1], 5 * row, 5,
    )  # fmt: skip
    # What is told of a section agrees with its rows.
    assert [s.stitches_at_end for s in made] == [rows[s.first_row + s.rows - 2] for s in made]
    assert [s.finished.height for s in made] == [5 * s.rows for s in made]
    assert [s.finished.width_at_end for s in made] == [5 * s.stitches_at_end for s in made]
    assert stitches_of(made) == sum(rows)


def test_the_edges_share_what_was_miscounted_and_an_odd_stitch_is_the_lefts() -> None:
    for more, left, right in ((1, 0, -1), (2, 0, 0), (3, 1, 0), (-1, -1, -2), (-2, -2, -2)):
        worked = begin(ContinueOrder("side", 20, stitches=30 + more), 40, SIDE, (), FINE)
        last = worked.begun.current.schedule[-1]
        assert (last.left, last.right, last.times, last.every) == (left, right, 1, 4)


@pytest.mark.parametrize("row", [22, 26, 27, 36])
def test_rows_left_are_those_after(row: int) -> None:
    order = ContinueOrder("side" if row <= 26 else "top", row)
    begun = begin(order, 40, SIDE, (), FINE).begun
    left = left_of(SIDE, begun, Fraction(5), Fraction(5))
    assert rows_of(left) == PLANNED[row:]
    assert [(s.first_row, s.rows) for s in left] == (
        [(row + 1, 26 - row), (27, 10)] if row < 26 else [(row + 1, 36 - row)] if row < 36 else []
    )
    assert left_of(SIDE, None, Fraction(5), Fraction(5)) == SIDE


@pytest.mark.parametrize(
    ("section", "row", "code", "permitted"),
    [
        ("sleeve", 3, "unknown-section", ["side", "top"]),
        ("top", 26, "row-before-section", {"minimum": 27}),
    ],
)
def test_where_nobody_can_be(section: str, row: int, code: str, permitted: object) -> None:
    with pytest.raises(Refused) as refused:
        begin(ContinueOrder(section, row), 40, SIDE, (), FINE)
    assert [(r.code, r.permitted) for r in refused.value.refusals] == [(code, permitted)]
    begin(ContinueOrder("top", 27), 40, SIDE, (), FINE)
