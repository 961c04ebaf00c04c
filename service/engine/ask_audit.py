"""One question: does the arithmetic of these written rows hold, in every size?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from .auditfindings import Finding, Walked
from .auditorder import AuditOrder, AuditPiece, check_audit
from .auditrows import Budget
from .auditsizes import closures, foundations, measurements, seam
from .auditwalk import walk
from .errors import Path
from .rowtext import plural

MOST_FINDINGS = 1000


@dataclass(frozen=True, slots=True)
class Audited:
    """What was held against the stitches, over all sizes."""

    rows: Annotated[int, "rows and rounds worked through"]
    stated_counts: Annotated[int, "stated counts of rows"]
    measurements: Annotated[int, "stated measurements"]
    closures: Annotated[int, "openings for buttons"]
    seams: Annotated[int, "seams"]


@dataclass(frozen=True, slots=True)
class NotAudited:
    field: Annotated[Path, "JSON Pointer to what could not be audited"]
    text: Annotated[str, "why, in words"]


@dataclass(frozen=True, slots=True)
class Audit:
    holds: Annotated[bool, "whether nothing was found"]
    in_words: Annotated[str, "the outcome in a sentence"]
    sizes: Annotated[tuple[str, ...], "sizes audited, smallest first"]
    audited: Annotated[Audited, "what was audited, over all sizes"]
    findings: Annotated[tuple[Finding, ...], "what does not hold, by piece, size and row"]
    left_out: Annotated[int, "findings past the 1,000 that are listed"]
    not_audited: Annotated[tuple[NotAudited, ...], "what could not be audited, and why"]


def audit(order: AuditOrder) -> Audit:
    """Every row, size, measurement, opening and seam that does not come to what is stated of it.

    Raises Refused for a form that cannot be read, or one that takes more work than is done at
    once. Source: common-practice.

    >>> from .auditorder import FoundationOrder, LineOrder, WorkOrder
    >>> row = LineOrder((WorkOrder("plain", "to-end"),), stitches=19)
    >>> case = AuditPiece("case", (row,), foundation=FoundationOrder(stitches=20))
    >>> audit(AuditOrder(("pocket",), (case,))).findings[0].comes_to.count
    20
    """
    check_audit(order)
    budget = Budget()
    findings: list[Finding] = []
    skipped: list[NotAudited] = []
    done: dict[str, Mapping[str, Walked]] = {}
    measured = opened = 0
    for i, piece in enumerate(order.pieces):
        path: Path = ("pieces", i)
        walked = {size: walk(piece, size, path, budget) for size in order.sizes}
        done[piece.name] = walked
        findings += [f for each in walked.values() for f in each.findings]
        findings += foundations(piece, walked, path)
        skipped += _rows_unsure(piece, walked, path)
        gauge = piece.gauge or order.gauge
        findings += measurements(piece, gauge, walked, path, order.units)
        if gauge is None:
            skipped += _without_gauge(piece, path)
            continue
        measured += len(piece.measurements) * len(order.sizes)
        for size in order.sizes:
            findings += closures(piece, gauge, size, path, order.units)
        opened += len(piece.closures) * len(order.sizes)
    for i, joined in enumerate(order.seams):
        for size in order.sizes:
            made = {e.piece: done[e.piece][size] for e in joined.edges}
            told = seam(joined, size, made, ("seams", i))
            findings += [told] if told else []
    each = [walked for pieces in done.values() for walked in pieces.values()]
    return Audit(
        holds=not findings,
        in_words=_in_words(findings, order),
        sizes=order.sizes,
        audited=Audited(
            rows=sum(w.rows for w in each),
            stated_counts=sum(w.stated for w in each),
            measurements=measured,
            closures=opened,
            seams=len(order.seams) * len(order.sizes),
        ),
        findings=tuple(findings[:MOST_FINDINGS]),
        left_out=max(0, len(findings) - MOST_FINDINGS),
        not_audited=tuple(skipped),
    )


def _rows_unsure(piece: AuditPiece, walked: Mapping[str, Walked], path: Path) -> list[NotAudited]:
    sizes = [size for size, each in walked.items() if not each.numbered]
    if not sizes:
        return []
    text = (
        f"the row numbers of {piece.name} do not follow on in size {', '.join(sizes)}: heights and"
        " edges counted in rows wait until they do"
    )
    return [NotAudited((*path, "rows"), text)]


def _without_gauge(piece: AuditPiece, path: Path) -> list[NotAudited]:
    made = []
    for name in ("measurements", "closures"):
        if getattr(piece, name):
            text = f"the {name} of {piece.name} need a gauge to be held against the stitches"
            made.append(NotAudited((*path, name), text))
    return made


def _in_words(findings: list[Finding], order: AuditOrder) -> str:
    pieces, sizes = plural(len(order.pieces), "piece"), plural(len(order.sizes), "size")
    if not findings:
        return f"The arithmetic of {pieces} holds in {sizes}."
    wrong = plural(len({f.size for f in findings}), "size")
    return f"{plural(len(findings), 'finding')} in {wrong} of {len(order.sizes)}."
