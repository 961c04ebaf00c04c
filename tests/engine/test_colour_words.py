"""Colours in the instructions: told once, and where the yarn changes in the making up."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import pytest

from service.engine.edgings import EdgingOrder
from service.engine.gauge import square
from service.engine.openings import Button
from service.engine.patterns import piece
from service.engine.yarnorder import ColoursOrder, StripeOrder, YarnOrder
from tests.pieces import order

GAUGE = square(16, 19)
CASE = {"width": 120, "body_height": 150, "flap_depth": 70}
CUP = {"diameter": 80, "height": 100}
BUTTON = Button(Fraction(18), Fraction(3))


def texts(template: str, colours: ColoursOrder | None, **sizes: int) -> list[str]:
    made_up = {
        "colours": colours,
        "yarn": YarnOrder(4),
        "edging": EdgingOrder(),
        "button": BUTTON if template == "flap-panel" else None,
    }
    return [i.text for i in piece(order(template, GAUGE, made_up, **sizes)).instructions]


STRIPES = (StripeOrder((("ink", 4), ("ochre", 2), ("chalk", 1)), "body"),)

TOLD: list[tuple[str, ColoursOrder, dict[str, int], str]] = [
    (
        "flap-panel",
        ColoursOrder("ink", {"flap": "ochre"}, STRIPES, edging="ochre"),
        CASE,
        "Colours: body in stripes, 4 rows ink, 2 rows ochre and 1 row chalk, over and over from the"
        " section's first row; flap, edging and button loop in ochre. Begin with ink.",
    ),
    (
        "cup",
        ColoursOrder("ink", stripes=(StripeOrder((("ochre", 2), ("ink", 1))),)),
        CUP,
        "Colours: base and wall in stripes, 2 rounds ochre and 1 round ink, over and over from the"
        " section's first round; edging in ink. Begin with ochre.",
    ),
    (
        "cup",
        ColoursOrder("ink", {"wall": "ochre"}),
        CUP,
        "Colours: base and edging in ink; wall in ochre. Begin with ink.",
    ),
]


@pytest.mark.parametrize(("template", "colours", "sizes", "told"), TOLD)
def test_colours_are_told_before_the_work_begins(
    template: str, colours: ColoursOrder, sizes: dict[str, int], told: str
) -> None:
    step = texts(template, colours, **sizes)[1]
    assert step.startswith(told)
    assert "draw the new yarn through the last loops" in step
    assert ("carry" in step) == colours.carried


@pytest.mark.parametrize("colours", [None, ColoursOrder("ink"), ColoursOrder("ink", edging="ink")])
def test_one_colour_is_not_told(colours: ColoursOrder | None) -> None:
    assert texts("flap-panel", colours, **CASE) == texts("flap-panel", None, **CASE)


def test_yarn_carried_up_is_told_so() -> None:
    stripes = (StripeOrder((("ink", 2), ("ochre", 2))),)
    step = texts("panel", ColoursOrder("ink", stripes=stripes, carried=True), width=100, height=80)
    assert "carry the yarns not in use up the edge" in step[1]
    assert "break off" not in step[1]


@pytest.mark.parametrize(
    ("colours", "edging", "loop"),
    [
        # 29 rows of body and 13 of flap are an even number: the edging is begun anew in any case.
        (ColoursOrder("ink"), "join the yarn at", "without cutting the yarn, ch"),
        (ColoursOrder("ink", edging="ochre"), "join ochre at", "without cutting the yarn, ch"),
        (ColoursOrder("ink", loop="chalk"), "join the yarn at", "fasten off, join chalk there, ch"),
        (
            ColoursOrder("ink", edging="ochre", loop="chalk"),
            "join ochre at", "fasten off, join chalk there, ch",
        ),
    ],
)  # fmt: skip
def test_an_edging_and_a_loop_in_another_colour_are_joined(
    colours: ColoursOrder, edging: str, loop: str
) -> None:
    said = texts("flap-panel", colours, **CASE)
    assert any(s.startswith("Edging row 1") and edging in s for s in said)
    assert any(s.startswith("Button loop") and loop in s for s in said)


def test_an_edging_goes_on_from_an_odd_last_row_only_in_its_colour() -> None:
    # By hand: 15 cm are 28.5 rows, up to 29: odd.
    plain = texts("panel", ColoursOrder("ink"), width=100, height=150)
    ochre = texts("panel", ColoursOrder("ink", edging="ochre"), width=100, height=150)
    assert "where the last row ended" in next(s for s in plain if s.startswith("Edging"))
    assert "fasten off; with the RS facing you, join ochre" in next(
        s for s in ochre if s.startswith("Edging")
    )


def test_a_rim_in_another_colour_is_joined_in_the_round() -> None:
    said = texts("cup", ColoursOrder("ink", edging="ochre"), **CUP)
    (rim,) = [s for s in said if s.startswith("Edging round 1")]
    assert rim.startswith("Edging round 1: fasten off, join ochre with sl st in the last round, ch")
    assert Counter(s.split(":")[0] for s in said)["Edging round 1"] == 1
