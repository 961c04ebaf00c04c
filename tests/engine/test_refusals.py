"""What is refused, and just what is not yet: a case at each side of a limit, worked by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from service.engine.ask_conversion import ConversionOrder, WrittenCount, conversions
from service.engine.ask_gauge_check import Companion, GaugeCheckOrder, gauge_check
from service.engine.ask_yarn import FindOrder, YarnQuestion, made_up, yarn
from service.engine.continuing import ContinueOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.leftover import measurement_of
from service.engine.patterns import piece
from service.engine.rounding import Multiple
from service.engine.roundplans import RoundPlan, RoundTemplate, StartPlan
from service.engine.roundsketches import round_sketch
from service.engine.stitches import STITCHES
from service.engine.tapes import Measured
from service.engine.templates import MeasurementPlan, Term
from service.engine.wanting import Wanted, needed
from service.engine.writtenwork import WrittenFoundation, WrittenSection
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
    assert "the least of it, 1 rows," in refusal.detail
    least = made_up(measurement_of(band, "depth").order(1)).yarn
    assert least
    assert least.length
    told = refusal.permitted
    assert isinstance(told, dict)
    metres = told["at_least"]["yarn"]["value"]
    assert metres == pytest.approx(float(least.length) / 1000, abs=0.005)
