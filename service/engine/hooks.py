"""A hook a size up or down, where the stitches are narrower or wider than they should be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .exact import Fraction
from .sources import SOURCES
from .standards import HOOK_SIZES, HookSize
from .units import Fine, System


@dataclass(frozen=True, slots=True)
class HookStep:
    """Which way, and about how far: a first try to swatch, and never a promise."""

    stitch_percent: Annotated[float, "how much wider (narrower, negative) a stitch is to become"]
    from_hook: Annotated[Fine | None, "the hook in hand, where it was told"]
    in_proportion: Annotated[
        Fine | None, "the hook that is thicker or thinner in the same proportion"
    ]
    try_hook: Annotated[Fine | None, "the published size nearest to that, the way it is to go"]
    us_label: Annotated[str | None, "its US label"]
    method: Annotated[str, "how the step was made"]
    source: Annotated[str, "where it comes from"]


METHOD = (
    "in proportion to the stitch: no law of gauge against hook diameter is published, so work a"
    " swatch with it first"
)


def hook_step(wanted: Fraction, had: Fraction, hook: Fraction | None = None) -> HookStep:
    """From the width that a stitch has to the width it should have; millimetres.

    A thicker hook makes a wider stitch. The step is in proportion, to the nearest published size
    that way, and at least one size. Source: common-practice.

    >>> hook_step(Fraction(66, 10), Fraction(6), Fraction(5)).try_hook
    Fraction(11, 2)
    """
    percent = float(100 * (wanted / had - 1))
    size = in_proportion = None
    if hook is not None:
        in_proportion = hook * wanted / had
        size = _nearest(hook, in_proportion)
    return HookStep(
        percent,
        hook,
        in_proportion,
        size.diameter if size else None,
        size.us_label if size else None,
        METHOD,
        SOURCES["common-practice"],
    )


def _nearest(hook: Fraction, wanted: Fraction) -> HookSize | None:
    up = wanted > hook
    that_way = [s for s in HOOK_SIZES if (s.diameter > hook if up else s.diameter < hook)]
    return min(that_way, key=lambda s: (abs(s.diameter - wanted), s.diameter), default=None)


def hook_text(step: HookStep, units: System) -> str:
    """The step in words. Source: common-practice."""
    up = step.stitch_percent > 0
    way = "thicker" if up else "thinner"
    size = f"{abs(step.stitch_percent):.1f} % {'wider' if up else 'narrower'}"
    told = f"A {way} hook: stitches are to become {size}."
    if step.try_hook is not None:
        told += f" Try {float(step.try_hook):g} mm"
        told += f" ({step.us_label} in the US) first." if step.us_label else " first."
    return (
        f"{told} No law of gauge against hook diameter is published: swatch it. It mends only rows"
        " still to come, so it is for a start, or for the rest where an edge may change."
    )
