"""Going on at a pace, in an oval, and from what is not as planned; rounds told group by group."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from service.engine.continuing import ContinueOrder
from service.engine.errors import Refused
from service.engine.foundation import Turning
from service.engine.gauge import square
from service.engine.patterns import Piece, piece
from service.engine.roundwords import groups
from service.engine.sizing import PieceOrder
from service.engine.templates import (
    FoundationPlan,
    SectionPlan,
    Template,
)
from service.engine.writtenwork import WrittenFoundation, stitches_of
from tests.pieces import order

GAUGE = square(20, 20)  # a stitch and a row of 5 mm


def paced(every: int, **more: object) -> PieceOrder:
    """A flap from 40 stitches to 20, both edges every so many rows."""
    plan = SectionPlan("flap", "taper", to_stitches=20, every=every)
    template = Template("flap", "Flap", (), FoundationPlan(stitches=40), (plan,))
    return replace(PieceOrder(GAUGE, template, {}, detail="rows"), **more)  # type: ignore[arg-type]


def counts(made: Piece) -> list[int]:
    return [n for s in made.sections for n in s.row_counts or ()]


def shaped(rows: list[int]) -> list[int]:
    """Rows, counted from 1, that change the number of stitches."""
    return [i for i, (a, b) in enumerate(pairwise(rows), 1) if a != b]


@pytest.mark.parametrize(
    ("every", "right_side"),
    [(1, False), (2, False), (3, False), (4, False), (5, False), (1, True), (2, True), (4, True)],
)
def test_a_pace_goes_on_from_the_last_shaping_row(every: int, right_side: bool) -> None:
    # Brute force: two stitches every so many rows; of right-side rows, every one is every second.
    asked = paced(every, right_side_only=right_side)
    pace = 2 if right_side and every == 1 else every
    whole = counts(piece(asked))
    turns = shaped([40, *whole])
    assert [b - a for a, b in pairwise(turns)] == [pace] * 9
    for row in range(1, len(whole)):
        told = ContinueOrder("flap", row, stitches=whole[row - 1])
        assert counts(piece(replace(asked, continue_after=told))) == whole[row:]
        for more in (-2, 2, 4):
            stitches = whole[row - 1] + more
            if stitches <= 20:
                continue
            rest = counts(
                piece(replace(asked, continue_after=ContinueOrder("flap", row, stitches=stitches)))
            )
            turned = [row + i for i in shaped([stitches, *rest])]
            assert rest[-1] == 20
            assert len(turned) == (stitches - 20) // 2
            last = max((t for t in turns if t <= row), default=turns[0] - pace)
            assert [b - a for a, b in pairwise([last, *turned])] == [pace] * len(turned), row


def test_an_oval_goes_on_from_where_the_tape_says_it_is() -> None:
    # By hand: 3 rounds that reach 20 mm and not 15 leave 55 - 20 = 35 mm of half the width, which
    # are 7 rounds of 5 mm; the oval is then 2 x 55 wide.
    asked = order("oval", GAUGE, width=110, length=160)
    whole = piece(asked)
    section = whole.sections[0].name
    assert whole.totals.rows == 11
    for height, rounds, width in ((20, 7, 110), (15, 8, 110), (13, 8, 106), (17, 8, 114)):
        told = ContinueOrder(section, 3, height=Fraction(height))
        rest = piece(replace(asked, continue_after=told))
        assert rest.totals.rows == rounds
        assert rest.measurements["width"].finished == width
        straight = whole.measurements["length"].finished - whole.measurements["width"].finished
        assert rest.measurements["length"].finished == width + straight


@pytest.mark.parametrize("before", range(3, 25))
def test_the_groups_of_a_round_are_worked_into_all_of_it(before: int) -> None:
    # Exhaustive over small rounds: what the groups take is the round below, what they make is the
    # next, and plain stretches differ by one at most (The handbook rule of even spreading; Sweater
    # 101), but where the round begins within one.
    for after in range(2, 3 * before):
        for offset in range(4):
            if after == before:
                continue
            told = groups(before, after, offset)
            takes = sum((plain + taken) * times for (plain, taken, _), times in told)
            makes = sum((plain + made) * times for (plain, _, made), times in told)
            assert (takes, makes) == (before, after), told
            assert all(times > 0 and min(group) >= 0 for group, times in told)
            row = [group for group, times in told for _ in range(times)]
            if not offset:
                plains = [plain for plain, taken, made in row if (taken, made) in ((1, 2), (2, 1))]
                assert max(plains, default=0) - min(plains, default=0) <= 1


@pytest.mark.parametrize(
    ("chain", "stitches", "chains", "counted", "comes_to", "source"),
    [
        (11, None, 1, False, 10, "teaching page: 10 sc on 11 chains"),
        (12, 11, 2, True, 11, "All-in-One handbook: 11 hdc, counted, on 12"),
        (2, None, 1, False, 1, "one sc: a chain and the turning chain"),
        (None, 1, 3, True, 1, "one dc alone"),
    ],
)
def test_a_written_chain_comes_to_its_stitches(
    chain: int | None, stitches: int | None, chains: int, counted: bool, comes_to: int, source: str
) -> None:
    written = WrittenFoundation(chain, stitches)
    assert stitches_of(written, Turning(chains, counted), "flat") == comes_to, source


@pytest.mark.parametrize(
    ("chain", "stitches", "worked", "code", "permitted"),
    [
        # 5 sc are chain 6; on 2 chains there is one.
        (2, 5, "flat", "chain-disagrees", {"chain": 6, "stitches": 1}),
        (9, 5, "flat", "chain-disagrees", {"chain": 6, "stitches": 8}),
        (1, 5, "flat", "chain-disagrees", {"chain": 6, "stitches": 1}),
        (1, None, "flat", "foundation-too-small", {"stitches": 1}),
        (9, 8, "round", "chain-disagrees", {"chain": 8, "stitches": 9}),
        (0, None, "round", "foundation-too-small", {"stitches": 1}),
        (None, None, "round", "no-foundation-count", {"one_of": ["stitches", "chain"]}),
    ],
)
def test_a_chain_that_disagrees_is_refused_with_what_agrees(
    chain: int | None, stitches: int | None, worked: str, code: str, permitted: object
) -> None:
    # sc turns with one chain that does not count (All-in-One handbook).
    with pytest.raises(Refused) as refused:
        stitches_of(WrittenFoundation(chain, stitches), Turning(1, False), worked)  # type: ignore[arg-type]
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.permitted) == (code, permitted)


def test_a_ring_begins_with_no_stitches() -> None:
    assert stitches_of(WrittenFoundation(stitches=0), Turning(1, False), "round") == 0
