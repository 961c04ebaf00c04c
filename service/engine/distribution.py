"""Spreading events evenly: the trade's quotient-and-remainder rule, in integers."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple


class Share(NamedTuple):
    """``times`` equal parts of ``size`` each."""

    size: int
    times: int


def spread(units: int, parts: int) -> tuple[Share, ...]:
    """Split ``units`` into ``parts`` that differ by at most one: the smaller first.

    With units = q x parts + r there are parts - r of q, then r of q + 1.
    Raises ValueError when there are no parts to share among. Source: sweater-101.

    >>> spread(124, 14)
    (Share(size=8, times=2), Share(size=9, times=12))
    >>> spread(204, 12)
    (Share(size=17, times=12),)
    """
    if parts < 1:
        raise ValueError("nothing can be spread over no parts")
    size, larger = divmod(units, parts)
    shares = (Share(size, parts - larger), Share(size + 1, larger))
    return tuple(share for share in shares if share.times)


def interleaved(units: int, parts: int) -> tuple[int, ...]:
    """The same parts as ``spread``, in the order that keeps every prefix nearest to even.

    Part i is the difference of the floors of i x units / parts. Source: sweater-101.

    >>> interleaved(10, 4)
    (2, 3, 2, 3)
    """
    marks = [i * units // parts for i in range(parts + 1)]
    return tuple(b - a for a, b in pairwise(marks))
