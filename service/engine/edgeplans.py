"""Edges of an outline as a template tells them: segments, their checks, and their lengths."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from .curves import Bulge, Curve, Edge, height_of, least_radius
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .terms import Term
from .units import System, written

SegmentKind = Literal["line", "arc", "points"]
NOWHERE = Term(None)


@dataclass(frozen=True, slots=True)
class PointPlan:
    """A point of a polyline, from where its segment starts."""

    up: Term
    inwards: Term = NOWHERE


@dataclass(frozen=True, slots=True)
class SegmentPlan:
    """One stretch of an edge: a line, a quarter ellipse or arc of a circle, or a polyline."""

    kind: SegmentKind
    inwards: Term | None = None
    up: Term | None = None
    bulge: Bulge | None = None
    radius: Term | None = None
    points: tuple[PointPlan, ...] = ()

    def terms(self) -> Iterator[tuple[Path, Term]]:
        """Each length of the segment, with its path in the document."""
        for name, term in (("in", self.inwards), ("up", self.up), ("radius", self.radius)):
            if term:
                yield (name,), term
        for i, point in enumerate(self.points):
            yield ("points", i, "in"), point.inwards
            yield ("points", i, "up"), point.up


EdgePlan = tuple[SegmentPlan, ...]


def check_outline(
    edges: Mapping[str, EdgePlan],
    other: list[str],
    path: Path,
    optional: set[str],
    found: Findings,
) -> None:
    """Whether an outline tells its edges, and no ``other`` extent; adds to what was found.

    Source: common-practice.

    >>> found = Findings()
    >>> check_outline({}, ["rows"], (), set(), found)
    >>> [r.code for r in found.refusals]
    ['outline-edges', 'outline-with-extent']
    """
    if not edges or ("sides" in edges and len(edges) > 1):
        found.add(
            "outline-edges",
            path,
            "an outline tells its left edge, its right edge or both; or sides, for both alike",
            {"one_of": ["left", "right", "left and right", "sides"]},
        )
    for name, edge in edges.items():
        check_edge(edge, (*path, name), optional, found)
    for name in other:
        found.add("outline-with-extent", (*path, name), "an outline's edges say all of its extent")


def check_edge(edge: EdgePlan, path: Path, optional: set[str], found: Findings) -> None:
    """Whether each segment tells what its kind needs, and no more; adds to what was found.

    Source: common-practice.

    >>> found = Findings()
    >>> check_edge((SegmentPlan("points"),), ("left",), set(), found)
    >>> [(r.code, r.path) for r in found.refusals]
    [('segment-extent', ('left', 0))]
    """
    for i, segment in enumerate(edge):
        here = (*path, i)
        needs = {"line": ["up", "in"], "arc": ["up"], "points": ["points"]}[segment.kind]
        if not any(getattr(segment, name if name != "in" else "inwards") for name in needs):
            told = " or ".join(needs)
            found.add("segment-extent", here, f"a segment of {segment.kind} needs {told}", needs)
        for name in ("in", "up", "points", "bulge", "radius"):
            given = segment.inwards if name == "in" else getattr(segment, name)
            allowed = (name == "points") == (segment.kind == "points")
            if given and (not allowed or (name in ("bulge", "radius") and segment.kind != "arc")):
                found.add("segment-with-other-kind", (*here, name),
                          f"a segment of {segment.kind} has no {name}")  # fmt: skip
        for where, term in segment.terms():
            if not term.times:
                found.add("factor-zero", (*here, *where, "times"), "a factor is not zero")
            elif term.times < 0 and where[-1] != "in":
                found.add("factor-not-positive", (*here, *where, "times"),
                          "a factor is above zero")  # fmt: skip
            if term.measurement in optional:
                found.add("optional-in-outline", (*here, *where),
                          "an outline needs measurements that are always given")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Resolving:
    """An edge being measured out: where it stands in the document, and by which measurements."""

    path: Path
    measurements: Mapping[str, Fraction]
    units: System

    def edge(self, plan: EdgePlan) -> Edge:
        """The edge in millimetres.

        Raises Refused for a segment that goes down, and for an arc that would turn back down.
        Source: geometry.

        >>> plan = SegmentPlan("arc", Term("w", Fraction(1, 2)), Term("h"))
        >>> here = Resolving((), {"w": Fraction(8), "h": Fraction(3)}, "metric")
        >>> [(int(c.inwards), int(c.up), c.shape) for c in here.edge((plan,))]
        [(4, 3, 'ellipse')]
        """
        found, curves = Findings(), []
        for i, segment in enumerate(plan):
            with found.collecting():
                curves += self._curves(segment, (*self.path, i))
        found.settle()
        return tuple(curves)

    def length(self, term: Term | None) -> Fraction:
        size = term.of(self.measurements) if term else Fraction(0)
        return Fraction(0) if size is None else size  # check_measurements tells of one missing

    def _curves(self, segment: SegmentPlan, path: Path) -> list[Curve]:
        if segment.kind == "points":
            at, curves = (Fraction(0), Fraction(0)), []
            for i, point in enumerate(segment.points):
                to = self.length(point.inwards), self.length(point.up)
                here = self._from(point.up, (*path, "points", i, "up"))
                self._check_up(to[1], at[1], here)
                curves.append(Curve(to[0] - at[0], to[1] - at[1]))
                at = to
            return curves
        across, up = self.length(segment.inwards), self.length(segment.up)
        if segment.up:
            self._check_up(up, Fraction(0), self._from(segment.up, (*path, "up")))
        if segment.kind == "line" or (not up and segment.radius is None):
            return [Curve(across, up)]
        bulge = segment.bulge or "outward"
        if segment.radius is None:
            return [Curve(across, up, "ellipse", bulge)]
        radius = self.length(segment.radius)
        self._check_radius(radius, across, up, self._from(segment.radius, (*path, "radius")))
        return [Curve(across, up, "circle", bulge, radius)]

    def _from(self, term: Term, path: Path) -> Path:
        return ("measurements", term.measurement) if term.measurement else ("template", *path)

    def _check_up(self, up: Fraction, least: Fraction, path: Path) -> None:
        if up < least:
            raise Refused(
                Refusal(
                    "outline-goes-down",
                    path,
                    f"an edge goes up or level, and this goes to {written(up, self.units)} after"
                    f" {written(least, self.units)}",
                    {"minimum_mm": float(least)},
                )
            )

    def _check_radius(self, radius: Fraction, across: Fraction, up: Fraction, path: Path) -> None:
        if not up:
            raise Refused(
                Refusal("arc-without-rise", path, "an arc with a radius needs an up above zero")
            )
        least = least_radius(across, up)
        if radius < least:
            raise Refused(
                Refusal(
                    "arc-turns-back",
                    path,
                    f"with a radius of {written(radius, self.units)} the arc turns back down, or"
                    f" does not reach; it needs at least {written(least, self.units, 4, up=True)}",
                    {"minimum_mm": float(least)},
                )
            )


def spans(plan: EdgePlan, here: Resolving) -> dict[Path, tuple[Fraction, Fraction]]:
    """From which height to which each length of an edge is taken, as parts of the edge's own.

    Source: geometry.

    >>> line = SegmentPlan("line", Term("w"), Term("h"))
    >>> told = spans((line, line), Resolving((), {"w": Fraction(8), "h": Fraction(3)}, "metric"))
    >>> [float(part) for part in told[1, "in"]]
    [0.5, 1.0]
    """
    tall, at = height_of(here.edge(plan)), Fraction(0)
    found: dict[Path, tuple[Fraction, Fraction]] = {}
    for i, segment in enumerate(plan):
        top = at + (here.length(segment.points[-1].up) if segment.points else
                    here.length(segment.up))  # fmt: skip
        for path, _ in segment.terms():
            to = at + here.length(segment.points[int(path[1])].up) if segment.points else top
            found[i, *path] = at / tall, to / tall
        at = top
    return found
