"""The schematic of a project: every piece once, its sizes to one scale, its measures readable."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations
from math import pi
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from service.api.builtins import TEMPLATES
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.projectorder import ProjectOrder, ProjectPiece
from service.engine.projects import Project, project
from service.engine.sizeset import own_text
from service.engine.sizing import PieceOrder
from service.engine.units import written
from service.engine.yarnorder import ColoursOrder, StripeOrder
from service.renders.project_svg import LONGEST, project_svg
from tests.answers import answered

from .pieces import HOSTILE
from .test_drawings import LETTER, SVG, corners

Drawn = tuple[ProjectOrder, Project]
EXAMPLES: dict[str, Drawn] = dict(answered("projects"))


def made(names: tuple[str, ...], scales: list[Fraction], **more: Any) -> Drawn | None:
    """The built-ins as pieces of a project, their examples at so many scales for sizes."""
    sizes = tuple(f"size {i}" for i in range(1, len(scales) + 1))
    pieces = []
    for name in names:
        template = TEMPLATES[name]
        wanted = {
            m.name: {
                size: m.example * scale for size, scale in zip(sizes, sorted(scales), strict=True)
            }
            for m in template.measurements
            if m.example
        }
        pieces.append(ProjectPiece(name, PieceOrder(square(16, 19), template, {}, **more), wanted))
    order = ProjectOrder(sizes, tuple(pieces), units=more.get("units", "metric"))
    try:
        return order, project(order)
    except Refused:
        return None


def placed(root: Element, tag: str) -> Iterator[tuple[Element, float, float]]:
    """Elements and how far the groups they are in move them."""

    def within(node: Element, x: float, y: float) -> Iterator[tuple[Element, float, float]]:
        move = re.match(r"translate\((\S+) (\S+)\)", node.get("transform") or "")
        x, y = (x + float(move[1]), y + float(move[2])) if move else (x, y)
        if node.tag == f"{SVG}{tag}":
            yield node, x, y
        for child in node:
            yield from within(child, x, y)

    return within(root, 0.0, 0.0)


def labels(root: Element) -> list[tuple[str, Polygon]]:
    usual = float(root.get("font-size") or 0)
    told = []
    for text, dx, dy in placed(root, "text"):
        words, size = text.text or "", float(text.get("font-size") or usual)
        x, y = float(text.get("x") or 0) + dx, float(text.get("y") or 0) + dy
        wide = LETTER * size * len(words)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.get("text-anchor") or ""]
        told.append((words, box(left, y - 0.75 * size, left + wide, y + 0.2 * size)))
    return told


def outlines(root: Element) -> list[Polygon]:
    """The shapes on paper, one a piece, where they stand on the sheet."""
    told = []
    for path, dx, dy in placed(root, "path"):
        if path.get("class") == "paper":
            xs, ys = corners(path)
            told.append(Polygon([(x + dx, y + dy) for x, y in zip(xs, ys, strict=True)]))
    return told


def check_readable(root: Element) -> None:
    x, y, wide, high = map(float, (root.get("viewBox") or "").split())
    sheet, told, shapes = box(x, y, x + wide, y + high), labels(root), outlines(root)
    assert told
    for words, room in told:
        assert sheet.contains(room), words
    for (one, a), (other, b) in combinations(told, 2):
        assert not a.intersects(b), (one, other)
    for a_shape, b_shape in combinations(shapes, 2):
        assert not a_shape.intersects(b_shape)
    for shape in shapes:
        assert sheet.contains(shape)
        for words, room in told:
            assert not room.intersects(shape), words


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_project_is_drawn_readably_with_a_title_and_a_description(name: str) -> None:
    order, answer = EXAMPLES[name]
    text = project_svg(answer, order)
    root = ElementTree.fromstring(text)
    check_readable(root)
    assert len(outlines(root)) == len(answer.pieces)
    assert root.get("role") == "img"
    told = {element.get("id"): element.text or "" for element in root if element.get("id")}
    assert (root.get("aria-labelledby") or "").split() == [*told]
    title, description = told.values()
    for piece in answer.pieces:
        assert piece.name in title
        for size in piece.sizes.values():
            number = written(size.finished.width, order.units).rsplit(" ", 1)[0]
            assert number in description
    assert text == project_svg(answer, order)


def test_the_kit_is_told_in_both_sizes() -> None:
    # By hand, 16 stitches and 19 rows to 10 cm: 19 (37) stitches are 11.9 (23.1) cm, and the 63
    # (114) rows of the body 33.2 (60) cm.
    order, answer = EXAMPLES["field-sketching-kit"]
    told = {words for words, _ in labels(ElementTree.fromstring(project_svg(answer, order)))}
    assert {"Case", "11.9 (23.1) cm", "Body: 33.2 (60) cm", "fold", "90 (110) cm"} <= told


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.sampled_from(sorted(TEMPLATES)), min_size=1, max_size=4, unique=True),
    st.lists(st.fractions(Fraction(1, 2), 2, max_denominator=12), min_size=1, max_size=4),
    st.sampled_from(["metric", "imperial"]),
)
def test_any_project_is_readable_and_its_pieces_are_to_scale(
    names: list[str], scales: list[Fraction], units: str
) -> None:
    drawn = made(tuple(names), scales, units=units)
    if drawn is None:
        return
    order, answer = drawn
    root = ElementTree.fromstring(project_svg(answer, order))
    check_readable(root)
    for piece, shape in zip(answer.pieces, outlines(root), strict=True):
        if piece.template not in ("panel", "band", "strap", "tube"):
            continue
        # By hand, a rectangle: 16 stitches and 19 rows to 10 cm;
        # a tube is drawn from the side, as wide as the circle across.
        largest = [*piece.sizes.values()][-1]
        left, top, right, bottom = shape.bounds
        start = largest.foundation or largest.start
        assert start
        wide, high = start.stitches * 100 / 16, largest.totals.rows * 100 / 19
        if largest.worked == "round":
            wide /= pi
        assert (right - left) * high == pytest.approx((bottom - top) * wide, rel=0.02)


def test_a_measure_in_all_sizes_gives_back_each_size() -> None:
    # Read back with the reader of the text for all sizes.
    drawn = made(("panel",), [Fraction(1), Fraction(3, 2), Fraction(2)])
    assert drawn
    order, answer = drawn
    told = [words for words, _ in labels(ElementTree.fromstring(project_svg(answer, order)))]
    (measure,) = [words for words in told if words.count(",") == 1 and words.endswith(") cm")][:1]
    for i, one in enumerate(answer.pieces[0].sizes.values()):
        mine = own_text(measure, i, 3)
        assert mine in {written(n, "metric") for n in (one.finished.width, one.finished.height)}


def test_measures_that_are_too_long_for_their_line_stand_in_a_key() -> None:
    drawn = made(("flap-panel", "cup"), [1 + Fraction(i, 16) for i in range(12)])
    assert drawn
    order, answer = drawn
    root = ElementTree.fromstring(project_svg(answer, order))
    check_readable(root)
    told = [words for words, _ in labels(root)]
    assert {"Flap: B", "Body: A", "C"} <= set(told)
    key = " ".join(told)
    assert {"A: body, height", "B: flap, height"} <= {words[:15] for words in told}
    for one in answer.pieces[0].sizes.values():
        assert written(one.finished.width, "metric").split()[0] in key
    assert LONGEST < 40


def test_colours_are_told_in_words() -> None:
    colours = ColoursOrder("ink", {}, (StripeOrder((("ink", 4), ("ochre", 2))),))
    drawn = made(("panel",), [Fraction(1), Fraction(2)], colours=colours)
    assert drawn
    order, answer = drawn
    root = ElementTree.fromstring(project_svg(answer, order))
    check_readable(root)
    text = " ".join(words for words, _ in labels(root))
    assert "in stripes: 4 in ink, 2 in ochre, over and over" in text


def test_hostile_names_are_only_names() -> None:
    drawn = made(("panel",), [Fraction(1)])
    assert drawn
    order, _ = drawn
    piece = order.pieces[0]
    named = ProjectOrder((HOSTILE,), (ProjectPiece(HOSTILE, piece.order, {
        name: Fraction(100) for name in piece.measurements
    }),))  # fmt: skip
    text = project_svg(project(named), named)
    root = ElementTree.fromstring(text)
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {
        "svg", "title", "desc", "style", "rect", "g", "path", "text",
    }  # fmt: skip
    assert "\u202e" not in text
