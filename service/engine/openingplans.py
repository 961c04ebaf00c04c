"""Openings across a row as a template tells them, and their checks."""

from __future__ import annotations

from dataclasses import dataclass

from .errors import Findings
from .terms import Term


@dataclass(frozen=True, slots=True)
class OpeningPlan:
    """An opening across a row: how high its row is, how wide it is, and where it begins."""

    name: str
    height: Term
    width: Term | None = None
    stitches: int | None = None
    from_left: Term | None = None


def check_openings(openings: tuple[OpeningPlan, ...], optional: set[str], found: Findings) -> None:
    """Whether each opening has one size, always given, and its own name; adds to what was found.

    Source: common-practice.

    >>> found = Findings()
    >>> check_openings((OpeningPlan("eye", Term("height")),), set(), found)
    >>> [(r.code, r.path) for r in found.refusals]
    [('opening-size', ('openings', 0))]
    """
    for i, opening in enumerate(openings):
        path = ("openings", i)
        if (opening.width is None) == (opening.stitches is None):
            found.add(
                "opening-size",
                path,
                "an opening has either a width or a stitch count",
                {"one_of": ["width", "stitches"]},
            )
        for name in ("height", "width", "from_left"):
            term = getattr(opening, name)
            if term and term.measurement in optional:
                found.add(
                    "optional-in-opening",
                    (*path, name),
                    "an opening needs measurements that are always given",
                )
        if opening.name in [other.name for other in openings[:i]]:
            found.add(
                "opening-name-twice", (*path, "name"), f"two openings are called {opening.name}"
            )
