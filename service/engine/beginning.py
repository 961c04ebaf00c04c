"""What is worked already of a flat piece: the plan's rows so far, with the stitches there are."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .continuing import Begun, ContinueOrder
from .errors import Findings
from .exact import Fraction
from .gauge import Gauge
from .rounds import RoundSection
from .schedules import clip, runs_of
from .sections import Section, SectionSize
from .shaping import stitches_worked
from .shapingtext import in_words
from .slots import Opening


@dataclass(frozen=True, slots=True)
class Worked:
    """The foundation's stitches, the rows so far, and the openings that are passed."""

    foundation: int
    begun: Begun
    openings: tuple[Opening, ...]


def begin(
    order: ContinueOrder,
    foundation: int,
    sections: tuple[Section, ...],
    openings: tuple[Opening, ...],
    gauge: Gauge,
) -> Worked:
    """The rows worked of a plan, measured at ``gauge``.

    Stitches on the hook that differ from the plan's are taken to differ since its last shaping
    row, or since the foundation where none is worked. Raises Refused for a section or a row that
    the plan has not. Source: common-practice.
    """
    index = section_at(order, sections)
    hand = sections[index]
    rows = order.row - hand.first_row + 1
    runs = clip(runs_of((hand,)), 1, min(rows, hand.rows))
    if rows > hand.rows:
        runs = (*runs, *runs_of((replace(hand, rows=rows - hand.rows, schedule=()),)))
    planned = runs[-1].stitches_after
    worked = [
        *sections[:index],
        replace(hand, rows=rows, schedule=runs, stitches_at_end=planned, outline_off=None),
    ]
    more = 0 if order.stitches is None else order.stitches - planned
    worked, more = _shifted(worked, more)
    tape = order.height or order.row * gauge.hook_row_height
    height = tape * gauge.row_height / gauge.hook_row_height
    sized = tuple(_sized(s, gauge.stitch_width, height / order.row) for s in worked)
    begun = Begun(sized[:-1], sized[-1], height, tape, order.section_done)
    passed = tuple(o for o in openings if o.row <= order.row)
    return Worked(foundation + more, begun, passed)


def section_at(
    order: ContinueOrder,
    sections: tuple[Section, ...] | tuple[RoundSection, ...],
    field: str = "continue_after",
) -> int:
    """Which section the row lies in; one may have more rows than planned, and not fewer than none.

    Raises Refused for a section that is not there, or a row before it begins.
    Source: common-practice.
    """
    found = Findings()
    names = [s.name for s in sections]
    if order.section not in names:
        detail = f"there is no section {order.section}; there are {', '.join(names)}"
        found.add("unknown-section", (field, "section"), detail, names)
        found.settle()
    index = names.index(order.section)
    first = sections[index].first_row
    if order.row < first:
        found.add(
            "row-before-section",
            (field, "row"),
            f"the {order.section} begins with row {first}; row {order.row} is before it",
            {"minimum": first},
        )
    found.settle()
    return index


def _shifted(sections: list[Section], more: int) -> tuple[list[Section], int]:
    """The sections with so many stitches more since their last shaping row.

    What is over where none is shaped is the foundation's.
    """
    made: list[Section] = []
    for section in reversed(sections):
        if not more:
            made.append(section)
            continue
        runs = list(section.schedule)
        at = next((i for i in reversed(range(len(runs))) if runs[i].times), None)
        end = section.stitches_at_end + more
        if at is None:
            runs = [replace(run, stitches_after=run.stitches_after + more) for run in runs]
            start = section.stitches_at_start + more
            made.append(
                replace(section, stitches_at_start=start, stitches_at_end=end, schedule=tuple(runs))
            )
            continue
        last = runs[at]
        once = replace(
            last, rows=last.every, times=1, left=last.left + more - more // 2,
            right=last.right + more // 2, stitches_after=last.stitches_after + more,
        )  # fmt: skip
        before = replace(
            last, rows=last.rows - last.every, times=last.times - 1,
            stitches_after=last.stitches_after - last.change,
        )  # fmt: skip
        later = (replace(run, stitches_after=run.stitches_after + more) for run in runs[at + 1 :])
        runs[at:] = [*([before] if before.times else []), once, *later]
        made.append(replace(section, stitches_at_end=end, schedule=tuple(runs)))
        more = 0
    return made[::-1], more


def _sized(section: Section, stitch_width: Fraction, row_height: Fraction) -> Section:
    return replace(
        section,
        in_words=in_words(section.stitches_at_start, section.schedule),
        finished=SectionSize(
            section.stitches_at_start * stitch_width,
            section.stitches_at_end * stitch_width,
            section.rows * row_height,
        ),
    )


def left_of(sections: tuple[Section, ...], begun: Begun | None, stitch_width: Fraction,
            row_height: Fraction) -> tuple[Section, ...]:  # fmt: skip
    """The rows that are left of each section, all where none is begun; sizes in millimetres.

    Source: common-practice.
    """
    if not begun:
        return sections
    made: list[Section] = []
    for i, section in enumerate(sections):
        if i > len(begun.sections):
            made.append(section)
        elif i == len(begun.sections) and section.rows > begun.current.rows:
            done = begun.current.rows
            runs = clip(runs_of((section,)), done + 1, section.rows)
            runs = runs if any(run.times for run in runs) else ()
            counts = section.row_counts
            rest = replace(
                section,
                first_row=begun.rows + 1,
                rows=section.rows - done,
                stitches_at_start=begun.stitches,
                schedule=runs,
                row_counts=None if counts is None else counts[done:],
            )
            made.append(_sized(rest, stitch_width, row_height))
    return tuple(made)


def stitches_of(sections: tuple[Section, ...]) -> int:
    """Stitches of all rows of the sections. Source: geometry.

    >>> stitches_of(())
    0
    """
    return sum(stitches_worked(s.stitches_at_start, s.rows, s.schedule) for s in sections)
