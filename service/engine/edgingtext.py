"""An edging in words, side by side and corner by corner."""

from __future__ import annotations

from .edgings import EdgedCorner, EdgedSide, Edging
from .numerals import ordinal
from .openings import Loop
from .outline import POINT
from .rowtext import plural
from .stitches import STITCHES, Terms

_INTO = {"foundation": "ch", "last-row": "st", "row-ends": "row end"}


def edging_steps(
    edging: Edging, terms: Terms, rows: int, open_at_top: Loop | None
) -> list[tuple[str, int]]:
    """Text and stitches of each round; ``rows`` are the piece's own.

    An edging left open at the top for a loop is worked to and fro, a row and not a round.
    """
    stitch = STITCHES[edging.stitch]
    st = stitch.name(terms).short
    join = STITCHES["slip-stitch"].name(terms).short
    height = max(1, stitch.turning_chain)
    begin = f"ch {height}" + (" (does not count as a st)" if height > 1 else "")
    corner = edging.corners[0] if edging.corners else None
    parts = _sides(edging, st, corner)
    what = "Edging round"
    close, again = f"; join with {join} to the first {st}", begin
    if open_at_top:
        what = "Edging row"
        parts.append(f"leave the last {plural(open_at_top.spans, 'st')} free for the loop")
        close, again = "", f"{begin}, turn"
    start = (
        "with the RS facing you, from the top of the left edge, where the last row ended"
        if rows % 2
        else "fasten off; with the RS facing you, join the yarn at the top of the left edge"
    )
    chains = f" and {edging.corner_chains} ch" if edging.corner_chains else ""
    steps = [(f"{what} 1: {start}, {begin} and work {'; '.join(parts)}{close}."
              f" ({edging.stitches} {st}{chains})", edging.stitches)]  # fmt: skip
    for number, count in enumerate(edging.rounds[1:], 2):
        corners = f", but {_later(corner, st)}" if corner and _later(corner, st) else ""
        side = f" ({'WS' if number % 2 == 0 else 'RS'})" if open_at_top else ""
        steps.append((f"{what} {number}{side}: {again}, {st} in each {st}{corners}{close}."
                      f" ({count} {st}{chains})", count))  # fmt: skip
    return steps


def _sides(edging: Edging, st: str, corner: EdgedCorner | None) -> list[str]:
    parts: list[str] = []
    for i, side in enumerate(edging.sides):
        if not side.stitches:
            continue
        before = edging.sides[i - 1].corner if side.along != "row-ends" else None
        after = side.corner if side.along != "row-ends" else None
        if corner and after and side.places <= POINT and not before:
            parts.append(f"at the {after}, {_point(side, corner, st)}")
            continue
        if corner and corner.stitches > 1 and before:
            parts.append(_cornered(side, corner, st))
        else:
            parts.append(_along(side, st))
        if corner and side.corner and corner.chains and corner.stitches < 2:
            parts.append(f"ch {corner.chains} for the corner")
    return parts


def _group(corner: EdgedCorner, stitches: int, st: str) -> str:
    if not corner.chains:
        return f"{stitches} {st}"
    half = stitches // 2
    return f"({half} {st}, ch {corner.chains}, {stitches - half} {st})"


def _point(side: EdgedSide, corner: EdgedCorner, st: str) -> str:
    """A row of one or two stitches is one corner, worked alike on both halves."""
    stitches = side.stitches + max(0, corner.stitches - 1)
    chain = f"ch {corner.chains}, " if corner.chains else ""
    if side.places == 1:
        work = _group(corner, stitches, st) if stitches > 1 else st
        return f"{work} in the st" + (f", {chain[:-2]}" if chain and stitches == 1 else "")
    first = stitches // 2
    some = [st if n == 1 else f"{n} {st}" for n in (first, stitches - first)]
    return f"{some[0]} in first st, {chain}{some[1]} in last st"


def _cornered(side: EdgedSide, corner: EdgedCorner, st: str) -> str:
    """A level side whose end stitches hold the corners: there is one at both or at neither."""
    one, group = _INTO[side.along], _group(corner, corner.stitches, st)
    name, rest = _name(side), side.places - 2
    if side.places != side.stitches or rest < 0:
        return (
            f"{side.stitches} {st} along the {name}, evenly, with {group} in place of its first and"
            " its last"
        )
    plain = f"{st} in next {one}" if rest == 1 else f"{st} in each of next {rest} {one}s"
    parts = [f"{group} in first {one}", *([plain] if rest else []), f"{group} in last {one}"]
    return f"along the {name}, {', '.join(parts)}"


def _name(side: EdgedSide) -> str:
    return "foundation edge" if side.along == "foundation" else side.name


def _along(side: EdgedSide, st: str) -> str:
    one = _INTO[side.along]
    text = f"{side.stitches} {st} along the {_name(side)}"
    each, more = divmod(side.stitches, side.places)
    if not more:
        return f"{text}, {each} in each {one}"
    if not each:
        left_out = side.places - side.stitches
        return f"{text}, leaving out {left_out} of its {plural(side.places, one)}, evenly spaced"
    return (
        f"{text}, {each} in each of its {plural(side.places, one)} and one more in {more} of them,"
        " evenly spaced"
    )


def _later(corner: EdgedCorner, st: str) -> str:
    """What a later round does at each corner; nothing where it is a stitch like any other."""
    if corner.chains:
        return f"{_group(corner, max(2, corner.stitches), st)} in each corner ch"
    if corner.stitches < 2:
        return ""
    middle = ordinal((corner.stitches + 1) // 2)
    return f"{corner.stitches} {st} in the {middle} of the {corner.stitches} {st} of each corner"
