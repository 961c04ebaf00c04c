"""Colours and stitches by run, against the same counted row by row."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import cycle, groupby, islice

from hypothesis import given
from hypothesis import strategies as st

from service.engine.continuing import ContinueOrder
from service.engine.edgings import EdgingOrder
from service.engine.gauge import square
from service.engine.pieces import make
from service.engine.roundpieces import make_round
from service.engine.roundplans import RoundTemplate
from service.engine.sizing import PieceOrder
from service.engine.stripes import Repeat, Stretch, by_colour, colour_at, rows_of
from service.engine.yarnorder import ColoursOrder, StripeOrder, YarnOrder
from service.engine.yarnwork import TAIL, Work
from tests.pieces import order

REPEATS = st.lists(
    st.tuples(st.sampled_from(["ink", "ochre", "rust"]), st.integers(1, 4)), min_size=1, max_size=5
).map(tuple)
ROWS = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 7)), min_size=1, max_size=8)


def row_by_row(repeat: Repeat) -> Iterator[str]:
    return cycle([colour for colour, rows in repeat for _ in range(rows)])


@given(REPEATS, ROWS)
def test_colours_are_those_of_the_rows_one_by_one(
    repeat: Repeat, stretches: list[tuple[int, int]]
) -> None:
    rows = sum(n for _, n in stretches)
    told = list(islice(row_by_row(repeat), rows))
    stitches = [count for count, n in stretches for _ in range(n)]
    found = by_colour(repeat, iter([Stretch(*one) for one in stretches]), rows)
    assert {c: one.rows for c, one in found.items()} == Counter(told)
    assert {c: n for c, n in rows_of(repeat, rows).items() if n} == Counter(told)
    assert [colour_at(repeat, row) for row in range(1, rows + 1)] == told
    bands = Counter(colour for colour, _ in groupby(told))
    for colour, one in found.items():
        mine = [i for i, c in enumerate(told) if c == colour]
        assert one.stitches == sum(stitches[i] for i in mine)
        assert one.bands == bands[colour]
        assert one.idle == mine[-1] - mine[0] + 1 - len(mine)


def worked(made: PieceOrder) -> tuple[Work, list[tuple[str, tuple[int, ...]]]]:
    template = made.template
    done = make_round(made) if isinstance(template, RoundTemplate) else make(made)
    sections = [(s.name, s.row_counts or ()) for s in done.sized.sections]
    return done.work, sections


TEMPLATES = (
    ("flap-panel", {"width": 120, "body_height": 200, "flap_depth": 90}),
    ("trapezoid", {"bottom_width": 150, "top_width": 60, "height": 170}),
    ("trapezoid", {"bottom_width": 60, "top_width": 150, "height": 70}),
    ("cup", {"diameter": 80, "height": 110}),
    ("cone", {"base_diameter": 90, "height": 120}),
    ("panel", {"width": 100, "height": 100}),
)


@given(
    st.sampled_from(TEMPLATES),
    REPEATS,
    st.sampled_from(["single-crochet", "half-double-crochet", "double-crochet"]),
    st.sampled_from([None, "ochre", "rust"]),
)
def test_each_colour_of_a_piece_is_counted_as_its_rows_are(
    asked: tuple[str, dict[str, int]], repeat: Repeat, stitch: str, edge: str | None
) -> None:
    # Every row by itself: its stitches, one fewer where a turning chain stands for one; a stitch
    # more and a chain less for each stitch worked away; two tails a stretch of one colour.
    name, measurements = asked
    colours = ColoursOrder("ink", stripes=(StripeOrder(repeat),), edging=edge)
    made_up = {
        "colours": colours, "yarn": YarnOrder(weight_category=4), "detail": "rows",
        **({"edging": EdgingOrder()} if edge else {}),
    }  # fmt: skip
    work, sections = worked(order(name, square(16, 14, stitch=stitch), made_up, **measurements))
    counts: Counter[str] = Counter()
    chains: Counter[str] = Counter()
    taken: list[str] = []
    start = next(p for p in work.parts if p.name == "foundation")
    before = 0
    for _, rows in sections:
        for count, colour in zip(rows, row_by_row(repeat), strict=False):
            first = before == 0
            lost = max(0, before - count)
            counts[colour] += count - work.turn.counts + lost
            chains[colour] -= lost
            if not first or name in ("cup", "cone"):
                chains[colour] += work.turn.chains
            taken.append(colour)
            before = count
    assert start.colour == taken[0]
    fabric = [p for p in work.parts if p.name in ("fabric", "turning chains")]
    for colour in counts:
        mine = [p for p in fabric if p.colour == colour]
        assert sum(p.stitches.get(stitch, 0) for p in mine) == counts[colour]
        assert sum(p.stitches.get("chain", 0) for p in mine) == chains[colour]
    # Worked flat, an edging begins at the left edge, where a last row of an even number is not.
    apart = name not in ("cup", "cone") and len(taken) % 2 == 0
    bands = Counter(c for c, _ in groupby(taken + ([edge] if edge and not apart else [])))
    if edge and apart:
        bands[edge] += 1
    tails = {p.colour: p.length / (2 * TAIL) for p in work.parts if p.name == "tails"}
    assert tails == bands


@given(st.sampled_from(TEMPLATES), REPEATS, st.sampled_from(["single-crochet", "double-crochet"]),
       st.data())  # fmt: skip
def test_a_piece_gone_on_with_takes_what_its_rows_left_do(
    asked: tuple[str, dict[str, int]], repeat: Repeat, stitch: str, data: st.DataObject
) -> None:
    name, measurements = asked
    colours = ColoursOrder("ink", stripes=(StripeOrder(repeat),))
    made_up = {"colours": colours, "yarn": YarnOrder(weight_category=4), "detail": "rows"}
    whole = order(name, square(16, 14, stitch=stitch), made_up, **measurements)
    _, sections = worked(whole)
    rows = [
        (section, colour, count)
        for section, counts in sections
        for count, colour in zip(counts, row_by_row(repeat), strict=False)
    ]
    done = data.draw(st.integers(1, len(rows) - 1))
    section, on_the_hook, before = rows[done - 1]
    work, _ = worked(replace(whole, continue_after=ContinueOrder(section, done)))
    assert not any(p.name == "foundation" for p in work.parts)
    counts, chains = Counter[str](), Counter[str]()
    for _, colour, count in rows[done:]:
        lost = max(0, before - count)
        counts[colour] += count - work.turn.counts + lost
        chains[colour] += work.turn.chains - lost
        before = count
    fabric = [p for p in work.parts if p.name in ("fabric", "turning chains")]
    for colour in counts:
        mine = [p for p in fabric if p.colour == colour]
        assert sum(p.stitches.get(stitch, 0) for p in mine) == counts[colour]
        assert sum(p.stitches.get("chain", 0) for p in mine) == chains[colour]
    # The colour on the hook has been begun already: of its first stretch one end is left.
    ends = Counter(c for c, _ in groupby([on_the_hook, *(colour for _, colour, _ in rows[done:])]))
    tails = {p.colour: p.length / TAIL for p in work.parts if p.name == "tails"}
    assert tails == {c: 2 * n - (c == on_the_hook) for c, n in ends.items()}


def test_carried_yarn_saves_the_tails_and_takes_the_height_it_passes() -> None:
    # By hand: 20 rows of 100/20 mm, 2 ink and 2 ochre in turn: ink is idle for 2 rows four times
    # from row 1 to row 18, ochre four times from row 3 to row 20; each is broken off once.
    repeat = (("ink", 2), ("ochre", 2))
    for carried, bands, idle in ((True, 1, 8), (False, 5, 0)):
        colours = ColoursOrder("ink", stripes=(StripeOrder(repeat, "panel"),), carried=carried)
        made_up = {"colours": colours, "yarn": YarnOrder(weight_category=4)}
        work = make(order("panel", square(16, 20), made_up, width=100, height=100)).work
        tails = {p.colour: p.length for p in work.parts if p.name == "tails"}
        assert tails == {"ink": 2 * bands * TAIL, "ochre": 2 * bands * TAIL}
        floats = [p.length for p in work.parts if p.name == "yarn carried up"]
        assert floats == ([Fraction(5) * idle] * 2 if idle else [])
