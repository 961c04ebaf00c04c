"""Colours in the instructions: read back, row by row, they are the colours that were asked for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import cycle, islice
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.ask_gauge_check import GaugeCheckOrder, gauge_check
from service.engine.colourtext import bands
from service.engine.continuing import ContinueOrder
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import Button
from service.engine.patterns import Piece, piece
from service.engine.sizeset import own_text, size_set
from service.engine.sizing import PieceOrder
from service.engine.stripes import Repeat
from service.engine.tapes import Measured
from service.engine.yarnorder import ColoursOrder, StripeOrder, YarnOrder
from tests.pieces import order

from .test_instructions import read

GAUGE = square(16, 19)
YARN = YarnOrder(weight_category=4)
INK_AND_OCHRE = (("ink", 4), ("ochre", 2))
NAMES = ["ink", "ochre", "rust"]
REPEATS = st.lists(
    st.tuples(st.sampled_from(NAMES), st.integers(1, 5)), min_size=1, max_size=5
).map(tuple)


def expanded(told: str) -> Iterator[str]:
    """Colours of the rows that stripes tell of, in order."""
    for times, group in _parts(told):
        for _ in range(times):
            for rows, colour in re.findall(r"(\d+) (?:row|round)s? in (\w+)", group):
                yield from [colour] * int(rows)


def _parts(told: str) -> list[tuple[int, str]]:
    parts = re.split(r"\(([^()]*)\) (\d+) times", told)
    made = [(1, parts[0])]
    for group, times, after in zip(parts[1::3], parts[2::3], parts[3::3], strict=True):
        made += [(int(times), group), (1, after)]
    return made


def colours_told(made: Piece, now: str = "") -> dict[int, str]:
    """The colour of every row, as a maker reads it step by step."""
    of: dict[int, str] = {}
    striped: dict[int, str] = {}
    for step in made.instructions:
        text = step.text
        if (found := re.search(r"^With (\w+), (?:ch|make)", text)) or (
            found := re.search(r"(?:^|: )Change to (\w+)\.$", text)
        ):
            now = found[1] or found[2]
        elif found := re.search(r"(?:^|: )Stripes from R\w+ (\d+) to R\w+ (\d+): (.*)\.$", text):
            told = [*expanded(found[3])]
            assert len(told) == int(found[2]) - int(found[1]) + 1
            striped = dict(enumerate(told, int(found[1])))
            now = told[-1]
        elif found := re.match(r"(?:[^:]+: )?R(?:ow|ound)s? (\d+)(?: \(\w+\))?(?:–(\d+))?: ", text):
            for row in range(int(found[1]), int(found[2] or found[1]) + 1):
                assert row not in of
                of[row] = striped.get(row, now)
    return of


def colours_asked(made: Piece, colours: ColoursOrder) -> dict[int, str]:
    """Row by row, by going round each section's repeat."""
    of = {}
    for s in made.sections:
        each = cycle([colour for colour, n in colours.repeat_of(s.name) for _ in range(n)])
        of.update(enumerate(islice(each, s.rows), s.first_row))
    return of


def colours_in_json(made: Piece) -> dict[int, str]:
    """Row by row, by going round the stripes of each entry."""
    of: dict[int, str] = {}
    for one in made.colours or ():
        each = cycle([stripe.colour for stripe in one.stripes for _ in range(stripe.rows)])
        rows = range(one.first_row, one.last_row + 1)
        of.update(zip(rows, each, strict=False))
        assert all(one.colour_of(row) == of[row] for row in rows)
    return of


def test_a_striped_case_is_told_in_its_colours() -> None:
    # By hand, 63 rows of 4 and 2: ten times six is 60, and three more.
    colours = ColoursOrder(
        "ink", {"flap": "ochre"}, (StripeOrder(INK_AND_OCHRE, "body"),), edging="ink", loop="rust"
    )
    made = piece(
        order(
            "flap-panel", GAUGE, {
                "colours": colours, "yarn": YARN, "edging": EdgingOrder(),
                "button": Button(Fraction(18), Fraction(3)),
            },
            width=120, body_height=330, flap_depth=70,
        )
    )  # fmt: skip
    texts = [step.text for step in made.instructions]
    assert texts[1:4] == [
        "With ink, ch 20.",
        "Body: Stripes from Row 1 to Row 63: (4 rows in ink, 2 rows in ochre) 10 times,"
        " 3 rows in ink.",
        "Row 1 (RS): Sc in 2nd ch from hook, sc in each ch to end. (19 sts)",
    ]
    assert "Flap: Change to ochre." in texts
    at = texts.index("Work the edging in ink.")
    assert texts[at + 1].startswith("Edging row 1: ")
    assert texts[at + 2] == "Work the button loop in rust."
    assert texts[at + 3].startswith("Button loop: change the yarn, ch ")
    assert "Cut a colour that rests" in texts[0]
    assert "Sew the seams in ink." in texts[0]


def test_a_piece_in_one_colour_says_nothing_of_changes() -> None:
    colours = ColoursOrder("ink")
    asked = order("panel", GAUGE, {"colours": colours, "yarn": YARN}, width=120, height=100)
    plain = piece(replace(asked, colours=None))
    told = [s.text for s in piece(asked).instructions]
    assert told[1] == "With ink, ch 20."
    assert told[2:] == [s.text for s in plain.instructions][2:]


def test_carried_yarn_is_not_cut() -> None:
    stripes = (StripeOrder((("ink", 2), ("ochre", 2))),)
    more: dict[str, Any] = {"colours": ColoursOrder("ink", {}, stripes, carried=True)}
    made = piece(order("panel", GAUGE, {**more, "yarn": YARN}, width=120, height=100))
    assert "Carry the colour that rests up the edge" in made.instructions[0].text
    assert "Cut" not in made.instructions[0].text


CASES = {
    "flap-panel": {"width": 120, "body_height": 130, "flap_depth": 70},
    "panel": {"width": 60, "height": 110},
    "cup": {"diameter": 80, "height": 90},
    "tube": {"circumference": 200, "height": 90},
}


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(CASES)), REPEATS, REPEATS, st.data())
def test_every_row_is_told_in_the_colour_asked_for(
    name: str, every: Repeat, one: Repeat, data: st.DataObject
) -> None:  # fmt: skip
    # Oracle: the repeat gone round, a row at a time.
    asked = order(name, GAUGE, **CASES[name])
    sections = [s.name for s in asked.template.sections]
    own = data.draw(st.sampled_from(sections))
    stripes = [StripeOrder(every)] if data.draw(st.booleans()) else []
    colours = ColoursOrder("ink", {}, (*stripes, StripeOrder(one, own)))
    asked = replace(asked, colours=colours, yarn=YARN)
    whole = piece(asked)
    told = colours_told(whole)
    assert told == colours_asked(whole, colours)
    assert told == colours_in_json(whole)
    assert [*told] == [*range(1, whole.totals.rows + 1)]
    if whole.worked == "flat":
        # The rows themselves read as they do without colours.
        assert read(whole, "sc") == read(piece(replace(asked, colours=None)), "sc")
    row = data.draw(st.integers(1, whole.totals.rows - 1))
    here = next(s for s in reversed(whole.sections) if s.first_row <= row)
    left = piece(replace(asked, continue_after=ContinueOrder(here.name, row)))
    rest = {n: colour for n, colour in told.items() if n > row}
    assert colours_told(left, told[row]) == colours_in_json(left) == rest


def test_colours_need_no_yarn_told_but_where_some_are_told_all_are() -> None:
    striped = ColoursOrder("ink", {}, (StripeOrder(INK_AND_OCHRE),))
    asked = order("panel", GAUGE, {"colours": striped}, width=120, height=100)
    made = piece(asked)
    assert made.yarn is None
    assert colours_told(made) == colours_asked(made, striped)
    with pytest.raises(Refused, match="tell the yarn of ink") as refused:
        piece(replace(asked, yarns={"ochre": YARN}))
    assert [(r.code, r.path) for r in refused.value.refusals] == [("yarn-unknown", ("yarn",))]


def test_a_coloured_edging_does_not_stand_in_the_way_of_going_on_or_of_a_check() -> None:
    # What is worked already has no edging yet: its colour is of the whole.
    more = {"edging": EdgingOrder(), "colours": ColoursOrder("ink", edging="ochre"), "yarn": YARN}
    cup = order("cup", GAUGE, more, diameter=80, height=90)
    left = piece(replace(cup, continue_after=ContinueOrder("wall", 12)))
    assert "Work the edging in ochre." in [s.text for s in left.instructions]
    case = order("flap-panel", GAUGE, more, width=120, body_height=330, flap_depth=70)
    for asked, section in ((cup, "wall"), (case, "body")):
        check = GaugeCheckOrder(asked, section, 12, Measured(width=Fraction(120)))
        assert gauge_check(check).course.after_row == 12


@settings(deadline=None)
@given(REPEATS, st.integers(1, 60), st.integers(0, 40))
def test_bands_are_the_repeat_gone_round(repeat: Repeat, rows: int, done: int) -> None:
    each = cycle([colour for colour, n in repeat for _ in range(n)])
    assert [*expanded(bands(repeat, rows, done))] == [*islice(each, done, done + rows)]


@pytest.mark.parametrize("repeat", [INK_AND_OCHRE, (("ink", 1), ("ochre", 1))])
def test_the_text_for_all_sizes_keeps_the_stripes_of_each(
    repeat: Repeat,
) -> None:
    def sized(height: int) -> PieceOrder:
        more = {"colours": ColoursOrder("ink", {}, (StripeOrder(repeat),)), "yarn": YARN}
        return order("panel", GAUGE, more, width=120, height=height)

    made = {"pocket": piece(sized(160)), "desk": piece(sized(300))}
    steps = size_set({size: one.instructions for size, one in made.items()})
    for i, (size, one) in enumerate(made.items()):
        mine = [s for s in steps if s.size in (None, size)]
        texts = [
            own_text(s.text, i, 2) if s.size is None else s.text.split(": ", 1)[1] for s in mine
        ]
        assert texts == [s.text for s in one.instructions]
