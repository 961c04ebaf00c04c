"""Going on from a row: what is worked stays, and the rest is what the plan has there, or anew."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest

from service.api.builtins import TEMPLATES
from service.api.decoding import decode
from service.api.documents import ROOT
from service.api.piece_requests import PieceRequest
from service.engine.continuing import ContinueOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.sizing import PieceOrder
from service.engine.templates import FoundationPlan, SectionPlan, Template
from service.engine.yarn import YarnOrder
from tests.engine.test_instructions import read
from tests.pieces import order

EXAMPLES = ROOT / "openapi" / "examples" / "pieces"
GAUGE = square(16, 19)
# By hand: at 18 stitches and 20 rows to 10 cm a stitch is 50/9 mm wide and a row 5 mm high.
TIGHTER = square(18, 20)
CASE = order("flap-panel", GAUGE, width=240, body_height=300, flap_depth=150)


def counts(made: Piece) -> list[int]:
    """Stitches of every row that the answer tells of."""
    return [n for s in made.sections for n in s.row_counts or ()]


def after(order: PieceOrder, section: str, row: int, **known: Any) -> Piece:
    return piece(replace(order, continue_after=ContinueOrder(section, row, **known)))


def examples() -> list[PieceOrder]:
    """Every built-in template at its own examples, at two gauges."""
    made = []
    for template in TEMPLATES.values():
        asked = {m.name: m.example for m in template.measurements if m.example}
        for gauge in (GAUGE, square(13, 14)):
            made.append(PieceOrder(gauge, template, asked, detail="rows"))
    return made


def places(made: Piece) -> list[tuple[str, int, int]]:
    """Section, row of the piece and its stitches: every row there is to go on from."""
    return [
        (s.name, s.first_row + i, n)
        for s in made.sections
        for i, n in enumerate(s.row_counts or ())
    ]


@pytest.mark.parametrize("asked", examples(), ids=lambda o: f"{o.template.name}")
def test_from_any_row_the_rest_of_the_same_plan_is_the_same(asked: PieceOrder) -> None:
    whole = piece(asked)
    rows = counts(whole)
    at = places(whole)
    for section, row, stitches in at if len(at) < 40 else random.Random(7).sample(at, 40):
        rest = after(asked, section, row, stitches=stitches)
        assert counts(rest) == rows[row:]
        assert rest.measurements == whole.measurements
        assert rest.finished == whole.finished
        assert rest.checkpoints == tuple(c for c in whole.checkpoints if c.after_row > row)
        assert rest.totals.rows == whole.totals.rows - row
        assert rest.totals.stitches == sum(rows[row:])


def random_pieces(number: int) -> list[PieceOrder]:
    """Documents of even stretches and tapers of every kind, from a fixed seed."""
    dice, made = random.Random(13), list[PieceOrder]()
    while len(made) < number:
        sections = []
        for i in range(dice.randint(1, 3)):
            rows = dice.randint(1, 24)
            if dice.random() < 0.4:
                sections.append(SectionPlan(f"part {i}", "even", rows=rows))
                continue
            extent = dice.choice([{"rows": rows}, {"every": dice.randint(1, 4)}])
            sections.append(
                SectionPlan(
                    f"part {i}",
                    "taper",
                    to_stitches=dice.randint(1, 30),
                    edges=dice.choice(["both", "left", "right"]),
                    **extent,
                )
            )
        start = FoundationPlan(stitches=dice.randint(4, 30))
        template = Template("tab", "Tab", (), start, tuple(sections))
        asked = PieceOrder(
            GAUGE, template, {}, detail="rows", right_side_only=dice.random() < 0.3,
            max_change=dice.choice([None, 1, 3]),
        )  # fmt: skip
        try:
            piece(asked)
        except Refused:
            continue
        made.append(asked)
    return made


def test_the_rest_of_random_pieces_is_the_same_from_every_row_and_reads_as_it_counts() -> None:
    for asked in random_pieces(40):
        whole = piece(asked)
        rows, text = counts(whole), read(whole, "sc")
        for section, row, stitches in places(whole)[::3]:
            rest = after(asked, section, row, stitches=stitches)
            assert counts(rest) == rows[row:]
            told = read(rest, "sc")
            assert told == {n: c for n, c in text.items() if n > row}


def test_rows_at_another_gauge_by_hand() -> None:
    # 30 cm of body: 30 rows worked by the plan at 19 rows to 10 cm, and at 5 mm a row they are
    # 15 cm high; 15 cm are left, 30 rows of 5 mm. The point: 38 to 2 in 15 cm, 30 rows.
    rest = after(replace(CASE, gauge=TIGHTER), "body", 30, planned=GAUGE)
    body, flap = rest.sections
    assert (body.first_row, body.rows, flap.first_row, flap.rows) == (31, 30, 61, 30)
    assert flap.stitches_at_start == 38
    # The width stays at 38 stitches of 50/9 mm.
    assert rest.measurements["width"].finished == Fraction(38 * 50, 9)
    assert rest.measurements["body_height"].difference == 0


def test_a_height_that_was_measured_is_what_the_rest_is_put_on() -> None:
    # 30 rows measure 16 cm, and 14 cm are left: 28 rows of 5 mm.
    rest = after(replace(CASE, gauge=TIGHTER), "body", 30, planned=GAUGE, height=Fraction(160))
    assert rest.sections[0].rows == 28
    assert rest.measurements["body_height"].finished == 300
    end = rest.checkpoints[0]
    assert (end.after_row, end.height) == (58, 300)


def test_what_is_on_the_hook_is_tapered_to_the_same_end() -> None:
    # The flap begins with row 58. Five rows on, two decreases were missed: four stitches more.
    whole = piece(replace(CASE, detail="rows"))
    flap = whole.sections[1]
    row = flap.first_row + 4
    planned = (flap.row_counts or ())[4]
    rest = after(replace(CASE, detail="rows"), "flap", row, stitches=planned + 4)
    (left,) = rest.sections
    assert (left.stitches_at_start, left.stitches_at_end) == (planned + 4, 2)
    assert left.rows == flap.rows - 5
    assert all(0 <= a - b <= 2 for a, b in pairwise((planned + 4, *(left.row_counts or ()))))


def test_an_outline_goes_on_from_the_stitches_there_are() -> None:
    asked = PieceOrder(
        GAUGE,
        TEMPLATES["rounded-flap-panel"],
        {"width": Fraction(240), "body_height": Fraction(100), "flap_depth": Fraction(80)},
        detail="rows",
    )
    whole = piece(asked)
    flap = whole.sections[-1]
    row = flap.first_row + 5
    planned = (flap.row_counts or ())[5]
    rest = after(asked, flap.name, row, stitches=planned + 2)
    assert rest.sections[0].rows == flap.rows - 6
    # Back on the outline, where the plan is, by the last row at the latest.
    assert abs(rest.sections[0].stitches_at_end - flap.stitches_at_end) <= 2


def test_a_round_that_is_off_fades_into_the_plan() -> None:
    # Hand: 6 13 19 25 31 38 44 50 57 63 lie flat; 27 for 25 in round 4. Two too many, over six
    # rounds: 5/6, 4/6 .. 0/6 of 2 are left: 1.67, 1.33, 1, 0.67, 0.33, 0 added and rounded.
    disc = order("disc", square(20, 20), {"detail": "rows"}, diameter=100)
    assert counts(piece(disc))[3] == 25
    assert counts(after(disc, "disc", 4, stitches=27)) == [33, 39, 45, 51, 57, 63]


def test_a_slit_worked_already_stays_and_one_to_come_is_placed_in_what_is_left() -> None:
    band = order(
        "band", GAUGE,
        {"button": Button(Fraction(18)), "closure": ClosureOrder("slit"),
         "yarn": YarnOrder(weight_category=4)},
        length=280, depth=53,
    )  # fmt: skip
    whole = piece(band)
    assert whole.buttonhole
    assert whole.buttonhole.slit_place
    row = whole.buttonhole.slit_place.row
    for at in (row - 1, row, row + 1):
        rest = after(band, "band", at)
        assert rest.buttonhole == whole.buttonhole
        told = [line.text for line in rest.instructions if "buttonhole" in line.text]
        assert len(told) == (at < row)
        # Yarn is of what is left.
        assert rest.yarn
        assert whole.yarn
        assert rest.yarn.length
        assert whole.yarn.length
        assert rest.yarn.length < whole.yarn.length


def test_openings_that_are_passed_stay_and_those_to_come_are_where_they_were() -> None:
    schema, file = PieceRequest(), EXAMPLES / "curved-pocket-from-an-outline.request.json"
    asked = replace(schema.load(decode(file.read_bytes())), detail="rows")
    whole = piece(asked)
    rows, text = counts(whole), read(whole, "sc")
    assert {o.row for o in whole.openings} == {16}
    for section, row, stitches in places(whole):
        rest = after(asked, section, row, stitches=stitches)
        assert counts(rest) == rows[row:]
        assert read(rest, "sc") == {n: c for n, c in text.items() if n > row}
        # Row 17 works over the chains of row 16, and so still has to know of them.
        assert rest.openings == (whole.openings if row <= 16 else ())
        assert rest.measurements == whole.measurements


@pytest.mark.parametrize(
    ("at", "code", "permitted"),
    [
        (ContinueOrder("lid", 4), "unknown-section", ["body", "flap"]),
        (ContinueOrder("flap", 57), "row-before-section", {"minimum": 58}),
        (
            ContinueOrder("body", 60),
            "already-longer",
            {"row": 57, "or": '"section_done": true'},
        ),
    ],
)
def test_where_nobody_can_be_is_refused(at: ContinueOrder, code: str, permitted: object) -> None:
    with pytest.raises(Refused) as refused:
        piece(replace(CASE, continue_after=at))
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.permitted) == (code, permitted)
    assert refusal.path[0] == "continue_after"


def test_what_the_refusal_permits_works() -> None:
    taken_back = after(CASE, "body", 57)
    assert [s.name for s in taken_back.sections] == ["flap"]
    ended = after(CASE, "body", 60, section_done=True)
    assert [(s.name, s.first_row) for s in ended.sections] == [("flap", 61)]
    assert ended.measurements["body_height"].finished == 60 * GAUGE.row_height


def rounds_told(made: Piece) -> dict[int, str]:
    """The text of every round, its section's name left out."""
    told = {}
    for line in made.instructions:
        if m := re.match(r"(?:[^:]+: )?Rounds? (\d+)(?:–(\d+))?: (.*)$", line.text):
            told |= dict.fromkeys(range(int(m[1]), int(m[2] or m[1]) + 1), m[3])
    return told


@pytest.mark.parametrize("template", ["disc", "oval", "cup", "cone", "ball", "cap", "tube"])
def test_rounds_that_are_left_read_as_in_the_whole_piece(template: str) -> None:
    (asked,) = (o for o in examples() if o.template.name == template and o.gauge == GAUGE)
    whole = piece(asked)
    told = rounds_told(whole)
    assert set(told) == set(range(1, whole.totals.rows + 1))
    for section, row, _ in places(whole):
        rest = rounds_told(after(asked, section, row))
        assert rest == {n: text for n, text in told.items() if n > row}
