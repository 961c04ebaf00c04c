"""Units against pint, and the promise that nothing is rounded on the way."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.units import (
    GRAMS,
    MILLIMETRES,
    exact,
    in_unit,
    length,
    mass,
    system_of,
    written,
)

# Oracle: pint's registry, exact because its numbers are Decimals.
PINT = pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize("unit", MILLIMETRES)
def test_lengths_convert_as_pint_has_them(unit: str) -> None:
    theirs = PINT.Quantity(Decimal(1), {"in": "inch", "yd": "yard"}.get(unit, unit)).to("mm")
    assert Fraction(theirs.magnitude) == length(1, unit)


@pytest.mark.parametrize("unit", GRAMS)
def test_masses_convert_as_pint_has_them(unit: str) -> None:
    theirs = PINT.Quantity(Decimal(1), {"oz": "ounce"}.get(unit, unit)).to("g")
    assert Fraction(theirs.magnitude) == mass(1, unit)


@given(st.decimals("0.001", "100000", places=4), st.sampled_from(sorted(MILLIMETRES)))
def test_a_length_comes_back_as_it_was_written(value: Decimal, unit: str) -> None:
    assert in_unit(length(value, unit), unit) == round(float(value), 6)


def test_a_binary_float_is_taken_as_it_is_written() -> None:
    assert exact(0.1) == Fraction(1, 10)
    assert exact(16) == 16


@pytest.mark.parametrize(
    ("millimetres", "metric", "imperial"),
    [
        # By hand: 3.175 mm is an eighth of an inch.
        ("3.175", "0.3 cm", "1/8 in"),
        ("25.4", "2.5 cm", "1 in"),
        ("38.1", "3.8 cm", "1 1/2 in"),
        ("0", "0 cm", "0 in"),
        ("100", "10 cm", "3 7/8 in"),
        ("1.5", "0.2 cm", "0 in"),
    ],
)
def test_lengths_are_written_to_the_millimetre_and_the_eighth(
    millimetres: str, metric: str, imperial: str
) -> None:
    size = Fraction(millimetres)
    assert (written(size, "metric"), written(size, "imperial")) == (metric, imperial)


def test_small_limits_are_written_with_decimals() -> None:
    assert written(Fraction(3125, 1000), "metric", 4) == "0.3125 cm"
    assert written(Fraction(254, 80), "imperial", 4) == "0.125 in"


def test_yards_and_ounces_are_imperial() -> None:
    assert {unit: system_of(unit) for unit in ("mm", "m", "g", "in", "yd", "oz")} == {
        "mm": "metric", "m": "metric", "g": "metric",
        "in": "imperial", "yd": "imperial", "oz": "imperial",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("millimetres", "places", "told"),
    [
        # Every digit, and no power of ten: 10 km, 100 m, and a limit of 123.45412 cm told upwards.
        ("10000000", 1, "1000000 cm"),
        ("126746", 1, "12674.6 cm"),
        ("1234567.8", 1, "123456.8 cm"),
        ("1234.5412", 4, "123.4542 cm"),
        ("100000000", 2, "10000000 cm"),
    ],
)
def test_a_length_is_written_with_every_digit(millimetres: str, places: int, told: str) -> None:
    assert written(Fraction(millimetres), "metric", places, up=places > 2) == told


@given(st.fractions(Fraction(1, 1000), 10**7), st.sampled_from([2, 4]))
def test_what_is_needed_at_least_is_never_told_as_less(size: Fraction, places: int) -> None:
    for system, unit in (("metric", "cm"), ("imperial", "in")):
        told = written(size, system, places, up=True)  # type: ignore[arg-type]
        over = Fraction(told.removesuffix(f" {unit}")) * MILLIMETRES[unit] - size
        assert 0 <= over < MILLIMETRES[unit] / 10**places
