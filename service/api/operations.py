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
from ..renders.audit_paper import audit_csv
from ..renders.conversion_paper import conversion_csv
from ..renders.grid_svg import grid_svg, shaping_grid_svg
from ..renders.howto import piece_howto, project_howto
from ..renders.outline_svg import outline_svg
from ..renders.project_svg import project_svg
from ..renders.rows_csv import piece_csv, project_csv, shaping_csv
from ..renders.size_table_csv import size_table_csv
from ..renders.yarn_paper import yarn_csv
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
from .representations import JSON, PRINTED, Representation, drawing, page_data, table


@dataclass(frozen=True, slots=True)
class Operation:
    """One question: what is asked, what answers it, how it is told of, and in which forms.

    ``others`` are the representations besides JSON, in the service's order of preference.
    """

    id: str
    summary: str
    tag: str
    description: str
    request: type[Schema]
    answer: type
    compute: Callable[[Any], Any]
    others: tuple[Representation, ...]

    @property
    def path(self) -> str:
        return f"/v1/{self.id}"

    @property
    def offers(self) -> tuple[Representation, ...]:
        """All forms that it is answered in."""
        return (JSON, *self.others)


OPERATIONS: tuple[Operation, ...] = (
    Operation(
        "pieces", "Size one piece", "Make a piece",
        "Which chain, rows, shaping, edging, opening and yarn make this one piece at this gauge?",
        piece_requests.PieceRequest, patterns.Piece, patterns.piece,
        (*PRINTED, table(lambda piece, _: piece_csv(piece)), drawing("outline", outline_svg),
         drawing("grid", grid_svg), page_data(piece_howto)),
    ),
    Operation(
        "projects", "Size a project", "Make a piece",
        "The same for several pieces in several sizes, made to fit each other: which counts let"
        " every seam agree, what are the instructions for all sizes in one text, and what yarn do"
        " they take?",
        project_requests.ProjectRequest, projects.Project, projects.project,
        (*PRINTED, table(lambda project, _: project_csv(project)),
         drawing("outline", project_svg), page_data(project_howto)),
    ),
    Operation(
        "shaping", "Spread shaping evenly", "Ask one thing",
        "How do I get from this many stitches to that many over this many rows or this height?",
        requests.ShapingRequest, ask_shaping.ShapingAnswer, ask_shaping.shaping,
        (*PRINTED, table(shaping_csv), drawing("grid", shaping_grid_svg)),
    ),
    Operation(
        "edgings", "Count an edging", "Ask one thing",
        "How many edging stitches go round this piece, side by side and corner by corner?",
        requests.EdgingRequest, ask_edging.EdgingAnswer, ask_edging.edgings, PRINTED,
    ),
    Operation(
        "buttonholes", "Fit an opening to a button", "Ask one thing",
        "Which loop or opening takes this button, and where do several go along a band?",
        requests.ButtonholeRequest, ask_buttonhole.Openings, ask_buttonhole.buttonholes, PRINTED,
    ),
    Operation(
        "yarn", "Buy yarn, or use what is left", "Ask one thing",
        "How much yarn, of each colour, and how many balls to buy; or what can be made from what is"
        " left?",
        yarn_requests.YarnRequest, ask_yarn.YarnAnswer, ask_yarn.yarn,
        (*PRINTED, table(yarn_csv)),
    ),
    Operation(
        "gauge", "Read a swatch", "Ask one thing",
        "What gauge does this swatch give, before and after blocking, how sure is it, and where"
        " does it sit in the published range for the yarn weight?",
        requests.GaugeRequest, GaugeAnswer, ask_gauge.gauge, PRINTED,
    ),
    Operation(
        "conversions", "Convert counts to another gauge", "Ask one thing",
        "Counts written for one gauge: what are they at another, or which gauge gives the size that"
        " is wanted from counts as they are?",
        conversion_requests.ConversionRequest, ask_conversion.ConversionAnswer,
        ask_conversion.conversions, (*PRINTED, table(conversion_csv)),
    ),
    Operation(
        "size-tables", "Tabulate sizes at several gauges", "Make a piece",
        "What does one template come to at every one of these gauges, in every one of these sizes?"
        " Chain, rows, shaping and yarn for every pairing, as JSON or as text/csv.",
        size_table_requests.SizeTableRequest, ask_size_table.SizeTable,
        ask_size_table.size_tables,
        (table(lambda made, order: size_table_csv(made, order.units)), *PRINTED),
    ),
    Operation(
        "audits", "Audit written rows", "Check a pattern",
        "Does the arithmetic of these written rows hold, in every size?",
        audit_requests.AuditRequest, ask_audit.Audit, ask_audit.audit,
        (*PRINTED, table(audit_csv)),
    ),
    Operation(
        "gauge-checks", "Check the work against its plan", "Make a piece",
        "The work on the hook measures this: is it on course, and if not what changes from here?",
        gauge_check_requests.GaugeCheckRequest, ask_gauge_check.GaugeCheck,
        ask_gauge_check.gauge_check, PRINTED,
    ),
)  # fmt: skip


_NAMED = {operation.id: operation for operation in OPERATIONS}


def by_id(operation: str) -> Operation:
    """The operation of that id. Raises KeyError."""
    return _NAMED[operation]
