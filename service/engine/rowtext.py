"""One row in words: how it starts, what is worked across, how it ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

from .foundation import Foundation, Turning
from .numerals import ordinal
from .stitches import STITCHES, Stitch, Terms


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """The stitch and the turning chain in force, in one dialect; take them from ``words_of``."""

    stitch: Stitch
    turn: Turning
    terms: Terms
    st: str = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "st", self.stitch.name(self.terms).short)

    @property
    def skip(self) -> str:
        return "skip" if self.terms == "us" else "miss"

    @property
    def skipped(self) -> str:
        return "skipped" if self.terms == "us" else "missed"

    @property
    def short_turn(self) -> int:
        """Chains of a row that starts with a decrease: a chain fewer, and none of them counts.

        Where the turning chain is already the shorter custom, it is no shorter here.
        """
        if not self.turn.counts:
            return self.turn.chains
        return min(self.turn.chains, max(self.turn.chains, self.stitch.turning_chain) - 1)

    def together(self, stitches: int) -> str:
        return f"{self.st}{stitches}tog" if " " not in self.st else f"{self.st} {stitches} tog"

    def some(self, stitches: int) -> str:
        """``sc``, ``2 sc``: one stitch is written without its number."""
        return self.st if stitches == 1 else f"{stitches} {self.st}"


@lru_cache(maxsize=256)
def words_of(stitch: str, chains: int, counts: bool, terms: Terms) -> Words:
    """The one Words of its kind, so that rows once written can be known again.

    Source: common-practice.

    >>> words_of("single-crochet", 1, False, "us").st
    'sc'
    """
    return Words(STITCHES[stitch], Turning(chains, counts), terms)


def plural(number: int, one: str, several: str | None = None) -> str:
    """``1 st``, ``2 sts``.

    >>> plural(1, "st"), plural(3, "ch")
    ('1 st', '3 chs')
    """
    return f"{number} {one if number == 1 else several or one + 's'}"


def brackets(*counts: int) -> str:
    """Stitch counts in brackets, as a pattern ends a row; a long list is cut in the middle.

    >>> brackets(38), brackets(1), brackets(6, 4, 2)
    ('(38 sts)', '(1 st)', '(6, 4, 2 sts)')
    """
    shown = [str(n) for n in counts]
    if len(shown) > 24:
        shown = [*shown[:4], "…", *shown[-3:]]
    return f"({', '.join(shown)} {'st' if counts == (1,) else 'sts'})"


def _taken(change: int) -> int:
    """Stitches of the row below that an end takes besides the plain ones."""
    return 1 - change if change < 0 else int(change > 0)


def _apart(start: int, end: int, short: int) -> tuple[int, int]:
    """A loss at one end and a gain at the other that would share ``short`` stitches: less of both.

    The stitches that would be lost and then gained again are worked plain.

    >>> _apart(-2, 2, 1), _apart(-2, 2, 0)
    ((-1, 1), (-2, 2))
    """
    short = max(0, min(short, abs(start), abs(end))) if start * end < 0 else 0
    return (start + short, end - short) if start < 0 else (start - short, end + short)


def plain_stitches(words: Words, before: int, start: int, end: int) -> int:
    """Stitches of the plain stretch between the two ends of a row after the first.

    >>> from .stitches import STITCHES
    >>> plain_stitches(Words(STITCHES["single-crochet"], Turning(1, False), "us"), 38, -1, -1)
    34
    """
    stood_on = int(words.turn.counts and start == 0)
    return before - _taken(start) - _taken(end) - stood_on


@lru_cache(maxsize=4096)
def worked_row(
    words: Words, before: int, start: int = 0, end: int = 0, middle: str | None = None
) -> str:
    """A row after the first: ``start`` and ``end`` are stitches gained (or lost) at its two ends.

    ``middle`` says what is worked over the plain stretch where it is not plain.

    >>> from .stitches import STITCHES
    >>> sc = Words(STITCHES["single-crochet"], Turning(1, False), "us")
    >>> worked_row(sc, 38, -1, -1)
    'ch 1, turn, sc2tog, sc in each st to last 2 sts, sc2tog'
    >>> worked_row(Words(STITCHES["double-crochet"], Turning(3, True), "uk"), 9)
    'ch 3 (counts as first tr), turn, miss first st, tr in each st to end'
    """
    turn = words.turn
    after = before + start + end
    start, end = _apart(start, end, -plain_stitches(words, before, start, end))
    short = f"ch {words.short_turn}{' (does not count)' if turn.counts else ''}, turn"
    if before == 1:
        return f"{short}, {words.some(after)} in the st"
    if after == 1:
        return f"{short}, {words.together(before)}"
    if start < 0:
        parts = [short, words.together(1 - start)]
    elif not turn.counts:
        parts = [short]
        if start:
            parts.append(f"{start + 1} {words.st} in first st")
    else:
        parts = [f"ch {turn.chains} (counts as first {words.st}), turn"]
        parts.append(f"{words.some(start)} in first st" if start else f"{words.skip} first st")
    plain = plain_stitches(words, before, start, end)
    return ", ".join([*parts, *_across(words, plain, end, "st", middle)])


def _across(words: Words, plain: int, end: int, into: str, middle: str | None = None) -> list[str]:
    """The plain stretch, and the end of the row."""
    parts: list[str] = []
    if middle is not None:
        parts.append(middle)
    elif plain > 0 and not end:
        parts.append(f"{words.st} in each {into} to end")
    elif plain > 0:
        last = plural(_taken(end), into) if _taken(end) > 1 else into
        parts.append(f"{words.st} in each {into} to last {last}")
    if end < 0:
        parts.append(words.together(1 - end))
    elif end > 0:
        parts.append(f"{end + 1} {words.st} in last {into}")
    return parts


def first_row(words: Words, made: Foundation, start: int = 0, end: int = 0) -> str:
    """The first row, into the foundation chain, plain or shaped at its two ends.

    >>> from .foundation import foundation
    >>> from .stitches import STITCHES
    >>> words = Words(STITCHES["double-crochet"], Turning(3, True), "us")
    >>> first_row(words, foundation(10, words.turn))
    'dc in 4th ch from hook (3 skipped chs count as first dc), dc in each ch to end'
    """
    turn, bases = words.turn, made.stitches
    after = bases + start + end
    # A gain at the start is worked beside the stitch that the skipped chains stand for.
    stood_on = int(turn.counts and start > 0)
    start, end = _apart(start, end, _taken(start) + _taken(end) + stood_on - bases)
    # The chains before the first base; none of them is worked into or stands for a stitch.
    spare = made.chain - bases
    not_counted = (
        f" ({plural(spare, f'{words.skipped} ch')} {'does' if spare == 1 else 'do'} not count)"
        if turn.chains > 1
        else ""
    )
    if bases == 1:
        return f"{words.some(after)} in {ordinal(spare + 1)} ch from hook{not_counted}"
    if start < 0 or after == 1:
        over = bases if after == 1 else 1 - start
        text = f"{words.together(over)} over {_chains(spare + 1, over)} from hook{not_counted}"
        if after == 1:
            return text
        return ", ".join([text, *_across(words, bases - over - _taken(end), end, "ch")])
    # The stitch that the skipped chains stand for has the last of them for its base.
    counted = not_counted
    if turn.counts:
        counted = f" ({turn.chains} {words.skipped} chs count as first {words.st})"
    into = f"{ordinal(turn.chains + 1)} ch from hook{counted}"
    left = bases - 1 - turn.counts
    if end < 0 and left < _taken(end):
        chains = _chains(turn.chains + 1, 1 - end)
        return f"{words.together(1 - end)} over {chains} from hook{counted}"
    if end > 0 and not left:
        return f"{words.some(start + 1 + end)} in {into}"
    return ", ".join(
        [f"{words.some(start + 1)} in {into}", *_across(words, left - _taken(end), end, "ch")]
    )


def _chains(first: int, number: int) -> str:
    named = [ordinal(first + i) for i in range(number)]
    return f"{named[0]} {'and' if number == 2 else 'to'} {named[-1]} chs"
