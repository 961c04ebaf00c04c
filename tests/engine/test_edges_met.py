"""Limits, edges and merged texts met from both sides, by hand or by brute force.

Source where none is named: by hand; brute force over small numbers.
"""

from __future__ import annotations

import random
import re
from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest

from service.engine.counting import Asked, Scale, count, in_height, not_in_multiple
from service.engine.curves import Curve, read
from service.engine.edgeplans import PointPlan, Resolving, SegmentPlan, spans
from service.engine.edgings import Corner, EdgingOrder
from service.engine.errors import Refusal, Refused
from service.engine.gauge import square
from service.engine.hinges import counted
from service.engine.instructions import Instruction
from service.engine.openingplans import OpeningPlan
from service.engine.patterns import Piece, piece
from service.engine.rounding import ANY, Multiple
from service.engine.sizeset import own_text, size_set, smallest_first
from service.engine.sizing import PieceOrder
from service.engine.templates import FoundationPlan, MeasurementPlan, SectionPlan, Template
from service.engine.terms import Term
from tests.pieces import order

SC = square(16, 19)
FINE = square(20, 20)
SCALE = Scale(Fraction(5), Fraction(5))


# --- counts -------------------------------------------------------------------------------------


def counting(size: float, multiple: Multiple = ANY, rounding: Any = "nearest",
             what: str = "rows", **more: Any) -> int:  # fmt: skip
    scale = Scale(Fraction(5), Fraction(5), rounding=rounding)
    return count(
        Asked(Fraction(size), ("x",), Term("x")), Fraction(5), multiple, scale, what, **more
    )


@pytest.mark.parametrize(
    ("size", "multiple", "rounding", "made"),
    [
        (2.5, ANY, "nearest", 1), (7.5, ANY, "nearest", 2), (7.4, ANY, "nearest", 1),
        (0.1, ANY, "at-least", 1), (9.9, ANY, "at-most", 1),
        # A multiple of 4 plus 5 has 5 for its smallest, and that is at least what was asked.
        (0.1, Multiple(4, 5), "at-least", 5), (26, Multiple(4, 5), "at-least", 9),
        (15, Multiple(4, 5), "nearest", 5), (50_000, ANY, "nearest", 10_000),
        (50_002, ANY, "nearest", 10_000),
    ],
)  # fmt: skip
def test_a_length_is_counted(size: float, multiple: Multiple, rounding: Any, made: int) -> None:
    assert counting(size, multiple, rounding) == made


@pytest.mark.parametrize(
    ("size", "multiple", "rounding", "least", "mm"),
    [
        (2.4, ANY, "nearest", 1, 2.5), (4.9, ANY, "at-most", 1, 5),
        # Half a multiple short still rounds up: 4 less 2 are 10 mm.
        (9.9, Multiple(4), "nearest", 4, 10), (19, Multiple(4), "at-most", 4, 20),
        (14.9, Multiple(4, 5), "nearest", 5, 15),
    ],
)  # fmt: skip
def test_a_length_too_small_says_what_would_do(
    size: float, multiple: Multiple, rounding: Any, least: int, mm: float
) -> None:
    with pytest.raises(Refused) as refused:
        counting(size, multiple, rounding)
    (refusal,) = refused.value.refusals
    assert refusal.code == "measurement-too-small"
    assert refusal.permitted == {"minimum": {"value": mm / 10, "unit": "cm"}, "rows": least}
    assert counting(mm, multiple, rounding) == least


@pytest.mark.parametrize("size", [50_003, 60_000])
def test_a_length_too_large_says_what_would_do(size: int) -> None:
    with pytest.raises(Refused) as refused:
        counting(size, what="stitches")
    (refusal,) = refused.value.refusals
    assert refusal.permitted == {
        "maximum": {"value": 5_000.0, "unit": "cm"}, "stitches": 10_000,
    }  # fmt: skip


@pytest.mark.parametrize("rounding", ["nearest", "at-least", "at-most"])
def test_no_length_is_of_no_count(rounding: str) -> None:
    with pytest.raises(Refused):
        counting(0, rounding=rounding)


def test_where_shaping_needs_so_many_the_fewest_is_named() -> None:
    with pytest.raises(Refused) as refused:
        counting(2, fewest=3)
    permitted = refused.value.refusals[0].permitted
    assert permitted == {"minimum": {"value": 1.5, "unit": "cm"}, "rows": 3}
    told = not_in_multiple(("x",), 9, "rows", Multiple(4)).refusals[0]
    assert (told.permitted, told.path) == ({"rows": [8, 12]}, ("x",))
    told = not_in_multiple((), 1, "rows", Multiple(4)).refusals[0]
    assert told.permitted == {"rows": [4]}


def test_a_refusal_said_of_a_height_keeps_its_multiple() -> None:
    no = Refusal("shaping-does-not-fit", ("rows",), "needs at least 20 rows; there are 14",
                 {"minimum_rows": 20, "rows_given": 14, "nearest_stitches": 10})  # fmt: skip
    asked = Asked(Fraction(70), ("height",), Term("height"))
    told = in_height(no, asked, SCALE, Multiple(6))
    assert told.path == ("height",)
    assert told.permitted["minimum_rows"] == 24  # type: ignore[index,call-overload]
    assert told.permitted["minimum_height"] == {"value": 12.0, "unit": "cm"}  # type: ignore[index,call-overload]
    assert told.detail.startswith("needs at least 24 rows (12 cm); 14 fit in 7 cm, which reach 10")


# --- edges of an outline --------------------------------------------------------------------------


def test_an_edge_is_read_as_its_segments_one_by_one_say() -> None:
    dice = random.Random("edges")
    for _ in range(300):
        edge = [Curve(Fraction(dice.randint(-6, 6)), Fraction(dice.randint(0, 4)))
                for _ in range(dice.randint(1, 5))]  # fmt: skip
        tall = sum(c.up for c in edge)
        if not tall:
            continue
        heights = sorted(Fraction(dice.randint(0, int(2 * tall)), 2) for _ in range(5))
        for height, got in zip(heights, read(tuple(edge), iter(heights)), strict=True):
            # Every place of the edge at that height, and the least inwards of them: the widest.
            met, across, below = [], Fraction(0), Fraction(0)
            for curve in edge:
                if below <= height <= below + curve.up:
                    if curve.up:
                        met.append(across + curve.inwards * (height - below) / curve.up)
                    else:
                        met += [across, across + curve.inwards]
                across, below = across + curve.inwards, below + curve.up
            if height == 0 or height == tall:
                continue  # an end, from which an edge starts or where it stops
            assert got == min(met), (edge, height)


def test_lengths_of_an_edge_are_taken_over_their_part_of_it() -> None:
    # A line 30 mm up, then points 10 and 20 mm further up: of 50 mm.
    plan = (
        SegmentPlan("line", Term("w"), Term("h", Fraction(3))),
        SegmentPlan("points", points=(PointPlan(Term("h"), Term("w")),
                                      PointPlan(Term("h", Fraction(2)), Term("w")))),
    )  # fmt: skip
    here = Resolving((), {"w": Fraction(8), "h": Fraction(10)}, "metric")
    told = {k: (float(a), float(b)) for k, (a, b) in spans(plan, here).items()}
    assert told == {
        (0, "in"): (0, 0.6), (0, "up"): (0, 0.6),
        (1, "points", 0, "in"): (0.6, 0.8), (1, "points", 0, "up"): (0.6, 0.8),
        (1, "points", 1, "in"): (0.6, 1), (1, "points", 1, "up"): (0.6, 1),
    }  # fmt: skip
    # Each point from where its segment starts: 8 in at 10 up, then straight up.
    curves = [(c.inwards, c.up) for c in here.edge(plan)]
    assert curves == [(8, 30), (8, 10), (0, 10)]


@pytest.mark.parametrize(
    ("plan", "code", "path", "least"),
    [
        (SegmentPlan("line", None, Term("h", Fraction(-1))), "outline-goes-down",
         ("measurements", "h"), 0),
        (SegmentPlan("points", points=(PointPlan(Term("h")), PointPlan(Term(None, plus=Fraction(4)
         )))), "outline-goes-down", ("template", "side", 0, "points", 1, "up"), 10),
        # An arc 8 in and 10 up is level where it ends with a radius of (64 + 100) / 20 = 8.2 mm.
        (SegmentPlan("arc", Term("w"), Term("h"), radius=Term("w")), "arc-turns-back",
         ("measurements", "w"), 8.2),
    ],
)  # fmt: skip
def test_edges_that_go_down_or_turn_back(plan: Any, code: str, path: Any, least: float) -> None:
    here = Resolving(("side",), {"w": Fraction(8), "h": Fraction(10)}, "metric")
    with pytest.raises(Refused) as refused:
        here.edge((plan,))
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.path) == (code, path)
    assert refusal.permitted == {"minimum_mm": pytest.approx(least)}


def test_a_level_point_goes_neither_up_nor_down() -> None:
    here = Resolving((), {"w": Fraction(8), "h": Fraction(10)}, "metric")
    level = SegmentPlan("points", points=(PointPlan(Term("h")), PointPlan(Term("h"), Term("w"))))
    assert [(c.inwards, c.up) for c in here.edge((level,))] == [(0, 10), (8, 0)]


def outlined(*sides: SegmentPlan, names: tuple[str, ...] = ("tall",)) -> Template:
    plans = tuple(MeasurementPlan(name, name) for name in ("width", *names))
    return Template("flap", "Flap", plans, FoundationPlan(Term("width")),
                    (SectionPlan("flap", "outline", sides=sides),))  # fmt: skip


@pytest.mark.parametrize(
    ("sides", "rows"),
    [
        # One measurement makes the whole height: 50 mm, 10 rows; taken twice, 20.
        ((SegmentPlan("line", None, Term("tall")),), 10),
        ((SegmentPlan("line", None, Term("tall")), SegmentPlan("line", None, Term("tall"))), 20),
        ((SegmentPlan("points", points=(PointPlan(Term("tall", Fraction(1, 2))),
                                        PointPlan(Term("tall")))),), 10),
        # With a length of its own beside it no count of rows drives it.
        ((SegmentPlan("line", None, Term("tall")),
          SegmentPlan("line", None, Term(None, plus=Fraction(10)))), None),
        ((SegmentPlan("line", None, Term("tall", plus=Fraction(10))),), None),
        ((SegmentPlan("line", Term("tall"), Term("tall")),), None),
    ],
)  # fmt: skip
def test_rows_of_an_outline_are_counted_where_one_measurement_makes_them(
    sides: tuple[SegmentPlan, ...], rows: int | None
) -> None:
    asked = {"width": Fraction(100), "tall": Fraction(50)}
    known = counted(PieceOrder(FINE, outlined(*sides), asked), asked)
    assert known["width"].nearest(Fraction(100), asked).count == 20
    if rows is None:
        assert "tall" not in known
        return
    how = known["tall"]
    assert how.nearest(Fraction(50), asked).count == rows
    # And back: a row more or less.
    assert how.ruler(asked).ask(rows + rows // 10) == 55


def test_edges_that_meet_say_what_leaves_room() -> None:
    # 20 stitches; 20 rows in which either edge comes in by 60 mm, 12 stitches. At the middle of row
    # n both have come in by 24 (2n - 1) / 40: by 20 first in row 18, and by 23.4 in the last.
    side = SegmentPlan("line", Term("in"), Term("tall"))
    shape = outlined(side, names=("tall", "in"))
    asked = {"width": Fraction(100), "tall": Fraction(100), "in": Fraction(60)}
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(FINE, shape, asked))
    (refusal,) = refused.value.refusals
    assert refusal.code == "outline-closes"
    assert refusal.permitted == {"row": 18, "most_inwards_mm": 95.0, "minimum_stitches": 24}
    assert "(8.5 cm up)" in refusal.detail
    piece(PieceOrder(FINE, shape, {**asked, "width": Fraction(24 * 5)}))
    piece(PieceOrder(FINE, shape, {**asked, "in": Fraction(95, 2)}))


# --- an edging's words ----------------------------------------------------------------------------


def texts(made: Piece) -> list[str]:
    return [line.text for line in made.instructions]


@pytest.mark.parametrize(
    ("corner", "first", "later"),
    [
        (Corner(1, 1), "ch 1 for the corner", "(1 sc, ch 1, 1 sc) in each corner ch"),
        (Corner(3, 0), "3 sc in first", "3 sc in the 2nd of the 3 sc of each corner"),
        (Corner(5, 0), "5 sc in first", "5 sc in the 3rd of the 5 sc of each corner"),
        (Corner(2, 2), "(1 sc, ch 2, 1 sc) in first", "(1 sc, ch 2, 1 sc) in each corner ch"),
        (Corner(3, 1), "(1 sc, ch 1, 2 sc) in first", "(1 sc, ch 1, 2 sc) in each corner ch"),
        (Corner(1, 0), None, None),
    ],
)  # fmt: skip
def test_corners_of_an_edging(corner: Corner, first: str | None, later: str | None) -> None:
    panel = order(
        "panel", SC, {"edging": EdgingOrder(rounds=2, corner=corner)}, width=100, height=53
    )
    made = piece(panel)
    one, two = (t for t in texts(made) if "Edging round" in t)
    assert first is None or first in one
    # A chain of its own only where the corner is one stitch, which the side has already.
    assert ("for the corner" in one) is (corner == Corner(1, 1))
    assert ("but" in two) is (later is not None)
    assert later is None or later in two
    assert made.edging
    # 16 along either end and 10 up either side, and what the four corners add.
    assert made.edging.rounds[0] == 52 + 4 * (corner.stitches - 1)
    assert made.edging.rounds[1] - made.edging.rounds[0] == 4 * (corner.added_each_later_round)
    assert f"({made.edging.rounds[0]} sc" in one
    assert f"({made.edging.rounds[1]} sc" in two


@pytest.mark.parametrize(
    ("width", "ends"),
    [
        # 3 stitches between two corners: one is left; of 2 none, and of 4 two.
        (19, "3 sc in first st, sc in next st, 3 sc in last st"),
        (13, "3 sc in first st, 3 sc in last st"),
        (25, "3 sc in first st, sc in each of next 2 sts, 3 sc in last st"),
    ],
)  # fmt: skip
def test_corners_at_a_short_row(width: int, ends: str) -> None:
    tab = order("panel", SC, {"edging": EdgingOrder(corner=Corner(3, 0))}, width=width, height=53)
    (one,) = (t for t in texts(piece(tab)) if "Edging round" in t)
    assert f"along the last row, {ends}" in one


@pytest.mark.parametrize(
    ("fabric", "told"),
    [
        ("single-crochet", "10 sc along the left edge of the panel, 1 in each row end"),
        ("double-crochet", "20 sc along the left edge of the panel, 2 in each row end"),
        # Three in two (from memory): 15 in 10 rows.
        ("half-double-crochet", "15 sc along the left edge of the panel, 1 in each of its 10 row"
         " ends and one more in 5 of them"),
    ],
)  # fmt: skip
def test_stitches_along_row_ends(fabric: str, told: str) -> None:
    gauge = square(16, 19, stitch=fabric)
    panel = order("panel", gauge, {"edging": EdgingOrder(stitch="single-crochet")}, width=100,
                  height=53)  # fmt: skip
    (one,) = (t for t in texts(piece(panel)) if "Edging round" in t)
    assert told in one


@pytest.mark.parametrize(
    ("corner", "width", "told"),
    [
        # A point of two stitches (38 lose one at each edge in every row): worked alike on both.
        (Corner(1, 1), 240, "sc in first st, ch 1, sc in last st"),
        (Corner(1, 0), 240, "sc in first st, sc in last st"),
        (Corner(3, 0), 240, "2 sc in first st, 2 sc in last st"),
        (Corner(2, 0), 240, "sc in first st, 2 sc in last st"),
        (Corner(2, 2), 240, "sc in first st, ch 2, 2 sc in last st"),
        # A point of one (37 stitches): all of the corner in it.
        (Corner(1, 1), 231, "sc in the st, ch 1"), (Corner(1, 0), 231, "sc in the st"),
        (Corner(3, 0), 231, "3 sc in the st"), (Corner(2, 2), 231, "(1 sc, ch 2, 1 sc) in the st"),
    ],
)  # fmt: skip
def test_a_point_is_one_corner(corner: Corner, width: int, told: str) -> None:
    flap = order("triangle", SC, {"edging": EdgingOrder(corner=corner)}, width=width)
    (one,) = (t for t in texts(piece(flap)) if "Edging round" in t)
    (at,) = re.findall(r"at the (?:point|tip)[^,;]*, ([^;]*);", one)
    assert at == told


def test_an_opening_in_three_rows_is_in_the_middle_one() -> None:
    def bag(up: int, rows: int = 3) -> PieceOrder:
        shape = Template(
            "bag", "Bag", (MeasurementPlan("up", "up"),), FoundationPlan(stitches=30),
            (SectionPlan("bag", "even", rows=rows),),
            openings=(OpeningPlan("slot", Term("up"), stitches=6),),
        )  # fmt: skip
        return PieceOrder(FINE, shape, {"up": Fraction(up)})

    # Row 2 stands on 5 mm of row 1.
    assert piece(bag(5)).openings[0].row == 2
    with pytest.raises(Refused) as refused:
        piece(bag(12))
    (refusal,) = refused.value.refusals
    five = {"value": 0.5, "unit": "cm"}
    assert refusal.permitted == {"minimum": five, "maximum": five}
    with pytest.raises(Refused) as refused:
        piece(bag(5, rows=2))
    assert refused.value.refusals[0].permitted == {"rows": 3}


def test_fewer_than_row_ends_leave_some_out() -> None:
    # By length: 10 rows of 100/19 mm are 52.6 mm, and stitches of 10 mm on them are 5.
    wide = square(10, 10)
    panel = order("panel", SC, {"edging": EdgingOrder(gauge=wide, spread="measured")}, width=100,
                  height=53)  # fmt: skip
    (one,) = (t for t in texts(piece(panel)) if "Edging round" in t)
    assert "5 sc along the left edge of the panel, leaving out 5 of its 10 row ends" in one
    assert "10 sc along the last row, leaving out 6 of its 16 sts" in one


# --- all sizes in one text ------------------------------------------------------------------------


def longest_in_common(one: list[str], other: list[str]) -> int:
    """By trying every choice of steps of the shorter."""
    for n in range(min(len(one), len(other)), 0, -1):
        for chosen in combinations(one, n):
            rest = iter(other)
            if all(step in rest for step in chosen):
                return n
    return 0


def test_the_text_of_all_sizes_is_that_of_each_and_shares_the_most_steps() -> None:
    dice = random.Random("sizes")
    for _ in range(150):
        both = {
            size: [dice.choice("abcd") for _ in range(dice.randint(0, 7))]
            for size in ("pocket", "desk")
        }
        steps = {
            size: tuple(Instruction(i, f"Work {w}.", i) for i, w in enumerate(words, 1))
            for size, words in both.items()
        }
        merged = size_set(steps)
        assert [s.step for s in merged] == [*range(1, len(merged) + 1)]
        shared = [s for s in merged if s.size is None]
        assert len(shared) == longest_in_common(both["pocket"], both["desk"])
        for place, size in enumerate(("pocket", "desk")):
            own = [s for s in merged if s.size in (None, size)]
            label = f"{size.capitalize()}: "
            assert [s.text.removeprefix(label) for s in own] == [f"Work {w}." for w in both[size]]
            assert [s.stitches[place] if s.size is None else s.stitches[0] for s in own] == [
                *range(1, len(own) + 1)
            ]


@pytest.mark.parametrize(
    ("texts_", "merged"),
    [
        (["Ch 20.", "Ch 39."], "Ch 20 (39)."),
        (["Ch 20.", "Ch 20."], "Ch 20."),
        (["Ch 9.", "Ch 20.", "Ch 39."], "Ch 9 (20, 39)."),
        (["Rows 2–9: sc.", "Rows 2–20: sc."], "Rows 2–9 (20): sc."),
        (["Rows 3–9: sc.", "Rows 5–20: sc."], "Rows 3–9 (5–20): sc."),
        (["Ch 5. (5, 4, 3 sts)", "Ch 5. (7, 6, 5 sts)"], "Ch 5. (5, 4, 3 (7, 6, 5) sts)"),
    ],
)
def test_figures_of_sizes_stand_together(texts_: list[str], merged: str) -> None:
    names = ["pocket", "desk", "case"][: len(texts_)]
    steps = {n: (Instruction(1, t, 1),) for n, t in zip(names, texts_, strict=True)}
    (made,) = size_set(steps)
    assert made.text == merged
    if "–" not in merged and merged != "Ch 20.":
        assert [own_text(merged, i, len(names)) for i in range(len(names))] == texts_


@pytest.mark.parametrize(
    ("widths", "told"),
    [
        ({"a": 3, "b": 3, "c": 4}, ("a", "b", "c")), ({"a": 4, "b": 3}, ("b", "a")),
        ({"a": 1, "b": 3, "c": 2}, ("a", "c", "b")), ({"a": 1}, ("a",)),
    ],
)  # fmt: skip
def test_sizes_stand_smallest_first(widths: dict[str, int], told: tuple[str, ...]) -> None:
    assert smallest_first({n: Fraction(w) for n, w in widths.items()}) == told
