"""The operations table: a row a computing endpoint. Routes, schemas and OpenAPI follow from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from marshmallow import Schema

from ..engine import (
    ask_audit,
    ask_buttonhole,
    ask_conversion,
    ask_edging,
    ask_gauge,
    ask_gauge_check,
    ask_shaping,
    ask_size_table,
    ask_yarn,
    patterns,
    projects,
)
from ..engine.gauge import GaugeAnswer
from . import (
    audit_requests,
    conversion_requests,
    gauge_check_requests,
    piece_requests,
    project_requests,
    requests,
    size_table_requests,
    yarn_requests,
)


@dataclass(frozen=True, slots=True)
class Operation:
    """One question: what is asked, what answers it, and how it is told of."""

    id: str
    summary: str
    tag: str
    description: str
    request: type[Schema]
    answer: type
    compute: Callable[[Any], Any]

    @property
    def path(self) -> str:
        return f"/v1/{self.id}"


OPERATIONS: tuple[Operation, ...] = (
    Operation(
        "pieces", "Size one piece", "Make a piece",
        "Which chain, rows, shaping, edging, opening and yarn make this one piece at this gauge?",
        piece_requests.PieceRequest, patterns.Piece, patterns.piece,
    ),
    Operation(
        "projects", "Size a project", "Make a piece",
        "The same for several pieces in several sizes, made to fit each other: which counts let"
        " every seam agree, what are the instructions for all sizes in one text, and what yarn do"
        " they take?",
        project_requests.ProjectRequest, projects.Project, projects.project,
    ),
    Operation(
        "shaping", "Spread shaping evenly", "Ask one thing",
        "How do I get from this many stitches to that many over this many rows or this height?",
        requests.ShapingRequest, ask_shaping.ShapingAnswer, ask_shaping.shaping,
    ),
    Operation(
        "edgings", "Count an edging", "Ask one thing",
        "How many edging stitches go round this piece, side by side and corner by corner?",
        requests.EdgingRequest, ask_edging.EdgingAnswer, ask_edging.edgings,
    ),
    Operation(
        "buttonholes", "Fit an opening to a button", "Ask one thing",
        "Which loop or opening takes this button, and where do several go along a band?",
        requests.ButtonholeRequest, ask_buttonhole.Openings, ask_buttonhole.buttonholes,
    ),
    Operation(
        "yarn", "Buy yarn, or use what is left", "Ask one thing",
        "How much yarn, of each colour, and how many balls to buy; or what can be made from what is"
        " left?",
        yarn_requests.YarnRequest, ask_yarn.YarnAnswer, ask_yarn.yarn,
    ),
    Operation(
        "gauge", "Read a swatch", "Ask one thing",
        "What gauge does this swatch give, before and after blocking, how sure is it, and where"
        " does it sit in the published range for the yarn weight?",
        requests.GaugeRequest, GaugeAnswer, ask_gauge.gauge,
    ),
    Operation(
        "conversions", "Convert counts to another gauge", "Ask one thing",
        "Counts written for one gauge: what are they at another, or which gauge gives the size that"
        " is wanted from counts as they are?",
        conversion_requests.ConversionRequest, ask_conversion.ConversionAnswer,
        ask_conversion.conversions,
    ),
    Operation(
        "size-tables", "Tabulate sizes at several gauges", "Make a piece",
        "What does one template come to at every one of these gauges, in every one of these sizes?"
        " Chain, rows, shaping and yarn for every pairing, as JSON or as text/csv.",
        size_table_requests.SizeTableRequest, ask_size_table.SizeTable,
        ask_size_table.size_tables,
    ),
    Operation(
        "audits", "Audit written rows", "Check a pattern",
        "Does the arithmetic of these written rows hold, in every size?",
        audit_requests.AuditRequest, ask_audit.Audit, ask_audit.audit,
    ),
    Operation(
        "gauge-checks", "Check the work against its plan", "Make a piece",
        "The work on the hook measures this: is it on course, and if not what changes from here?",
        gauge_check_requests.GaugeCheckRequest, ask_gauge_check.GaugeCheck,
        ask_gauge_check.gauge_check,
    ),
)  # fmt: skip
