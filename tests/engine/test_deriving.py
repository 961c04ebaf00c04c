"""Measurements made from a body or from an object, by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from service.api.builtins import TEMPLATES
from service.engine.bodies import BodyOrder
from service.engine.deriving import PARTS, Derivation, ObjectOrder, derive, object_size
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.patterns import piece
from service.engine.sizing import PieceOrder

GAUGE = square(16, 19)
BOOK = ObjectOrder("width", width=Fraction(105), height=Fraction(148), thickness=Fraction(15))
WRIST = BodyOrder("women", "wrist")


@pytest.mark.parametrize(
    ("take", "millimetres"),
    [
        # By hand, for a sketchbook of 105 x 148 x 15 mm.
        ("width", 105),
        ("height", 148),
        ("thickness", 15),
        ("around-width", 240),  # 2 x (105 + 15)
        ("around-height", 326),  # 2 x (148 + 15)
        ("cover-width", 120),  # 105 + 15: two of them go round 240
        ("cover-height", 163),  # 148 + 15
        ("fold-height", 311),  # 148 up the front, 15 under it, 148 up the back
    ],
)
def test_an_object_is_measured_by_plane_geometry(take: Any, millimetres: int) -> None:
    assert object_size(replace(BOOK, take=take)) == millimetres


def test_every_way_to_measure_an_object_is_tried_above() -> None:
    (marked,) = test_an_object_is_measured_by_plane_geometry.pytestmark  # type: ignore[attr-defined]
    assert {take for take, _ in marked.args[1]} == set(PARTS)


@pytest.mark.parametrize(
    ("order", "millimetres"),
    [
        # By hand; ANSUR II: a woman's wrist is 155 mm and her head 561 mm round, on average.
        (Derivation(WRIST), 155),
        (Derivation(WRIST, ease=Fraction(70)), 225),
        (Derivation(BodyOrder("women", "head"), ease=Fraction(-25)), 536),
        (Derivation(WRIST, Fraction(5), Fraction(2)), 315),  # 2 x 155 + 5: the factor comes first
        (Derivation(replace(BOOK, take="cover-width"), Fraction(5)), 125),
        (Derivation(replace(BOOK, take="around-width"), Fraction(-6), Fraction(1, 2)), 114),
    ],
)
def test_a_factor_and_then_the_ease_are_applied(order: Derivation, millimetres: int) -> None:
    made, told = derive(order)
    assert made == millimetres
    assert told.measured * Fraction(told.times) + told.ease == made


@pytest.mark.parametrize(
    ("order", "units", "text"),
    [
        # ANSUR II: 15.5 cm; by hand 15.5 / 2.54 = 6.10 in, 7 / 2.54 = 2.76 in, 105 mm = 4.13 in,
        # 15 mm = 0.59 in, 120 mm = 4.72 in.
        (Derivation(WRIST, Fraction(70)), "metric",
         "wrist of women (adult, mean): 15.5 cm, plus 7 cm"),
        (Derivation(WRIST, Fraction(-70)), "imperial",
         "wrist of women (adult, mean): 6.1 in, less 2.76 in"),
        (Derivation(replace(BOOK, take="cover-width"), times=Fraction(3, 2)), "imperial",
         "cover-width of the object, 4.13 in + 0.59 in: 4.72 in times 1.5"),
        (Derivation(replace(BOOK, take="fold-height")), "metric",
         "fold-height of the object, 2 × 14.8 cm + 1.5 cm: 31.1 cm"),
    ],
)  # fmt: skip
def test_the_answer_says_how_a_length_was_made(order: Derivation, units: Any, text: str) -> None:
    assert derive(order, units)[1].text == text


def test_the_piece_is_sized_as_if_the_length_had_been_asked_for() -> None:
    template = TEMPLATES["flap-panel"]
    asked = {"width": Fraction(125), "body_height": Fraction(321)}  # 120 + 5, 311 + 10
    plain = piece(PieceOrder(GAUGE, template, asked))
    derived = {
        "width": Derivation(replace(BOOK, take="cover-width"), Fraction(5)),
        "body_height": Derivation(replace(BOOK, take="fold-height"), Fraction(10)),
    }
    made = piece(PieceOrder(GAUGE, template, {}, derived=derived))
    assert {n: m.asked for n, m in made.measurements.items()} == {**asked, "flap_depth": None}
    assert all(made.measurements[name].made_from for name in asked)
    bare = {n: replace(m, made_from=None) for n, m in made.measurements.items()}
    assert replace(made, measurements=bare) == plain


@pytest.mark.parametrize(
    ("template", "name", "order", "path", "code", "permitted"),
    [
        ("strap", "length", Derivation(BodyOrder("women", "head")), "length/body/measure",
         "measure-not-taken", ["wrist", "hand-round"]),
        ("strap", "length", Derivation(BodyOrder("boys", "wrist")), "length/body/population",
         "no-such-body-size", ["women", "men"]),
        ("strap", "depth", Derivation(WRIST), "depth/body", "measure-not-taken",
         ["a length", "object"]),
        ("strap", "depth", Derivation(BOOK), "depth/as", "measure-not-taken", ["thickness"]),
        ("strap", "length", Derivation(ObjectOrder("around-width", width=Fraction(9))),
         "length/object/thickness", "object-size-missing", ["width", "thickness"]),
        # By hand: 15.5 cm is 155 mm, so an ease must be more than -15.5 cm.
        ("strap", "length", Derivation(WRIST, Fraction(-155)), "length/ease", "nothing-left",
         {"more_than": {"value": -15.5, "unit": "cm"}}),
        ("strap", "girth", Derivation(WRIST), "girth", "unknown-measurement",
         ["length", "depth"]),
        # The template's own maximum is 100 m; by hand, 155 mm 1000 times is 155 m.
        ("strap", "length", Derivation(WRIST, times=Fraction(1000)), "length",
         "measurement-out-of-range",
         {"minimum": {"value": 0.1, "unit": "cm"}, "maximum": {"value": 10000.0, "unit": "cm"}}),
    ],
)  # fmt: skip
def test_a_wrong_use_is_refused_with_what_would_work(
    template: str, name: str, order: Derivation, path: str, code: str, permitted: Any
) -> None:
    asked = {} if name == "length" else {"length": Fraction(400)}
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, TEMPLATES[template], asked, derived={name: order}))
    (refusal,) = refused.value.refusals
    assert "/".join(map(str, refusal.path)) == f"measurements/{path}"
    assert (refusal.code, refusal.permitted) == (code, permitted)


def test_what_a_refusal_of_the_ease_permits_works() -> None:
    # By hand: 0.001 cm more than -15.5 cm leaves 0.01 mm of 155 mm.
    assert derive(Derivation(WRIST, Fraction(-15499, 100)))[0] == Fraction(1, 100)


def test_everything_refused_is_told_at_once() -> None:
    derived = {
        "width": Derivation(ObjectOrder("cover-width")),
        "body_height": Derivation(WRIST),
    }
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, TEMPLATES["flap-panel"], {"girth": Fraction(9)}, derived=derived))
    assert [(r.path[1:], r.code) for r in refused.value.refusals] == [
        (("width", "object", "width"), "object-size-missing"),
        (("width", "object", "thickness"), "object-size-missing"),
        (("body_height", "body"), "measure-not-taken"),
        (("girth",), "unknown-measurement"),
    ]
