"""Numbers as a pattern writes them."""

from __future__ import annotations


def ordinal(n: int) -> str:
    """1st, 2nd, 3rd, 4th ... as a pattern writes them. Source: common-practice.

    >>> [ordinal(n) for n in (1, 2, 3, 4, 11, 22, 113)]
    ['1st', '2nd', '3rd', '4th', '11th', '22nd', '113th']
    """
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"
