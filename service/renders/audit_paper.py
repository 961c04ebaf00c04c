"""An audit as a page to be printed and a table: what does not hold, and where."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_audit import Audit
from ..engine.auditfindings import Amount, Finding
from ..engine.auditorder import AuditOrder
from ..engine.errors import Path
from ..engine.rowtext import plural
from ..engine.units import WRITTEN, System, in_unit
from .paper import Block, Heading, Paper, Points, Table, Words
from .rows import titled
from .tables import Cell, csv_of

COLUMNS = (
    "piece", "size", "row", "last_row", "code", "stated", "comes_to", "of", "stated_length",
    "comes_to_length", "unit", "correction", "text", "field",
)  # fmt: skip


def audit_paper(answer: Audit, order: AuditOrder) -> Paper:
    """The outcome, what was audited, the findings by piece, and what could not be audited."""
    outcome = "Nothing found" if answer.holds else plural(len(answer.findings), "finding")
    if answer.left_out:
        outcome += f", and {answer.left_out} more that are not listed"
    return (
        Heading(1, f"Audit: {outcome}"),
        Words(answer.in_words),
        Words(f"Sizes: {', '.join(answer.sizes)}."),
        Heading(2, "What was audited"),
        Points(tuple(_audited(answer, order))),
        *_findings(answer),
        *_not_audited(answer),
    )


def _audited(answer: Audit, order: AuditOrder) -> Iterator[str]:
    yield f"Pieces: {', '.join(piece.name for piece in order.pieces)}."
    done = answer.audited
    yield f"{plural(done.rows, 'row or round', 'rows and rounds')} worked through, over all sizes."
    for count, one, more in (
        (done.stated_counts, "stated count", "stated counts"),
        (done.measurements, "stated measurement", "stated measurements"),
        (done.closures, "opening for a button", "openings for buttons"),
        (done.seams, "seam", "seams"),
    ):
        yield f"{plural(count, one, more)} held against the stitches."


def _findings(answer: Audit) -> Iterator[Block]:
    pieces: dict[str | None, list[Finding]] = {}
    for finding in answer.findings:
        pieces.setdefault(finding.piece, []).append(finding)
    for piece, found in pieces.items():
        yield Heading(2, titled(piece) if piece else "Seams")
        rows = tuple((one.size, _row(one), one.text) for one in found)
        yield Table(("size", "row", "what was found, and the nearest correction"), rows)


def _row(one: Finding) -> str:
    if one.row is None:
        return ""
    last = one.last_row
    return str(one.row) if last is None or last == one.row else f"{one.row}–{last}"


def _not_audited(answer: Audit) -> Iterator[Block]:
    if answer.not_audited:
        yield Heading(2, "Not audited")
        yield Points(tuple(f"{one.text[0].upper()}{one.text[1:]}." for one in answer.not_audited))


def audit_csv(answer: Audit, order: AuditOrder) -> str:
    """A line a finding; a header alone where nothing was found."""
    return csv_of(COLUMNS, (_line(one, order.units) for one in answer.findings))


def _line(one: Finding, units: System) -> tuple[Cell, ...]:
    stated, comes_to = one.stated or Amount(), one.comes_to or Amount()
    unit = WRITTEN["length"][units]
    lengths = [
        None if amount.length is None else in_unit(amount.length, unit)
        for amount in (stated, comes_to)
    ]
    return (
        one.piece, one.size, one.row, one.last_row, one.code, stated.count, comes_to.count,
        comes_to.of or stated.of, *lengths, unit if lengths != [None, None] else None,
        one.correction.text, one.text, pointer(one.field),
    )  # fmt: skip


def pointer(path: Path) -> str:
    """A path as a JSON Pointer (RFC 6901).

    >>> pointer(("pieces", 0, "a/b"))
    '/pieces/0/a~1b'
    """
    steps = (str(step).replace("~", "~0").replace("/", "~1") for step in path)
    return "".join(f"/{step}" for step in steps)
