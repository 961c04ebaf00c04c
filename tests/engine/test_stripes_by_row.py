"""Stripes against rows coloured one by one: brute force. Source: geometry."""

from __future__ import annotations

import random
from itertools import groupby

from service.engine.stripes import Stretch, after, by_colour, colour_at, rows_of


def test_stripes_are_what_rows_coloured_one_by_one_are() -> None:
    dice = random.Random("stripes")
    for _ in range(600):
        repeat = tuple((dice.choice("abc"), dice.randint(1, 3)) for _ in range(dice.randint(1, 4)))
        each = [colour for colour, n in repeat for _ in range(n)]
        rows = dice.randint(1, 2 * len(each) + 3)
        coloured = [each[i % len(each)] for i in range(rows)]
        assert [colour_at(repeat, n) for n in range(1, rows + 1)] == coloured
        counts = rows_of(repeat, rows)
        assert {c: n for c, n in counts.items() if n} == {
            c: coloured.count(c) for c in set(coloured)
        }
        # The same stripes from a row further on.
        gone = dice.randint(0, 2 * len(each))
        turned = after(repeat, gone)
        assert all(n > 0 for _, n in turned)
        assert [colour_at(turned, n) for n in range(1, len(each) + 1)] == [
            each[(gone + i) % len(each)] for i in range(len(each))
        ]
        # Stretches of rows alike, of so many stitches each, some of them lost.
        stretches, left = list[Stretch](), rows
        while left:
            tall = dice.randint(1, left)
            stretches.append(Stretch(dice.randint(1, 9), tall, dice.randint(0, 2)))
            left -= tall
        stitches = [s.stitches for s in stretches for _ in range(s.rows)]
        lost = [s.lost for s in stretches for _ in range(s.rows)]
        found = by_colour(repeat, iter(stretches), rows)
        assert set(found) == set(coloured)
        for colour, one in found.items():
            at = [i for i, c in enumerate(coloured) if c == colour]
            assert one.rows == len(at)
            assert one.stitches == sum(stitches[i] for i in at)
            assert one.lost == sum(lost[i] for i in at)
            # Taken up anew wherever another colour was before.
            assert one.bands == sum(c == colour for c, _ in groupby(coloured)), (repeat, rows)
            assert one.idle == at[-1] - at[0] + 1 - len(at), (repeat, rows)
