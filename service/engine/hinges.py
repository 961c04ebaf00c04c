"""How each measurement of a piece is counted, and which of them an edge of it hangs on."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from .projectorder import EdgeOrder, Reference
from .sizing import PieceOrder, scale_of
from .solving import Counted
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
