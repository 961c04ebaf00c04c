"""Stitches that a disc or a cone comes to, from its plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import pi

from .counting import Asked, Scale, asked_for, count, not_in_multiple
from .errors import Path, Refused
from .exact import Fraction
from .rounding import Multiple, whole
from .roundplans import RoundPlan
from .rounds import disc, flat_increases, straight
from .terms import Term


def disc_counts(
    plan: RoundPlan, before: int, rounds: int, scale: Scale, end: int | None = None
) -> tuple[int, ...]:
    """Stitches of a disc's rounds: increases from the gauge, unless they are chosen.

    The last round comes to ``end``, where the circumference says so, and keeps the multiple; where
    that takes fewer than the round before has, all are led to it evenly. Source: geometry.

    >>> base = RoundPlan("base", "disc", increases=6)
    >>> disc_counts(base, 0, 3, Scale(Fraction(5), Fraction(5), Multiple(4)))
    (7, 13, 20)
    >>> disc_counts(base, 0, 3, Scale(Fraction(5), Fraction(5)), end=16)
    (6, 12, 16)
    """
    counts = disc(
        before,
        float(plan.increases or flat_increases(scale.stitch_width, scale.row_height)),
        rounds,
    )
    multiple = scale.stitch_multiple
    if end is not None and multiple == Multiple():
        below = (before, *counts)[-2]
        return (*counts[:-1], end) if end > below else straight(before, end, rounds)
    if multiple != Multiple():
        end = end or max(multiple.smallest, whole(Fraction(counts[-1]), multiple))
        counts = straight(before, end, rounds)
    return counts


def disc_end(
    plan: RoundPlan, asked: Mapping[str, Fraction], path: Path, scale: Scale
) -> int | None:
    """Stitches of a disc's last round, where it goes to a circumference and the gauge chooses its
    increases. Raises Refused.

    Source: geometry.

    >>> crown = RoundPlan("crown", "disc", to_circumference=Term("around"))
    >>> disc_end(crown, {"around": Fraction(550)}, (), Scale(Fraction(5), Fraction(5)))
    110
    """
    around = asked_for(plan.to_circumference, asked, (*path, "to_circumference"))
    if around is None or plan.increases:
        return None
    return count(around, scale.stitch_width, scale.stitch_multiple, scale, "stitches")


def cone_end(plan: RoundPlan, asked: Mapping[str, Fraction], path: Path, scale: Scale) -> int:
    """Stitches of a cone's last round; lengths in millimetres. Raises Refused.

    Source: geometry.

    >>> from .terms import Term
    >>> mouth = RoundPlan("mouth", "cone", to_diameter=Term("across"))
    >>> cone_end(mouth, {"across": Fraction(100)}, (), Scale(Fraction(5), Fraction(5)))
    63
    """
    if plan.to_stitches is not None:
        multiple = scale.stitch_multiple
        if not multiple.allows(plan.to_stitches):
            here = ("template", *path, "to_stitches")
            raise not_in_multiple(here, plan.to_stitches, "stitches", multiple)
        return plan.to_stitches
    across = asked_for(plan.to_diameter, asked, (*path, "to_diameter"))
    wanted = across or asked_for(plan.to_circumference, asked, (*path, "to_circumference"))
    assert wanted is not None  # check_round_template saw to it
    if across:
        around = Fraction(float(across.size) * pi)
        wanted = replace(across, size=around, back=lambda size: Fraction(float(size) / pi))
    return count(wanted, scale.stitch_width, scale.stitch_multiple, scale, "stitches")


def rounds_along(length: Fraction, path: Path, scale: Scale) -> int:
    """Rounds along a profile, in millimetres.

    Raises Refused where there are none; no one length of a profile says how long it is.
    Source: geometry.

    >>> rounds_along(Fraction(48), (), Scale(Fraction(5), Fraction(5)))
    10
    """
    try:
        along = Asked(length, path, Term(None))
        return count(along, scale.row_height, scale.row_multiple, scale, "rows")
    except Refused as refused:
        told = ((r, r.permitted) for r in refused.refusals if isinstance(r.permitted, dict))
        raise Refused(
            *(replace(r, permitted={"rounds": permitted["rows"]}) for r, permitted in told)
        ) from None


def led(counts: tuple[int, ...], multiple: Multiple) -> tuple[int, ...]:
    """The counts with a last round that the multiple allows, led to it evenly.

    Source: common-practice.

    >>> led((10, 20, 29, 33), Multiple(4)), led((10, 20, 29, 34), Multiple(4))
    ((10, 20, 28, 32), (11, 21, 31, 36))
    """
    if multiple == Multiple():
        return counts
    end = max(multiple.smallest, whole(Fraction(counts[-1]), multiple))
    more = straight(0, end - counts[-1], len(counts))
    return tuple(n + extra for n, extra in zip(counts, more, strict=True))
