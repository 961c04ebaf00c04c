"""The whole answer for one piece: counts, making up, and the instructions that tell of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from .cautions import Caution
from .checkpoints import Checkpoint
from .edgings import Edging, Extent
from .foundation import Foundation
from .instructions import Instruction, instructions
from .openings import Buttonhole
from .pieces import make
from .sections import Section
from .sizing import Measure, PieceOrder, Totals
from .slots import Opening
from .yarn import Yarn


@dataclass(frozen=True, slots=True)
class Piece:
    template: Annotated[str, "name of the template"]
    stitch: Annotated[str, "stitch of the fabric"]
    foundation: Annotated[Foundation, "how to begin"]
    sections: Annotated[tuple[Section, ...], "the sections, from the foundation up"]
    totals: Annotated[Totals, "rows and stitches of the piece"]
    measurements: Annotated[
        Mapping[str, Measure], "each of the template's measurements, asked and finished"
    ]
    finished: Annotated[Extent, "size of the piece before edging"]
    openings: Annotated[tuple[Opening, ...], "openings across rows that the template asks for"]
    edging: Annotated[Edging | None, "the edging, where one was asked for"]
    buttonhole: Annotated[Buttonhole | None, "the opening, where a button was given"]
    yarn: Annotated[Yarn | None, "the yarn, where something was told of it"]
    checkpoints: Annotated[tuple[Checkpoint, ...], "where to lay a tape, and what it should read"]
    instructions: Annotated[tuple[Instruction, ...], "the piece step by step"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]


def piece(order: PieceOrder) -> Piece:
    """One piece, whole. Raises Refused with everything that stands in the way.

    Source: common-practice.

    >>> from fractions import Fraction
    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> from .gauge import square
    >>> gauge = square(16, 19)
    >>> plan = Template("flap", "Flap", (), FoundationPlan(stitches=6),
    ...     (SectionPlan("flap", "taper", to_point=True),))
    >>> [i.text for i in piece(PieceOrder(gauge, plan, {})).instructions][4]
    'Row 2 (WS): Ch 1, turn, sc2tog, sc2tog. (2 sts)'
    """
    made = make(order)
    sized = made.sized
    return Piece(
        template=order.template.name,
        stitch=order.gauge.stitch,
        foundation=sized.foundation,
        sections=sized.sections,
        totals=sized.totals,
        measurements=sized.measurements,
        finished=sized.extent,
        openings=sized.openings,
        edging=made.edging,
        buttonhole=made.buttonhole,
        yarn=made.yarn,
        checkpoints=made.checkpoints,
        instructions=instructions(order, made),
        cautions=made.cautions,
    )
