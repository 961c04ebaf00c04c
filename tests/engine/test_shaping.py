"""Shaping over every small case: nothing lost, nothing lumped, nothing that fits refused."""

from __future__ import annotations

from itertools import pairwise, product

import pytest

from service.engine.distribution import interleaved, spread
from service.engine.errors import Refused
from service.engine.numerals import ordinal
from service.engine.shaping import (
    Edges,
    Rules,
    Schedule,
    least_rows,
    plan,
    plan_every,
    point,
    row_counts,
    stitches_worked,
)
from service.engine.shapingtext import in_words

EDGES: tuple[Edges, ...] = ("both", "left", "right")
CASES = list(product(range(1, 14), range(1, 14), range(1, 11)))
RULES = [
    Rules(edges, most, right_side, starts)
    for edges in EDGES
    for most in (None, 1, 2, 3, 5)
    for right_side, starts in ((False, True), (True, True), (True, False))
]


def changes(start: int, rows: int, schedule: Schedule) -> list[tuple[int, int, int]]:
    """Row, left and right change of each shaping row, expanded by hand from the runs."""
    found, row = [], 0
    for run in schedule:
        for _ in range(run.times):
            row += run.every
            found.append((row, run.left, run.right))
        row += run.rows - run.every * run.times
    return found


def spread_out(values: list[int]) -> int:
    return max(values) - min(values) if values else 0


@pytest.mark.parametrize("rules", RULES, ids=str)
def test_every_small_case_is_shaped_evenly_or_rightly_refused(rules: Rules) -> None:
    for start, end, rows in CASES:
        # Oracle: rows that may be shaping rows, and what they can change, counted one by one.
        free = not rules.right_side_only
        may = [r for r in range(1, rows + 1) if free or r % 2 == rules.starts_on_right_side]
        a_row = rules.max_change or (2 if rules.edges == "both" else 1)
        fits = len(may) * a_row >= abs(end - start)
        if not fits:
            with pytest.raises(Refused) as refused:
                plan(start, end, rows, rules)
            needed = refused.value.refusals[0].permitted["minimum_rows"]  # type: ignore[index]
            assert needed > rows
            plan(start, end, needed, rules)
            continue
        schedule = plan(start, end, rows, rules)
        shaped = changes(start, rows, schedule)
        counts = list(row_counts(start, rows, schedule))
        assert len(counts) == rows
        assert counts[-1] == end
        assert sum(left + right for _, left, right in shaped) == end - start
        assert all(row in may for row, _, _ in shaped)
        assert all(0 < abs(left + right) <= a_row for _, left, right in shaped)
        if rules.edges != "both":
            assert not any(right if rules.edges == "left" else left for _, left, right in shaped)
        else:
            assert 0 <= abs(sum(s[1] for s in shaped)) - abs(sum(s[2] for s in shaped)) <= 1
        # Evenness: spaces in shaping-row places, and amounts, differ by at most one.
        places = [0, *(may.index(row) + 1 for row, _, _ in shaped)]
        assert spread_out([b - a for a, b in pairwise(places)]) <= 1
        assert spread_out([abs(left) for _, left, _ in shaped]) <= 1
        assert spread_out([abs(right) for _, _, right in shaped]) <= 1
        assert sum(counts) == stitches_worked(start, rows, schedule)
        assert all(run.rows == run.every * run.times for run in schedule if run.times)
        assert sum(run.rows for run in schedule) == (rows if shaped else 0)


@pytest.mark.parametrize("rules", RULES, ids=str)
def test_the_least_rows_are_the_fewest_that_fit(rules: Rules) -> None:
    for start, end in product(range(1, 14), repeat=2):
        fits = []
        for rows in range(30):
            try:
                plan(start, end, rows, rules)
            except Refused:
                continue
            fits.append(rows)
        assert min(fits) == least_rows(start, end, rules)


def test_runs_do_not_multiply_with_rows() -> None:
    # The answer to a long taper is as short as that to a small one.
    assert len(plan(9_999, 1, 10_000)) == len(plan(99, 1, 100)) == 2


@pytest.mark.parametrize(
    ("start", "end", "every", "rows", "expected"),
    [
        # By hand: five shaping rows of two stitches each, three rows apart.
        (42, 32, 3, None, (15, [(15, 3, 5)])),
        (42, 32, 3, 20, (20, [(15, 3, 5), (5, 1, 0)])),
        (12, 12, 4, None, (0, [])),
        (12, 12, 4, 6, (6, [])),
    ],
)
def test_every_so_many_rows_leaves_the_rest_even(
    start: int, end: int, every: int, rows: int | None, expected: tuple[int, list[object]]
) -> None:
    total, runs = plan_every(start, end, every, rows)
    assert (total, [(r.rows, r.every, r.times) for r in runs]) == expected


def test_right_side_rows_cannot_be_every_third() -> None:
    with pytest.raises(Refused, match="falls on wrong-side rows too"):
        plan_every(20, 10, 3, rules=Rules(right_side_only=True))


def test_every_fourth_row_on_the_right_side_stays_there() -> None:
    rows, runs = plan_every(20, 12, 4, rules=Rules(right_side_only=True))
    assert [row for row, _, _ in changes(20, rows, runs)] == [3, 7, 11, 15]


@pytest.mark.parametrize(
    ("start", "edges", "end"),
    [(38, "both", 2), (39, "both", 1), (2, "both", 2), (1, "both", 1), (38, "left", 1),
     (5, "right", 1)],
)  # fmt: skip
def test_a_point_keeps_the_parity_of_both_edges(start: int, edges: Edges, end: int) -> None:
    # Common practice, no published source: 42 to 2, two stitches left at a point.
    assert point(start, edges) == end


@pytest.mark.parametrize(
    ("schedule", "words"),
    [
        (plan(10, 10, 4), "work even on 10 stitches"),
        (plan(1, 1, 4), "work even on 1 stitch"),
        (plan(38, 2, 18), "decrease 1 stitch at each edge every row 18 times"),
        # 36 rows, 10 shaping rows: 4 spaces of 3, 6 of 4.
        (
            plan(2, 22, 36),
            "increase 1 stitch at each edge every 3rd row 4 times, then every 4th row 6 times",
        ),
        (plan(9, 6, 3, Rules("left")), "decrease 1 stitch at the left edge every row 3 times"),
        (
            plan(9, 4, 2, Rules(max_change=6)),
            "decrease 1 stitch at each edge in the next row, then decrease 2 stitches at the left"
            " edge and 1 stitch at the right edge in the next row",
        ),
        (
            plan_every(9, 7, 1, 3)[1],
            "decrease 1 stitch at each edge in the next row, then work 2 rows even",
        ),
        (
            plan_every(9, 7, 3, 4)[1],
            "decrease 1 stitch at each edge in the 3rd row, then work 1 row even",
        ),
        (
            plan(9, 5, 3),
            "decrease 1 stitch at each edge in the next row, then once more in the 2nd row from"
            " there",
        ),
        (
            plan(8, 5, 2),
            "decrease 1 stitch at the left edge in the next row, then decrease 1"
            " stitch at each edge in the next row",
        ),
    ],
)
def test_shaping_is_said_in_the_two_rate_form(schedule: Schedule, words: str) -> None:
    start = schedule[0].stitches_before if schedule else int(words.split()[3])
    assert in_words(start, schedule) == words


def test_ordinals() -> None:
    assert [ordinal(n) for n in (1, 2, 3, 10, 11, 12, 13, 21, 101, 111)] == [
        "1st", "2nd", "3rd", "10th", "11th", "12th", "13th", "21st", "101st", "111th",
    ]  # fmt: skip


@pytest.mark.parametrize("parts", range(1, 25))
def test_a_spread_loses_nothing_and_differs_by_one(parts: int) -> None:
    for units in range(60):
        shares = spread(units, parts)
        sizes = [share.size for share in shares for _ in range(share.times)]
        assert (sum(sizes), len(sizes)) == (units, parts)
        assert sizes == sorted(sizes)
        assert spread_out(sizes) <= 1
        assert sorted(interleaved(units, parts)) == sizes


def test_nothing_is_spread_over_no_parts() -> None:
    with pytest.raises(ValueError, match="no parts"):
        spread(3, 0)
