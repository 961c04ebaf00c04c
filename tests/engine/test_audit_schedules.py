"""Schedules, numbers and copies of rows in an audit, by hand: what is told, and what to do.

Source of all: common practice, no published source; the arithmetic is by hand.
"""

from __future__ import annotations

import random
import re
from typing import Any

import pytest

from service.engine.auditfindings import Amount
from service.engine.errors import Refused
from tests.auditing import Json, audited
from tests.engine.test_audit_values import DEC, END, INC, any_row, by_hand, one, plain, rep


def run(rows: int, every: int = 1, times: int = 0, left: int = 0, right: int = 0,
        after: int | None = None) -> Json:  # fmt: skip
    told: Json = {"rows": rows}
    if times:
        told |= {"every": every, "times": times, "left": left, "right": right}
    return told if after is None else {**told, "stitches_after": after}


def codes(form: Json) -> list[tuple[str, int | None]]:
    return [(f.code, f.row) for f in audited(form).findings]


def even(stitches: int, rows: int = 2) -> list[Json]:
    return [{"work": [plain(stitches)], "stitches": stitches} for _ in range(rows)]


@pytest.mark.parametrize(
    ("runs", "stitches", "rows", "text", "field", "count"),
    [
        # Every 2nd row 10 times is 20 rows, and 18 hold 9 times. From 40, ten times leaves 20.
        ([run(18, 2, 10, -1, -1)], 20, 18, "let it cover 20 rows", (0, "rows"), 20),
        # Nine times would leave 22, which is what is stated.
        ([run(18, 2, 10, -1, -1, 22)], None, 18, "shape 9 times", (0, "times"), 9),
        ([run(4, 2, 3, 1, 1, 44)], None, 4, "shape 2 times", (0, "times"), 2),
        ([run(3, 2, 2, 1, 1, 42)], None, 3, "shape 1 time", (0, "times"), 1),
    ],
)
def test_a_run_that_does_not_fit_its_rows(
    runs: list[Json], stitches: int | None, rows: int, text: str, field: Any, count: int
) -> None:
    line: Json = {"last_row": rows, "schedule": runs}
    if stitches is not None:
        line["stitches"] = stitches
    (found,) = audited(one([line], {"stitches": 40})).findings
    assert (found.code, found.row) == ("run-does-not-fit", 1)
    assert found.correction.text == text
    assert found.correction.field == ("pieces", 0, "rows", 0, "schedule", *field)
    assert found.correction.count == count
    made = runs[0]
    assert (found.stated.count, found.comes_to.count) == (rows, made["every"] * made["times"])
    assert f"a run of {rows} rows, in which every {made['every']} rows go" in found.text


@pytest.mark.parametrize(
    ("foundation", "flat", "run_", "most", "left"),
    [
        # From 20, two a row: nine times leave 2, and ten leave none. In the round that is a point.
        (20, True, run(10, 1, 10, -1, -1), 9, 0), (21, True, run(11, 1, 11, -1, -1), 10, -1),
        (21, True, run(10, 1, 10, -1, -1), None, 1), (5, True, run(6, 1, 6, -1, 0), 4, -1),
    ],
)  # fmt: skip
def test_nothing_is_left_of_a_run(
    foundation: int, flat: bool, run_: Json, most: int | None, left: int
) -> None:
    line: Json = {"last_row": run_["rows"], "schedule": [run_]}
    found = audited(one([line], {"stitches": foundation})).findings
    if most is None:
        assert not found
        return
    assert found[0].code == "nothing-left"
    assert found[0].comes_to
    assert found[0].comes_to.count == left
    assert found[0].correction.text == f"shape {most} times"
    assert found[0].correction.field[-1] == "times"


@pytest.mark.parametrize(
    ("run_", "stated", "text", "field"),
    [
        # From 40, every 2nd row 10 times, one at each edge, leaves 20 in 20 rows.
        # Rows that go on from 22 say it was 9 times.
        (run(20, 2, 10, -1, -1), 22, "shape 9 times", ("times",)),
        (run(20, 2, 10, -1, -1), 24, "shape 8 times", ("times",)),
        # 30 is as often one stitch; 10 would be fifteen times, which 20 rows do not hold.
        (run(20, 2, 10, -1, -1), 30, "let each shaping row change -1 stitches", ()),
        (run(20, 2, 10, -1, -1), 10, "let each shaping row change -3 stitches", ()),
        # Gained instead of lost: as often, two more.
        (run(20, 2, 10, -1, -1), 60, "let each shaping row change +2 stitches", ()),
        # 27 is no number of times and no number a row.
        (run(20, 2, 10, -1, -1), 27, "state 20 stitches", ("stitches_after",)),
    ],
)  # fmt: skip
def test_a_run_stated_otherwise_than_it_comes_to(
    run_: Json, stated: int, text: str, field: Any
) -> None:
    line: Json = {"last_row": 20, "schedule": [{**run_, "stitches_after": stated}]}
    found = audited(one([line, *even(stated)], {"stitches": 40})).findings[0]
    assert (found.code, found.row) == ("stated-count", 20)
    assert (found.stated.count, found.comes_to.count) == (stated, 20)
    assert found.correction.text == text
    assert found.correction.field == ("pieces", 0, "rows", 0, "schedule", 0, *field)
    # Where the rows go on from 20, it was stated wrong.
    found = audited(one([line, *even(20)], {"stitches": 40})).findings[0]
    assert found.correction.text == "state 20 stitches"


def test_runs_follow_each_other_from_where_the_last_ended() -> None:
    # 40 less 5 times 2 in 10 rows is 30, 4 rows even, 30 plus 3 in 6 rows is 33, then 5 even.
    runs = [run(10, 2, 5, -1, -1, 30), run(4, after=30), run(6, 2, 3, 1, 0, 33)]
    line: Json = {"last_row": 25, "schedule": runs, "stitches": 33}
    assert audited(one([line, *even(33)], {"stitches": 40})).holds
    spoiled = {**line, "stitches": 34}
    (found,) = audited(one([spoiled, *even(33)], {"stitches": 40})).findings
    assert (found.code, found.row, found.comes_to.count) == ("stated-count", 25, 33)
    runs[1] = run(4, after=31)
    (found,) = audited(one([{**line, "schedule": runs}, *even(33)], {"stitches": 40})).findings
    assert (found.code, found.row) == ("stated-count", 14)


@pytest.mark.parametrize(
    ("last", "following", "text", "field"),
    [
        # 10 and 8 rows are 18; the line is of 16: 2 come off the last run that has them to spare.
        (16, 17, "let its run cover 6 rows", ("schedule", 1, "rows")),
        # The next line begins with row 19: it is this line's end that is wrong.
        (16, 19, "end at row 18", ("last_row",)),
        (16, None, "let its run cover 6 rows", ("schedule", 1, "rows")),
        # 3 rows too many are in the even run alone; in neither, where 8 are.
        (15, 16, "let its run cover 5 rows", ("schedule", 1, "rows")),
        (10, 11, "end at row 18, or take 8 off the schedule", ("schedule",)),
    ],
)
def test_a_schedule_of_more_rows_than_its_line(
    last: int, following: int | None, text: str, field: Any
) -> None:
    line: Json = {"last_row": last, "schedule": [run(10, 2, 5, -1, -1), run(8)]}
    after: Json = {"work": [plain(30)]}
    if following is not None:
        after["first_row"] = following
    found = next(f for f in audited(one([line, after], {"stitches": 40})).findings
                 if f.code == "schedule-rows")  # fmt: skip
    assert found.correction.text == text
    assert found.correction.field == ("pieces", 0, "rows", 0, *field)
    assert (found.stated.count, found.comes_to.count) == (last, 18)


@pytest.mark.parametrize(
    ("numbers", "wrong", "right"),
    [
        ([(1, 1), (2, 4), (5, 5)], None, None), ([(1, 1), (3, 4), (5, 5)], 3, 2),
        ([(2, 2), (3, 4), (5, 5)], 2, 1),
        # A line more than there should be: those after it go on from its number or the right one.
        ([(1, 1), (1, 4), (5, 5)], 1, 2), ([(1, 3), (6, 6), (7, 7)], 6, 4),
        ([(1, 3), (6, None), (5, 5)], 6, 4), ([(1, 3), (6, None), (7, 7)], 6, 4),
    ],
)  # fmt: skip
def test_rows_follow_on(
    numbers: list[tuple[int, int | None]], wrong: int | None, right: int | None
) -> None:
    rows: list[Json] = [
        {"first_row": a, "work": [END], **({"last_row": b} if b else {})} for a, b in numbers
    ]
    found = [f for f in audited(one(rows, {"stitches": 9})).findings if f.code == "row-numbers"]
    if wrong is None:
        assert not found
        return
    assert (found[0].row, found[0].correction.count) == (wrong, right)
    assert found[0].correction.text == f"number it {right}"
    assert (found[0].stated.count, found[0].comes_to.count) == (wrong, right)
    assert len(found) == 1


def test_a_line_that_ends_before_it_begins() -> None:
    rows = [{"work": [END]}, {"first_row": 2, "last_row": 1, "work": [END]}]
    (found,) = audited(one(rows, {"stitches": 9})).findings
    assert (found.code, found.correction.count) == ("row-numbers", 2)
    assert found.correction.field == ("pieces", 0, "rows", 1, "last_row")
    assert "Rows 2 to 1" in found.text


@pytest.mark.parametrize(
    ("low", "high", "first", "last", "makes"),
    [
        # Row 2 loses two of 40 and row 3 gains one: rows 4 to 9 do so three times, to 36 of 39.
        (2, 3, 4, 9, 36),
        # As row 2 alone: 39 less 6 times 2.
        (2, 2, 4, 9, 27), (3, 3, 4, 9, 45),
        # An odd number of rows ends on the first of the two.
        (2, 3, 4, 8, 35),
    ],
)  # fmt: skip
def test_rows_worked_as_others_before_them(
    low: int, high: int, first: int, last: int, makes: int
) -> None:
    rows: list[Json] = [
        {"work": [END], "stitches": 40},
        {"work": [DEC, {"plain": {"to_last": 2}}, DEC], "stitches": 38},
        {"work": [INC, END], "stitches": 39},
        {
            "first_row": first,
            "last_row": last,
            "as_rows": {"first": low, "last": high},
            "stitches": makes,
        },
    ]
    form = one(rows, {"stitches": 40})
    assert audited(form).holds, [f.text for f in audited(form).findings]
    rows[-1]["stitches"] = makes + 1
    (found,) = audited(one(rows, {"stitches": 40})).findings
    assert (found.code, found.row, found.comes_to.count) == ("stated-count", last, makes)


@pytest.mark.parametrize(("low", "high"), [(3, 2), (2, 4), (4, 4), (9, 9)])
def test_rows_that_are_not_written_out_cannot_be_copied(low: int, high: int) -> None:
    rows = [{"work": [END]}, {"work": [END]}, {"last_row": 3, "schedule": [run(1)]},
            {"last_row": 9, "as_rows": {"first": low, "last": high}}]  # fmt: skip
    with pytest.raises(Refused) as refused:
        audited(one(rows, {"stitches": 9}))
    assert [r.code for r in refused.value.refusals] == ["no-such-rows"]


@pytest.mark.parametrize(
    ("chains", "told"),
    [
        # Spaces by the stitch they come at: 3 plain and a space, over and over.
        (1, "come at stitch 4"),
        (2, "come at stitch 4, 8"),
        (6, "come at stitch 4, 8, 12, 16, 20, 24"),
        (7, "come at stitch 4, 8, 12, 16, 20, 24 and so on"),
        (0, "there is none"),
    ],
)
def test_a_space_that_is_not_there_is_told_where_there_are_some(chains: int, told: str) -> None:
    group = [plain(3), {"chain": 1, "counts_as": 1}, {"skip": 1}]
    work = [*([rep(chains, *group)] if chains else []), {"plain": 3}]
    below = 4 * chains + 3
    rows = [{"work": work, "stitches": below}, {"work": [{"into_space": 2}, END]}]
    form = one(rows, {"stitches": below})
    form["pieces"][0]["worked"] = "round"
    (found,) = audited(form).findings
    assert (found.code, found.row) == ("no-space-here", 2)
    assert told in found.correction.text


@pytest.mark.parametrize(
    ("times", "below", "room", "went"),
    [
        ("to-end", 20, 20, 6), ({"to_last": 1}, 20, 19, 6), ("to-end", 2, 2, 0),
    ],
)  # fmt: skip
def test_a_repeat_that_does_not_come_out_says_what_is_left(
    times: Any, below: int, room: int, went: int
) -> None:
    # Groups of 3: 20 hold six, with 2 left; 19 six, with 1.
    work: list[Json] = [{"repeat": [plain(1), DEC], "times": times}]
    if times != "to-end":
        work.append(plain(1))
    found = audited(one([{"work": work}], {"stitches": below})).findings[0]
    rest = room - 3 * went
    assert found.code == "repeat-does-not-fit"
    assert f"takes 3 stitches over {room} stitches, {went} times with {rest} left" in found.text
    time = "1 time" if went == 1 else f"{went} times"
    assert found.correction.text == f"repeat it {time} and work the last {rest} plain"
    assert (found.comes_to.count, found.correction.count) == (went, went)


@pytest.mark.parametrize(
    ("times", "after", "text", "correction"),
    [
        # Groups of 3 over 20, and what the rest of the row then takes. To the last one there are
        # 19, six times and one; two plain take that one and the last: six times, and all is used.
        ({"to_last": 1}, 2, "over 19 stitches, 6 times with 1 left", "repeat it 6 times"),
        ({"to_last": 1}, 1, "over 19 stitches, 6 times with 1 left",
         "repeat it 6 times and work the last 1 plain"),
        # Of 20 two are left; one plain takes one of them. Of three plain one more is wanted: five
        # times are 15, and three are 18.
        ("to-end", 1, "over 20 stitches, 6 times with 2 left",
         "repeat it 6 times and work the last 1 plain"),
        ("to-end", 3, "over 20 stitches, 6 times with 2 left",
         "repeat it 5 times and work the last 2 plain"),
        # To the last four there are 16, five times and one; one plain leaves four, another group.
        ({"to_last": 4}, 1, "over 16 stitches, 5 times with 1 left",
         "repeat it 6 times and work the last 1 plain"),
    ],
)  # fmt: skip
def test_a_repeat_goes_as_often_as_the_rest_of_its_row_lets_it(
    times: Any, after: int, text: str, correction: str
) -> None:
    work: list[Json] = [{"repeat": [plain(1), DEC], "times": times}, plain(after)]
    (found,) = audited(one([{"work": work}], {"stitches": 20})).findings
    assert found.code == "repeat-does-not-fit"
    assert f"takes 3 stitches {text} over" in found.text
    assert found.correction.text == correction


def test_a_repeat_told_how_often_to_go_comes_out() -> None:
    # By brute force: put in as often as is told, and what is left worked plain.
    dice, told = random.Random("repeats"), 0
    while told < 40:
        row, below = any_row(dice), dice.randint(4, 24)
        open_ended = [i for i, op in enumerate(row) if not isinstance(op.get("times", 0), int)]
        found = audited(one([{"work": row}], {"stitches": below})).findings
        # A plain stretch that is open as well takes another number then.
        two = any(not isinstance(op.get("plain", 0), int) for op in row)
        if two or len(open_ended) != 1 or not found or found[0].code != "repeat-does-not-fit":
            continue
        (at,) = open_ended
        often, rest = re.match(
            r"repeat it (\d+) times?(?: and work the last (\d+) plain)?$", found[0].correction.text
        ).groups()  # type: ignore[union-attr]
        mended = [*row[:at], rep(int(often), *row[at]["repeat"]), plain(int(rest or 0)),
                  *row[at + 1 :]]  # fmt: skip
        # None at all may be too many still, where the rest of the row is too long.
        if (often, rest) != ("0", None):
            made = by_hand(mended, below)
            assert made, (row, below, found[0].text)
            # The next row goes on from what it then makes.
            again = [{"work": row}, {"work": [END], "stitches": made[1]}]
            assert codes(one(again, {"stitches": below})) == [("repeat-does-not-fit", 1)]
            told += 1


def test_a_repeat_to_the_end_with_nothing_left_is_not_worked() -> None:
    # Three plain use up three: none is left to repeat over, and no space has to be there.
    into = {"repeat": [{"into_space": 2}], "times": "to-end"}
    assert audited(one([{"work": [plain(3), into], "stitches": 3}], {"stitches": 3})).holds
    assert codes(one([{"work": [plain(2), into]}], {"stitches": 4})) == [("no-space-here", 1)]


def test_a_repeat_that_takes_nothing_never_comes_to_the_end() -> None:
    # Two more into the stitch just worked take none of those below.
    into_one = {"repeat": [{"same_stitch": 2}], "times": "to-end"}
    assert audited(one([{"work": [plain(3), into_one], "stitches": 3}], {"stitches": 3})).holds
    found = audited(one([{"work": [plain(2), into_one]}], {"stitches": 3})).findings[0]
    assert found.code == "repeat-does-not-fit"
    assert "takes 0 stitches over 1 stitch, 0 times with 1 left over" in found.text
    assert found.correction.text == "repeat it 0 times and work the last 1 plain"


def test_a_chain_too_short_for_a_stitch_makes_none() -> None:
    # The first stitch is to go into the 4th chain, and there are 2: none, and no fewer.
    short = {"chain": 2, "first_stitch_in_chain": 4}
    (found,) = audited(one([{"work": [plain(3)]}], short)).findings
    assert (found.code, found.row, found.comes_to) == ("stitches-short", 1, Amount(0, "stitches"))
    assert "takes 3 of the 0 stitches below" in found.text


@pytest.mark.parametrize(
    ("below", "left", "verb"), [(3, 1, "1 stitch is left"), (4, 2, "2 stitches are left"),
                                (2, 0, "0 stitches are left")],
)  # fmt: skip
def test_going_on_to_more_than_is_left(below: int, left: int, verb: str) -> None:
    # Two together leave so many, of which the last five are to be kept.
    work = [DEC, {"plain": {"to_last": 5}}, plain(left)] if left else [
        DEC, {"plain": {"to_last": 5}}]  # fmt: skip
    found = audited(one([{"work": work}], {"stitches": below})).findings[0]
    assert (found.code, found.stated.count, found.comes_to.count) == ("stitches-short", 5, left)
    assert f"is to go on to the last 5, where {verb}" in found.text
    assert found.correction.text == f"to the last {left} here"


def test_a_pattern_of_many_rows_and_stitches_is_not_past_its_limits() -> None:
    # 10,000 stitches may be reckoned, and 10,000 rows.
    assert audited(one([{"work": [END], "stitches": 10_000}], {"stitches": 10_000})).holds
    assert audited(one([{"work": [rep(5000, INC)], "stitches": 10_000}], {"stitches": 5000})).holds
    with pytest.raises(Refused):
        audited(one([{"work": [rep(5001, INC)]}], {"stitches": 5001}))
    assert audited(one([{"last_row": 10_000, "work": [END]}], {"stitches": 9})).holds
    with pytest.raises(Refused) as refused:
        audited(one([{"last_row": 9_999, "work": [END]}, {"work": [END]}, {"work": [END]}],
                    {"stitches": 9}))  # fmt: skip
    assert [r.code for r in refused.value.refusals] == ["too-many-rows"]


@pytest.mark.parametrize(
    ("chain", "stated", "made", "text"),
    [
        # First stitch in the 2nd chain: 21 chains give 20.
        (21, 19, 20, "state 20 stitches"), (20, 20, 19, "chain 21"),
    ],
)  # fmt: skip
def test_a_foundation_is_mended_by_what_the_rows_go_on_from(
    chain: int, stated: int, made: int, text: str
) -> None:
    base = {"chain": chain, "first_stitch_in_chain": 2, "stitches": stated}
    found = audited(one(even(20), base)).findings[0]
    assert (found.code, found.stated.count, found.comes_to.count) == (
        "foundation-count", stated, made)  # fmt: skip
    assert found.correction.text == text
