"""Audits of published worked arithmetic, of every way to slip in it, and against a brute force."""

from __future__ import annotations

import random
from typing import Any

import pytest

from service.api.audit_requests import AuditRequest
from service.engine.auditorder import (
    MOST_WORK,
    AuditPiece,
    FoundationOrder,
    LineOrder,
    WorkOrder,
)
from service.engine.auditrows import Below, Budget, steps, work
from service.engine.auditsizes import tolerance
from service.engine.auditwalk import walk
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.units import FOUR_INCHES
from tests.auditing import Json, audited

EVEN = "published, by the rule of Sweater 101 (1991) and Knitwear Design Workshop (2010)"
SLEEVE = "teaching page, sleeve worked by hand"
TEACHING = "teaching page of worked foundation arithmetic"
HANDBOOK = "Knitting & Crocheting All-in-One (handbook)"
TRADE = "trade multiples of rounds; Simply Crochet, 2020"
MAGAZINE = "magazine lessons on openings"
PRACTICE = "common practice, no published source"

END = {"plain": "to-end"}
INC, DEC = {"increase": 2}, {"together": 2}


def one(rows: list[Json], foundation: Json | None = None, **more: Any) -> Json:
    piece: Json = {"name": "case", "rows": rows, **more}
    if foundation is None:
        piece["worked"] = "round"
    else:
        piece["foundation"] = foundation
    return {"sizes": ["pocket"], "pieces": [piece]}


def rep(times: int, *group: Json) -> Json:
    return {"repeat": list(group), "times": times}


def plain(n: int) -> Json:
    return {"plain": n}


def half(k: int) -> list[Json]:
    """Half a round of an oval over a chain of 6: three at the end each become two, then 3 plain."""
    return [rep(3, *([plain(k)] if k else []), INC), plain(3)]


PUBLISHED = [
    ("42 less 6", one([{"work": [rep(6, plain(5), DEC)], "stitches": 36}], {"stitches": 42}), EVEN),
    ("40 plus 8", one([{"work": [rep(8, plain(4), INC)], "stitches": 48}], {"stitches": 40}), EVEN),
    (
        "56 less 16, 3 and 4 in turn",
        one([{"work": [rep(8, plain(1), DEC, plain(2), DEC)], "stitches": 40}], {"stitches": 56}),
        EVEN,
    ),
    (
        "34, at row 9 and then every 4th row 10 times, 13 rows even",
        one(
            [
                {
                    "last_row": 62,
                    "schedule": [
                        {"rows": 9, "every": 9, "times": 1, "left": 1, "right": 1},
                        {"rows": 40, "every": 4, "times": 10, "left": 1, "right": 1,
                         "stitches_after": 56},
                        {"rows": 13},
                    ],
                    "stitches": 56,
                }
            ],
            {"stitches": 34},
        ),
        SLEEVE,
    ),
    (
        "an oval on a chain of 6",
        one(
            [
                {"work": [{"increase": 3}, plain(3), {"increase": 3}, plain(3)], "stitches": 12},
                {"work": half(0) * 2, "stitches": 18},
                {"work": half(1) * 2, "stitches": 24},
                {"work": half(2) * 2, "stitches": 30},
            ],
            {"chain": 6, "first_stitch_in_chain": 2, "both_sides": True},
            worked="round",
        ),
        TRADE,
    ),
    (
        "a disc that grows by 6",
        one(
            [
                {"work": [{"into_ring": 6}], "stitches": 6},
                *(
                    {"work": [rep(6, plain(n), INC)], "stitches": 12 + 6 * n}
                    for n in range(5)
                ),
            ]
        ),
        TRADE,
    ),
    (
        "6 chains over 3, and 6 into them",
        one(
            [
                {"work": [plain(9), {"chain": 6, "counts_as": 6}, {"skip": 3}, END],
                 "stitches": 23},
                {"work": [plain(8), {"into_space": 6}, plain(9)], "stitches": 23},
            ],
            {"stitches": 20},
        ),
        MAGAZINE,
    ),
    (
        "a chain fewer than is skipped, and the count comes back",
        one(
            [
                {"work": [plain(9), {"chain": 2, "counts_as": 3}, {"skip": 3}, END],
                 "stitches": 20},
                {"work": [plain(8), {"into_space": 3}, plain(9)], "stitches": 20},
            ],
            {"stitches": 20},
        ),
        MAGAZINE,
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("form", "source"), [p[1:] for p in PUBLISHED], ids=[p[0] for p in PUBLISHED]
)
def test_published_arithmetic_holds_and_a_count_off_does_not(form: Json, source: str) -> None:
    made = audited(form)
    assert made.holds, (source, made.findings[0].text)
    for line in form["pieces"][0]["rows"]:
        for off in (-1, 1):
            line["stitches"] += off
            (found,) = audited(form).findings
            assert (found.code, found.comes_to.count) == ("stated-count", line["stitches"] - off)
            line["stitches"] -= off


@pytest.mark.parametrize(
    ("chain", "first", "counts", "stitches", "source"),
    [
        (11, 2, False, 10, TEACHING),
        (43, 2, False, 42, PRACTICE),
        (12, 3, True, 11, TEACHING),
        (13, 3, False, 11, TEACHING),
        (12, 2, False, 11, HANDBOOK),
        (13, 4, False, 10, TEACHING),
        (14, 4, False, 11, TEACHING),
        (13, 4, True, 11, HANDBOOK),
        (12, 3, True, 11, HANDBOOK),
        (15, 5, False, 11, TEACHING),
        (14, 5, True, 11, HANDBOOK),
        # One stitch alone goes into the last chain, and no chain stands for it.
        (3, 3, True, 1, PRACTICE),
    ],
)
def test_a_foundation_as_the_trade_makes_it_holds(
    chain: int, first: int, counts: bool, stitches: int, source: str
) -> None:
    base = {"chain": chain, "first_stitch_in_chain": first, "turning_chain_counts": counts,
            "stitches": stitches}  # fmt: skip
    rows = [{"work": [END], "stitches": stitches}]
    assert audited(one(rows, base)).holds, source
    for off in (-1, 1):
        found = audited(one(rows, {**base, "chain": chain + off})).findings
        assert [f.code for f in found] == ["foundation-count"]
        if stitches > 1:
            assert found[0].correction.count == chain


# 38 stitches at 16 to 10 cm are 23.75 cm; a swatch counted to a quarter stitch and measured to
# 2 mm leaves 2.54 % open, which is 6.1 mm of 24 cm, and half a stitch is 3.1 mm.
@pytest.mark.parametrize(
    ("stated", "holds"), [(24.3, True), (24.4, False), (23.2, True), (23.1, False)]
)
def test_a_width_is_held_against_what_the_swatch_leaves_open(stated: float, holds: bool) -> None:
    form = one([{"last_row": 57, "work": [END]}], {"stitches": 38})
    form["gauge"] = {"stitch": "single-crochet", "stitches": 16, "width": cm(10), "rows": 19,
                     "height": cm(10)}  # fmt: skip
    form["pieces"][0]["measurements"] = [{"name": "w", "measures": "width", "stated": cm(stated)}]
    assert audited(form).holds is holds


def cm(value: float) -> Json:
    return {"value": value, "unit": "cm"}


def inch(value: float) -> Json:
    return {"value": value, "unit": "in"}


def test_the_published_sleeve_holds_in_its_measurements() -> None:
    # Teaching page: 5 sts and 7 rows an inch, cuff 7 3/4 in, upper 12 in, shaping 15 1/2 in:
    # 38 and 60 stitches, 11 increase rows in 108 rows.
    runs = [
        {"rows": 18, "every": 9, "times": 2, "left": 1, "right": 1, "stitches_after": 42},
        {"rows": 90, "every": 10, "times": 9, "left": 1, "right": 1, "stitches_after": 60},
    ]
    form = one([{"last_row": 108, "schedule": runs, "stitches": 60}], {"stitches": 38})
    form["gauge"] = {"stitch": "single-crochet", "stitches": 20, "width": inch(4), "rows": 28,
                     "height": inch(4)}  # fmt: skip
    form["pieces"][0]["measurements"] = [
        {"name": "cuff", "measures": "width", "at": "foundation", "stated": inch(7.75)},
        {"name": "upper", "measures": "width", "at": "last-row", "stated": inch(12)},
        {"name": "shaping", "measures": "height", "stated": inch(15.5)},
    ]
    assert audited(form).holds, SLEEVE
    form["pieces"][0]["rows"][0]["schedule"][1]["times"] = 8
    assert [f.code for f in audited(form).findings] == ["stated-count"]


def test_half_a_stitch_is_near_enough_of_a_small_piece() -> None:
    # 14 to 4 in: a stitch is 7.26 mm wide.
    gauge = square(14, 16, FOUR_INCHES)
    assert tolerance(gauge.stitch_width, gauge, up=False) == gauge.stitch_width / 2
    assert tolerance(gauge.row_height, gauge, up=True) == gauge.row_height / 2


# --- brute force: a row worked stitch by stitch on a list ---------------------------------------


def by_hand(row: list[Json], below: int) -> tuple[int, int] | None:
    """Work a row with the stitches below in a row of pegs; None where it asks for what is not."""
    pegs, made = list(range(below)), 0

    def take(n: int) -> None:
        for _ in range(n):
            pegs.pop(0)

    def do(op: Json) -> None:
        nonlocal made
        if "repeat" in op:
            if isinstance(op["times"], int):
                for _ in range(op["times"]):
                    for inner in op["repeat"]:
                        do(inner)
                return
            keep = 0 if op["times"] == "to-end" else op["times"]["to_last"]
            while len(pegs) > keep:
                for inner in op["repeat"]:
                    do(inner)
            if len(pegs) != keep:
                raise IndexError
            return
        ((kind, n),) = op.items()
        if kind == "plain":
            if not isinstance(n, int):
                n = len(pegs) - (0 if n == "to-end" else n["to_last"])
                if n < 0:
                    raise IndexError
            take(n)
            made += n
        elif kind == "increase":
            take(1)
            made += n
        elif kind == "together":
            take(n)
            made += 1
        elif kind == "skip":
            take(n)
        elif kind == "leave":
            take(len(pegs) if n == "rest" else n)
        elif kind == "same_stitch":
            made += n

    try:
        for op in row:
            do(op)
    except IndexError:
        return None
    return (below, made) if not pegs else None


def any_row(dice: random.Random) -> list[Json]:
    def simple(open_ended: bool) -> Json:
        n: Any = dice.randint(1, 4)
        if open_ended and dice.random() < 0.3:
            n = dice.choice(("to-end", {"to_last": dice.randint(0, 4)}))
            return {"plain": n}
        kind = dice.choice(("plain", "plain", "increase", "together", "skip", "same_stitch"))
        return {kind: max(2, n) if kind in ("increase", "together") else n}

    row: list[Json] = []
    for _ in range(dice.randint(1, 4)):
        if dice.random() < 0.4:
            times: Any = dice.randint(1, 4)
            if dice.random() < 0.5:
                times = dice.choice(("to-end", {"to_last": dice.randint(0, 3)}))
            group = [simple(False) for _ in range(dice.randint(1, 3))]
            takes = any(next(iter(op)) != "same_stitch" for op in group)
            row.append({"repeat": group if takes else [plain(1), *group], "times": times})
        else:
            row.append(simple(True))
    if dice.random() < 0.2:
        row.append({"leave": dice.choice((1, 2, "rest"))})
    return row


def test_rows_fit_and_come_to_what_they_do_worked_by_hand() -> None:
    dice, fitted, unfit = random.Random(7), 0, 0
    for _ in range(2000):
        row, below = any_row(dice), dice.randint(1, 24)
        expected = by_hand(row, below)
        found = audited(one([{"work": row}], {"stitches": below})).findings
        stated = expected[1] if expected else 5
        if expected is None:
            assert [f.code for f in found] in (
                [["stitches-left-over"], ["stitches-short"], ["repeat-does-not-fit"]]
            ), (row, below)
            unfit += 1
        else:
            assert not found, (row, below, found[0].text)
            line = {"work": row, "stitches": stated}
            assert audited(one([line], {"stitches": below})).holds, (row, below)
            fitted += 1
    assert min(fitted, unfit) > 200


def test_rows_worked_alike_come_to_what_they_do_one_by_one() -> None:
    dice, several = random.Random(11), 0
    for _ in range(800):
        row, below, rows = any_row(dice), dice.randint(6, 40), dice.randint(2, 6)
        count, bad = below, None
        for n in range(1, rows + 1):
            made = by_hand(row, count)
            if made is None:
                bad = n
                break
            count = made[1]
        if count > 5000:
            continue
        line: Json = {"last_row": rows, "work": row}
        if bad is None:
            line["stitches"] = count
            several += 1
        found = audited(one([line], {"stitches": below})).findings
        assert [f.row for f in found] == ([] if bad is None else [bad]), (row, below, rows)
    assert several > 40


@pytest.mark.parametrize("rows", [2, 10, 4999])
def test_rows_that_change_alike_cost_what_two_do(rows: int) -> None:
    edge = [DEC, {"plain": {"to_last": 2}}, DEC]
    piece = AuditPiece("case", loaded(edge, rows), foundation=FoundationOrder(stitches=10_000))
    budget = Budget()
    walked = walk(piece, "pocket", (), budget)
    assert walked.last == 10_000 - 2 * rows
    assert MOST_WORK - budget.left == 2 * len(edge) + 1


def loaded(edge: list[Json], rows: int) -> tuple[LineOrder, ...]:
    made = AuditRequest().load(one([{"last_row": rows, "work": edge}], {"stitches": 1}))
    lines: tuple[LineOrder, ...] = made.pieces[0].rows
    return lines


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ({"last_row": 9_999,
          "work": [{"repeat": [*[plain(0)] * 39, plain(1)], "times": {"to_last": 2}}, DEC]},
         "too-much-to-audit"),
        ({"work": [rep(10_000, {"increase": 2})]}, "too-many-stitches"),
    ],
)  # fmt: skip
def test_work_is_bounded(line: Json, code: str) -> None:
    with pytest.raises(Refused) as refused:
        audited(one([line], {"stitches": 10_000}))
    assert [r.code for r in refused.value.refusals] == [code]


def test_chains_that_are_not_said_to_count_stand_for_no_stitch() -> None:
    row = steps((WorkOrder("plain", 9), WorkOrder("chain", 3)), "pocket", ())
    made = work(row, Below(9), Budget())
    assert (made.taken, made.made, made.fits) == (9, 9, True)
