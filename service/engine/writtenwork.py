"""Work as a pattern writes it: its foundation and sections, checked to come to what they say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .counting import not_in_multiple
from .errors import Findings, Path, Refusal, Refused
from .foundation import Turning, foundation
from .rounding import MOST_ROWS, MOST_STITCHES, Multiple
from .shaping import Edges

Worked = Literal["flat", "round"]


@dataclass(frozen=True, slots=True)
class WrittenRun:
    """A run as written: changes at each edge worked flat, one change in the round."""

    rows: int
    every: int = 1
    times: int = 0
    left: int | None = None
    right: int | None = None
    change: int | None = None
    stitches_after: int | None = None

    @property
    def total(self) -> int:
        """Stitches gained or lost in one shaping row."""
        return (self.left or 0) + (self.right or 0) + (self.change or 0)


@dataclass(frozen=True, slots=True)
class WrittenSection:
    """Rows, and how they are shaped; no end count and no schedule is worked even."""

    name: str
    rows: int
    stitches_at_end: int | None = None
    schedule: tuple[WrittenRun, ...] = ()
    edges: Edges = "both"


@dataclass(frozen=True, slots=True)
class WrittenFoundation:
    """Chains, stitches or both, and the custom for turning chains; None means the usual."""

    chain: int | None = None
    stitches: int | None = None
    turning_chain: int | None = None
    turning_chain_counts: bool | None = None


def stitches_of(written: WrittenFoundation, turn: Turning, worked: Worked) -> int:
    """Stitches of the first row (or that the first round goes into), chain and count agreeing.

    Raises Refused where they do not, or where neither is told. Source: all-in-one.

    >>> stitches_of(WrittenFoundation(chain=39), Turning(1, False), "flat")
    38
    """
    path: Path = ("foundation",)
    chain, stitches = written.chain, written.stitches
    if chain is None and stitches is None:
        detail = "give the stitches of the first row, the chain, or both"
        raise Refused(
            Refusal("no-foundation-count", path, detail, {"one_of": ["stitches", "chain"]})
        )
    if worked == "flat":
        skipped = turn.chains - turn.counts
        stitches = chain - skipped if stitches is None and chain is not None else stitches
        assert stitches is not None
        fewest = 1
        fits = chain is None or stitches < 1 or foundation(stitches, turn).chain == chain
        permitted: dict[str, object] = {"chain": stitches + skipped}
        if chain is not None:
            permitted["stitches"] = max(1, chain - skipped)
    else:
        stitches = chain if stitches is None else stitches
        assert stitches is not None
        fewest, fits = (0 if chain is None else 1), chain is None or chain == stitches
        permitted = {"chain": stitches, "stitches": chain}
    if stitches < fewest:
        raise Refused(
            Refusal(
                "foundation-too-small",
                path,
                f"that leaves {stitches} stitches to work into; there must be at least {fewest}",
                {"stitches": fewest},
            )
        )
    if not fits:
        how = f"a turning chain of {turn.chains} that {'counts' if turn.counts else 'does not'}"
        detail = f"a chain of {chain} does not come to {stitches} stitches"
        if worked == "flat":
            detail += f" with {how}{'' if turn.counts else ' count'} as a stitch"
        raise Refused(Refusal("chain-disagrees", (*path, "chain"), detail, permitted))
    return stitches


def check_sections(
    start: int,
    sections: tuple[WrittenSection, ...],
    worked: Worked,
    stitch_multiple: Multiple,
    row_multiple: Multiple,
) -> tuple[int, ...]:
    """Stitches at the end of each section, each schedule added up.

    Raises Refused with everything that does not come to what it says. Source: common-practice.

    >>> flap = WrittenSection("flap", 18, 2, (WrittenRun(18, 1, 18, -1, -1),))
    >>> check_sections(38, (flap,), "flat", Multiple(), Multiple())
    (2,)
    """
    found, ends, before, rows = Findings(), [], start, 0
    for i, section in enumerate(sections):
        path: Path = ("sections", i)
        end = _end(before, section, worked, path, found)
        for field, counted, what, multiple in (
            ("rows", section.rows, "rows", row_multiple),
            ("stitches_at_end", end, "stitches", stitch_multiple),
        ):
            if not multiple.allows(counted):
                with found.collecting():
                    raise not_in_multiple((*path, field), counted, what, multiple)
        before, rows = end, rows + section.rows
        ends.append(end)
    if rows > MOST_ROWS:
        detail = f"the sections come to {rows} rows; at most {MOST_ROWS} are reckoned"
        found.add("too-many-rows", ("sections",), detail, {"rows": MOST_ROWS})
    found.settle()
    return tuple(ends)


def _end(before: int, section: WrittenSection, worked: Worked, path: Path, found: Findings) -> int:
    """The count after a section; what does not agree goes into ``found``."""
    stated = section.stitches_at_end
    if not section.schedule:
        end = before if stated is None else stated
        if end < 1:
            detail = "the section would work no stitches: say how many it ends with"
            found.add("no-stitches", (*path, "stitches_at_end"), detail, {"minimum": 1})
        return end
    at, stitches = 0, before
    for j, run in enumerate(section.schedule):
        here: Path = (*path, "schedule", j)
        _check_run(run, worked, here, found)
        at += run.rows
        # A decrease is steady, so that the last row of a run is its least or most.
        stitches += run.times * run.total
        if not 1 <= stitches <= MOST_STITCHES:
            detail = f"this run comes to {stitches} stitches, from 1 to {MOST_STITCHES} can be"
            found.add("schedule-out-of-range", here, detail, {"minimum": 1})
            return stated or max(1, before)
        if run.stitches_after is not None and run.stitches_after != stitches:
            detail = f"the run comes to {stitches} stitches, not {run.stitches_after}"
            found.add(
                "schedule-disagrees",
                (*here, "stitches_after"),
                detail,
                {"stitches_after": stitches},
            )
    if at > section.rows:
        detail = f"the schedule covers {at} rows, and the section has {section.rows}"
        found.add("schedule-disagrees", (*path, "rows"), detail, {"rows": at})
    if stated is not None and stated != stitches:
        detail = f"from {before} stitches the schedule comes to {stitches}, not {stated}"
        permitted = {"stitches_at_end": stitches}
        found.add("schedule-disagrees", (*path, "stitches_at_end"), detail, permitted)
    return stitches


def _check_run(run: WrittenRun, worked: Worked, path: Path, found: Findings) -> None:
    told = {name for name in ("left", "right", "change") if getattr(run, name) is not None}
    allowed = {"left", "right"} if worked == "flat" else {"change"}
    for name in sorted(told - allowed):
        how = "flat is shaped at left and right" if worked == "flat" else "in the round by change"
        detail = f"work {how}, and not by {name}"
        found.add("wrong-edge", (*path, name), detail, sorted(allowed))
    if run.times and run.rows != run.every * run.times:
        detail = f"every {run.every} rows {run.times} times is {run.every * run.times} rows"
        found.add("schedule-disagrees", (*path, "rows"), detail, {"rows": run.every * run.times})
    if not run.times and run.total:
        detail = "a run of no shaping rows changes nothing: say how many times, or leave it 0"
        found.add("schedule-disagrees", (*path, "times"), detail, {"minimum": 1})
