"""Drawings: to scale, whole, readable, and one cell a stitch."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given, settings
from shapely import Polygon, box

from service.engine.ask_shaping import ShapingOrder, shaping
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import piece
from service.engine.sizing import PieceOrder
from service.engine.templates import FoundationPlan, SectionPlan, Template
from service.renders.flat_outline import flat_outline, gaps
from service.renders.grid_svg import MOST_CELLS, grid_svg, shaping_grid_svg
from service.renders.outline_svg import outline_svg
from service.renders.plain_text import plain_text
from service.renders.round_grid import round_marks
from service.renders.rows import rows_of
from service.renders.sheet import apart

from .pieces import HOSTILE, WHOLE, Made, built_in, pieces

SVG = "{http://www.w3.org/2000/svg}"
LETTER = 0.56
"""Width of a letter of a common sans-serif over its size, on average, figures and spaces too."""


def draw(kind: str, made: Made) -> Element:
    order, piece = made
    return ElementTree.fromstring((outline_svg if kind == "outline" else grid_svg)(piece, order))


def boxes(root: Element) -> list[tuple[str, Polygon]]:
    """Every label and the room it takes."""
    usual = float(root.get("font-size") or 0)
    made = []
    for text in root.iter(f"{SVG}text"):
        words, size = text.text or "", float(text.get("font-size") or usual)
        wide, x, y = (
            LETTER * size * len(words),
            float(text.get("x") or 0),
            float(text.get("y") or 0),
        )
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.get("text-anchor") or ""]
        made.append((words, box(left, y - 0.75 * size, left + wide, y + 0.2 * size)))
    return made


def check_readable(root: Element) -> None:
    x, y, wide, high = map(float, (root.get("viewBox") or "").split())
    labels = boxes(root)
    assert labels
    for words, room in labels:
        assert box(x, y, x + wide, y + high).contains(room), words
    for (one, a), (other, b) in combinations(labels, 2):
        assert not a.intersects(b), (one, other)


@pytest.mark.parametrize("kind", ["outline", "grid"])
@pytest.mark.parametrize("name", WHOLE)
def test_a_drawing_is_an_image_with_a_title_and_a_description(kind: str, name: str) -> None:
    # Oracle: the standard library's XML parser. Names and roles: SVG 2, WAI-ARIA graphics.
    order, piece = WHOLE[name]
    root = draw(kind, WHOLE[name])
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    told = {element.get("id"): element.text or "" for element in root if element.get("id")}
    assert (root.get("aria-labelledby") or "").split() == [*told]
    title, description = told.values()
    assert title.startswith(order.template.title)
    for section in piece.sections:
        assert str(section.stitches_at_end) in description
    assert root.get("width") == "100%"


@pytest.mark.parametrize("kind", ["outline", "grid"])
@pytest.mark.parametrize("name", WHOLE)
def test_labels_lie_on_the_sheet_and_clear_of_each_other(kind: str, name: str) -> None:
    check_readable(draw(kind, WHOLE[name]))


@settings(max_examples=60)
@given(pieces())
def test_labels_of_any_piece_are_clear_of_each_other(made: Made | None) -> None:
    if made is None:
        return
    check_readable(draw("outline", made))
    if made[1].totals.stitches <= MOST_CELLS:
        check_readable(draw("grid", made))


@settings(max_examples=60)
@given(pieces())
def test_a_flat_outline_is_as_wide_as_high_and_as_large_as_the_piece(made: Made | None) -> None:
    # Oracle: shapely, and the counts of the rows summed.
    if made is None or made[1].worked == "round":
        return
    order, piece = made
    outline = Polygon(flat_outline(piece, order).outline)
    left, bottom, right, top = outline.bounds
    assert bottom == 0
    assert top == pytest.approx(float(piece.finished.height))
    # Between its two ends the work may lean, so it is at least as wide as its widest row.
    assert right - left >= float(piece.finished.width) - 1e-9
    w, h = float(order.gauge.stitch_width), float(order.gauge.row_height)
    counts = sum(n for s in piece.sections for n in s.row_counts or ())
    # A run is drawn straight, and worked in steps: by hand, a change each e rows, t times over, has
    # change * t * (e / 2 - 1) stitches less in its rows than in the straight shape.
    runs = [run for s in piece.sections for run in s.schedule]
    straight = sum(run.change * run.times * (Fraction(run.every, 2) - 1) for run in runs)
    assert outline.area == pytest.approx(float(counts + straight) * w * h)


def test_the_case_is_drawn_to_scale() -> None:
    # By hand, 16 stitches and 19 rows to 10 cm, 19 stitches (118.75 mm), 76 rows (400 mm) and an
    # edging of one round: the drawn corners have the proportion of the piece.
    root = draw("outline", WHOLE["example case-pocket"])
    outline = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "paper")
    xs, ys = corners(outline)
    assert (max(ys) - min(ys)) / (max(xs) - min(xs)) == pytest.approx(400 / 118.75, rel=1e-3)
    labels = [words for words, _ in boxes(root)]
    assert {"row 63: 19 sts, 11.9 cm", "fold", "button loop: ch 6", "11.9 cm"} <= set(labels)
    assert "Body: 63 rows, 33.2 cm" in labels


@pytest.mark.parametrize("name", [n for n, (_, p) in WHOLE.items() if p.worked == "round"])
def test_a_piece_in_the_round_is_as_wide_and_high_as_it_came_to(name: str) -> None:
    order, piece = WHOLE[name]
    root = draw("outline", WHOLE[name])
    if piece.finished.height:
        outline = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "paper")
        xs, ys = corners(outline)
        unit = (max(ys) - min(ys)) / float(piece.finished.height)
        widest = max(n for s in piece.sections for n in (s.row_counts or (s.stitches_at_end,)))
        if name.startswith("example"):
            widest = max(row.stitches for row in rows_of(piece))
        # A circle of so many stitches: its diameter is the circumference over pi.
        across = widest * float(order.gauge.stitch_width) / 3.14159265
        assert (max(xs) - min(xs)) / unit == pytest.approx(across, rel=2e-3)


def test_openings_are_drawn_where_they_are_worked() -> None:
    # By hand, wrap band with slit: row 5 starts at the right edge, works 2 and skips 2 of 49, so
    # that the opening lies 45 to 47 stitches from the left, 4 rows up.
    order, piece = WHOLE["example wrap-band-with-slit"]
    (slit,) = gaps(piece, order)
    w, h = 100 / 16, 100 / 19
    assert (slit.left, slit.right) == (pytest.approx(45 * w), pytest.approx(47 * w))
    assert (slit.foot, slit.top) == (pytest.approx(4 * h), pytest.approx(5 * h))
    root = draw("grid", WHOLE["example wrap-band-with-slit"])
    chains = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "chains")
    assert (chains.get("d") or "").count("M") == 2


def corners(path: Element) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Across and down, of every corner of a path of straight lines."""
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d") or "")
    xs, ys = zip(*((float(a), float(b)) for a, b in pairs), strict=True)
    return xs, ys


def test_a_legend_tells_of_the_marks_that_are_there_and_no_others() -> None:
    closure = ClosureOrder("slit", direction="along")
    slit = built_in("flap-panel", Fraction(1), button=Button(Fraction(18)), closure=closure)
    assert slit
    told = {words for words, _ in boxes(draw("grid", slit))}
    assert {"a stitch", "a stitch lost at that edge", "an opening up the rows"} <= told
    assert not {"a stitch gained at that edge", "a chain over an opening"} & told


def cells_of(root: Element) -> list[int]:
    """Cells of each row, from the bottom up, measured off the rectangles and their pattern."""
    pattern = next(root.iter(f"{SVG}pattern"))
    w, h = float(pattern.get("width") or 0), float(pattern.get("height") or 0)
    counts: list[int] = []
    for rect in root.iter(f"{SVG}rect"):
        if rect.get("fill") == "url(#cells)":
            rows = round(float(rect.get("height") or 0) / h)
            counts += [round(float(rect.get("width") or 0) / w)] * rows
    return counts


@pytest.mark.parametrize("name", WHOLE)
def test_a_grid_has_a_cell_for_every_stitch_and_a_mark_for_every_change(name: str) -> None:
    order, piece = WHOLE[name]
    root = draw("grid", WHOLE[name])
    rows = list(rows_of(piece))
    counts = [row.stitches for row in rows]
    if all(s.row_counts for s in piece.sections):
        assert counts == [n for s in piece.sections for n in s.row_counts or ()]
    rings = [p.get("d") or "" for p in root.iter(f"{SVG}path") if p.get("class") == "ring"]
    found = [d.count("M") for d in rings] if rings else cells_of(root)
    assert found == counts
    marks = {
        kind: sum((p.get("d") or "").count("M") for p in root.iter(f"{SVG}path")
                  if p.get("class") == kind)
        for kind in ("gained", "lost")
    }  # fmt: skip
    edges = [n for row in rows for n in (row.left or 0, row.right or 0)]
    if piece.worked == "flat":
        assert marks["gained"] == sum(n for n in edges if n > 0)
        assert marks["lost"] == -sum(n for n in edges if n < 0)
    else:
        # The round that begins a ring gains nothing over another round, and has no marks.
        told = [mark for row in rows for mark in round_marks(row, piece, order)]
        assert marks["gained"] == sum(kind == "V" for kind, _ in told)
        gains = [r.change for r in rows if r.before and r.change > 0]
        oval = piece.start is not None and piece.start.kind == "oval"
        assert marks["gained"] == sum(gains) - (gains[0] if oval else 0)


def test_marks_of_a_round_stand_where_its_instructions_have_them() -> None:
    # By hand, brush cup: round 3 is (sc, 2 sc in next) 6 times: the third stitch of each three.
    # Round 7 is sc in 4, 2 sc in next, then (sc in 5, 2 sc in next) 5 times.
    order, piece = WHOLE["example brush-cup"]
    rows = list(rows_of(piece))
    assert [at for _, at in round_marks(rows[2], piece, order)] == [2, 5, 8, 11, 14, 17]
    assert [at for _, at in round_marks(rows[6], piece, order)] == [5, 12, 19, 26, 33, 40]


def test_marks_of_an_oval_stand_in_its_two_ends() -> None:
    # By hand, round 3 over 19: sc in 5; 2 sc in next, (sc in next, 2 sc in next) twice; sc in 4; sc
    # in next, 2 sc in next, sc in 2, 2 sc in next. So 5 plain, 2, 3, 3, 4 plain (17 made), 3, 4.
    order, piece = WHOLE["oval, small"]
    marks = round_marks(list(rows_of(piece))[2], piece, order)
    assert [at for _, at in marks] == [6, 9, 12, 19, 23]
    (text,) = [i.text for i in piece.instructions if i.text.startswith("Round 3: ")]
    assert "c in next 5 sts; over the next 5 sts, round the end: 2 sc in next st, (sc in" in text


def test_a_grid_that_could_not_be_read_is_refused_with_a_way_out() -> None:
    made = built_in("panel", Fraction(20))
    assert made
    with pytest.raises(Refused) as refused:
        grid_svg(made[1], made[0])
    (refusal,) = refused.value.refusals
    assert refusal.code == "grid-too-large"
    assert refusal.permitted == {
        "cells": MOST_CELLS, "or": "text/csv has the count of every row"
    }  # fmt: skip


def test_a_shaping_is_drawn_row_by_row() -> None:
    # By hand: 8 stitches to 4, a stitch at each edge in the 2nd and the 4th of 4 rows.
    order = ShapingOrder(8, 4, rows=4)
    root = ElementTree.fromstring(shaping_grid_svg(shaping(order), order))
    assert cells_of(root) == [8, 6, 6, 4]
    check_readable(root)


@pytest.mark.parametrize("kind", ["outline", "grid"])
def test_a_hostile_title_stays_a_title(kind: str) -> None:
    order, piece = WHOLE["example case-pocket"]
    hostile = replace(order, template=replace(order.template, title=HOSTILE))
    root = draw(kind, (hostile, piece))
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {
        "svg", "title", "desc", "style", "defs", "pattern", "rect", "g", "path", "text", "circle"
    }  # fmt: skip
    title = root.find(f"{SVG}title")
    assert title is not None
    assert (title.text or "").startswith("Cup</script><b>*_`\"'&|[x](y) =1+1: ")


@pytest.mark.parametrize("kind", ["outline", "grid"])
def test_a_drawing_is_the_same_every_time(kind: str) -> None:
    order, piece = WHOLE["example curved-pocket-from-an-outline"]
    write = outline_svg if kind == "outline" else grid_svg
    assert write(piece, order) == write(piece, order)


def test_labels_move_apart_no_further_than_they_must() -> None:
    # By hand: three at one height, 10 apart, stand at -10, 0 and 10; one far off stays.
    assert apart([0, 0, 0, 90], 10) == [-10, 0, 10, 90]
    assert apart([], 10) == []


def test_a_cord_of_chains_is_drawn_as_a_line_and_has_no_grid() -> None:
    cord = Template("cord", "Carrying cord", (), FoundationPlan(stitches=50), ())
    order = PieceOrder(square(20, 20, stitch="chain"), cord, {})
    made = piece(order)
    check_readable(ElementTree.fromstring(outline_svg(made, order)))
    assert "Ch 50." in plain_text(made, order)
    with pytest.raises(Refused, match="no rows to draw"):
        grid_svg(made, order)


def test_a_tall_narrow_piece_and_a_piece_of_many_sections_are_still_readable() -> None:
    gauge = square(20, 20)
    plans = tuple(SectionPlan(f"stripe {i}", "even", rows=1 + i % 3) for i in range(30))
    striped = Template("striped", "Wrap band", (), FoundationPlan(stitches=3), plans)
    tall = Template(
        "tall", "Strap", (), FoundationPlan(stitches=1), (SectionPlan("s", "even", rows=500),)
    )
    for template in (striped, tall):
        order = PieceOrder(gauge, template, {})
        made = piece(order)
        check_readable(ElementTree.fromstring(outline_svg(made, order)))
        check_readable(ElementTree.fromstring(grid_svg(made, order)))
