"""Where in a piece a slit is worked."""

from __future__ import annotations

from .errors import Permitted, Refusal, Refused
from .exact import Fraction
from .openings import Edge, Slit, SlitPlace
from .rounding import whole
from .schedules import expanded
from .shaping import Schedule


def place_slit(
    slit: Slit,
    runs: Schedule,
    stitch_width: Fraction,
    row_height: Fraction,
    edge: Edge,
    busy: frozenset[int] = frozenset(),
) -> SlitPlace:
    """The row and stitches of a slit: near the last row in its middle, or near the row ends.

    Its middle stands at least half the button's diameter from every edge, with stitches to
    spare for the shaping at both ends of its row and of the next. ``runs`` are the piece's, of
    which the rows ``busy`` have openings already; widths in millimetres. Raises Refused where no
    row will do. Source: common-practice.

    >>> from .openings import Button, ClosureOrder, slit
    >>> from .shaping import Run
    >>> w, h = Fraction(25, 4), Fraction(100, 19)
    >>> made = slit(Button(Fraction(18)), w, h, ClosureOrder("slit"))
    >>> place_slit(made, (Run(57, 1, 0, 0, 0, 38),), w, h, "last-row").row
    55
    """
    clear = max(1, whole(slit.edge_distance / stitch_width, rounding="at-least"))
    rows = expanded(runs)
    tall = slit.skipped if slit.direction == "along" else 1
    wide = slit.skipped if slit.direction == "across" else 0
    for last in _candidates(len(rows), tall, slit.edge_distance / row_height, edge):
        first = last - tall + 1
        # Rows are counted from 1; the row after the opening is worked over it.
        taken = rows[first - 1 : last + 1]
        if busy.intersection(range(first, last + 2)):
            continue
        before = taken[0][0]
        if tall > 1 and any(left or right for _, left, right in taken[:-1]):
            continue  # each half would be shaped twice
        losses = [max(0, -left, -right) for _, left, right in taken]
        spare = 1 + 2 * max(losses)
        room = before - wide - 2 * spare
        if room < 0 or before < 2 * clear:
            continue
        lead = (before - wide) // 2 if edge == "last-row" else max(spare, clear)
        if before - wide - lead < spare:
            continue
        if slit.direction == "across":
            return SlitPlace(last, lead + 1, lead + wide, last)
        return SlitPlace(first, lead, lead, last)
    needs: Permitted = {
        "minimum_stitches": max(wide + 2, 2 * clear),
        "rows_over_it": 1,
        "or": 'ask for "kind": "loop"',
    }
    raise Refused(
        Refusal(
            "slit-does-not-fit",
            ("closure",),
            f"the opening needs a row of at least {max(wide + 2, 2 * clear)} stitches with rows"
            " below and above it, and this piece has none that will do",
            needs,
        )
    )


def _candidates(rows: int, tall: int, half: Fraction, edge: Edge) -> range:
    """Last rows of the opening to try, best first; row 1 is worked into chains and never opened."""
    lowest = 1 + tall
    if edge == "row-ends":
        middle = (rows + tall) // 2
        return range(middle, middle + 1) if lowest <= middle < rows else range(0)
    below_top = max(1, whole(half, rounding="at-least"))
    return range(rows - below_top, lowest - 1, -1)
