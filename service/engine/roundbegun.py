"""What is worked already of a piece in the round, and how the rest joins on to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .beginning import section_at
from .errors import Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .rounds import FEWEST_IN_RING, Counts, RoundSection, RoundSized, Start, nearest, runs
from .roundwords import in_words

if TYPE_CHECKING:
    from .continuing import ContinueOrder


@dataclass(frozen=True, slots=True)
class RoundBegun:
    """The start and the rounds so far: whole sections, then those of the one in hand.

    height: finished, of the rounds worked, along the fabric; tape: the same as a tape reads it.
    """

    start: Start
    whole: tuple[Counts, ...]
    hand: Counts
    rows: int
    height: Fraction
    tape: Fraction
    done: bool = False

    @property
    def stitches(self) -> int:
        return self.hand.last

    @property
    def total(self) -> int:
        return sum(c.total for c in (*self.whole, self.hand))

    def ahead(self, index: int, row_height: Fraction) -> Fraction:
        """Millimetres that the section's worked rounds are higher than so many at this gauge."""
        parts = (*self.whole, self.hand)
        first = sum(c.rounds for c in parts[:index])
        worked = max(0, min(self.rows, first + parts[index].rounds) - first)
        return worked * (self.height / self.rows - row_height)


def begin_rounds(order: ContinueOrder, planned: RoundSized, gauge: Gauge) -> RoundBegun:
    """The rounds worked of a plan, measured at ``gauge``.

    Stitches on the hook that differ from the plan's are taken to differ since the round that last
    changed their number. Raises Refused for a section or a round that the plan has not, or for
    too few stitches. Source: common-practice.
    """
    index = section_at(order, planned.sections)
    before = sum(c.rounds for c in planned.counts[:index])
    rounds = order.row - before
    hand = list(planned.counts[index])[:rounds]
    hand += [hand[-1]] * (rounds - len(hand))
    parts = [*(list(c) for c in planned.counts[:index]), hand]
    more, start = 0 if order.stitches is None else order.stitches - hand[-1], planned.start
    if hand[-1] + more < FEWEST_IN_RING:
        raise Refused(
            Refusal(
                "too-few-stitches",
                ("continue_after", "stitches"),
                f"a round of fewer than {FEWEST_IN_RING} stitches cannot be worked round",
                {"minimum": FEWEST_IN_RING},
            )
        )
    last, same = hand[-1], True
    for part in reversed(parts):
        for i in reversed(range(len(part))):
            same = same and part[i] == last
            part[i] += more if same else 0
    if same and start.kind == "chain" and start.stitches == last:
        count = start.stitches + more
        start = replace(start, stitches=count, chain=count)
    tape = order.height or order.row * gauge.hook_row_height
    return RoundBegun(
        start,
        tuple(Counts.of(part) for part in parts[:-1]),
        Counts.of(parts[-1]),
        order.row,
        tape * gauge.row_height / gauge.hook_row_height,
        tape,
        order.section_done,
    )


def joined(hand: Counts, fresh: Counts, first_row: int, name: str) -> Counts:
    """The rounds worked and those left of a plan at the gauge there is.

    What the count on the hook is off by fades out evenly over the rounds left. Raises Refused
    where more rounds are worked than the plan has. Source: common-practice.

    >>> joined(Counts.of((6, 13, 21)), Counts.of((6, 13, 19, 25, 31)), 1, "base").stretches
    ((6, 1), (13, 1), (21, 1), (26, 1), (31, 1))
    """
    worked, left = hand.rounds, fresh.rounds - hand.rounds
    if left < 0:
        last = first_row + fresh.rounds - 1
        raise Refused(
            Refusal(
                "already-longer",
                ("continue_after", "row"),
                f"{worked} rounds of the {name} are worked and {fresh.rounds} come to what is asked"
                f" at this gauge: take back to round {last}, or end the section here",
                {"row": last, "or": '"section_done": true'},
            )
        )
    if not left:
        return hand
    if hand.fewest == hand.most == fresh.fewest == fresh.most:
        return fresh  # even all the way, and cheap
    planned, done = list(fresh), list(hand)
    off = done[-1] - planned[worked - 1]
    rest = [nearest(n + off * (left - i) / left) for i, n in enumerate(planned[worked:], 1)]
    return Counts.of((*done, *rest))


def rounds_left(sized: RoundSized, stitch_width: Fraction, row_height: Fraction
                ) -> tuple[RoundSection, ...]:  # fmt: skip
    """The rounds that are left of each section; all where none is begun. Millimetres.

    The rise of a section is shared by its rounds alike. Source: common-practice.
    """
    begun = sized.begun
    if not begun:
        return sized.sections
    made: list[RoundSection] = []
    for i, (section, counts) in enumerate(zip(sized.sections, sized.counts, strict=True)):
        done = begun.hand.rounds
        if i > len(begun.whole):
            made.append(section)
        elif i == len(begun.whole) and counts.rounds > done:
            rest = Counts.of(list(counts)[done:])
            schedule = runs(begun.stitches, rest)
            finished = replace(
                section.finished,
                circumference_at_start=begun.stitches * stitch_width,
                along_fabric=rest.rounds * row_height,
                height=section.finished.height * rest.rounds / counts.rounds,
            )
            made.append(
                replace(
                    section,
                    first_row=begun.rows + 1,
                    rows=rest.rounds,
                    stitches_at_start=begun.stitches,
                    schedule=schedule,
                    in_words=in_words(begun.stitches, schedule, rest),
                    finished=finished,
                    row_counts=None if section.row_counts is None else tuple(rest),
                )
            )
    return tuple(made)
