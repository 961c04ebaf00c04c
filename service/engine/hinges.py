"""How each measurement of a piece is counted, and which of them an edge of it hangs on."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .candidates import Candidate, Counted, plain
from .errors import Path
from .exact import Fraction
from .projectorder import EdgeOrder, Reference
from .roundhinges import counted_round
from .roundplans import RoundTemplate
from .sizing import PieceOrder, scale_of
from .templates import SectionPlan, Template, terms_of
from .terms import Term
from .worked import terms_of_any


def counted(order: PieceOrder, asked: Mapping[str, Fraction]) -> dict[str, Counted]:
    """How each measurement that was asked for is counted, by the first part of the piece it sizes.

    What no one count drives is left out, and stays as it is asked: what goes in at an outline's
    edges, lengths of a profile, places and sizes of openings. Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> counted(PieceOrder(square(16, 19), tab, {}), {"width": Fraction(9)})["width"].what
    'stitches'
    """
    if isinstance(order.template, RoundTemplate):
        return counted_round(order, asked)
    template, scale, found = order.template, scale_of(order), {}
    used = terms_of(template)
    for plan in template.measurements:
        if plan.name not in asked:
            continue
        path, term = used[plan.name][0]
        if path == ("foundation", "width") or path[2:] == ("to_width",):
            width, multiple = scale.stitch_width, scale.stitch_multiple
            found[plan.name] = plain(term, width, multiple, scale, "stitches")
        elif path[0] == "sections":
            section = template.sections[int(path[1])]
            height, multiple = scale.row_height, section.row_multiple or scale.row_multiple
            tall = term if path[2:] == ("height",) else _whole_rise(section, used[plan.name])
            if tall:
                found[plan.name] = plain(tall, height, multiple, scale, "rows")
    return found


def _whole_rise(section: SectionPlan, uses: list[tuple[Path, Term]]) -> Term | None:
    """The height of an outline, where one measurement and nothing else makes it."""
    if any(path[-1] != "up" or path[1] != uses[0][0][1] for path, _ in uses):
        return None
    edge = section.edge_plans()[str(uses[0][0][2])]
    ups = [s.points[-1].up if s.points else s.up for s in edge]
    terms = [up for up in ups if up]
    name, times = uses[0][1].measurement, sum((up.times for up in terms), Fraction(0))
    alone = all(up.measurement == name and not up.plus for up in (*terms, *(t for _, t in uses)))
    return Term(name, times) if alone else None


def hinges(
    template: Template | RoundTemplate,
    asked: Mapping[str, Fraction],
    edges: tuple[EdgeOrder, ...],
    seen: tuple[Reference, ...],
) -> frozenset[str]:
    """The measurements that the edges and readings can hang on; too many do no harm.

    Where measurements add up to an edge it hangs on those. Else stitches hang on widths alone;
    rows on heights, and on widths where the shaping of a section says how many rows it takes.
    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> hinges(tab, {"width": Fraction(9)}, (EdgeOrder("tab", "foundation"),), ())
    frozenset({'width'})
    """
    used = terms_of_any(template)
    if isinstance(template, RoundTemplate):
        level = {m for m, uses in used.items() if any(p[-1] != "height" for p, _ in uses)}
        # Rounds are no edge, so heights are free; but for those that what follows reaches over.
        return frozenset(used if seen or any(s.reaches for s in template.sections) else level)
    if template.openings or any(s.shape == "outline" for s in template.sections):
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
    told = {edge: _parts(template, asked, edge) for edge in edges}
    for parts in told.values():
        found |= {part for part in parts or () if isinstance(part, str)}
    untold = [edge for edge, parts in told.items() if parts is None]
    if any(not e.in_rows for e in untold) or "width" in others:
        found |= wide
    if any(e.in_rows for e in untold) or "height" in others:
        found |= tall | (wide if paced else set())
    if paced and own - set(asked):
        found |= tall | wide
    return frozenset(found)


def added(
    template: Template | RoundTemplate, asked: Mapping[str, Fraction], edges: tuple[EdgeOrder, ...]
) -> dict[EdgeOrder, tuple[tuple[str, ...], int]]:
    """The edges whose count is that of some measurements added up, and so many more.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Term
    >>> plan = MeasurementPlan("width", "across")
    >>> tab = Template("tab", "Tab", (plan,), FoundationPlan(Term("width")), ())
    >>> [*added(tab, {"width": Fraction(9)}, (EdgeOrder("tab", "foundation"),)).values()]
    [(('width',), 0)]
    """
    found: dict[EdgeOrder, tuple[tuple[str, ...], int]] = {}
    if isinstance(template, RoundTemplate):
        return found
    for edge in edges:
        parts = _parts(template, asked, edge) or []
        if names := tuple(p for p in parts if isinstance(p, str)):
            found[edge] = (names, sum(p for p in parts if isinstance(p, int)))
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
    if isinstance(template, RoundTemplate) or template.openings:
        return None
    parts = {edge: _parts(template, asked, edge) for edge in edges}
    if not all(s.shape == "even" for s in template.sections) or None in parts.values():
        return None
    known = {edge: told for edge, told in parts.items() if told is not None}
    return lambda counts: {
        edge: sum(p if isinstance(p, int) else counts[p].count for p in told)
        for edge, told in known.items()
    }
