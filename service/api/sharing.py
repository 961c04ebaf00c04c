"""Answers as JSON text; of pieces whose counts are alike, all but the measurements written once.

Many measurements come to the same stitches and rows, and from there on all that is told of a piece
follows from its counts: only what was asked for, and how far off it came, does not. So what was
made up and written for counts once is kept. A question that differs from an earlier one in its
measurements alone is counted, and told with the rest as it was. The key is the whole question but
its measurements, and every count that it came to.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from typing import Any

from ..engine.patterns import Piece, piece_of
from ..engine.pieces import counted
from ..engine.sizing import PieceOrder
from ..engine.templates import Template
from ..engine.units import SYSTEMS
from .answers import around, write, writer_of
from .operations import OPERATIONS
from .store import Store

SETTING = "SIZING_SHARED_MEGABYTES"
USUAL_MEGABYTES = 16
_MEASURES = "measurements"

Written = tuple[bytes, ...]

kept: Store[Written] = Store(int(os.environ.get(SETTING) or USUAL_MEGABYTES) * 2**20)
_write_around = {system: around(Piece, _MEASURES, system) for system in SYSTEMS}
_write_measures = {system: writer_of(Piece, _MEASURES, system) for system in SYSTEMS}


def answer(operation: str, document: Mapping[str, Any], order: Any) -> bytes:
    """The answer to a question, given as its document and as what that was loaded to.

    Raises Refused, and whatever the engine raises.
    """
    if operation == "pieces" and isinstance(order.template, Template) and not order.continue_after:
        return _piece(document, order)
    return write(_COMPUTE[operation](order), order.units).encode()


_COMPUTE: dict[str, Callable[[Any], Any]] = {o.id: o.compute for o in OPERATIONS}


def _piece(document: Mapping[str, Any], order: PieceOrder) -> bytes:
    counts = counted(order)
    asked = repr([pair for pair in document.items() if pair[0] != _MEASURES])
    key = (asked, order.units, counts.settles)
    written = kept.get(key)
    if written is None:
        parts = _write_around[order.units](piece_of(order, counts))
        written = tuple(part.encode() for part in parts)
        kept.put(key, written, len(asked) + sum(map(len, written)))
    before, after = written
    measures = _write_measures[order.units](counts.sized.measurements)
    return b"".join((before, measures.encode(), after))
