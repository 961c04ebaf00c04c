"""One question: what does one template come to at every gauge, in every size?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

from .cautions import Caution
from .edgings import Extent
from .errors import Findings, Path, Refusal, Refused
from .measures import Measure
from .pieces import Made, make
from .roundpieces import RoundMade, make_round
from .roundplans import RoundTemplate, chosen
from .rounds import RoundRun
from .shaping import Run
from .sizing import PieceOrder
from .units import System, YarnLength

MOST_GAUGES = MOST_OF_SIZES = 40
MOST_PAIRINGS = 400
MOST_ROWS_IN_ALL = 20_000
"""Rows of all pairings together: with MOST_PAIRINGS, the bound on a table's work."""
REFUSED_ROWS = 1_000
"""Rows that a refused pairing counts as, where a template is worked out row by row."""


@dataclass(frozen=True, slots=True)
class SizeTableOrder:
    """One template's pieces: an order for each pairing, and the names that tell them apart.

    ``pieces`` holds the sizes of the first gauge, then those of the next.
    """

    gauges: tuple[str, ...]
    sizes: tuple[str, ...]
    pieces: tuple[PieceOrder, ...]
    units: System = "metric"


@dataclass(frozen=True, slots=True)
class TableSection:
    name: Annotated[str, "name from the template"]
    rows: Annotated[int, "rows or rounds in the section"]
    stitches_at_start: Annotated[int, "stitches it is worked into; 0 in a ring"]
    stitches_at_end: Annotated[int, "stitches of its last row or round"]
    in_words: Annotated[str, "the shaping in the trade's form"]
    schedule: Annotated[
        tuple[Run | RoundRun, ...], "shaping, in working order; empty when worked even"
    ]


@dataclass(frozen=True, slots=True)
class TableRefusal:
    pointer: Annotated[Path, "JSON Pointer of the field of the request"]
    code: Annotated[str, "stable name of the refusal"]
    detail: Annotated[str, "what was wrong, and what would work"]


@dataclass(frozen=True, slots=True)
class TableRow:
    """One pairing: what the piece comes to, or why it cannot be made."""

    gauge: Annotated[str, "name of the gauge"]
    size: Annotated[str, "name of the size"]
    stitch: Annotated[str, "stitch of the fabric"]
    chain: Annotated[int | None, "chains to make; left out for a ring"]
    stitches: Annotated[int | None, "stitches of the first row; in the round, of the start"]
    rows: Annotated[int | None, "rows or rounds of the piece"]
    sections: Annotated[tuple[TableSection, ...], "the sections, in working order"]
    measurements: Annotated[
        Mapping[str, Measure] | None, "each of the template's measurements, asked and finished"
    ]
    finished: Annotated[Extent | None, "size of the piece before edging"]
    edging_stitches: Annotated[int | None, "stitches of the edging's first round, where asked for"]
    yarn_length: Annotated[YarnLength | None, "yarn, where something was told of it"]
    yarn_interval: Annotated[tuple[YarnLength, ...] | None, "least and most that it may take"]
    balls: Annotated[int | None, "balls to buy"]
    problem: Annotated[
        tuple[TableRefusal, ...] | None, "why this pairing cannot be made, and what would work"
    ]


@dataclass(frozen=True, slots=True)
class TableCaution:
    """A caution, told once, with the pairings that it is about."""

    code: Annotated[str, "stable name of the caution"]
    text: Annotated[str, "what to look out for"]
    gauges: Annotated[tuple[str, ...], "gauges it is raised at"]
    sizes: Annotated[tuple[str, ...], "sizes it is raised in"]
    field: Annotated[Path, "JSON Pointer of the field that raised it, the first where several did"]
    source: Annotated[str, "where the rule or figure stands"]


@dataclass(frozen=True, slots=True)
class SizeTable:
    """A row for every pairing of a gauge and a size, gauge by gauge."""

    template: Annotated[str, "name of the template"]
    gauges: Annotated[tuple[str, ...], "names of the gauges, as sent"]
    sizes: Annotated[tuple[str, ...], "names of the sizes, as sent"]
    made: Annotated[int, "pairings that can be made"]
    refused: Annotated[int, "pairings that cannot, each with its problem in its row"]
    rows: Annotated[tuple[TableRow, ...], "a row a pairing"]
    cautions: Annotated[tuple[TableCaution, ...], "what to look out for, each told once"]


def size_tables(order: SizeTableOrder) -> SizeTable:
    """Every pairing's piece; one that cannot be made is told of in its row.

    At most MOST_PAIRINGS times the work of one piece, and MOST_ROWS_IN_ALL rows.
    Raises Refused for names given twice, too many pairings or rows, and for whatever no pairing
    can be made for that lies neither in its gauge nor in its size. Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("base", "even", rows=5),))
    >>> one = PieceOrder(square(16, 19), tab, {})
    >>> size_tables(SizeTableOrder(("fine",), ("pocket",), (one,))).rows[0].chain
    9
    """
    _check(order)
    made: list[TableRow] = []
    refusals: list[tuple[Refusal, ...]] = []
    cautions: dict[tuple[str, str], list[tuple[Caution, str, str]]] = {}
    worked = 0
    for i, piece in enumerate(order.pieces):
        gauge, size = divmod(i, len(order.sizes))
        names = order.gauges[gauge], order.sizes[size]
        try:
            done = _make(piece)
        except Refused as refused:
            placed = tuple(replace(r, path=_path(r.path, gauge, size)) for r in refused.refusals)
            refusals.append(placed)
            made.append(_problem(names, piece, placed))
            worked += REFUSED_ROWS if _by_row(piece) else 0
        else:
            made.append(_row(names, piece, done))
            worked += done.totals.rows
            for caution in done.cautions:
                told = replace(caution, field=_path(caution.field, gauge, size))
                cautions.setdefault((told.code, told.text), []).append((told, *names))
        if worked > MOST_ROWS_IN_ALL:
            raise _too_long(names)
    if len(refusals) == len(order.pieces):
        _refuse_shared(refusals)
    return SizeTable(
        template=order.pieces[0].template.name,
        gauges=order.gauges,
        sizes=order.sizes,
        made=len(made) - len(refusals),
        refused=len(refusals),
        rows=tuple(made),
        cautions=tuple(map(_told, cautions.values())),
    )


def _check(order: SizeTableOrder) -> None:
    found = Findings()
    for what, names in (("gauges", order.gauges), ("sizes", order.sizes)):
        for i, name in enumerate(names):
            if name in names[:i]:
                found.add("name-twice", (what, i, "name"), f"{name} is already among the {what}")
    gauges, sizes = len(order.gauges), len(order.sizes)
    if gauges * sizes > MOST_PAIRINGS:
        detail = (
            f"{gauges} gauges by {sizes} sizes are {gauges * sizes} pairings; a table holds at most"
            f" {MOST_PAIRINGS}"
        )
        permitted = {"pairings": MOST_PAIRINGS, "sizes": MOST_PAIRINGS // gauges}
        found.add("too-many-pairings", ("sizes",), detail, permitted)
    found.settle()


def _make(order: PieceOrder) -> Made | RoundMade:
    if not isinstance(order.template, RoundTemplate):
        return make(order)
    if order.in_the_round:
        order = replace(order, template=chosen(order.template, order.in_the_round))
    return make_round(order)


def _by_row(order: PieceOrder) -> bool:
    if isinstance(order.template, RoundTemplate):
        return True
    return any(section.shape == "outline" for section in order.template.sections)


def _told(raised: list[tuple[Caution, str, str]]) -> TableCaution:
    first = raised[0][0]
    gauges = tuple(dict.fromkeys(gauge for _, gauge, _ in raised))
    sizes = tuple(dict.fromkeys(size for _, _, size in raised))
    return TableCaution(first.code, first.text, gauges, sizes, first.field, first.source)


def _path(path: Path, gauge: int, size: int) -> Path:
    """Where a piece's own field stands in the request for the table."""
    if path[:1] == ("gauge",):
        return ("gauges", gauge, *path)
    if path[:1] == ("measurements",):
        return ("sizes", size, *path)
    return path


def _row(names: tuple[str, str], order: PieceOrder, made: Made | RoundMade) -> TableRow:
    sized, yarn = made.sized, made.yarn
    start = made.sized.start if isinstance(made, RoundMade) else made.sized.foundation
    return TableRow(
        *names,
        stitch=order.gauge.stitch,
        chain=start.chain,
        stitches=start.stitches,
        rows=made.totals.rows,
        sections=tuple(
            TableSection(
                s.name, s.rows, s.stitches_at_start, s.stitches_at_end, s.in_words, s.schedule
            )
            for s in sized.sections
        ),
        measurements=made.measurements,
        finished=sized.extent,
        edging_stitches=made.edging.stitches if made.edging else None,
        yarn_length=yarn.length if yarn else None,
        yarn_interval=yarn.interval if yarn else None,
        balls=yarn.balls if yarn else None,
        problem=None,
    )


def _problem(names: tuple[str, str], order: PieceOrder, why: tuple[Refusal, ...]) -> TableRow:
    told = tuple(TableRefusal(r.path, r.code, r.detail) for r in why)
    return TableRow(
        *names, order.gauge.stitch, None, None, None, (), None, None, None, None, None, None, told
    )


def _refuse_shared(refusals: list[tuple[Refusal, ...]]) -> None:
    """What every pairing is refused for, and lies in no gauge or size, is the request's own."""
    everywhere = set.intersection(*({(r.code, r.path) for r in one} for one in refusals))
    shared = [
        r
        for r in refusals[0]
        if (r.code, r.path) in everywhere and r.path[:1] not in (("gauges",), ("sizes",))
    ]
    if shared:
        raise Refused(*shared)


def _too_long(names: tuple[str, str]) -> Refused:
    detail = (
        f"by {names[0]} in {names[1]} the pairings come to more than {MOST_ROWS_IN_ALL} rows in"
        " all: ask for fewer at once"
    )
    return Refused(Refusal("table-too-long", ("sizes",), detail, {"rows": MOST_ROWS_IN_ALL}))
