"""The built-in templates: every document in service/templates, read once at start-up."""

from __future__ import annotations

import json
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from ..engine.drawing import Drawing
from ..engine.roundplans import RoundTemplate
from ..engine.roundsketches import round_sketch
from ..engine.sketches import sketch
from ..engine.templates import Template
from .documents_in import template_document

FOLDER = Path(__file__).parent.parent / "templates"


def _read() -> dict[str, tuple[dict[str, Any], Template | RoundTemplate]]:
    field, found = template_document(), {}
    for file in sorted(FOLDER.glob("*.json")):
        text = file.read_text(encoding="utf-8")
        template: Template | RoundTemplate = field.deserialize(
            json.loads(text, parse_float=Decimal)
        )
        found[template.name] = (json.loads(text), template)
    return found


_FOUND = _read()
DOCUMENTS: dict[str, dict[str, Any]] = {name: document for name, (document, _) in _FOUND.items()}
TEMPLATES: dict[str, Template | RoundTemplate] = {
    name: template for name, (_, template) in _FOUND.items()
}


@cache
def drawing(name: str) -> Drawing:
    """Where a template is measured; drawn when it is first asked for."""
    template = TEMPLATES[name]
    return round_sketch(template) if isinstance(template, RoundTemplate) else sketch(template)
