"""Drawings: well-formed, every measurement named where it is taken, nothing clipped."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from shapely import Polygon

from service.api.builtins import TEMPLATES, drawing
from service.engine.drawing import Dimension, Drawing, in_words, svg
from service.engine.errors import Refused
from service.engine.sketches import label_of, sketch
from service.engine.templates import FoundationPlan, MeasurementPlan, SectionPlan, Template, Term

SVG = "{http://www.w3.org/2000/svg}"

# A template that no file of ours holds: a factor, an ease, paced shaping, widths in between.
SLEEVE = Template(
    "sleeve",
    'Sleeve <for> "pencils" & more',
    (
        MeasurementPlan("pencils", "across the pencils & <nothing> else\n\0", example=Fraction(60)),
        MeasurementPlan("reach", "up to the shoulder", example=Fraction(140)),
        MeasurementPlan("neck", "across the neck", example=Fraction(50)),
    ),
    FoundationPlan(Term("pencils", Fraction(2), Fraction(10))),
    (
        SectionPlan("pocket", "even", Term("reach")),
        SectionPlan("shoulder", "taper", to_width=Term("pencils"), every=2),
        SectionPlan("neck", "taper", Term("reach"), to_width=Term("neck", plus=Fraction(-5))),
    ),
)
DRAWINGS = {name: drawing(name) for name in TEMPLATES}
ALL = {**DRAWINGS, "a sleeve of our own": sketch(SLEEVE)}


def labels(drawing: Drawing) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(svg(drawing)).iter(f"{SVG}text")]


@pytest.mark.parametrize("name", ALL)
def test_a_drawing_is_well_formed_and_tells_a_screen_reader_what_it_is(name: str) -> None:
    # Oracle: the standard library's XML parser.
    root = ElementTree.fromstring(svg(ALL[name]))
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    told = {element.get("id"): element.text for element in root if element.get("id")}
    assert set((root.get("aria-labelledby") or "").split()) == set(told)
    assert told["description"] == in_words(ALL[name]).replace("\0", "")


@pytest.mark.parametrize("name", TEMPLATES)
def test_every_measurement_of_a_template_is_in_its_drawing(name: str) -> None:
    for plan in TEMPLATES[name].measurements:
        assert plan.name in labels(DRAWINGS[name])
        assert f"{plan.name}: {plan.meaning}" in in_words(DRAWINGS[name])


@pytest.mark.parametrize("name", TEMPLATES)
def test_an_example_lies_within_the_limits_of_its_measurement(name: str) -> None:
    for plan in TEMPLATES[name].measurements:
        assert plan.minimum
        assert plan.example
        assert plan.maximum
        assert plan.minimum < plan.example < plan.maximum


def test_a_label_says_what_the_template_makes_of_a_measurement() -> None:
    assert {"2 × pencils + 1 cm", "reach", "neck - 0.5 cm"} <= set(
        labels(ALL["a sleeve of our own"])
    )


@pytest.mark.parametrize("name", ALL)
def test_nothing_is_drawn_outside_the_sheet(name: str) -> None:
    root = ElementTree.fromstring(svg(ALL[name]))
    x, y, wide, high = map(float, (root.get("viewBox") or "").split())
    assert (wide, high) == (float(root.get("width") or 0), float(root.get("height") or 0))
    points = [
        (float(line.get(f"x{end}") or 0), float(line.get(f"y{end}") or 0))
        for line in root.iter(f"{SVG}line")
        for end in (1, 2)
    ]
    for text in root.iter(f"{SVG}text"):
        # Seven units a letter: more than a plain sans-serif of 12 units takes on average.
        at, long = float(text.get("x") or 0), 7 * len(text.text or "")
        start = at - long / 2 if text.get("text-anchor") == "middle" else at
        points += [(start, float(text.get("y") or 0)), (start + long, float(text.get("y") or 0))]
    assert all(x <= a <= x + wide and y <= b <= y + high for a, b in points)


@pytest.mark.parametrize("name", ALL)
def test_no_two_labels_overlap(name: str) -> None:
    root, boxes = ElementTree.fromstring(svg(ALL[name])), []
    for text in root.iter(f"{SVG}text"):
        if text.get("stroke"):
            continue  # white round a label, not a label
        long = 7 * len(text.text or "")
        left = float(text.get("x") or 0) - (long / 2 if text.get("text-anchor") == "middle" else 0)
        base = float(text.get("y") or 0)
        boxes.append(
            Polygon(
                [(left, base), (left + long, base), (left + long, base - 10), (left, base - 10)]
            )
        )
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])


@pytest.mark.parametrize(
    ("name", "square_mm"),
    [
        # By hand, from the examples; within a stitch and a row of the drawing's gauge (see below).
        ("panel", 120 * 160),
        ("flap-panel", 120 * 330 + 120 * 70 / 2),
        ("triangle", 120 * 70 / 2),
        ("trapezoid", (120 + 80) / 2 * 90),
        ("band", 310 * 50),
        ("strap", 900 * 30),
    ],
)
def test_the_outline_has_the_area_of_the_piece(name: str, square_mm: float) -> None:
    # Oracle: shapely. A stitch of the drawing is 1.5625 mm wide and a row 1.3158 mm high: half of
    # one off in either size, and a point two stitches wide.
    outline = Polygon(DRAWINGS[name].outline)
    assert outline.is_valid
    wide, high = outline.bounds[2], outline.bounds[3]
    assert outline.area == pytest.approx(square_mm, abs=0.79 * high + 0.66 * wide + 1.57 * 70)


def test_a_straight_taper_is_drawn_straight_and_a_paced_one_as_it_is_worked() -> None:
    # A straight taper has a corner at either end: five corners to a panel with a point, six with
    # the two stitches of the point.
    assert len(DRAWINGS["flap-panel"].outline) == 6
    # By hand: from 40 to 20 stitches, one at either edge every 2nd row, is 10 times 2 rows, and 40
    # of 60 rows are left: at 1.5625 mm a stitch and 1.3158 mm a row the edges turn 26.3 mm up.
    shape = SectionPlan("shoulder", "taper", rows=60, every=2, to_stitches=20)
    paced = sketch(Template("paced", "Paced", (), FoundationPlan(stitches=40), (shape,)))
    right = [(x, round(y, 1)) for x, y in paced.outline[:3]]
    assert right == [(62.5, 0.0), (46.875, 26.3), (46.875, 78.9)]


def test_a_template_without_examples_is_not_drawn() -> None:
    bare = replace(SLEEVE.measurements[0], example=None)
    with pytest.raises(Refused) as refused:
        sketch(replace(SLEEVE, measurements=(bare, *SLEEVE.measurements[1:])))
    (refusal,) = refused.value.refusals
    assert refusal.code == "example-missing"
    assert refusal.path == ("template", "measurements", 0, "example")


def test_whatever_has_an_outline_can_be_drawn() -> None:
    # A cup from the side: its girth is told across it, since a profile shows no length round it.
    across = Dimension("diameter", "across the base", "across", (0, 0), (80, 0))
    up = Dimension("height", "from the base to the rim", "up", (80, 0), (80, 110))
    cup = Drawing("Cup", ((0, 0), (80, 0), (80, 110), (0, 110)), (across, up))
    assert labels(cup) == ["diameter", "height"]
    assert in_words(cup) == "Cup. diameter: across the base; height: from the base to the rim."


def test_a_thin_piece_can_still_be_seen() -> None:
    # By hand: 300 units along, so that 1 in 1000 would be 0.3 units; 10 are drawn.
    thin = Drawing("Cord", ((0, 0), (1000, 0), (1000, 1), (0, 1)), ())
    points = re.search(r'points="([^"]*)"', svg(thin))
    assert points
    assert points[1] == "0,0 300,0 300,-10 0,-10"


def test_measuring_lines_stand_clear_of_the_piece() -> None:
    # The part that is measured is narrower than the part above it, which reaches 300 units across.
    rise = Dimension("rise", "up the foot", "up", (20, 0), (20, 5))
    vase = Drawing("Vase", ((10, 0), (20, 0), (20, 5), (30, 9), (0, 9), (10, 5)), (rise,))
    lines = ElementTree.fromstring(svg(vase)).iter(f"{SVG}line")
    upright = [float(e.get("x1") or 0) for e in lines if e.get("x1") == e.get("x2")]
    assert upright
    assert min(upright) > 300


def test_the_depth_of_a_curved_flap_is_drawn_up_beside_it() -> None:
    (depth,) = [d for d in DRAWINGS["rounded-flap-panel"].dimensions if d.label == "flap_depth"]
    assert depth.along == "up"
    assert depth.stop[1] - depth.start[1] == pytest.approx(70, abs=1)


@pytest.mark.parametrize(
    ("term", "label"),
    [
        # By hand: what stands in the template, a length of 50 mm as makers write it.
        (Term("width"), "width"),
        (Term("width", Fraction(1, 2)), "0.5 × width"),
        (Term("width", plus=Fraction(50)), "width + 5 cm"),
        (Term("width", Fraction(2), Fraction(-50)), "2 × width - 5 cm"),
    ],
)
def test_a_label_tells_what_a_length_is_made_of(term: Term, label: str) -> None:
    assert label_of("width", term) == label
