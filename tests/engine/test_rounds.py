"""In the round: counts against published figures and closed forms, and the text read back."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from math import pi, sin, sqrt
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from service.api.builtins import TEMPLATES
from service.engine.ask_edging import EdgingsOrder, edgings
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.foundation import Turning
from service.engine.gauge import Gauge, square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.profile import Segment, profile
from service.engine.rounding import Multiple
from service.engine.roundplans import (
    InTheRound,
    RoundPlan,
    RoundTemplate,
    SegmentPlan,
    StartPlan,
    check_round_template,
)
from service.engine.rounds import Start, disc, flat_increases, flatness
from service.engine.roundwords import round_text, starts_together
from service.engine.rowtext import Words
from service.engine.sizing import PieceOrder
from service.engine.stitches import STITCHES
from service.engine.templates import MeasurementPlan, Term
from service.engine.units import FOUR_INCHES, TEN_CM
from tests.pieces import order

MADE = "published pattern gauges (computed)"
PRACTICE = "common practice, no published source"
SQUARE = square(20, 20)
GAUGE = square(16, 17)
ROUND = sorted(name for name, t in TEMPLATES.items() if isinstance(t, RoundTemplate))


def counts(made: Piece) -> list[int]:
    return [n for section in made.sections for n in section.row_counts or ()]


def sized(template: str, gauge: Gauge = GAUGE, **measurements: int | Fraction) -> Piece:
    return piece(order(template, gauge, {"detail": "rows"}, **measurements))


@pytest.mark.parametrize(
    ("gauge", "expected", "source"),
    [
        (square(20, 20), 6.28, "geometry: square stitches, 2 pi"),
        (square(14, 16, FOUR_INCHES), 5.50, MADE),
        (square(13, 14, FOUR_INCHES), 5.83, MADE),
        (square(13, 9, FOUR_INCHES, "half-double-crochet"), 9.08, MADE),
        (square(14, 10, TEN_CM, "half-double-crochet"), 8.80, MADE),
        (square(13, Fraction(15, 2), FOUR_INCHES, "double-crochet"), 10.89, MADE),
    ],
)
def test_a_flat_disc_gains_what_its_gauge_says(gauge: Gauge, expected: float, source: str) -> None:
    found = flat_increases(gauge.stitch_width, gauge.row_height)
    assert round(found, 2) == expected, source


def test_the_rounds_of_a_disc_of_square_stitches() -> None:
    # Exact counts, round(2 pi i): 6 13 19 25 31 38 44 50 57 63 (computed).
    assert disc(0, 2 * pi, 10) == (6, 13, 19, 25, 31, 38, 44, 50, 57, 63)
    made = sized("disc", SQUARE, diameter=100)
    assert counts(made) == [6, 13, 19, 25, 31, 38, 44, 50, 57, 63]


@pytest.mark.parametrize(
    ("gauge", "trade", "lies"),
    [
        # The trade's multiples (sc 6, read; hdc 8, dc 12) lie flat at published gauges...
        (square(14, 16, FOUR_INCHES), 6, "flat"),
        (square(13, 14, FOUR_INCHES), 6, "flat"),
        (square(13, 9, FOUR_INCHES, "half-double-crochet"), 8, "flat"),
        (square(13, Fraction(15, 2), FOUR_INCHES, "double-crochet"), 12, "flat"),
        # ... and more ruffles, fewer cups (Simply Crochet, 2020).
        (square(14, 16, FOUR_INCHES), 8, "ruffles"),
        (square(14, 16, FOUR_INCHES), 4, "cups"),
    ],
)
def test_more_increases_ruffle_and_fewer_cup(gauge: Gauge, trade: int, lies: str) -> None:
    flat = flat_increases(gauge.stitch_width, gauge.row_height)
    assert flatness(trade, flat).lies == lies


def test_a_chosen_number_of_increases_is_kept_and_judged() -> None:
    plan = RoundPlan("base", "disc", to_diameter=Term("width"), increases=8)
    mat = RoundTemplate(
        "mat", "Mat", (MeasurementPlan("width", "across"),), StartPlan("ring"), (plan,)
    )
    made = piece(PieceOrder(SQUARE, mat, {"width": Fraction(50)}, detail="rows"))
    assert counts(made) == [8, 16, 24, 32, 40]
    flat = made.sections[0].flatness  # type: ignore[union-attr]
    assert flat is not None
    assert (round(flat.off_percent, 1), flat.lies) == (27.3, "ruffles")
    assert flat.shows_past_percent == 12.5
    # By hand: 8 - 2 pi is 1.72 stitches a round, so the first round is already a stitch off.
    assert flat.rounds_to_a_stitch_off == 1
    assert "disc-ruffles" in [c.code for c in made.cautions]


def test_an_oval_grows_as_the_trade_has_it() -> None:
    # Oval on both sides of a chain c in sc, X = c - 3: 2X + 6, then 6 more each round (read);
    # c = 6: 12, 18, 24, 30. Square stitches gain 2 pi, so six are chosen here.
    plan = RoundPlan("base", "disc", to_diameter=Term("width"), increases=6)
    listed = (MeasurementPlan("length", "along"), MeasurementPlan("width", "across"))
    start = StartPlan("oval", length=Term("length"), width=Term("width"))
    mat = RoundTemplate("mat", "Mat", listed, start, (plan,))
    asked = {"length": Fraction(55), "width": Fraction(40)}
    made = piece(PieceOrder(SQUARE, mat, asked, detail="rows"))
    assert made.start is not None
    assert made.start.chain == 6
    assert counts(made) == [12, 18, 24, 30]
    assert (made.measurements["length"].finished, made.measurements["width"].finished) == (55, 40)


@pytest.mark.parametrize("diameter", [60, 83, 120, 200])
def test_the_rim_of_a_disc_is_as_long_as_its_circle(diameter: int) -> None:
    # Closed form: 2 pi r, to half a stitch; the diameter to a round at either side.
    made = sized("disc", diameter=diameter)
    finished = made.measurements["diameter"].finished
    rim = counts(made)[-1] * float(GAUGE.stitch_width)
    assert abs(rim - pi * float(finished)) <= float(GAUGE.stitch_width) / 2
    assert abs(finished - diameter) <= GAUGE.row_height


@pytest.mark.parametrize("diameter", [60, 90, 140, 300])
def test_a_ball_covers_its_sphere(diameter: int) -> None:
    # Closed form: 4 pi r^2, to the rounding of half a stitch a round and the two closed ends.
    made = sized("ball", diameter=diameter)
    w, h = float(GAUGE.stitch_width), float(GAUGE.row_height)
    area = made.totals.stitches * w * h
    assert abs(area - pi * diameter**2) <= (made.totals.rows / 2 + 12) * w * h
    # Counts follow the sine of the polar angle (read); the widest is the asked circumference.
    found = counts(made)
    rounds = made.totals.rows + 1
    equator = pi * diameter / w
    assert all(
        abs(n - equator * sin(pi * i / rounds)) <= 0.5 + 1e-3 for i, n in enumerate(found, 1)
    )
    assert found == found[::-1]


def test_the_equator_of_a_ball_of_square_stitches_is_twice_its_rounds() -> None:
    # Read: equator stitches = 2 x rows, the round that closes counted among them.
    made = sized("ball", SQUARE, diameter=Fraction(200 * 1000, 3142))
    assert max(counts(made)) == 2 * (made.totals.rows + 1)


@pytest.mark.parametrize(("diameter", "height"), [(80, 90), (120, 60), (60, 200)])
def test_a_cone_covers_its_side(diameter: int, height: int) -> None:
    # Closed form: pi r l, to the stitch a round that its steps and its tip make.
    made = sized("cone", base_diameter=diameter, height=height)
    w, h = float(GAUGE.stitch_width), float(GAUGE.row_height)
    radius = diameter / 2
    side = pi * radius * sqrt(radius**2 + height**2)
    last = counts(made)[-1]
    assert abs(made.totals.stitches * w * h - side) <= (last / 2 + made.totals.rows) * w * h
    # By geometry each round gains w j / (2 pi h) = sin(half angle).
    gain = last / made.totals.rows
    half = radius / sqrt(radius**2 + height**2)
    assert gain * w / (2 * pi * h) == pytest.approx(half, rel=0.06)
    assert abs(last * w - pi * diameter) <= w / 2


def test_a_tube_is_as_wide_as_whole_stitches_make_it() -> None:
    # By hand: 200 mm at 6.25 mm a stitch is 32; 60 mm at 5.88 mm a round is 10.2.
    made = sized("tube", circumference=200, height=60)
    assert counts(made) == [32] * 10
    assert made.start is not None
    assert (made.start.kind, made.start.chain) == ("chain", 32)


def test_a_cup_stands_on_its_base() -> None:
    made = sized("cup", diameter=80, height=100)
    base, wall = made.sections
    assert wall.stitches_at_start == wall.stitches_at_end == base.stitches_at_end
    assert (base.rows, wall.rows) == (7, 17)
    assert wall.first_row == 8


@pytest.mark.parametrize(
    ("inches", "crown", "depth"),
    [
        # Hat: crown disc diameter = circumference / pi, depth = 0.4 x circumference (read; a rule
        # of thumb).
        (22, 7.00, 8.8),
        (23, 7.32, 9.2),
    ],
)
def test_a_cap_has_the_crown_and_depth_of_the_rule(inches: int, crown: float, depth: float) -> None:
    inch = Fraction(254, 10)
    fine = square(100, 100)  # so that rounding to whole stitches does not show
    made = sized("cap", fine, circumference=inches * inch)
    top = made.sections[0].finished
    assert float(top.diameter_at_end / inch) == pytest.approx(crown, abs=0.02)  # type: ignore[union-attr]
    assert float(made.measurements["depth"].finished / inch) == pytest.approx(depth, abs=0.02)
    assert made.measurements["depth"].asked is None


WIDE_DC = square(13, Fraction(15, 2), FOUR_INCHES, "double-crochet")
WIDE_HDC = square(14, 10, TEN_CM, "half-double-crochet")


@pytest.mark.parametrize(
    ("gauge", "around", "stitches", "rounds"),
    [
        # By hand: around / stitch width, and around / 2 pi / row height, each to the nearest.
        (WIDE_DC, 550, 70, 6),  # 550 / 7.815 = 70.4; 87.5 / 13.547 = 6.46
        (WIDE_DC, 300, 38, 4),  # 300 / 7.815 = 38.4; 47.7 / 13.547 = 3.52
        (WIDE_HDC, 429, 60, 7),  # 429 / 7.143 = 60.06; 68.3 / 10 = 6.83
    ],
)
def test_a_cap_goes_round_the_head_to_the_nearest_stitch(
    gauge: Gauge, around: int, stitches: int, rounds: int
) -> None:
    made = sized("cap", gauge, circumference=around)
    crown = made.sections[0]
    assert (crown.stitches_at_end, crown.rows) == (stitches, rounds)
    assert made.measurements["circumference"].finished == stitches * gauge.stitch_width
    # Up to the last round it lies as flat as a disc does.
    flat = 2 * pi * float(gauge.row_height / gauge.stitch_width)
    told = made.sections[0].row_counts
    assert told
    assert [*told[:-1]] == [int(i * flat + 0.5) for i in range(1, rounds)]


@given(
    st.lists(
        st.tuples(st.floats(-30, 40), st.floats(1, 60),
                  st.sampled_from(["line", "level-first", "upright-first"])),
        min_size=1, max_size=5,
    )
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_a_profile_is_as_long_as_its_line(segments: list[tuple[float, float, str]]) -> None:
    # Oracle: shapely's length of a finer polyline through the same quarters of ellipses.
    made = profile(50, tuple(Segment(out, up, bend) for out, up, bend in segments))  # type: ignore[arg-type]
    points, at = [(50.0, 0.0)], (50.0, 0.0)
    for out, up, bend in segments:
        for i in range(1, 2001):
            t = i / 2000
            x, y = {
                "line": (t, t),
                "level-first": (sin(t * pi / 2), 1 - sin(pi / 2 - t * pi / 2)),
                "upright-first": (1 - sin(pi / 2 - t * pi / 2), sin(t * pi / 2)),
            }[bend]
            points.append((at[0] + out * x, at[1] + up * y))
        at = points[-1]
    assert made.length == pytest.approx(LineString(points).length, rel=1e-4)


def test_a_blocked_swatch_is_told_so_in_the_round() -> None:
    # By hand: 16 sc to 10 cm, blocked to 10.5 cm, are 15.2 to 10 cm.
    blocked = replace(square(16, 17), blocked_width=Fraction(105))
    said = [i.text for i in sized("cup", blocked, diameter=80, height=100).instructions]
    assert said[0].startswith("Gauge: 15.2 sc and 17 rounds to 10 cm after blocking. Finished size")
    assert said[-1].startswith("Block as the swatch was, to 8")
    plain = [i.text for i in sized("cup", diameter=80, height=100).instructions]
    assert not any("lock" in text for text in plain)


@pytest.mark.parametrize(
    ("length", "width", "side", "finished"),
    [
        # By hand, 6.25 mm a stitch and 100 / 19 mm a round: 60 mm are 11.4, so 11 rounds, 115.79 mm
        # across; (200 - 115.79) / 6.25 = 13.47.
        (200, 120, 13, "197.0"),
        # 50 mm are 9.5, so 10 rounds, 105.26 mm; (122 - 105.26) / 6.25 = 2.68, where the 22 mm that
        # it was to be longer are 3.52.
        (122, 100, 3, "124.0"),
    ],
)
def test_an_ovals_length_is_within_half_a_stitch_whatever_its_width_comes_to(
    length: int, width: int, side: int, finished: str
) -> None:
    made = sized("oval", square(16, 19), length=length, width=width)
    assert isinstance(made.start, Start)
    assert made.start.side_stitches == side
    assert f"{float(made.measurements['length'].finished):.1f}" == finished


@pytest.mark.parametrize("rounds", ["joined", "spiral"])
def test_an_oval_increases_where_its_ends_are(rounds: Literal["joined", "spiral"]) -> None:
    # By hand: with 13 stitches along each side and 5 more, round 1 makes its first stitch and its
    # last two in one chain, and two in the other: stitches 15 and 16 are the far end, 30 and 31 the
    # near one, with stitch 1.
    made_up = {"in_the_round": InTheRound(rounds=rounds)}
    asked = order("oval", square(16, 19), made_up, length=200, width=120)
    said = [i.text for i in piece(asked).instructions]
    (first,) = [text for text in said if "Round 1:" in text]
    assert "2 sc in last ch, " in first
    assert "2 sc in the ch where the round began" in first
    (second,) = [text for text in said if "Round 2:" in text]
    assert "sc in next 14 sts; over the next 2 sts, round the end" in second.lower()
    assert second.count("over the next 2 sts, round the end: 2 sc in next st, 3 sc in next st") == 2


# --- the text, read back ------------------------------------------------------------------------


def read(text: str, name: str, below: int, stands: bool) -> tuple[int, int]:
    """Work a round as written: stitches it takes and makes; a chain that stands is the first."""
    taken = made = int(stands)
    name = re.escape(name)
    for clause in re.split(r"[;,] (?![^(]*\))", text):
        times = 1
        if m := re.fullmatch(r"\((.*)\) (\d+) times", clause):
            clause, times = m[1], int(m[2])
        for _ in range(times):
            for part in clause.split(", "):
                if re.fullmatch(r"skip the st at its base", part):
                    continue
                if part == f"{name} in each st around".replace("\\", ""):
                    made, taken = made + below - taken, below
                elif m := re.fullmatch(rf"(?:(\d+) )?{name} in the st at its base", part):
                    made += int(m[1] or 1)
                elif m := re.fullmatch(rf"{name} in next (?:(\d+) )?sts?", part):
                    taken, made = taken + int(m[1] or 1), made + int(m[1] or 1)
                elif m := re.fullmatch(rf"(\d+) {name} in next st", part):
                    taken, made = taken + 1, made + int(m[1])
                elif m := re.fullmatch(rf"{name} ?(\d+) ?tog", part):
                    taken, made = taken + int(m[1]), made + 1
                else:
                    raise AssertionError(f"cannot read {part!r} of {text!r}")
    return taken, made


@pytest.mark.parametrize("stitch", ["single-crochet", "double-crochet", "slip-stitch"])
@pytest.mark.parametrize("stands", [False, True])
def test_every_round_takes_the_round_below_and_makes_its_count(stitch: str, stands: bool) -> None:
    kind = STITCHES[stitch]
    words = Words(kind, Turning(kind.turning_chain, stands), "us")
    for before in range(3, 26):
        for after in range(3, 60):
            for offset in (0, 1, 3):
                if stands and starts_together(before, after, offset):
                    continue
                text = round_text(words, before, after, offset, stands)
                assert read(text, words.st, before, stands) == (before, after), text


@pytest.mark.parametrize("name", ROUND)
@pytest.mark.parametrize("stitch", ["single-crochet", "half-double-crochet", "double-crochet"])
def test_the_steps_tell_every_round_once_and_end_on_its_count(name: str, stitch: str) -> None:
    sizes = {m.name: Fraction(120) for m in TEMPLATES[name].measurements}
    sizes |= {"length": Fraction(200)} if "length" in sizes else {}
    sizes |= {"depth": Fraction(110)} if "depth" in sizes else {}
    made = sized(name, square(14, 9, stitch=stitch), **sizes)
    found, told = counts(made), []
    for line in made.instructions:
        if m := re.match(r"(?:[^:]+: )?Rounds? (\d+)(?:–(\d+))?: .*\((\d+) sts?\)$", line.text):
            told += range(int(m[1]), int(m[2] or m[1]) + 1)
            assert found[told[-1] - 1] == int(m[3]) == line.stitches
    assert told == list(range(1, made.totals.rows + 1))
    for section in made.sections:
        change = sum(r.times * r.change for r in section.schedule)
        assert section.stitches_at_start + change == section.stitches_at_end
        assert not section.schedule or sum(r.rows for r in section.schedule) == section.rows


def test_increases_set_off_do_not_stand_over_those_below() -> None:
    words = Words(STITCHES["single-crochet"], Turning(1, False), "us")
    # By hand: of 18 to 24, three groups' worth of corners move by half a group.
    assert round_text(words, 18, 24, 1) == (
        "sc in next st, (sc in next 2 sts, 2 sc in next st) 5 times, sc in next st, 2 sc in next st"
    )


# --- what cannot be -----------------------------------------------------------------------------


def codes(refused: pytest.ExceptionInfo[Refused]) -> dict[str, str]:
    return {"/".join(map(str, r.path)): r.code for r in refused.value.refusals}


@pytest.mark.parametrize(
    ("template", "measurements", "made_up", "expected"),
    [
        ("disc", {"diameter": 4}, {}, {"measurements/diameter": "measurement-too-small"}),
        ("oval", {"length": 60, "width": 60}, {}, {"measurements/length": "oval-not-longer"}),
        ("cap", {"circumference": 500, "depth": 60}, {}, {"measurements/depth": "already-longer"}),
        ("ball", {"diameter": 60}, {"edging": EdgingOrder()}, {"edging": "no-open-edge"}),
        ("ball", {"diameter": 60}, {"max_change": 3}, {"max_change": "round-changes-too-much"}),
        ("cup", {"diameter": 60, "height": 50},
         {"button": Button(Fraction(18)), "closure": ClosureOrder("slit")},
         {"closure/kind": "slit-in-rounds"}),
        ("tube", {"circumference": 60, "height": 50}, {"right_side_only": True},
         {"right_side_only": "no-wrong-side"}),
        ("tube", {"height": 50}, {}, {"measurements/circumference": "measurement-missing"}),
    ],
)  # fmt: skip
def test_what_cannot_be_made_in_the_round_is_refused_by_name(
    template: str, measurements: dict[str, int], made_up: dict[str, object],
    expected: dict[str, str],
) -> None:  # fmt: skip
    with pytest.raises(Refused) as refused:
        piece(order(template, GAUGE, made_up, **measurements))
    assert codes(refused) == expected


@pytest.mark.parametrize(
    ("section", "path", "code"),
    [
        (RoundPlan("a", "even", rounds=4), "sections/0", "even-on-ring"),
        (RoundPlan("a", "disc"), "sections/0", "section-size"),
        (RoundPlan("a", "disc", to_diameter=Term("w"), to_circumference=Term("w")), "sections/0",
         "section-size"),
        (RoundPlan("a", "disc", to_diameter=Term("w"), closes=True), "sections/0/closes",
         "not-for-shape"),
        (RoundPlan("a", "cone", to_diameter=Term("w")), "sections/0", "section-extent"),
        (RoundPlan("a", "disc", to_diameter=Term("v")), "sections/0/to_diameter",
         "measurement-not-listed"),
    ],
)  # fmt: skip
def test_a_round_document_that_makes_no_sense_is_refused_at_its_fault(
    section: RoundPlan, path: str, code: str
) -> None:
    listed = (MeasurementPlan("w", "across"),)
    with pytest.raises(Refused) as refused:
        check_round_template(RoundTemplate("t", "T", listed, StartPlan("ring"), (section,)))
    assert codes(refused)[path] == code


@pytest.mark.parametrize(
    ("start", "code"),
    [
        (StartPlan("ring", stitches=6), "start-size"),
        (StartPlan("chain"), "start-size"),
        (StartPlan("oval", length=Term("w")), "start-size"),
    ],
)
def test_a_start_has_the_size_its_kind_needs(start: StartPlan, code: str) -> None:
    section = RoundPlan("a", "cone", to_diameter=Term("w"), rounds=4)
    with pytest.raises(Refused) as refused:
        check_round_template(
            RoundTemplate("t", "T", (MeasurementPlan("w", "across"),), start, (section,))
        )
    assert codes(refused)["start"] == code


def test_a_profile_that_crosses_its_axis_or_comes_to_nothing_is_refused() -> None:
    for out, code in ((-90, "profile-crosses-axis"), (-50, "profile-comes-to-nothing")):
        segment = SegmentPlan(Term(None, plus=Fraction(out)), Term(None, plus=Fraction(40)))
        plan = RoundPlan("a", "profile", profile=(segment,))
        around = Fraction(314_159, 1000)  # a radius of 50 mm
        start = StartPlan("chain", circumference=Term(None, plus=around))
        with pytest.raises(Refused) as refused:
            piece(PieceOrder(GAUGE, RoundTemplate("t", "T", (), start, (plan,)), {}))
        assert codes(refused) == {"template/sections/0/profile": code}


def test_a_multiple_is_kept_where_a_section_ends() -> None:
    made_up = {"stitch_multiple": Multiple(8), "detail": "rows"}
    made = piece(order("cup", GAUGE, made_up, diameter=80, height=100))
    assert all(section.stitches_at_end % 8 == 0 for section in made.sections)
    # By hand: seven rounds of 5.9 come to 41.4 stitches, and the nearest multiple is 40.
    assert made.sections[0].stitches_at_end == 40


def test_edging_and_loop_stand_on_the_last_round() -> None:
    made_up = {"edging": EdgingOrder(rounds=2), "button": Button(Fraction(18))}
    made = piece(order("cup", GAUGE, made_up, diameter=80, height=100))
    assert made.edging is not None
    assert made.edging.rounds == (41, 41)
    assert made.edging.finished is not None
    assert made.edging.finished.height == made.finished.height + 2 * GAUGE.row_height
    assert any(line.text.startswith("Button loop") for line in made.instructions)


def test_a_maker_chooses_increases_joins_and_offset_for_a_template_that_leaves_them_open() -> None:
    made_up = {"in_the_round": InTheRound("spiral", True, 6), "detail": "rows"}
    made = piece(order("disc", SQUARE, made_up, diameter=50))
    assert counts(made) == [6, 12, 18, 24, 30]
    said = "\n".join(line.text for line in made.instructions)
    assert "Worked in a spiral" in said
    # By hand: round 4 has six groups of 3, so it is set off by one stitch and a half, one whole.
    assert "Round 4: Sc in next st, (sc in next 2 sts, 2 sc in next st) 5 times" in said
    with pytest.raises(Refused) as refused:
        piece(order("panel", SQUARE, made_up, width=50, height=50))
    assert codes(refused) == {"in_the_round": "not-in-the-round"}


@pytest.mark.parametrize(
    ("stitch", "gauge", "trade"),
    [
        # Trade multiples: sc 6 (read); hdc 8; dc 12; each in the published gauges they go with.
        ("single-crochet", square(13, 14, FOUR_INCHES), [6, 12, 18, 24]),
        ("half-double-crochet", square(14, 10, TEN_CM, "half-double-crochet"), [8, 16, 24, 32]),
        ("double-crochet", square(13, Fraction(15, 2), FOUR_INCHES, "double-crochet"),
         [12, 24, 36, 48]),
    ],
)  # fmt: skip
def test_the_trades_multiples_can_be_asked_for_and_lie_flat(
    stitch: str, gauge: Gauge, trade: list[int]
) -> None:
    made_up = {"in_the_round": InTheRound(increases=trade[0]), "detail": "rows"}
    made = piece(order("disc", gauge, made_up, diameter=8 * gauge.row_height))
    assert counts(made) == trade, stitch
    assert not [c for c in made.cautions if c.code.startswith("disc-")]


def test_an_edging_alone_goes_round_the_last_round() -> None:
    asked = order("cup", GAUGE, {"edging": EdgingOrder()}, diameter=80, height=100)
    found = edgings(EdgingsOrder(GAUGE, EdgingOrder(), asked))
    assert (found.stitches, found.corner_chains) == (41, 0)
