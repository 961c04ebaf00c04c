"""Flat or in the round: one way to ask for what both have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import cast

from .edgings import Extent, growth
from .errors import Path
from .exact import Fraction
from .foundation import Foundation
from .roundpieces import make_round
from .roundplans import RoundTemplate, check_round_template, chosen, round_terms
from .sections import Section
from .sizing import PieceOrder, Sized, size
from .templates import Template, check_template, terms_of
from .terms import Term


def check_any(template: Template | RoundTemplate) -> None:
    """Whether the document makes sense; raises Refused. Source: common-practice.

    >>> from .templates import FoundationPlan, SectionPlan
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("base", "even", rows=5),))
    >>> check_any(tab)
    """
    if isinstance(template, RoundTemplate):
        check_round_template(template)
    else:
        check_template(template)


def terms_of_any(template: Template | RoundTemplate) -> Mapping[str, list[tuple[Path, Term]]]:
    """Every use of each measurement, with its path in the document. Source: common-practice.

    >>> from .roundplans import StartPlan
    >>> [*terms_of_any(RoundTemplate("t", "T", (), StartPlan("chain", Term("girth")), ()))]
    ['girth']
    """
    if isinstance(template, RoundTemplate):
        return round_terms(template)
    return terms_of(template)


def any_size(template: Template | RoundTemplate) -> Template | RoundTemplate:
    """The template without its ranges: they are for what is asked, and not for what is driven.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan
    >>> plan = MeasurementPlan("width", "across", minimum=Fraction(9))
    >>> any_size(Template("tab", "Tab", (plan,), FoundationPlan(), ())).measurements[0].minimum
    """
    plans = tuple(replace(m, minimum=None, maximum=None) for m in template.measurements)
    return replace(template, measurements=plans)


def size_any(order: PieceOrder) -> Sized:
    """The counts of a piece. A round counts as a row, and the start as its foundation.

    Raises Refused with everything that stands in the way. Source: common-practice.

    >>> from .gauge import square
    >>> from .roundplans import RoundPlan, StartPlan
    >>> tube = RoundTemplate("tube", "Tube", (), StartPlan("chain", stitches=40),
    ...     (RoundPlan("tube", "even", rounds=9),))
    >>> size_any(PieceOrder(square(16, 19), tube, {})).foundation.stitches
    40
    """
    if not isinstance(order.template, RoundTemplate):
        return size(order)
    if order.in_the_round:
        order = replace(order, template=chosen(order.template, order.in_the_round))
    made = make_round(order)
    start = made.sized.start
    return Sized(
        turn=made.turn,
        foundation=Foundation(
            start.chain or 0,
            start.first_stitch_in_chain or 0,
            start.turning_chain_counts,
            start.turning_chain,
            start.stitches,
        ),
        # Whoever asks this way reads names, counts and heights, which sections of both kinds have.
        sections=cast(tuple[Section, ...], made.sized.sections),
        measurements=made.measurements,
        extent=made.sized.extent,
        totals=made.totals,
    )


def growth_of(order: PieceOrder) -> Extent:
    """What its edging adds to a piece; in the round, to its height alone, and at one end.

    Source: geometry.

    >>> from .edgings import EdgingOrder
    >>> from .gauge import square
    >>> from .roundplans import StartPlan
    >>> cup = RoundTemplate("cup", "Cup", (), StartPlan("ring"), ())
    >>> growth_of(PieceOrder(square(20, 20), cup, {}, edging=EdgingOrder()))
    Extent(width=Fraction(0, 1), height=Fraction(5, 1))
    """
    if not order.edging:
        return Extent(Fraction(0), Fraction(0))
    grown = growth(order.edging, order.gauge)
    if isinstance(order.template, RoundTemplate):
        return Extent(Fraction(0), grown.height / 2)
    return grown
