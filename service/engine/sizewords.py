"""The whole size of a piece in words."""

from __future__ import annotations

from .edgings import Extent
from .roundplans import RoundTemplate
from .templates import Template
from .units import System, written


def edged_words(edged: Extent, units: System) -> str:
    """The size with the edging, which is about so much.

    Source: common-practice.

    >>> from .exact import Fraction
    >>> edged_words(Extent(Fraction(129), Fraction(411)), "metric")
    'Edged, about 12.9 cm by 41.1 cm.'
    """
    return f"Edged, about {written(edged.width, units)} by {written(edged.height, units)}."


def size_words(template: Template | RoundTemplate, extent: Extent, units: System) -> str:
    """Both sizes by the words that the piece is measured by.

    What is worked along its length is so long by so deep, a piece of one width so wide by so
    high, any other so much at its widest by so high; what lies flat in the round has no height.
    Source: common-practice.

    >>> from .exact import Fraction
    >>> from .templates import FoundationPlan, MeasurementPlan, SectionPlan, Term
    >>> asked = (MeasurementPlan("length", "along"), MeasurementPlan("depth", "up"))
    >>> rows = (SectionPlan("band", "even", height=Term("depth")),)
    >>> band = Template("band", "Band", asked, FoundationPlan(Term("length")), rows)
    >>> size_words(band, Extent(Fraction(281), Fraction(53)), "metric")
    '28.1 cm long by 5.3 cm deep'
    """
    across, up = "at its widest", "high"
    if isinstance(template, Template):
        start = template.foundation.width
        if start and start.measurement == "length":
            across = "long"
            up = "deep" if any(m.name == "depth" for m in template.measurements) else up
        elif all(section.shape == "even" for section in template.sections):
            across = "wide"
    told = f"{written(extent.width, units)} {across}"
    return f"{told} by {written(extent.height, units)} {up}" if extent.height else told
