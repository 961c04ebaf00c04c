"""Instructions read back: a small reader of row text counts what each row takes and makes."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import product

import pytest

from service.engine.edgings import Corner, EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import Button, ChainsOver, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.shaping import Edges
from service.engine.sizing import PieceOrder
from service.engine.stitches import STITCHES
from service.engine.templates import FoundationPlan, SectionPlan, Template
from tests.pieces import order

GAUGE = square(16, 19)
WORKED = [s for s in STITCHES.values() if s.makes_rows]


def texts(made: Piece) -> list[str]:
    return [line.text for line in made.instructions]


class Reader:
    """Works a row as it is written, and only as it is written: what it takes and what it makes."""

    def __init__(self, st: str, below: int) -> None:
        self.st, self.below, self.taken, self.made = re.escape(st), below, 0, 0

    def work(self, text: str) -> tuple[int, int]:
        # A row with openings ends on their names.
        clauses = re.sub(r" \([a-z ]+\)$", "", text).split(", ")
        for clause in clauses:
            self.clause(clause)
        return self.taken, self.made

    def add(self, taken: int, made: int) -> None:
        self.taken, self.made = self.taken + taken, self.made + made

    def clause(self, clause: str) -> None:
        stands = "counts as first" in clause or "count as first" in clause
        clause = re.sub(r" \(.*?\)", "", clause)
        if stands:  # a turning chain, or chains skipped, on the first stitch
            self.add(1, 1)
        self.stood = stands or getattr(self, "stood", False)
        n = r"(?:(\d+) )?"
        if re.fullmatch(r"turn|ch \d+|skip first st", clause):
            return
        if m := re.fullmatch(rf"{self.st} ?(\d+) ?tog(?: over .* from hook)?", clause):
            self.add(int(m[1]), 1)
        elif m := re.fullmatch(r"skip next (\d+) sts?", clause):
            self.add(int(m[1]), int(m[1]))  # the chains over them stand for as many
        elif m := re.fullmatch(rf"(\d+) {self.st} in the ch-\d+ space", clause):
            self.add(int(m[1]), int(m[1]))
        elif m := re.fullmatch(rf"{self.st} in next {n}sts?", clause):
            self.add(int(m[1] or 1), int(m[1] or 1))
        elif m := re.fullmatch(
            rf"{self.st} in each (?:st|ch) to (?:end|last {n}(?:st|ch)s?)", clause
        ):
            left = 0 if clause.endswith("to end") else int(m[1] or 1)
            plain = self.below - self.taken - left
            assert plain > 0, clause
            self.add(plain, plain)
        elif m := re.fullmatch(rf"{n}{self.st} in first st", clause):
            self.add(0 if self.stood else 1, int(m[1] or 1))
        elif m := re.fullmatch(
            rf"{n}{self.st} in (?:the st|last st|last ch|\d+\w\w ch from hook)", clause
        ):
            self.add(1, int(m[1] or 1))
        else:
            raise AssertionError(f"cannot read {clause!r}")


def read(made: Piece, st: str) -> dict[int, int]:
    """Work the piece from its text, all of it or what is left; stitches after each row."""
    texts: dict[int, str] = {}
    counts: dict[int, int] = {}
    begun = made.continued
    done, below = (begun.after_row, begun.stitches) if begun else (0, made.foundation.stitches)
    for line in made.instructions:
        m = re.match(
            r"(?:[^:]+: )?Rows? (\d+)(?: \(\w+\))?(?:–(\d+))?: (.*)\. \(([^()]*)\)$", line.text
        )
        if not m:
            continue
        first, last, text = int(m[1]), int(m[2] or m[1]), m[3][0].lower() + m[3][1:]
        back = re.fullmatch(
            r"repeat the last (\d+) rows (?:once|(\d+) times|(\d+) more times).*", text
        )
        for row in range(first, last + 1):
            assert row == max(counts, default=done) + 1
            if same := re.fullmatch(r"work as Row (\d+)", text):
                texts[row] = texts[int(same[1])]
            elif back:
                assert (last - first + 1) % int(back[1]) == 0
                texts[row] = texts[row - int(back[1])]
            else:
                texts[row] = text
            taken, after = Reader(st, below).work(texts[row])
            assert taken == below, (row, texts[row], below)
            counts[row] = below = after
        told = [int(n) for n in re.findall(r"\d+", m[4].split(" st")[0])]
        assert told[-1] == line.stitches == below, line.text
    return counts


def template(start: int, *sections: SectionPlan) -> Template:
    return Template("part", "Part", (), FoundationPlan(stitches=start), sections)


STARTS = (1, 2, 3, 4, 7, 12)


@pytest.mark.parametrize("counts", [True, False])
@pytest.mark.parametrize("stitch", [s.key for s in WORKED])
def test_working_the_text_gives_the_counts(stitch: str, counts: bool) -> None:
    kind = STITCHES[stitch]
    if counts and kind.turning_chain < 2:
        counts = False  # a chain of one never counts
    gauge = square(16, 19, stitch=stitch)
    edges: tuple[Edges, ...] = ("both", "left", "right")
    for start, end, every, edge, lead in product(
        STARTS, (1, 2, 3, 6, 15), (1, 2, 3), edges, (0, 1, 3)
    ):
        if start == end:
            continue
        taper = SectionPlan("taper", "taper", to_stitches=end, every=every, edges=edge)
        lead_in = [SectionPlan("lead", "even", rows=lead)] if lead else []
        top = SectionPlan("top", "even", rows=2)
        order_ = PieceOrder(gauge, template(start, *lead_in, taper, top), {},
                            turning_chain_counts=counts, detail="rows")  # fmt: skip
        made = piece(order_)
        wanted = [n for s in made.sections for n in s.row_counts or ()]
        assert list(read(made, kind.us.short).values()) == wanted, order_


@pytest.mark.parametrize("most", range(1, 8))
def test_working_the_text_gives_the_counts_where_rows_change_by_more(most: int) -> None:
    for start, end, rows in product((1, 2, 5, 21, 40), (1, 2, 3, 8, 33), (3, 8, 20)):
        taper = SectionPlan("taper", "taper", to_stitches=end, rows=rows, max_change=most)
        plan = template(start, taper, SectionPlan("top", "even", rows=1))
        try:
            made = piece(PieceOrder(GAUGE, plan, {}, detail="rows"))
        except Refused:
            continue
        assert list(read(made, "sc").values()) == [
            n for s in made.sections for n in s.row_counts or ()
        ]


@pytest.mark.parametrize("over", ["as-skipped", "one-fewer"])
@pytest.mark.parametrize("stitch", ["single-crochet", "double-crochet"])
def test_the_rows_of_a_slit_take_and_make_what_they_say(stitch: str, over: ChainsOver) -> None:
    for to, every, band in product((2, 9, 30, 41), (1, 2, 3), (False, True)):
        shape = SectionPlan("top", "taper", to_stitches=to, every=every)
        plan = Template("part", "Part", (), FoundationPlan(stitches=30),
                        (SectionPlan("body", "even", rows=4), shape),
                        closure_at="row-ends" if band else "last-row")  # fmt: skip
        if to == 30:
            plan = Template("part", "Part", (), FoundationPlan(stitches=30),
                            (SectionPlan("body", "even", rows=7),))  # fmt: skip
        made = piece(
            PieceOrder(square(16, 19, stitch=stitch), plan, {}, button=Button(Fraction(18)),
                       closure=ClosureOrder("slit", chains_over=over), detail="rows")
        )  # fmt: skip
        wanted = [n for s in made.sections for n in s.row_counts or ()]
        assert list(read(made, STITCHES[stitch].us.short).values()) == wanted
        assert sum("(buttonhole)" in text for text in texts(made)) == 1


def test_the_demo_reads_as_a_pattern() -> None:
    made = piece(
        order("flap-panel", GAUGE, {"edging": EdgingOrder(), "button": Button(Fraction(18))},
              width=240, body_height=300)
    )  # fmt: skip
    said = "\n".join(texts(made))
    for line in (
        "Ch 39.",
        "Row 1 (RS): Sc in 2nd ch from hook, sc in each ch to end. (38 sts)",
        "Rows 2–57: Ch 1, turn, sc in each st to end. (38 sts)",
        "Row 58 (WS): Ch 1, turn, sc2tog, sc in each st to last 2 sts, sc2tog. (36 sts)",
        "Rows 59–74: Work as Row 58. (34, 32, 30,",
        "8, 6, 4 sts)",
        "Row 75 (RS): Ch 1, turn, sc2tog, sc2tog. (2 sts)",
        "38 sc along the foundation edge, 1 in each ch",
        "(188 sc and 2 ch)",
        "ch 6, ",
        "work 7 sc into the loop",
    ):
        assert line in said


@pytest.mark.parametrize(
    ("stitch", "us", "uk"),
    [
        # Craft Yarn Council: what one country calls single the other calls double, and so on up.
        ("single-crochet", "sc in each st", "dc in each st"),
        ("half-double-crochet", "hdc in each st", "htr in each st"),
        ("double-crochet", "dc in each st", "tr in each st"),
        ("treble-crochet", "tr in each st", "dtr in each st"),
        ("slip-stitch", "sl st in each st", "ss in each st"),
    ],
)
def test_both_dialects_name_the_same_stitch(stitch: str, us: str, uk: str) -> None:
    gauge = square(16, 19, stitch=stitch)
    for terms, phrase in (("us", us), ("uk", uk)):
        made = piece(order("panel", gauge, {"terms": terms}, width=100, height=100))
        said = "\n".join(texts(made))
        assert phrase in said
        assert f"Terms are {terms.upper()}" in said
        assert ("Tension" in said) is (terms == "uk")


def test_a_turning_chain_that_counts_is_worked_into() -> None:
    made = piece(order("panel", square(13, 9, stitch="double-crochet"), width=200, height=200))
    said = "\n".join(texts(made))
    assert "Dc in 4th ch from hook (3 skipped chs count as first dc)" in said
    assert "Ch 3 (counts as first dc), turn, skip first st, dc in each st to end" in said
    assert "work the last st of the next row into its top" in said


def test_one_edge_is_shaped_at_the_start_or_the_end_as_the_side_faces() -> None:
    # A right-side row starts at the right edge, so a left-edge decrease stands at its end, and at
    # the start of a wrong-side row.
    wedge = SectionPlan("wedge", "taper", to_stitches=6, edges="left", rows=4)
    said = texts(piece(PieceOrder(GAUGE, template(10, wedge), {})))
    rows = [line for line in said if "sc2tog" in line and "Row" in line]
    assert any(line.endswith("sc in each ch to last 2 chs, sc2tog. (9 sts)") for line in rows)
    assert "Row 2 (WS): Ch 1, turn, sc2tog, sc in each st to end. (8 sts)" in rows
    assert "Row 3 (RS): Ch 1, turn, sc in each st to last 2 sts, sc2tog. (7 sts)" in rows
    assert any("a RS row starts at the right edge" in line for line in said)


def test_edging_rounds_with_corners_are_told_round_by_round() -> None:
    edging = EdgingOrder(rounds=3, corner=Corner(3, 0))
    said = texts(piece(order("panel", GAUGE, {"edging": edging}, width=240, height=300)))
    rounds = [line for line in said if line.startswith("Edging round")]
    # By hand: 2 x 57 + 2 x 38, and two more at each of four corners, each round eight more.
    assert [re.findall(r"\((\d+) sc\)", line)[-1] for line in rounds] == ["198", "206", "214"]
    assert (
        "along the foundation edge, 3 sc in first ch, sc in each of next 36 chs, 3 sc in last ch"
        in rounds[0]
    )
    assert "3 sc in the 2nd of the 3 sc of each corner" in rounds[1]


def worked_round(text: str) -> int:
    """Stitches of an edging round, added up clause by clause as it is written."""
    text = text.split(" and work ")[1].split("; join with")[0].split("; leave the last")[0]
    stitches = 0
    for clause in re.split(r"[;,] (?![^(]*\))", text):
        group = re.search(r"\((\d+) sc, ch \d+, (\d+) sc\)|^(\d+) sc in (?:first|last|the)", clause)
        if m := re.search(r"sc in each of next (\d+)", clause):
            stitches += int(m[1])
        elif re.search(r"^(?:at the .*)?sc in (?:next|first|last|the) (?:ch|st)", clause):
            stitches += 1
        elif group:
            stitches += int(group[3]) if group[3] else int(group[1]) + int(group[2])
        elif m := re.match(r"(\d+) sc along", clause):
            stitches += int(m[1])
    return stitches


@pytest.mark.parametrize("corner", [Corner(), Corner(3, 0), Corner(2, 1), Corner(5, 0)], ids=str)
@pytest.mark.parametrize("width", [240, 246])
def test_an_edging_worked_as_written_has_the_stitches_it_says(corner: Corner, width: int) -> None:
    made_up = {"edging": EdgingOrder("single-crochet", corner=corner)}
    for name, asked in (
        ("panel", {"width": width, "height": 300}),
        ("flap-panel", {"width": width, "body_height": 300}),
    ):
        made = piece(order(name, GAUGE, made_up, **asked))
        (text,) = [line for line in texts(made) if line.startswith("Edging round")]
        assert made.edging is not None
        assert worked_round(text) == made.edging.stitches, text


def test_measured_edging_says_how_to_spread_it() -> None:
    edging = EdgingOrder(spread="measured")
    said = "\n".join(texts(piece(order("panel", GAUGE, {"edging": edging}, width=240, height=300))))
    # By hand: 300 mm at 6.25 mm a stitch is 48 for 57 row ends.
    assert "48 sc along the left edge of the panel, leaving out 9 of its 57 row ends" in said


@pytest.mark.parametrize(
    ("closure", "words"),
    [
        (ClosureOrder("slit"), "sc in next 17 sts, ch 3, skip next 3 sts, sc in next 18 sts"),
        (ClosureOrder("slit", chains_over="one-fewer"), "3 sc in the ch-2 space"),
        (ClosureOrder("slit", direction="along"), "sc in next 19 sts, leave the rest unworked"),
        (ClosureOrder("loop", span=3), "with sl st in st 17 of the last row"),
    ],
)
def test_a_closure_is_told_where_it_is_worked(closure: ClosureOrder, words: str) -> None:
    made_up = {"button": Button(Fraction(18)), "closure": closure}
    said = "\n".join(texts(piece(order("panel", GAUGE, made_up, width=240, height=300))))
    assert words in said


def test_a_turning_chain_that_does_not_count_is_declared() -> None:
    made_up = {"turning_chain_counts": False}
    made = piece(order("panel", square(13, 9, stitch="double-crochet"), made_up, width=200,
                       height=200))  # fmt: skip
    said = texts(made)
    assert "turning ch 3 does not count as a st here" in said[0]
    assert "Dc in 4th ch from hook (3 skipped chs do not count)" in said[2]


def test_every_stitch_worked_together_is_explained() -> None:
    plan = template(21, SectionPlan("top", "taper", to_stitches=1, rows=4, max_change=6))
    said = texts(piece(PieceOrder(GAUGE, plan, {})))
    used = set(re.findall(r"sc(\d+)tog", "\n".join(said[1:])))
    assert used == set(re.findall(r"sc(\d+)tog =", said[0]))
    assert len(used) > 1
