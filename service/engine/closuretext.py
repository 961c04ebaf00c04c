"""Openings in words: the rows of a slit or slot, or a button's loop at the end."""

from __future__ import annotations

from dataclasses import dataclass

from .edgings import Edging
from .openings import Buttonhole, Loop, LoopPlace, Slit, SlitPlace
from .rowlines import Fabric, Rows, ends
from .rowtext import Words, plain_stitches, plural
from .schedules import run_at
from .shaping import Schedule
from .slots import Opening
from .stitches import STITCHES


@dataclass(frozen=True, slots=True)
class Gap:
    """Stitches of a row that are skipped and chained over, and worked back in the next row.

    first: the first of them, counted from the start of the row.
    """

    row: int
    first: int
    skipped: int
    chain: int
    name: str


def opened_rows(
    hole: Buttonhole | None, openings: tuple[Opening, ...], runs: Schedule, fabric: Fabric
) -> list[Rows]:
    """The rows of every opening, and the rows over them, written out; ``runs`` are the piece's."""
    gaps = [Gap(o.row, o.first_stitch, o.skipped, o.chain, o.name) for o in openings]
    along: list[Rows] = []
    if hole and hole.slit and hole.slit_place:
        slit, at = hole.slit, hole.slit_place
        if slit.direction == "across":
            gaps.append(Gap(at.row, at.first_stitch, slit.skipped, slit.chain, "buttonhole"))
        else:
            along = _along(slit, at, runs, fabric)
    return sorted([*_across(gaps, runs, fabric), *along], key=lambda rows: rows.first)


def _plain(words: Words, stitches: int) -> list[str]:
    if stitches < 1:
        return []
    return [f"{words.st} in next {'st' if stitches == 1 else f'{stitches} sts'}"]


def _across(gaps: list[Gap], runs: Schedule, fabric: Fabric) -> list[Rows]:
    """The rows that skip, and those that work back over the chains; one may do both."""
    words, told = fabric.words, list[Rows]()
    for row in sorted({row for gap in gaps for row in (gap.row, gap.row + 1)}):
        before, run = run_at(runs, row)
        start, end = ends(row, run)
        plain = plain_stitches(words, before, start, end)
        at = before - plain - _below(end)  # stitches before the plain stretch
        last, parts = at + plain, list[str]()
        opened = sorted((g for g in gaps if g.row == row), key=lambda g: g.first)
        for first, gap in sorted([*((g.first, g) for g in opened), *_below_row(gaps, runs, row)],
                                 key=lambda met: met[0]):  # fmt: skip
            over = f"ch {gap.chain}, {words.skip} next {plural(gap.skipped, 'st')}"
            if gap.row < row:
                over = f"{gap.skipped} {words.st} in the ch-{gap.chain} space"
            parts += [*_plain(words, first - 1 - at), over]
            at = first - 1 + gap.skipped
        text = fabric.row(row, before, run, ", ".join([*parts, *_plain(words, last - at)]))
        after = before + (run.change if run else 0)
        told.append(Rows(row, row, f"{text}{_names(opened)}", (after,), _spaces(opened)))
    return told


def _below_row(gaps: list[Gap], runs: Schedule, row: int) -> list[tuple[int, Gap]]:
    """The openings of the row below, with the place of each from the start of this row."""
    below, shaped = run_at(runs, row - 1)
    start, end = ends(row - 1, shaped)
    made = below + start + end
    return [
        (made - (gap.first - 1 + start) - gap.skipped + 1, gap)
        for gap in gaps
        if gap.row == row - 1
    ]


def _names(gaps: list[Gap]) -> str:
    names = [gap.name.replace("_", " ").replace("-", " ") for gap in gaps]
    return f" ({' and '.join(names)})" if gaps else ""


def _spaces(gaps: list[Gap]) -> str:
    if len(gaps) > 1:
        return f", {sum(gap.skipped for gap in gaps)} of them in {len(gaps)} ch spaces"
    return "".join(f", {gap.skipped} of them the ch-{gap.chain} space" for gap in gaps)


def _below(change: int) -> int:
    return 1 - change if change < 0 else int(change > 0)


def _along(slit: Slit, at: SlitPlace, runs: Schedule, fabric: Fabric) -> list[Rows]:
    """Two halves, each worked on its own over the rows of the slit; these rows are not shaped."""
    words = fabric.words
    stitches, _ = run_at(runs, at.row)
    near, far = at.first_stitch, stitches - at.first_stitch
    even = fabric.row(at.row, stitches)
    turn = even.split(f", {words.st} in each")[0]
    more = slit.skipped - 1
    again = "" if not more else f"; work {plural(more, 'more row')} on these {near}: {even}"
    hold = "drop the loop and leave it" if slit.skipped % 2 == 0 else "fasten off"
    joined = f"ch {words.turn.chains}"
    joined += (
        f" (counts as first {words.st})" if words.turn.counts else f", {words.st} in the same st"
    )
    again_far = "" if not more else f", then {plural(more, 'row')} as on the first side"
    stands = max(near - words.turn.counts, 1)
    near_text = (
        f"first side of the buttonhole: {turn}, {words.st} in next {plural(stands, 'st')},"
        f" leave the rest unworked{again}; {hold}"
    )
    far_text = (
        "second side: join new yarn in the next st left free and work in the same direction as"
        f" Row {at.row}, {joined}, {words.st} in each st to end{again_far}"
    )
    one = Rows(at.row, at.last_row, near_text, (near,), " on this side")
    two = Rows(at.row, at.last_row, far_text, (far,), " on this side")
    back = (
        "fasten off; take up the loop that was left"
        if slit.skipped % 2 == 0
        else "go on with the yarn of the second side"
    )
    row = at.last_row + 1
    before, run = run_at(runs, row)
    text = f"{back}, {fabric.row(row, before, run)}, across both sides"
    after = before + (run.change if run else 0)
    return [one, two, Rows(row, row, text, (after,))]


def loop_step(
    loop: Loop, at: LoopPlace, edging: Edging | None, words: Words, new_colour: bool = False
) -> str:
    """The chain loop, where it stands, and its cover."""
    cover = STITCHES["single-crochet"].name(words.terms).short
    join = STITCHES["slip-stitch"].name(words.terms).short
    cover_it = f"turn, work {loop.covering_stitches} {cover} into the loop, {join}"
    if at.whole and at.edge == "last-row":
        go_on = "change" if new_colour else "without cutting"
        if edging:
            return (
                f"Button loop: {go_on} the yarn, ch {loop.chain}, bring it across the"
                f" {plural(loop.spans, 'st')} left free and {join} in the edging on the other side;"
                f" {cover_it} in the st where the ch began."
            )
        return (
            f"Button loop: {'change the yarn' if new_colour else 'do not fasten off'};"
            f" ch {loop.chain}, {join} in the first st of the last row; {cover_it} in the st where"
            " the ch began."
        )
    edged = "in the edging at" if edging else "in"
    place = (
        "st {} of the last row" if at.edge == "last-row" else "the end of row {} of the left edge"
    )
    before, after = place.format(at.first - 1), at.last + 1
    if at.whole:
        before, after_text = "one corner of the left edge", "at its other corner"
        edged = "at"
    else:
        after_text = f"{edged} {'st' if at.edge == 'last-row' else 'the end of row'} {after}"
    counted = ", counted from the right with the RS facing you," if at.edge == "last-row" else ""
    return (
        f"Button loop: fasten off; with the RS facing you, join the yarn with {join} {edged}"
        f" {before}{counted} ch {loop.chain}, {join} {after_text}; {cover_it} where the ch began."
    ).replace(f"{before} ch", f"{before}, ch")
