"""Yarn of a project: each yarn and colour in each size, sewing included, and bought in all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from .errors import Findings
from .exact import Fraction
from .fitting import Fitted
from .gauge import Gauge
from .patterns import Piece
from .projectorder import EdgeOrder, ProjectOrder, SeamOrder
from .seams import edge_count
from .sizing import PieceOrder
from .yarn import Estimate, Yarn
from .yarn import estimate as estimated
from .yarnorder import YarnOrder, colours_of
from .yarntotals import in_all, without_swatch
from .yarnwork import Work, seam


@dataclass(frozen=True, slots=True)
class YarnNeeded:
    """What is bought of one yarn in one colour. Pieces of one yarn share its balls."""

    colour: Annotated[str | None, "its colour, where colours were told"]
    pieces: Annotated[tuple[str, ...], "pieces worked or sewn with this yarn"]
    sizes: Annotated[Mapping[str, Estimate], "for these pieces in each size"]
    in_all: Annotated[Estimate, "for these pieces once in every size"]
    balls_saved: Annotated[
        int | None, "balls fewer for all sizes bought together than for each bought by itself"
    ]


def check_yarns(order: ProjectOrder) -> None:
    """Raises Refused for a yarn told of a colour that no piece is worked in.

    Source: common-practice.

    >>> check_yarns(ProjectOrder(("one",), ()))
    """
    found = Findings()
    coloured = [p.order.colours for p in order.pieces if p.order and p.order.colours]
    used = {name for colours in coloured for name in colours_of(colours)}
    for name in order.yarns:
        if name not in used:
            detail = f"no piece is in {name}; there are {', '.join(sorted(used)) or 'no colours'}"
            found.add("unknown-colour", ("yarns", name), detail, sorted(used))
    found.settle()


Key = tuple[str, YarnOrder]
"""A colour (none: an empty one) and what is told of its yarn: the same yarn where both agree."""


def yarn_needed(
    order: ProjectOrder,
    made: Mapping[str, Mapping[str, Piece]],
    fitted: Mapping[str, Mapping[str, Fitted]],
) -> tuple[YarnNeeded, ...]:
    """Each yarn of the project; ``made`` and ``fitted`` are its pieces by size, then by name.

    A seam is sewn with the yarn of its first piece, in that piece's colour of seams. A swatch is
    counted once for each yarn and gauge, and not with every piece, seam, colour and size.
    Source: common-practice.

    >>> yarn_needed(ProjectOrder(("one",), ()), {}, {})
    ()
    """
    orders = {p.name: p.order for p in order.pieces if p.order}
    needed: dict[Key, dict[str, list[tuple[str, Estimate]]]] = {}
    swatched: set[tuple[str, YarnOrder, Gauge]] = set()

    def note(yarn: Yarn | None, asked: PieceOrder, size: str, name: str) -> None:
        for colour, told in _by_colour(yarn):
            one = told
            own = asked.yarns.get(colour, asked.yarn)
            assert own is not None  # it was estimated by it
            if any(part.part == "swatch" for part in one.parts):
                key = (size, own, asked.gauge)
                one = without_swatch(one) if key in swatched else one
                swatched.add(key)
            needed.setdefault((colour, own), {}).setdefault(size, []).append((name, one))

    for size, pieces in made.items():
        for name, piece in pieces.items():
            note(piece.yarn, orders[name], size, name)
        for joined in order.seams:
            name = joined.edges[0].piece
            sewn = _sewn(joined, orders[name], fitted[size])
            note(sewn, orders[name], size, name)
    return tuple(_needed(colour, by_size) for (colour, _), by_size in needed.items())


def _by_colour(yarn: Yarn | None) -> list[tuple[str, Estimate]]:
    if yarn is None:
        return []
    return [(one.colour, one) for one in yarn.colours] if yarn.colours else [("", yarn)]


def _needed(colour: str, by_size: Mapping[str, list[tuple[str, Estimate]]]) -> YarnNeeded:
    sizes = {size: in_all(tuple(one for _, one in told)) for size, told in by_size.items()}
    first, *others = sizes.values()
    every = in_all((first, *map(without_swatch, others)))
    alone = [one.balls for one in sizes.values()]
    saved = None
    if every.balls is not None and None not in alone:
        saved = sum(n for n in alone if n) - every.balls
    names = tuple(dict.fromkeys(name for told in by_size.values() for name, _ in told))
    return YarnNeeded(colour or None, names, sizes, every, saved)


def _sewn(joined: SeamOrder, order: PieceOrder, pieces: Mapping[str, Fitted]) -> Yarn | None:
    """A seam's yarn: by the length of its longer edge, or a stitch for each of that edge."""
    if not order.yarn and not order.yarns:
        return None
    counts = [edge_count(pieces[e.piece].sized, e) for e in joined.edges]
    lengths = [
        n * _unit(pieces[e.piece].order, e) for n, e in zip(counts, joined.edges, strict=True)
    ]
    colours = order.colours
    colour = (colours.seams or colours.main) if colours else ""
    part = seam("seams", max(lengths), max(counts), joined.sewn, colour)
    turn = pieces[joined.edges[0].piece].sized.turn
    return estimated(Work((part,), turn), order.gauge, order.yarn, order.yarns)


def _unit(order: PieceOrder, edge: EdgeOrder) -> Fraction:
    return order.gauge.row_height if edge.in_rows else order.gauge.stitch_width
