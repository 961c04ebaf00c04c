"""What is refused, and just what is not yet: a case at each side of a limit, worked by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from service.engine.ask_conversion import ConversionOrder, WrittenCount, conversions
from service.engine.ask_edging import EdgingsOrder, SideOrder, edgings
from service.engine.ask_gauge_check import Companion, GaugeCheckOrder, gauge_check
from service.engine.ask_shaping import ShapingOrder, shaping
from service.engine.ask_yarn import FindOrder, YarnQuestion, made_up, yarn
from service.engine.continuing import ContinueOrder
from service.engine.dependence import order_of_work, worked_together
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import assess, square
from service.engine.leftover import measurement_of
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import piece
from service.engine.projectorder import (
    EdgeOrder,
    ProjectOrder,
    ProjectPiece,
    Reference,
    SeamOrder,
)
from service.engine.rounding import Multiple
from service.engine.roundplans import RoundPlan, RoundTemplate, StartPlan
from service.engine.roundsketches import round_sketch
from service.engine.sizing import PieceOrder
from service.engine.spacing import Placing, place, space
from service.engine.stitches import STITCHES
from service.engine.tapes import Measured
from service.engine.templates import FoundationPlan, MeasurementPlan, Template, Term
from service.engine.wanting import Wanted, needed
from service.engine.writtenwork import WrittenFoundation, WrittenSection
from service.engine.yarnmodel import loop_length
from service.engine.yarnorder import SwatchYarn, YarnOrder
from tests.pieces import order

GAUGE = square(16, 19)
CORD = square(16, 19, stitch="chain")
KNOWN = YarnOrder(swatch=SwatchYarn(unravelled=Fraction(9000), stitches=8, rows=9))
CASE = order("flap-panel", GAUGE, {"yarn": KNOWN}, width=240, body_height=300, flap_depth=150)
ROWS_MADE = [s.key for s in STITCHES.values() if s.makes_rows]
BODY = (WrittenSection("body", 30),)


def converted(**changes: object) -> Callable[[], object]:
    asked = ConversionOrder(GAUGE, square(14, 17), foundation=WrittenFoundation(stitches=41),
                            sections=BODY)  # fmt: skip
    return lambda: conversions(replace(asked, **changes))


def not_in(*fits: int) -> list[tuple[str, object, object]]:
    """Of a piece that stays as wide as it begins: at its start, and at the end of its section."""
    paths = ("foundation", "stitches"), ("sections", 0, "stitches_at_end")
    return [("not-in-multiple", path, {"stitches": [*fits]}) for path in paths]


def tube(example: Fraction | None) -> RoundTemplate:
    plans = (
        MeasurementPlan("height", "up", example=example),
        MeasurementPlan("reach", "up", example=Fraction(90)),
    )
    sections = (
        RoundPlan("tube", "even", height=Term("height")),
        RoundPlan("rim", "even", height=Term("reach")),
    )
    return RoundTemplate("tube", "Tube", plans, StartPlan("chain", stitches=64), sections)


STRING = PieceOrder(
    CORD,
    Template("string", "Button string", (MeasurementPlan("length", "along"),),
             FoundationPlan(Term("length")), ()),
    {"length": Fraction(300)},
)  # fmt: skip
CUP = order("cup", GAUGE, diameter=80, height=110)

REFUSED: list[tuple[str, Callable[[], object], list[tuple[str, object, object]]]] = [
    ("a chain is a cord: it has no rows to convert", converted(written_at=CORD, sections=()),
     [("stitch-makes-no-rows", ("from", "stitch"), ROWS_MADE)]),
    ("nor to convert to", converted(to=CORD, foundation=None, sections=(),
                                    counts=(WrittenCount("flap", "stitches", 9),)),
     [("stitch-makes-no-rows", ("to", "stitch"), ROWS_MADE)]),
    # 41 = 4 x 10 + 1: of multiples of 6 it lies between 36 and 42, of 6 and 1 more below 43.
    ("41 stitches are no multiple of 6", converted(stitch_multiple=Multiple(6)),
     not_in(36, 42)),
    ("41 are not 6n + 1", converted(stitch_multiple=Multiple(6, 1)),
     not_in(37, 43)),
    ("no gauge and no size to convert to", converted(to=None),
     [("nothing-asked", (), {"one_of": ["to", "wanted"]})]),
    ("a width of no stitches", lambda: needed(Wanted(Fraction(250)), GAUGE, 0, 57, "metric"),
     [("width-without-stitches", ("sections",), {"minimum": 1})]),
    ("a height of no rows",
     lambda: needed(Wanted(height=Fraction(250)), GAUGE, 38, 0, "metric"),
     [("height-without-rows", ("sections",), {"add": "sections"})]),
    ("nothing wanted", lambda: needed(Wanted(), GAUGE, 38, 57, "metric"),
     [("nothing-wanted", ("wanted",), {"one_of": ["width", "height"]})]),
    ("two stitches make no round", lambda: piece(
        replace(CUP, continue_after=ContinueOrder("wall", 20, stitches=2))),
     [("too-few-stitches", ("continue_after", "stitches"), {"minimum": 3})]),
    ("nothing to draw a height from", lambda: round_sketch(tube(None)),
     [("example-missing", ("template", "measurements", 0, "example"), None)]),
    ("the depth of a flap that a count cannot be found for", lambda: measurement_of(CASE, "girth"),
     [("unknown-measurement", ("find", "measurement"), ["width", "body_height", "flap_depth"])]),
    ("an ease that takes all of the partner's width", lambda: gauge_check(GaugeCheckOrder(
        CASE, "body", 20, Measured(width=Fraction(240)),
        Companion(Fraction(200), Fraction(-200), "width"))),
     [("nothing-left", ("companion", "ease"), {"more_than_mm": -200.0})]),
    ("counts to convert, of what?", converted(foundation=None, sections=(), to=GAUGE),
     [("no-counts", (), {"one_of": ["foundation", "counts"]})]),
    ("sections that stand on nothing",
     converted(foundation=None, counts=(WrittenCount("flap", "stitches", 9),)),
     [("no-foundation", ("foundation",), {"add": "foundation"})]),
    ("a wanted size of single counts", converted(
        foundation=None, sections=(), counts=(WrittenCount("flap", "stitches", 9),),
        wanted=Wanted(Fraction(200))),
     [("no-foundation", ("foundation",), {"add": "foundation"})]),
    ("wrong sides of rounds", converted(worked="round", right_side_only=True),
     [("no-wrong-side", ("right_side_only",), {"right_side_only": False})]),
    ("a section that works every stitch away",
     converted(sections=(WrittenSection("flap", 30, 0),)),
     [("no-stitches", ("sections", 0, "stitches_at_end"), {"minimum": 1}),
      ("not-in-multiple", ("sections", 0, "stitches_at_end"), {"stitches": [1]})]),
    ("a height in rows of no gauge", lambda: shaping(ShapingOrder(38, 20, height=Fraction(99))),
     [("height-without-gauge", ("gauge",), {"add": "gauge"})]),
    # Craft Yarn Council: categories 0 to 7.
    ("a yarn weight that the council has not", lambda: assess(GAUGE, 8),
     [("unknown-yarn-weight", ("yarn", "weight_category"), {"minimum": 0, "maximum": 7})]),
    ("rounds of a chain", lambda: piece(replace(CUP, gauge=CORD)),
     [("stitch-makes-no-rows", ("gauge", "stitch"), ROWS_MADE)]),
    ("wrong sides of a cup", lambda: piece(replace(CUP, right_side_only=True)),
     [("no-wrong-side", ("right_side_only",), {"right_side_only": False})]),
    ("a closure of a cup for no button", lambda: piece(replace(CUP, closure=ClosureOrder())),
     [("closure-without-button", ("closure",), {"add": "button"})]),
    ("a closure for no button", lambda: piece(replace(CASE, closure=ClosureOrder())),
     [("closure-without-button", ("closure",), {"add": "button"})]),
    ("an edging and a button of a cord", lambda: piece(
        replace(STRING, edging=EdgingOrder(),
                button=Button(Fraction(12)))),
     [("cord-has-no-edges", ("edging",), {"leave_out": "edging"}),
      ("cord-has-no-edges", ("button",), {"leave_out": "button"})]),
    ("an edging by its sides at the gauge of a cord", lambda: edgings(EdgingsOrder(
        CORD, EdgingOrder("single-crochet"), sides=(SideOrder("top", "last-row", 38),))),
     [("stitch-makes-no-rows", ("gauge", "stitch"), ROWS_MADE)]),
    ("the largest of no sizes", lambda: yarn(YarnQuestion(
        CASE, left={"": (Fraction(50_000), False)}, find=FindOrder(sizes={}))),
     [("no-sizes", ("find", "sizes"), {"fewest": 1})]),
]  # fmt: skip


@pytest.mark.parametrize(("what", "ask", "told"), REFUSED, ids=[what for what, *_ in REFUSED])
def test_what_cannot_be_is_refused_with_what_can(
    what: str, ask: Callable[[], object], told: list[tuple[str, object, object]]
) -> None:
    with pytest.raises(Refused) as refused:
        ask()
    found = [(r.code, r.path, r.permitted) for r in refused.value.refusals]
    assert found == told, what


def test_what_is_just_not_refused() -> None:
    assert round_sketch(tube(Fraction(100))).dimensions
    at_three = ContinueOrder("wall", 20, stitches=3)
    assert piece(replace(CUP, continue_after=at_three)).sections
    assert conversions(
        ConversionOrder(GAUGE, square(14, 17), foundation=WrittenFoundation(stitches=42),
                        sections=BODY, stitch_multiple=Multiple(6))
    ).foundation  # fmt: skip
    # A partner one millimetre wide, and no ease, is something left.
    narrow = Companion(Fraction(200), Fraction(-199), "width")
    check = gauge_check(GaugeCheckOrder(CASE, "body", 20, Measured(width=Fraction(240)), narrow))
    assert not check.course.on_course


def test_the_least_that_can_be_made_of_what_is_left_is_told() -> None:
    # One stitch wide is the narrowest; less yarn than that takes makes nothing.
    band = order("strap", GAUGE, {"yarn": KNOWN}, length=300, depth=40)
    question = YarnQuestion(band, left={"": (Fraction(100), False)}, find=FindOrder("strap"))
    with pytest.raises(Refused) as refused:
        yarn(question)
    (refusal,) = refused.value.refusals
    assert refusal.code == "not-enough-yarn"
    assert "the least of it, 1 row, takes" in refusal.detail
    least = made_up(measurement_of(band, "depth").order(1)).yarn
    assert least
    assert least.length
    told = refusal.permitted
    assert isinstance(told, dict)
    metres = told["at_least"]["yarn"]["value"]
    assert metres == pytest.approx(float(least.length) / 1000, abs=0.005)


def test_nobody_goes_on_between_the_two_sides_of_a_slit() -> None:
    # Its sides are worked one after the other: there is no row across them.
    slit = ClosureOrder("slit", direction="along")
    whole = replace(CASE, button=Button(Fraction(18), Fraction(3)), closure=slit)
    told = piece(whole)
    made, made_rows = told.buttonhole, told.totals.rows
    assert made
    at = made.slit_place
    assert at
    assert at.last_row > at.row
    for row in range(max(at.row - 2, 1), min(at.last_row + 3, made_rows)):
        asked = replace(whole, continue_after=ContinueOrder("flap" if row > 57 else "body", row))
        if at.row <= row < at.last_row:
            with pytest.raises(Refused) as refused:
                piece(asked)
            (refusal,) = refused.value.refusals
            assert (refusal.code, refusal.permitted) == (
                "inside-a-slit", {"row": [at.row - 1, at.last_row]},
            )  # fmt: skip
        else:
            assert piece(asked).sections


@pytest.mark.parametrize(
    ("holes", "stitches", "margin", "each", "first", "source"),
    [
        # 16 stitches between the margins, 4 of them the opening: 6 before it and 6 after.
        (1, 20, 2, 4, [9], "by hand"),
        (1, 21, 2, 4, [9], "by hand: the odd one comes after"),
        (1, 6, 1, 4, [2], "by hand: it just fits"),
        # Published: a band of 100, 3 at each end, 7 holes of 4: gaps of 11.
        (7, 100, 3, 4, [4, 19, 34, 49, 64, 79, 94], "Sweater 101, by its even gaps"),
        # One plain stitch must stand between two openings: 2 x 4 + 1 and no less.
        (2, 9, 0, 4, [1, 6], "by hand"),
    ],
)
def test_where_openings_stand_along_a_band(
    holes: int, stitches: int, margin: int, each: int, first: list[int], source: str
) -> None:
    placed = place(Placing(holes, stitches, margin), each).holes
    assert [(h.first_stitch, h.last_stitch) for h in placed] == [
        (n, n + each - 1) for n in first
    ], source


@pytest.mark.parametrize(("holes", "stitches", "most"), [(2, 8, 1), (3, 13, 2), (1, 3, 0)])
def test_openings_that_do_not_fit_are_told_how_many_do(
    holes: int, stitches: int, most: int
) -> None:
    with pytest.raises(Refused) as refused:
        place(Placing(holes, stitches), 4)
    assert refused.value.refusals[0].permitted == {"maximum": most}


def test_one_button_stands_in_the_middle_and_eight_as_published() -> None:
    assert space(1, Fraction(90), Fraction(10)).centres == (45,)
    # Published (read): 8 buttons over 15 in are 2.14 in apart.
    spaced = space(8, 15 * Fraction(254, 10))
    assert spaced.spacing
    assert float(spaced.spacing / Fraction(254, 10)) == pytest.approx(2.14, abs=0.005)
    assert spaced.centres[-1] == 15 * Fraction(254, 10)


def test_yarn_in_a_chain_is_that_of_the_published_test() -> None:
    # One maker's published test (read): 25.5 in of yarn in a foundation chain 5 in wide.
    cord = square(4, 4, 5 * Fraction(254, 10), stitch="chain")
    assert 4 * loop_length(cord, 2.4) == Fraction(255, 10) * Fraction(254, 10)


def test_pieces_that_are_joined_by_way_of_others_are_worked_together() -> None:
    # The case takes from the cup, the cup from the band, and the case is sewn to the band.
    pieces = (
        ProjectPiece("case", None, {"width": Reference("cup", "diameter")}),
        ProjectPiece("cup", None, {"diameter": Reference("band", "length")}),
        ProjectPiece("band", None, {}),
        ProjectPiece("strap", None, {"length": Reference("case", "width")}),
    )
    seam = SeamOrder("side", (EdgeOrder("case", "left"), EdgeOrder("band", "left")), "row-for-row")
    apart = ProjectOrder(("pocket",), pieces)
    assert order_of_work(apart) == (2, 1, 0, 3)
    assert worked_together(apart, (2, 1, 0, 3)) == ((2,), (1,), (0,), (3,))
    joined = replace(apart, seams=(seam,))
    assert worked_together(joined, (2, 1, 0, 3)) == ((2, 1, 0), (3,))
