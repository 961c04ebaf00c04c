"""Where a slit stands, against a brute force over all rows. Source of the rules: common practice,
no published source: its middle half a button from the edges, a plain stitch beside what is shaped,
rows below and above it, and no half of an opening along the rows shaped twice."""

from __future__ import annotations

import random
from fractions import Fraction
from math import ceil

from service.engine.errors import Refused
from service.engine.openings import Button, ClosureOrder, slit
from service.engine.placing import place_slit
from service.engine.shaping import Run

W, H = Fraction(5), Fraction(5)


def each_row(runs: tuple[Run, ...]) -> list[tuple[int, int, int]]:
    """Stitches before each row, and what it gains at either edge, by hand."""
    rows, stitches = [], runs[0].stitches_after - runs[0].times * (runs[0].left + runs[0].right)
    for run in runs:
        for n in range(1, run.rows + 1):
            shaped = n % run.every == 0 and n <= run.times * run.every and run.times > 0
            left, right = (run.left, run.right) if shaped else (0, 0)
            rows.append((stitches, left, right))
            stitches += left + right
    return rows


def fits(rows: list[tuple[int, int, int]], last: int, tall: int, wide: int, half: Fraction,
         busy: frozenset[int], edge: str) -> bool:  # fmt: skip
    """Whether an opening may end with row ``last`` (from 1)."""
    first = last - tall + 1
    if first < 2 or last >= len(rows):
        return False
    if any(row in busy for row in range(first, last + 2)):
        return False
    if tall > 1 and any(left or right for _, left, right in rows[first - 1 : last]):
        return False
    before = rows[first - 1][0]
    spare = 1 + 2 * max(max(0, -left, -right) for _, left, right in rows[first - 1 : last + 1])
    clear = max(1, ceil(half / W))
    if before - wide < 2 * spare or before < 2 * clear:
        return False
    lead = (before - wide) // 2 if edge == "last-row" else max(spare, clear)
    return before - wide - lead >= spare


def test_a_slit_stands_where_all_rows_tried_say_it_may() -> None:
    dice, placed, refused = random.Random("slits"), 0, 0
    for _ in range(1500):
        stitches, runs = dice.randint(3, 24), list[Run]()
        for _ in range(dice.randint(1, 3)):
            every, times = dice.randint(1, 3), dice.randint(0, 3)
            left, right = (dice.randint(-2, 1), dice.randint(-2, 1)) if times else (0, 0)
            if stitches + times * (left + right) < 1:
                continue
            stitches += times * (left + right)
            rows = every * times + dice.randint(0 if times else 1, 3)
            runs.append(Run(rows, every, times, left, right, stitches))
        if not runs:
            continue
        rows = each_row(tuple(runs))
        direction = dice.choice(("across", "along"))
        button = Button(Fraction(dice.randint(6, 26)))
        made = slit(button, W, H, ClosureOrder("slit", None, None, dice.randint(1, 4), direction))
        busy = frozenset(dice.sample(range(1, 12), dice.choice((0, 0, 1, 2))))
        edge = dice.choice(("last-row", "row-ends"))
        tall = made.skipped if direction == "along" else 1
        wide = made.skipped if direction == "across" else 0
        assert made.edge_distance == button.diameter / 2
        if edge == "last-row":
            # Its middle is half the button from the last row at least; the nearest row that does.
            below = max(1, ceil(made.edge_distance / H))
            tried = [*range(len(rows) - below, 0, -1)]
        else:
            tried = [(len(rows) + tall) // 2]
        good = [n for n in tried if fits(rows, n, tall, wide, made.edge_distance, busy, edge)]
        try:
            at = place_slit(made, tuple(runs), W, H, edge, busy)  # type: ignore[arg-type]
        except Refused as no:
            assert not good, (runs, edge, busy)
            (refusal,) = no.refusals
            assert isinstance(refusal.permitted, dict)
            clear = max(1, ceil(made.edge_distance / W))
            assert refusal.permitted["minimum_stitches"] == max(wide + 2, 2 * clear)
            refused += 1
            continue
        assert good, (runs, edge, busy)
        assert (at.row, at.last_row) == (good[0] - tall + 1, good[0]), (runs, edge, busy)
        before = rows[at.row - 1][0]
        if direction == "across":
            assert at.last_stitch - at.first_stitch + 1 == wide
            lead = at.first_stitch - 1
        else:
            assert at.first_stitch == at.last_stitch
            lead = at.first_stitch
        rest = before - lead - wide
        if edge == "last-row":
            assert rest - lead in (0, 1)  # in the middle, an odd stitch after it
        placed += 1
    assert min(placed, refused) > 200, (placed, refused)
