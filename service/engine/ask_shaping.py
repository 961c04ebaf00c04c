"""One question: how do I get from this many stitches to that many?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from .counting import Asked, Scale, count, in_height
from .errors import Findings, Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .measures import Measure
from .rounding import ANY, Rounding
from .shaping import Edges, Rules, Schedule, check_pace, plan, plan_every, row_counts
from .shapingtext import in_words
from .templates import Term
from .units import System


@dataclass(frozen=True, slots=True)
class ShapingOrder:
    """From so many stitches to so many, over rows, a height (millimetres) or every so many rows."""

    start: int
    end: int
    rows: int | None = None
    height: Fraction | None = None
    every: int | None = None
    gauge: Gauge | None = None
    edges: Edges = "both"
    right_side_only: bool = False
    max_change: int | None = None
    first_row: Literal["right-side", "wrong-side"] = "right-side"
    rounding: Rounding = "nearest"
    detail: Literal["runs", "rows"] = "runs"
    units: System = "metric"


@dataclass(frozen=True, slots=True)
class ShapingAnswer:
    rows: Annotated[int, "rows the shaping takes"]
    stitches_at_start: Annotated[int, "stitches before the first row"]
    stitches_at_end: Annotated[int, "stitches on the last row"]
    schedule: Annotated[Schedule, "shaping, in working order; empty when nothing changes"]
    in_words: Annotated[str, "the shaping in the trade's form"]
    height: Annotated[Measure | None, "height asked and finished, where a gauge was given"]
    row_counts: Annotated[tuple[int, ...] | None, 'stitches of each row, with "detail": "rows"']


def shaping(order: ShapingOrder) -> ShapingAnswer:
    """Shaping spread evenly over the rows there are.

    Raises Refused when it does not fit, or when the extent is not told in one way.
    Source: sweater-101.

    >>> shaping(ShapingOrder(38, 60, rows=108)).in_words
    'increase 1 stitch at each edge every 9th row 2 times, then every 10th row 9 times'
    """
    rules = Rules(
        order.edges, order.max_change, order.right_side_only, order.first_row == "right-side"
    )
    found, rows = Findings(), None
    with found.collecting():
        check_pace(order.every or 1, rules)
    with found.collecting():
        rows = _rows(order)
    found.settle()
    try:
        if order.every is not None or rows is None:
            rows, schedule = plan_every(order.start, order.end, order.every or 1, rows, rules)
        else:
            schedule = plan(order.start, order.end, rows, rules)
    except Refused as refused:
        if not (order.gauge and order.height):
            raise
        asked, scale = _asked(order.height), _scale(order, order.gauge)
        raise Refused(*(in_height(r, asked, scale) for r in refused.refusals)) from None
    height = None
    if order.gauge:
        finished, wanted = rows * order.gauge.row_height, order.height
        height = Measure(wanted, finished, None if wanted is None else finished - wanted)
    return ShapingAnswer(
        rows=rows,
        stitches_at_start=order.start,
        stitches_at_end=order.end,
        schedule=schedule,
        in_words=in_words(order.start, schedule),
        height=height,
        row_counts=tuple(row_counts(order.start, rows, schedule))
        if order.detail == "rows"
        else None,
    )


def _asked(height: Fraction) -> Asked:
    return Asked(height, ("height",), Term("height"))


def _scale(order: ShapingOrder, gauge: Gauge) -> Scale:
    return Scale(gauge.stitch_width, gauge.row_height, rounding=order.rounding, units=order.units)


def _rows(order: ShapingOrder) -> int | None:
    if order.rows is not None and order.height is not None:
        raise Refused(
            Refusal(
                "rows-and-height",
                ("height",),
                "give the rows or the height, not both",
                {"one_of": ["rows", "height"]},
            )
        )
    if order.height is not None:
        if order.gauge is None:
            raise Refused(
                Refusal(
                    "height-without-gauge",
                    ("gauge",),
                    "a height needs the gauge it is in",
                    {"add": "gauge"},
                )
            )
        scale = _scale(order, order.gauge)
        return count(_asked(order.height), scale.row_height, ANY, scale, "rows")
    if order.rows is None and order.every is None:
        raise Refused(
            Refusal(
                "no-extent",
                (),
                "give the rows, a height with a gauge, or every how many rows",
                {"one_of": ["rows", "height", "every"]},
            )
        )
    return order.rows
