"""What is stated of a written piece besides its rows: its measurements, openings and seams."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from math import pi

from .auditfindings import Amount, Finding, Remedy, Walked
from .auditlines import by_size
from .auditorder import AuditPiece, Size, StatedClosure, StatedMeasurement, in_size
from .errors import Path
from .exact import Fraction
from .gauge import Gauge, relative_uncertainty
from .joining import edge_name
from .openings import ClosureOrder, loop, slit
from .projectorder import EdgeOrder, SeamOrder
from .rounding import whole
from .rowtext import plural
from .seams import agrees, ease
from .units import System, written

PI = Fraction(pi)


def tolerance(stated: Fraction, gauge: Gauge, up: bool) -> Fraction:
    """How far a stated length (millimetres) may be off the counts: what the swatch leaves open,
    and at least half a stitch, or half a row of what is measured ``up``.

    Source: common-practice.

    >>> from .gauge import square
    >>> tolerance(Fraction(100), square(16, 19), up=False)
    Fraction(25, 8)
    """
    if up:
        count, over, unit = gauge.rows, gauge.height, gauge.row_height
    else:
        count, over, unit = gauge.stitches, gauge.width, gauge.stitch_width
    return max(unit / 2, stated * Fraction(relative_uncertainty(count, over)))


def counted(measured: StatedMeasurement, walked: Walked) -> int:
    """The stitches or rows that a measurement is taken over. Source: common-practice.

    >>> counted(StatedMeasurement("width", "width", Fraction(1), "last-row"),
    ...     Walked(20, 2, 20, 9, {}, True, 0, ()))
    2
    """
    if measured.section is not None:
        section = walked.sections[measured.section]
        return section.rows if measured.measures == "height" else section.stitches
    if measured.measures == "height":
        return walked.rows
    return {"foundation": walked.foundation, "last-row": walked.last}.get(
        measured.at, walked.widest
    )


def measurements(
    piece: AuditPiece,
    gauge: Gauge | None,
    walked: Mapping[str, Walked],
    path: Path,
    units: System,
) -> Iterator[Finding]:
    """Stated measurements that disagree with the counts, or that do not grow with the sizes.

    One slip is told once: sizes that would agree if they were put in order are told as out of
    order, and a size that is off is not also told as one that does not grow.
    Source: common-practice.

    >>> from .gauge import square
    >>> [*measurements(AuditPiece("case", ()), square(16, 19), {}, (), "metric")]
    []
    """
    for i, measured in enumerate(piece.measurements):
        at: Path = (*path, "measurements", i, "stated")
        dropping = _dropping(measured.stated, tuple(walked))
        if gauge is None:
            if dropping:
                sizes = sorted(in_size(measured.stated, size) for size in walked)
                at_least = sizes[list(walked).index(dropping)]
                yield out_of_order(piece.name, measured.name, dropping, at_least, at, units)
            continue
        made = {
            size: _length(measured, counted(measured, each), gauge)
            for size, each in walked.items()
            if measured.section is None or measured.section in each.sections
            if measured.measures != "height" or each.numbered
        }
        off = [
            size
            for size, length in made.items()
            if _off(in_size(measured.stated, size), length, measured, gauge)
        ]
        if dropping and len(made) == len(walked):
            ordered = sorted(in_size(measured.stated, size) for size in made)
            swapped = all(
                not _off(stated, length, measured, gauge)
                for stated, length in zip(ordered, made.values(), strict=True)
            )
            if swapped or not off:
                right = ordered[list(made).index(dropping)]
                yield out_of_order(piece.name, measured.name, dropping, right, at, units)
                continue
        for size in off:
            yield _measurement(piece, measured, size, made[size], gauge, at, units,
                               counted(measured, walked[size]))  # fmt: skip


def _length(measured: StatedMeasurement, count: int, gauge: Gauge) -> Fraction:
    if measured.measures == "height":
        return count * gauge.row_height
    around = count * gauge.stitch_width
    return around / PI if measured.measures == "diameter" else around


def _off(stated: Fraction, made: Fraction, measured: StatedMeasurement, gauge: Gauge) -> bool:
    if measured.measures == "diameter":
        stated, made = stated * PI, made * PI
    near = tolerance(stated, gauge, measured.measures == "height")
    return abs(stated - made) > near


def _dropping(stated: Size, sizes: tuple[str, ...]) -> str | None:
    """The first size that is stated as smaller than the one before it."""
    if not isinstance(stated, Mapping):
        return None
    pairs = pairwise(sizes)
    return next((size for before, size in pairs if stated[size] < stated[before]), None)


def _measurement(
    piece: AuditPiece, measured: StatedMeasurement, size: str, made: Fraction, gauge: Gauge,
    at: Path, units: System, count: int,
) -> Finding:  # fmt: skip
    stated = in_size(measured.stated, size)
    up = measured.measures == "height"
    over = stated * PI if measured.measures == "diameter" else stated
    nearest = max(1, whole(over / (gauge.row_height if up else gauge.stitch_width)))
    unit, units_ = ("row", "rows") if up else ("stitch", "stitches")
    field = by_size(at, measured.stated, size)
    fix = f"state {written(made, units)}"
    return Finding(
        code="measurement-off",
        size=size,
        piece=piece.name,
        stated=Amount(length=stated),
        comes_to=Amount(count, units_, made),
        correction=Remedy(fix, field, length=made),
        text=f"The {measured.name} of {piece.name} in size {size} is stated as"
        f" {written(stated, units)}; {plural(count, unit, units_)} come to"
        f" {written(made, units)}: {fix}, or work {plural(nearest, unit, units_)} there.",
        field=field,
    )


def out_of_order(
    piece: str, name: str, size: str, right: Fraction, at: Path, units: System
) -> Finding:
    """A size stated as smaller than the one before it, in millimetres. Source: common-practice.

    >>> out_of_order("case", "width", "desk", Fraction(240), (), "metric").correction.text
    'put the sizes in order: 24 cm here'
    """
    fix = f"put the sizes in order: {written(right, units)} here"
    return Finding(
        code="sizes-do-not-grow",
        size=size,
        piece=piece,
        correction=Remedy(fix, at),
        text=f"The {name} of {piece} is smaller in size {size} than in the size before it: {fix}.",
        field=(*at, "by_size", size),
    )


def foundations(piece: AuditPiece, walked: Mapping[str, Walked], path: Path) -> Iterator[Finding]:
    """A foundation that has fewer stitches than that of the size before it.

    Source: common-practice.

    >>> [*foundations(AuditPiece("case", ()), {}, ())]
    []
    """
    base = piece.foundation
    if base is None:
        return
    name = "stitches" if base.stitches is not None else "chain"
    told = getattr(base, name)
    if not isinstance(told, Mapping):
        return
    wrong = {s for s, each in walked.items() for f in each.findings if f.code == "foundation-count"}
    for before, size in pairwise(walked):
        if told[size] < told[before] and not {before, size} & wrong:
            field = (*path, "foundation", name, "by_size", size)
            fix = f"put the sizes in order: at least {told[before]} here"
            yield Finding(
                code="sizes-do-not-grow",
                size=size,
                piece=piece.name,
                stated=Amount(told[size], name),
                comes_to=Amount(told[before], name),
                correction=Remedy(fix, field, told[before]),
                text=f"The foundation of {piece.name} has fewer {name} in size {size} than in"
                f" size {before}: {fix}.",
                field=field,
            )


def closures(
    piece: AuditPiece, gauge: Gauge, size: str, path: Path, units: System
) -> Iterator[Finding]:
    """Openings that are too small for their button in one size.

    Source: geometry, magazine-openings.

    >>> from .gauge import square
    >>> from .openings import Button
    >>> own = StatedClosure("loop", "loop", Button(Fraction(18)), chains=2, spans=2)
    >>> piece = AuditPiece("case", (), closures=(own,))
    >>> [f.correction.count for f in closures(piece, square(16, 19), "pocket", (), "metric")]
    [5]
    """
    for i, closure in enumerate(piece.closures):
        at: Path = (*path, "closures", i)
        name = "chains" if closure.kind == "loop" else "skipped"
        told = getattr(closure, name)
        stated = in_size(told, size)
        least = _least(closure, gauge, size)
        if stated >= least:
            continue
        field = by_size((*at, name), told, size)
        what = "chains" if name == "chains" else "stitches"
        fix = f"{least} {what} at least"
        yield Finding(
            code="closure-too-small",
            size=size,
            piece=piece.name,
            stated=Amount(stated, what),
            comes_to=Amount(least, what),
            correction=Remedy(fix, field, least),
            text=f"The {closure.name} of {piece.name} in size {size}, {stated} {what}, is too small"
            f" for a button of {written(closure.button.diameter, units)}: {fix}.",
            field=field,
        )


def _least(closure: StatedClosure, gauge: Gauge, size: str) -> int:
    """The fewest chains or stitches that let the button pass, as openings are reckoned."""
    width = gauge.stitch_width
    least = 1
    if closure.kind == "loop":
        span = 2 if closure.spans is None else in_size(closure.spans, size)
        made = loop(closure.button, width, ClosureOrder(chains=1), span)
        return least if made.button_passes else 1 + whole(-made.ease / width, rounding="at-least")
    own = ClosureOrder("slit", skipped=1, stretch=closure.stretch)
    made_slit = slit(closure.button, width, gauge.row_height, own)
    if made_slit.button_passes:
        return least
    return whole(made_slit.button_girth / (2 * width * (1 + closure.stretch)), rounding="at-least")


def seam(order: SeamOrder, size: str, walked: Mapping[str, Walked], path: Path) -> Finding | None:
    """A seam whose edges disagree by more than may be eased. Source: common-practice.

    >>> edges = (EdgeOrder("case", "foundation"), EdgeOrder("band", "last-row"))
    >>> made = {"case": Walked(20, 2, 20, 9, {}, True, 0, ()),
    ...     "band": Walked(20, 19, 20, 9, {}, True, 0, ())}
    >>> seam(SeamOrder("top", edges, "stitch-for-stitch"), "pocket", made, ()).comes_to.count
    1
    """
    one, other = (edge_count(walked[e.piece], e) for e in order.edges)
    if one is None or other is None or agrees(order, one, other):
        return None
    off = ease(order, one, other)
    kinds = ["rows" if e.in_rows else "stitches" for e in order.edges]
    right = max(0, whole(Fraction(other * order.ratio.of, order.ratio.to)))
    name = edge_name(order.edges[0])
    fix = f"let the {name} have {right} {kinds[0]}"
    return Finding(
        code="seam-disagrees",
        size=size,
        stated=Amount(order.ease_at_most, kinds[0]),
        comes_to=Amount(whole(abs(off)), kinds[0]),
        correction=Remedy(fix, (*path, "edges", 0), right),
        text=f"The {order.name} seam in size {size} joins {one} {kinds[0]} of the {name} to {other}"
        f" {kinds[1]} of the {edge_name(order.edges[1])}, which is"
        f" {float(abs(off)):.2g} {'over' if off > 0 else 'short'}: {fix}.",
        field=path,
    )


def edge_count(walked: Walked, edge: EdgeOrder) -> int | None:
    """Stitches or rows of an edge; None where its rows cannot be counted. Source: common-practice.

    >>> edge_count(Walked(20, 2, 20, 9, {}, True, 0, ()), EdgeOrder("case", "left"))
    9
    """
    if edge.edge == "foundation":
        return walked.foundation
    if edge.edge == "last-row":
        return walked.last
    if not walked.numbered:
        return None
    if edge.section is None:
        return walked.rows
    return walked.sections[edge.section].rows if edge.section in walked.sections else None
