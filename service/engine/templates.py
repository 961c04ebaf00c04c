"""Templates: a piece as a document - its measurements, foundation and sections, bottom to top."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from .edgeplans import EdgePlan, check_outline
from .errors import Findings
from .exact import Fraction
from .memo import once_each
from .openingplans import OpeningPlan as OpeningPlan
from .openingplans import check_openings
from .openings import Edge
from .rounding import Multiple
from .shaping import Edges
from .terms import Term as Term

Shape = Literal["even", "taper", "outline"]
Hazard = Literal["cord"]


@dataclass(frozen=True, slots=True)
class MeasurementPlan:
    """A measurement that a template asks for.

    ``body`` and ``object`` are the measures of either that may be asked for in its place; the
    example is what the template is drawn with. Lengths in millimetres.
    """

    name: str
    meaning: str
    optional: bool = False
    minimum: Fraction | None = None
    maximum: Fraction | None = None
    default: Term | None = None
    example: Fraction | None = None
    body: tuple[str, ...] = ()
    object: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FoundationPlan:
    """Width of the foundation, or its count."""

    width: Term | None = None
    stitches: int | None = None


@dataclass(frozen=True, slots=True)
class SectionPlan:
    """One stretch of rows.

    A taper goes to a width, a stitch count or a point. Its extent is its height where that is
    asked for; else its rows; else what shaping every ``every``-th row takes. An outline follows
    its edges, ``sides`` standing for both; an edge that is not told goes straight up.
    """

    name: str
    shape: Shape
    height: Term | None = None
    rows: int | None = None
    every: int | None = None
    to_width: Term | None = None
    to_stitches: int | None = None
    to_point: bool = False
    edges: Edges = "both"
    max_change: int | None = None
    right_side_only: bool | None = None
    row_multiple: Multiple | None = None
    left: EdgePlan = ()
    right: EdgePlan = ()
    sides: EdgePlan = ()

    def edge_plans(self) -> dict[str, EdgePlan]:
        """The edges that are told, by their names in the document."""
        if not (self.left or self.right or self.sides):
            return {}
        told = {"left": self.left, "right": self.right, "sides": self.sides}
        return {name: edge for name, edge in told.items() if edge}


@dataclass(frozen=True, slots=True)
class FoldPlan:
    """A section that is folded across into so many layers, its sides joined or left open."""

    section: str
    layers: int = 2
    sides_joined: bool = False


@dataclass(frozen=True, slots=True)
class Template:
    name: str
    title: str
    measurements: tuple[MeasurementPlan, ...]
    foundation: FoundationPlan
    sections: tuple[SectionPlan, ...]
    stitch_multiple: Multiple | None = None
    row_multiple: Multiple | None = None
    hazards: tuple[Hazard, ...] = ()
    description: str = ""
    closure_at: Edge = "last-row"
    openings: tuple[OpeningPlan, ...] = ()
    folds: tuple[FoldPlan, ...] = ()
    assembly: tuple[str, ...] = ()


@once_each
def terms_of(template: Template) -> Mapping[str, list[tuple[tuple[str | int, ...], Term]]]:
    """Every use of each measurement, with its path in the document. Source: common-practice.

    >>> plan = FoundationPlan(width=Term("width"))
    >>> terms_of(Template("swatch", "Swatch", (), plan, ()))["width"][0][0]
    ('foundation', 'width')
    """
    used: dict[str, list[tuple[tuple[str | int, ...], Term]]] = {}

    def note(path: tuple[str | int, ...], term: Term | None) -> None:
        if term and term.measurement:
            used.setdefault(term.measurement, []).append((path, term))

    note(("foundation", "width"), template.foundation.width)
    for i, section in enumerate(template.sections):
        note(("sections", i, "height"), section.height)
        note(("sections", i, "to_width"), section.to_width)
        for name, edge in section.edge_plans().items():
            for j, segment in enumerate(edge):
                for path, term in segment.terms():
                    note(("sections", i, name, j, *path), term)
    for i, opening in enumerate(template.openings):
        for name in ("height", "width", "from_left"):
            note(("openings", i, name), getattr(opening, name))
    return used


@once_each
def check_template(template: Template) -> None:
    """Whether the document makes sense in itself.

    Raises Refused, with paths into the document, for: a measurement used but not listed, listed
    but not used, or listed twice; a foundation or taper with no size or with several; an even
    section with a target; a section with no extent; two sections of one name; a fold of a section
    that is not there, or is folded already.
    Source: common-practice.

    >>> check_template(Template("swatch", "Swatch", (MeasurementPlan("width", "across"),),
    ...     FoundationPlan(width=Term("width")), (SectionPlan("body", "even", rows=10),)))
    """
    found = Findings()
    optional = {m.name for m in template.measurements if m.optional and not m.default}
    _check_measurements(template, optional, found)
    foundation = template.foundation
    if (foundation.width is None) == (foundation.stitches is None):
        found.add(
            "foundation-size",
            ("foundation",),
            "a foundation has either a width or a stitch count",
            {"one_of": ["width", "stitches"]},
        )
    names: set[str] = set()
    for i, section in enumerate(template.sections):
        _check_section(section, ("sections", i), optional, found)
        if section.name in names:
            found.add(
                "section-name-twice",
                ("sections", i, "name"),
                f"two sections are called {section.name}",
            )
        names.add(section.name)
    check_openings(template.openings, optional, found)
    _check_folds(template, names, found)
    found.settle()


def _check_measurements(template: Template, optional: set[str], found: Findings) -> None:
    listed = [m.name for m in template.measurements]
    used = terms_of(template)
    for i, name in enumerate(listed):
        if name in listed[:i]:
            found.add("measurement-twice", ("measurements", i, "name"), f"{name} is listed twice")
        elif name not in used:
            found.add(
                "measurement-unused",
                ("measurements", i, "name"),
                f"no part of the template uses {name}",
                {"used": sorted(used)},
            )
    for name, uses in used.items():
        for path, term in uses:
            if name not in listed:
                found.add(
                    "measurement-not-listed",
                    path,
                    f"{name} is not among the template's measurements",
                    listed,
                )
            if term.times <= 0 and len(path) <= 3:  # those of an edge are checked with it
                found.add("factor-not-positive", (*path, "times"), "a factor is above zero")
            if name in optional and path == ("foundation", "width"):
                found.add(
                    "optional-foundation", path, "the foundation needs a measurement always given"
                )


def _check_folds(template: Template, names: set[str], found: Findings) -> None:
    folded: set[str] = set()
    for i, fold in enumerate(template.folds):
        path = ("folds", i, "section")
        if fold.section not in names:
            no_section = f"the template has no section {fold.section}"
            found.add("unknown-section", path, no_section, [s.name for s in template.sections])
        if fold.section in folded:
            found.add("section-folded-twice", path, f"{fold.section} is folded twice")
        folded.add(fold.section)


def _check_section(
    section: SectionPlan, path: tuple[str | int, ...], optional: set[str], found: Findings
) -> None:
    targets = {
        "to_width": section.to_width is not None,
        "to_stitches": section.to_stitches is not None,
        "to_point": section.to_point,
    }
    given = [name for name, is_given in targets.items() if is_given]
    if section.shape == "outline":
        extent = ("height", "rows", "every", "to_width", "to_stitches", "to_point")
        told = [name for name in extent if getattr(section, name)]
        told += ["edges"] if section.edges != "both" else []
        check_outline(section.edge_plans(), told, path, optional, found)
        return
    for name in section.edge_plans():
        found.add("edge-without-outline", (*path, name), "only an outline has edges of its own")
    if section.shape == "taper":
        if len(given) != 1:
            found.add(
                "taper-target",
                path,
                "a taper goes to one of: a width, a stitch count, a point",
                {"one_of": [*targets]},
            )
        if section.to_width and section.to_width.measurement in optional:
            found.add(
                "optional-target", (*path, "to_width"), "a taper's width must always be given"
            )
        return
    for name in given:
        found.add("even-with-target", (*path, name), "an even section keeps its stitch count")
    for name in ("every", "max_change"):
        if getattr(section, name) is not None:
            found.add("even-with-shaping", (*path, name), "an even section has no shaping rows")
    height = section.height
    if section.rows is None and (height is None or height.measurement in optional):
        found.add(
            "section-extent",
            path,
            "an even section needs rows, or a height that is always given",
            {"one_of": ["height", "rows"]},
        )
