"""A measurement made from a body or from an object, with the ease that was asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil
from typing import Annotated, Literal

from .asks import Asks
from .bodies import BodyOrder, body_size
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .sources import SOURCES
from .templates import MeasurementPlan
from .units import MILLIMETRES, Length, System, written

ObjectMeasure = Literal[
    "width", "height", "thickness", "around-width", "around-height", "cover-width",
    "cover-height", "fold-height",
]  # fmt: skip

PARTS: dict[str, tuple[tuple[int, str], ...]] = {
    "width": ((1, "width"),),
    "height": ((1, "height"),),
    "thickness": ((1, "thickness"),),
    "around-width": ((2, "width"), (2, "thickness")),
    "around-height": ((2, "height"), (2, "thickness")),
    "cover-width": ((1, "width"), (1, "thickness")),
    "cover-height": ((1, "height"), (1, "thickness")),
    "fold-height": ((2, "height"), (1, "thickness")),
}
"""How often an object's width, height and thickness go into what is taken of it.

``around`` goes once round it. A ``cover`` is a front and a back of the same size, joined at their
sides: half of that. A ``fold`` goes up the front from the fold under it, and up the back: the
height twice and the thickness once. Source: geometry.
"""


@dataclass(frozen=True, slots=True)
class ObjectOrder:
    """An object in hand (millimetres), and what is to be taken of it."""

    take: ObjectMeasure
    width: Fraction | None = None
    height: Fraction | None = None
    thickness: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Derivation:
    """What to measure, times a factor, plus an ease (millimetres; negative to take off)."""

    of: BodyOrder | ObjectOrder
    ease: Fraction = Fraction(0)
    times: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """How a measurement was made from a body or an object."""

    text: Annotated[str, "what was measured, and what was made of it"]
    measured: Annotated[Length, "the size of the body, or what is taken of the object"]
    times: Annotated[float, "factor it was taken times"]
    ease: Annotated[Length, "ease that was added; negative where taken off"]
    source: Annotated[str, "where the size or the arithmetic comes from"]


def object_size(order: ObjectOrder) -> Length:
    """What is taken of an object, in millimetres.

    Raises Refused, with a path into the object, for each size of it that is needed and not given.
    Source: geometry.

    >>> book = ObjectOrder("around-width", width=Fraction(105), thickness=Fraction(15))
    >>> object_size(book)
    Fraction(240, 1)
    """
    found, total = Findings(), Fraction(0)
    needed = [name for _, name in PARTS[order.take]]
    for times, name in PARTS[order.take]:
        size: Fraction | None = getattr(order, name)
        if size is None:
            detail = f"{order.take} is made from the object's {' and '.join(needed)}"
            found.add("object-size-missing", (name,), detail, needed)
        else:
            total += times * size
    found.settle()
    return total


def derive(order: Derivation, units: System = "metric") -> tuple[Length, MadeFrom]:
    """The length that a body or an object gives, and how it was made.

    Raises Refused, with paths into the order, where the size is not told, or nothing is left of it.
    Source: geometry.

    >>> derive(Derivation(BodyOrder("women", "head"), ease=Fraction(-25)))[1].text
    'head of women (adult, mean): 56.1 cm, less 2.5 cm'
    """
    found = Findings()
    measured, said, source = Fraction(0), "", "geometry"
    with found.collecting(("body" if isinstance(order.of, BodyOrder) else "object",)):
        if isinstance(order.of, BodyOrder):
            row = body_size(order.of)
            measured, source = row.value, row.source
            said = f"{row.measure} of {row.population} ({row.size}, {row.statistic})"
        else:
            measured, source = object_size(order.of), SOURCES[source]
            said = f"{order.of.take} of the object, {_sum(order.of, units)}"
    found.settle()
    made = measured * order.times + order.ease
    if made <= 0:
        unit = "cm" if units == "metric" else "in"
        limit = ceil(-measured * order.times / MILLIMETRES[unit] * 1000) / 1000
        raise Refused(
            Refusal(
                "nothing-left",
                ("ease",),
                f"{said}: {_in(measured, units)}{_times(order)} leaves nothing when"
                f" {_in(-order.ease, units)} is taken off",
                {"more_than": {"value": limit, "unit": unit}},
            )
        )
    ease = ""
    if order.ease:
        word = "plus" if order.ease > 0 else "less"
        ease = f", {word} {_in(abs(order.ease), units)}"
    text = f"{said}: {_in(measured, units)}{_times(order)}{ease}"
    return made, MadeFrom(text, measured, float(order.times), order.ease, source)


def _in(size: Fraction, units: System) -> str:
    return written(size, units, 2)


def _times(order: Derivation) -> str:
    return "" if order.times == 1 else f" times {float(order.times):g}"


def _sum(order: ObjectOrder, units: System) -> str:
    parts = [(times, _in(getattr(order, name), units)) for times, name in PARTS[order.take]]
    return " + ".join(f"{f'{times} × ' if times > 1 else ''}{size}" for times, size in parts)


def derive_all(
    template: Asks, orders: Mapping[str, Derivation], units: System, found: Findings
) -> dict[str, tuple[Length, MadeFrom]]:
    """Every measurement that is made from a body or an object; refusals are added to ``found``.

    Refused, with what would work: a measure that the template does not take for a measurement.
    Source: geometry.

    >>> from .templates import Template
    >>> found = Findings()
    >>> order = Derivation(BodyOrder("women", "head"))
    >>> plan = MeasurementPlan("length", "along", body=("wrist",))
    >>> strap = Template("strap", "Strap", (plan,), None, ())
    >>> derive_all(strap, {"length": order}, "metric", found), found.refusals[0].permitted
    ({}, ['wrist'])
    """
    plans = {plan.name: plan for plan in template.measurements}
    made: dict[str, tuple[Length, MadeFrom]] = {}
    for name, order in orders.items():
        with found.collecting(("measurements", name)):
            if name in plans:  # what the template has no measurement for is refused elsewhere
                _check_taken(plans[name], order, template.name)
            made[name] = derive(order, units)
    return made


def _check_taken(plan: MeasurementPlan, order: Derivation, template: str) -> None:
    path: Path
    if isinstance(order.of, BodyOrder):
        kind, wanted, taken, path = "a body", order.of.measure, plan.body, ("body", "measure")
    else:
        kind, wanted, taken, path = "an object", order.of.take, plan.object, ("as",)
    if wanted in taken:
        return
    if taken:
        detail = f"the {template} template's {plan.name} is made from {', '.join(taken)} of {kind}"
        raise Refused(Refusal("measure-not-taken", path, f"{detail}, not from {wanted}", [*taken]))
    ways = ["a length", *(["body"] if plan.body else []), *(["object"] if plan.object else [])]
    detail = f"the {template} template's {plan.name} is not made from {kind}"
    raise Refused(Refusal("measure-not-taken", path[:1], detail, ways))
