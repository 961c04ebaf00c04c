"""Yarn by hand: what of a piece takes it, sums over pieces, balls on the sum, and what to say.

Source of all: common practice, no published source; the arithmetic is by hand. A tail is 15 cm,
and a sewn seam takes three times its length.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from service.engine.ask_yarn import FindOrder, SeamLength, YarnQuestion, made_up, yarn
from service.engine.buying import Ball, Substitute
from service.engine.continuing import ContinueOrder
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import Gauge, square
from service.engine.leftover import Varied, largest, measurement_of, rows_of
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import piece
from service.engine.projectorder import ProjectOrder, ProjectPiece
from service.engine.projects import project
from service.engine.rounding import Multiple
from service.engine.sizing import PieceOrder
from service.engine.templates import FoldPlan, FoundationPlan, SectionPlan, Template
from service.engine.yarn import Estimate, YarnPart
from service.engine.yarncautions import yarn_cautions
from service.engine.yarnorder import BallOrder, ColoursOrder, StripeOrder, SwatchYarn, YarnOrder
from service.engine.yarntotals import in_all, without_swatch
from tests.pieces import order

SC = square(16, 19)
KNOWN = YarnOrder(weight_category=4)


def tab(rows: int = 5, gauge: Gauge = SC, **more: Any) -> PieceOrder:
    """Eight stitches and a few rows, worked even."""
    template = Template("tab", "Tab", (), FoundationPlan(stitches=8),
                        (SectionPlan("tab", "even", rows=rows),))  # fmt: skip
    return PieceOrder(gauge, template, {}, **more)


def parts(order: PieceOrder) -> dict[tuple[str, str], tuple[dict[str, int], int]]:
    """Stitches and millimetres of each part and colour, added."""
    stitches: dict[tuple[str, str], Counter[str]] = {}
    lengths: Counter[tuple[str, str]] = Counter()
    for part in made_up(order).work.parts:
        key = part.name, part.colour
        stitches.setdefault(key, Counter()).update(part.stitches)
        lengths[key] += part.length  # type: ignore[assignment]
    return {
        key: ({s: n for s, n in found.items() if n}, lengths[key])
        for key, found in stitches.items()
    }


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        # 8 stitches on a chain of 9; five rows of 8; four rows turn with a chain; two tails.
        (tab(), {("foundation", ""): ({"chain": 9}, 0), ("fabric", ""): ({"single-crochet": 40}, 0),
                 ("turning chains", ""): ({"chain": 4}, 0), ("tails", ""): ({}, 300)}),
        # Turned with three that count: chain 10, seven worked in each row, four times three.
        (tab(gauge=square(13, 7, stitch="double-crochet")),
         {("foundation", ""): ({"chain": 10}, 0), ("fabric", ""): ({"double-crochet": 35}, 0),
          ("turning chains", ""): ({"chain": 12}, 0), ("tails", ""): ({}, 300)}),
        # Gone on with after row 3: two rows, each turned for; what is on the hook has begun.
        (tab(continue_after=ContinueOrder("tab", 3)),
         {("fabric", ""): ({"single-crochet": 16}, 0), ("turning chains", ""): ({"chain": 2}, 0),
          ("tails", ""): ({}, 150)}),
        # An edging of its own colour: two tails more. Round the tab stand 8 + 8 stitches and a
        # stitch for each of 5 row ends twice, 26, a chain at each of 4 corners, and one to begin.
        (tab(edging=EdgingOrder(), colours=ColoursOrder("ink", edging="ochre")),
         {("foundation", "ink"): ({"chain": 9}, 0), ("fabric", "ink"): ({"single-crochet": 40}, 0),
          ("turning chains", "ink"): ({"chain": 4}, 0),
          ("edging", "ochre"): ({"single-crochet": 26, "chain": 5, "slip-stitch": 1}, 0),
          ("tails", "ink"): ({}, 300), ("tails", "ochre"): ({}, 300)}),
        # Rows of ink and of ochre in turn, two of each: ink goes twice, and is cut between.
        (tab(colours=ColoursOrder("ink", stripes=(StripeOrder((("ink", 2), ("ochre", 2))),))),
         {("foundation", "ink"): ({"chain": 9}, 0), ("fabric", "ink"): ({"single-crochet": 24}, 0),
          ("turning chains", "ink"): ({"chain": 2}, 0),
          ("fabric", "ochre"): ({"single-crochet": 16}, 0),
          ("turning chains", "ochre"): ({"chain": 2}, 0),
          ("tails", "ink"): ({}, 600), ("tails", "ochre"): ({}, 300)}),
        # Carried up, ink passes the two rows of ochre, 100 / 19 mm each, and is cut once.
        (tab(colours=ColoursOrder("ink", stripes=(StripeOrder((("ink", 2), ("ochre", 2))),),
                                  carried=True)),
         {("foundation", "ink"): ({"chain": 9}, 0), ("fabric", "ink"): ({"single-crochet": 24}, 0),
          ("turning chains", "ink"): ({"chain": 2}, 0),
          ("yarn carried up", "ink"): ({}, Fraction(200, 19)),
          ("fabric", "ochre"): ({"single-crochet": 16}, 0),
          ("turning chains", "ochre"): ({"chain": 2}, 0),
          ("tails", "ink"): ({}, 300), ("tails", "ochre"): ({}, 300)}),
    ],
)  # fmt: skip
def test_all_that_takes_yarn_by_hand(asked: PieceOrder, expected: Any) -> None:
    assert parts(asked) == expected


@pytest.mark.parametrize(("rows", "tails"), [(5, 300), (6, 600)])
def test_an_edging_goes_on_from_the_last_row_where_that_ends_at_the_left(
    rows: int, tails: int
) -> None:
    # A right-side row ends at the left edge, where the edging begins; a wrong-side one does not.
    assert parts(tab(rows, edging=EdgingOrder()))["tails", ""] == ({}, tails)


def test_an_edging_at_a_gauge_of_its_own_takes_as_its_stitches_are_large() -> None:
    # By the model a stitch takes yarn as its width times its height: at twice both, four times.
    large = Gauge("single-crochet", Fraction(8), Fraction(100), Fraction(19), Fraction(200))
    (edge,) = [p for p in made_up(tab(edging=EdgingOrder(gauge=large))).work.parts
               if p.name == "edging"]  # fmt: skip
    assert edge.scale == 4
    tall = Gauge("single-crochet", Fraction(16), Fraction(100), Fraction(19), Fraction(200))
    (edge,) = [p for p in made_up(tab(edging=EdgingOrder(gauge=tall))).work.parts
               if p.name == "edging"]  # fmt: skip
    assert edge.scale == 2


@pytest.mark.parametrize(
    ("layers", "joined", "length"),
    [
        (2, False, None), (3, False, None),
        # Five rows of 100/19 mm in two layers: two sides of 250/19 mm, three times that, and two
        # tails for each side.
        (2, True, 3 * Fraction(500, 19) + 4 * 150),
        # In three layers four sides of 500/57 mm.
        (3, True, 3 * 4 * Fraction(500, 57) + 8 * 150),
    ],
)  # fmt: skip
def test_the_sides_of_a_fold_are_sewn_where_they_are_joined(
    layers: int, joined: bool, length: Fraction | None
) -> None:
    folded = replace(tab().template, folds=(FoldPlan("tab", layers, joined),))
    found = parts(replace(tab(), template=folded)).get(("seams", ""))
    assert found == (None if length is None else ({}, length))


def test_each_caution_of_a_projects_yarn_points_to_where_that_yarn_is_told() -> None:
    ink = {"yarns": {"ink": KNOWN}, "colours": ColoursOrder("ink")}
    wanted = {"width": Fraction(300), "height": Fraction(600)}
    pieces = tuple(
        ProjectPiece(name, order("panel", SC, made), wanted)
        for name, made in (("front", {"yarn": KNOWN}), ("back", ink))
    )
    fields = {
        c.pieces: c.fields
        for c in project(ProjectOrder(("one",), pieces)).cautions
        if c.code == "yarn-may-run-out"
    }
    assert fields == {
        ("front",): (("pieces", 0, "yarn"),), ("back",): (("pieces", 1, "yarns", "ink"),),
    }  # fmt: skip


def test_a_tube_joins_each_round_and_its_chain() -> None:
    # 24 cm of 6.25 mm are 38 stitches, chained and joined; 12 rounds of 5.26 mm, each begun with a
    # chain and joined with a slip stitch.
    tube = order("tube", SC, circumference=240, height=63)
    assert tube.template.rounds == "joined"  # type: ignore[union-attr]
    assert parts(tube) == {
        ("foundation", ""): ({"chain": 38, "slip-stitch": 1}, 0),
        ("fabric", ""): ({"single-crochet": 38 * 12}, 0),
        ("turning chains", ""): ({"chain": 12, "slip-stitch": 12}, 0),
        ("tails", ""): ({}, 300),
    }


def test_a_loop_takes_its_chains_its_cover_and_two_joins() -> None:
    tube = order("tube", SC, {"button": Button(Fraction(18), Fraction(3)),
                              "colours": ColoursOrder("ink", loop="ochre")},
                 circumference=240, height=63)  # fmt: skip
    made = made_up(tube)
    found = parts(tube)
    hole = made.buttonhole
    assert hole
    assert hole.loop
    assert found["button loop", "ochre"] == (
        {"chain": hole.loop.chain, "single-crochet": hole.loop.covering_stitches, "slip-stitch": 2},
        0,
    )
    assert found["tails", "ochre"] == ({}, 300)


@pytest.mark.parametrize("row", [None, -1, 0])
def test_a_slit_to_come_takes_its_chains_for_its_stitches(row: int | None) -> None:
    band = order("band", SC, {"button": Button(Fraction(18), Fraction(3)),
                              "closure": ClosureOrder("slit", chains_over="one-fewer")},
                 length=280, depth=90)  # fmt: skip
    hole = made_up(band).buttonhole
    assert hole
    assert hole.slit
    assert hole.slit_place
    at = hole.slit_place.row
    asked = band if row is None else replace(band, continue_after=ContinueOrder("band", at + row))
    took = {"single-crochet": -hole.slit.skipped, "chain": hole.slit.chain}
    assert parts(asked).get(("openings", "")) == (None if row == 0 else (took, 0))


# --- several pieces bought together -------------------------------------------------------------


def estimated(length: int | None, mass: int | None = None, **more: Any) -> Estimate:
    """An estimate that may be a fifth over, and a tenth is bought besides."""

    def span(n: int | None) -> Any:
        return None if n is None else (Fraction(n) * 5 / 6, Fraction(n) * 6 / 5)

    def buy(n: int | None) -> Any:
        return None if n is None else Fraction(n) * 11 / 10

    told: dict[str, Any] = {
        "length": None if length is None else Fraction(length),
        "mass": None if mass is None else Fraction(mass),
        "interval": span(length), "mass_interval": span(mass), "interval_percent": 20.0,
        "method": "loop-length-model", "method_source": "", "margin_percent": 10.0,
        "to_buy": buy(length), "to_buy_mass": buy(mass), "ball": None, "balls": None,
        "balls_at_most": None, "substitute": None, "parts": (),
    }  # fmt: skip
    return Estimate(**{**told, **more})


BALL = Ball(Fraction(100), Fraction(50), "given")


@pytest.mark.parametrize(
    ("lengths", "balls", "at_most"),
    [
        # 60 and 60: 132 to buy is 2 balls of 100, and 144 at most is 2; each alone would take one.
        ((60, 60), 2, 2),
        # 50, 50 and 75: 192.5 to buy, 2; at most 210, 3.
        ((50, 50, 75), 2, 3),
        ((100,), 2, 2), ((80,), 1, 1), ((90,), 1, 2),
    ],
)  # fmt: skip
def test_balls_are_counted_on_the_sum(lengths: tuple[int, ...], balls: int, at_most: int) -> None:
    made = in_all(tuple(estimated(n, n // 2, ball=BALL) for n in lengths))
    assert (made.balls, made.balls_at_most) == (balls, at_most)
    assert made.length == sum(lengths)
    assert made.to_buy == Fraction(sum(lengths) * 11, 10)
    assert made.interval == (Fraction(sum(lengths) * 5, 6), Fraction(sum(lengths) * 6, 5))
    assert made.interval_percent == pytest.approx(20)


def test_what_a_swatch_was_weighed_for_is_bought_by_mass() -> None:
    # 60 g and 45 g: 115.5 g to buy is 3 balls of 50 g, 126 g at most is 3; by length it would be
    # 1,050 m of balls of 100.
    made = in_all(tuple(estimated(10 * n, n, ball=BALL, method="swatch-mass") for n in (60, 45)))
    assert (made.balls, made.balls_at_most) == (3, 3)
    assert made.interval_percent == pytest.approx(20)
    by_length = in_all(tuple(estimated(10 * n, n, ball=BALL) for n in (60, 45)))
    assert (by_length.balls, by_length.balls_at_most) == (12, 13)


def test_what_is_not_known_of_one_is_not_known_of_all() -> None:
    made = in_all((estimated(60, None, ball=BALL), estimated(None, 30, ball=BALL)))
    assert (made.length, made.mass, made.interval, made.balls) == (None, None, None, None)
    assert made.interval_percent == 0


def test_another_yarn_is_counted_on_the_sum_too() -> None:
    # Balls of 100 mm and 40 g: 176 to buy are 2 balls, 192 at most 2; 70.4 g.
    ball = Ball(Fraction(100), Fraction(40), "given")
    other = Substitute(ball, Fraction(1), Fraction(1), 9, 9, 400.0, None)
    # Its mass stands to its length as its ball's does: 2 mm weigh 4/5 g.
    other = replace(other, length=Fraction(5), mass=Fraction(2))
    made = in_all((estimated(80, substitute=other), estimated(80, substitute=other))).substitute
    assert made
    assert (made.length, made.mass) == (176, Fraction(352, 5))
    assert (made.balls, made.balls_at_most) == (2, 2)
    made = in_all((estimated(85, substitute=other), estimated(85, substitute=other))).substitute
    assert made
    assert (made.balls, made.balls_at_most) == (2, 3)  # 187 to buy, 204 at most
    assert in_all((estimated(None, 80, substitute=other),)).substitute is None


def test_like_parts_are_added_and_sections_are_fabric_all_together() -> None:
    def part(name: str, section: str | None, colour: str | None, n: int) -> YarnPart:
        return YarnPart(name, section, colour, Fraction(n), None)

    one = estimated(6, parts=(part("fabric", "body", "ink", 1), part("fabric", "flap", "ink", 2),
                              part("tails", None, "ink", 3)))  # fmt: skip
    two = estimated(4, parts=(part("fabric", "band", "ink", 4), part("tails", None, "ochre", 5)))
    assert in_all((one, two)).parts == (
        part("fabric", None, "ink", 7), part("tails", None, "ink", 3),
        part("tails", None, "ochre", 5),
    )  # fmt: skip


@pytest.mark.parametrize("by", ["length", "mass"])
def test_a_swatch_is_taken_out_in_proportion(by: str) -> None:
    # 20 of 80 are the swatch's: three quarters are left of everything.
    def part(name: str, n: int) -> YarnPart:
        return YarnPart(name, None, None, Fraction(n) if by == "length" else None,
                        Fraction(n) if by == "mass" else None)  # fmt: skip

    told = (part("fabric", 60), part("swatch", 20))
    made = estimated(80, None, parts=told) if by == "length" else estimated(None, 80, parts=told)
    left = without_swatch(made)
    amount, span, buy = (
        (left.length, left.interval, left.to_buy) if by == "length"
        else (left.mass, left.mass_interval, left.to_buy_mass)
    )  # fmt: skip
    assert (amount, span, buy) == (60, (50, 72), 66)
    assert [p.part for p in left.parts] == ["fabric"]
    assert without_swatch(left) is left


# --- what to say of it --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("balls", "at_most", "codes", "words"),
    [
        (1, 1, [], None), (2, 2, ["one-dye-lot"], None), (None, None, [], None),
        (1, 2, ["yarn-may-run-out", "one-dye-lot"], "1 ball should do, 2 if"),
        (2, 3, ["yarn-may-run-out", "one-dye-lot"], "2 balls should do, 3 if"),
    ],
)  # fmt: skip
def test_what_to_look_out_for(
    balls: int | None, at_most: int | None, codes: list[str], words: str | None
) -> None:
    told = yarn_cautions(estimated(80, balls=balls, balls_at_most=at_most))
    assert [c.code for c in told] == codes
    assert all(c.field == ("yarn",) for c in told)
    assert words is None or words in told[0].text
    own = yarn_cautions(estimated(80, balls=balls, balls_at_most=at_most), "ink", own=True)
    assert all(c.field == ("yarns", "ink") for c in own)
    assert words is None or "The estimate of ink may be" in own[0].text


def test_a_piece_says_what_its_yarn_raises() -> None:
    # A panel by its weight category alone: how far the most is over the estimate is a ball or more.
    flat = piece(order("panel", SC, {"yarn": KNOWN}, width=300, height=600)).cautions
    assert {"yarn-may-run-out", "one-dye-lot"} <= {c.code for c in flat}
    round_ = piece(order("tube", SC, {"yarn": KNOWN}, circumference=600, height=600)).cautions
    assert {"yarn-may-run-out", "one-dye-lot"} <= {c.code for c in round_}
    plain = piece(order("panel", SC, width=300, height=600)).cautions
    assert not {"yarn-may-run-out", "one-dye-lot"} & {c.code for c in plain}


def test_a_caution_points_at_the_yarn_it_is_of() -> None:
    # Ink has a yarn of its own; ochre is in that of all others.
    other = replace(KNOWN, substitute=BallOrder(Fraction(85_000), Fraction(50)))
    two = tab(colours=ColoursOrder("ink", edging="ochre"), edging=EdgingOrder(), yarn=other,
              yarns={"ink": other})  # fmt: skip
    told = [c.field for c in piece(two).cautions if c.code == "swatch-the-substitute"]
    assert sorted(told) == [("yarn", "substitute"), ("yarns", "ink", "substitute")]


def test_what_is_sewn_is_weighed_by_the_ball_where_the_swatch_was() -> None:
    # 100 m weigh 50 g, so 2 m a gram. A seam of 200 mm takes three times that and two tails of
    # 150: 900 mm, 0.45 g; the two tails of the piece 0.15.
    weighed = YarnOrder(swatch=SwatchYarn(mass=Fraction(10), stitches=16, rows=19),
                        ball_length=Fraction(100_000), ball_mass=Fraction(50))  # fmt: skip
    question = YarnQuestion(tab(yarn=weighed), seams=(SeamLength(Fraction(200)),))
    masses = {part.part: part.mass for part in yarn(question).yarn.parts}
    assert (masses["seams"], masses["tails"]) == (Fraction(45, 100), Fraction(15, 100))


def test_rows_left_over_after_the_last_shaping_row_are_counted() -> None:
    # 8 stitches lose two in every 2nd row twice: 8, 6, 6, 4, and five more rows of 4 are 44. Each
    # of the four lost is still worked into, and worked together with its neighbour.
    template = Template("tab", "Tab", (), FoundationPlan(stitches=8),
                        (SectionPlan("tab", "taper", to_stitches=4, every=2, rows=9),))  # fmt: skip
    made = parts(PieceOrder(SC, template, {}, yarn=KNOWN))
    assert made["fabric", ""][0]["single-crochet"] == 44 + 4


@pytest.mark.parametrize(
    ("off", "words"),
    [
        (None, None), (0.4, None), (-0.9, None), (1.0, "1 % heavier"), (25.0, "25 % heavier"),
        (-1.0, "1 % lighter"), (-30.0, "30 % lighter"),
    ],
)  # fmt: skip
def test_another_yarn_is_to_be_swatched(off: float | None, words: str | None) -> None:
    other = Substitute(BALL, Fraction(9), Fraction(9), 1, 1, 400.0, off)
    (told,) = yarn_cautions(estimated(80, substitute=other))
    assert (told.code, told.field) == ("swatch-the-substitute", ("yarn", "substitute"))
    assert ("to a length" in told.text) is (words is not None)
    assert words is None or words in told.text


# --- what is left -------------------------------------------------------------------------------

INK = {"ink": (Fraction(90_000), False)}
OCHRE = ColoursOrder("ink", edging="ochre")


@pytest.mark.parametrize(
    ("question", "code", "permitted"),
    [
        (YarnQuestion(tab(yarn=KNOWN, edging=EdgingOrder(), colours=OCHRE), left=INK),
         "left-of-which-colour", ["ink", "ochre"]),
        (YarnQuestion(tab(yarn=KNOWN), left=INK), "left-of-which-colour", ["length", "mass"]),
        (YarnQuestion(tab(yarn=KNOWN), find=FindOrder("tab")), "find-without-left", ["left"]),
        (YarnQuestion(tab(), left={"": (Fraction(9), False)}), "yarn-unknown", ["yarn", "yarns"]),
        (YarnQuestion(tab(yarn=KNOWN), left={"": (Fraction(9), False)}, find=FindOrder("lid")),
         "unknown-section", ["tab"]),
    ],
)  # fmt: skip
def test_what_is_left_is_told_of_each_colour(
    question: YarnQuestion, code: str, permitted: object
) -> None:
    with pytest.raises(Refused) as refused:
        yarn(question)
    assert (code, permitted) in [(r.code, r.permitted) for r in refused.value.refusals]


def test_a_shaped_section_has_no_rows_to_choose_and_even_ones_are_named() -> None:
    case = order("flap-panel", SC, {"yarn": KNOWN}, width=240, body_height=300)
    with pytest.raises(Refused) as refused:
        rows_of(case, "flap")
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.permitted) == ("section-is-shaped", ["body"])


@pytest.mark.parametrize(
    ("made_up_with", "period", "grows"),
    [
        ({}, 1, True), ({"edging": EdgingOrder()}, 2, True), ({"right_side_only": True}, 2, True),
        ({"button": Button(Fraction(18))}, 1, True),
        # A loop may come to lie in another colour with a row more.
        ({"button": Button(Fraction(18)), "colours": ColoursOrder("ink")}, 1, False),
        ({"colours": ColoursOrder("ink")}, 1, True),
    ],
)  # fmt: skip
def test_what_is_known_of_a_row_more(made_up_with: Any, period: int, grows: bool) -> None:
    for varied in (
        rows_of(order("panel", SC, made_up_with, width=100, height=100), "panel"),
        measurement_of(order("panel", SC, made_up_with, width=100, height=100), "height"),
    ):
        assert (varied.what, varied.period, varied.grows) == ("rows", period, grows)
        # 19 rows are 100 mm.
        assert varied.length(19) == 100
    tube = rows_of(
        order("tube", SC, {"edging": EdgingOrder()}, circumference=240, height=60), "tube"
    )
    assert (tube.period, tube.grows) == (1, True)


@pytest.mark.parametrize(
    ("template", "made_up_with", "measurements", "name", "grows"),
    [
        ("panel", {}, {"width": 100, "height": 100}, "width", True),
        # A point in every row grows with its width; with an edging, or on right-side rows, unsure.
        ("flap-panel", {}, {"width": 240, "body_height": 300}, "width", True),
        ("flap-panel", {"edging": EdgingOrder()}, {"width": 240, "body_height": 300}, "width",
         False),
        ("flap-panel", {"right_side_only": True}, {"width": 240, "body_height": 300}, "width",
         False),
        ("flap-panel", {}, {"width": 240, "body_height": 300, "flap_depth": 150}, "width", False),
        ("trapezoid", {}, {"bottom_width": 240, "top_width": 100, "height": 200}, "top_width",
         False),
    ],
)  # fmt: skip
def test_what_is_known_of_a_stitch_more(
    template: str, made_up_with: Any, measurements: Any, name: str, grows: bool
) -> None:
    varied = measurement_of(order(template, SC, made_up_with, **measurements), name)
    assert (varied.what, varied.period, varied.grows) == ("stitches", 1, grows)
    assert varied.length(16) == 100


def test_where_nothing_is_known_two_hundred_counts_are_tried_from_the_smallest() -> None:
    tried = []

    def fits(count: int) -> bool:
        tried.append(count)
        return count < 50

    odd = Varied("rows", Multiple(2, 1), Fraction, lambda n: tab(n), grows=False)
    found = largest(odd, (fits,))
    assert found.counts == (49,)
    # 3 .. : 200 odd counts (a multiple of 2 plus 1 begins with 1 where that is allowed).
    assert len(tried) == 200
    assert found.tried_to == max(tried) == odd.count(199)
    few = largest(odd, (fits,), most=21)
    assert (few.counts, few.tried_to) == ((21,), 21)
    assert largest(odd, (lambda _: False,), most=21).counts == (None,)


def test_odd_and_even_counts_are_halved_apart() -> None:
    # A row more may save one elsewhere: 40 fits, 41 does not, 43 fits, 45 does not.
    fits = {n: n <= 40 if n % 2 == 0 else n <= 43 for n in range(1, 200)}
    fits[41] = True
    two = Varied("rows", Multiple(), Fraction, lambda n: tab(n), grows=True, period=2)
    assert largest(two, (lambda n: fits.get(n, False),)).counts == (43,)
    assert largest(two, (lambda n: n % 2 == 0 and n <= 40,)).counts == (40,)
    assert largest(two, (lambda n: None if n < 9 else n <= 10,)).counts == (10,)
    # Past 64 that cannot be made, none is looked for.
    assert largest(two, (lambda n: None if n < 127 else n <= 150,)).counts == (150,)
    assert largest(two, (lambda n: None if n < 131 else n <= 150,)).counts == (None,)


def test_a_seam_is_reckoned_beside_the_piece() -> None:
    # 20 cm sewn are three times that and two tails, 90 cm; crocheted it is a stitch a place.
    plain = yarn(YarnQuestion(tab(yarn=KNOWN))).yarn
    sewn = yarn(YarnQuestion(tab(yarn=KNOWN), seams=(SeamLength(Fraction(200)),))).yarn
    assert plain.length
    assert sewn.length
    assert sewn.length - plain.length == 900
    swatch = YarnOrder(swatch=SwatchYarn(unravelled=Fraction(14_000), stitches=16, rows=19))
    plain = yarn(YarnQuestion(tab(yarn=swatch))).yarn
    (by_stitches,) = [
        p for p in yarn(YarnQuestion(
            tab(yarn=swatch), seams=(SeamLength(Fraction(200), sewn="slip-stitch"),))).yarn.parts
        if p.part == "seams"
    ]  # fmt: skip
    (by_places,) = [
        p for p in yarn(YarnQuestion(
            tab(yarn=swatch), seams=(SeamLength(Fraction(200), 32, "slip-stitch"),))).yarn.parts
        if p.part == "seams"
    ]  # fmt: skip
    # 200 mm of 6.25 mm are 32 places.
    assert by_stitches == by_places
    assert by_places.length
    assert by_places.length > 300
