"""Measurements settled: given, made from a body or an object, or following from the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from .asks import Asks, check_measurements, with_defaults
from .deriving import Derivation, MadeFrom, derive_all
from .errors import Findings, Refused
from .exact import Fraction
from .measures import Measure
from .units import System


@dataclass(frozen=True, slots=True)
class Settled:
    """What was asked for, what the piece is sized by, and how what was asked was made."""

    wanted: Mapping[str, Fraction]
    sized_by: Mapping[str, Fraction]
    made_from: Mapping[str, MadeFrom]

    def told(self, measures: Mapping[str, Measure]) -> dict[str, Measure]:
        """The measures, each with what it was made from."""
        if not self.made_from:
            return dict(measures)
        return {
            name: replace(m, made_from=self.made_from[name]) if name in self.made_from else m
            for name, m in measures.items()
        }


def settle(
    template: Asks,
    measurements: Mapping[str, Fraction],
    derived: Mapping[str, Derivation],
    units: System,
    found: Findings,
) -> Settled:
    """Make every measurement a length in millimetres; what is wrong goes into ``found``.

    Source: common-practice.

    >>> from .templates import FoundationPlan, MeasurementPlan, Template, Term
    >>> plan = FoundationPlan(Term("width"))
    >>> band = Template("band", "Band", (MeasurementPlan("width", "across"),), plan, ())
    >>> settle(band, {"width": Fraction(9)}, {}, "metric", Findings()).sized_by
    {'width': Fraction(9, 1)}
    """
    made = derive_all(template, derived, units, found) if derived else {}
    wanted = measurements
    if made:
        wanted = {**measurements, **{name: length for name, (length, _) in made.items()}}
    try:
        check_measurements(template, wanted, units, derived.keys())
    except Refused as refused:
        found.keep(refused)
    return Settled(
        wanted, with_defaults(template, wanted), {name: how for name, (_, how) in made.items()}
    )
