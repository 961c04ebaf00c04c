"""Between lengths and counts, there and back, of everything in the round that one count drives.

Held against the pieces that are then made, and their lengths by hand (test_solving_shapes): a
circle's 2 pi r, a disc's 2 n h, a frustum's slant. Source: geometry.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.hinges import counted
from service.engine.rounding import Multiple
from service.engine.roundplans import RoundPlan, RoundTemplate, StartPlan
from service.engine.sizing import PieceOrder
from service.engine.templates import Term
from service.engine.worked import size_any
from tests.engine.test_solving_shapes import KINDS, LENGTHS, plans, read

ROUND = {k: t for k, t in KINDS.items() if isinstance(t, RoundTemplate)}
# What reaches over the sections below it, and a disc that grows on a wall and to a circumference.
ROUND |= {
    "deep": RoundTemplate(
        "deep", "Deep", plans("foot", "all"), StartPlan("ring"),
        (RoundPlan("foot", "disc", to_diameter=Term("foot")),
         RoundPlan("wall", "even", reaches=Term("all"))),
    ),
    "brim": RoundTemplate(
        "brim", "Brim", plans("around", "tall", "rim"),
        StartPlan("chain", circumference=Term("around")),
        (RoundPlan("tube", "even", height=Term("tall")),
         RoundPlan("rim", "disc", to_circumference=Term("rim"))),
    ),
    "chosen rim": RoundTemplate(
        "chosen rim", "Chosen rim", plans("foot", "rim"), StartPlan("ring"),
        (RoundPlan("foot", "disc", to_diameter=Term("foot")),
         RoundPlan("rim", "disc", to_circumference=Term("rim"), increases=8)),
    ),
    "brimmed cup": RoundTemplate(
        "brimmed cup", "Brimmed cup", plans("foot", "tall", "mouth", "all"), StartPlan("ring"),
        (RoundPlan("foot", "disc", to_diameter=Term("foot")),
         RoundPlan("wall", "cone", to_circumference=Term("mouth"), height=Term("tall")),
         RoundPlan("neck", "even", reaches=Term("all"))),
    ),
}  # fmt: skip
ASKED: dict[str, dict[str, tuple[int, int]]] = {
    **LENGTHS,
    "deep": {"foot": (40, 80), "all": (70, 120)},
    "brim": {"around": (140, 200), "tall": (20, 40), "rim": (260, 400)},
    "chosen rim": {"foot": (40, 60), "rim": (260, 400)},
    "brimmed cup": {"foot": (40, 70), "tall": (30, 60), "mouth": (260, 340), "all": (130, 180)},
}


def count_of(kind: str, name: str, made: Any) -> int | None:
    last = made.sections[-1]
    if kind == "deep":
        return {"foot": made.sections[0].rows, "all": last.rows}[name]
    if kind == "brim":
        return {"around": made.foundation.stitches, "tall": made.sections[0].rows,
                "rim": last.stitches_at_end}[name]  # fmt: skip
    if kind == "chosen rim":  # where the increases are chosen, its rounds are counted
        return {"foot": made.sections[0].rows, "rim": last.rows}[name]
    if kind == "brimmed cup":
        return {"foot": made.sections[0].rows, "tall": made.sections[1].rows,
                "mouth": made.sections[1].stitches_at_end, "all": last.rows}[name]  # fmt: skip
    return read(kind, name, made)


@pytest.mark.parametrize("kind", ROUND)
@pytest.mark.parametrize("rounding", ["nearest", "at-least", "at-most"])
def test_each_ruler_reads_what_the_piece_comes_to_and_asks_for_what_it_gets(
    kind: str, rounding: Any
) -> None:
    dice, tried = random.Random(f"{kind} {rounding}"), dict.fromkeys(ASKED[kind], 0)
    for _ in range(6):
        asked = {n: Fraction(dice.randint(*ends)) for n, ends in ASKED[kind].items()}
        order = PieceOrder(
            dice.choice([square(16, 20), square(13, 15)]), ROUND[kind], {}, rounding=rounding,
            stitch_multiple=dice.choice((None, Multiple(2), Multiple(3, 1))),
            row_multiple=dice.choice((None, None, Multiple(2))),
        )  # fmt: skip
        try:
            made = size_any(replace(order, measurements=asked))
        except Refused:
            continue
        known = counted(order, asked)
        assert set(known) == set(asked)
        # Whatever a count hangs on stands before it.
        assert [n for n, c in known.items() if not c.hangs][:1] == [*known][:1]
        for name, how in known.items():
            near = how.nearest(asked[name], asked)
            assert near.count == count_of(kind, name, made), (name, asked)
            off = abs(made.measurements[name].finished - asked[name]) / asked[name]
            assert float(near.error) == pytest.approx(float(off), abs=1e-9), (name, asked)
            ruler = how.ruler(asked)
            for number in (near.count - 2, near.count - 1, near.count + 1, near.count + 3):
                if not how.multiple.allows(number) or number < how.multiple.smallest:
                    continue
                value = ruler.ask(number)
                if value <= 0:
                    continue
                try:
                    again = size_any(replace(order, measurements={**asked, name: value}))
                except Refused:
                    continue
                assert count_of(kind, name, again) == number, (name, asked, number)
                assert float(ruler.made(number)) == pytest.approx(
                    float(again.measurements[name].finished), abs=1e-6
                ), (name, asked, number)
                tried[name] += 1
    tried.pop("inset", None)
    assert min(tried.values()) > 0, tried


def test_what_stands_before_it_is_counted_first() -> None:
    # An oval's width is counted before its length, and a wall after what it stands on.
    oval = PieceOrder(square(16, 20), ROUND["oval"], {})
    assert [*counted(oval, {"length": Fraction(100), "width": Fraction(60)})] == ["width", "length"]
    cup = PieceOrder(square(16, 20), ROUND["brimmed cup"], {})
    told = {
        "all": Fraction(150),
        "mouth": Fraction(300),
        "tall": Fraction(40),
        "foot": Fraction(60),
    }
    names = [*counted(cup, told)]
    assert names[0] == "foot"
    assert names[-1] == "all"
    frustum = PieceOrder(square(16, 20), ROUND["frustum"], {})
    sizes = {"height": Fraction(50), "mouth": Fraction(60), "base": Fraction(200)}
    assert next(iter(counted(frustum, sizes))) == "base"


def test_an_oval_is_longer_than_wide_or_has_no_count() -> None:
    oval = PieceOrder(square(16, 20), ROUND["oval"], {})
    asked = {"length": Fraction(60), "width": Fraction(60)}
    with pytest.raises(Refused):
        counted(oval, asked)["length"].nearest(Fraction(60), asked)
    # 63 by 60 mm: 6 rounds of 5 mm to either side are 60, and 3 mm straight are half a stitch: one.
    asked = {"length": Fraction(63), "width": Fraction(60)}
    assert counted(oval, asked)["length"].nearest(Fraction(63), asked).count == 1
