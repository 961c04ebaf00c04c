"""Steps of slits, loops, colours, rounds and ovals read back and held against counts by hand.

Source of the wording's arithmetic: common practice, no published source.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest

from service.engine.colourtext import bands
from service.engine.continuing import ContinueOrder
from service.engine.edgings import EdgingOrder
from service.engine.foundation import Turning
from service.engine.gauge import Gauge, square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.rounds import Counts, runs
from service.engine.roundwords import groups, in_words, oval_ends, round_text
from service.engine.rowtext import Words, brackets
from service.engine.shaping import Run
from service.engine.shapingtext import in_words as shaping_in_words
from service.engine.sizing import PieceOrder
from service.engine.stitches import STITCHES
from service.engine.templates import FoundationPlan, SectionPlan, Template
from service.engine.yarnorder import ColoursOrder, StripeOrder
from tests.pieces import order

BUTTON = Button(Fraction(18), Fraction(3))
SC = square(16, 19)
DC = square(13, 7, stitch="double-crochet")


def texts(made: Piece) -> list[str]:
    return [line.text for line in made.instructions]


# --- a slit along the rows ----------------------------------------------------------------------


@pytest.mark.parametrize("gauge", [SC, DC], ids=["sc", "dc"])
@pytest.mark.parametrize("skipped", [1, 2, 3])
def test_a_slit_along_the_rows_is_two_sides_and_a_row_across_both(
    gauge: Gauge, skipped: int
) -> None:
    band = order("band", gauge,
                 {"button": BUTTON, "closure": ClosureOrder("slit", None, None, skipped, "along")},
                 length=280, depth=120)  # fmt: skip
    made = piece(band)
    at = made.buttonhole and made.buttonhole.slit_place
    assert at
    assert at.last_row - at.row == skipped - 1
    assert made.foundation
    stitches = made.foundation.stitches
    told = texts(made)
    (first,) = [n for n, text in enumerate(told) if "First side" in text]
    one, two, both = told[first : first + 3]
    rows = f"Row {at.row} " if skipped == 1 else f"Rows {at.row}–{at.last_row}:"
    assert one.startswith(rows)
    assert two.startswith(rows)
    assert both.startswith(f"Row {at.last_row + 1} ")
    # The first side: what the counted chain stands for, and the rest of its stitches.
    worked = re.search(r"in next (\d+) sts?, leave the rest unworked", one)
    assert worked
    near = int(worked[1]) + (gauge is DC)
    assert f"({near} sts on this side)" in one
    assert f"({stitches - near} sts on this side)" in two
    assert f"({stitches} sts)" in both
    more = re.search(r"work (\d+) more rows? on these (\d+)", one)
    assert (more and (int(more[1]), int(more[2]))) == ((skipped - 1, near) if skipped > 1 else None)
    assert (f"then {skipped - 1} row" in two) is (skipped > 1)
    # After an even number of rows the yarn of the first side hangs at the outer edge, where the
    # next row begins; after an odd number it hangs at the slit.
    assert ("drop the loop and leave it" in one) is (skipped % 2 == 0)
    assert ("fasten off" in one) is (skipped % 2 == 1)
    assert ("take up the loop that was left" in both.lower()) is (skipped % 2 == 0)
    assert ("go on with the yarn of the second side" in both.lower()) is (skipped % 2 == 1)
    assert f"same direction as Row {at.row}," in two
    # No word is cut off or doubled by what a row begins with.
    assert one.count("turn, ") == (2 if skipped > 1 else 1)
    turn = "Ch 3 (counts as first dc), turn, skip first st" if gauge is DC else "ch 1, turn"
    assert turn.lower() in one.lower()
    stands = "ch 3 (counts as first dc), dc in each" if gauge is DC else "ch 1, sc in the same st"
    assert stands in two


# --- colours ------------------------------------------------------------------------------------


def told_rows(text: str) -> list[str]:
    """The bands of a line of stripes, row by row."""

    def listed(part: str) -> list[str]:
        found = re.findall(r"(\d+) (?:rows?|rounds?) in ([a-z]+)", part)
        return [colour for n, colour in found for _ in range(int(n))]

    rows: list[str] = []
    for group, times, plain in re.findall(r"\(([^)]*)\) (\d+) times|([^(),]+)", text):
        rows += listed(group) * int(times) if group else listed(plain)
    return rows


def test_stripes_in_words_are_the_repeat_gone_round_from_any_row() -> None:
    for repeat in [
        (("ink", 4), ("ochre", 2)), (("ink", 1),), (("ink", 1), ("ochre", 1)),
        (("ink", 3), ("ochre", 1), ("rust", 2)),
    ]:  # fmt: skip
        each = [colour for colour, n in repeat for _ in range(n)]
        for done in range(2 * len(each) + 1):
            for rows in range(1, 3 * len(each) + 1):
                text = bands(repeat, rows, done)
                expected = [each[(done + i) % len(each)] for i in range(rows)]
                assert told_rows(text) == expected, (repeat, done, rows, text)
                assert "1 rows" not in text
                assert not re.search(r"\) [01] times", text)


@pytest.mark.parametrize(
    ("row", "lines"),
    [
        (1, ["Panel: Stripes from Row 2 to Row 10: 1 row in ink, 3 rows in ochre, 2 rows in ink,"
             " 3 rows in ochre."]),
        (4, ["Panel: Stripes from Row 5 to Row 10: 1 row in ochre, 2 rows in ink,"
             " 3 rows in ochre."]),
        (5, ["Panel: Stripes from Row 6 to Row 10: 2 rows in ink, 3 rows in ochre."]),
        (7, ["Panel: Change to ochre."]),
        (8, []),
    ],
)  # fmt: skip
def test_stripes_gone_on_with_tell_what_is_left_of_them(row: int, lines: list[str]) -> None:
    # Two rows in ink and three in ochre, twice: 10 rows of 5.26 mm.
    stripes = StripeOrder((("ink", 2), ("ochre", 3)), None)
    panel = order("panel", SC, {"colours": ColoursOrder("ink", stripes=(stripes,))},
                  width=100, height=53)  # fmt: skip
    told = texts(piece(replace(panel, continue_after=ContinueOrder("panel", row))))
    assert [t for t in told if "Stripes from" in t or "Change to" in t] == lines


def test_a_cord_of_chains_is_begun_in_its_colour() -> None:
    cord = order("strap", square(20, 20, stitch="chain"), {"colours": ColoursOrder("ink")},
                 length=600)  # fmt: skip
    assert any(t.startswith("With ink, ch 120") for t in texts(piece(cord)))


# --- rounds -------------------------------------------------------------------------------------


def round_of(text: str, st: str = "sc") -> tuple[int, int]:
    """What a round takes and makes, read clause by clause."""
    taken = made = 0

    def clauses(part: str) -> tuple[int, int]:
        t = m = 0
        for clause in part.split(", "):
            if found := re.fullmatch(rf"{st} in next (?:st|(\d+) sts)", clause):
                t, m = t + int(found[1] or 1), m + int(found[1] or 1)
            elif found := re.fullmatch(rf"(\d+) {st} in next st", clause):
                t, m = t + 1, m + int(found[1])
            elif found := re.fullmatch(rf"{st}(\d+)tog", clause):
                t, m = t + int(found[1]), m + 1
            else:
                raise AssertionError(clause)
        return t, m

    parts = [(group, int(times)) for group, times in re.findall(r"\(([^()]*)\) (\d+) times", text)]
    left = re.sub(r"\([^()]*\) \d+ times(, )?", "", text).strip(", ")
    for part, times in [*parts, *([(left, 1)] if left else [])]:
        t, m = clauses(part)
        taken, made = taken + t * times, made + m * times
    return taken, made


def test_every_round_of_a_few_stitches_takes_and_makes_what_it_should() -> None:
    words = Words(STITCHES["single-crochet"], Turning(1, False), "us")
    for before in range(3, 19):
        for after in range(3, 40):
            if before == after:
                continue
            for offset in (0, 1, 2, 5):
                text = round_text(words, before, after, offset)
                assert round_of(text) == (before, after), (before, after, offset, text)
                assert not re.search(r"\) [01] times|next 1 sts| 1 sc in", text), text


@pytest.mark.parametrize(
    ("before", "after", "offset", "made"),
    [
        # (plain, taken, made) and how often, by hand. 18 over 6: 2 plain, two in one.
        (18, 24, 0, [((2, 1, 2), 6)]),
        # Moved by 1: a plain stitch first, taken off the last group.
        (18, 24, 1, [((1, 0, 0), 1), ((2, 1, 2), 5), ((1, 1, 2), 1)]),
        # No more than a group has plain stitches: 2, and the last has none.
        (18, 24, 9, [((2, 0, 0), 1), ((2, 1, 2), 5), ((0, 1, 2), 1)]),
        (18, 12, 0, [((1, 2, 1), 6)]),
        (18, 12, 5, [((1, 0, 0), 1), ((1, 2, 1), 5), ((0, 2, 1), 1)]),
        # Twice as many: two in each; three for some past it.
        (6, 12, 0, [((0, 1, 2), 6)]), (6, 15, 3, [((0, 1, 2), 3), ((0, 1, 3), 3)]),
        # Three of 7 go: two together three times, one plain stitch among them.
        (7, 4, 0, [((0, 2, 1), 2), ((1, 2, 1), 1)]),
        # Fewer than half: every stitch takes two or three.
        (12, 5, 0, [((0, 2, 1), 3), ((0, 3, 1), 2)]), (12, 6, 0, [((0, 2, 1), 6)]),
    ],
)  # fmt: skip
def test_where_a_rounds_changes_lie(before: int, after: int, offset: int, made: Any) -> None:
    assert groups(before, after, offset) == made


@pytest.mark.parametrize(
    ("before", "counts", "said"),
    [
        (6, [12, 18, 24], "increase 6 stitches, spread evenly, every round 3 times"),
        (0, [6, 12, 18], "begin with 6 stitches, then increase 6 stitches, spread evenly, every"
         " round 2 times"),
        (0, [6], "begin with 6 stitches"), (0, [1, 2], "begin with 1 stitch, then increase 1"
         " stitch, spread evenly, in the next round"),
        (24, [24, 24], "work even on 24 stitches"), (1, [1], "work even on 1 stitch"),
        (24, [18, 18, 18], "decrease 6 stitches, spread evenly, in the next round, then work 2"
         " rounds even"),
        (24, [18, 18], "decrease 6 stitches, spread evenly, in the next round, then work 1 round"
         " even"),
        (24, [24, 18, 18, 12],
         "decrease 6 stitches, spread evenly, every 2nd round 2 times"),
        (24, [24, 24, 18], "decrease 6 stitches, spread evenly, in the 3rd round"),
        # Five rates and more are told by their range: 4, 6, 5, 7, 4 and 5.
        (10, [14, 20, 25, 32, 36, 41], "from 10 to 41 stitches over 6 rounds, by 4 to 7 stitches a"
         " round"),
        (10, [14, 19, 23, 28, 32, 37], "from 10 to 37 stitches over 6 rounds, by 4 or 5 stitches a"
         " round"),
        (0, [6, 13, 19, 26, 32, 39], "from 6 to 39 stitches over 6 rounds, by 6 or 7 stitches a"
         " round"),
    ],
)  # fmt: skip
def test_rounds_in_the_trades_form(before: int, counts: list[int], said: str) -> None:
    held = Counts.of(counts)
    assert in_words(before, runs(before, held), held) == said


def test_an_ovals_ends_take_all_increases_and_share_them() -> None:
    # Two sides of 13 and two ends: 31 - 26 are 5 over both ends, and 11 are made of them.
    for side in range(6):
        for before in range(2 * side + 2, 2 * side + 20):
            for more in range(1, 10):
                one, two = oval_ends(before, before + more, side)
                sides = one[0] + two[0]
                assert sides + one[1] + two[1] == before
                assert sides + one[2] + two[2] == before + more
                # The first stitch of an end begins the round, where the end has several.
                assert one[0] - side == (before - 2 * side > 2)
                assert two[0] == side
                assert abs((one[2] - one[1]) - (two[2] - two[1])) <= 1 + 1
                assert min(one[1], two[1]) >= 0


@pytest.mark.parametrize(
    ("stitch", "chains", "counts", "short"),
    [
        # A row that begins with two together: a chain fewer than stands for a stitch (handbook's
        # 2, 3 and 4), no fewer where the shorter custom is turned with, and all where none counts.
        ("half-double-crochet", 2, True, 1), ("double-crochet", 3, True, 2),
        ("treble-crochet", 4, True, 3), ("double-crochet", 2, True, 2),
        ("single-crochet", 1, False, 1), ("double-crochet", 2, False, 2),
        ("double-crochet", 3, False, 3),
    ],
)  # fmt: skip
def test_a_row_that_begins_with_a_decrease_turns_with_a_chain_fewer(
    stitch: str, chains: int, counts: bool, short: int
) -> None:
    assert Words(STITCHES[stitch], Turning(chains, counts), "us").short_turn == short


def test_brackets_cut_a_long_list_in_its_middle() -> None:
    # 24 counts are told; of 25 the first four and the last three.
    told = brackets(*range(40, 16, -1))
    assert "…" not in told
    assert told.count(",") == 23
    assert brackets(*range(40, 15, -1)) == "(40, 39, 38, 37, …, 18, 17, 16 sts)"
    assert (brackets(1), brackets(2), brackets(2, 1)) == ("(1 st)", "(2 sts)", "(2, 1 sts)")


# --- edgings and loops of whole pieces ------------------------------------------------------------


def test_a_loop_in_the_round_passes_over_what_it_bridges() -> None:
    # 24 cm of 6.25 mm are 38.4 stitches; the loop of an 18 mm button bridges two of 38.
    cup = order("tube", SC, {"button": BUTTON}, circumference=240, height=60)
    made = piece(cup)
    loop = made.buttonhole and made.buttonhole.loop
    assert loop
    assert any(
        f"ch {loop.chain}, pass over 2 sts of the last round" in t
        and f"work {loop.covering_stitches} sc into the loop" in t
        for t in texts(made)
    )


@pytest.mark.parametrize("rounds", [1, 2, 3])
def test_rounds_of_edging_are_told_one_by_one(rounds: int) -> None:
    # An edging in sc on a tube keeps its 38 stitches, as wide as those of the fabric.
    tube = order("tube", SC, {"edging": EdgingOrder(rounds=rounds)}, circumference=240, height=60)
    made = piece(tube)
    assert made.edging
    told = [t for t in texts(made) if "Edging round" in t]
    assert [int(t.split("round ")[1].split(":")[0]) for t in told] == [*range(1, rounds + 1)]
    assert all(f"({n} sc)" in t for t, n in zip(told, made.edging.rounds, strict=True))
    assert all("ch 1, sc in each st around" in t for t in told)


def test_an_edging_left_open_for_a_loop_is_told_row_by_row_with_its_faces() -> None:
    # To and fro: the first row faces right, and each after it the other way than the one before.
    made_up = {"edging": EdgingOrder(rounds=3), "button": Button(Fraction(18), Fraction(3))}
    case = order("flap-panel", SC, made_up, width=120, body_height=330)
    told = [t for t in texts(piece(case)) if "Edging row" in t]
    assert [t.split("Edging ")[1].split(":")[0] for t in told] == [
        "row 1",
        "row 2 (WS)",
        "row 3 (RS)",
    ]
    assert [", turn, " in t for t in told] == [False, True, True]


def test_a_taller_edging_turns_with_its_own_chain() -> None:
    tube = order("tube", SC, {"edging": EdgingOrder(stitch="half-double-crochet")},
                 circumference=240, height=60)  # fmt: skip
    (told,) = [t for t in texts(piece(tube)) if "Edging round" in t]
    # Handbook: half double crochet turns with 2.
    assert "ch 2 (does not count as a st), hdc in each st around" in told
    # A slip stitch needs no chain to come to its height; the round is begun with one all the same.
    for shape in (order("tube", SC, {"edging": EdgingOrder(stitch="slip-stitch")},
                        circumference=240, height=60),
                  order("panel", SC, {"edging": EdgingOrder(stitch="slip-stitch")},
                        width=100, height=60)):  # fmt: skip
        (told,) = [t for t in texts(piece(shape)) if "Edging round" in t]
        assert "ch 1" in told
        assert "ch 0" not in told


@pytest.mark.parametrize("gauge", [SC, DC], ids=["sc", "dc"])
def test_rounds_of_an_oval_add_up_side_by_side(gauge: Gauge) -> None:
    made = piece(order("oval", gauge, {"detail": "rows"}, length=200, width=120))
    st = "sc" if gauge is SC else "dc"
    counts = [n for s in made.sections for n in s.row_counts or ()]
    told = [t for t in texts(made) if re.search(r"\bRound \d", t)]
    for text, (below, count) in zip(told[1:], pairwise(counts), strict=False):
        body = text.split(": ", 1)[1]
        ends = [int(n) for n in re.findall(r"over the next (\d+) sts?, round the end", body)]
        plain = re.findall(rf"{st} in next (?:(\d+) )?sts?; over", body)
        taken = sum(int(n or 1) for n in plain) + sum(ends)
        assert len(ends) == 2, text
        assert taken == below - (gauge is DC), text  # a counted chain stands for one
        at_ends = re.findall(r"round the end: ([^;]*);", body)
        made_of = [round_of(end.strip(), st) for end in at_ends]
        assert [t for t, _ in made_of] == ends, text
        assert taken - sum(ends) + sum(m for _, m in made_of) == count - (gauge is DC), text
        assert f"({count} sts)" in text


def test_what_to_measure_is_told_with_how_near_is_near_enough() -> None:
    # 38 stitches of 6.25 mm are 237.5 mm, of which a twenty-fourth is 9.9; 57 rows are 300 mm and
    # 12.5, and 86, of 100 / 19 mm, are 452.6 and 18.9. A tape across the point tells nothing.
    case = piece(order("flap-panel", square(16, 19), width=240, body_height=300, flap_depth=150))
    told = [line.text for line in case.instructions if line.text.startswith("Measure")]
    across = "Measure: 23.8 cm across, 1 cm either way is near enough"
    assert told == [
        f"{across}.",
        f"{across}; 30 cm up from the foundation, 1.3 cm either way.",
        "Measure: 45.3 cm up from the foundation, 1.9 cm either way is near enough.",
    ]


@pytest.mark.parametrize(
    ("every", "times", "after", "told"),
    [
        # From the third on that the edges take in turn they are told as turns, and once.
        (2, 3, (), "decrease 1 stitch at one edge every 2nd row 3 times, the edges in turn"),
        (1, 3, (), "decrease 1 stitch at one edge every row 3 times, the edges in turn"),
        (2, 4, (Run(6, 2, 3, -1, -1, 10),),
         "decrease 1 stitch at one edge every 2nd row 4 times, the edges in turn, then"
         " decrease 1 stitch at each edge every 2nd row 3 times"),
        (2, 2, (), "decrease 1 stitch at the left edge in the 2nd row, then"
         " decrease 1 stitch at the right edge in the 2nd row from there"),
    ],
)  # fmt: skip
def test_edges_that_take_turns(every: int, times: int, after: tuple[Run, ...], told: str) -> None:
    turns = tuple(
        Run(every, every, 1, -1 if n % 2 == 0 else 0, -1 if n % 2 else 0, 19 - n)
        for n in range(times)
    )
    assert shaping_in_words(20, (*turns, *after)) == told


@pytest.mark.parametrize(
    ("start", "every", "rows", "last"),
    [
        # A stitch lost at each edge: over 5 stitches one plain stitch is left between, over 4 none.
        (11, 1, 4, ["Rows 3–4: Work as Row 2. (5, 3 sts)"]),
        (13, 1, 5, ["Rows 3–5: Work as Row 2. (7, 5, 3 sts)"]),
        (12, 1, 5, ["Rows 3–4: Work as Row 2. (6, 4 sts)",
                    "Row 5 (RS): Ch 1, turn, sc2tog, sc2tog. (2 sts)"]),
        (9, 2, 6, ["Rows 5–6: Repeat the last 2 rows once more. (3 sts)"]),
        (10, 2, 8, ["Rows 5–6: Repeat the last 2 rows once more. (4 sts)",
                    "Row 7 (RS): Ch 1, turn, sc in each st to end. (4 sts)",
                    "Row 8 (WS): Ch 1, turn, sc2tog, sc2tog. (2 sts)"]),
    ],
)  # fmt: skip
def test_rows_are_told_by_those_before_as_long_as_they_read_alike(
    start: int, every: int, rows: int, last: list[str]
) -> None:
    left = start - 2 * (rows // every)
    section = SectionPlan("top", "taper", to_stitches=left, every=every, rows=rows)
    top = Template("top", "Top", (), FoundationPlan(stitches=start), (section,))
    told = [line.text for line in piece(PieceOrder(square(20, 20), top, {})).instructions]
    assert [text for text in told if text.startswith("Row")][-len(last) :] == last


def test_rows_shaped_at_one_edge_read_alike_down_to_the_last_plain_stitch() -> None:
    # One is lost at the left in every row: 3 are two together and one plain, 2 are two together.
    for start in (7, 8):
        section = SectionPlan("top", "taper", to_stitches=1, rows=start - 1, edges="left")
        top = Template("top", "Top", (), FoundationPlan(stitches=start), (section,))
        told = [line.text for line in piece(PieceOrder(square(20, 20), top, {})).instructions]
        last = next(text for text in reversed(told) if "Row" in text)
        side = "WS" if start == 7 else "RS"
        assert last.startswith(f"Row {start - 1} ({side}): Ch 1, turn, sc2tog. (1 st")
