"""Every row of a few stitches in words, read back and worked stitch by stitch: small numbers all.

Where a row begins and which chains count is the trade's: All-in-One handbook and teaching pages.
"""

from __future__ import annotations

import re

import pytest

from service.engine.foundation import Turning, foundation
from service.engine.rowtext import Words, first_row, worked_row
from service.engine.stitches import STITCHES
from tests.auditing import Json, flat_work

CUSTOMS = [
    ("single-crochet", 1, False), ("half-double-crochet", 2, True),
    ("half-double-crochet", 1, False), ("double-crochet", 3, True), ("double-crochet", 2, False),
    ("treble-crochet", 4, True),
]  # fmt: skip
CHANGES = [(a, b) for a in range(-3, 4) for b in range(-3, 4)]


def worked(row: list[Json], below: int) -> tuple[int, int]:
    """What the clauses take of the row below, and what they make."""
    taken = made = 0
    for op in row:
        ((kind, n),) = op.items()
        if kind == "plain":
            if not isinstance(n, int):
                n = below - taken - (0 if n == "to-end" else n["to_last"])
                assert n > 0, row
            taken, made = taken + n, made + n
        elif kind == "turning_chain":
            taken, made = taken + 1, made + 1
        elif kind == "increase":
            taken, made = taken + 1, made + n
        elif kind == "together":
            assert n > 1
            taken, made = taken + n, made + 1
        else:
            assert kind == "same_stitch"
            made += n
    return taken, made


@pytest.mark.parametrize(("stitch", "chains", "counts"), CUSTOMS)
def test_a_row_takes_all_of_the_row_below_and_makes_what_it_should(
    stitch: str, chains: int, counts: bool
) -> None:
    words = Words(STITCHES[stitch], Turning(chains, counts), "us")
    for below in range(1, 13):
        for start, end in CHANGES:
            after = below + start + end
            if after < 1:
                continue
            text = worked_row(words, below, start, end)
            assert worked(flat_work(text, words.st, False), below) == (below, after), text
            if start * end < 0:
                continue  # what would be lost and gained again may be worked plain
            # What begins with a decrease or a stitch alone stands on no counted chain.
            counted = counts and start >= 0 and below > 1 and after > 1
            assert ("counts as first" in text) is counted, text
            turns = chains if counted or not counts else words.short_turn
            assert text.startswith(f"ch {turns} " if " (" in text.split(",")[0] else f"ch {turns},")


@pytest.mark.parametrize(("stitch", "chains", "counts"), CUSTOMS)
def test_a_first_row_takes_all_of_the_chain_and_makes_what_it_should(
    stitch: str, chains: int, counts: bool
) -> None:
    words = Words(STITCHES[stitch], Turning(chains, counts), "us")
    for bases in range(1, 13):
        for start, end in CHANGES:
            after = bases + start + end
            if after < 1:
                continue
            made = foundation(bases, words.turn)
            text = first_row(words, made, start, end)
            assert worked(flat_work(text, words.st, True), bases) == (bases, after), text
            # The chains from the first that is worked into are the bases, but for one that the
            # skipped chains stand on.
            at = re.search(r"(\d+)(?:st|nd|rd|th)[a-z0-9 ]* chs? from hook", text)
            assert at, text
            stands = "count as first" in text or "counts as first" in text
            assert made.chain - (int(at[1]) - 1) == bases - stands, text
