"""A written piece worked in one size, row upon row: every count that does not hold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from .auditfindings import Amount, Code, Finding, Remedy, Stretch, Walked
from .auditfixes import recount, refit, sts
from .auditlines import Unit, by_size, lines
from .auditorder import AuditPiece, in_size
from .auditrows import Below, Budget, Worked, going_over, one, work
from .errors import Path
from .rowtext import plural
from .working import AUDITED_ROW, spend

AHEAD = 12
"""Lines looked at to tell which of two counts the rows after a slip go on from.
Source: common-practice."""

Tell = Callable[[Below], Finding]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What rows come to: the counts to go on from, likeliest first, and what to tell of them."""

    options: tuple[Below, ...]
    tell: Tell | None = None
    widest: int = 0


@dataclass(frozen=True, slots=True)
class _Walk:
    piece: AuditPiece
    size: str
    budget: Budget

    @property
    def flat(self) -> bool:
        return self.piece.worked == "flat"

    def where(self, row: int) -> str:
        what = "Row" if self.flat else "Round"
        return f"{what} {row} of {self.piece.name} in size {self.size}"

    def finding(
        self,
        code: Code,
        row: int | None,
        last: int | None,
        amounts: tuple[Amount | None, Amount | None],
        correction: Remedy,
        text: str,
        field: Path,
    ) -> Finding:
        stated, comes_to = amounts
        return Finding(
            code=code, size=self.size, piece=self.piece.name, row=row, last_row=last, stated=stated,
            comes_to=comes_to, correction=correction, text=f"{text}: {correction.text}.",
            field=field,
        )  # fmt: skip

    # --- foundation -------------------------------------------------------------------------

    def start(self, path: Path) -> Outcome:
        base = self.piece.foundation
        if base is None:
            return Outcome((Below(0),))
        at: Path = (*path, "foundation")
        stated = None if base.stitches is None else in_size(base.stitches, self.size)
        if base.chain is None:
            assert stated is not None
            return Outcome((Below(stated),))
        chain = in_size(base.chain, self.size)
        made = base.bases(chain)
        if stated == 1 and base.skipped_chains_count and chain == base.first_stitch_in_chain:
            made = 1  # the only stitch goes into the last chain, and those before it stand for none
        if stated is None or stated == made:
            return Outcome((Below(made),))

        def tell(chosen: Below) -> Finding:
            right = base.chain_for(stated)
            field = by_size((*at, "stitches"), base.stitches, self.size)
            correction = Remedy(f"state {sts(made)}", field, made)
            if (chosen.count == stated or made < 1) and right is not None:
                field = by_size((*at, "chain"), base.chain, self.size)
                correction = Remedy(f"chain {right}", field, right)
            return self.finding(
                "foundation-count", None, None,
                (Amount(stated, "stitches"), Amount(made, "stitches")), correction,
                f"The foundation of {self.piece.name} in size {self.size} is stated as"
                f" {sts(stated)}; {plural(chain, 'chain')}, worked from chain"
                f" {base.first_stitch_in_chain}, give {made}", field,
            )  # fmt: skip

        return Outcome((Below(made), Below(stated)), tell)

    # --- rows -------------------------------------------------------------------------------

    def advance(self, unit: Unit, below: Below) -> Outcome:
        self.budget.spend(1, unit.path)
        return self._run(unit, below) if unit.row is None else self._rows(unit, below)

    def _rows(self, unit: Unit, below: Below) -> Outcome:
        row, made = self._worked(unit, below)
        if not made.fits:
            return self._unfit(unit, row, made)
        return self._stated(unit, made.next(self.flat), made, max(below.count, made.made))

    def _worked(self, unit: Unit, below: Below) -> tuple[int, Worked]:
        """The first row that does not fit, or the last; rows that change alike are not worked."""
        assert unit.row is not None
        row, made = unit.first, work(unit.row, below, self.budget)
        while made.fits and row < unit.last:
            after, change = made.next(self.flat), made.made - below.count
            if after == below:
                break
            far = Below(below.count + (unit.last - row) * change)
            if not after.spaces and far.count > 0:
                # Where the last of the rows fits, and changes as the first does, all do.
                end = work(unit.row, far, self.budget)
                plain = all(s.upto == "count" or s.kind == "plain" for s in unit.row)
                if plain and end.fits and end.made - far.count == change:
                    return unit.last, end
            below, row = after, row + 1
            made = work(unit.row, below, self.budget)
        return row, made

    def _unfit(self, unit: Unit, row: int, made: Worked) -> Outcome:
        assert unit.row is not None
        stated = unit.stated if unit.rows == 1 else None
        over, below = made.over, made.below.count
        code: Code = "stitches-left-over" if over > 0 else "stitches-short"
        text = f"{self.where(row)} takes {made.taken} of the {sts(below)} below"
        fix = refit(unit.row, made, stated, unit.path)
        correction, field, makes = fix.correction, fix.correction.field, fix.makes
        amounts: tuple[Amount | None, Amount | None]
        amounts = (Amount(made.taken, "stitches"), Amount(below, "stitches"))
        step = made.step
        if made.amiss == "repeat-does-not-fit" and step:
            takes, room = made.fitted
            went, left = going_over(takes, room)
            code, field = "repeat-does-not-fit", step.path
            text = (
                f"{self.where(row)} repeats what takes {sts(takes)} over {sts(room)}, {went} times"
                f" with {left} left over"
            )
            # Of what is left, the rest of the row may take some, or more than there is.
            times, rest = going_over(takes, max(0, went * takes + over))
            told = f"repeat it {plural(times, 'time')}"
            if rest:
                told += f" and work the last {rest} plain"
            correction = Remedy(told, field, times)
            makes = made.made + (times - went) * one(step.group)[1] + rest
            amounts = (None, Amount(went, "times"))
        elif made.amiss == "past-the-last" and step:
            code, field = "stitches-short", step.path
            text = (
                f"{self.where(row)} is to go on to the last {step.n}, where"
                f" {sts(made.left)} {'is' if made.left == 1 else 'are'} left"
            )
            correction = Remedy(f"to the last {made.left} here", field, made.left)
            if row > unit.first:  # those before it fit as they are written
                rows = "rows" if self.flat else "rounds"
                correction = Remedy(f"let the one before be the last of these {rows}", unit.path)
            amounts = (Amount(step.n, "stitches"), Amount(made.left, "stitches"))
        elif made.amiss == "no-space-here" and step:
            code, field = "no-space-here", step.path
            near = [at + 1 for at, _ in made.below.spaces or ()]
            text = f"{self.where(row)} is worked into a chain space that is not there"
            told = f"the spaces below come at stitch {_listed(near)}" if near else "there is none"
            correction = Remedy(told, unit.path)
            amounts = (None, None)
        options = [Below(makes, None), Below(made.made, None)]
        if unit.stated is not None:
            options.insert(0, Below(unit.stated, None))
        found = self.finding(code, row, unit.line[1], amounts, correction, text, field)
        return Outcome(tuple(options), lambda _: found, max(below, makes))

    def _stated(self, unit: Unit, after: Below, made: Worked, widest: int) -> Outcome:
        stated = unit.stated
        if stated is None or stated == after.count:
            return Outcome((after,), widest=widest)
        row = unit.row
        assert row is not None

        def tell(chosen: Below) -> Finding:
            correction = Remedy(f"state {sts(after.count)}", unit.stated_path, after.count)
            if chosen.count == stated and unit.rows == 1:
                correction = recount(row, made, stated, unit.path)
            return self._miscounted(unit, stated, after.count, correction)

        return Outcome((after, Below(stated, None)), tell, widest)

    def _miscounted(self, unit: Unit, stated: int, comes_to: int, correction: Remedy) -> Finding:
        text = f"{self.where(unit.last)} is stated as {sts(stated)} and comes to {comes_to}"
        return self.finding(
            "stated-count", unit.last, unit.line[1],
            (Amount(stated, "stitches"), Amount(comes_to, "stitches")), correction, text,
            unit.stated_path,
        )  # fmt: skip

    # --- runs -------------------------------------------------------------------------------

    def _run(self, unit: Unit, below: Below) -> Outcome:
        run, stated = unit.run, unit.stated
        assert run is not None
        made = below.count + run.times * run.change
        after = Below(max(made, 0), None if unit.rows else below.spaces)
        options = (after,) if stated in (None, after.count) else (after, Below(stated or 0, None))
        widest = max(below.count, after.count)
        if run.times * run.every > run.rows:
            fits, needs = run.rows // run.every, run.times * run.every
            correction = Remedy(f"let it cover {needs} rows", (*unit.path, "rows"), needs)
            if stated == below.count + fits * run.change:
                text = f"shape {plural(fits, 'time')}"
                correction = Remedy(text, (*unit.path, "times"), fits)
            text = (
                f"{self.where(unit.first)} begins a run of {plural(run.rows, 'row')}, in which"
                f" every {run.every} rows go {plural(fits, 'time')} and not {run.times}"
            )
            found = self.finding(
                "run-does-not-fit", unit.first, unit.line[1],
                (Amount(run.rows, "rows"), Amount(run.times * run.every, "rows")), correction,
                text, unit.path,
            )  # fmt: skip
            return Outcome(options, lambda _: found, widest)
        if run.change < 0 and made < int(self.flat):
            most = max(0, below.count - int(self.flat)) // -run.change
            correction = Remedy(f"shape {plural(most, 'time')}", (*unit.path, "times"), most)
            text = f"{self.where(unit.last)} would be left with {made} stitches"
            found = self.finding(
                "nothing-left", unit.last, unit.line[1], (None, Amount(made, "stitches")),
                correction, text, unit.path,
            )  # fmt: skip
            return Outcome(options[::-1], lambda _: found, widest)
        if len(options) == 1 or stated is None:
            return Outcome(options, widest=widest)

        def tell(chosen: Below) -> Finding:
            correction = Remedy(f"state {sts(made)}", unit.stated_path, made)
            gained = stated - below.count
            if chosen.count == stated and run.change and not gained % run.change:
                times = gained // run.change
                if 0 < times * run.every <= run.rows:
                    text, field = f"shape {plural(times, 'time')}", (*unit.path, "times")
                    correction = Remedy(text, field, times)
            if chosen.count == stated and run.times and not gained % run.times:
                each = gained // run.times
                text = f"let each shaping row change {each:+d} stitches"
                correction = Remedy(text, unit.path, each)
            return self._miscounted(unit, stated, made, correction)

        return Outcome(options, tell, widest)

    # --- going on ---------------------------------------------------------------------------

    def settle(self, found: Outcome, ahead: tuple[Unit, ...]) -> tuple[Below, Finding | None]:
        """The count to go on from: the one with which the lines after hold for longest."""
        if found.tell is None:
            return found.options[0], None
        best, longest = found.options[0], -1
        for option in dict.fromkeys(found.options):
            held = self._holds(option, ahead)
            if held > longest:
                best, longest = option, held
            if held == len(ahead):
                break
        return best, found.tell(best)

    def _holds(self, below: Below, ahead: tuple[Unit, ...]) -> int:
        for held, unit in enumerate(ahead):
            made = self.advance(unit, below)
            if made.tell:
                return held
            below = made.options[0]
        return len(ahead)


def _listed(numbers: list[int]) -> str:
    shown = [str(n) for n in numbers[:6]]
    return ", ".join(shown) + (" and so on" if len(numbers) > 6 else "")


def walk(piece: AuditPiece, size: str, path: Path, budget: Budget) -> Walked:
    """Work the piece as it is written, in one size.

    A row that does not hold is told once. The rows after it are worked on from what its stitches
    make or from what it is stated as, whichever lets them hold for longer: so a slip that the
    rest of the pattern does not share gives one finding. Raises Refused past the work that an
    audit may take. Source: common-practice.

    >>> from .auditorder import FoundationOrder, LineOrder, WorkOrder
    >>> plain = (WorkOrder("plain", "to-end"),)
    >>> piece = AuditPiece("case", (LineOrder(plain, stitches=19), LineOrder(plain, stitches=20)),
    ...     foundation=FoundationOrder(chain=21, first_stitch_in_chain=2, stitches=20))
    >>> [(f.code, f.row) for f in walk(piece, "pocket", (), Budget()).findings]
    [('stated-count', 1)]
    """
    walking, told = _Walk(piece, size, budget), lines(piece, size, path, budget)
    findings: list[Finding] = []
    below, found = walking.settle(walking.start(path), told.units[:AHEAD])
    findings += [found] if found else []
    foundation = widest = below.count
    sections: dict[str, Stretch] = {}
    fields = {finding.field for finding in findings}
    for i, unit in enumerate(told.units):
        spend(AUDITED_ROW, unit.path)
        made = walking.advance(unit, below)
        below, found = walking.settle(made, told.units[i + 1 : i + 1 + AHEAD])
        # A slip in a row that others are worked as is told in the first of them.
        if found and found.field not in fields:
            findings.append(found)
            fields.add(found.field)
        widest = max(widest, below.count, 0 if found else made.widest)
        if unit.section:
            rows = sections.get(unit.section, Stretch(0, 0)).rows + unit.rows
            sections[unit.section] = Stretch(rows, below.count)
    return Walked(
        foundation=foundation,
        last=below.count,
        widest=widest,
        rows=told.rows,
        sections=sections,
        numbered=told.numbered,
        stated=sum(unit.stated is not None for unit in told.units),
        findings=(*told.findings, *findings),
    )
