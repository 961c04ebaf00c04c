"""Which page an answer makes: one table for every kind of answer that is printed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..engine.ask_audit import Audit
from ..engine.ask_buttonhole import Openings
from ..engine.ask_conversion import ConversionAnswer
from ..engine.ask_edging import EdgingAnswer
from ..engine.ask_gauge_check import GaugeCheck
from ..engine.ask_shaping import ShapingAnswer
from ..engine.ask_size_table import SizeTable
from ..engine.ask_yarn import YarnAnswer
from ..engine.gauge import GaugeAnswer
from ..engine.patterns import Piece
from ..engine.projects import Project
from .answer_papers import buttonholes_paper, edging_paper, gauge_paper, shaping_paper
from .audit_paper import audit_paper
from .check_paper import check_paper
from .conversion_paper import conversion_paper
from .paper import Paper
from .piece_paper import piece_paper
from .project_paper import project_paper
from .size_table_paper import size_table_paper
from .yarn_paper import yarn_paper

PAPERS: dict[type, Callable[[Any, Any], Paper]] = {
    Piece: piece_paper,
    Project: project_paper,
    ShapingAnswer: shaping_paper,
    EdgingAnswer: edging_paper,
    Openings: buttonholes_paper,
    GaugeAnswer: gauge_paper,
    YarnAnswer: yarn_paper,
    GaugeCheck: check_paper,
    ConversionAnswer: conversion_paper,
    Audit: audit_paper,
    SizeTable: size_table_paper,
}
"""The page of each kind of answer, from the answer and its order."""


def paper_of(answer: object, order: object) -> Paper:
    """The page of an answer. Raises KeyError for an answer that is not printed."""
    return PAPERS[type(answer)](answer, order)
