"""Openings that a template asks for: placed by hand, read back, and refused with what would fit."""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

import pytest

from service.engine.continuing import ContinueOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.sizing import PieceOrder
from service.engine.stitches import STITCHES
from service.engine.templates import (
    FoundationPlan,
    MeasurementPlan,
    OpeningPlan,
    SectionPlan,
    Template,
    Term,
)
from tests.engine.test_instructions import read, texts

GAUGE = square(20, 20)  # 5 mm a stitch and a row
BODY = SectionPlan("body", "even", rows=20)


def mm(length: float) -> Term:
    return Term(None, plus=Fraction(length))


def slot(name: str, height: float, **told: Any) -> OpeningPlan:
    lengths = {k: mm(v) if k != "stitches" else v for k, v in told.items()}
    return OpeningPlan(name, mm(height), **lengths)


def asked(openings: tuple[OpeningPlan, ...], stitches: int = 30,
          sections: tuple[SectionPlan, ...] = (BODY,), **made_up: Any) -> PieceOrder:  # fmt: skip
    template = Template("bag", "Bag", (), FoundationPlan(stitches=stitches), sections,
                        openings=openings)  # fmt: skip
    return PieceOrder(made_up.pop("gauge", GAUGE), template, {}, detail="rows", **made_up)


def rows_of(made: Piece, row: int) -> str:
    return next(t for t in texts(made) if f"Row {row} (" in t)


def test_a_handle_is_skipped_chained_and_worked_back() -> None:
    # By hand: 52 mm up is 10.4 rows, so row 11 opens over 10 rows; 28 mm is 5.6 stitches, so 6;
    # 30 less 6 leaves 12 at either side.
    made = piece(asked((slot("handle", 52, width=28),)))
    (handle,) = made.openings
    assert (handle.row, handle.first_stitch, handle.last_stitch) == (11, 13, 18)
    assert (handle.skipped, handle.chain) == (6, 6)
    assert (handle.height.asked, handle.height.finished) == (52, 50)
    assert (handle.width.asked, handle.width.finished, handle.width.difference) == (28, 30, 2)
    assert rows_of(made, 11).endswith(
        "Ch 1, turn, sc in next 12 sts, ch 6, skip next 6 sts, sc in next 12 sts (handle)."
        " (30 sts, 6 of them the ch-6 space)"
    )
    assert rows_of(made, 12).endswith(
        "Ch 1, turn, sc in next 12 sts, 6 sc in the ch-6 space, sc in next 12 sts. (30 sts)"
    )


@pytest.mark.parametrize(("height", "row"), [(45, 10), (50, 11)])
def test_a_distance_from_the_left_is_counted_from_the_end_that_the_row_starts_at(
    height: int, row: int
) -> None:
    # 20 mm from the left are 4 stitches. A right-side row starts at the right edge: 30 - 4 - 3
    # stitches come before the opening there, and 4 in a wrong-side row.
    made = piece(asked((slot("thumb", height, stitches=3, from_left=20),)))
    (thumb,) = made.openings
    assert thumb.row == row
    assert thumb.first_stitch == (24 if row % 2 else 5)
    assert thumb.width.asked is None
    assert thumb.width.finished == 15


@pytest.mark.parametrize("height", [45, 50])
def test_the_odd_stitch_beside_an_opening_in_the_middle_comes_after_it(height: int) -> None:
    # 30 less 3 are 27: 13 before the opening and 14 after, whichever way the row is worked.
    (eye,) = piece(asked((slot("eye", height, stitches=3),))).openings
    assert (eye.first_stitch, eye.last_stitch) == (14, 16)


@pytest.mark.parametrize(
    ("row", "first", "opened", "over"),
    [
        # One is lost at the left edge in every row: 26 stitches under row 5, of which 10 lie to the
        # left of the opening and 12 to its right; 9 and 12 in row 6, which begins at the left.
        (5, 13, "sc in next 12 sts, ch 4, skip next 4 sts, sc in next 8 sts, sc2tog",
         "sc2tog, sc in next 7 sts, 4 sc in the ch-4 space, sc in next 12 sts"),
        # 25 under row 6: 10 and 11; and then 11 and 9 from the right.
        (6, 11, "sc2tog, sc in next 8 sts, ch 4, skip next 4 sts, sc in next 11 sts",
         "sc in next 11 sts, 4 sc in the ch-4 space, sc in next 7 sts, sc2tog"),
    ],
)  # fmt: skip
def test_an_opening_beside_one_shaped_edge(row: int, first: int, opened: str, over: str) -> None:
    slope = SectionPlan("top", "taper", to_stitches=20, rows=10, edges="left")
    eye = slot("eye", 5 * (row - 1), stitches=4, from_left=50)
    made = piece(asked((eye,), 30, (slope,)))
    assert (made.openings[0].row, made.openings[0].first_stitch) == (row, first)
    assert f"turn, {opened} (eye)" in rows_of(made, row)
    assert f"turn, {over}. (" in rows_of(made, row + 1)


def test_an_opening_stands_over_rows_that_came_out_taller() -> None:
    # 4 rows measure 24 mm and not 20; 52 mm up are 28 more, 5.6 rows: the opening is over 10 rows,
    # which are 24 and 6 times 5.
    begun = ContinueOrder("body", 4, height=Fraction(24))
    (eye,) = piece(asked((slot("eye", 52, stitches=4),), continue_after=begun)).openings
    assert (eye.row, eye.height.finished) == (11, 54)


def test_no_stitch_stands_before_an_opening_that_the_turning_chain_leads_to() -> None:
    # The turning chain is the first double crochet of the row, and the only one on that side.
    tall = square(20, 20, stitch="double-crochet")
    for height, row in ((45, 10), (50, 11)):
        at = 5 if row == 10 else 130  # from the left, 30 stitches of 5 mm less 3 and one
        asked_for = asked((slot("eye", height, stitches=3, from_left=at),), gauge=tall,
                          turning_chain_counts=True)  # fmt: skip
        made = piece(asked_for)
        assert (made.openings[0].row, made.openings[0].first_stitch) == (row, 2)
        assert ", ch 3, skip next 3 sts, dc in next 26 sts (eye)" in rows_of(made, row)
        assert "in next 0" not in " ".join(texts(made))


def test_several_openings_share_a_row() -> None:
    holes = tuple(slot(f"hole {name}", 50, stitches=2, from_left=at)
                  for name, at in (("a", 20), ("b", 60), ("c", 100)))  # fmt: skip
    made = piece(asked(holes))
    assert rows_of(made, 11).endswith(
        "Ch 1, turn, sc in next 8 sts, ch 2, skip next 2 sts, sc in next 6 sts, ch 2, skip next"
        " 2 sts, sc in next 6 sts, ch 2, skip next 2 sts, sc in next 4 sts (hole c and hole b and"
        " hole a). (30 sts, 6 of them in 3 ch spaces)"
    )
    assert list(read(made, "sc").values()) == [30] * 20


def test_an_opening_may_stand_in_the_row_over_another() -> None:
    made = piece(asked((slot("low", 50, stitches=4, from_left=20),
                        slot("high", 55, stitches=5, from_left=80))))  # fmt: skip
    assert rows_of(made, 12).endswith(
        "Ch 1, turn, sc in next 4 sts, 4 sc in the ch-4 space, sc in next 8 sts, ch 5, skip next"
        " 5 sts, sc in next 9 sts (high). (30 sts, 5 of them the ch-5 space)"
    )
    assert list(read(made, "sc").values()) == [30] * 20


def test_a_buttons_slit_keeps_off_the_rows_of_an_opening() -> None:
    made_up = {"button": Button(Fraction(18)), "closure": ClosureOrder("slit")}
    alone = piece(asked((), **made_up)).buttonhole
    assert alone is not None
    assert alone.slit_place is not None
    taken = slot("handle", 5 * (alone.slit_place.row - 1), stitches=3, from_left=10)
    both = piece(asked((taken,), **made_up))
    assert both.buttonhole is not None
    assert both.buttonhole.slit_place is not None
    assert abs(both.buttonhole.slit_place.row - both.openings[0].row) > 1
    assert list(read(both, "sc").values()) == [30] * 20


@pytest.mark.parametrize("counts", [True, False])
@pytest.mark.parametrize("stitch", [s.key for s in STITCHES.values() if s.makes_rows])
def test_rows_with_openings_take_and_make_what_they_say(stitch: str, counts: bool) -> None:
    gauge = square(20, 20, stitch=stitch)
    if STITCHES[stitch].turning_chain < 2:
        counts = False  # a chain of one never counts
    worked = 0
    for seed in range(60):
        dice = random.Random(f"slots {seed}")
        shape = SectionPlan("top", "taper", to_stitches=dice.choice([8, 20, 44]), rows=12,
                            max_change=dice.choice([2, 3, 6]))  # fmt: skip
        openings = tuple(
            slot(f"slot {'abcd'[i]}", dice.randint(5, 80), stitches=dice.randint(1, 5),
                 **({"from_left": dice.randint(5, 90)} if dice.random() < 0.7 else {}))
            for i in range(dice.randint(1, 4)))  # fmt: skip
        bottom = SectionPlan("body", "even", rows=5)
        try:
            made = piece(asked(openings, 30, (bottom, shape), gauge=gauge,
                               turning_chain_counts=counts))  # fmt: skip
        except Refused:
            continue
        worked += 1
        counted = [n for s in made.sections for n in s.row_counts or ()]
        assert list(read(made, STITCHES[stitch].us.short).values()) == counted
        for opening in made.openings:
            told = rows_of(made, opening.row)
            assert opening.name in told
            assert f"ch {opening.chain}, skip next {opening.skipped} st" in told
    assert worked > 15


def refusal(order: PieceOrder) -> Any:
    with pytest.raises(Refused) as told:
        piece(order)
    (one,) = told.value.refusals
    return one


def test_an_opening_as_wide_as_its_row_is_refused_with_the_most_that_fits() -> None:
    told = refusal(asked((slot("handle", 50, stitches=29),)))
    assert (told.code, told.path) == (
        "opening-does-not-fit",
        ("template", "openings", 0, "stitches"),
    )
    assert told.permitted["most_stitches"] == 28
    piece(asked((slot("handle", 50, stitches=28),)))


def test_shaping_of_its_rows_is_left_room_for() -> None:
    # Two rows that lose 2 at each edge take 4 beside the plain stitch: 5 at either side.
    shape = SectionPlan("top", "taper", to_stitches=6, rows=6, max_change=4)
    order = asked((slot("eye", 10, stitches=13),), 30, (shape,))
    told = refusal(order)
    before = told.permitted["stitches_in_row"]
    assert told.permitted["most_stitches"] == before - 2 * 5
    made = piece(asked((slot("eye", 10, stitches=before - 10),), 30, (shape,)))
    assert list(read(made, "sc").values()) == [26, 22, 18, 14, 10, 6]


@pytest.mark.parametrize("from_left", [2, 146])
def test_a_place_off_the_row_is_refused_with_where_it_fits(from_left: int) -> None:
    told = refusal(asked((slot("eye", 50, stitches=4, from_left=from_left),)))
    assert (told.code, told.path[-1]) == ("opening-does-not-fit", "from_left")
    for at in told.permitted["from_left_mm"]:
        made = piece(asked((slot("eye", 50, stitches=4, from_left=at),)))
        assert list(read(made, "sc").values()) == [30] * 20


@pytest.mark.parametrize("height", [1, 97, 500])
def test_the_first_and_the_last_row_are_not_opened(height: int) -> None:
    told = refusal(asked((slot("eye", height, stitches=4),)))
    assert told.code == "opening-outside"
    for end in ("minimum", "maximum"):
        assert told.permitted[end]["unit"] == "cm"
        at = 10 * told.permitted[end]["value"]
        assert piece(asked((slot("eye", at, stitches=4),))).openings[0].row in (2, 19)


def test_openings_that_meet_are_refused_with_where_they_would_not() -> None:
    low = slot("low", 50, stitches=6, from_left=50)
    told = refusal(asked((low, slot("high", 55, stitches=3, from_left=80))))
    assert told.code == "openings-overlap"
    begins, ends = told.permitted["begins_at_least_mm"], told.permitted["ends_at_most_mm"]
    # At 5 mm the low one takes stitches 11 to 16 from the left: 17 or 10 stay between.
    assert (begins, ends) == (85, 45)
    for at in (begins, ends - 15):
        made = piece(asked((low, slot("high", 55, stitches=3, from_left=at))))
        assert list(read(made, "sc").values()) == [30] * 20


def test_an_opening_narrower_than_half_a_stitch_is_refused() -> None:
    told = refusal(asked((slot("eye", 50, width=2.4),)))
    assert (told.code, told.permitted["minimum"]["value"]) == ("measurement-too-small", 0.25)
    piece(asked((slot("eye", 50, width=2.5),)))


def test_a_piece_of_two_rows_has_no_row_to_open() -> None:
    two = SectionPlan("body", "even", rows=2)
    assert refusal(asked((slot("eye", 5, stitches=2),), 30, (two,))).code == "opening-outside"


def test_a_cord_of_chains_is_not_opened() -> None:
    cord = Template("tie", "Tie", (MeasurementPlan("depth", "across", optional=True),),
                    FoundationPlan(stitches=30),
                    (SectionPlan("tie", "even", height=Term("depth"), rows=1),),
                    openings=(slot("eye", 50, stitches=2),))  # fmt: skip
    told = refusal(PieceOrder(square(20, 20, stitch="chain"), cord, {}))
    assert (told.code, told.path) == ("cord-has-no-edges", ("template", "openings"))


def test_measurements_of_openings_come_to_what_was_made() -> None:
    names = ("reach", "wide", "side")
    template = Template(
        "bag", "Bag", tuple(MeasurementPlan(n, "of the handle") for n in names),
        FoundationPlan(stitches=30), (BODY,),
        openings=(OpeningPlan("handle", Term("reach"), Term("wide"), from_left=Term("side")),),
    )  # fmt: skip
    made = piece(PieceOrder(GAUGE, template, dict(zip(names, map(Fraction, (52, 28, 41)),
                                                      strict=True))))  # fmt: skip
    # By hand, at 5 mm: 10.4 rows, 5.6 and 8.2 stitches.
    assert [made.measurements[n].finished for n in names] == [50, 30, 40]


def test_what_a_document_may_not_say_of_openings() -> None:
    may = MeasurementPlan("may", "perhaps", optional=True)
    openings = (
        OpeningPlan("eye", mm(50)),
        OpeningPlan("eye", Term("may"), mm(9), 2),
    )
    sections = (BODY, SectionPlan("more", "even", height=Term("may"), rows=1))
    template = Template("bag", "Bag", (may,), FoundationPlan(stitches=30), sections,
                        openings=openings)  # fmt: skip
    with pytest.raises(Refused) as told:
        piece(PieceOrder(GAUGE, template, {}))
    assert [(r.code, r.path[1:]) for r in told.value.refusals] == [
        ("opening-size", ("openings", 0)),
        ("opening-size", ("openings", 1)),
        ("optional-in-opening", ("openings", 1, "height")),
        ("opening-name-twice", ("openings", 1, "name")),
    ]
