"""The schematic of a project: every piece once, with the measures of all sizes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, pi, sin
from textwrap import wrap

from ..engine.exact import Fraction
from ..engine.patterns import Piece
from ..engine.projectorder import ProjectOrder
from ..engine.projects import PieceSet, Project
from ..engine.sizing import PieceOrder
from ..engine.units import System, written
from .flat_drawing import folds
from .flat_outline import Flat, flat_outline
from .plan import DASHED, HEAVY, Plan
from .round_outline import half_profile
from .rows import check_whole, colours_in_words, titled
from .safe import clean
from .sheet import LETTER, TEXT, Point, Sheet, n

ROOM = (300.0, 340.0)
"""Units of the sheet that a piece is drawn in."""
PAGE = 960.0
"""Units across before the next piece begins a new line."""
BETWEEN = 48.0
HEADING = 18.0
LONGEST = 34
"""Letters of a measure beside its line; a longer one is told of in the key below."""
WITHIN = 'stroke-width="0.8" stroke-dasharray="2 3"'
PAPER = 'class="paper" fill="#fff" stroke-width="1.5"'


def project_svg(project: Project, order: ProjectOrder) -> str:
    """Each piece at its largest size with the smaller ones inside, and the measures of all sizes.

    Raises Refused for a piece that goes on from a row.
    """
    orders = {piece.name: piece.order for piece in order.pieces}
    blocks = []
    for made in project.pieces:
        asked = orders[made.name]
        if asked is not None:  # else refused before it comes to be drawn
            blocks.append(_block(made, asked))
    sizes, note = _sizes(project)
    sheet = _page([block.plan.sheet for block in blocks], f"{sizes} {note}")
    title = f"Project: {', '.join(made.name for made in project.pieces)}: every piece, to scale"
    told = " ".join(f"{block.name}: {'; '.join(block.told)}." for block in blocks)
    return sheet.document(title, f"{sizes} {told}")


def _sizes(project: Project) -> tuple[str, str]:
    first, *rest = project.sizes
    own = "Each piece is to a scale of its own."
    if not rest:
        return f"Size: {first}.", own
    return (
        f"Sizes: {first} ({', '.join(rest)}).",
        f"{own} It is drawn in its largest size; the smaller lie within, dotted.",
    )


def in_all(sizes: Iterable[Fraction], units: System) -> str:
    """A length in all sizes, the first and the rest in brackets; once where they are alike.

    >>> in_all((Fraction(119), Fraction(231)), "metric"), in_all((Fraction(20),) * 2, "metric")
    ('11.9 (23.1) cm', '2 cm')
    """
    told = [written(size, units) for size in sizes]
    if len(set(told)) == 1:
        return told[0]
    unit = told[0].rsplit(" ", 1)[1]
    first, *rest = (each.rsplit(" ", 1)[0] for each in told)
    return f"{first} ({', '.join(rest)}) {unit}"


@dataclass(slots=True)
class _Block:
    """A piece in the drawing: its sizes, its plan, what is told of it, and its key."""

    name: str
    pieces: tuple[Piece, ...]
    order: PieceOrder
    plan: Plan = field(default_factory=lambda: Plan(1.0, 0.0, 0.0))
    told: list[str] = field(default_factory=list)
    key: list[str] = field(default_factory=list)

    def length(self, what: str, sizes: Iterable[Fraction]) -> str:
        """A length of every size, or the letter it has in the key where that is too long."""
        words = in_all(sizes, self.order.units)
        self.told.append(f"{what} {words}")
        if len(words) <= LONGEST:
            return words
        letter = chr(ord("A") + len(self.key)) if len(self.key) < 26 else f"{len(self.key) + 1}"
        self.key.append(f"{letter}: {what} {words}")
        return letter


def _block(made: PieceSet, order: PieceOrder) -> _Block:
    pieces = tuple(made.sizes.values())
    for piece in pieces:
        check_whole(piece)
    whole = pieces[0].finished.height
    drawn = _Block(titled(made.name), pieces, order)
    draw = _flat if pieces[0].worked == "flat" else _from_the_side if whole else _from_above
    draw(drawn)
    sheet = drawn.plan.sheet
    for words in (*drawn.key, colours_in_words(pieces[-1])):
        if words:
            drawn.plan.foot(words)
    sheet.text((sheet.left, sheet.top - HEADING), drawn.name, own_size=HEADING)
    return drawn


def _outlines(block: _Block, shapes: list[tuple[Point, ...]]) -> None:
    """The largest size on paper, the others dotted within it; sizes alike are drawn once."""
    block.plan = Plan.of([point for shape in shapes for point in shape], room=ROOM)
    block.plan.sheet.shape(map(block.plan.at, shapes[-1]), PAPER)
    for shape in dict.fromkeys(shapes[:-1]):
        if shape != shapes[-1]:
            block.plan.sheet.shape(map(block.plan.at, shape), WITHIN)


def _flat(block: _Block) -> None:
    order, pieces = block.order, block.pieces
    made = [flat_outline(piece, order) for piece in pieces]
    middle = made[-1].edges[0][1][0] / 2
    shapes = [
        tuple((x + middle - one.edges[0][1][0] / 2, y) for x, y in one.outline) for one in made
    ]
    _outlines(block, shapes)
    plan, w, h = block.plan, order.gauge.stitch_width, order.gauge.row_height
    (start, stop), *levels = made[-1].levels
    plan.sheet.line(plan.at(start), plan.at(stop), HEAVY)
    bases = tuple(piece.foundation.stitches for piece in pieces if piece.foundation)
    below = bases
    for i, (section, (left, right)) in enumerate(zip(pieces[-1].sections, levels, strict=True), 1):
        tops = tuple(piece.sections[i - 1].stitches_at_end for piece in pieces)
        if i < len(levels):
            plan.sheet.line(plan.at(left), plan.at(right), DASHED)
            if tops != below:
                told = block.length(f"width after the {section.name}", (n * w for n in tops))
                plan.tell(left, told)
        below = tops
    folds(plan, pieces[-1], order, made[-1])
    plan.place_labels()
    _heights(block, [right[1] for _, right in made[-1].levels], h)
    plan.width(start, stop, block.length("width at the foundation", (n * w for n in bases)))
    widest = [_widest(one) for one in made]
    wide = tuple(round((right[0] - left[0]) / float(w)) for left, right in widest)
    if any(n > max(base, top) for n, base, top in zip(wide, bases, below, strict=True)):
        told = block.length("width at the widest", (n * w for n in wide))
        plan.width(*widest[-1], f"{told} at its widest")
    if below != bases and max(below) > 2 and levels:
        plan.width(*levels[-1], block.length("width at the top", (n * w for n in below)), True)


def _widest(made: Flat) -> tuple[Point, Point]:
    return max(made.edges, key=lambda ends: ends[1][0] - ends[0][0])


def _heights(block: _Block, levels: list[float], row: Fraction | None = None) -> None:
    """A measuring line a section that has a height."""
    spans = []
    for i, (low, high) in enumerate(pairwise(levels)):
        sections = [piece.sections[i] for piece in block.pieces]
        sizes = [s.rows * row if row else s.finished.height or Fraction(0) for s in sections]
        if any(sizes):
            name = titled(sections[-1].name)
            told = block.length(f"{sections[-1].name}, height", sizes)
            spans.append((low, high, f"{name}: {told}" if len(levels) > 2 else told))
    block.plan.heights(spans)


def _from_the_side(block: _Block) -> None:
    order, pieces = block.order, block.pieces
    halves = [half_profile(piece, order) for piece in pieces]
    _outlines(block, [(*half, *((-x, y) for x, y in reversed(half))) for half, _ in halves])
    plan, (points, ends) = block.plan, halves[-1]
    for i in ends[:-1]:
        x, y = points[i]
        plan.sheet.line(plan.at((-x, y)), plan.at((x, y)), DASHED if i else HEAVY)
    _heights(block, [points[i][1] for i in ends])
    x, y = max(points, key=lambda point: point[0])
    across = block.length("across", (piece.finished.width for piece in pieces))
    plan.width((-x, y), (x, y), f"{across} across")


def _from_above(block: _Block) -> None:
    order, pieces = block.order, block.pieces
    w, h = order.gauge.stitch_width, order.gauge.row_height
    shapes = []
    for piece in pieces:
        side = float((piece.start.side_stitches or 0) * w) / 2 if piece.start else 0.0
        rim = float(piece.totals.rows * h)
        turned = [(rim * cos(pi * i / 36), rim * sin(pi * i / 36)) for i in range(-18, 18)]
        right = [(side + x, y) for x, y in turned]
        shapes.append((*right, (side, rim), *((-x, -y) for x, y in right), (-side, -rim)))
    _outlines(block, shapes)
    plan = block.plan
    right_end, top = (max(point[i] for point in shapes[-1]) for i in (0, 1))
    long = pieces[-1].start is not None and bool(pieces[-1].start.side_stitches)
    if long:
        told = block.length("width", (2 * piece.totals.rows * h for piece in pieces))
        plan.heights([(-top, top, f"{told} wide")])
    across = block.length("across", (piece.finished.width for piece in pieces))
    plan.width((-right_end, 0.0), (right_end, 0.0), f"{across} {'long' if long else 'across'}")


def _page(blocks: list[Sheet], words: str) -> Sheet:
    """The drawings side by side, line after line, and words at the foot."""
    page = Sheet()
    x = y = low = 0.0
    for block in blocks:
        wide, high = block.right - block.left, block.bottom - block.top
        if x and x + wide > PAGE:
            x, y = 0.0, low + BETWEEN
        place = f'transform="translate({n(x - block.left)} {n(y - block.top)})"'
        for drawn, all_of in ((block.lines, page.lines), (block.words, page.words)):
            all_of += [f"<g {place}>", *drawn, "</g>"]
        page.reach((x, y), (x + wide, y + high))
        x, low = x + wide + BETWEEN, max(low, y + high)
    room = max(60, int(page.right / (LETTER * TEXT)))
    low += BETWEEN
    for line in wrap(clean(words), room):
        page.text((0.0, low), line)
        low += 1.4 * TEXT
    return page
