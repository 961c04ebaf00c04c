"""Where everything of a drawing stands, worked by hand from what a measured drawing is.

Source of the form: common practice of technical drawings, no published source; the sums are by
hand. A case 100 mm wide and 50 tall is drawn three units a millimetre, 300 by 150, y down.
"""

from __future__ import annotations

from math import cos, pi, sin
from xml.etree import ElementTree

import pytest

from service.engine.drawing import Dimension, Drawing, svg
from service.engine.exact import Fraction
from service.engine.roundplans import RoundPlan, RoundTemplate, SegmentPlan, StartPlan
from service.engine.roundsketches import round_sketch
from service.engine.sketches import sketch
from service.engine.templates import FoundationPlan, MeasurementPlan, SectionPlan, Template, Term

SVG = "{http://www.w3.org/2000/svg}"
Line = tuple[float, float, float, float]

CASE = Drawing(
    "Case",
    ((0, 0), (100, 0), (100, 50), (0, 50)),
    (
        Dimension("width", "", "across", (0, 0), (100, 0)),
        Dimension("flap", "", "across", (20, 50), (80, 50)),
        Dimension("base", "", "across", (10, 0), (90, 0)),
        Dimension("waist", "", "across", (0, 25), (100, 25)),
        Dimension("top", "", "across", (0, 50), (100, 50)),
        Dimension("height", "", "up", (100, 0), (100, 50)),
        Dimension("low", "", "up", (100, 0), (100, 20)),
        Dimension("high", "", "up", (90, 30), (90, 50)),
    ),
    ("body", "flap"),
    (((0, 25), (100, 25)),),
    ((0, 0), (100, 0)),
)

# From the piece to the first measuring line 20 units, and 24 from one to the next; below the piece
# for what lies at its foot, above for what lies at its top, within it for what lies between. Lines
# up stand side by side where one has no room above another: a letter is at most 7.2 units, so the
# six of "height" and a gap of 24 put the second column at 320 + 43.2 + 24.
MEASURED: dict[str, Line] = {
    "width": (0, 20, 300, 20),
    "base": (30, 44, 270, 44),
    "flap": (60, -170, 240, -170),
    "top": (0, -194, 300, -194),
    "waist": (0, -75, 300, -75),
    "height": (320, 0, 320, -150),
    "low": (387.2, 0, 387.2, -60),
    "high": (387.2, -90, 387.2, -150),
}
# A label under a line has its foot 14 units below it, above a line 5 above it, and beside one it
# is 7 to the right, its foot a third of the 12-unit letters below the middle.
LABELS = {
    "width": (150, 34, "middle"), "base": (150, 58, "middle"), "flap": (150, -175, "middle"),
    "top": (150, -199, "middle"), "waist": (150, -80, "middle"), "height": (327, -71, "start"),
    "low": (394.2, -26, "start"), "high": (394.2, -116, "start"),
    "heavy line: foundation": (-3, 77, "start"),
}  # fmt: skip
# From the place that is measured to the line that measures it, wherever that is off the piece.
GUIDES: set[Line] = {
    (0, 0, 0, 20), (300, 0, 300, 20), (30, 0, 30, 44), (270, 0, 270, 44),
    (60, -150, 60, -170), (240, -150, 240, -170), (0, -150, 0, -194), (300, -150, 300, -194),
    (300, 0, 320, 0), (300, -150, 320, -150), (300, 0, 387.2, 0), (300, -60, 387.2, -60),
    (270, -90, 387.2, -90), (270, -150, 387.2, -150),
}  # fmt: skip


def lines(drawing: Drawing) -> list[tuple[Line, dict[str, str]]]:
    found = []
    for line in ElementTree.fromstring(svg(drawing)).iter(f"{SVG}line"):
        x1, y1, x2, y2 = (float(line.get(name) or "") for name in ("x1", "y1", "x2", "y2"))
        found.append(((x1, y1, x2, y2), dict(line.attrib)))
    return found


def of_width(drawing: Drawing, width: str) -> list[Line]:
    return [at for at, told in lines(drawing) if told["stroke-width"] == width]


def test_every_line_and_word_stands_where_it_does_by_hand() -> None:
    plain = [at for at, told in lines(CASE)
             if told["stroke-width"] == "0.8" and "stroke-dasharray" not in told]  # fmt: skip
    assert sorted(plain) == sorted(MEASURED.values())
    ends = [(x, y) for x1, y1, x2, y2 in MEASURED.values() for x, y in ((x1, y1), (x2, y2))]
    strokes = [tuple(round(n, 1) for n in (x - 3, y + 3, x + 3, y - 3)) for x, y in ends]
    assert sorted(of_width(CASE, "1.2")) == sorted(strokes)
    assert sorted(of_width(CASE, "0.5")) == sorted(GUIDES)
    assert of_width(CASE, "3") == [(0, 0, 300, 0)]  # the foundation
    levels = [at for at, told in lines(CASE) if told.get("stroke-dasharray") == "4 3"]
    assert levels == [(0, -75, 300, -75)]


def test_every_label_stands_at_its_line_and_white_is_left_round_one_in_the_piece() -> None:
    found, white = {}, []
    for text in ElementTree.fromstring(svg(CASE)).iter(f"{SVG}text"):
        at = float(text.get("x") or ""), float(text.get("y") or ""), text.get("text-anchor")
        if text.get("stroke"):
            white.append((text.text, at))
            continue
        found[text.text] = at
    assert found == LABELS
    assert white == [("waist", LABELS["waist"])]


def test_the_sheet_leaves_eight_units_round_all_that_is_on_it() -> None:
    # Left: the slanted stroke 3 units past the piece. Right: "high" from 394.2, four letters of 7.2
    # units. Top: "top" has its foot at -199, and letters of 12. Bottom: 3 below the foot at 77.
    root = ElementTree.fromstring(svg(CASE))
    left, right, top, bottom = -3 - 8, 394.2 + 4 * 7.2 + 8, -199 - 12 - 8, 77 + 3 + 8
    assert [float(n) for n in (root.get("viewBox") or "").split()] == pytest.approx(
        [left, top, right - left, bottom - top]
    )
    (paper,) = root.iter(f"{SVG}rect")
    assert [float(paper.get(name) or "") for name in ("x", "y", "width", "height")] == [
        float(n) for n in (root.get("viewBox") or "").split()
    ]


@pytest.mark.parametrize("along", ["up", "across"])
def test_the_strokes_of_a_line_are_on_the_sheet(along: str) -> None:
    # One line alone: its strokes reach 3 units past the piece, and the margin is 8 more.
    told = {"up": CASE.dimensions[5], "across": CASE.dimensions[0]}[along]
    root = ElementTree.fromstring(svg(Drawing("Case", CASE.outline, (told,))))
    x, y, wide, high = map(float, (root.get("viewBox") or "").split())
    if along == "up":
        # From 320, "height" is six letters of 7.2 from 327.
        assert (x, y, x + wide, y + high) == pytest.approx((-8, -161, 327 + 6 * 7.2 + 8, 11))
    else:
        assert (x, y, x + wide, y + high) == pytest.approx((-11, -158, 311, 34 + 3 + 8))


@pytest.mark.parametrize(
    ("low", "high", "columns"),
    [
        # (mm) 4 mm are 12 units, as tall as a label: lines end to end have room in one column.
        ((0, 4), (4, 8), 1),
        # A line of 2 mm is 6 units, and its label reaches 3 past either end.
        ((0, 2), (2, 4), 2),
        ((0, 2), (4, 6), 1),
        ((0, 10), (9, 20), 2),
        # A label past either end of its line is in the way of a line that has none there.
        ((0, 2), (2, 10), 2),
        ((0, 2), (3, 10), 1),
        ((0, 8), (8, 10), 2),
        ((0, 7), (8, 10), 1),
    ],
)
def test_lines_stand_side_by_side_only_where_they_must(
    low: tuple[float, float], high: tuple[float, float], columns: int
) -> None:
    up = [Dimension("a", "", "up", (100, a), (100, b)) for a, b in (low, high)]
    for told in (up, up[::-1]):
        drawing = Drawing("Case", CASE.outline, tuple(told))
        measured = [at for at, how in lines(drawing) if how["stroke-width"] == "0.8"]
        assert len({x for x, *_ in measured}) == columns


def test_a_piece_longer_up_is_drawn_300_units_tall_and_nothing_is_measured_on_nothing() -> None:
    strap = Drawing("Strap", ((10, 5), (20, 5), (20, 605), (10, 605)), ())
    # Half a unit a millimetre up would make 5 units across: 10 are drawn, one a millimetre.
    points = ElementTree.fromstring(svg(strap)).find(f".//{SVG}polygon")
    assert points is not None
    assert points.get("points") == "10,-2.5 20,-2.5 20,-302.5 10,-302.5"
    flat = Drawing("Cord", ((0, 0), (50, 0)), ())
    assert 'points="0,0 300,0"' in svg(flat)
    upright = Drawing("Cord", ((0, 0), (0, 50)), ())
    assert 'points="0,0 0,-300"' in svg(upright)
    assert 'points="0,0"' in svg(Drawing("Knot", ((0, 0),), ()))


# Templates, each measured where its document makes use of a measurement. Millimetres by hand; a
# stitch of the drawing is 100 / 64 mm wide and a row 100 / 76 high.


def plan(name: str, example: int) -> MeasurementPlan:
    return MeasurementPlan(name, name, example=Fraction(example))


def fixed(size: int) -> Term:
    return Term(None, plus=Fraction(size))


def test_a_flat_template_is_measured_where_it_uses_each_measurement() -> None:
    case = Template(
        "case", "Case", (plan("width", 100), plan("body", 200), plan("neck", 50)),
        FoundationPlan(Term("width")),
        (SectionPlan("body", "even", Term("body")),
         SectionPlan("flap", "taper", rows=76, to_width=Term("neck"))),
    )  # fmt: skip
    drawn = sketch(case)
    # 64 stitches, 152 rows; then 76 rows to 32 stitches, half of the 32 lost at each edge.
    outline = [(100, 0), (100, 200), (75, 300), (25, 300), (0, 200), (0, 0)]
    assert [tuple(map(float, p)) for p in drawn.outline] == outline
    assert drawn.levels == (((0, 200), (100, 200)),)
    assert drawn.foundation == ((0, 0), (100, 0))
    assert [(d.along, d.start, d.stop) for d in drawn.dimensions] == [
        ("across", (0, 0), (100, 0)),
        ("up", (100, 0), (100, 200)),
        ("across", (25, 300), (75, 300)),
    ]


def test_a_cup_is_drawn_from_the_side_with_its_walls_where_its_girth_puts_them() -> None:
    # 128 stitches of 1.5625 mm are 200 mm round: 200 / 2 pi from the middle. 76 rounds are 100 mm.
    tube = RoundTemplate(
        "holder", "Holder", (plan("girth", 200), plan("foot", 100), plan("all", 150)),
        StartPlan("chain", circumference=Term("girth")),
        (RoundPlan("foot", "even", height=Term("foot")),
         RoundPlan("wall", "even", reaches=Term("all"))),
    )  # fmt: skip
    drawn = round_sketch(tube)
    far = pytest.approx(200 / (2 * pi))
    assert drawn.outline == (
        (far, 0), (far, 100), (far, 150), (pytest.approx(-200 / (2 * pi)), 150),
        (pytest.approx(-200 / (2 * pi)), 100), (pytest.approx(-200 / (2 * pi)), 0),
    )  # fmt: skip
    assert [(d.along, d.start[1], d.stop[1]) for d in drawn.dimensions] == [
        ("across", 0, 0), ("up", 0, 100), ("up", 0, 150),
    ]  # fmt: skip
    assert drawn.dimensions[0].stop[0] - drawn.dimensions[0].start[0] == pytest.approx(200 / pi)
    assert all(d.start[0] == far for d in drawn.dimensions[1:])
    assert drawn.levels == (((pytest.approx(-200 / (2 * pi)), 100), (far, 100)),)
    assert drawn.foundation == ((pytest.approx(-200 / (2 * pi)), 0), (far, 0))


def test_a_lying_oval_is_drawn_as_two_half_circles_and_a_straight_between() -> None:
    # 100 mm wide is 38 rounds of 100 / 76 mm on either side of the middle: a radius of 50 mm.
    # 200 mm long leaves 100 mm straight between the two, 64 stitches.
    mat = RoundTemplate(
        "mat", "Mat", (plan("width", 100), plan("length", 200)),
        StartPlan("oval", width=Term("width"), length=Term("length")),
        (RoundPlan("mat", "disc", to_diameter=Term("width")),),
    )  # fmt: skip
    drawn = round_sketch(mat)
    assert len(drawn.outline) >= 36  # so many that it looks round
    # The measuring lines meet it at both its ends and both its sides.
    xs, ys = zip(*drawn.outline, strict=True)
    assert [min(xs), max(xs), min(ys), max(ys)] == pytest.approx([-100, 100, -50, 50])
    for i, (x, y) in enumerate(drawn.outline):
        angle = 2 * pi * i / len(drawn.outline)
        if abs(cos(angle)) > 1e-9:  # there the two halves meet
            middle = 50 if cos(angle) > 0 else -50
            assert x == pytest.approx(middle + 50 * cos(angle))
        assert y == pytest.approx(50 * sin(angle))
    assert [(d.label, d.along, d.start, d.stop) for d in drawn.dimensions] == [
        ("width", "up", (100, -50), (100, 50)),
        ("length", "across", (-100, -50), (100, -50)),
    ]


def test_a_ball_on_a_neck_is_measured_across_where_it_is_widest() -> None:
    # A neck of 128 stitches, 100 mm round and 100 mm up, a quarter circle of 30 mm out and up, and
    # one back in. The profile is drawn as it is meant: widest 30 mm out, 130 mm up.
    half = Term("belly")
    neck = RoundTemplate(
        "bottle", "Bottle", (plan("girth", 200), plan("neck", 100), plan("belly", 30)),
        StartPlan("chain", circumference=Term("girth")),
        (RoundPlan("neck", "even", height=Term("neck")),
         RoundPlan("belly", "profile", profile=(
             SegmentPlan(half, half, "level-first"),
             SegmentPlan(Term("belly", Fraction(-1)), half, "upright-first")))),
    )  # fmt: skip
    drawn = round_sketch(neck)
    far = 200 / (2 * pi)
    assert drawn.outline[:2] == ((pytest.approx(far), 0), (pytest.approx(far), 100))
    assert max(drawn.outline) == (pytest.approx(far + 30), pytest.approx(130))
    right = drawn.outline[: len(drawn.outline) // 2]
    assert right[-1] == (pytest.approx(far), pytest.approx(160))
    assert [(-x, y) for x, y in drawn.outline[: -len(right) - 1 : -1]] == [*right]
    _, up, belly = drawn.dimensions
    assert (up.start, up.stop) == ((pytest.approx(far), 0), (pytest.approx(far), 100))
    assert belly.stop == (pytest.approx(far + 30), pytest.approx(130))
    assert belly.start == (pytest.approx(-far - 30), pytest.approx(130))
    assert belly.label == "belly"


def test_each_profile_begins_where_the_one_before_it_ended() -> None:
    # 200 mm round; 30 out and 40 up, then 10 in and 20 up, and 25 mm (19 rounds) even on top.
    out = RoundPlan("out", "profile", profile=(SegmentPlan(fixed(30), fixed(40)),))
    back = RoundPlan("back", "profile", profile=(SegmentPlan(fixed(-10), fixed(20)),))
    pot = RoundTemplate("pot", "Pot", (plan("girth", 200),),
                        StartPlan("chain", circumference=Term("girth")),
                        (out, back, RoundPlan("rim", "even", rounds=19)))  # fmt: skip
    drawn = round_sketch(pot)
    far = 200 / (2 * pi)
    right = drawn.outline[: len(drawn.outline) // 2]
    corners = [(far, 0), (far + 30, 40), (far + 20, 60)]
    assert all(any(p == pytest.approx(c) for p in right) for c in corners)
    # The rim has a whole number of stitches: each profile ends within half of one of its way round.
    x, y = right[-1]
    assert y == pytest.approx(85)
    assert abs(x - far - 20) <= 2 * 1.5625 / 2 / (2 * pi)
    levels = [(pytest.approx(far + 30), pytest.approx(40)), (pytest.approx(far + 20),
                                                             pytest.approx(60))]  # fmt: skip
    assert [right_end for _, right_end in drawn.levels] == levels


def test_what_begins_in_a_ring_has_no_foundation_to_draw() -> None:
    # A base 100 mm across, 38 rounds, lies flat and is no height; the wall goes up from its rim.
    cup = RoundTemplate(
        "cup", "Cup", (plan("diameter", 100), plan("height", 100)), StartPlan("ring"),
        (RoundPlan("base", "disc", to_diameter=Term("diameter")),
         RoundPlan("wall", "even", height=Term("height"))),
    )  # fmt: skip
    drawn = round_sketch(cup)
    assert drawn.foundation is None
    # 2 pi 50 mm is 201.06 stitches.
    far = pytest.approx(201 * 1.5625 / (2 * pi))
    assert drawn.outline[:3] == ((0, 0), (far, 0), (far, 100))
    across, up = drawn.dimensions
    assert (across.stop, across.along) == ((far, 0), "across")
    assert (up.start, up.stop) == ((far, 0), (far, 100))
    assert drawn.levels == (((-drawn.outline[1][0], 0), drawn.outline[1]),)
