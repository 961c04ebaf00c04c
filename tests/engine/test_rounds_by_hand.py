"""Pieces in the round by hand: what is sized, made up and cautioned, and what is refused.

Sources: geometry (circle 2 pi r, slant of a frustum by Pythagoras); 16 CFR 1501.4 for small parts
(31.75 mm wide, 57.15 mm deep at its deepest); the rest common practice, no published source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import hypot, pi, sqrt
from typing import Any

import pytest

from service.engine.continuing import ContinueOrder
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import Gauge, square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.rounding import Multiple
from service.engine.roundplans import (
    RoundPlan,
    RoundTemplate,
    SegmentPlan,
    StartPlan,
)
from service.engine.sizing import PieceOrder
from service.engine.templates import MeasurementPlan
from service.engine.terms import Term
from tests.pieces import order

# Stitches and rounds of 5 mm.
FINE = square(20, 20)
BUTTON = Button(Fraction(18), Fraction(3))


def mm(size: float) -> Term:
    return Term(None, plus=Fraction(size))


def made(
    start: StartPlan, *sections: RoundPlan, gauge: Gauge = FINE, names: tuple[str, ...] = (),
    asked: dict[str, int] | None = None, template: dict[str, Any] | None = None, **more: Any,
) -> Piece:  # fmt: skip
    plans = tuple(MeasurementPlan(name, name) for name in names)
    shape = RoundTemplate("pot", "Pot", plans, start, sections, **(template or {}))
    sizes = {n: Fraction(v) for n, v in (asked or {}).items()}
    return piece(PieceOrder(gauge, shape, sizes, **more))


def codes(of: Piece) -> list[str]:
    return [c.code for c in of.cautions]


def refused(ask: Any) -> list[tuple[str, Any, Any]]:
    with pytest.raises(Refused) as no:
        ask()
    return [(r.code, r.path, r.permitted) for r in no.value.refusals]


CHAIN = StartPlan("chain", stitches=40)
RING = StartPlan("ring")


def test_a_frustum_rises_by_its_slant() -> None:
    # 40 stitches round are 200 mm, 60 are 300: 100 / 2 pi mm wider; 10 rounds are 50 mm of slant.
    pot = made(CHAIN, RoundPlan("wall", "cone", to_stitches=60, rounds=10), detail="rows")
    (wall,) = pot.sections
    wider = 100 / (2 * pi)
    assert float(wall.finished.height) == pytest.approx(sqrt(50**2 - wider**2))
    assert wall.finished.along_fabric == 50
    assert (wall.finished.circumference_at_start, wall.finished.circumference_at_end) == (200, 300)
    assert float(wall.finished.diameter_at_end) == pytest.approx(300 / pi)
    assert wall.row_counts == (42, 44, 46, 48, 50, 52, 54, 56, 58, 60)


@pytest.mark.parametrize("way", [60, 24])
def test_a_height_of_a_cone_is_counted_along_its_slant(way: int) -> None:
    # 50 mm up and as far out or in as its girth says: the slant by Pythagoras, in rounds of 5 mm.
    pot = made(CHAIN, RoundPlan("wall", "cone", to_stitches=way, height=Term("tall")),
               names=("tall",), asked={"tall": 50})  # fmt: skip
    wider = abs(way - 40) * 5 / (2 * pi)
    rounds = round(hypot(50, wider) / 5)
    assert pot.sections[0].rows == rounds
    assert float(pot.measurements["tall"].finished) == pytest.approx(
        sqrt((5 * rounds) ** 2 - wider**2)
    )


def test_a_cone_to_a_width_reports_what_its_stitches_come_to() -> None:
    # 100 mm across are 314.16 mm round, 62.8 stitches: 63, which are 315 mm round.
    pot = made(CHAIN, RoundPlan("wall", "cone", to_diameter=Term("mouth"), rounds=10),
               names=("mouth",), asked={"mouth": 100})  # fmt: skip
    assert pot.sections[0].stitches_at_end == 63
    assert float(pot.measurements["mouth"].finished) == pytest.approx(315 / pi)
    pot = made(CHAIN, RoundPlan("wall", "cone", to_circumference=Term("mouth"), rounds=10),
               names=("mouth",), asked={"mouth": 302})  # fmt: skip
    assert pot.measurements["mouth"].finished == 300


def test_what_reaches_a_length_counts_all_below_it() -> None:
    # 10 rounds of base lie 50 mm along the fabric; to 120 mm are 14 more.
    sections = (RoundPlan("base", "disc", to_diameter=mm(100)),
                RoundPlan("wall", "even", reaches=Term("all")))  # fmt: skip
    pot = made(RING, *sections, names=("all",), asked={"all": 121})
    assert [s.rows for s in pot.sections] == [10, 14]
    assert pot.measurements["all"].finished == 120
    # Half a round more than there is is one; less is already longer, and 55 mm would do.
    assert made(RING, *sections, names=("all",), asked={"all": 53}).sections[1].rows == 1
    told = refused(lambda: made(RING, *sections, names=("all",), asked={"all": 52}))
    assert told == [
        ("already-longer", ("measurements", "all"), {"minimum": {"value": 5.5, "unit": "cm"}})
    ]
    assert made(RING, *sections, names=("all",), asked={"all": 55}).sections[1].rows == 1


def test_an_oval_is_as_long_as_its_rounds_and_its_side() -> None:
    # 60 mm across are 6 rounds each way; 100 mm long leave 40 mm straight, 8 stitches.
    flat = RoundPlan("mat", "disc", to_diameter=Term("width"))
    start = StartPlan("oval", width=Term("width"), length=Term("length"))
    oval = made(start, flat, names=("width", "length"), asked={"width": 61, "length": 101})
    assert oval.start
    assert oval.start.side_stitches == 8
    # Both sides of the chain are worked into: 16 stitches of 5 mm to begin with.
    assert oval.sections[0].finished.circumference_at_start == 80
    assert (oval.measurements["width"].finished, oval.measurements["length"].finished) == (60, 100)
    assert (oval.finished.width, oval.finished.height) == (100, 0)
    # Chained for the side and one at either end, and the chain that is turned with.
    assert oval.start.chain == 8 + 2 + 1
    told = refused(lambda: made(start, flat, names=("width", "length"),
                                asked={"width": 60, "length": 60}))  # fmt: skip
    assert told == [
        ("oval-not-longer", ("measurements", "length"), {"minimum": {"value": 6.5, "unit": "cm"}})
    ]


def test_an_oval_gone_on_with_keeps_its_side() -> None:
    oval = order("oval", FINE, length=100, width=60)
    whole = piece(oval)
    # Three of six rounds, as high as planned, are half of its width.
    rest = piece(replace(oval, continue_after=ContinueOrder("oval", 3, height=Fraction(15))))
    assert rest.measurements == whole.measurements
    # If they measure 18 mm, a round less is to come: 18 + 2 x 5 is nearer 30 than 18 + 3 x 5.
    rest = piece(replace(oval, continue_after=ContinueOrder("oval", 3, height=Fraction(18))))
    assert rest.totals.rows == 2
    assert rest.measurements["width"].finished == 2 * (18 + 10)
    assert rest.measurements["length"].finished == 2 * (18 + 10) + 40


@pytest.mark.parametrize(
    ("increases", "caution"), [(None, None), (6, None), (4, "disc-cups"), (9, "disc-ruffles")]
)
def test_a_disc_lies_as_its_increases_let_it(increases: int | None, caution: str | None) -> None:
    # 2 pi lie flat where a stitch is square; 6 are 4.5 % off.
    disc = made(RING, RoundPlan("mat", "disc", to_diameter=mm(100), increases=increases))
    assert [c for c in codes(disc) if c.startswith("disc")] == ([caution] if caution else [])
    if caution:
        (told,) = [c for c in disc.cautions if c.code == caution]
        off = abs((increases or 0) / (2 * pi) - 1) * 100
        assert f"{off:.0f} % off" in told.text
        assert f"gains {increases} stitches a round where 6.28 lie flat" in told.text
        assert told.field == ("template", "sections", 0, "increases")


def test_a_disc_on_a_wall_goes_on_from_its_width() -> None:
    # 40 stitches are 200 mm round, 31.83 mm out; to 55 mm are 4.6 rounds of 5: five.
    rim = made(CHAIN, RoundPlan("wall", "even", rounds=4),
               RoundPlan("rim", "disc", to_diameter=Term("rim")), names=("rim",),
               asked={"rim": 110}, detail="rows")  # fmt: skip
    assert rim.sections[1].rows == 5
    assert float(rim.measurements["rim"].finished) == pytest.approx(2 * (200 / (2 * pi) + 25))
    # 2 pi more a round.
    assert rim.sections[1].row_counts == tuple(int(40 + 2 * pi * i + 0.5) for i in range(1, 6))
    assert rim.sections[1].finished.height == 0
    assert rim.finished.height == 20


def profile(*segments: tuple[float, float], closes: bool = False) -> RoundPlan:
    told = tuple(SegmentPlan(mm(a), mm(b)) for a, b in segments)
    return RoundPlan("body", "profile", profile=told, closes=closes)


def test_a_straight_profile_is_a_frustum() -> None:
    # 30 mm out and 40 up is a slant of 50, 10 rounds; from 200 / 2 pi mm to 30 more.
    pot = made(CHAIN, profile((30, 40)), detail="rows")
    (body,) = pot.sections
    assert body.rows == 10
    assert body.row_counts == tuple(int((200 + 2 * pi * 3 * i) / 5 + 0.5) for i in range(1, 11))
    assert float(body.finished.height) == pytest.approx(40)


def test_a_profile_comes_to_nothing_or_crosses_its_axis_only_where_it_may() -> None:
    # 31.8 mm out; 30 in leave 1.8 mm, which is 2.3 stitches: fewer than three cannot go round.
    told = refused(lambda: made(CHAIN, profile((-30, 40))))
    assert told[0][0] == "profile-comes-to-nothing"
    assert told[0][2] == {"or": '"closes": true', "fewest_stitches": 3}
    closed = made(CHAIN, profile((-30, 40), closes=True), detail="rows")
    counts = closed.sections[0].row_counts or ()
    assert counts[-1] >= 3
    assert made(CHAIN, profile((-28, 40))).sections[0].stitches_at_end >= 3
    # Half a round past the axis is the rounding of what is below; more is not.
    made(CHAIN, profile((-34, 40), closes=True))
    told = refused(lambda: made(CHAIN, profile((-35, 40), closes=True)))
    assert told[0][0] == "profile-crosses-axis"
    assert told[0][2]["furthest_in_mm"] == pytest.approx(31.831)


def test_a_profile_of_less_than_half_a_round_has_none() -> None:
    path = ("template", "sections", 0, "profile")
    told = refused(lambda: made(CHAIN, profile((0, 2.4))))
    assert told == [("measurement-too-small", path, {"rounds": 1})]
    assert made(CHAIN, profile((0, 2.5))).sections[0].rows == 1


def test_measurements_of_a_profile_are_as_much_more_as_its_widest() -> None:
    # A quarter of an ellipse in chords would be measured; straight: out 30 of 61.83 mm, and
    # 78 stitches (388.5 mm) come to 390; 10 rounds for a slant of 50.
    shape = RoundPlan("body", "profile", profile=(SegmentPlan(Term("out"), Term("up")),))
    pot = made(CHAIN, shape, names=("out", "up"), asked={"out": 30, "up": 40})
    share = 78 * 5 / (2 * pi * (200 / (2 * pi) + 30))
    assert pot.sections[0].stitches_at_end == 78
    assert float(pot.measurements["out"].finished) == pytest.approx(30 * share)
    assert float(pot.measurements["up"].finished) == pytest.approx(40)
    longer = made(CHAIN, shape, names=("out", "up"), asked={"out": 30, "up": 43})
    slant = hypot(30, 43)
    assert float(longer.measurements["up"].finished) == pytest.approx(43 * 50 / slant)


@pytest.mark.parametrize(
    ("ask", "code", "path", "permitted"),
    [
        (lambda: made(CHAIN, RoundPlan("wall", "even", rounds=4), right_side_only=True),
         "no-wrong-side", ("right_side_only",), {"right_side_only": False}),
        (lambda: made(CHAIN, RoundPlan("wall", "even", rounds=4), closure=ClosureOrder()),
         "closure-without-button", ("closure",), {"add": "button"}),
        (lambda: made(CHAIN, RoundPlan("wall", "even", rounds=4), button=BUTTON,
                      closure=ClosureOrder("slit")),
         "slit-in-rounds", ("closure", "kind"), ["loop"]),
        (lambda: made(CHAIN, profile((-30, 40), closes=True), button=BUTTON),
         "no-open-edge", ("button",), {"leave_out": "button"}),
        (lambda: made(CHAIN, profile((-30, 40), closes=True), edging=EdgingOrder()),
         "no-open-edge", ("edging",), {"leave_out": "edging"}),
        (lambda: made(CHAIN, RoundPlan("wall", "cone", to_stitches=60, rounds=5), max_change=3),
         "round-changes-too-much", ("max_change",), {"minimum": 4, "section": 0}),
        (lambda: made(StartPlan("chain", stitches=12), RoundPlan("wall", "even", rounds=4),
                      button=BUTTON, closure=ClosureOrder(span=11)),
         "loop-does-not-fit", ("closure", "span"), {"maximum": 10}),
        (lambda: made(StartPlan("chain", stitches=41), RoundPlan("wall", "even", rounds=4),
                      template={"stitch_multiple": None}, stitch_multiple=None,
                      row_multiple=None, max_change=None, gauge=square(20, 20, stitch="chain")),
         "stitch-makes-no-rows", ("gauge", "stitch"),
         ["slip-stitch", "single-crochet", "half-double-crochet", "double-crochet",
          "treble-crochet"]),
    ],
)  # fmt: skip
def test_what_cannot_be_done_in_the_round(ask: Any, code: str, path: Any, permitted: Any) -> None:
    assert (code, path, permitted) in refused(ask)


def test_what_is_permitted_of_rounds_works() -> None:
    made(CHAIN, RoundPlan("wall", "cone", to_stitches=60, rounds=5), max_change=4)
    # A first round into a ring begins with what it has, and changes nothing.
    made(RING, RoundPlan("mat", "disc", to_diameter=mm(100)), max_change=7)
    made(StartPlan("chain", stitches=12), RoundPlan("wall", "even", rounds=4), button=BUTTON,
         closure=ClosureOrder(span=10))  # fmt: skip
    assert refused(lambda: made(RING, RoundPlan("mat", "disc", to_diameter=mm(100)), max_change=6)
                   ) == [("round-changes-too-much", ("max_change",),
                          {"minimum": 7, "section": 0})]  # fmt: skip


@pytest.mark.parametrize(
    ("across", "tall", "small"),
    [
        # 12 stitches of 5 mm are 19.1 mm across; 11 rounds are 55 mm, 12 are 60.
        (12, 11, True), (12, 12, False),
        # 20 are 31.83 mm across, and pass the 31.75 mm of the cylinder.
        (19, 11, True), (20, 11, False),
    ],
)  # fmt: skip
def test_a_small_piece_is_a_small_part(across: int, tall: int, small: bool) -> None:
    pot = made(StartPlan("chain", stitches=across), RoundPlan("wall", "even", rounds=tall))
    told = [c for c in pot.cautions if c.code == "small-part"]
    assert bool(told) is small
    assert not small or (told[0].text.startswith("A piece") and told[0].field == ("measurements",))


def test_a_long_thin_tube_is_a_cord() -> None:
    # A tube 19 mm across and a metre long.
    cord = made(StartPlan("chain", stitches=12), RoundPlan("wall", "even", rounds=200))
    (told,) = [c for c in cord.cautions if c.code.startswith("cord") or "cord" in c.text.lower()]
    assert told.field == ("template",)
    assert "cord" not in str(codes(made(CHAIN, RoundPlan("wall", "even", rounds=10))))


def test_an_edging_stands_on_the_rim() -> None:
    plain = made(CHAIN, RoundPlan("wall", "even", rounds=20))
    edged = made(CHAIN, RoundPlan("wall", "even", rounds=20), edging=EdgingOrder(rounds=2))
    assert edged.edging
    assert edged.edging.finished.height == plain.finished.height + 2 * edged.edging.round_height
    assert edged.edging.finished.width == plain.finished.width
    assert edged.edging.growth.width == 0


def test_checkpoints_lie_flat_or_across() -> None:
    cup = piece(order("cup", FINE, diameter=100, height=50))
    base, wall = (c for c in cup.checkpoints if c.where != "first round")
    # 63 stitches are 315 mm round: 100.3 across, or 157.5 laid flat.
    assert float(base.width or 0) == pytest.approx(315 / pi)
    assert (base.height, base.height_tolerance) == (None, None)
    assert (wall.width, wall.height) == (Fraction(315, 2), 100)
    assert (base.after_row, wall.after_row) == (10, 20)
    oval = piece(order("oval", FINE, length=100, width=60))
    across = oval.checkpoints[-1]
    # 6 rounds to either side and 8 stitches between.
    assert across.width == 2 * 30 + 40
    # Gone on with, the rounds worked count as they were measured.
    on = piece(replace(order("cup", FINE, diameter=100, height=50),
                       continue_after=ContinueOrder("wall", 14, height=Fraction(84))))  # fmt: skip
    (last,) = on.checkpoints
    assert last.height == 84 + 5 * on.totals.rows


def test_a_multiple_is_kept_in_fixed_counts() -> None:
    start, wall = StartPlan("chain", stitches=41), RoundPlan("wall", "even", rounds=5)
    code, path = "not-in-multiple", ("template", "start", "stitches")
    told = refused(lambda: made(start, wall, stitch_multiple=Multiple(2)))
    assert (code, path, {"stitches": [40, 42]}) in told
    told = refused(lambda: made(CHAIN, wall, row_multiple=Multiple(2)))
    assert (code, ("template", "sections", 0, "rounds"), {"rows": [4, 6]}) in told
    made(StartPlan("chain", stitches=42), RoundPlan("wall", "even", rounds=6),
         stitch_multiple=Multiple(2), row_multiple=Multiple(2))  # fmt: skip
