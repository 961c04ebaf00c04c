"""How each measurement of a piece is counted, and which of them an edge of it hangs on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Literal

from .candidates import Candidate, Counted
from .errors import Path
from .projectorder import EdgeOrder, Reference
from .roundplans import RoundTemplate
from .sizing import PieceOrder, scale_of
from .templates import SectionPlan, Template
from .worked import terms_of_any


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
    used = terms_of_any(template)
    for plan in template.measurements:
        if plan.name not in asked:
            continue
        path, term = used[plan.name][0]
        what = _counted_in(template, path)
        if what == "rows":
            section = template.sections[int(path[1])]
            own = section.row_multiple if isinstance(section, SectionPlan) else None
            found[plan.name] = Counted(term, own or scale.row_multiple, scale, "rows")
        elif what == "stitches":
            found[plan.name] = Counted(term, scale.stitch_multiple, scale, "stitches")
    return found


def _counted_in(
    template: Template | RoundTemplate, path: Path
) -> Literal["rows", "stitches"] | None:
    """What whole numbers of a measurement comes to; None where it is not so simple.

    The segments of an outline or profile, a disc's diameter and a cone's height are such: what
    is asked of those stays as it is, and their counts with it.
    """
    if path in (("foundation", "width"), ("start", "circumference")):
        return "stitches"
    if path[0] != "sections" or len(path) != 3:
        return None
    section = template.sections[int(path[1])]
    if path[2] == "height":
        return None if section.shape == "cone" else "rows"
    if path[2] == "to_width" or (path[2] == "to_circumference" and section.shape == "cone"):
        return "stitches"
    return None


def hinges(
    template: Template | RoundTemplate,
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
    used = terms_of_any(template)
    if isinstance(template, RoundTemplate) or any(s.shape == "outline" for s in template.sections):
        return frozenset(used)  # there rows and stitches hang on each other
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
    template: Template | RoundTemplate, asked: Mapping[str, Fraction], edges: tuple[EdgeOrder, ...]
) -> dict[EdgeOrder, tuple[str, int]]:
    """The edges whose count is that of one measurement and so many more.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> [*direct(tab, {"width": Fraction(9)}, (EdgeOrder("tab", "foundation"),)).values()]
    [('width', 0)]
    """
    found: dict[EdgeOrder, tuple[str, int]] = {}
    if isinstance(template, RoundTemplate):
        return found
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
    used = terms_of_any(template)
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
    template: Template | RoundTemplate, asked: Mapping[str, Fraction], edges: tuple[EdgeOrder, ...]
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
    if isinstance(template, RoundTemplate):
        return None
    parts = {edge: _parts(template, asked, edge) for edge in edges}
    if not all(s.shape == "even" for s in template.sections) or None in parts.values():
        return None
    known = {edge: told for edge, told in parts.items() if told is not None}
    return lambda counts: {
        edge: sum(p if isinstance(p, int) else counts[p].count for p in told)
        for edge, told in known.items()
    }
