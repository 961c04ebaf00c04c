"""What is told of one thing and belongs to another is refused by name, and never left unread.

Source: the rule that no field of a request is ignored; the way out stands in each refusal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from service.api.requests import EdgingRequest
from service.engine.ask_buttonhole import ButtonholeOrder, PlacingOrder, buttonholes
from service.engine.ask_edging import edgings
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import STRETCH, Button, ClosureOrder
from service.engine.patterns import piece
from tests.pieces import order

SC = square(16, 19)
BUTTON = Button(Fraction(18))

OTHERS = [
    (ClosureOrder("slit", span=3), "span", "loop"),
    (ClosureOrder("slit", chains=6), "chains", "loop"),
    (ClosureOrder("loop", skipped=3), "skipped", "slit"),
    (ClosureOrder("loop", direction="along"), "direction", "slit"),
    (ClosureOrder("loop", chains_over="one-fewer"), "chains_over", "slit"),
    (ClosureOrder("loop", stretch=STRETCH / 2), "stretch_percent", "slit"),
]


@pytest.mark.parametrize(("closure", "told", "other"), OTHERS)
@pytest.mark.parametrize("asked", ["buttonholes", "panel", "cup"])
def test_a_closure_is_told_nothing_that_only_the_other_kind_has(
    closure: ClosureOrder, told: str, other: str, asked: str
) -> None:
    made_up: dict[str, Any] = {"button": BUTTON, "closure": closure}
    ask: dict[str, Callable[[], object]] = {
        "buttonholes": lambda: buttonholes(ButtonholeOrder(SC, BUTTON, closure)),
        "panel": lambda: piece(order("panel", SC, made_up, width=240, height=100)),
        "cup": lambda: piece(order("cup", SC, made_up, diameter=80, height=100)),
    }
    with pytest.raises(Refused) as refused:
        ask[asked]()
    found = {r.path: r for r in refused.value.refusals}
    refusal = found["closure", told]
    assert refusal.code == "closure-of-another-kind"
    assert refusal.permitted == {"kind": other}
    assert refusal.detail == f"{told} is told of a {other}, and this closure is a {closure.kind}"


@pytest.mark.parametrize(("closure", "told", "other"), OTHERS)
def test_the_way_out_of_a_closure_of_another_kind_is_one(
    closure: ClosureOrder, told: str, other: str
) -> None:
    mended = replace(closure, kind=other)  # type: ignore[arg-type]
    assert buttonholes(ButtonholeOrder(SC, BUTTON, mended))


PLACED: list[tuple[PlacingOrder, str, dict[str, str]]] = [
    (PlacingOrder(3, stitches=80, end_distance=Fraction(30)), "end_distance",
     {"use": "end_margin"}),
    (PlacingOrder(3, length=Fraction(300), end_margin=4), "end_margin", {"use": "end_distance"}),
    (PlacingOrder(3, length=Fraction(300), hole_stitches=4), "hole_stitches",
     {"leave_out": "hole_stitches"}),
]  # fmt: skip


@pytest.mark.parametrize(("placing", "told", "way_out"), PLACED)
def test_a_band_is_told_all_by_its_stitches_or_all_by_its_length(
    placing: PlacingOrder, told: str, way_out: dict[str, str]
) -> None:
    with pytest.raises(Refused) as refused:
        buttonholes(ButtonholeOrder(SC, BUTTON, placing=placing))
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.path) == ("placed-the-other-way", ("placing", told))
    assert refusal.permitted == way_out


def test_everything_wrong_with_a_closure_and_its_placing_is_told_at_once() -> None:
    closure, placing = ClosureOrder("slit", span=2, chains=4), PlacingOrder(3)
    with pytest.raises(Refused) as refused:
        buttonholes(ButtonholeOrder(SC, BUTTON, closure, placing))
    assert {r.path for r in refused.value.refusals} == {
        ("closure", "span"), ("closure", "chains"), ("placing",),
    }  # fmt: skip


LENGTH = {"value": 10, "unit": "cm"}
GAUGE = {"stitch": "single-crochet", "stitches": 16, "width": LENGTH, "rows": 19, "height": LENGTH}
SIDES = {"gauge": GAUGE, "sides": [{"name": "left edge", "along": "row-ends", "places": 40}]}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("measurements", {"width": LENGTH}),
        ("button", {"diameter": LENGTH}),
        ("stitch_multiple", {"multiple": 4}),
        ("rounding", "at-least"),
        ("right_side_only", True),
    ],
)
def test_sides_are_told_without_what_only_a_template_takes(name: str, value: object) -> None:
    assert edgings(EdgingRequest().load({**SIDES, "units": "imperial"})).stitches == 40
    with pytest.raises(Refused) as refused:
        edgings(EdgingRequest().load({**SIDES, name: value}))
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.path) == ("sides-without-template", (name,))
    assert refusal.permitted == {"leave_out": name}


def test_what_is_left_out_and_what_is_needed_is_named_in_the_way_out() -> None:
    ball = order("ball", SC, {"button": BUTTON}, diameter=80)
    lonely = order("panel", SC, {"closure": ClosureOrder()}, width=240, height=100)
    for asked, code, way_out in (
        (ball, "no-open-edge", {"leave_out": "button"}),
        (lonely, "closure-without-button", {"add": "button"}),
    ):
        with pytest.raises(Refused) as refused:
            piece(asked)
        (refusal,) = refused.value.refusals
        assert (refusal.code, refusal.permitted) == (code, way_out)
