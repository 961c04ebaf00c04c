"""Template documents: one schema for the built-in ones and for those a caller writes."""

from __future__ import annotations

from typing import Any

from .fields import (
    OneOfKinds,
    Part,
)
from .flat_documents_in import TemplateSchema
from .round_documents_in import RoundTemplateSchema


def template_document(**kwargs: Any) -> OneOfKinds:
    """A template document: flat where it has a foundation, in the round where it has a start."""
    return OneOfKinds(
        {"foundation": Part(TemplateSchema), "start": Part(RoundTemplateSchema)}, **kwargs
    )
