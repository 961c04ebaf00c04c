"""What an audit says to do is done, and the row then holds; corrections of every kind by hand.

Source of all: common practice, no published source; the arithmetic is by hand or brute force.
"""

from __future__ import annotations

import copy
import random
from collections import Counter
from typing import Any

import pytest

from tests.auditing import Json, audited
from tests.engine.test_audit_values import DEC, INC, any_row, by_hand, one, plain, rep
from tests.engine.test_audits import put_right

INTO_RING = {"into_ring": 6}


def the_finding(rows: list[Json], foundation: Json | None, **more: Any) -> Any:
    (found,) = audited(one(rows, foundation, **more)).findings
    return found


@pytest.mark.parametrize(
    ("work", "below", "stated", "code", "field", "text"),
    [
        # 19 plain over 20: 20 plain uses all.
        ([plain(19)], 20, None, "stitches-left-over", (0, "plain"), "plain 20 here"),
        ([plain(21)], 20, None, "stitches-short", (0, "plain"), "plain 20 here"),
        # 2 together, to the last 3, 2 together over 20 leaves 1.
        ([DEC, {"plain": {"to_last": 3}}, DEC], 20, None, "stitches-left-over",
         (1, "plain", "to_last"), "to the last 2 here"),
        # to the last 1, and 2 together: one short; to the last 2.
        ([DEC, {"plain": {"to_last": 1}}, DEC], 20, None, "stitches-short", (1, "plain", "to_last"),
         "to the last 2 here"),
        # (5 plain, 2 together) six times takes 42.
        ([rep(5, plain(5), DEC)], 42, None, "stitches-left-over", (0, "times"), "6 times here"),
        ([rep(7, plain(5), DEC)], 42, 36, "stitches-short", (0, "times"), "6 times here"),
        # Six times 3 over 6: no group has two plain stitches to leave out, but two times do.
        ([rep(6, plain(1), DEC)], 6, None, "stitches-short", (0, "times"), "2 times here"),
        # Where nothing is stated, a plain stitch fewer in each is as near: 7 times 6 are 42.
        ([rep(7, plain(5), DEC)], 42, None, "stitches-short", (0, "repeat", 0, "plain"),
         "plain 4 here"),
        # Over 48, six repeats of 8 are as near as none: 6 plain in each, and 42 are made.
        ([rep(6, plain(5), DEC)], 48, 42, "stitches-left-over", (0, "repeat", 0, "plain"),
         "plain 6 here"),
        # 3 together at the end of 38 makes 36 as well, and 35 plain and 2 together 36.
        ([DEC, plain(35)], 38, 36, "stitches-left-over", (0, "together"), "3 together here"),
        ([DEC, plain(35)], 38, 37, "stitches-left-over", (1, "plain"), "plain 36 here"),
        # A buttonhole: 3 skipped of 20 with 9 before and 9 after leave out one.
        ([plain(9), {"skip": 2}, plain(9)], 21, 18, "stitches-left-over", (1, "skip"),
         "skip 3 here"),
        ([plain(9), {"leave": 2}], 12, 9, "stitches-left-over", (1, "leave"),
         "leave 3 unworked here"),
        # Two together seven times over 21: three together in each makes seven as well.
        ([rep(7, DEC)], 21, 7, "stitches-left-over", (0, "repeat", 0, "together"),
         "3 together here"),
        ([rep(7, {"skip": 2}, plain(1))], 28, 7, "stitches-left-over", (0, "repeat", 0, "skip"),
         "skip 3 here"),
        # A chain over a stitch skipped, and two plain: 5 times are 15, and ten were to be worked.
        ([rep(10, {"chain": 1, "counts_as": 1}, {"skip": 1}, plain(2))], 15, None,
         "stitches-short", (0, "times"), "5 times here"),
        # Nothing there is takes one more: a stitch has to be added, or one fewer worked.
        ([INC, INC], 3, None, "stitches-left-over", (), "work 1 stitch more"),
        ([INC, INC, INC], 2, None, "stitches-short", (), "work over 1 stitch fewer"),
        ([INC, INC, INC, INC], 3, 8, "stitches-short", (),
         "take out what takes 1 stitch of the row below and makes 0"),
        ([INC, INC], 3, 4, "stitches-left-over", (),
         "add what takes 1 stitch of the row below and makes 0"),
        # Where it is stated as fewer, nothing that adds a stitch is told.
        ([INC, INC], 3, 3, "stitches-left-over", (), "work 1 stitch more"),
        ([INC, INC, INC], 2, 7, "stitches-short", (), "work over 1 stitch fewer"),
        ([INC, INC], 4, 7, "stitches-left-over", (),
         "add what takes 2 stitches of the row below and makes 3"),
        ([INC, INC, INC, INC], 2, 5, "stitches-short", (),
         "take out what takes 2 stitches of the row below and makes 3"),
        # The chain turned with stands for the first stitch, where it is said to.
        ([{"turning_chain": "does-not-count"}, INC, INC], 3, 5, "stitches-left-over",
         (0, "turning_chain"), "let the turning chain count"),
        ([{"turning_chain": "counts"}, INC, INC], 2, 4, "stitches-short", (0, "turning_chain"),
         "let the turning chain not count"),
        ([{"turning_chain": "does-not-count"}, INC, INC], 4, 6, "stitches-left-over", (),
         "add what takes 2 stitches of the row below and makes 2"),
    ],
)  # fmt: skip
def test_a_row_that_does_not_fit_is_mended_as_by_hand(
    work: list[Json], below: int, stated: int | None, code: str, field: Any, text: str
) -> None:
    line: Json = {"work": work} if stated is None else {"work": work, "stitches": stated}
    found = the_finding([line], {"stitches": below})
    assert (found.code, found.row) == (code, 1)
    told = found.correction
    assert told.text == text
    assert told.field == ("pieces", 0, "rows", 0, "work", *field)


@pytest.mark.parametrize(
    ("work", "below", "stated", "comes_to", "field", "text"),
    [
        # 3 into the first and 8 plain of 9 are 11; for 10, 2 into it.
        ([{"increase": 3}, {"plain": "to-end"}], 9, 10, 11, (0, "increase"),
         "2 into the one stitch here"),
        # One in each of six: 12 plain and 6 times 2 are 18 of 18; 24 by 3 in each.
        ([rep(6, plain(2), INC)], 18, 30, 24, (0, "repeat", 1, "increase"),
         "3 into the one stitch here"),
        # Three chains over 3 that count as 2 lose one: they are to count as 3.
        ([plain(9), {"chain": 3, "counts_as": 2}, {"skip": 3}, plain(9)], 21, 21, 20,
         (1, "counts_as"), "let the chains count as 3 here"),
        # Two chains over 3 lose one: 2 are to be skipped, as in a worked opening.
        ([plain(9), {"chain": 2, "counts_as": 2}, {"skip": 3}, {"plain": "to-end"}], 21, 21, 20,
         (2, "skip"), "skip 2 here"),
        # 3 chains that count as 3 over 4 skipped lose one: skip 3 as they are chained.
        ([plain(9), {"chain": 3, "counts_as": 3}, {"skip": 4}, {"plain": "to-end"}], 21, 21, 20,
         (2, "skip"), "skip 3 here"),
        # No part can gain one stitch by itself.
        ([plain(9)], 9, 10, 9, (), "make 1 stitch more in this row"),
        ([plain(9)], 9, 7, 9, (), "make 2 stitches fewer in this row"),
        ([INC, plain(8)], 9, 9, 10, (), "make 1 stitch fewer in this row"),
        ([plain(9), {"same_stitch": 2}], 9, 12, 11, (1, "same_stitch"), "3 here"),
    ],
)  # fmt: skip
def test_a_row_that_fits_and_is_stated_otherwise_is_mended_as_by_hand(
    work: list[Json], below: int, stated: int, comes_to: int, field: Any, text: str
) -> None:
    # The next rows say which is right: they are worked over the stated count.
    after = [{"work": [plain(stated)], "stitches": stated}] * 2
    found = the_finding([{"work": work, "stitches": stated}, *after], {"stitches": below})
    assert (found.code, found.row) == ("stated-count", 1)
    assert (found.stated.count, found.comes_to.count) == (stated, comes_to)
    assert found.correction.text == text
    assert found.correction.field == ("pieces", 0, "rows", 0, "work", *field)
    # And if they are worked over what the row makes, it was stated wrong.
    after = [{"work": [plain(comes_to)], "stitches": comes_to}] * 2
    found = the_finding([{"work": work, "stitches": stated}, *after], {"stitches": below})
    assert found.correction.field == ("pieces", 0, "rows", 0, "stitches")
    assert found.correction.count == comes_to


def test_a_ring_is_to_have_as_many_as_the_next_round_is_worked_over() -> None:
    rounds = [{"work": [INTO_RING], "stitches": 8}, {"work": [rep(8, INC)], "stitches": 16}]
    found = the_finding(rounds, None)
    assert (found.correction.text, found.correction.count) == ("8 here", 8)
    assert found.correction.field == ("pieces", 0, "rows", 0, "work", 0, "into_ring")


def test_what_random_rows_are_told_to_do_makes_them_fit() -> None:
    dice, told = random.Random("slips"), Counter[str]()
    for _ in range(450):
        row = any_row(dice)
        fits = [(n, made[1]) for n in range(1, 60) if (made := by_hand(row, n))]
        # Worked over a stitch to three more or fewer than it takes, stated as it should come out.
        below, makes = dice.choice(fits or [(0, 0)])
        over = below + dice.choice((-3, -2, -1, 1, 2, 3))
        if min(over, makes) < 1 or by_hand(row, over) is not None:
            continue
        line: Json = {"work": row}
        if dice.random() < 0.7:
            line["stitches"] = max(1, makes + dice.choice((0, 0, over - below)))
        form = one([line], {"stitches": over})
        finding = audited(form).findings[0]
        mended = copy.deepcopy(form)
        told["all"] += 1
        if finding.code == "repeat-does-not-fit" or not put_right(mended, finding):
            continue  # which also says to work the rest plain
        told[str(finding.correction.field[-1])] += 1
        now = by_hand(mended["pieces"][0]["rows"][0]["work"], over)
        assert now is not None, (form, finding.text)
        again = [f.code for f in audited(mended).findings]
        assert again == ([] if line.get("stitches") in (None, now[1]) else ["stated-count"]), (
            form, finding.text)  # fmt: skip
    assert min(told[kind] for kind in ("plain", "times", "together", "skip", "leave")) > 2, told
