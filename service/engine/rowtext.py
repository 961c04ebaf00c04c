"""One row in words: how it starts, what is worked across, how it ends."""

from __future__ import annotations

from dataclasses import dataclass

from .foundation import Foundation, Turning
from .shaping import ordinal
from .stitches import Stitch, Terms


@dataclass(frozen=True, slots=True)
class Words:
    """The stitch and the turning chain in force, in one dialect."""

    stitch: Stitch
    turn: Turning
    terms: Terms

    @property
    def st(self) -> str:
        return self.stitch.name(self.terms).short

    @property
    def skip(self) -> str:
        return "skip" if self.terms == "us" else "miss"

    def together(self, stitches: int) -> str:
        return f"{self.st}{stitches}tog" if " " not in self.st else f"{self.st} {stitches} tog"

    @property
    def short_turn(self) -> int:
        """Chains of a row that starts with a decrease: none of them counts."""
        return self.turn.chains - self.turn.counts


def brackets(*counts: int) -> str:
    """Stitch counts in brackets, as a pattern ends a row; a long list is cut in the middle.

    >>> brackets(38), brackets(1), brackets(6, 4, 2)
    ('(38 sts)', '(1 st)', '(6, 4, 2 sts)')
    """
    shown = [str(n) for n in counts]
    if len(shown) > 24:
        shown = [*shown[:4], "…", *shown[-3:]]
    return f"({', '.join(shown)} {'st' if counts == (1,) else 'sts'})"


def even_row(words: Words) -> str:
    """A row worked even, after the first.

    >>> from .stitches import STITCHES
    >>> even_row(Words(STITCHES["double-crochet"], Turning(3, True), "uk"))
    'ch 3 (counts as first tr), turn, miss first st, tr in each st to end'
    """
    return f"{_turn(words)}, {words.st} in each st to end"


def _turn(words: Words) -> str:
    if words.turn.counts:
        return f"ch {words.turn.chains} (counts as first {words.st}), turn, {words.skip} first st"
    return f"ch {words.turn.chains}, turn"


def shaping_row(words: Words, before: int, start: int, end: int) -> str:
    """A shaping row after the first: ``start`` and ``end`` are stitches gained at its two ends.

    >>> from .stitches import STITCHES
    >>> shaping_row(Words(STITCHES["single-crochet"], Turning(1, False), "us"), 38, -1, -1)
    'ch 1, turn, sc2tog, sc in each st to last 2 sts, sc2tog'
    """
    st, turn = words.st, words.turn
    short = f"ch {words.short_turn}{' (does not count)' if turn.counts else ''}, turn"
    after = before + start + end
    if after == 1 and before > 1:
        return f"{short}, {words.together(before)} over all {before} sts"
    if before == 1:
        inside = after - turn.counts
        return f"{_turn(words).split(',')[0]}, turn, {inside} {st} in the st"
    parts: list[str] = []
    if start < 0:
        parts += [short, words.together(1 - start)]
        used = 1 - start
    elif start > 0:
        head = _turn(words).removesuffix(f", {words.skip} first st")
        parts += [head, f"{start if turn.counts else start + 1} {st} in first st"]
        used = 1
    else:
        parts.append(_turn(words))
        used = int(turn.counts)
    parts += _across(words, before - used, end, "st", untouched=start == 0)
    return ", ".join(parts)


def _across(words: Words, left: int, end: int, into: str, untouched: bool) -> list[str]:
    """The plain stretch and the end of a row with ``left`` stitches (or chains) still to work."""
    st = words.st
    taken = 1 - end if end < 0 else 1 if end else 0
    plain = left - taken
    parts: list[str] = []
    if plain > 0:
        if not taken:
            parts.append(f"{st} in each {into} to end")
        else:
            last = f"{taken} {into}s" if taken > 1 else into
            parts.append(f"{st} in each {into} to last {last}")
    if end < 0:
        parts.append(words.together(taken))
    elif end > 0:
        parts.append(f"{end + 1} {st} in last {into}")
    return parts


def first_row(words: Words, made: Foundation, start: int = 0, end: int = 0) -> str:
    """The first row, into the foundation chain, plain or shaped at its two ends.

    >>> from .foundation import foundation
    >>> from .stitches import STITCHES
    >>> words = Words(STITCHES["double-crochet"], Turning(3, True), "us")
    >>> first_row(words, foundation(10, words.turn))
    'dc in 4th ch from hook (the 3 chs skipped count as first dc), dc in each ch to end'
    """
    st, turn, bases = words.st, words.turn, made.stitches
    after = bases + start + end
    counted = f" (the {turn.chains} chs skipped count as first {st})" if turn.counts else ""
    # Where the skipped chains stand for a stitch, its base is the last of them.
    first = words.short_turn + 1
    if after == 1 and bases > 1:
        return f"{words.together(bases)} over all {bases} chs from the {ordinal(first)} from hook"
    if bases == 1:
        if after == 1:
            return (
                "the ch counts as the only st"
                if turn.counts
                else f"{st} in {ordinal(first)} ch from hook"
            )
        return f"{after - turn.counts} {st} in {ordinal(first)} ch from hook{counted}"
    parts: list[str] = []
    if start < 0:
        left_out = f" (the {words.short_turn} chs skipped do not count)" if turn.counts else ""
        parts.append(
            f"{words.together(1 - start)} over the {_chains(first, 1 - start)} from hook{left_out}"
        )
        used = 1 - start
    elif start > 0:
        parts.append(
            f"{start if turn.counts else start + 1} {st} in {ordinal(first)} ch from hook{counted}"
        )
        used = 1
    else:
        parts.append(f"{st} in {ordinal(made.first_stitch_in_chain)} ch from hook{counted}")
        used = 1 + turn.counts
    if not start and bases - used < (1 - end if end < 0 else int(end > 0)):
        # The first stitch already reaches into what the end of the row takes.
        parts = [] if not turn.counts else [f"the {turn.chains} chs skipped count as first {st}"]
        used = int(turn.counts)
    return ", ".join([*parts, *_across(words, bases - used, end, "ch", untouched=start == 0)])


def _chains(first: int, number: int) -> str:
    if number == 2:
        return f"{ordinal(first)} and {ordinal(first + 1)} chs"
    return f"{ordinal(first)} to {ordinal(first + number - 1)} chs"
