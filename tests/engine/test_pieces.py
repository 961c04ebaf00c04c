"""Pieces whole: counts by hand, outlines against shapely, refusals that say what works."""

from __future__ import annotations

from fractions import Fraction

import pytest
from shapely.geometry import LineString, Polygon

from service.api.builtins import TEMPLATES
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import Gauge, square
from service.engine.openings import Button, ClosureOrder, slit
from service.engine.patterns import Piece, piece
from service.engine.rounding import Multiple
from service.engine.roundplans import RoundTemplate, check_round_template
from service.engine.shaping import Edges, row_counts
from service.engine.sizing import PieceOrder
from service.engine.templates import (
    FoundationPlan,
    MeasurementPlan,
    SectionPlan,
    Template,
    Term,
    check_template,
)
from service.engine.yarnorder import YarnOrder
from tests.pieces import order

GAUGE = square(16, 19)
W, H = GAUGE.stitch_width, GAUGE.row_height
BUTTON = Button(Fraction(18), Fraction(3))


def codes(refused: pytest.ExceptionInfo[Refused]) -> dict[str, str]:
    return {"/".join(map(str, r.path)): r.code for r in refused.value.refusals}


def test_the_worked_excerpt_of_the_contract() -> None:
    # 24 cm at 1.6 a cm is 38.4; 30 cm at 1.9 a cm is 57 rows; 38 to 2 in 18 rows.
    made = piece(order("flap-panel", GAUGE, width=240, body_height=300))
    assert (made.foundation.chain, made.foundation.first_stitch_in_chain) == (39, 2)
    assert [(s.rows, s.stitches_at_start, s.stitches_at_end) for s in made.sections] == [
        (57, 38, 38),
        (18, 38, 2),
    ]
    assert made.sections[0].schedule == ()
    (run,) = made.sections[1].schedule
    assert (run.rows, run.every, run.times, run.left, run.right) == (18, 1, 18, -1, -1)
    assert (made.totals.rows, made.totals.stitches) == (75, 2508)
    assert made.measurements["width"].difference == Fraction(-5, 2)
    assert made.measurements["flap_depth"].asked is None


@pytest.mark.parametrize(
    ("template", "measurements"),
    [
        ("panel", {"width": 123, "height": 77}),
        ("flap-panel", {"width": 240, "body_height": 200, "flap_depth": 130}),
        ("triangle", {"width": 300}),
        ("trapezoid", {"bottom_width": 200, "top_width": 90, "height": 150}),
        ("trapezoid", {"bottom_width": 90, "top_width": 200, "height": 150}),
        ("band", {"length": 310, "depth": 50}),
    ],
)
def test_sides_are_as_long_as_the_outline(template: str, measurements: dict[str, int]) -> None:
    # Oracle: shapely's length of the polyline through the shaping rows of the right edge.
    made = piece(order(template, GAUGE, {"edging": EdgingOrder()}, **measurements))
    assert made.edging is not None
    sides = {s.name: s for s in made.edging.sides}
    for section in made.sections:
        # The edge is straight from shaping row to shaping row, so only those are corners of it.
        points, row, lost = [(0.0, 0.0)], 0, 0
        for run in section.schedule:
            for _ in range(run.times):
                row, lost = row + run.every, lost + run.right
                points.append((lost * float(W), row * float(H)))
            row += run.rows - run.every * run.times
        points.append((lost * float(W), section.rows * float(H)))
        length = LineString(points).length
        assert float(sides[f"right edge of the {section.name}"].length) == pytest.approx(length)


def test_a_triangle_covers_half_its_box() -> None:
    # Oracle: shapely's area of the triangle; each row is counted at its end, so the sum of the
    # rows falls short of the area by at most half of a row's change in every row.
    made = piece(order("triangle", GAUGE, width=400, height=300))
    corners = [(0, 0), (float(made.finished.width), 0), (0, float(made.finished.height))]
    area = Polygon(corners).area
    worked = float(made.totals.stitches * W * H)
    assert abs(worked - area) <= made.totals.rows * 2 * float(W * H)


def test_edging_of_the_demo_by_hand() -> None:
    # Common practice: one sc a row end, one a foundation chain, one chain at each corner; the loop
    # takes the two stitches of the point. 2 x (57 + 18) + 38 = 188.
    made = piece(
        order("flap-panel", GAUGE, {"edging": EdgingOrder(), "button": BUTTON}, width=240,
              body_height=300)
    )  # fmt: skip
    assert made.edging is not None
    assert (made.edging.stitches, made.edging.corner_chains) == (188, 2)
    # Without a loop the point's two stitches are edged and its corner worked.
    plain = piece(order("flap-panel", GAUGE, {"edging": EdgingOrder()}, width=240, body_height=300))
    assert plain.edging is not None
    assert (plain.edging.stitches, plain.edging.corner_chains) == (190, 3)


def test_the_edged_size_is_the_piece_and_two_rows_of_edging() -> None:
    # Common practice, no published source: an sc edging stands out by the height of an sc row.
    made = piece(order("panel", GAUGE, {"edging": EdgingOrder(rounds=2)}, width=240, height=300))
    assert made.edging is not None
    assert made.edging.finished is not None
    assert made.edging.finished.width == made.finished.width + 4 * H
    assert made.edging.finished.height == made.finished.height + 4 * H


def test_a_panel_warns_where_the_usual_edging_would_ruffle_and_a_fit_gauge_does_not() -> None:
    # By geometry: row height over stitch width is 0.84 at 16 x 19, past the tenth; 0.93 at 13 x 14.
    for gauge, warned in ((GAUGE, True), (square(13, 14), False)):
        made = piece(order("panel", gauge, {"edging": EdgingOrder()}, width=240, height=300))
        assert any(c.code == "edging-ruffles" for c in made.cautions) is warned


@pytest.mark.parametrize("rounding", ["nearest", "at-least", "at-most"])
@pytest.mark.parametrize("width", range(50, 120, 7))
def test_counts_keep_their_multiples_and_rule_one(width: int, rounding: str) -> None:
    made_up = {
        "stitch_multiple": Multiple(4, 1),
        "row_multiple": Multiple(3, 2),
        "rounding": rounding,
    }
    made = piece(order("panel", GAUGE, made_up, width=width, height=width))
    assert made.foundation.stitches % 4 == 1
    assert made.totals.rows % 3 == 2
    off_width = made.measurements["width"].difference
    off_height = made.measurements["height"].difference
    assert off_width is not None
    assert off_height is not None
    if rounding == "nearest":
        assert abs(off_width) <= 2 * W
        assert abs(off_height) <= Fraction(3, 2) * H
    else:
        over = rounding == "at-least"
        assert (off_width >= 0) is over or off_width == 0
        assert (off_height >= 0) is over or off_height == 0


def test_a_blocked_gauge_sizes_the_piece_and_the_hook_gauge_checks_it() -> None:
    gauge = Gauge("single-crochet", Fraction(20), Fraction(100), Fraction(20), Fraction(100),
                  Fraction(110), Fraction(105))  # fmt: skip
    made = piece(order("panel", gauge, width=220, height=210))
    assert (made.foundation.stitches, made.totals.rows) == (40, 40)
    assert made.checkpoints[0].width == 200
    assert made.checkpoints[1].height == 200


def test_odd_changes_give_the_left_edge_one_more_and_say_so() -> None:
    made = piece(order("trapezoid", GAUGE, bottom_width=240, top_width=120, height=200))
    (section,) = made.sections
    assert (section.stitches_at_start, section.stitches_at_end) == (38, 19)
    assert sum(r.times * r.left for r in section.schedule) == -10
    assert sum(r.times * r.right for r in section.schedule) == -9
    assert [c.code for c in made.cautions] == ["uneven-edges"]


@pytest.mark.parametrize(
    ("template", "measurements", "path", "code"),
    [
        ("panel", {"width": 100}, "measurements/height", "measurement-missing"),
        ("panel", {"width": 100, "height": 9, "depth": 9}, "measurements/depth",
         "unknown-measurement"),
        ("panel", {"width": 2, "height": 90}, "measurements/width", "measurement-too-small"),
        ("panel", {"width": 90, "height": 2}, "measurements/height", "measurement-too-small"),
        ("panel", {"width": 90_000, "height": 90}, "measurements/width", "measurement-too-large"),
        ("panel", {"width": 90, "height": 90_000}, "measurements/height", "measurement-too-large"),
        ("flap-panel", {"width": 240, "body_height": 300, "flap_depth": 70},
         "measurements/flap_depth", "shaping-does-not-fit"),
        ("triangle", {"width": 12}, "measurements/height", "section-without-rows"),
    ],
)  # fmt: skip
def test_what_cannot_be_made_is_refused_by_name(
    template: str, measurements: dict[str, int], path: str, code: str
) -> None:
    with pytest.raises(Refused) as refused:
        piece(order(template, GAUGE, **measurements))
    assert codes(refused) == {path: code}


def test_the_way_out_of_a_refusal_works() -> None:
    with pytest.raises(Refused) as refused:
        piece(order("flap-panel", GAUGE, width=240, body_height=300, flap_depth=70))
    (refusal,) = refused.value.refusals
    assert refusal.detail == (
        "from 38 to 2 stitches needs at least 18 rows (9.5 cm) at 2 stitches a row;"
        " 13 fit in 7 cm, which reach 12 stitches"
    )
    assert isinstance(refusal.permitted, dict)
    depth = Fraction(str(refusal.permitted["minimum_height"]["value"])) * 10
    made = piece(order("flap-panel", GAUGE, width=240, body_height=300, flap_depth=depth))
    assert made.sections[1].rows == refusal.permitted["minimum_rows"] == 18


def test_everything_wrong_is_told_at_once() -> None:
    with pytest.raises(Refused) as refused:
        piece(
            order("panel", GAUGE, {"turning_chain": 3, "closure": ClosureOrder(),
                                   "yarn": YarnOrder()}, breadth=3)
        )  # fmt: skip
    assert codes(refused) == {
        "closure": "closure-without-button",
        "yarn": "yarn-unknown",
        "measurements/width": "measurement-missing",
        "measurements/height": "measurement-missing",
        "measurements/breadth": "unknown-measurement",
        "foundation/turning_chain": "turning-chain-length",
    }


def test_a_chain_makes_a_cord_but_no_rows() -> None:
    chain = square(16, 19, stitch="chain")
    made = piece(order("strap", chain, length=400))
    assert (made.foundation.chain, made.totals.rows, made.sections) == (64, 0, ())
    assert [c.code for c in made.cautions] == ["cord"]
    for template, asked in (
        ("panel", {"width": 90, "height": 90}),
        ("strap", {"length": 400, "depth": 9}),
    ):
        with pytest.raises(Refused) as refused:
            piece(order(template, chain, **asked))
        assert codes(refused) == {"gauge/stitch": "stitch-makes-no-rows"}


def test_a_long_narrow_piece_is_cautioned_as_a_cord_whatever_it_is_called() -> None:
    # EN 12586: the shortest cord with a published limit is 220 mm.
    for length, cautioned in ((400, ["cord"]), (200, [])):
        made = piece(order("band", GAUGE, length=length, depth=20))
        assert [c.code for c in made.cautions] == cautioned


def test_a_piece_is_a_cord_from_eight_times_as_long_as_wide() -> None:
    # At 10 to 10 cm a stitch and a row are 10 mm. By hand: 24 stitches by 3 rows is eight times as
    # long, and past 220 mm; 23 by 3 is less than eight times. The eight: common practice.
    for length, cautioned in ((240, ["cord"]), (230, [])):
        made = piece(order("band", square(10, 10), length=length, depth=30))
        assert [c.code for c in made.cautions] == cautioned
    # Exactly the shortest cord with a published limit, and a stitch less.
    for length, cautioned in ((220, ["cord"]), (210, [])):
        made = piece(order("band", square(10, 10), length=length, depth=20))
        assert [c.code for c in made.cautions] == cautioned


def test_a_slit_that_has_to_give_just_what_it_may_lets_the_button_pass() -> None:
    # A slit of one stitch has two lips of 6.25 mm: to go round the girth each has to be half of it.
    half = BUTTON.girth / 2
    needed = half / Fraction(25, 4) - 1
    for allowed, passes in ((needed, True), (needed - Fraction(1, 1000), False)):
        made = slit(BUTTON, Fraction(25, 4), Fraction(5),
                    ClosureOrder("slit", skipped=1, stretch=allowed))  # fmt: skip
        assert made.button_passes is passes


def test_no_caution_calls_a_thing_safe() -> None:
    made_up = {"button": BUTTON, "uses": ("carrying", "near-children", "heat")}
    made = piece(order("strap", GAUGE, made_up, length=900))
    assert {c.code for c in made.cautions} == {"cord", "small-part", "near-children", "heat"}
    assert not any("safe" in c.text.replace("safety of toys", "").lower() for c in made.cautions)


def opened(made: Piece) -> tuple[int, int, int]:
    assert made.buttonhole is not None
    assert made.buttonhole.slit_place is not None
    at = made.buttonhole.slit_place
    return at.row, at.first_stitch, at.last_stitch


def test_a_slit_stands_in_the_middle_half_a_button_below_the_top() -> None:
    # Half the diameter from the edge: 9 mm is 2 rows of 5.26 mm. By hand: 38 less 3, halved, is
    # 17 plain stitches, the opening over the 18th to 20th, on the 57 - 2 = 55th row.
    made_up = {"button": BUTTON, "closure": ClosureOrder("slit")}
    made = piece(order("panel", GAUGE, made_up, width=240, height=300))
    assert opened(made) == (55, 18, 20)


def test_a_slit_in_a_point_stands_where_the_point_is_wide_enough() -> None:
    made_up = {"button": BUTTON, "closure": ClosureOrder("slit")}
    made = piece(order("flap-panel", GAUGE, made_up, width=240, body_height=300))
    row, first, last = opened(made)
    counts = [n for s in made.sections for n in row_counts(s.stitches_at_start, s.rows, s.schedule)]
    # By hand: three stitches skipped, and at either side one plain and one lost in this row and the
    # next, which is 3 + 2 x 3 = 9; counts on the point are even, so the first row over 10 will do.
    assert counts[row - 2] == 10
    assert (first, last) == (4, 6)


def test_a_slit_that_fits_nowhere_and_a_loop_too_wide_are_refused() -> None:
    wide = Button(Fraction(38), Fraction(4))
    slit = {"button": wide, "closure": ClosureOrder("slit")}
    with pytest.raises(Refused) as refused:
        piece(order("panel", GAUGE, slit, width=40, height=300))
    assert codes(refused) == {"closure": "slit-does-not-fit"}
    loop = {"button": BUTTON, "closure": ClosureOrder(span=3)}
    with pytest.raises(Refused) as refused:
        piece(order("flap-panel", GAUGE, loop, width=240, body_height=300))
    assert codes(refused) == {"closure/span": "loop-does-not-fit"}


def test_a_loop_of_the_makers_own_that_is_too_small_is_said_to_be() -> None:
    made_up = {"button": BUTTON, "closure": ClosureOrder(chains=2)}
    made = piece(order("flap-panel", GAUGE, made_up, width=240, body_height=300))
    assert made.buttonhole is not None
    assert made.buttonhole.loop is not None
    assert not made.buttonhole.loop.button_passes
    assert "button-does-not-pass" in [c.code for c in made.cautions]


@pytest.mark.parametrize(
    ("across", "span", "loose"),
    [
        # By hand, 3 mm thick at 6.25 mm a stitch: girth 2 (across - 3) + 3 pi; chains to the
        # nearest, and the gap. 10 mm: 23.4; 4 chains and 2 stitches are 37.5, 60 % over; with 1
        # stitch 31.25, 33 % over. 18 mm: 39.4; 6 and 2 are 50, 27 % over.
        (10, 2, True),
        (10, 1, False),
        (18, 2, False),
    ],
)
def test_a_loop_much_wider_than_its_button_is_said_to_be(
    across: int, span: int, loose: bool
) -> None:
    made_up = {"button": Button(Fraction(across), Fraction(3)), "closure": ClosureOrder(span=span)}
    made = piece(order("panel", GAUGE, made_up, width=240, height=300))
    assert ("loop-looser-than-button" in [c.code for c in made.cautions]) == loose


def document(**changes: object) -> Template:
    parts: dict[str, object] = {
        "name": "pouch",
        "title": "Pouch",
        "measurements": (MeasurementPlan("width", "across"), MeasurementPlan("rise", "up", True)),
        "foundation": FoundationPlan(Term("width")),
        "sections": (SectionPlan("body", "even", Term("rise"), rows=4),),
    }
    return Template(**{**parts, **changes})  # type: ignore[arg-type]


EVEN = SectionPlan("body", "even", rows=4)
TAPER = SectionPlan("top", "taper", to_point=True)


@pytest.mark.parametrize(
    ("changes", "path", "code"),
    [
        ({"foundation": FoundationPlan()}, "foundation", "foundation-size"),
        ({"foundation": FoundationPlan(Term("width"), 9)}, "foundation", "foundation-size"),
        ({"foundation": FoundationPlan(Term("rise"))}, "foundation/width", "optional-foundation"),
        ({"foundation": FoundationPlan(Term("girth"))}, "foundation/width",
         "measurement-not-listed"),
        ({"foundation": FoundationPlan(Term("width", Fraction(0)))}, "foundation/width/times",
         "factor-not-positive"),
        ({"sections": (EVEN, EVEN)}, "sections/1/name", "section-name-twice"),
        ({"sections": (SectionPlan("top", "taper"),)}, "sections/0", "taper-target"),
        ({"sections": (SectionPlan("top", "taper", to_point=True, to_stitches=4),)}, "sections/0",
         "taper-target"),
        ({"sections": (SectionPlan("top", "taper", to_width=Term("rise")),)},
         "sections/0/to_width", "optional-target"),
        ({"sections": (SectionPlan("body", "even", rows=4, to_point=True),)},
         "sections/0/to_point", "even-with-target"),
        ({"sections": (SectionPlan("body", "even", rows=4, every=2),)}, "sections/0/every",
         "even-with-shaping"),
        ({"sections": (SectionPlan("body", "even", rows=4, max_change=2),)},
         "sections/0/max_change", "even-with-shaping"),
        ({"sections": (SectionPlan("body", "even", Term("rise")),)}, "sections/0",
         "section-extent"),
        ({"sections": (SectionPlan("body", "even"),)}, "sections/0", "section-extent"),
        ({"measurements": (MeasurementPlan("width", "across"),) * 2}, "measurements/1/name",
         "measurement-twice"),
        ({"measurements": (MeasurementPlan("width", "across"), MeasurementPlan("girth", "round"))},
         "measurements/1/name", "measurement-unused"),
    ],
)  # fmt: skip
def test_a_document_that_makes_no_sense_is_refused_at_its_fault(
    changes: dict[str, object], path: str, code: str
) -> None:
    with pytest.raises(Refused) as refused:
        check_template(document(**changes))
    assert codes(refused)[path] == code


@pytest.mark.parametrize("name", TEMPLATES)
def test_the_built_in_documents_make_sense(name: str) -> None:
    template = TEMPLATES[name]
    if isinstance(template, RoundTemplate):
        check_round_template(template)
    else:
        check_template(template)
    assert template.name == name


def test_a_measurement_outside_a_documents_range_is_refused() -> None:
    narrow = MeasurementPlan("width", "across", minimum=Fraction(50), maximum=Fraction(90))
    made = document(measurements=(narrow, MeasurementPlan("rise", "up", True)))
    for width in (49, 91):
        with pytest.raises(Refused, match="at least 5 cm and at most 9 cm"):
            piece(PieceOrder(GAUGE, made, {"width": Fraction(width)}))
    assert piece(PieceOrder(GAUGE, made, {"width": Fraction(90)})).totals.rows == 4


def test_a_measurement_used_in_part_is_reported_whole() -> None:
    # By hand: half of 250 mm and 10 mm is 135 mm, 21.6 stitches, 22 of which make 137.5 mm, which
    # stands for a measurement of 255 mm.
    half = document(foundation=FoundationPlan(Term("width", Fraction(1, 2), Fraction(10))))
    made = piece(PieceOrder(GAUGE, half, {"width": Fraction(250)}))
    assert made.foundation.stitches == 22
    assert made.measurements["width"].finished == 255


def test_an_ease_that_leaves_nothing_is_refused() -> None:
    none = document(foundation=FoundationPlan(Term("width", plus=Fraction(-300))))
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, none, {"width": Fraction(250)}))
    assert codes(refused) == {"measurements/width": "measurement-too-small"}


def test_fixed_counts_must_keep_the_multiple() -> None:
    fixed = document(
        measurements=(), foundation=FoundationPlan(stitches=10), sections=(EVEN, TAPER)
    )
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, fixed, {}, stitch_multiple=Multiple(4, 1)))
    assert codes(refused) == {"template/foundation/stitches": "not-in-multiple"}
    rows = document(sections=(SectionPlan("body", "even", rows=4),),
                    measurements=(MeasurementPlan("width", "across"),))  # fmt: skip
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, rows, {"width": Fraction(90)}, row_multiple=Multiple(3)))
    assert codes(refused) == {"template/sections/0/rows": "not-in-multiple"}
    aim = document(sections=(SectionPlan("top", "taper", to_stitches=6),),
                   measurements=(MeasurementPlan("width", "across"),))  # fmt: skip
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, aim, {"width": Fraction(90)}, stitch_multiple=Multiple(4, 1)))
    assert codes(refused) == {"template/sections/0/to_stitches": "not-in-multiple"}


def test_a_point_takes_as_many_rows_as_its_multiple_lets_it() -> None:
    # 38 stitches lose two a row: 18 rows to a point, and of multiples of 4 the next are 20.
    for multiple, rows in ((None, 18), (Multiple(4), 20), (Multiple(5, 2), 22)):
        case = order("flap-panel", GAUGE, {"row_multiple": multiple}, width=240, body_height=300)
        flap = piece(case).sections[1]
        assert (flap.rows, flap.stitches_at_end) == (rows, 2)
        assert flap.rows == sum(run.rows for run in flap.schedule)


def test_more_rows_than_are_reckoned_are_refused() -> None:
    tall = document(
        measurements=(MeasurementPlan("width", "across"),),
        sections=(SectionPlan("a", "even", rows=9_000), SectionPlan("b", "even", rows=9_000)),
    )
    with pytest.raises(Refused) as refused:
        piece(PieceOrder(GAUGE, tall, {"width": Fraction(90)}))
    assert codes(refused) == {"template/sections": "too-many-rows"}


@pytest.mark.parametrize(
    ("edges", "end", "told"),
    [
        # 30 to 21 over two edges: 5 at the left, 4 at the right. Over one edge that is as asked.
        ("both", 21, True), ("both", 20, False), ("left", 21, False), ("right", 21, False),
    ],
)  # fmt: skip
def test_edges_are_uneven_only_where_both_are_shaped(edges: Edges, end: int, told: bool) -> None:
    slope = SectionPlan("slope", "taper", to_stitches=end, rows=20, edges=edges)
    tab = Template("tab", "Tab", (), FoundationPlan(stitches=30), (slope,))
    made = piece(PieceOrder(GAUGE, tab, {}))
    assert ("uneven-edges" in [c.code for c in made.cautions]) is told


def test_as_many_rows_as_are_reckoned_are_not() -> None:
    for rows, codes_ in ((5_000, {}), (5_001, {"template/sections": "too-many-rows"})):
        tall = document(
            measurements=(MeasurementPlan("width", "across"),),
            sections=(SectionPlan("a", "even", rows=5_000), SectionPlan("b", "even", rows=rows)),
        )
        asked = PieceOrder(GAUGE, tall, {"width": Fraction(90)})
        if not codes_:
            assert piece(asked).totals.rows == 10_000
            continue
        with pytest.raises(Refused) as refused:
            piece(asked)
        assert codes(refused) == codes_


def test_the_work_of_sizing_does_not_grow_with_the_rows() -> None:
    # A taper of 10,000 rows has as few runs, steps and checkpoints as one of 100.
    sizes = []
    for rows in (100, 10_000):
        plan = Template("long", "Long", (), FoundationPlan(stitches=60),
                        (SectionPlan("long", "taper", to_stitches=20, rows=rows),))  # fmt: skip
        made = piece(PieceOrder(GAUGE, plan, {}))
        sizes.append((len(made.sections[0].schedule), len(made.instructions)))
    assert sizes[0] == sizes[1]
