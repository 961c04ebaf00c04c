"""A piece worked flat, drawn to scale with its measurements, counts and what is made up on it."""

from __future__ import annotations

from ..engine.patterns import Piece
from ..engine.rowtext import plural
from ..engine.sizing import PieceOrder
from ..engine.templates import Template
from ..engine.units import written
from .flat_outline import Flat, Gap, flat_outline, gaps
from .plan import DASHED, HEAVY, THICK, Plan, arc, edging_depth
from .rows import titled
from .sheet import Point, n

FOLD = 'stroke-dasharray="10 3 2 3"'


def draw_flat(piece: Piece, order: PieceOrder) -> Plan:
    """The drawing without its words at the foot."""
    made = flat_outline(piece, order)
    out = edging_depth(piece)
    plan = Plan.of(made.outline, out)
    sheet, units = plan.sheet, order.units
    corners = [plan.at(p) for p in made.outline]
    if out:
        _edged(plan, corners, out)
    sheet.shape(corners, 'class="paper" fill="#fff" stroke-width="1.5"')
    _levels(plan, piece, order, made)
    folds(plan, piece, order, made)
    for gap in gaps(piece, order):
        _gap(plan, gap)
    _loop(plan, piece, order, made, out)
    plan.place_labels()
    h = float(order.gauge.row_height)
    spans = []
    for s in piece.sections:
        low, high = (s.first_row - 1) * h, (s.first_row - 1 + s.rows) * h
        told = f"{titled(s.name)}: {plural(s.rows, 'row')}, {written(s.finished.height, units)}"
        spans.append((low, high, told))
    plan.heights(spans)
    _widths(plan, piece, order, made)
    return plan


def _edged(plan: Plan, corners: list[Point], out: float) -> None:
    """A band as wide as the edging round the piece, under it."""
    wide = 2 * out * plan.unit
    band = f'stroke-width="{n(wide)}" stroke-opacity="0.25" stroke-linejoin="round"'
    plan.sheet.shape(corners, band)
    xs, ys = zip(*corners, strict=True)
    half = wide / 2
    plan.sheet.reach((min(xs) - half, min(ys) - half), (max(xs) + half, max(ys) + half))


def _levels(plan: Plan, piece: Piece, order: PieceOrder, made: Flat) -> None:
    foundation = piece.foundation
    assert foundation is not None
    units, w = order.units, order.gauge.stitch_width
    (left, right), *levels = made.levels
    plan.sheet.line(plan.at(left), plan.at(right), HEAVY)
    wide = written(foundation.stitches * w, units)
    plan.tell(left, f"foundation: ch {foundation.chain}, {foundation.stitches} sts, {wide}")
    for section, (left, right) in zip(piece.sections, levels, strict=True):
        if section is not piece.sections[-1]:
            plan.sheet.line(plan.at(left), plan.at(right), DASHED)
        count = section.stitches_at_end
        row = section.first_row + section.rows - 1
        plan.tell(left, f"row {row}: {plural(count, 'st')}, {written(count * w, units)}")


def folds(plan: Plan, piece: Piece, order: PieceOrder, made: Flat) -> None:
    """Lines where the template is folded."""
    if not isinstance(order.template, Template):
        return
    h = float(order.gauge.row_height)
    for fold in order.template.folds:
        for s in piece.sections:
            if s.name != fold.section:
                continue
            for i in range(1, fold.layers):
                y = (s.first_row - 1 + s.rows * i / fold.layers) * h
                left, right = across(made, y)
                plan.sheet.line(plan.at((left, y)), plan.at((right, y)), FOLD)
                plan.tell((left, y), "fold")


def across(made: Flat, y: float) -> Point:
    """Left and right end of the work at a height, millimetres."""
    for (low_left, low_right), (left, right) in zip(made.edges, made.edges[1:], strict=False):
        if low_left[1] <= y <= left[1] and left[1] > low_left[1]:
            part = (y - low_left[1]) / (left[1] - low_left[1])
            return (
                low_left[0] + part * (left[0] - low_left[0]),
                low_right[0] + part * (right[0] - low_right[0]),
            )
    left, right = made.edges[-1]
    return left[0], right[0]


def _gap(plan: Plan, gap: Gap) -> None:
    corners = (
        (gap.left, gap.foot),
        (gap.right, gap.foot),
        (gap.right, gap.top),
        (gap.left, gap.top),
    )
    plan.sheet.shape(map(plan.at, corners), THICK)
    counted = plural(gap.stitches, "row" if gap.left == gap.right else "st")
    plan.tell((gap.left, (gap.foot + gap.top) / 2), f"{gap.name}, row {gap.row}: {counted}")


def _loop(plan: Plan, piece: Piece, order: PieceOrder, made: Flat, out: float) -> None:
    hole = piece.buttonhole
    if not (hole and hole.loop and hole.loop_place):
        return
    at, loop = hole.loop_place, hole.loop
    w, h = float(order.gauge.stitch_width), float(order.gauge.row_height)
    stand = 0.0 if at.whole else out
    told = f"button loop: ch {loop.chain}"
    if at.edge == "last-row":
        (_, top), (right, _) = made.edges[-1]
        start, stop = (right - at.last * w, top + stand), (right - (at.first - 1) * w, top + stand)
    else:
        low, high = (at.first - 1) * h, at.last * h
        start, stop = (across(made, low)[0] - stand, low), (across(made, high)[0] - stand, high)
    arc(plan, start, stop, float(loop.chain_length))
    plan.tell(((start[0] + stop[0]) / 2, (start[1] + stop[1]) / 2 + 1e-6), told)


def _widths(plan: Plan, piece: Piece, order: PieceOrder, made: Flat) -> None:
    units, w = order.units, order.gauge.stitch_width
    foundation = piece.foundation
    assert foundation is not None
    plan.width(*made.edges[0], written(foundation.stitches * w, units))
    widest = max(made.edges, key=lambda ends: ends[1][0] - ends[0][0])
    count = round((widest[1][0] - widest[0][0]) / float(w))
    last = piece.sections[-1].stitches_at_end if piece.sections else foundation.stitches
    if count > max(foundation.stitches, last):
        plan.width(*widest, f"{written(count * w, units)} at its widest")
    if last > 2 and last != foundation.stitches:
        plan.width(*made.edges[-1], written(last * w, units), above=True)
