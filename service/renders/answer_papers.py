"""The smaller answers as pages to be printed: shaping, an edging, openings, a gauge."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_buttonhole import ButtonholeOrder, Openings
from ..engine.ask_edging import EdgingAnswer, EdgingsOrder
from ..engine.ask_gauge import GaugeOrder
from ..engine.ask_shaping import ShapingAnswer, ShapingOrder
from ..engine.cautions import Caution
from ..engine.gauge import GaugeAnswer, Reading
from ..engine.openings import Buttonhole
from ..engine.rowtext import plural
from ..engine.stitches import STITCHES
from ..engine.units import written
from .paper import Block, Heading, Paper, Points, Table, Words
from .wording import button_words, closure_words, measures_table


def shaping_paper(answer: ShapingAnswer, order: ShapingOrder) -> Paper:
    """From so many stitches to so many: the words, the height and the runs."""
    start, end = answer.stitches_at_start, answer.stitches_at_end
    blocks: list[Block] = [
        Heading(1, f"Shaping from {start} to {plural(end, 'stitch', 'stitches')}"),
        Words(f"Over {plural(answer.rows, 'row')}: {answer.in_words}."),
    ]
    if answer.height:
        blocks.append(measures_table({"height": answer.height}, order.units))
    if answer.schedule:
        rows = tuple(
            tuple(str(n) for n in (r.rows, r.every, r.times, r.left, r.right, r.stitches_after))
            for r in answer.schedule
        )
        header = ("rows", "every", "times", "left", "right", "stitches after")
        blocks.append(Table(header, rows))
    return tuple(blocks)


def edging_paper(answer: EdgingAnswer, order: EdgingsOrder) -> Paper:
    """The edging, side by side and corner by corner. Terms are the piece's, else US."""
    units, terms = order.units, order.piece.terms if order.piece else "us"
    name = STITCHES[answer.stitch].name(terms).full
    counts = ", ".join(map(str, answer.rounds))
    chains = plural(answer.corner_chains, "chain")
    with_chains = f"; the first has {chains} besides" if answer.corner_chains else ""
    blocks: list[Block] = [
        Heading(1, f"Edging of {name}"),
        Words(f"Stitches of each round, corners included: {counts}{with_chains}."),
        Table(
            ("side", "length", "places", "stitches"),
            tuple(
                (s.name, written(s.length, units), str(s.places), str(s.stitches))
                for s in answer.sides
            ),
        ),
    ]
    if answer.corners:
        rows = tuple((c.at, str(c.stitches), str(c.chains)) for c in answer.corners)
        blocks.append(Table(("corner", "stitches", "chains"), rows))
    if answer.usual_note:
        blocks.append(Words(f"Of the usual count: {answer.usual_note}."))
    return (*blocks, *cautions(answer.cautions))


def buttonholes_paper(answer: Openings, order: ButtonholeOrder) -> Paper:
    """The opening for a button, and where several go."""
    units = order.units
    blocks: list[Block] = [
        Heading(1, f"Opening for {button_words(order.button, units)}"),
        Points(tuple(closure_words(Buttonhole(answer.loop, answer.slit)))),
    ]
    if answer.by_stitches:
        holes = tuple(
            (str(i), str(h.first_stitch), str(h.last_stitch))
            for i, h in enumerate(answer.by_stitches.holes, 1)
        )
        blocks.append(Table(("opening", "first stitch", "last stitch"), holes))
    if answer.by_length:
        centres = tuple(
            (str(i), written(c, units, 2)) for i, c in enumerate(answer.by_length.centres, 1)
        )
        blocks.append(Table(("button", "its middle, from the start"), centres))
    return (*blocks, *cautions(answer.cautions))


def gauge_paper(answer: GaugeAnswer, order: GaugeOrder) -> Paper:
    """The swatch, before and after blocking, and its place in the published range."""
    name = STITCHES[order.gauge.stitch].us.full
    rows = [_reading("before blocking", answer.before_blocking, order)]
    if answer.after_blocking:
        rows.append(_reading("after blocking", answer.after_blocking, order))
    per = "10 cm" if order.units == "metric" else "4 in"
    blocks: list[Block] = [
        Heading(1, f"Gauge in {name} (US terms)"),
        Table(("swatch", f"stitches to {per}", f"rows to {per}"), tuple(rows)),
    ]
    if (where := answer.published) and where.position != "not-comparable":
        blocks.append(
            Words(
                f"Yarn weight category {where.weight_category}, {where.name}, is published at"
                f" {where.low} to {where.high} stitches to 4 in: this swatch is {where.position}"
                f"{' the range' if where.position == 'within' else ' than the range'}."
                " The ranges are guidelines only."
            )
        )
    return (*blocks, *cautions(answer.cautions))


def _reading(when: str, read: Reading, order: GaugeOrder) -> tuple[str, str, str]:
    metric = order.units == "metric"
    across = read.stitches_per_10_cm if metric else read.stitches_per_4_in
    up = read.rows_per_10_cm if metric else read.rows_per_4_in
    unsure = read.uncertainty
    return (
        when,
        f"{across:.3g}, {unsure.stitches_percent:.1f} % either way",
        f"{up:.3g}, {unsure.rows_percent:.1f} % either way",
    )


def cautions(raised: tuple[Caution, ...]) -> Iterator[Block]:
    """What to look out for, under a heading of its own."""
    if raised:
        yield Heading(2, "Cautions")
        yield Points(tuple(caution.text for caution in raised))
