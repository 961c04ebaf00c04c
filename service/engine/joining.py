"""Seams as they come out, and the steps that put a project together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from .fitting import Fitted
from .projectorder import EdgeOrder, ProjectOrder, Ratio, SeamOrder
from .roundplans import RoundTemplate
from .seams import ease, edge_count
from .sizeset import label, one_text

Sizes = Mapping[str, Mapping[str, Fitted]]
"""Pieces by size, smallest first, then by name."""


@dataclass(frozen=True, slots=True)
class SewnEdge:
    piece: Annotated[str, "name of the piece"]
    edge: Annotated[str, "edge of the piece"]
    section: Annotated[str | None, "section the edge is of, where it is of one only"]
    counted_in: Annotated[str, "stitches or rows"]


@dataclass(frozen=True, slots=True)
class SeamCounts:
    first: Annotated[int, "stitches or rows of the first edge"]
    second: Annotated[int, "stitches or rows of the second edge"]
    ease: Annotated[
        float,
        "what the first has over the second, in stitches or rows of the first; 0 if they agree",
    ]


@dataclass(frozen=True, slots=True)
class Seam:
    name: Annotated[str, "name of the seam"]
    edges: Annotated[tuple[SewnEdge, ...], "the two edges"]
    join: Annotated[str, "stitch-for-stitch, row-for-row, or so many to so many"]
    ease_at_most: Annotated[int, "what the edges were allowed to differ by"]
    sizes: Annotated[Mapping[str, SeamCounts], "what the edges count in each size"]


@dataclass(frozen=True, slots=True)
class AssemblyStep:
    step: Annotated[int, "place in the order of assembly, from 1"]
    text: Annotated[str, "what to do"]
    pieces: Annotated[tuple[str, ...], "pieces it takes"]
    size: Annotated[str | None, "the size that the step is for; left out where it is for all"]


def _kind(edge: EdgeOrder) -> str:
    return "rows" if edge.in_rows else "stitches"


def _join(seam: SeamOrder) -> str:
    return f"{seam.join.of} to {seam.join.to}" if isinstance(seam.join, Ratio) else seam.join


def seams_of(order: ProjectOrder, fitted: Sizes) -> tuple[Seam, ...]:
    """Each seam with its counts. Source: common-practice.

    >>> seams_of(ProjectOrder(("one",), ()), {})
    ()
    """
    made = []
    for seam in order.seams:
        sizes = {}
        for size, pieces in fitted.items():
            one, other = (edge_count(pieces[e.piece].sized, e) for e in seam.edges)
            sizes[size] = SeamCounts(one, other, float(ease(seam, one, other)))
        edges = tuple(SewnEdge(e.piece, e.edge, e.section, _kind(e)) for e in seam.edges)
        made.append(Seam(seam.name, edges, _join(seam), seam.ease_at_most, sizes))
    return tuple(made)


def assembly(order: ProjectOrder, work: tuple[str, ...], fitted: Sizes) -> tuple[AssemblyStep, ...]:
    """The seams as their pieces are made, in the order of work; after the last seam of a piece,
    what its template tells of folding and closing it. Source: common-practice.

    >>> assembly(ProjectOrder(("one",), ()), (), {})
    ()
    """
    steps: list[AssemblyStep] = []
    templates = {p.name: p.order.template for p in order.pieces if p.order}
    there: set[str] = set()
    seams = list(order.seams)
    waiting = list(work)
    for name in work:
        there.add(name)
        for seam in [s for s in seams if {e.piece for e in s.edges} <= there]:
            seams.remove(seam)
            pieces = tuple(dict.fromkeys(e.piece for e in seam.edges))
            texts = {size: _seam(seam, made) for size, made in fitted.items()}
            merged = one_text(tuple(texts.values()))
            for size, text in texts.items() if merged is None else [(None, merged)]:
                told = text if size is None else f"{label(size)}{text}"
                steps.append(AssemblyStep(len(steps) + 1, told, pieces, size))
        joined = [n for n in waiting if n in there]
        for own in [n for n in joined if not any(n == e.piece for s in seams for e in s.edges)]:
            waiting.remove(own)
            for text in templates[own].assembly:
                told = f"{own[0].upper()}{own[1:]}: {text}"
                steps.append(AssemblyStep(len(steps) + 1, told, (own,), None))
    return tuple(steps)


def _seam(seam: SeamOrder, pieces: Mapping[str, Fitted]) -> str:
    first, second = seam.edges
    one, other = (edge_count(pieces[e.piece].sized, e) for e in seam.edges)
    left_over = ease(seam, one, other)
    how = f"{one} {_kind(first)} to {other} {_kind(second)}"
    if isinstance(seam.join, Ratio):
        by = f"{seam.join.of} {_kind(first)} to every {seam.join.to} {_kind(second)}"
    else:
        by = seam.join.replace("-", " ")
        how = how if left_over else f"{one} {_kind(first)}"
    if abs(left_over) >= 1:  # less than a stitch or row is no ease, only a ratio that has a rest
        longer, what = (first, left_over) if left_over > 0 else (second, -left_over)
        by += f", easing in the {float(what):.2g} that the {longer.piece} has over"
    ends = [
        edge_name(e, isinstance(pieces[e.piece].order.template, RoundTemplate)) for e in seam.edges
    ]
    colours = pieces[first.piece].order.colours
    sewn = f", in {colours.seams or colours.main}" if colours else ""
    return f"Join the {ends[0]} to the {ends[1]}, {by}{sewn}: {how}."


def edge_name(edge: EdgeOrder, in_the_round: bool = False) -> str:
    """An edge in words. Source: common-practice.

    >>> edge_name(EdgeOrder("case", "left", "body"))
    "left edge of the case's body"
    """
    last = "last round" if in_the_round else "last row"
    side = {"foundation": "foundation", "last-row": last}.get(edge.edge, f"{edge.edge} edge")
    return f"{side} of the {edge.piece}" + (f"'s {edge.section}" if edge.section else "")
