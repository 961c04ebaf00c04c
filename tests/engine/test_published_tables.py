"""The tables that are served, row by row as they are published.

Figures that are from memory are not held here, but for what any printing must keep: that ranges
which are told to meet do meet.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from service.engine.standards import (
    ABBREVIATIONS,
    BUTTON_SIZES,
    HOOK_SIZES,
    STITCH_TERMS,
    TABLES,
    YARN_WEIGHTS,
)

# Craft Yarn Council, Standards & Guidelines, 2018 print: hooks by their US letter, millimetres.
HOOKS = [
    ("B-1", "2.25"), ("C-2", "2.75"), ("D-3", "3.25"), ("E-4", "3.5"), ("F-5", "3.75"),
    ("G-6", "4"), ("7", "4.5"), ("H-8", "5"), ("I-9", "5.5"), ("J-10", "6"), ("K-10½", "6.5"),
    ("L-11", "8"), ("M/N-13", "9"), ("N/P-15", "10"),
]  # fmt: skip

# The same: category, name, single crochet to 4 in, hooks, wraps to the inch. (Of lace the stitch is
# not named.)
WEIGHTS = [
    ("lace", (32, 42), "1.5-2.25", "30-40+"),
    ("super fine", (21, 32), "2.25-3.5", "14-30"),
    ("fine", (16, 20), "3.5-4.5", "12-18"),
    ("light", (12, 17), "4.5-5.5", "11-15"),
    ("medium", (11, 14), "5.5-6.5", "9-12"),
    ("bulky", (8, 11), "6.5-9", "6-9"),
    ("super bulky", (6, 9), "9-16", "5-6"),
    ("jumbo", (1, 5), "16 and up", "1-4"),
]

# Turning chains and whether they count: Knitting & Crocheting All-in-One and others (handbooks).
TURNING = {
    "single-crochet": (1, None, False), "half-double-crochet": (2, 1, True),
    "double-crochet": (3, 2, True), "treble-crochet": (4, None, True),
    "double-treble-crochet": (5, None, True),
}  # fmt: skip


def test_hooks_are_as_published() -> None:
    assert [(h.us_label, h.diameter) for h in HOOK_SIZES] == [
        (label, Fraction(mm)) for label, mm in HOOKS
    ]


def test_yarn_weights_are_as_published() -> None:
    assert [
        (w.name, w.single_crochet_per_4_in, w.hook_mm, w.wraps_per_inch)
        for w in YARN_WEIGHTS.values()
    ] == WEIGHTS
    assert [*YARN_WEIGHTS] == [w.category for w in YARN_WEIGHTS.values()] == [*range(8)]
    assert [w.category for w in YARN_WEIGHTS.values() if w.range_stitch == "unnamed"] == [0]


def test_metres_to_a_hundred_grams_meet_from_one_weight_to_the_next() -> None:
    # The finest has no most and the thickest told no fewest; where one ends, or a metre on,
    # the next begins.
    *told, jumbo = YARN_WEIGHTS.values()
    assert told[0].most_metres_per_100_g is None
    assert told[-1].fewest_metres_per_100_g is None
    assert (jumbo.fewest_metres_per_100_g, jumbo.most_metres_per_100_g) == (None, None)
    for finer, thicker in pairwise(told):
        assert finer.fewest_metres_per_100_g - thicker.most_metres_per_100_g in (0, 1)  # type: ignore[operator]
    assert all(
        w.fewest_metres_per_100_g < w.most_metres_per_100_g  # type: ignore[operator]
        for w in told[1:-1]
    )


def test_turning_chains_are_as_in_the_handbooks() -> None:
    told = {
        t.name: (t.turning_chain, t.other_turning_chain, t.turning_chain_counts)
        for t in STITCH_TERMS
        if t.turning_chain is not None
    }
    assert {name: told[name] for name in TURNING} == TURNING


def test_buttons_are_of_even_lines_and_a_fortieth_of_an_inch_each() -> None:
    # 40 lines to the inch (published charts); even lines alone are made: common practice.
    assert all(size.line % 2 == 0 for size in BUTTON_SIZES)
    assert [size.line for size in BUTTON_SIZES] == sorted({size.line for size in BUTTON_SIZES})
    assert all(size.diameter == Fraction(254, 400) * size.line for size in BUTTON_SIZES)
    assert {16, 20, 24, 28, 32, 36, 40, 50, 60} <= {size.line for size in BUTTON_SIZES}


def test_no_table_names_a_row_twice() -> None:
    assert len({a.abbreviation for a in ABBREVIATIONS}) == len(ABBREVIATIONS)
    assert all(len(set(rows)) == len(rows) > 0 for rows in TABLES.values())
