"""Two readings of one size, each with how far it may be off, made into one."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Annotated

from .exact import Fraction
from .gauge import COUNTED_TO, READ_TO
from .units import Fine


@dataclass(frozen=True, slots=True)
class Known:
    """A size in millimetres, and how far it may be off either way, squared."""

    size: Fraction
    variance: Fraction


@dataclass(frozen=True, slots=True)
class Weighed:
    """One size by the swatch and by the work, and the two weighed together."""

    swatch: Annotated[Fine, "by the swatch"]
    swatch_off: Annotated[Fine, "how far that may be off, either way"]
    work: Annotated[Fine | None, "by the work on the hook, where a tape read it"]
    work_off: Annotated[Fine | None, "how far that may be off, either way"]
    combined: Annotated[Fine, "both together, each weighed by one over its uncertainty squared"]
    interval: Annotated[tuple[Fine, Fine], "least and most it is likely to be"]
    weight_of_work_percent: Annotated[float, "share of the work in the combined size"]


def by_swatch(counted: Fraction, over: Fraction) -> Known:
    """Width of a stitch, or height of a row, by a swatch: counted to a quarter, read to 2 mm.

    Source: common-practice.

    >>> by_swatch(Fraction(16), Fraction(100)).size
    Fraction(25, 4)
    """
    size = over / counted
    return Known(size, size**2 * ((COUNTED_TO / counted) ** 2 + (READ_TO / over) ** 2))


def by_work(size: Fraction, read: Fraction, reading: Fraction) -> Known:
    """The same by a tape on the work: its stitches and rows are known, and only the tape is not.

    ``size`` is that of one stitch or row, of ``read`` millimetres in all. Source: common-practice.

    >>> by_work(Fraction(6), Fraction(240), Fraction(2)).variance
    Fraction(1, 400)
    """
    return Known(size, (size * reading / read) ** 2)


def combine(*known: Known) -> Known:
    """The mean of independent readings weighed by one over their variances. Source: taylor-errors.

    >>> combine(Known(Fraction(10), Fraction(1)), Known(Fraction(13), Fraction(2)))
    Known(size=Fraction(11, 1), variance=Fraction(2, 3))
    """
    weight = sum((1 / k.variance for k in known), Fraction(0))
    return Known(sum((k.size / k.variance for k in known), Fraction(0)) / weight, 1 / weight)


def widened(swatch: Known, work: Known) -> Known:
    """The swatch, with so much more uncertainty that it and the work agree to what both may be off.

    It is the work's gauge that is asked for: where the two differ by more than the readings, the
    swatch was of another hand, hook or day, and knows less of the work. Source: common-practice.

    >>> widened(Known(Fraction(10), Fraction(1)), Known(Fraction(13), Fraction(2))).variance
    Fraction(7, 1)
    >>> widened(Known(Fraction(10), Fraction(1)), Known(Fraction(11), Fraction(2))).variance
    Fraction(1, 1)
    """
    apart = (swatch.size - work.size) ** 2
    return Known(swatch.size, max(swatch.variance, apart - work.variance))


def weighed(swatch: Known, work: Known | None) -> Weighed:
    """The swatch and the work side by side, and together. Source: taylor-errors.

    >>> weighed(Known(Fraction(10), Fraction(1)), None).combined
    Fraction(10, 1)
    """
    both = combine(widened(swatch, work), work) if work else swatch
    off = Fraction(sqrt(both.variance))
    return Weighed(
        swatch.size,
        Fraction(sqrt(swatch.variance)),
        work.size if work else None,
        Fraction(sqrt(work.variance)) if work else None,
        both.size,
        (both.size - off, both.size + off),
        float(100 * both.variance / work.variance) if work else 0.0,
    )


def disagree(seen: Weighed) -> bool:
    """Whether swatch and work are further apart than both together may be off.

    Source: taylor-errors.

    >>> disagree(weighed(Known(Fraction(10), Fraction(1)), Known(Fraction(12), Fraction(1))))
    True
    """
    if seen.work is None or seen.work_off is None:
        return False
    return abs(seen.swatch - seen.work) > hypot(seen.swatch_off, seen.work_off)
