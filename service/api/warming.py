"""What the first question of each kind would have to make, made before it is asked.

A process that is forked from one that is warm answers its first question as quickly as its last.
To start needs none of it, so it is for workers that take another's place: see
deploy/gunicorn.conf.py.
"""

from __future__ import annotations

from functools import cache

from ..engine.gauge import square
from ..engine.patterns import piece
from ..engine.sizing import PieceOrder
from ..engine.units import SYSTEMS
from .answers import write, writer
from .builtins import TEMPLATES
from .operations import OPERATIONS


@cache
def warm() -> None:
    """Make each way of writing, and every template once as its example has it."""
    for operation in OPERATIONS:
        for system in SYSTEMS:
            writer(operation.answer, system)
    gauge = square(16, 19)
    for template in TEMPLATES.values():
        examples = {m.name: m.example for m in template.measurements if m.example is not None}
        for system in SYSTEMS:
            write(piece(PieceOrder(gauge, template, examples, units=system)), system)
