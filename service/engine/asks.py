"""What a template asks for: measurements given, left out to follow from others, or refused."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import ceil, floor
from typing import Protocol

from .errors import Findings, Refusal
from .exact import Fraction
from .templates import MeasurementPlan
from .units import MILLIMETRES, System, written


class Asks(Protocol):
    """Whatever asks for measurements: a template, worked flat or in the round."""

    @property
    def name(self) -> str: ...

    @property
    def measurements(self) -> tuple[MeasurementPlan, ...]: ...


def with_defaults(template: Asks, measurements: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """The measurements asked for, and those that follow from them where they were left out.

    Source: common-practice.

    >>> from .templates import FoundationPlan, Template
    >>> from .terms import Term
    >>> depth = MeasurementPlan("depth", "down", True, default=Term("girth", Fraction(2, 5)))
    >>> cap = Template("cap", "Cap", (depth,), FoundationPlan(), ())
    >>> with_defaults(cap, {"girth": Fraction(500)})["depth"]
    Fraction(200, 1)
    """
    made = dict(measurements)
    for plan in template.measurements:
        if plan.default and plan.name not in made:
            size = plan.default.of(measurements)
            if size is not None:
                made[plan.name] = size
    return made


def check_measurements(
    template: Asks,
    measurements: Mapping[str, Fraction],
    units: System = "metric",
    given: Collection[str] = (),
) -> None:
    """Whether what was asked is what the template wants.

    Raises Refused for measurements missing, unknown, or outside the template's range; lengths
    in millimetres. Those ``given`` in another way count as asked. Source: common-practice.

    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> from .terms import Term
    >>> swatch = Template("swatch", "Swatch", (MeasurementPlan("width", "across"),),
    ...     FoundationPlan(width=Term("width")), (SectionPlan("body", "even", rows=10),))
    >>> check_measurements(swatch, {"width": Fraction(100)})
    """
    if not given and _plainly_right(template, measurements):
        return
    found = Findings()
    known = {m.name: m for m in template.measurements}
    for name, plan in known.items():
        needed = not (plan.optional or plan.default)
        if needed and name not in measurements and name not in given:
            found.add(
                "measurement-missing",
                ("measurements", name),
                f"the {template.name} template needs {name}: {plan.meaning}",
                [*known],
            )
    for name in dict.fromkeys((*measurements, *given)):
        if name not in known:
            found.add(
                "unknown-measurement",
                ("measurements", name),
                f"the {template.name} template has no measurement {name}",
                [*known],
            )
    for name, asked in measurements.items():
        if name in known and not _within(known[name], asked):
            found.refusals.append(_out_of_range(template.name, known[name], asked, units))
    found.settle()


def _plainly_right(template: Asks, measurements: Mapping[str, Fraction]) -> bool:
    told = 0
    for plan in template.measurements:
        asked = measurements.get(plan.name)
        if asked is None:
            if not (plan.optional or plan.default):
                return False
        elif _within(plan, asked):
            told += 1
        else:
            return False
    return told == len(measurements)


def _within(plan: MeasurementPlan, asked: Fraction) -> bool:
    low, high = plan.minimum, plan.maximum
    return (low is None or low <= asked) and (high is None or asked <= high)


def _out_of_range(template: str, plan: MeasurementPlan, asked: Fraction, units: System) -> Refusal:
    unit = "cm" if units == "metric" else "in"
    limits = {
        word: limit
        for word, limit in (("minimum", plan.minimum), ("maximum", plan.maximum))
        if limit is not None
    }
    told = " and ".join(
        f"at {'least' if word == 'minimum' else 'most'} {written(limit, units, 2)}"
        for word, limit in limits.items()
    )
    # Limits are written so that they still lie within the range.
    rounded = {"minimum": ceil, "maximum": floor}
    return Refusal(
        "measurement-out-of-range",
        ("measurements", plan.name),
        f"{plan.name} is {written(asked, units, 2)}; the {template} template is made for {told}"
        " (its own limits, not published ones)",
        {
            word: {"value": rounded[word](limit / MILLIMETRES[unit] * 1000) / 1000, "unit": unit}
            for word, limit in limits.items()
        },
    )
