"""Seams: what the edges of a piece count, and whether two of them agree."""

from __future__ import annotations

from math import ceil, floor

from .errors import Findings, Path
from .exact import Fraction
from .projectorder import EdgeOrder, ProjectOrder, SeamOrder
from .roundplans import RoundTemplate
from .sizing import PieceOrder, Sized


def edge_count(sized: Sized, edge: EdgeOrder) -> int:
    """Stitches or rows of an edge, before edging.

    Source: common-practice.

    >>> from .gauge import square
    >>> from .sizing import size
    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("base", "even", rows=5), SectionPlan("point", "taper", to_point=True)))
    >>> sized = size(PieceOrder(square(16, 19), tab, {}))
    >>> [edge_count(sized, EdgeOrder("tab", e)) for e in ("foundation", "last-row", "left")]
    [8, 2, 8]
    """
    if edge.edge == "foundation":
        return sized.foundation.stitches
    if edge.edge == "last-row":
        last = sized.sections[-1:]
        return last[0].stitches_at_end if last else sized.foundation.stitches
    return sum(s.rows for s in sized.sections if edge.section in (None, s.name))


def ease(seam: SeamOrder, first: int, second: int) -> Fraction:
    """What the first edge has over the second, in stitches or rows of the first.

    Source: common-practice.

    >>> from .projectorder import Ratio
    >>> edges = (EdgeOrder("side", "left"), EdgeOrder("front", "foundation"))
    >>> ease(SeamOrder("side", edges, Ratio(3, 2)), 31, 20)
    Fraction(1, 1)
    """
    return first - Fraction(second * seam.ratio.of, seam.ratio.to)


def agrees(seam: SeamOrder, first: int, second: int) -> bool:
    """Whether the edges can be joined so. Source: common-practice.

    >>> edges = (EdgeOrder("front", "left"), EdgeOrder("back", "left"))
    >>> agrees(SeamOrder("side", edges, "row-for-row", ease_at_most=1), 57, 58)
    True
    """
    return abs(ease(seam, first, second)) <= seam.ease_at_most


def counts_that_agree(seam: SeamOrder, edge: EdgeOrder, counted: int) -> set[int]:
    """What the other edge may count, where this one of the seam is ``counted``.

    Source: common-practice.

    >>> edges = (EdgeOrder("front", "left"), EdgeOrder("back", "left"))
    >>> sorted(counts_that_agree(SeamOrder("side", edges, "row-for-row", 1), edges[1], 57))
    [56, 57, 58]
    """
    of, to, slack = seam.ratio.of, seam.ratio.to, seam.ease_at_most
    if edge == seam.edges[0]:
        least, most = Fraction(to * (counted - slack), of), Fraction(to * (counted + slack), of)
    else:
        middle = Fraction(of * counted, to)
        least, most = middle - slack, middle + slack
    return set(range(max(0, ceil(least)), floor(most) + 1))


def check_seams(order: ProjectOrder) -> None:
    """Whether each seam joins edges that there are, in a way that fits them.

    Raises Refused for an unknown piece or section, an edge that a piece in the round has not, an
    edge joined to itself, and edges that are not counted alike. Source: common-practice.

    >>> check_seams(ProjectOrder(("one",), ()))
    """
    found = Findings()
    pieces = {p.name: p.order for p in order.pieces}
    for i, seam in enumerate(order.seams):
        for j, edge in enumerate(seam.edges):
            path: Path = ("seams", i, "edges", j)
            if edge.piece not in pieces:
                found.add(
                    "unknown-piece",
                    (*path, "piece"),
                    f"no piece is called {edge.piece}; there are {', '.join(pieces)}",
                    [*pieces],
                )
            else:
                _check_section(edge, pieces[edge.piece], path, found)
                _check_open(edge, pieces[edge.piece], path, found)
        first, second = seam.edges
        if first == second:
            found.add(
                "seam-of-one-edge", ("seams", i, "edges"), "an edge cannot be joined to itself"
            )
        fits = {"stitch-for-stitch": (False, False), "row-for-row": (True, True)}
        counted = (first.in_rows, second.in_rows)
        if isinstance(seam.join, str) and fits[seam.join] != counted:
            will = [join for join, kinds in fits.items() if kinds == counted]
            found.add(
                "edges-counted-otherwise",
                ("seams", i, "join"),
                f"{first.edge} and {second.edge} cannot be joined {seam.join}: foundation and"
                " last-row are counted in stitches, left and right in rows;"
                f" {will[0] if will else 'a ratio'} would do",
                [*will, "a ratio"],
            )
    found.settle()


def _check_section(edge: EdgeOrder, order: PieceOrder | None, path: Path, found: Findings) -> None:
    if edge.section is None or order is None:
        return
    names = [s.name for s in order.template.sections]
    if not edge.in_rows:
        found.add(
            "section-of-a-level-edge",
            (*path, "section"),
            f"{edge.edge} is one row: leave the section out, or join left or right",
        )
    elif edge.section not in names:
        found.add(
            "unknown-section",
            (*path, "section"),
            f"the {order.template.name} template has no section {edge.section}",
            names,
        )


def _check_open(edge: EdgeOrder, order: PieceOrder | None, path: Path, found: Findings) -> None:
    """A piece in the round has its last round to be joined, unless it closes, and a chain start."""
    if order is None or not isinstance(order.template, RoundTemplate):
        return
    template = order.template
    there = ["foundation"] if template.start.kind == "chain" else []
    if not (template.sections and template.sections[-1].closes):
        there.append("last-row")
    if edge.edge not in there:
        found.add(
            "no-such-edge",
            (*path, "edge"),
            f"{edge.piece} is worked in the round and has no {edge.edge} edge;"
            f" {' or '.join(there) or 'none of its edges'} can be joined",
            there,
        )
