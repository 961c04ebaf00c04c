"""The outline of a piece in the round: from above where it lies flat, else from the side."""

from __future__ import annotations

from math import pi

from ..engine.exact import Fraction
from ..engine.patterns import Piece
from ..engine.profile import Profile, profile
from ..engine.roundplans import RoundTemplate, segments_of
from ..engine.rounds import RoundSection
from ..engine.rowtext import plural
from ..engine.sizing import PieceOrder
from ..engine.units import written
from .plan import DASHED, HEAVY, Plan, arc, edging_depth
from .rows import rows_of, titled
from .sheet import Point, n

MOST_ROUNDS = 60
"""Rounds drawn one by one, seen from above; past it only so many of them."""


def draw_round(piece: Piece, order: PieceOrder) -> Plan:
    """The drawing without its words at the foot."""
    return _from_the_side(piece, order) if piece.finished.height else _from_above(piece, order)


def half_profile(piece: Piece, order: PieceOrder) -> tuple[tuple[Point, ...], tuple[int, ...]]:
    """Radius and height along the profile, millimetres, and where in it the sections end.

    A section goes straight from its first count to its last, but for one that was told by a
    profile: that is drawn as it is meant, as wide and as high as it came to.
    """
    assert piece.start is not None
    assert isinstance(order.template, RoundTemplate)
    w = float(order.gauge.stitch_width)
    points: list[Point] = [(piece.start.stitches * w / (2 * pi), 0.0)]
    ends = [0]
    rows = rows_of(piece)
    for section, plan in zip(piece.sections, order.template.sections, strict=True):
        assert isinstance(section, RoundSection)
        widest = max(next(rows).stitches for _ in range(section.rows)) * w / (2 * pi)
        radius, base = points[-1]
        tall = float(section.finished.height)
        if plan.profile:
            told = {n: m.asked or m.finished for n, m in piece.measurements.items()}
            points += _as_meant(profile(radius, segments_of(plan, told)), widest, base, tall)
        else:
            points.append((section.stitches_at_end * w / (2 * pi), base + tall))
        ends.append(len(points) - 1)
    return tuple(points), tuple(ends)


def _as_meant(shape: Profile, widest: float, base: float, tall: float) -> list[Point]:
    """The profile as far up as it is worked, every 8th of its points, and its end."""
    wider = widest / max(shape.radii)
    kept = [
        (radius * wider, base + height)
        for radius, height in list(zip(shape.radii, shape.heights, strict=True))[8::8]
        if height < tall
    ]
    way = next((w for w, h in zip(shape.ways, shape.heights, strict=True) if h >= tall), None)
    end = shape.radii[-1] if way is None else shape.radius(way)
    return [*kept, (max(0.0, end) * wider, base + tall)]


def _section_words(section: RoundSection, order: PieceOrder) -> str:
    size = section.finished
    row = section.first_row + section.rows - 1
    told = f"round {row}: {plural(section.stitches_at_end, 'st')}"
    return f"{told}, {written(size.diameter_at_end, order.units)} across"


def _from_the_side(piece: Piece, order: PieceOrder) -> Plan:
    assert piece.start is not None
    points, ends = half_profile(piece, order)
    out = edging_depth(piece)
    top = (points[-1][0], points[-1][1] + out)
    outline = (*points, *((-x, y) for x, y in reversed(points)))
    plan = Plan.of([*outline, top])
    sheet, units = plan.sheet, order.units
    if out:
        band = ((-top[0], points[-1][1]), points[-1], top, (-top[0], top[1]))
        sheet.shape(map(plan.at, band), 'fill="currentColor" fill-opacity="0.25"')
    sheet.shape(map(plan.at, outline), 'class="paper" fill="#fff" stroke-width="1.5"')
    radius = points[0][0]
    if radius:
        sheet.line(plan.at((-radius, 0.0)), plan.at((radius, 0.0)), HEAVY)
        wide = written(piece.start.stitches * order.gauge.stitch_width / 2, units)
        plan.tell((-radius, 0.0), f"start: ch {piece.start.chain}, {wide} laid flat")
    else:
        plan.tell((0.0, 0.0), "start: ring")
    spans = []
    for section, first, last in zip(piece.sections, ends, ends[1:], strict=False):
        assert isinstance(section, RoundSection)
        x, y = points[last]
        if section is not piece.sections[-1]:
            sheet.line(plan.at((-x, y)), plan.at((x, y)), DASHED)
        plan.tell((-x, y), _section_words(section, order))
        if section.finished.height:
            tall = written(section.finished.height, units)
            told = f"{titled(section.name)}: {plural(section.rows, 'round')}, {tall}"
            spans.append((points[first][1], y, told))
    if piece.buttonhole and piece.buttonhole.loop:
        _loop(plan, piece, top, float(order.gauge.stitch_width))
    plan.place_labels()
    plan.heights(spans)
    x, y = max(points, key=lambda p: p[0])
    plan.width((-x, y), (x, y), f"{written(piece.finished.width, units)} across")
    return plan


def _loop(plan: Plan, piece: Piece, top: Point, w: float) -> None:
    """A loop on the rim, at its right as the work faces."""
    assert piece.buttonhole
    assert piece.buttonhole.loop
    loop = piece.buttonhole.loop
    wide = min(loop.spans * w, 2 * top[0])
    arc(plan, (top[0] - wide, top[1]), top, float(loop.chain_length))
    plan.tell((top[0] - wide / 2, top[1] + 1e-6), f"button loop: ch {loop.chain}")


def _from_above(piece: Piece, order: PieceOrder) -> Plan:
    """Rounds as they lie round each other, or round the chain of an oval."""
    assert piece.start is not None
    w, h = order.gauge.stitch_width, float(order.gauge.row_height)
    side = float((piece.start.side_stitches or 0) * w) / 2
    rounds = piece.totals.rows
    rim = rounds * h
    plan = Plan.of(((-side - rim, -rim), (side + rim, rim)))
    sheet, units = plan.sheet, order.units
    sheet.reach(plan.at((-side - rim, rim)), plan.at((side + rim, -rim)))
    each = -(-rounds // MOST_ROUNDS)
    ends = {s.first_row + s.rows - 1 for s in piece.sections}
    # An edging without increases stands up at the rim, and does not widen it.
    _ring(plan, side, rim, HEAVY if piece.edging else 'stroke-width="1.5"')
    for number in range(1, rounds):
        if number in ends:
            _ring(plan, side, number * h, DASHED)
        elif number % each == 0:
            _ring(plan, side, number * h, 'stroke-width="0.6" stroke-opacity="0.6"')
    if side:
        sheet.line(plan.at((-side, 0.0)), plan.at((side, 0.0)), HEAVY)
    start = f"ch {piece.start.chain}" if side else "ring"
    plan.tell((-side, 0.0), f"start: {start}")
    for section in piece.sections:
        assert isinstance(section, RoundSection)
        radius = (section.first_row + section.rows - 1) * h
        # Where the line to the words leaves the rim: up and to the left.
        place = (-side - radius * 0.8, radius * 0.6)
        row = section.first_row + section.rows - 1
        told = f"{titled(section.name)}, round {row}: {plural(section.stitches_at_end, 'st')}"
        plan.tell(place, told)
    if piece.buttonhole and piece.buttonhole.loop:
        _loop(plan, piece, (float(piece.buttonhole.loop.spans * w) / 2, rim), float(w))
    plan.place_labels()
    extent = piece.finished
    label = f"{written(extent.width, units)}{' long' if side else ' across'}"
    plan.width((-side - rim, 0.0), (side + rim, 0.0), label)
    if side:
        sheet_words = f"{written(_breadth(piece, order), units)} wide"
        plan.heights([(-rim, rim, sheet_words)])
    return plan


def _breadth(piece: Piece, order: PieceOrder) -> Fraction:
    return 2 * piece.totals.rows * order.gauge.row_height


def _ring(plan: Plan, side: float, radius: float, style: str) -> None:
    """A circle, or two halves of one with straight sides between."""
    r = n(radius * plan.unit)
    (x1, y1), (x2, y2) = plan.at((-side, radius)), plan.at((side, -radius))
    half = f"A{r} {r} 0 0 1"
    plan.sheet.lines.append(
        f'<path d="M{n(x1)} {n(y1)}L{n(x2)} {n(y1)}{half} {n(x2)} {n(y2)}L{n(x1)} {n(y2)}{half}'
        f' {n(x1)} {n(y1)}z" {style}/>'
    )
