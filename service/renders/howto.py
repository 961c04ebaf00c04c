"""A piece or project as data of a page that shows it: schema.org's HowTo, in JSON-LD."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from ..engine.patterns import Piece
from ..engine.projectorder import ProjectOrder
from ..engine.projects import Project
from ..engine.sizing import PieceOrder
from . import wording
from .piece_paper import colour_names, extent_words, rounds_or_rows
from .rows import row_texts, titled
from .safe import clean

Member = dict[str, Any]

TOOLS = ("Crochet hook, the one that the swatch was made with", "Tape measure")


def piece_howto(piece: Piece, order: PieceOrder) -> str:
    """The piece as a HowTo, fit to stand in a page's script element as it is."""
    description = clean(order.template.description)
    gauge = wording.gauge_words(order.gauge, order.terms, order.units, rounds_or_rows(piece))
    return _written(
        {
            "@context": "https://schema.org",
            "@type": "HowTo",
            "name": clean(order.template.title),
            "description": " ".join(filter(None, (description, gauge, extent_words(piece, order)))),
            "inLanguage": "en-US" if order.terms == "us" else "en-GB",
            "supply": _items("HowToSupply", _supplies(piece, order)),
            "tool": _items("HowToTool", TOOLS),
            "step": [*_sections(piece)],
        }
    )


def project_howto(project: Project, order: ProjectOrder) -> str:
    """The project as a HowTo: a section a piece, with the text for all sizes, and the assembly."""
    names = ", ".join(piece.name for piece in project.pieces)
    sections = [
        _section(titled(made.name), (step.text for step in made.instructions))
        for made in project.pieces
    ]
    if project.assembly:
        sections.append(_section("Assembly", (step.text for step in project.assembly)))
    yarns = (
        f"Yarn for the {', the '.join(needed.pieces)}"
        f"{f', in {needed.colour}' if needed.colour else ''}, {size}:"
        f" {wording.yarn_words(yarn, order.units)}"
        for needed in project.yarn
        for size, yarn in needed.sizes.items()
    )
    buttons = dict.fromkeys(
        wording.button_words(p.order.button, order.units).capitalize()
        for p in order.pieces
        if p.order and p.order.button
    )
    terms = {p.order.terms for p in order.pieces if p.order}
    return _written(
        {
            "@context": "https://schema.org",
            "@type": "HowTo",
            "name": clean(f"Project: {names}"),
            "description": f"Sizes, smallest first: {clean(', '.join(project.sizes))}.",
            "inLanguage": "en-GB" if terms == {"uk"} else "en-US",
            "supply": _items("HowToSupply", [*yarns, *buttons]),
            "tool": _items("HowToTool", TOOLS),
            "step": sections,
        }
    )


def _supplies(piece: Piece, order: PieceOrder) -> Iterator[str]:
    if piece.yarn:
        yield f"Yarn: {wording.yarn_words(piece.yarn, order.units)}"
    else:
        names = f" in {', '.join(colour_names(piece, order))}" if order.colours else ""
        yield f"Yarn{names}: as the swatch was made with"
    if order.button:
        yield wording.button_words(order.button, order.units).capitalize()


def _items(kind: str, names: Iterable[str]) -> list[Member]:
    return [{"@type": kind, "name": clean(name)} for name in names]


def _section(name: str, texts: Iterable[str]) -> Member:
    steps = [
        {"@type": "HowToStep", "position": i, "text": clean(text)}
        for i, text in enumerate(texts, 1)
    ]
    return {"@type": "HowToSection", "name": clean(name), "itemListElement": steps}


def _sections(piece: Piece) -> Iterator[Member]:
    """What comes before the rows, each section of them, and the making up."""
    rows = row_texts(piece)
    first, last = (min(rows), max(rows)) if rows else (len(piece.instructions) + 1, 0)
    starts = [(section.first_row, titled(section.name)) for section in piece.sections]
    groups: dict[str, list[str]] = {}
    name = "Before you start"
    for step in piece.instructions:
        if told := rows.get(step.step):
            name = next(n for row, n in reversed(starts) if row <= told.first)
        elif first <= last < step.step and not step.text.startswith("Measure: "):
            name = "Making up"
        elif begun := next((n for _, n in starts if step.text.startswith(f"{n}: ")), None):
            name = begun
        groups.setdefault(name, []).append(step.text)
    for title, texts in groups.items():
        yield _section(title, texts)


def _written(told: Member) -> str:
    """JSON that no HTML parser finds an end of script or a comment in."""
    text = json.dumps(told, ensure_ascii=False, indent=2)
    for letter in "<>&\u2028\u2029":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return f"{text}\n"
