"""Templates in the round: a start, and sections of rounds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from .errors import Findings, Path, Refusal
from .exact import Fraction
from .memo import once_each
from .openings import Edge
from .profile import Bend, Segment
from .rounding import Multiple
from .templates import FoldPlan, Hazard, MeasurementPlan, Term

Kind = Literal["ring", "chain", "oval"]
Shape = Literal["even", "disc", "cone", "profile"]
Joining = Literal["joined", "spiral"]

NO_WRONG_SIDE = Refusal(
    "no-wrong-side",
    ("right_side_only",),
    "every round faces right: there are no wrong-side rows to leave out",
    {"right_side_only": False},
)


@dataclass(frozen=True, slots=True)
class StartPlan:
    """How the first round begins: in a ring, on a closed chain, or along both sides of a chain.

    A closed chain has a circumference or a stitch count; an oval the length and width it is to
    grow to, whose difference is its chain.
    """

    kind: Kind
    circumference: Term | None = None
    stitches: int | None = None
    length: Term | None = None
    width: Term | None = None


@dataclass(frozen=True, slots=True)
class SegmentPlan:
    """A stretch of a profile: out from the axis (negative: in), up, and how it bends."""

    out: Term
    up: Term
    bend: Bend = "line"


@dataclass(frozen=True, slots=True)
class RoundPlan:
    """One stretch of rounds.

    even keeps its count over a height, so many rounds, or until the work ``reaches`` a length
    from the start along the fabric. disc grows flat to a width. cone goes to a width or count
    over a height or so many rounds. profile follows its segments, and may close at the end.
    """

    name: str
    shape: Shape
    height: Term | None = None
    rounds: int | None = None
    reaches: Term | None = None
    to_diameter: Term | None = None
    to_circumference: Term | None = None
    to_stitches: int | None = None
    profile: tuple[SegmentPlan, ...] = ()
    increases: int | None = None
    closes: bool = False


@dataclass(frozen=True, slots=True)
class InTheRound:
    """What a maker chooses of a piece in the round; None leaves it to the template."""

    rounds: Joining | None = None
    offset: bool | None = None
    increases: int | None = None


@dataclass(frozen=True, slots=True)
class RoundTemplate:
    name: str
    title: str
    measurements: tuple[MeasurementPlan, ...]
    start: StartPlan
    sections: tuple[RoundPlan, ...]
    rounds: Joining = "joined"
    offset: bool = False
    stitch_multiple: Multiple | None = None
    row_multiple: Multiple | None = None
    hazards: tuple[Hazard, ...] = ()
    description: str = ""
    closure_at: Edge = "last-row"
    folds: tuple[FoldPlan, ...] = ()
    assembly: tuple[str, ...] = ()


def round_terms(template: RoundTemplate) -> dict[str, list[tuple[Path, Term]]]:
    """Every use of each measurement, with its path in the document. Source: common-practice.

    >>> start = StartPlan("chain", circumference=Term("girth"))
    >>> list(round_terms(RoundTemplate("tube", "Tube", (), start, ())))
    ['girth']
    """
    used: dict[str, list[tuple[Path, Term]]] = {}

    def note(path: Path, term: Term | None) -> None:
        if term and term.measurement:
            used.setdefault(term.measurement, []).append((path, term))

    for name in ("circumference", "length", "width"):
        note(("start", name), getattr(template.start, name))
    for i, section in enumerate(template.sections):
        for name in ("to_diameter", "to_circumference", "height", "reaches"):
            note(("sections", i, name), getattr(section, name))
        for j, segment in enumerate(section.profile):
            note(("sections", i, "profile", j, "out"), segment.out)
            note(("sections", i, "profile", j, "up"), segment.up)
    return used


_NEEDS: Mapping[str, tuple[str, ...]] = {
    "even": ("height", "rounds", "reaches"),
    "disc": ("to_diameter", "to_circumference"),
    "cone": ("to_diameter", "to_circumference", "to_stitches"),
    "profile": ("profile",),
}
_TAKES: Mapping[str, tuple[str, ...]] = {
    "even": (),
    "disc": ("increases",),
    "cone": ("height", "rounds"),
    "profile": ("closes",),
}


@once_each
def check_round_template(template: RoundTemplate) -> None:
    """Whether the document makes sense in itself.

    Raises Refused, with paths into the document, for measurements used but not listed, listed
    but not used or listed twice; a start with no size or with several; a section that lacks what
    its shape needs, or has what its shape cannot take; two sections of one name.
    Source: common-practice.

    >>> disc = RoundPlan("base", "disc", to_diameter=Term("width"))
    >>> check_round_template(RoundTemplate("mat", "Mat", (MeasurementPlan("width", "across"),),
    ...     StartPlan("ring"), (disc,)))
    """
    found = Findings()
    listed = [m.name for m in template.measurements]
    used = round_terms(template)
    for i, name in enumerate(listed):
        if name in listed[:i]:
            found.add("measurement-twice", ("measurements", i, "name"), f"{name} is listed twice")
        elif name not in used:
            detail = f"no part of the template uses {name}"
            found.add("measurement-unused", ("measurements", i, "name"), detail, sorted(used))
    for name, uses in used.items():
        if name not in listed:
            detail = f"{name} is not among the template's measurements"
            for path, _ in uses:
                found.add("measurement-not-listed", path, detail, listed)
    _check_start(template.start, found)
    names: set[str] = set()
    for i, section in enumerate(template.sections):
        path = ("sections", i)
        needs, takes = _NEEDS[section.shape], _TAKES[section.shape]
        given = [name for name in needs if getattr(section, name)]
        if len(given) != 1:
            detail = f"a section of shape {section.shape} needs one of: {', '.join(needs)}"
            found.add("section-size", path, detail, {"one_of": list(needs)})
        for name in ("height", "rounds", "reaches", "to_diameter", "to_circumference",
                     "to_stitches", "profile", "increases", "closes"):  # fmt: skip
            if getattr(section, name) and name not in needs + takes:
                detail = f"a section of shape {section.shape} has no {name}"
                found.add("not-for-shape", (*path, name), detail, [*needs, *takes])
        if section.shape == "cone" and bool(section.height) == bool(section.rounds):
            detail = "a cone needs its height or its rounds"
            found.add("section-extent", path, detail, {"one_of": ["height", "rounds"]})
        if section.shape == "even" and i == 0 and template.start.kind == "ring":
            detail = "nothing stands on the ring yet: begin with a disc, a cone or a profile"
            found.add("even-on-ring", path, detail, ["disc", "cone", "profile"])
        if section.name in names:
            found.add("section-name-twice", (*path, "name"), f"two are called {section.name}")
        names.add(section.name)
    found.settle()


def _check_start(start: StartPlan, found: Findings) -> None:
    given = {
        name for name in ("circumference", "stitches", "length", "width") if getattr(start, name)
    }
    fits: dict[str, list[set[str]]] = {
        "ring": [set()],
        "chain": [{"circumference"}, {"stitches"}],
        "oval": [{"length", "width"}],
    }
    if given not in fits[start.kind]:
        wanted = [" and ".join(sorted(names)) or "no size" for names in fits[start.kind]]
        found.add(
            "start-size",
            ("start",),
            f"a start of kind {start.kind} has {' or '.join(wanted)}",
            wanted,
        )


def of(term: Term | None, measurements: Mapping[str, Fraction]) -> float | None:
    """The length of a term in millimetres; None where it is not given. Source: geometry.

    >>> of(Term("width", Fraction(-1, 2)), {"width": Fraction(9)})
    -4.5
    """
    size = term.of(measurements) if term else None
    return None if size is None else float(size)


def segments_of(plan: RoundPlan, measurements: Mapping[str, Fraction]) -> tuple[Segment, ...]:
    """The segments of a profile, its terms made lengths in millimetres. Source: geometry.

    >>> segment = SegmentPlan(Term("width", Fraction(1, 2)), Term("width"))
    >>> segments_of(RoundPlan("a", "profile", profile=(segment,)), {"width": Fraction(9)})
    (Segment(out=4.5, up=9.0, bend='line'),)
    """
    return tuple(
        Segment(of(s.out, measurements) or 0.0, of(s.up, measurements) or 0.0, s.bend)
        for s in plan.profile
    )


def chosen(template: RoundTemplate, choice: InTheRound) -> RoundTemplate:
    """The template with what the maker chose; chosen increases go to discs that have none.

    Source: common-practice.

    >>> base = RoundPlan("base", "disc", to_diameter=Term("width"))
    >>> mat = RoundTemplate("mat", "Mat", (), StartPlan("ring"), (base,))
    >>> chosen(mat, InTheRound(increases=6)).sections[0].increases
    6
    """
    sections = tuple(
        replace(s, increases=s.increases or choice.increases) if s.shape == "disc" else s
        for s in template.sections
    )
    return replace(
        template,
        sections=sections,
        rounds=choice.rounds or template.rounds,
        offset=template.offset if choice.offset is None else choice.offset,
    )
