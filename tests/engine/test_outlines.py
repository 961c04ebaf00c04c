"""Rows that follow an outline: shapely, a rasteriser, closed forms and exact search judge them."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise
from math import asin, cos, dist, hypot, pi, sin
from typing import Any

import pytest
import shapely
from PIL import Image, ImageDraw
from shapely.geometry import LineString, Polygon

from service.engine.continuing import ContinueOrder
from service.engine.counting import Scale
from service.engine.curves import Curve, Edge
from service.engine.edgeplans import EdgePlan, PointPlan, SegmentPlan
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.outlining import Fitted, fit
from service.engine.patterns import Piece, piece
from service.engine.rounding import Multiple
from service.engine.schedules import expanded
from service.engine.shaping import Rules, row_counts
from service.engine.sizing import PieceOrder, size
from service.engine.stitches import STITCHES
from service.engine.templates import FoundationPlan, MeasurementPlan, SectionPlan, Template, Term
from tests.engine.test_instructions import read
from tests.pieces import order

GAUGE = square(16, 19)
W, H = GAUGE.stitch_width, GAUGE.row_height
FINE = 0.01
"""Millimetres: the chords of our own arcs are this near to them."""
UNIT = Scale(Fraction(1), Fraction(1))


def mm(length: float | Fraction) -> Term:
    return Term(None, plus=Fraction(length))


def line(inwards: float, up: float) -> SegmentPlan:
    return SegmentPlan("line", mm(inwards), mm(up))


def outlined(start: int, plans: dict[str, EdgePlan], **made_up: Any) -> PieceOrder:
    section = SectionPlan("part", "outline", **plans)
    template = Template("part", "Part", (), FoundationPlan(stitches=start), (section,))
    return PieceOrder(made_up.pop("gauge", GAUGE), template, {}, detail="rows", **made_up)


def fitted(left: Edge, right: Edge, start: int, rows: int, scale: Scale = UNIT,
           **rules: Any) -> Fitted:  # fmt: skip
    return fit(left, right, start, rows, Rules(**rules), scale, ())


def lost(made: Fitted | Piece, rows: int) -> list[tuple[int, int]]:
    """Stitches that the left and the right edge have lost after each row, off the schedule."""
    schedule = made.schedule if isinstance(made, Fitted) else made.sections[0].schedule
    steps = [(-left, -right) for _, left, right in expanded(schedule)]
    steps += [(0, 0)] * (rows - len(steps))
    return list(accumulate(steps, lambda a, b: (a[0] + b[0], a[1] + b[1])))


# --- an outline of our own ------------------------------------------------------------------


def own_points(plan: EdgePlan) -> list[tuple[float, float]]:
    """The edge as a fine polyline, by the angle along each arc (the engine goes by height)."""
    at, points = (0.0, 0.0), [(0.0, 0.0)]
    for segment in plan:
        if segment.kind == "points":
            told = [(float(p.inwards.plus), float(p.up.plus)) for p in segment.points]
        else:
            assert segment.up is not None
            across = float(segment.inwards.plus) if segment.inwards else 0.0
            told = own_arc(segment, across, float(segment.up.plus))
        points += [(at[0] + x, at[1] + y) for x, y in told]
        at = points[-1]
    return points


def own_arc(segment: SegmentPlan, across: float, up: float) -> list[tuple[float, float]]:
    parts = [i / 600 for i in range(1, 601)]
    if segment.kind == "line":
        return [(across, up)]
    outward = segment.bulge != "inward"
    if segment.radius is None:
        if outward == (across > 0):  # straight up, then level
            return [(across * (1 - cos(pi / 2 * t)), up * sin(pi / 2 * t)) for t in parts]
        return [(across * sin(pi / 2 * t), up * (1 - cos(pi / 2 * t))) for t in parts]
    # The chord turned by a rising angle: half of the arc's angle to one side, then to the other.
    radius, chord = float(segment.radius.plus), hypot(across, up)
    half = asin(min(1.0, chord / (2 * radius)))
    ex, ey = across / chord, up / chord
    nx, ny = (-ey, ex) if outward else (ey, -ex)
    told = []
    for t in parts:
        angle = half * (2 * t - 1)
        along = chord / 2 + radius * sin(angle)
        over = radius * (cos(angle) - cos(half))
        told.append((ex * along + nx * over, ey * along + ny * over))
    return told


def own_crossings(points: list[tuple[float, float]], heights: list[float]) -> list[float]:
    """Where shapely says that level lines at the heights meet the edge."""
    levels = shapely.linestrings([[(-1e5, y), (1e5, y)] for y in heights])
    edge = LineString(points)
    shapely.prepare(edge)
    return [shapely.get_coordinates(met)[0][0] for met in shapely.intersection(edge, levels)]


def any_edge(dice: random.Random, tall: int, sway: int) -> EdgePlan:
    """Up to four segments that come to the height, none level; in and out as they fall."""
    cuts = sorted(dice.sample(range(1, tall), dice.randint(0, 3)))
    edge = []
    for low, high in pairwise([0, *cuts, tall]):
        up, across = high - low, dice.randint(-sway, sway)
        kind = dice.choice(["line", "arc", "arc", "circle", "points"])
        bulge = dice.choice([None, "outward", "inward"])
        if kind == "points":
            between = Fraction(dice.randint(1, 9), 10)
            edge.append(SegmentPlan("points", points=(
                PointPlan(mm(between * up), mm(dice.randint(-sway, sway))),
                PointPlan(mm(up), mm(across)))))  # fmt: skip
        elif kind == "circle":
            # No shorter than where the arc starts or ends level: chord squared over twice the rise.
            radius = Fraction(across**2 + up**2, 2 * up) * dice.choice([1, 1, 2, 5])
            edge.append(SegmentPlan("arc", mm(across), mm(up), bulge, mm(radius)))
        else:
            edge.append(SegmentPlan(kind, mm(across), mm(up), bulge if kind == "arc" else None))
    return tuple(edge)


@pytest.mark.parametrize("seed", range(300))
def test_every_row_is_within_half_a_stitch_of_the_outline_at_each_edge(seed: int) -> None:
    dice = random.Random(seed)
    tall = dice.randint(20, 400)
    plans = {"left": any_edge(dice, tall, 60), "right": any_edge(dice, tall, 60)}
    if seed % 5 == 0:
        del plans["right"]
    stitch = dice.choice(["single-crochet", "half-double-crochet", "double-crochet"])
    gauge = square(16, 19, stitch=stitch)
    made = piece(outlined(dice.randint(70, 120), plans, gauge=gauge))
    (section,) = made.sections
    assert section.row_counts is not None
    assert abs(section.rows * H - tall) <= H / 2
    losses = lost(made, section.rows)
    assert [section.stitches_at_start - a - b for a, b in losses] == list(section.row_counts)
    edges = [own_points(plans.get(name, (line(0, tall),))) for name in ("left", "right")]
    off = [0.0, 0.0]
    heights = [(row + 0.5) / section.rows * tall for row in range(section.rows)]
    for i, edge in enumerate(edges):
        crossings = own_crossings(edge, heights)
        off[i] = max(abs(p[i] * float(W) - x) for p, x in zip(losses, crossings, strict=True))
    assert max(off) <= float(W) / 2 + FINE
    assert section.outline_off is not None
    assert [float(section.outline_off.left), float(section.outline_off.right)] == pytest.approx(
        off, abs=FINE
    )
    # The schedule covers the rows and ends where the last row does; the text gives the counts.
    assert sum(run.rows for run in section.schedule) in (0, section.rows)
    assert made.finished.width == max(section.stitches_at_start, *section.row_counts) * W
    assert list(read(made, STITCHES[stitch].us.short).values()) == list(section.row_counts)


@pytest.mark.parametrize(("across", "rows"), [(7, 20), (13, 13), (30, 17), (1, 9), (19, 40)])
def test_a_straight_edge_is_the_line_of_a_rasteriser(across: int, rows: int) -> None:
    # Oracle: Pillow's line from (0, 0) to (across, 2 rows): its odd scan lines are the rows'
    # middles. A tie may go either way there, and goes to the wider row here.
    image = Image.new("1", (across + 1, 2 * rows + 1))
    ImageDraw.Draw(image).line([(0, 0), (across, 2 * rows)], fill=1)
    edge = (Curve(Fraction(across), Fraction(rows)),)
    made = lost(fitted(edge, (Curve(Fraction(0), Fraction(rows)),), across + 5, rows), rows)
    for row, (here, there) in enumerate(made):
        lit = [x for x in range(across + 1) if image.getpixel((x, 2 * row + 1))]
        tie = (across * (2 * row + 1) - rows) % (2 * rows) == 0
        assert here in lit or (tie and here + 1 in lit)
        assert there == 0


def test_half_an_ellipse_and_half_a_disc_have_their_areas() -> None:
    # Closed forms: pi a b / 2, and pi r squared over 2. Each row is within half a stitch an edge.
    made = piece(order("rounded-flap-panel", GAUGE, width=240, body_height=100, flap_depth=180))
    flap = made.sections[1]
    counts = row_counts(flap.stitches_at_start, flap.rows, flap.schedule)
    area = float(sum(counts) * W * H)
    assert area == pytest.approx(pi * 120 * 180 / 2, rel=0.02)
    arc = SegmentPlan("arc", None, mm(200), radius=mm(100))
    made = piece(outlined(1, {"sides": (arc,)}))
    stitches = made.totals.stitches - made.totals.rows  # the stitch it stands on goes straight up
    assert float(stitches * W * H) == pytest.approx(pi * 100**2, rel=0.02)


@pytest.mark.parametrize("seed", range(30))
def test_area_and_edge_lengths_are_those_of_the_polygon(seed: int) -> None:
    # Oracles: shapely's area of the outline, each row off by a stitch at most (and the rows by
    # what the outline bends within one); shapely's length through the shaping rows.
    dice = random.Random(f"area {seed}")
    tall = dice.randint(100, 400)
    plans = {"left": any_edge(dice, tall, 50), "right": any_edge(dice, tall, 50)}
    made = piece(outlined(100, plans, edging=EdgingOrder()))
    (section,) = made.sections
    left, right = own_points(plans["left"]), own_points(plans["right"])
    across = 100 * float(W)
    area = Polygon([*left, *((across - x, y) for x, y in reversed(right))]).area
    scaled = area * float(section.rows * H) / tall
    assert abs(made.totals.stitches * float(W * H) - scaled) <= section.rows * float(W * H)
    assert made.edging is not None
    sides = {s.name: s for s in made.edging.sides}
    for i, name in enumerate(("left", "right")):
        steps = [(0, 0), *((row, pair[i]) for row, pair in enumerate(lost(made, section.rows), 1))]
        corners = [(0.0, 0.0)] + [
            (n * float(W), row * float(H)) for (_, m), (row, n) in pairwise(steps) if n != m
        ]
        corners.append((steps[-1][1] * float(W), section.rows * float(H)))
        length = LineString(corners).length if dist(corners[0], corners[-1]) else 0
        assert float(sides[f"{name} edge of the part"].length) == pytest.approx(length)


@pytest.mark.parametrize("seed", range(200))
def test_a_monotone_stretch_has_no_jitter(seed: int) -> None:
    dice = random.Random(f"monotone {seed}")
    way = dice.choice([1, -1])
    edges = []
    rows = dice.randint(2, 60)
    for _ in range(2):
        cuts = sorted({0, rows, *dice.choices(range(1, rows), k=2)})
        edges.append(tuple(
            Curve(Fraction(way * dice.randint(0, 15)), Fraction(high - low),
                  dice.choice(["line", "ellipse"]), dice.choice(["outward", "inward"]))
            for low, high in pairwise(cuts)))  # fmt: skip
    multiple = Multiple(dice.choice([1, 4, 5]))
    rules = {"max_change": dice.choice([None, 8, 20])}
    start = 20 * multiple.multiple if way < 0 else 100
    made = fitted(edges[0], edges[1], start, rows, Scale(Fraction(1), Fraction(1), multiple),
                  **rules)  # fmt: skip
    for (a, b), (c, d) in pairwise([(0, 0), *lost(made, rows)]):
        assert (c - a) * way >= 0
        assert (d - b) * way >= 0
    assert multiple.allows(made.end)


@pytest.mark.parametrize("seed", range(60))
def test_a_piece_turned_upside_down_has_the_same_counts(seed: int) -> None:
    dice = random.Random(f"turn {seed}")
    rows, size = dice.randint(3, 60), dice.randint(3, 90)
    ends = [dice.randint(-10, 10), dice.randint(-10, 10)]
    edges, turned = [], []
    for end in ends:
        middle = dice.randint(-10, 10)
        parts = [
            (across, size, dice.choice(["line", "ellipse"]), dice.choice(["outward", "inward"]))
            for across in (middle, end - middle)
        ]
        edges.append(tuple(Curve(Fraction(x), Fraction(y), s, b) for x, y, s, b in parts))
        turned.append(
            tuple(Curve(Fraction(-x), Fraction(y), s, b) for x, y, s, b in reversed(parts))
        )
    up = fitted(edges[0], edges[1], 60, rows)
    down = fitted(turned[1], turned[0], 60 - sum(ends), rows)
    counts = [60 - a - b for a, b in lost(up, rows)]
    back = [60 - sum(ends) - a - b for a, b in lost(down, rows)]
    assert counts == back[::-1]


# --- the rules of shaping -------------------------------------------------------------------


def nearest_by_search(wanted: list[Fraction], most: int) -> Fraction:
    """The least farthest distance of all whole paths that change by at most so much a row."""
    paths = {0: Fraction(0)}
    for x in wanted:
        reached: dict[int, Fraction] = {}
        for place, far in paths.items():
            for to in range(place - most, place + most + 1):
                here = max(far, abs(to - x))
                reached[to] = min(reached.get(to, here), here)
        paths = reached
    return min(paths.values())


@pytest.mark.parametrize("seed", range(120))
def test_the_largest_change_is_kept_as_close_as_can_be(seed: int) -> None:
    # Oracle: every whole path of one edge. Ours is the best of all paths, rounded: no more than
    # half a stitch farther off.
    dice = random.Random(f"change {seed}")
    rows, most = dice.randint(2, 12), dice.randint(1, 3)
    cut = dice.randint(1, rows - 1)
    edge = (Curve(Fraction(dice.randint(-12, 12)), Fraction(cut)),
            Curve(Fraction(dice.randint(-12, 12)), Fraction(rows - cut), "ellipse"))  # fmt: skip
    straight = (Curve(Fraction(0), Fraction(rows)),)
    made = fitted(edge, straight, 60, rows, max_change=most)
    places = [a for a, _ in lost(made, rows)]
    assert all(abs(b - a) <= most for a, b in pairwise([0, *places]))
    heights = [Fraction(2 * row + 1, 2) for row in range(rows)]
    wanted = [edge[0].at(y) if y <= cut else edge[0].inwards + edge[1].at(y - cut) for y in heights]
    assert made.off.left == max(abs(a - b) for a, b in zip(places, wanted, strict=True))
    assert made.off.left <= nearest_by_search(wanted, most) + Fraction(1, 2)
    assert made.off.right == 0


@pytest.mark.parametrize("most", range(1, 8))
@pytest.mark.parametrize("right_side", [True, False])
def test_both_edges_together_keep_to_the_rules(most: int, right_side: bool) -> None:
    dice = random.Random(f"both {most} {right_side}")
    for _ in range(20):
        rows = dice.randint(8, 40)
        edges = [
            (
                Curve(Fraction(dice.randint(-20, 20)), Fraction(7), "ellipse"),
                Curve(Fraction(dice.randint(-20, 20)), Fraction(11)),
            )
            for _ in range(2)
        ]
        made = fitted(edges[0], edges[1], 120, rows, max_change=most, right_side_only=right_side,
                      starts_on_right_side=False)  # fmt: skip
        for row, ((a, b), (c, d)) in enumerate(pairwise([(0, 0), *lost(made, rows)]), 2):
            assert abs(c - a) + abs(d - b) <= (0 if right_side and row % 2 == 0 else most)


def test_edges_alike_stay_alike_and_a_straight_one_straight() -> None:
    arc = (Curve(Fraction(20), Fraction(10), "ellipse"),)
    even = fitted(arc, arc, 60, 10, max_change=4)
    assert all(a == b for a, b in lost(even, 10))
    straight = (Curve(Fraction(0), Fraction(10)),)
    for sides in ((arc, straight), (straight, arc)):
        made = fitted(*sides, 60, 10, Scale(Fraction(1), Fraction(1), Multiple(4)), max_change=4)
        assert 0 in lost(made, 10)[-1]
        assert made.end % 4 == 0


def test_rows_far_from_their_outline_raise_a_caution() -> None:
    for most, code in ((2, "off-outline"), (40, "steep-shaping")):
        asked = order("rounded-flap-panel", GAUGE, {"max_change": most}, width=240,
                      body_height=100, flap_depth=70)  # fmt: skip
        assert code in [c.code for c in piece(asked).cautions]


def test_edges_each_on_their_own_are_told_each_on_its_own() -> None:
    # By hand: 30 mm over 6 rows of 5 mm, 5 mm a stitch: at the middles of the rows the left edge
    # is out by 1/2, 3/2 ... 11/2 stitches (ties to the wider row: 1 to 6), the right in by as much
    # (0 to 5).
    gauge = square(20, 20)
    made = piece(outlined(9, {"left": (line(-30, 30),), "right": (line(30, 30),)}, gauge=gauge))
    (section,) = made.sections
    assert section.row_counts == (10, 10, 10, 10, 10, 10)
    assert section.in_words == (
        "increase 1 stitch at the left edge in the next row, then increase 1 stitch at the left"
        " edge and decrease 1 stitch at the right edge every row 5 times"
    )
    said = [i.text for i in made.instructions]
    assert "Row 2 (WS): Ch 1, turn, 2 sc in first st, sc in each st to last 2 sts, sc2tog. (10 sts)" in said  # noqa: E501  # fmt: skip
    assert "Row 3 (RS): Ch 1, turn, sc2tog, sc in each st to last st, 2 sc in last st. (10 sts)" in said  # noqa: E501  # fmt: skip
    assert not [c for c in made.cautions if c.code == "uneven-edges"]


@pytest.mark.parametrize("counts", [True, False])
@pytest.mark.parametrize("stitch", [s.key for s in STITCHES.values() if s.makes_rows])
def test_narrow_rows_that_lean_are_worked_as_they_are_written(stitch: str, counts: bool) -> None:
    gauge = square(20, 20, stitch=stitch)
    if STITCHES[stitch].turning_chain < 2:
        counts = False  # a chain of one never counts
    worked = 0
    for seed in range(150):
        dice = random.Random(f"narrow {seed}")
        edges = {name: tuple(line(5 * dice.randint(-3, 3), 5) for _ in range(6))
                 for name in ("left", "right")}  # fmt: skip
        asked = outlined(dice.randint(1, 9), edges, gauge=gauge, turning_chain_counts=counts)
        try:
            made = piece(asked)
        except Refused:
            continue
        worked += 1
        assert list(read(made, STITCHES[stitch].us.short).values()) == list(
            made.sections[0].row_counts or ()
        )
    assert worked > 30


def test_a_level_line_is_lost_in_the_row_over_it() -> None:
    # By hand, at 5 mm a stitch and a row: 15 mm level after two rows are 3 stitches at each edge,
    # and 10 mm in over the two rows after them 1/2 and 3/2: 3 and 4 in all, ties to the wider.
    level = SegmentPlan("line", mm(15))
    edge = (line(0, 10), level, line(10, 10))
    made = piece(outlined(20, {"sides": edge}, gauge=square(20, 20)))
    assert made.sections[0].row_counts == (20, 20, 14, 12)
    assert [c.code for c in made.cautions] == ["steep-shaping"]
    assert list(read(made, "sc").values()) == [20, 20, 14, 12]


# --- what cannot be -------------------------------------------------------------------------


def refused(asked: PieceOrder) -> Any:
    with pytest.raises(Refused) as told:
        piece(asked)
    (refusal,) = told.value.refusals
    return refusal


def test_edges_that_meet_are_refused_with_what_would_work() -> None:
    # By hand: 10 stitches of 6.25 mm are 62.5 mm; two edges of 60 mm over 100 mm meet at 52 mm, in
    # row 10 (47.4 to 52.6 mm, its middle at 50): 60 mm in by then; the next is the first past it.
    asked = outlined(10, {"sides": (line(60, 100),)})
    refusal = refused(asked)
    assert (refusal.code, refusal.path) == ("outline-closes", ("template", "sections", 0))
    assert refusal.permitted["row"] == 11
    assert "row 11 of its 19" in refusal.detail
    piece(outlined(refusal.permitted["minimum_stitches"], {"sides": (line(60, 100),)}))
    room = refusal.permitted["most_inwards_mm"]
    piece(outlined(10, {"sides": (line(room / 2, 100),)}))


def test_an_outline_that_closes_at_its_top_ends_on_a_stitch() -> None:
    # 38.4 stitches asked and 38 worked, or 39.36 and 39: a long point closes some rows early, by
    # rounding alone.
    for start, width in ((38, 240), (39, 246)):
        made = piece(outlined(start, {"sides": (line(width / 2, 1500),)}))
        assert made.sections[0].stitches_at_end == 1
        counts = made.sections[0].row_counts or ()
        assert list(counts) == sorted(counts, reverse=True)


def test_edges_of_unlike_height_are_refused_with_both() -> None:
    plans = {"left": (line(0, 100),), "right": (line(9, 104),)}
    refusal = refused(outlined(20, plans))
    assert refusal.code == "edges-differ-in-height"
    assert "10 cm" in refusal.detail
    assert "10.4 cm" in refusal.detail
    plans["right"] = (line(9, 102.5),)  # within half of 5.26 mm
    piece(outlined(20, plans))


def test_an_arc_that_turns_back_is_refused_with_its_least_radius() -> None:
    # By geometry: in 30 and up 40 has a chord of 50, so 50 squared over 80 is 31.25.
    arc = SegmentPlan("arc", mm(30), mm(40), radius=mm(30))
    refusal = refused(outlined(20, {"sides": (arc,)}))
    assert (refusal.code, refusal.permitted) == ("arc-turns-back", {"minimum_mm": 31.25})
    arc = SegmentPlan("arc", mm(30), mm(40), radius=mm(31.25))
    piece(outlined(20, {"sides": (arc,)}))


def test_a_strip_that_leans_past_itself_is_refused() -> None:
    plans = {"left": (line(100, 20),), "right": (line(-100, 20),)}
    assert refused(outlined(3, plans)).code == "outline-does-not-fit"


@pytest.mark.parametrize(
    ("plan", "codes"),
    [
        ({}, {"outline-edges"}),
        ({"left": (line(1, 1),), "sides": (line(1, 1),)}, {"outline-edges"}),
        ({"sides": (line(1, 1),), "rows": 3}, {"outline-with-extent"}),
        ({"sides": (line(1, 1),), "edges": "left"}, {"outline-with-extent"}),
        ({"sides": (SegmentPlan("line"),)}, {"segment-extent"}),
        ({"sides": (SegmentPlan("line", up=mm(1), bulge="inward"),)}, {"segment-with-other-kind"}),
        ({"sides": (SegmentPlan("arc", up=mm(1), points=(PointPlan(mm(1)),)),)},
         {"segment-with-other-kind"}),
        ({"sides": (SegmentPlan("line", Term("w", Fraction(0)), mm(1)),)}, {"factor-zero"}),
        ({"sides": (SegmentPlan("line", mm(1), Term("w", Fraction(-1))),)},
         {"factor-not-positive"}),
        ({"sides": (SegmentPlan("line", mm(1), Term("may")),)}, {"optional-in-outline"}),
        ({"sides": (SegmentPlan("points", points=(PointPlan(mm(9)), PointPlan(mm(8)))),)},
         {"outline-goes-down"}),
        ({"sides": (SegmentPlan("line", mm(1), mm(-8)),)}, {"outline-goes-down"}),
        ({"sides": (SegmentPlan("arc", mm(1), mm(0), radius=mm(9)),)}, {"arc-without-rise"}),
        ({"sides": (line(1, 1),)}, {"measurement-too-small"}),
        ({"sides": (line(-90_000, 100),)}, {"outline-too-wide"}),
        ({"sides": (line(0, 10**6),)}, {"measurement-too-large"}),
    ],
)  # fmt: skip
def test_what_a_document_may_not_say(plan: dict[str, Any], codes: set[str]) -> None:
    asked = (MeasurementPlan("w", "across"), MeasurementPlan("may", "perhaps", optional=True))
    body = (SectionPlan("body", "even", height=Term("w")),
            SectionPlan("more", "even", height=Term("may"), rows=2))  # fmt: skip
    template = Template("part", "Part", asked, FoundationPlan(stitches=20),
                        (*body, SectionPlan("part", "outline", **plan)))  # fmt: skip
    with pytest.raises(Refused) as told:
        piece(PieceOrder(GAUGE, template, {"w": Fraction(50), "may": Fraction(50)}))
    assert {r.code for r in told.value.refusals} == codes


def test_a_straight_section_has_no_edges_of_its_own() -> None:
    section = SectionPlan("part", "even", rows=3, sides=(line(1, 1),))
    template = Template("part", "Part", (), FoundationPlan(stitches=9), (section,))
    assert refused(PieceOrder(GAUGE, template, {})).code == "edge-without-outline"


def test_measurements_of_an_outline_come_to_what_its_rows_do() -> None:
    # By hand: 14 cm at 1.9 rows a cm is 26.6: 27 rows of 10/19 cm, 14.2105 cm. 38 - 2 stitches are
    # lost at each edge... 30 mm in at each edge is 4.8 stitches; the last row's middle stands at
    # 26.5 / 27 of that, 4.71: 5 stitches of 6.25 mm.
    edge = (SegmentPlan("line", Term("slope"), Term("tall", Fraction(1, 2))),) * 2
    asked = (MeasurementPlan("slope", "in"), MeasurementPlan("tall", "up"))
    section = SectionPlan("part", "outline", sides=edge)
    template = Template("part", "Part", asked, FoundationPlan(stitches=38), (section,))
    made = piece(PieceOrder(GAUGE, template, {"slope": Fraction(15), "tall": Fraction(140)}))
    assert made.measurements["tall"].finished == 27 * H
    # The first half ends with row 14, whose middle stands at 13.5 / 27: 2.4 stitches, so 2.
    assert made.measurements["slope"].finished == 2 * W


# --- cost -----------------------------------------------------------------------------------


def calls(work: Callable[[], object]) -> int:
    """Calls of functions, Python's and C's, that the work makes."""
    seen = 0

    def count(frame: object, event: str, argument: object) -> None:
        nonlocal seen
        seen += event in ("call", "c_call")

    sys.setprofile(count)
    try:
        work()
    finally:
        sys.setprofile(None)
    return seen


@pytest.mark.parametrize("most", [None, 2])
def test_work_grows_no_faster_than_the_rows(most: int | None) -> None:
    def counted(rows: int) -> int:
        edge = (Curve(Fraction(-30), Fraction(1), "ellipse"), Curve(Fraction(50), Fraction(1)))
        straight = (Curve(Fraction(0), Fraction(2)),)
        return calls(lambda: fitted(edge, straight, 99, rows, max_change=most))

    few, many = counted(300), counted(3000)
    assert many <= 10.5 * few


def test_too_many_rows_are_refused_before_they_are_fitted() -> None:
    def refuse(sections: int) -> None:
        plans = [SectionPlan(f"part {i}", "outline", sides=(line(1, 3_000),))
                 for i in range(sections)]  # fmt: skip
        tall = SectionPlan("tall", "even", rows=9_500)  # and 570 rows more are past 10,000
        template = Template("part", "Part", (), FoundationPlan(stitches=20), (tall, *plans))
        assert refused(PieceOrder(GAUGE, template, {})).code == "too-many-rows"

    # Each section more costs less than a tenth of what it would cost to fit it.
    alone = PieceOrder(
        GAUGE,
        Template("part", "Part", (), FoundationPlan(stitches=20),
                 (SectionPlan("part", "outline", sides=(line(1, 3_000),)),)),
        {},
    )  # fmt: skip
    more = calls(lambda: refuse(40)) - calls(lambda: refuse(20))
    assert more < 20 * calls(lambda: size(alone)) / 10


def test_an_outline_is_followed_for_a_thousand_rows_and_no_more() -> None:
    def asked(millimetres: int) -> PieceOrder:
        plan = SectionPlan("part", "outline", sides=(line(1, millimetres),))
        return PieceOrder(GAUGE, Template("part", "Part", (), FoundationPlan(stitches=20), (plan,)),
                          {})  # fmt: skip

    # 1,000 rows of 100/19 mm are 5,263.2 mm, and half a row more rounds up to the next.
    refusal = refused(asked(5_266))
    assert refusal.code == "outline-too-long"
    longest = {"value": 526.315, "unit": "cm"}  # 1,000 rows, rounded to what still works
    assert refusal.permitted == {"maximum": longest, "rows": 1000}
    assert refusal.path[:3] == ("template", "sections", 0)
    assert size(asked(5_265)).sections[0].rows == 1000
    assert calls(lambda: refused(asked(50_000))) < 2 * calls(lambda: refused(asked(5_266)))


@pytest.mark.parametrize(("left", "right", "ends"), [(6, 2, (7, 3)), (2, 6, (3, 7))])
def test_what_a_multiple_takes_off_is_shared_by_where_the_edges_are(
    left: int, right: int, ends: tuple[int, int]
) -> None:
    # In the middle of the last of 12 rows the edges are 11.5 / 12 of the way in: 5.75 and 1.92 of
    # 20 stitches, which leaves 12.33. Of multiples of 5 the nearest is 10: 10 lost, so that each
    # edge is as much too far in as the other: (5.75 - 1.92 + 10) / 2 = 6.92, and the rest.
    def lean(stitches: int) -> EdgePlan:
        return (line(float(stitches * W), float(12 * H)),)

    made = piece(outlined(20, {"left": lean(left), "right": lean(right)},
                          stitch_multiple=Multiple(5)))  # fmt: skip
    assert made.sections[0].stitches_at_end == 10
    assert lost(made, 12)[-1] == ends


@pytest.mark.parametrize(
    ("left", "right", "multiple", "ends"),
    [
        # 20 less 5.75 are 14.25. Of 8 n + 4 the nearest is 12: 8 lost. Of 12 n + 8 it is 20: none.
        # Shared by where the edges are, the straight one would come in by one, or go out by three.
        (0, 6, Multiple(8, 4), (0, 8)), (6, 0, Multiple(8, 4), (8, 0)),
        (0, 6, Multiple(12, 8), (0, 0)), (6, 0, Multiple(12, 8), (0, 0)),
    ],
)  # fmt: skip
def test_an_edge_that_goes_straight_up_stays_so_whatever_the_multiple(
    left: int, right: int, multiple: Multiple, ends: tuple[int, int]
) -> None:
    def edge(stitches: int) -> EdgePlan:
        return (line(float(stitches * W), float(12 * H)),)

    made = piece(outlined(20, {"left": edge(left), "right": edge(right)},
                          stitch_multiple=multiple))  # fmt: skip
    assert made.sections[0].stitches_at_end == 20 - sum(ends)
    assert lost(made, 12)[-1] == ends


def test_an_outline_gone_on_with_as_planned_is_the_rest_of_it() -> None:
    flap = order("rounded-flap-panel", GAUGE, {"detail": "rows"}, width=240, body_height=100,
                 flap_depth=80)  # fmt: skip
    body, whole = piece(flap).sections
    counts = whole.row_counts or ()
    for done in range(1, whole.rows):
        for more in (0, 2):
            # Stitches too many were begun with where no row has changed yet, and are kept; else
            # the next row loses them, one at each edge.
            kept = more if counts[done - 1] == whole.stitches_at_start else 0
            on_hook = counts[done - 1] + more
            begun = ContinueOrder("flap", body.rows + done, stitches=on_hook)
            left = piece(replace(flap, continue_after=begun)).sections[-1]
            assert left.stitches_at_start == on_hook
            assert left.row_counts == tuple(n + kept for n in counts[done:])
