"""What a reader would check with a pencil: sums, sizes and names in the printed words.

Source of the wording: common practice, no published source. Figures by hand, each in its comment.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from service.engine.ask_buttonhole import ButtonholeOrder, PlacingOrder, buttonholes
from service.engine.ask_edging import EdgingsOrder, SideOrder, edgings
from service.engine.ask_yarn import YarnQuestion, yarn
from service.engine.edgings import Along, EdgingOrder
from service.engine.fromleft import FromLeft
from service.engine.gauge import square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import piece
from service.engine.units import MILLIMETRES
from service.renders.plain_text import plain_text
from service.renders.wording import off
from tests.answers import answered
from tests.pieces import order

SC = square(16, 19)


def joined(text: str) -> str:
    return " ".join(text.split())


def inches(eighths: int) -> Fraction:
    return eighths * MILLIMETRES["in"] / 8


SUMS = [
    # 23.75 cm is written 23.8: 24 less 0.2 (the exact 0.25 would be written 0.3)
    (Fraction(240), Fraction(475, 2), "metric", "-0.2 cm"),
    (Fraction(120), Fraction(475, 4), "metric", "-0.1 cm"),
    (Fraction(70), Fraction(6842, 100), "metric", "-0.2 cm"),
    # 33.158 is written 33.2; both ends the same as written is none, whatever lies under it
    (Fraction(330), Fraction(33158, 100), "metric", "+0.2 cm"),
    (Fraction(2504, 10), Fraction(2496, 10), "metric", "0 cm"),
    (inches(40), inches(37), "imperial", "-3/8 in"),
    (inches(40), inches(50), "imperial", "+1 1/4 in"),
]


@pytest.mark.parametrize(("before", "after", "units", "told"), SUMS)
def test_a_difference_is_what_comes_between_the_two_as_they_are_written(
    before: Fraction, after: Fraction, units: str, told: str
) -> None:
    assert off(before, after, units) == told  # type: ignore[arg-type]


def test_every_row_of_measurements_in_centimetres_adds_up() -> None:
    seen = 0
    for operation in ("pieces", "size-tables", "gauge-checks"):
        for asked, answer in answered(operation).values():
            for one, other, apart in re.findall(
                r"  (\d[\d.]*) cm +(\d[\d.]*) cm +([+-]?\d[\d.]*) cm", plain_text(answer, asked)
            ):
                assert Fraction(other) - Fraction(one) == Fraction(apart)
                seen += 1
    assert seen > 20


SIZES = [
    # 281 mm is 45 of 6.25 mm; 53 is 10 of 5.263
    ("band", {"length": 281, "depth": 53}, "28.1 cm long by 5.3 cm deep"),
    ("strap", {"length": 900}, "90 cm long by 0.5 cm deep"),
    ("panel", {"width": 240, "height": 300}, "23.8 cm wide by 30 cm high"),
    ("flap-panel", {"width": 240, "body_height": 300}, "23.8 cm at its widest by 39.5 cm high"),
    ("triangle", {"width": 240}, "23.8 cm at its widest by 9.5 cm high"),
    # 37 stitches and 19 rounds to 231.25 / pi and 100 mm
    ("tube", {"circumference": 231, "height": 100}, "7.4 cm at its widest by 10 cm high"),
]


@pytest.mark.parametrize(("name", "measured", "size"), SIZES)
def test_a_size_is_told_in_the_words_that_the_piece_is_measured_by(
    name: str, measured: dict[str, int], size: str
) -> None:
    asked = order(name, SC, **measured)  # type: ignore[arg-type]
    made = piece(asked)
    assert f" Finished size {size}." in made.instructions[0].text
    assert f" Finished size: {size}." in joined(plain_text(made, asked))


@pytest.mark.parametrize("name", ["cup", "tube"])
def test_a_piece_in_the_round_tells_its_size_before_and_after_the_edging(name: str) -> None:
    sizes = {"cup": {"diameter": 80}, "tube": {"circumference": 250}}[name]
    edged = order(name, SC, {"edging": EdgingOrder(rounds=2)}, height=100, **sizes)
    made = piece(edged)
    first = made.instructions[0].text
    assert made.edging
    assert made.edging.finished
    # Two rounds of 5.26 mm stand on a height of 19: 10 cm and 1.05.
    assert made.edging.finished.height - made.finished.height == 2 * made.edging.round_height
    assert " high. Edged, about " in first
    assert first.count("Before edging") == 1
    assert " cm by 11.1 cm." in first
    assert "Finished size" not in first
    plain = piece(replace(edged, edging=None)).instructions[0].text
    assert "Finished size" in plain
    assert "dged" not in plain


def test_both_edges_of_a_section_are_told_at_once() -> None:
    panel = order("panel", SC, {"edging": EdgingOrder()}, width=240, height=300)
    (told,) = [c.text for c in piece(panel).cautions if c.code == "edging-ruffles"]
    # 57 rows of 5.263 mm are 300 mm: 48 stitches of 6.25; 57 are 19 % more
    assert told.startswith("Along the left and right edges of the panel, the usual 57 are 19 %")


def test_a_caution_of_a_project_names_the_sizes_it_is_about() -> None:
    asked, project = answered("projects")["field-sketching-kit"]
    text = joined(plain_text(project, asked))
    # 63 rows in the pocket size alone, 114 in the desk size alone; a button in both
    assert "case (pocket): Along the left and right edges of the body, the usual 63 are" in text
    assert "case (desk): Along the left and right edges of the body, the usual 114 are" in text
    assert "case, wrap band: A button up to 31.75 mm" in text
    assert "desk: the body, folded in 2, is 30 cm deep" in text


def test_what_a_seam_moved_in_the_round_is_told_in_rounds() -> None:
    asked, project = answered("projects")["rim-on-a-cup"]
    assert all(one.counted_in == "rows" for one in project.moved)
    assert "brush cup, pocket, diameter: 6 rounds in place of 5" in plain_text(project, asked)


def test_what_is_left_makes_rounds_of_a_cup_and_rows_of_a_strap() -> None:
    for name, word in (
        ("most-rows-of-a-cup-in-two-colours", "round"),
        ("longest-strap-from-what-is-left", "stitch"),
    ):
        asked, answer = answered("yarn")[name]
        assert isinstance(asked, YarnQuestion)
        left = yarn(asked).from_left
        assert isinstance(left, FromLeft)
        more = {"round": "rounds", "stitch": "stitches"}[word]
        text = joined(plain_text(answer, asked))
        assert f", {left.likely.count} {more} (" in text
        assert left.searched.startswith(f"{more}, by halving")
        assert f"Searched: {left.searched}." in text


def test_a_gauge_check_says_after_which_row_it_was_measured() -> None:
    asked, answer = answered("gauge-checks")["decreases-missed-in-the-flap"]
    assert "Measured after row 66 (in the flap)." in joined(plain_text(answer, asked))


@pytest.mark.parametrize(
    ("closure", "each", "told"),
    [
        # 20 mm takes three stitches of 6.25 mm; the band's openings are placed at four, or three
        (ClosureOrder("slit"), 4, "placed at 4 stitches each, as asked; the one for this button"),
        (ClosureOrder("slit"), 3, None),
        (ClosureOrder("slit", skipped=4), 4, None),
        (ClosureOrder("slit"), None, None),
        (ClosureOrder("loop", span=2), 1, "placed at 1 stitch each, as asked"),
    ],
)
def test_openings_placed_at_another_size_than_the_buttons_are_cautioned(
    closure: ClosureOrder, each: int | None, told: str | None
) -> None:
    placing = PlacingOrder(7, stitches=100, end_margin=3, hole_stitches=each)
    made = buttonholes(ButtonholeOrder(SC, Button(Fraction(20)), closure, placing))
    raised = [c for c in made.cautions if c.code == "placed-at-another-size"]
    assert len(raised) == (told is not None)
    if told:
        assert told in raised[0].text
        assert raised[0].field == ("placing", "hole_stitches")


@pytest.mark.parametrize(
    ("stitch", "along", "noted"),
    [
        # sc 1, dc 2, tr 3 a row end were read in a handbook; hdc 3 in two is from memory
        ("single-crochet", "row-ends", False),
        ("half-double-crochet", "row-ends", True),
        ("half-double-crochet", "foundation", False),
        ("double-crochet", "row-ends", False),
        ("treble-crochet", "row-ends", False),
    ],
)
def test_a_ratio_from_memory_says_so_where_it_is_served(
    stitch: str, along: Along, noted: bool
) -> None:
    asked = EdgingsOrder(
        square(12, 8, stitch=stitch), EdgingOrder(), sides=(SideOrder("side", along, 16),)
    )
    made = edgings(asked)
    assert (made.usual_note is not None) == noted
    assert ("from memory" in plain_text(made, asked)) == noted
