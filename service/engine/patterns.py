"""The whole answer for one piece: counts, making up, and the instructions that tell of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from .beginning import left_of
from .cautions import Caution
from .checkpoints import Checkpoint
from .colourtext import coloured
from .continuing import Continued
from .edgings import Edging, Extent
from .foundation import Foundation
from .instructions import Instruction, instructions
from .measures import Measure
from .openings import Buttonhole
from .pieces import Counted, Made, counted, made_up
from .roundbegun import rounds_left
from .roundinstructions import round_instructions
from .roundpieces import RoundMade, make_round
from .roundplans import RoundTemplate, chosen
from .rounds import RoundSection, RoundSized, Start
from .sections import Section
from .sizing import PieceOrder, Totals
from .slots import Opening
from .stripes import Coloured
from .yarn import Yarn


@dataclass(frozen=True, slots=True)
class Piece:
    template: Annotated[str, "name of the template"]
    worked: Annotated[Literal["flat", "round"], "in rows, or in the round"]
    stitch: Annotated[str, "stitch of the fabric"]
    foundation: Annotated[Foundation | None, "how to begin a piece worked flat"]
    start: Annotated[Start | None, "how to begin a piece worked in the round"]
    sections: Annotated[
        tuple[Section | RoundSection, ...],
        "the sections, in working order, of rows or of rounds; where the piece goes on from a row,"
        " what is left of them",
    ]
    totals: Annotated[
        Totals, "rows and stitches of the piece; of what is left, where it goes on from a row"
    ]
    measurements: Annotated[
        Mapping[str, Measure], "each of the template's measurements, asked and finished"
    ]
    finished: Annotated[Extent, "size of the piece before edging"]
    openings: Annotated[tuple[Opening, ...], "openings across rows that the template asks for"]
    edging: Annotated[Edging | None, "the edging, where one was asked for"]
    buttonhole: Annotated[Buttonhole | None, "the opening, where a button was given"]
    yarn: Annotated[
        Yarn | None,
        "the yarn, where something was told of it; for what is left, where it goes on from a row",
    ]
    checkpoints: Annotated[tuple[Checkpoint, ...], "where to lay a tape, and what it should read"]
    instructions: Annotated[tuple[Instruction, ...], "the piece step by step"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]
    continued: Annotated[
        Continued | None, "what is worked already, where the piece goes on from a row"
    ] = None
    colours: Annotated[
        tuple[Coloured, ...] | None, "which rows are in which colour, where colours were told"
    ] = None


def piece(order: PieceOrder) -> Piece:
    """One piece, whole. Raises Refused with everything that stands in the way.

    Source: common-practice.

    >>> from .exact import Fraction
    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> from .gauge import square
    >>> gauge = square(16, 19)
    >>> plan = Template("flap", "Flap", (), FoundationPlan(stitches=6),
    ...     (SectionPlan("flap", "taper", to_point=True),))
    >>> [i.text for i in piece(PieceOrder(gauge, plan, {})).instructions][4]
    'Row 2 (WS): Ch 1, turn, sc2tog, sc2tog. (2 sts)'
    """
    if isinstance(order.template, RoundTemplate):
        if order.in_the_round:
            order = replace(order, template=chosen(order.template, order.in_the_round))
        made_round = make_round(order)
        return _told(order, made_round, round_instructions(order, made_round))
    return piece_of(order, counted(order))


def piece_of(order: PieceOrder, counts: Counted) -> Piece:
    """One piece worked flat, whole, that has been counted.

    Raises Refused when a substitute's length cannot be told. Source: common-practice.
    """
    made = made_up(order, counts)
    return _told(order, made, instructions(order, made))


def _told(order: PieceOrder, made: Made | RoundMade, steps: tuple[Instruction, ...]) -> Piece:
    sized = made.sized
    begun, left = sized.begun, _left(order, made)
    return Piece(
        template=order.template.name,
        worked="flat" if isinstance(made, Made) else "round",
        stitch=order.gauge.stitch,
        foundation=made.sized.foundation if isinstance(made, Made) else None,
        start=made.sized.start if isinstance(made, RoundMade) else None,
        sections=left,
        totals=made.left,
        measurements=made.measurements,
        finished=made.sized.extent,
        openings=_openings(made) if isinstance(made, Made) else (),
        edging=made.edging,
        buttonhole=made.buttonhole,
        yarn=made.yarn,
        checkpoints=made.checkpoints,
        instructions=steps,
        cautions=made.cautions,
        continued=_continued(made) if begun else None,
        colours=coloured(order.colours, sized.sections, left) if order.colours else None,
    )


def _left(order: PieceOrder, made: Made | RoundMade) -> tuple[Section | RoundSection, ...]:
    gauge, sized = order.gauge, made.sized
    if isinstance(sized, RoundSized):
        return rounds_left(sized, gauge.stitch_width, gauge.row_height)
    return left_of(sized.sections, sized.begun, gauge.stitch_width, gauge.row_height)


def _openings(made: Made) -> tuple[Opening, ...]:
    """Those still to come; one of the last row worked is worked over in the next."""
    begun = made.sized.begun
    return tuple(o for o in made.sized.openings if not begun or o.row >= begun.rows)


def _continued(made: Made | RoundMade) -> Continued:
    begun, left, whole = made.sized.begun, made.left, made.totals
    assert begun is not None
    return Continued(begun.rows, begun.stitches, left.rows, left.stitches, whole.rows)
