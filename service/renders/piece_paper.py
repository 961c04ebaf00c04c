"""One piece as a page to be printed."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.patterns import Piece
from ..engine.rowtext import plural
from ..engine.sizewords import size_words
from ..engine.sizing import PieceOrder
from ..engine.stitches import STITCHES
from ..engine.units import written
from . import wording
from .paper import Block, Heading, Paper, Points, Table, Words
from .rows import colours_of, titled


def piece_paper(piece: Piece, order: PieceOrder) -> Paper:
    """Title, gauge, sizes, materials, steps, shaping, checkpoints and cautions, in that order."""
    return (
        Heading(1, order.template.title),
        Words(wording.gauge_words(order.gauge, order.terms, order.units, rounds_or_rows(piece))),
        *sizes(piece, order, 2),
        Heading(2, "Materials"),
        Points(tuple(materials(piece, order))),
        Heading(2, "Instructions"),
        Points(tuple(step.text for step in piece.instructions), numbered=True),
        *_sections(piece, order),
        *_checkpoints(piece, order),
        *_cautions(piece),
    )


def rounds_or_rows(piece: Piece) -> str:
    return "rounds" if piece.worked == "round" else "rows"


def sizes(piece: Piece, order: PieceOrder, level: int) -> Iterator[Block]:
    """Finished beside asked, and the whole size before and after edging."""
    yield Heading(level, "Measurements")
    if piece.measurements:
        yield wording.measures_table(piece.measurements, order.units)
    yield Words(extent_words(piece, order))


def extent_words(piece: Piece, order: PieceOrder) -> str:
    units = order.units
    told = size_words(order.template, piece.finished, units)
    edged = piece.edging.finished if piece.edging else None
    if edged is None:
        return f"Finished size: {told}."
    high = f" by {written(edged.height, units)} high" if edged.height else ""
    return f"Before edging: {told}. Edged, about {written(edged.width, units)}{high}."


def materials(piece: Piece, order: PieceOrder) -> Iterator[str]:
    """Yarn, button and hook, as far as they are told."""
    category = order.yarn.weight_category if order.yarn else None
    weight = "" if category is None else f" of weight category {category}"
    if piece.yarn:
        yield f"Yarn{weight}: {wording.yarn_words(piece.yarn, order.units)}"
    else:
        names = f" in {', '.join(colour_names(piece, order))}" if order.colours else ""
        yield f"Yarn{names}: as the swatch was made with; no estimate was asked for"
    yield "Hook: the one that the swatch was made with"
    if order.button:
        yield wording.button_words(order.button, order.units).capitalize()
    if piece.buttonhole:
        for told in wording.closure_words(piece.buttonhole):
            yield told[0].upper() + told[1:]


def colour_names(piece: Piece, order: PieceOrder) -> list[str]:
    """The colours that the piece is worked in, in the order that they are taken up."""
    made = list(dict.fromkeys(colours_of(piece).values()))
    if (colours := order.colours) is None:
        return made
    if piece.edging:
        made.append(colours.edging or colours.main)
    if piece.buttonhole and piece.buttonhole.loop and colours.loop:
        made.append(colours.loop)
    if any(fold.sides_joined for fold in order.template.folds):
        made.append(colours.seams or colours.main)
    return list(dict.fromkeys(made)) or [colours.main]


def _sections(piece: Piece, order: PieceOrder) -> Iterator[Block]:
    if not piece.sections:
        return
    rows = rounds_or_rows(piece)
    yield Heading(2, "Shaping")
    table = tuple(
        (
            titled(s.name),
            f"{s.first_row}–{s.first_row + s.rows - 1}" if s.rows > 1 else str(s.first_row),
            f"{s.stitches_at_start} to {s.stitches_at_end}",
            s.in_words,
        )
        for s in piece.sections
    )
    yield Table(("section", rows, "stitches", "shaping"), table)
    total = plural(piece.totals.rows, rows[:-1])
    stitches = plural(piece.totals.stitches, "stitch", "stitches")
    if piece.continued:
        yield Words(f"{total}, {stitches} still to work, of {piece.continued.rows_in_all} {rows}.")
    else:
        yield Words(f"{total}, {stitches} in all.")
    if piece.edging:
        edging = piece.edging
        name = STITCHES[edging.stitch].name(order.terms).full
        counts = ", ".join(map(str, edging.rounds))
        yield Words(
            f"Edging: {plural(len(edging.rounds), 'round')} of {name},"
            f" {counts} stitches{' in turn' if len(edging.rounds) > 1 else ''}."
        )


def _checkpoints(piece: Piece, order: PieceOrder) -> Iterator[Block]:
    if not piece.checkpoints:
        return
    row = rounds_or_rows(piece)[:-1]
    yield Heading(2, "Checkpoints")
    yield Words("Lay a tape on the work; either way as far off as told is near enough.")
    yield Points(tuple(wording.checkpoint_words(c, order.units, row) for c in piece.checkpoints))


def _cautions(piece: Piece) -> Iterator[Block]:
    if not piece.cautions:
        return
    yield Heading(2, "Cautions")
    yield Points(tuple(caution.text for caution in piece.cautions))
