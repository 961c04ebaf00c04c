"""A button's opening in words: the rows of a slit, or a loop at the end."""

from __future__ import annotations

from .edgings import Edging
from .openings import Buttonhole, Loop, LoopPlace, Slit, SlitPlace
from .rowlines import Fabric, Rows, ends
from .rowtext import Words, plain_stitches, plural
from .schedules import run_at
from .shaping import Schedule
from .stitches import STITCHES


def slit_rows(hole: Buttonhole, runs: Schedule, fabric: Fabric) -> list[Rows]:
    """The rows a slit takes, and the row after it, written out; ``runs`` are the piece's."""
    slit, at = hole.slit, hole.slit_place
    assert slit is not None
    assert at is not None
    if slit.direction == "across":
        return _across(slit, at, runs, fabric)
    return _along(slit, at, runs, fabric)


def _plain(words: Words, stitches: int) -> list[str]:
    if stitches < 1:
        return []
    return [f"{words.st} in next {'st' if stitches == 1 else f'{stitches} sts'}"]


def _across(slit: Slit, at: SlitPlace, runs: Schedule, fabric: Fabric) -> list[Rows]:
    """The row that skips, and the row that works back over the chains."""
    words = fabric.words
    before, run = run_at(runs, at.row)
    start, end = ends(at.row, run)
    plain = plain_stitches(words, before, start, end)
    # Stitches of this row that stand before the chains, and after them.
    stood_on = before - plain - _below(end)
    lead = at.first_stitch - 1 - stood_on
    rest = plain - lead - slit.skipped
    made_first = stood_on + start + lead
    after = before + (run.change if run else 0)
    made_last = after - made_first - slit.skipped
    over = f"ch {slit.chain}, {words.skip} next {plural(slit.skipped, 'st')}"
    middle = ", ".join([*_plain(words, lead), over, *_plain(words, rest)])
    text = fabric.row(at.row, before, run, middle)
    opened = Rows(at.row, at.row, f"{text} (buttonhole)", (after,),
                  f", {slit.skipped} of them the ch-{slit.chain} space")  # fmt: skip

    _, run_back = run_at(runs, at.row + 1)
    start, end = ends(at.row + 1, run_back)
    back_plain = plain_stitches(words, after, start, end)
    lead_back = made_last - (after - back_plain - _below(end))
    rest_back = back_plain - lead_back - slit.skipped
    into = f"{slit.stitches_worked_back} {words.st} in the ch-{slit.chain} space"
    middle = ", ".join([*_plain(words, lead_back), into, *_plain(words, rest_back)])
    counted = after + (run_back.change if run_back else 0)
    text = fabric.row(at.row + 1, after, run_back, middle)
    return [opened, Rows(at.row + 1, at.row + 1, text, (counted,))]


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


def loop_step(loop: Loop, at: LoopPlace, edging: Edging | None, words: Words) -> str:
    """The chain loop, where it stands, and its cover."""
    cover = STITCHES["single-crochet"].name(words.terms).short
    join = STITCHES["slip-stitch"].name(words.terms).short
    cover_it = f"turn, work {loop.covering_stitches} {cover} into the loop, {join}"
    if at.whole and at.edge == "last-row":
        if edging:
            return (
                f"Button loop: without cutting the yarn, ch {loop.chain}, bring it across the"
                f" {plural(loop.spans, 'st')} left free and {join} in the edging on the other side;"
                f" {cover_it} in the st where the ch began."
            )
        return (
            f"Button loop: do not fasten off; ch {loop.chain}, {join} in the first st of the last"
            f" row; {cover_it} in the st where the ch began."
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
