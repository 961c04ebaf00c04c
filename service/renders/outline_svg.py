"""The outline of a finished piece, to scale, with its measurements and counts, as SVG."""

from __future__ import annotations

from ..engine.patterns import Piece
from ..engine.rowtext import plural
from ..engine.sizing import PieceOrder
from .flat_drawing import draw_flat
from .flat_outline import gaps
from .piece_paper import extent_words, rounds_or_rows
from .round_outline import draw_round
from .rows import check_whole, colours_in_words


def outline_svg(piece: Piece, order: PieceOrder) -> str:
    """The finished piece to scale: widths, heights, rows and counts where each section ends.

    Left and right are as the right side faces. A piece in the round is drawn from above where it
    lies flat, else from the side. Raises Refused for a piece that goes on from a row.
    """
    check_whole(piece)
    plan = draw_flat(piece, order) if piece.worked == "flat" else draw_round(piece, order)
    colours = colours_in_words(piece)
    for words in filter(None, (extent_words(piece, order), colours)):
        plan.foot(words)
    title = f"{order.template.title}: the finished piece, to scale"
    return plan.sheet.document(title, outline_words(piece, order))


def outline_words(piece: Piece, order: PieceOrder) -> str:
    """What the drawing shows, for those without pictures."""
    rows, told = rounds_or_rows(piece)[:-1], []
    if piece.foundation:
        told.append(f"foundation of {plural(piece.foundation.stitches, 'stitch', 'stitches')}")
    for s in piece.sections:
        counts = plural(s.stitches_at_end, "stitch", "stitches")
        told.append(f"{s.name}, {plural(s.rows, rows)}, ending with {counts}")
    for gap in gaps(piece, order) if piece.worked == "flat" else ():
        told.append(f"{gap.name} in row {gap.row}")
    if piece.buttonhole and piece.buttonhole.loop:
        told.append(f"button loop of {plural(piece.buttonhole.loop.chain, 'chain')}")
    if piece.edging:
        told.append(f"edging of {plural(len(piece.edging.rounds), 'round')}")
    words = f"From the start: {'; '.join(told)}. {extent_words(piece, order)}"
    return f"{words} {colours_in_words(piece)}".rstrip()
