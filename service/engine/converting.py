"""A piece's counts taken from one gauge to another: foundation, sections, and what they come to."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field, replace

from .cautions import Caution
from .conversionparts import (
    Converted,
    ConvertedFoundation,
    ConvertedSection,
    ConvertedSize,
    ConvertedTotals,
    WrittenCounts,
)
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .foundation import Turning, foundation
from .gauge import Gauge
from .outlining import MOST_CHANGE
from .respread import Stretch, flat_schedule, round_counts, stretches
from .rounding import ANY, MOST_ROWS, MOST_STITCHES, Multiple, Rounding, whole
from .rounds import FEWEST_IN_RING, Counts, RoundRun, runs
from .roundwords import in_words as in_round_words
from .shaping import Rules, Run, Schedule, point, row_counts
from .shapingtext import in_words
from .units import System, written
from .writtenwork import Worked, WrittenSection


@dataclass(frozen=True, slots=True)
class Pair:
    """The gauge that counts were written at, and the one they are taken to."""

    written: Gauge
    new: Gauge

    @property
    def stitches(self) -> Fraction:
        """Stitches at the new gauge for one as written."""
        return self.written.stitch_width / self.new.stitch_width

    @property
    def rows(self) -> Fraction:
        """Rows at the new gauge for one as written."""
        return self.written.row_height / self.new.row_height


def pair(written_at: Gauge, new: Gauge) -> Pair:
    """Two gauges, and how many of the one stand for one of the other. Source: geometry.

    >>> from .gauge import square
    >>> pair(square(20, 20), square(22, 20)).stitches
    Fraction(11, 10)
    """
    return Pair(written_at, new)


@dataclass(slots=True)
class Converting:
    """One piece on its way from one gauge to the other, and the cautions met on it."""

    both: Pair
    worked: Worked
    stitch_multiple: Multiple = ANY
    row_multiple: Multiple = ANY
    rounding: Rounding = "nearest"
    right_side_only: bool = False
    max_change: int | None = None
    units: System = "metric"
    every_row: bool = False
    cautions: list[Caution] = field(default_factory=list)

    def begin(
        self, chain: int | None, stitches: int, turn: Turning, new: Turning
    ) -> ConvertedFoundation:
        """The foundation at the new gauge; raises Refused where it is too large."""
        made = self.stitches(stitches, ("foundation", "stitches")) if stitches else 0
        flat = foundation(made, new) if self.worked == "flat" else None
        before = foundation(stitches, turn).chain if flat else stitches or None
        return ConvertedFoundation(
            chain=flat.chain if flat else made or None,
            first_stitch_in_chain=flat.first_stitch_in_chain if flat else None,
            turning_chain_counts=new.counts,
            turning_chain=new.chains,
            stitches=made,
            written_chain=before if chain is None else chain,
            written_stitches=stitches,
            width=self.across(stitches, made),
        )

    def across(self, before: int, after: int) -> Converted:
        both = self.both
        return Converted.of(before * both.written.stitch_width, after * both.new.stitch_width)

    def up(self, before: int, after: int) -> Converted:
        return Converted.of(before * self.both.written.row_height, after * self.both.new.row_height)

    def stitches(self, count: int, path: Path) -> int:
        """A count of stitches at the new gauge, the multiple kept."""
        made = whole(count * self.both.stitches, self.stitch_multiple, self.rounding)
        fewest = self.stitch_multiple.smallest
        if self.worked == "round":
            fewest = max(fewest, whole(Fraction(FEWEST_IN_RING), self.stitch_multiple, "at-least"))
        if made < fewest:
            self._narrow(count, fewest, path)
            made = fewest
        _in_reach(made, MOST_STITCHES, "stitches", self.stitch_multiple, self.both.stitches, path)
        return made

    def _narrow(self, count: int, fewest: int, path: Path) -> None:
        exact = float(count * self.both.stitches)
        self.cautions.append(
            Caution(
                "fewest-stitches",
                f"{count} stitches as written are {exact:.2f} at the new gauge; the fewest that"
                f" can be worked, {fewest}, are taken, and are wider.",
                path,
                "common-practice",
            )
        )

    def sections(
        self, start: int, begun: int, asked: tuple[WrittenSection, ...], ends: tuple[int, ...]
    ) -> tuple[ConvertedSection, ...]:
        """Each section re-spread at the new gauge.

        Raises Refused with every section whose shaping does not fit, and what would.
        """
        found, made, first = Findings(), [], 1
        before, now = start, begun
        for i, (section, end) in enumerate(zip(asked, ends, strict=True)):
            one = None
            with found.collecting():
                one = self._section(section, i, (before, end), now, first)
            if not one:
                break  # what it ends with is not known
            made.append(one)
            before, now, first = end, one.stitches_at_end, first + one.rows
            if first - 1 > MOST_ROWS:
                detail = f"the sections come to {first - 1} rows and more; at most {MOST_ROWS} are"
                found.add("too-many-rows", ("sections",), f"{detail} reckoned", {"rows": MOST_ROWS})
                break
        found.settle()
        return tuple(made)

    def _section(
        self, section: WrittenSection, index: int, counts: tuple[int, int], now: int, first: int
    ) -> ConvertedSection:
        path: Path = ("sections", index)
        before, end = counts
        rows = whole(section.rows * self.both.rows, self.row_multiple, self.rounding)
        rows = max(self.row_multiple.smallest, rows)
        _in_reach(rows, MOST_ROWS, "rows", self.row_multiple, self.both.rows, (*path, "rows"))
        parts = stretches(before, end, section)
        new = self._counts(parts, before, now, path)
        after = new[-1]
        try:
            schedule, words, each = self._spread(parts, new, rows, first)
        except Refused as refused:
            (refusal,) = refused.refusals
            if refusal.code != "shaping-does-not-fit":
                raise
            fits = self._would_fit(parts, new, rows, first)
            raise Refused(self._told(refusal, section, path, parts, fits)) from None
        return ConvertedSection(
            name=section.name,
            first_row=first,
            rows=rows,
            stitches_at_start=now,
            stitches_at_end=after,
            schedule=schedule,
            in_words=words,
            written=WrittenCounts(section.rows, before, end),
            sizes=ConvertedSize(
                self.across(before, now), self.across(end, after), self.up(section.rows, rows)
            ),
            row_counts=each if self.every_row else None,
        )

    def _counts(
        self, parts: tuple[Stretch, ...], before: int, now: int, path: Path
    ) -> tuple[int, ...]:
        """Stitches before the section and after each of its stretches.

        Worked flat, a point stays a point, two stitches or one as both edges allow, unless a
        stitch is now so narrow that more fit into its width.
        """
        new, old = [now], before
        for part in parts:
            edges = part.edges
            pointed = self.worked == "flat" and self.stitch_multiple == ANY
            pointed = pointed and whole(part.stitches * self.both.stitches) <= 2
            if part.stitches == old:
                new.append(new[-1])
            elif pointed and edges and part.stitches == point(old, edges) and part.stitches < old:
                new.append(point(new[-1], edges))
            elif part is not parts[-1]:
                # Within a section only the shape counts: its ends keep the multiple.
                fewest = FEWEST_IN_RING if self.worked == "round" else 1
                new.append(max(fewest, whole(part.stitches * self.both.stitches)))
            else:
                new.append(self.stitches(part.stitches, (*path, "stitches_at_end")))
            old = part.stitches
        return tuple(new)

    def _spread(
        self, parts: tuple[Stretch, ...], new: tuple[int, ...], rows: int, first: int
    ) -> tuple[tuple[Run | RoundRun, ...], str, tuple[int, ...]]:
        if self.worked == "round":
            if len(set(new)) == 1:
                counts = Counts(((new[0], rows),))
                made = runs(new[0], counts)
            else:
                made, counts = round_counts(parts, new, rows)
            self._check_rounds(made)
            each = tuple(counts) if self.every_row else ()
            return made, in_round_words(new[0], made, counts), each
        rules = Rules("both", self.max_change, self.right_side_only, first % 2 == 1)
        schedule: Schedule = flat_schedule(parts, new, rows, rules, self.both.stitches)
        each = tuple(row_counts(new[0], rows, schedule)) if self.every_row else ()
        return schedule, in_words(new[0], schedule), each

    def _check_rounds(self, made: tuple[RoundRun, ...]) -> None:
        most = self.max_change
        shaped = made if not made or made[0].stitches_after != made[0].change else made[1:]
        worst = max((abs(run.change) for run in shaped), default=0)
        if most is not None and worst > most:
            detail = f"a round changes {worst} stitches, and at most {most} are asked for"
            raise Refused(Refusal("changes-too-many", ("max_change",), detail, {"minimum": worst}))

    def _would_fit(
        self, parts: tuple[Stretch, ...], new: tuple[int, ...], rows: int, first: int
    ) -> int | None:
        """The least largest change a row that lets the shaping fit; None past the most there is."""

        def fits(most: int) -> bool:
            try:
                replace(self, max_change=most)._spread(parts, new, rows, first)
            except Refused:
                return False
            return True

        least = bisect_left(range(1, MOST_CHANGE + 1), True, key=fits) + 1
        return None if self.worked == "round" or least > MOST_CHANGE else least

    def _told(
        self,
        refusal: Refusal,
        section: WrittenSection,
        path: Path,
        parts: tuple[Stretch, ...],
        fits: int | None,
    ) -> Refusal:
        """A shaping refusal said of the section that was written, with what would work."""
        assert isinstance(refusal.permitted, dict)
        permitted = dict(refusal.permitted)
        needs = permitted["minimum_rows"]
        height = written(needs * self.both.new.row_height, self.units, up=True)
        detail = f"{section.name}, converted: {refusal.detail}; {needs} rows are {height}"
        if fits:
            permitted["max_change"] = fits
            detail += f"; {fits} stitches a row would fit"
        if not section.schedule:
            enough = whole(Fraction(needs), self.row_multiple, "at-least")
            # Half a multiple short still rounds up, where the nearest count is asked for.
            spare = Fraction(self.row_multiple.multiple, 2) if self.rounding == "nearest" else 0
            rows = (enough - spare) / self.both.rows
            permitted["written_rows"] = whole(rows, self.row_multiple, "at-least")
        return replace(refusal, path=(*path, "rows"), detail=detail, permitted=permitted)

    def totals(
        self,
        wide: int,
        asked: tuple[WrittenSection, ...],
        begun: ConvertedFoundation,
        made: tuple[ConvertedSection, ...],
    ) -> ConvertedTotals:
        """The piece in all, as written and as converted."""
        rows, before = sum(s.rows for s in made), sum(s.rows for s in asked)
        widest = max((begun.stitches, *(s.stitches_at_end for s in made)))
        return ConvertedTotals(rows, before, self.across(wide, widest), self.up(before, rows))


def _in_reach(
    made: int, most: int, what: str, multiple: Multiple, factor: Fraction, path: Path
) -> None:
    """Raises Refused for a count past the most there is, and says how many may be written."""
    if made > most:
        detail = f"that is {made} {what} at the new gauge; at most {most} are reckoned"
        fits = int(whole(Fraction(most), multiple, "at-most") / factor)
        raise Refused(Refusal("too-many", path, detail, {"maximum": fits}))
