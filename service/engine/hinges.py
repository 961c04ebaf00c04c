"""How each measurement of a piece is counted, and which of them an edge of it hangs on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from .candidates import Candidate, Counted
from .projectorder import EdgeOrder, Reference
from .sizing import PieceOrder, scale_of
from .templates import Template, terms_of


def counted(order: PieceOrder, asked: Mapping[str, Fraction]) -> dict[str, Counted]:
    """How each measurement that was asked for is counted, by the first part of the piece it sizes.

    Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> counted(PieceOrder(square(16, 19), tab, {}), {"width": Fraction(9)})["width"].what
    'stitches'
    """
    template, scale, found = order.template, scale_of(order), {}
    used = terms_of(template)
    for plan in template.measurements:
        if plan.name not in asked:
            continue
        path, term = used[plan.name][0]
        if path[-1] == "height":
            own = template.sections[int(path[1])].row_multiple
            found[plan.name] = Counted(term, own or scale.row_multiple, scale, "rows")
        else:
            found[plan.name] = Counted(term, scale.stitch_multiple, scale, "stitches")
    return found


def hinges(
    template: Template,
    asked: Mapping[str, Fraction],
    edges: tuple[EdgeOrder, ...],
    seen: tuple[Reference, ...],
) -> frozenset[str]:
    """The measurements that the edges and readings can hang on; too many do no harm.

    Stitches hang on widths alone; rows on heights, and on widths where the shaping of a section
    says how many rows it takes. Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> hinges(tab, {"width": Fraction(9)}, (EdgeOrder("tab", "foundation"),), ())
    frozenset({'width'})
    """
    used = terms_of(template)
    tall = {m for m, uses in used.items() if any(p[-1] == "height" for p, _ in uses)}
    wide = {m for m, uses in used.items() if any(p[-1] != "height" for p, _ in uses)}
    own = {r.measurement for r in seen if r.state == "finished" and r.measurement in used}
    paced = any(
        s.shape == "taper" and s.rows is None and (s.height is None or s.height.of(asked) is None)
        for s in template.sections
    )
    others = {r.measurement for r in seen} - own | {
        r.measurement for r in seen if r.state == "edged"
    }
    found = set(own)
    if any(not e.in_rows for e in edges) or "width" in others:
        found |= wide
    if any(e.in_rows for e in edges) or "height" in others:
        found |= tall | (wide if paced else set())
    if paced and own - set(asked):
        found |= tall | wide
    return frozenset(found)


def direct(
    template: Template, asked: Mapping[str, Fraction], edges: tuple[EdgeOrder, ...]
) -> dict[EdgeOrder, tuple[str, int]]:
    """The edges whose count is that of one measurement and so many more.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> [*direct(tab, {"width": Fraction(9)}, (EdgeOrder("tab", "foundation"),)).values()]
    [('width', 0)]
    """
    found = {}
    for edge in edges:
        parts = _parts(template, asked, edge) or []
        names = [p for p in parts if isinstance(p, str)]
        if len(names) == 1:
            found[edge] = (names[0], sum(p for p in parts if isinstance(p, int)))
    return found


def _parts(
    template: Template, asked: Mapping[str, Fraction], edge: EdgeOrder
) -> list[str | int] | None:
    """Measurements and counts that add up to the edge; None where the piece must be made to tell.

    A measurement that sizes several parts is counted by the first of them only.
    """
    used = terms_of(template)
    plans = [s for s in template.sections if edge.section in (None, s.name)]
    if edge.in_rows:
        told = [(s.height, s.rows) for s in plans]
    elif edge.edge == "foundation" or all(s.shape == "even" for s in plans):
        told = [(template.foundation.width, template.foundation.stitches)]
    else:
        told = [(plans[-1].to_width, plans[-1].to_stitches)]
    parts: list[str | int] = []
    for term, number in told:
        name = term.measurement if term else None
        if name and name in asked and len(used[name]) == 1:
            parts.append(name)
        elif term is None and number is not None:
            parts.append(number)
        else:
            return None
    return parts


def foretell(
    template: Template, asked: Mapping[str, Fraction], edges: tuple[EdgeOrder, ...]
) -> Callable[[Mapping[str, Candidate]], Mapping[EdgeOrder, int]] | None:
    """What the edges count, from the counts of the measurements alone: of pieces worked even,
    since nothing can refuse those. None for other pieces, which must be made to tell.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> edge, three = EdgeOrder("tab", "foundation"), Candidate(3, Fraction(9), Fraction(0))
    >>> tell = foretell(tab, {"width": Fraction(9)}, (edge,))
    >>> tell and tell({"width": three})[edge]
    3
    """
    parts = {edge: _parts(template, asked, edge) for edge in edges}
    if not all(s.shape == "even" for s in template.sections) or None in parts.values():
        return None
    known = {edge: told for edge, told in parts.items() if told is not None}
    return lambda counts: {
        edge: sum(p if isinstance(p, int) else counts[p].count for p in told)
        for edge, told in known.items()
    }
