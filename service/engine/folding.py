"""A piece folded, and a project put together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .roundplans import RoundTemplate
from .sizing import Sized
from .templates import Template
from .units import Length


@dataclass(frozen=True, slots=True)
class Folded:
    section: Annotated[str, "section that is folded across"]
    layers: Annotated[int, "layers it is folded into"]
    depth: Annotated[Length, "its height when folded, before edging"]


def folded(template: Template | RoundTemplate, sized: Sized) -> tuple[Folded, ...]:
    """The sections that the template folds, and how deep they are then. Source: geometry.

    >>> from .gauge import square
    >>> from .sizing import PieceOrder, size
    >>> from .templates import FoldPlan, FoundationPlan, SectionPlan
    >>> case = Template("case", "Case", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("body", "even", rows=19),), folds=(FoldPlan("body"),))
    >>> folded(case, size(PieceOrder(square(16, 19), case, {})))[0].depth
    Fraction(50, 1)
    """
    heights = {s.name: s.finished.height for s in sized.sections}
    return tuple(
        Folded(fold.section, fold.layers, heights[fold.section] / fold.layers)
        for fold in template.folds
        if fold.section in heights
    )
