"""What is made up on a piece: its yarn counted by hand, its words explained, its size told."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import groupby

import pytest

from service.engine.continuing import ContinueOrder
from service.engine.edgings import Corner, EdgingOrder
from service.engine.gauge import square
from service.engine.openings import Button
from service.engine.patterns import piece
from service.engine.pieces import make
from service.engine.stitches import STITCHES
from service.engine.yarnorder import ColoursOrder, StripeOrder, YarnOrder
from service.engine.yarnwork import TAIL, Work
from tests.pieces import order

GAUGE = square(16, 19)


def of_part(work: Work, name: str) -> list[dict[str, int]]:
    return [{k: n for k, n in p.stitches.items() if n} for p in work.parts if p.name == name]


@pytest.mark.parametrize(
    ("edging", "chains", "joins", "source"),
    [
        # Four corners of one chain each, and the round begins with the turning chain of its stitch.
        (EdgingOrder(), 4 + 1, 1, "sc turns with 1 (All-in-One handbook); by hand"),
        (EdgingOrder(corner=Corner(3, 0)), 1, 1, "3 sc in each corner, no chain"),
        (EdgingOrder(rounds=3), 3 * (4 + 1), 3, "each round has its corners, and is closed"),
        (EdgingOrder("double-crochet"), 4 + 3, 1, "dc turns with 3 (All-in-One handbook)"),
        (EdgingOrder("half-double-crochet", 2), 2 * (4 + 2), 2, "hdc turns with 2 (same)"),
    ],
)
def test_chains_and_joins_of_an_edging_take_yarn(
    edging: EdgingOrder, chains: int, joins: int, source: str
) -> None:
    asked = order("panel", GAUGE, {"edging": edging}, width=100, height=100)
    edged = piece(asked).edging
    assert edged
    (part,) = of_part(make(asked).work, "edging")
    stitch = edging.stitch or "single-crochet"
    assert part == {stitch: sum(edged.rounds), "chain": chains, "slip-stitch": joins}, source


def test_a_button_loop_takes_its_chains_what_covers_them_and_two_joins() -> None:
    made_up = {"button": Button(Fraction(18), Fraction(3))}
    asked = order("flap-panel", GAUGE, made_up, width=240, body_height=300, flap_depth=150)
    hole = piece(asked).buttonhole
    assert hole
    assert hole.loop
    (part,) = of_part(make(asked).work, "button loop")
    assert part == {
        "chain": hole.loop.chain, "single-crochet": hole.loop.covering_stitches, "slip-stitch": 2,
    }  # fmt: skip


def tails(work: Work) -> Fraction:
    return sum((p.length for p in work.parts if p.name == "tails"), Fraction(0)) / TAIL


@pytest.mark.parametrize("begun", [0, 1, 7, 8, 21])
@pytest.mark.parametrize("edged", [None, "ink", "ochre", "rust"])
@pytest.mark.parametrize(
    "repeat", [(("ink", 2), ("ochre", 1)), (("ink", 3), ("ochre", 2), ("ink", 1)), (("ink", 5),)]
)
def test_every_stretch_of_a_colour_has_two_ends(
    repeat: tuple[tuple[str, int], ...], edged: str | None, begun: int
) -> None:
    # Brute force: the colour of every row one after another; a stretch is begun and broken off
    # once, but for what is on the hook when the work goes on, which has one end left.
    asked = order("panel", GAUGE, {"yarn": YarnOrder(weight_category=4)}, width=100, height=160)
    colours = ColoursOrder("ink", stripes=(StripeOrder(repeat),), edging=edged)
    asked = replace(asked, colours=colours, edging=EdgingOrder() if edged else None,
                    continue_after=ContinueOrder("panel", begun) if begun else None)  # fmt: skip
    made = make(asked)
    period = [colour for colour, n in repeat for _ in range(n)]
    rows = [period[i % len(period)] for i in range(made.sized.totals.rows)]
    left = rows[begun - 1 if begun else 0 :]
    stretches = [[*group] for _, group in groupby(left)]
    ends = 2 * len(stretches) - bool(begun)
    if edged:
        # The edging begins where an odd last row ended, at the left edge, and with its yarn; an
        # even one ends at the right edge, and the yarn is begun anew.
        goes_on = edged == left[-1] and len(rows) % 2
        ends += 0 if goes_on else 2
    assert tails(made.work) == ends


NAMES = {name.short: name.full for s in STITCHES.values() for name in (s.name("us"), s.name("uk"))}


PIECES = {
    "flap-panel": {"width": 240, "body_height": 300, "flap_depth": 150},
    "cup": {"diameter": 80, "height": 110},
    "tube": {"circumference": 200, "height": 60},
}


@pytest.mark.parametrize("template", PIECES)
@pytest.mark.parametrize("terms", ["us", "uk"])
@pytest.mark.parametrize("edging", [None, *(s.key for s in STITCHES.values() if s.makes_rows)])
@pytest.mark.parametrize("stitch", ["single-crochet", "double-crochet"])
@pytest.mark.parametrize("button", [None, Button(Fraction(18), Fraction(3))])
def test_every_stitch_that_the_text_names_is_explained_and_no_other(
    stitch: str, edging: str | None, button: Button | None, terms: str, template: str
) -> None:
    gauge = square(16, 12, stitch=stitch)
    own = square(15, 12, stitch=edging) if edging and edging != stitch else None
    made_up = {"button": button, "terms": terms,
               "edging": EdgingOrder(edging, gauge=own) if edging else None}  # fmt: skip
    made = piece(order(template, gauge, made_up, **PIECES[template]))
    first, *steps = (line.text for line in made.instructions)
    told = dict(re.findall(r"(?<![\w(])([a-z][a-z ]*?) = ([a-z ]+?)(?=[,.])", first))
    used = {
        short for short in NAMES
        if any(re.search(rf"(?<![\w-])(?i:{re.escape(short)})(?=\d| |\b)", text) for text in steps)
    }  # fmt: skip
    assert {short for short in told if short in NAMES} == used
