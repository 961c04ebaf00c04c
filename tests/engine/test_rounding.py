"""Whole counts against a search over every count the multiple allows."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.rounding import Multiple, whole

MULTIPLES = st.builds(Multiple, st.integers(1, 12), st.integers(0, 14))
SIZES = st.fractions(0, 400, max_denominator=400)


def allowed(multiple: Multiple) -> list[int]:
    """Every count within reach, below one too: the oracle."""
    return [multiple.multiple * i + multiple.plus for i in range(-20, 420)]


@given(SIZES, MULTIPLES)
def test_nearest_is_nearest_and_ties_go_up(size: Fraction, multiple: Multiple) -> None:
    best = min(allowed(multiple), key=lambda n: (abs(n - size), -n))
    assert whole(size, multiple) == best


@given(SIZES, MULTIPLES)
def test_at_least_and_at_most_are_the_neighbours(size: Fraction, multiple: Multiple) -> None:
    assert whole(size, multiple, "at-least") == min(n for n in allowed(multiple) if n >= size)
    assert whole(size, multiple, "at-most") == max(n for n in allowed(multiple) if n <= size)


@pytest.mark.parametrize(
    ("size", "count"),
    [
        # By hand: the tie is at 22.5, which 12.5 cm at 1.8 stitches a cm is to the last digit.
        (Fraction(125, 10) * Fraction(18, 10), 23),
        (Fraction(2249999999, 100000000), 22),
        (Fraction(1, 2), 1),
        (Fraction(384, 10), 38),
    ],
)
def test_ties_are_judged_exactly(size: Fraction, count: int) -> None:
    assert whole(size) == count


@pytest.mark.parametrize(
    ("multiple", "smallest", "text"),
    [
        (Multiple(), 1, "a multiple of 1"),
        (Multiple(4), 4, "a multiple of 4"),
        (Multiple(4, 1), 1, "a multiple of 4 plus 1"),
        (Multiple(6, 7), 7, "a multiple of 6 plus 7"),
    ],
)
def test_a_multiple_knows_its_smallest_count(multiple: Multiple, smallest: int, text: str) -> None:
    assert (multiple.smallest, str(multiple)) == (smallest, text)
    assert multiple.allows(smallest)
    assert multiple.allows(smallest + multiple.multiple)
    assert not multiple.allows(smallest - multiple.multiple)
    assert multiple.multiple == 1 or not multiple.allows(smallest + 1)
