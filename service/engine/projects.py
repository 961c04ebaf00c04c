"""The whole answer for a project: every piece in every size, made to fit each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Annotated, Literal

from .candidates import Budget
from .cautions import Caution
from .dependence import check_pieces, order_of_work, worked_together
from .errors import Findings, Path, Refused
from .exact import Fraction
from .fitting import Fitted, fit
from .folding import Folded, folded
from .joining import AssemblyStep, Seam, assembly, seams_of
from .measures import Measure
from .patterns import Piece, piece
from .projectorder import ProjectOrder
from .projectyarn import YarnNeeded, check_yarns, yarn_needed
from .seams import check_seams
from .sizeset import SetInstruction, size_set, smallest_first
from .yarncautions import yarn_cautions


@dataclass(frozen=True, slots=True)
class PieceOfSize(Piece):
    """One piece in one size: all that a piece asked for alone is answered with."""

    folded: Annotated[
        tuple[Folded, ...], "sections that are folded, where the template says so"
    ] = ()


@dataclass(frozen=True, slots=True)
class PieceSet:
    """One piece in all sizes."""

    name: Annotated[str, "name of the piece"]
    template: Annotated[str, "name of its template"]
    instructions: Annotated[
        tuple[SetInstruction, ...],
        "one text for all sizes, the smallest first and the rest in brackets; a step whose wording"
        " differs is given for each size",
    ]
    sizes: Annotated[Mapping[str, PieceOfSize], "the piece in each size, smallest first"]


@dataclass(frozen=True, slots=True)
class Moved:
    piece: Annotated[str, "name of the piece"]
    size: Annotated[str, "name of the size"]
    measurement: Annotated[str, "name of the measurement"]
    counted_in: Annotated[str, "stitches or rows"]
    nearest: Annotated[int, "count nearest to what was asked"]
    chosen: Annotated[int, "count that was taken"]


@dataclass(frozen=True, slots=True)
class ProjectCaution:
    code: Annotated[str, "stable name of the caution"]
    text: Annotated[str, "what to look out for"]
    pieces: Annotated[tuple[str, ...], "pieces it is about"]
    sizes: Annotated[tuple[str, ...], "sizes it is about"]
    fields: Annotated[tuple[Path, ...], "JSON Pointers of the fields that raised it"]
    source: Annotated[str, "where the rule or figure stands"]


@dataclass(frozen=True, slots=True)
class Project:
    sizes: Annotated[tuple[str, ...], "the sizes in the order of the instructions, smallest first"]
    sizes_ordered: Annotated[
        Literal["as-given", "by-finished-width-of-the-first-piece"],
        "as given where the finished widths of the first piece never fall, else by those",
    ]
    work_order: Annotated[
        tuple[str, ...], "the pieces, each after those that it takes a measurement from"
    ]
    pieces: Annotated[tuple[PieceSet, ...], "the pieces, as they were asked for"]
    seams: Annotated[tuple[Seam, ...], "what each seam joins, in every size"]
    moved: Annotated[
        tuple[Moved, ...], "counts that are not the nearest, so that seams agree; usually none"
    ]
    assembly: Annotated[tuple[AssemblyStep, ...], "how the pieces are put together, in order"]
    yarn: Annotated[tuple[YarnNeeded, ...], "yarn to buy, one entry a yarn"]
    cautions: Annotated[tuple[ProjectCaution, ...], "what to look out for, each told once"]


Made = Mapping[str, Mapping[str, PieceOfSize]]
"""Pieces by size, then by name."""


def project(order: ProjectOrder) -> Project:
    """Every piece in every size, with counts that let the seams agree.

    Raises Refused with everything that stands in the way. Source: common-practice.

    >>> from .gauge import square
    >>> from .projectorder import ProjectPiece
    >>> from .sizing import PieceOrder
    >>> from .templates import FoundationPlan, MeasurementPlan, SectionPlan, Template, Term
    >>> strip = Template("strip", "Strip", (MeasurementPlan("width", "across"),),
    ...     FoundationPlan(Term("width")), (SectionPlan("strip", "even", rows=3),))
    >>> alone = PieceOrder(square(16, 19), strip, {})
    >>> wanted = {"short": Fraction(119), "long": Fraction(200)}
    >>> strips = ProjectPiece("strip", alone, {"width": wanted})
    >>> made = project(ProjectOrder(("short", "long"), (strips,)))
    >>> made.pieces[0].instructions[1].text
    'Ch 20 (33).'
    """
    found = Findings()
    for check in (check_pieces, check_seams, check_yarns):
        with found.collecting():
            check(order)
    if not any(r.code.startswith(("unknown-piece", "piece-twice")) for r in found.refusals):
        with found.collecting():
            order_of_work(order)
    found.settle()
    work = order_of_work(order)
    groups, budget = worked_together(order, work), Budget()
    fitted: dict[str, dict[str, Fitted]] = {}
    for size in order.sizes:
        with found.collecting():
            fitted[size] = fit(order, groups, size, budget)
    _settle(found)
    first = order.pieces[0].name
    sizes = smallest_first({size: fitted[size][first].sized.extent.width for size in order.sizes})
    made: dict[str, dict[str, PieceOfSize]] = {size: {} for size in sizes}
    for size in sizes:
        for i, asked in enumerate(order.pieces):
            with found.collecting():
                made[size][asked.name] = _made(order, i, size, fitted[size][asked.name])
    _settle(found)
    yarn = yarn_needed(order, made, {size: fitted[size] for size in sizes})
    names = tuple(order.pieces[i].name for i in work)
    return Project(
        sizes=sizes,
        sizes_ordered="as-given"
        if sizes == order.sizes
        else "by-finished-width-of-the-first-piece",
        work_order=names,
        pieces=tuple(_set(p.name, made) for p in order.pieces),
        seams=seams_of(order, {size: fitted[size] for size in sizes}),
        moved=tuple(
            Moved(p.name, size, s.measurement, s.what, s.nearest, s.count)
            for p in order.pieces
            for size in sizes
            for s in fitted[size][p.name].shifts
        ),
        assembly=assembly(order, names, {size: fitted[size] for size in sizes}),
        yarn=yarn,
        cautions=tuple(_cautions(order, made, yarn)),
    )


def _settle(found: Findings) -> None:
    """Raise what was found; what every size was refused for is told once."""
    found.refusals = list({(r.code, r.path, r.detail): r for r in found.refusals}.values())
    found.settle()


def _made(order: ProjectOrder, index: int, size: str, fitted: Fitted) -> PieceOfSize:
    """The piece, told of what was asked for and of the project's own fields."""
    try:
        made = piece(fitted.order)
    except Refused as refused:
        placed = (replace(r, path=order.placed(index, r.path, size)) for r in refused.refusals)
        raise Refused(*placed) from None
    told = {f.name: getattr(made, f.name) for f in fields(made)}
    told["measurements"] = {
        name: _against(fitted.asked.get(name), m) for name, m in made.measurements.items()
    }
    told["cautions"] = tuple(
        replace(c, field=order.placed(index, c.field, size)) for c in made.cautions
    )
    return PieceOfSize(**told, folded=folded(fitted.order.template, fitted.sized))


def _against(asked: Fraction | None, measure: Measure) -> Measure:
    """What it came to beside what was asked, which may not be what the counts were driven by."""
    difference = None if asked is None else measure.finished - asked
    return Measure(asked, measure.finished, difference)


def _set(name: str, made: Made) -> PieceSet:
    sizes = {size: pieces[name] for size, pieces in made.items()}
    steps = {size: p.instructions for size, p in sizes.items()}
    return PieceSet(name, next(iter(sizes.values())).template, size_set(steps), sizes)


def _cautions(
    order: ProjectOrder, made: Made, yarn: tuple[YarnNeeded, ...]
) -> Iterator[ProjectCaution]:
    """Each caution once, with the pieces and sizes it is about; yarn is judged in all."""
    raised: dict[tuple[str, str, str], list[tuple[str, str, Path]]] = {}

    def note(caution: Caution, piece: str, size: str) -> None:
        told = raised.setdefault((caution.code, caution.text, caution.source), [])
        told.append((piece, size, caution.field))

    for size, pieces in made.items():
        for name, one in pieces.items():
            for caution in one.cautions:
                if caution.code not in ("yarn-may-run-out", "one-dye-lot", "swatch-the-substitute"):
                    note(caution, name, size)
    index = {p.name: i for i, p in enumerate(order.pieces)}
    for needed in yarn:
        for name in needed.pieces:
            asked = order.pieces[index[name]].order
            own = asked is not None and needed.colour in asked.yarns
            for caution in yarn_cautions(needed.in_all, needed.colour or "", own):
                for size in made:
                    path = order.placed(index[name], caution.field, size)
                    note(replace(caution, field=path), name, size)
    for (code, text, source), told in raised.items():
        names, sizes, paths = (tuple(dict.fromkeys(t)) for t in zip(*told, strict=True))
        yield ProjectCaution(code, text, names, sizes, paths, source)
