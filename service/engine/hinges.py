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


def foretell(
    template: Template, asked: Mapping[str, Fraction], edges: tuple[EdgeOrder, ...]
) -> Callable[[Mapping[str, Candidate]], Mapping[EdgeOrder, int]] | None:
    """What the edges count, from the counts of the measurements alone: of pieces worked even,
    each of whose measurements sizes one part. None for other pieces, which must be made to tell.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> edge, three = EdgeOrder("tab", "foundation"), Candidate(3, Fraction(9), Fraction(0))
    >>> tell = foretell(tab, {"width": Fraction(9)}, (edge,))
    >>> tell and tell({"width": three})[edge]
    3
    """
    used = terms_of(template)
    even = all(s.shape == "even" for s in template.sections)
    if not even or any(len(uses) > 1 for uses in used.values()):
        return None
    parts: dict[EdgeOrder, list[str | int]] = {}
    for edge in edges:
        parts[edge] = []
        plans = [s for s in template.sections if edge.section in (None, s.name)]
        told = (
            [(s.height, s.rows) for s in plans]
            if edge.in_rows
            else [(template.foundation.width, template.foundation.stitches)]
        )
        for term, number in told:
            if term and term.measurement and term.measurement in asked:
                parts[edge].append(term.measurement)
            elif term is None and number is not None:
                parts[edge].append(number)
            else:
                return None
    return lambda counts: {
        edge: sum(p if isinstance(p, int) else counts[p].count for p in parts[edge])
        for edge in edges
    }
