"""Answers as JSON text; of pieces whose counts are alike, all but the measurements written once.

Many measurements come to the same stitches and rows, and from there on all that is told of a piece
follows from its counts: only what was asked for, and how far off it came, does not. So what was
made up and written for counts once is kept. A question that differs from an earlier one in its
measurements alone is counted, and told with the rest as it was. The key is the whole question but
its measurements, and every count that it came to.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any, NamedTuple

from ..engine.patterns import Piece, piece_of
from ..engine.pieces import counted
from ..engine.sizing import PieceOrder
from ..engine.templates import Template
from ..engine.units import SYSTEMS
from .answers import around, write, writer_of
from .compiled import Read, of_field
from .operations import OPERATIONS
from .piece_requests import PieceRequest, with_measurements
from .store import Store, remember

SETTING = "SIZING_SHARED_MEGABYTES"
USUAL_MEGABYTES = 16
_MEASURES = "measurements"


class Question(NamedTuple):
    """A question as it was loaded; of a piece with all that was sent but its measurements."""

    operation: str
    order: Any
    rest: str = ""


# What is kept is the text before and after the measurements, and noted where it parts.
kept: Store[int] = Store(int(os.environ.get(SETTING) or USUAL_MEGABYTES) * 2**20)

MOST_ASKED, LONGEST_REST = 64, 8192
"""Questions that are remembered by all but their measurements, past which they are forgotten; and
the characters of the longest."""
_asked: dict[str, Question] = {}
_read_measurements = of_field(PieceRequest().load_fields[_MEASURES])

_write_around = {system: around(Piece, _MEASURES, system) for system in SYSTEMS}
_write_measures = {system: writer_of(Piece, _MEASURES, system) for system in SYSTEMS}


def question(operation: str, document: Any, load: Read) -> Question:
    """The document loaded; of pieces that differ in their measurements alone, those alone.

    Raises what ``load`` raises.
    """
    if operation != "pieces" or type(document) is not dict:
        return Question(operation, load(document))
    rest = repr([pair for pair in document.items() if pair[0] != _MEASURES])
    known = _asked.get(rest)
    if known is not None:
        try:
            measured = _read_measurements(document.get(_MEASURES, {}))
        except Exception:  # the schema is to say what is wrong with them
            return Question(operation, load(document), rest)
        return known._replace(order=with_measurements(known.order, measured))
    asked = Question(operation, load(document), rest)
    if kept.most_bytes and len(rest) <= LONGEST_REST:
        remember(_asked, rest, asked, MOST_ASKED)
    return asked


def answer(asked: Question) -> bytes:
    """The answer to a question.

    Raises Refused, and whatever the engine raises.
    """
    order = asked.order
    if asked.rest and isinstance(order.template, Template) and not order.continue_after:
        return _piece(order, asked.rest)
    return write(_COMPUTE[asked.operation](order), order.units).encode()


_COMPUTE: dict[str, Callable[[Any], Any]] = {o.id: o.compute for o in OPERATIONS}


def _piece(order: PieceOrder, rest: str) -> bytes:
    counts = counted(order)
    key = (rest, counts.settles)
    found = kept.get(key)
    if found is None:
        parts = _write_around[order.units](piece_of(order, counts))
        before, after = (part.encode() for part in parts)
        parts_at, text = len(before), before + after
        kept.put(key, parts_at, text, len(rest))
    else:
        parts_at, text = found
    measures = _write_measures[order.units](counts.sized.measurements)
    return b"".join((text[:parts_at], measures.encode(), text[parts_at:]))
