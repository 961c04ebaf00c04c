"""A project as a page to be printed: all sizes in one text, piece by piece, and put together."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.exact import Fraction
from ..engine.projectorder import ProjectOrder
from ..engine.projects import PieceSet, Project, ProjectCaution
from ..engine.sizing import PieceOrder
from ..engine.units import System, written
from . import wording
from .paper import Block, Heading, Paper, Points, Table, Words
from .piece_paper import rounds_or_rows
from .rows import titled


def project_paper(project: Project, order: ProjectOrder) -> Paper:
    """The sizes, the yarn of each, every piece, the assembly and the cautions."""
    orders = {piece.name: piece.order for piece in order.pieces}
    return (
        Heading(1, f"Project: {', '.join(piece.name for piece in project.pieces)}"),
        Words(_sizes_line(project)),
        Points(tuple(f"Work the {name}" for name in project.work_order), numbered=True),
        *_yarn(project, order.units),
        *(block for made in project.pieces for block in _piece(made, orders[made.name])),
        *_assembly(project),
        *_moved(project),
        *_cautions(project),
    )


def _sizes_line(project: Project) -> str:
    first, *rest = project.sizes
    if not rest:
        return f"Size: {first}."
    return f"Sizes: {first} ({', '.join(rest)}). Where one figure is given, it is for all sizes."


def _yarn(project: Project, units: System) -> Iterator[Block]:
    if not project.yarn:
        return
    yield Heading(2, "Yarn")
    for needed in project.yarn:
        colour = f", in {needed.colour}" if needed.colour else ""
        yield Words(f"For the {', the '.join(needed.pieces)}{colour}:")
        told = [f"{s}: {wording.yarn_words(yarn, units)}" for s, yarn in needed.sizes.items()]
        if len(needed.sizes) > 1:
            told.append(f"once in every size: {wording.yarn_words(needed.in_all, units)}")
        yield Points(tuple(told))


def _piece(made: PieceSet, order: PieceOrder | None) -> Iterator[Block]:
    if order is None:  # refused before it comes to be answered
        return
    units = order.units
    one = next(iter(made.sizes.values()))
    yield Heading(2, titled(made.name))
    yield Words(
        f"{order.template.title}."
        f" {wording.gauge_words(order.gauge, order.terms, units, rounds_or_rows(one))}"
    )
    rows = [
        (size, wording.name_of(name), _or(m.asked, units), written(m.finished, units))
        for size, piece in made.sizes.items()
        for name, m in piece.measurements.items()
    ]
    yield Table(("size", "measurement", "asked", "finished"), tuple(rows))
    if order.button:
        yield Points((wording.button_words(order.button, units).capitalize(),))
    yield Points(tuple(step.text for step in made.instructions), numbered=True)
    row = rounds_or_rows(one)[:-1]
    checks = [
        f"{size}, {wording.checkpoint_words(check, units, row)}"
        for size, piece in made.sizes.items()
        for check in piece.checkpoints
    ]
    if checks:
        yield Heading(3, "Checkpoints")
        yield Points(tuple(checks))
    folds = [
        f"{size}: the {fold.section}, folded in {fold.layers}, is {written(fold.depth, units)} deep"
        for size, piece in made.sizes.items()
        for fold in piece.folded
    ]
    if folds:
        yield Heading(3, "Folded")
        yield Points(tuple(folds))


def _or(asked: Fraction | None, units: System) -> str:
    return "not given" if asked is None else written(asked, units)


def _assembly(project: Project) -> Iterator[Block]:
    if project.assembly:
        yield Heading(2, "Assembly")
        yield Points(tuple(step.text for step in project.assembly), numbered=True)


def _moved(project: Project) -> Iterator[Block]:
    if not project.moved:
        return
    one = {made.name: next(iter(made.sizes.values())) for made in project.pieces}
    yield Heading(2, "Counts moved so that seams agree")
    yield Points(
        tuple(
            f"{m.piece}, {m.size}, {wording.name_of(m.measurement)}: {m.chosen}"
            f" {rounds_or_rows(one[m.piece]) if m.counted_in == 'rows' else m.counted_in}"
            f" in place of {m.nearest}"
            for m in project.moved
        )
    )


def _cautions(project: Project) -> Iterator[Block]:
    if project.cautions:
        yield Heading(2, "Cautions")
        yield Points(tuple(_caution(c, project.sizes) for c in project.cautions))


def _caution(one: ProjectCaution, sizes: tuple[str, ...]) -> str:
    """What it is about first: the pieces, and the sizes where it is not about all of them."""
    where = "" if set(one.sizes) >= set(sizes) else f" ({', '.join(one.sizes)})"
    return f"{', '.join(one.pieces)}{where}: {one.text}"
