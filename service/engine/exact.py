"""Exact numbers: the one Fraction that everything here reckons with.

``quicktions`` is the standard library's Fraction in compiled code: the same values, the same words,
and sums several times as fast. Where it is not installed the standard library's does, and every
answer is the same to the letter.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction as Fraction
else:
    try:
        from quicktions import Fraction
    except ImportError:
        from fractions import Fraction

__all__ = ["Fraction"]
