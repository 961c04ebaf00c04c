"""What each measurement came to, read off whole stitches and rows."""

from __future__ import annotations

from collections.abc import Mapping

from .counting import Scale
from .curves import height_of
from .edgeplans import Resolving, spans
from .errors import Path
from .exact import Fraction
from .measures import Measure, measure
from .memo import once_each
from .rounding import whole
from .schedules import run_at, runs_of
from .sections import Section
from .shaping import Schedule
from .slots import Opening
from .templates import Template, terms_of
from .terms import Term


@once_each
def _told_by(template: Template) -> list[tuple[str, Path, Term]]:
    """Each measurement, and the first use of it that tells what it came to; no row tells a
    radius."""
    used = {plan.name: terms_of(template)[plan.name] for plan in template.measurements}
    told = {name: [u for u in uses if u[0][-1] != "radius"] for name, uses in used.items()}
    return [(name, *(told[name] or used[name])[0]) for name in used]


def measures_of(
    template: Template,
    asked: Mapping[str, Fraction],
    stitches: int,
    sections: tuple[Section, ...],
    openings: tuple[Opening, ...],
    scale: Scale,
) -> dict[str, Measure]:
    """What each measurement came to, read off the first part of the piece that uses it.

    Source: geometry.
    """
    made: dict[str, Measure] = {}
    for name, path, term in _told_by(template):
        if path[0] == "foundation":
            came_to = stitches * scale.stitch_width
        elif not sections:
            continue
        elif path[0] == "openings":
            came_to = _slot_length(openings[int(path[1])], str(path[2]), sections, scale)
        elif len(path) > 3:
            section = sections[int(path[1])]
            came_to = _edge_length(template, section, path, term, asked, scale)
        else:
            finished = sections[int(path[1])].finished
            came_to = finished.height if path[2] == "height" else finished.width_at_end
        made[name] = measure(asked.get(name), term.measurement_from(came_to))
    return made


def _slot_length(
    opening: Opening, name: str, sections: tuple[Section, ...], scale: Scale
) -> Fraction:
    if name != "from_left":
        finished: Fraction = getattr(opening, name).finished
        return finished
    before, _ = run_at(runs_of(sections), opening.row)
    from_left = before - opening.last_stitch if opening.row % 2 else opening.first_stitch - 1
    return from_left * scale.stitch_width


def _edge_length(
    template: Template,
    section: Section,
    path: Path,
    term: Term,
    asked: Mapping[str, Fraction],
    scale: Scale,
) -> Fraction:
    """What a length of an edge came to: across, between the rows nearest to its ends."""
    edge = str(path[2])
    plan = template.sections[int(path[1])].edge_plans()[edge]
    if path[-1] == "radius":  # no row tells of it
        return term.of(asked) or Fraction(0)
    here = Resolving(path[:3], asked, scale.units)
    if path[-1] == "up":  # the outline is stretched to its whole rows, and every part of it alike
        return here.length(term) * section.finished.height / height_of(here.edge(plan))
    first, last = (whole(part * section.rows) for part in spans(plan, here)[path[3:]])
    if first == last:  # a level line is worked in the row above it
        last += 1
    left = edge != "right"
    gained = _gained(section.schedule, last, left) - _gained(section.schedule, first, left)
    return -gained * scale.stitch_width


def _gained(schedule: Schedule, rows: int, left: bool) -> int:
    """Stitches gained at one edge in so many rows of the schedule."""
    total = at = 0
    for run in schedule:
        done = min(run.times, max(0, rows - at) // run.every)
        total += done * (run.left if left else run.right)
        at += run.rows
    return total
