"""What is left: the largest that can be made, against every count tried one by one."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from service.engine.ask_yarn import FindOrder, YarnQuestion, made_up, yarn
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.leftover import Varied, largest, measurement_of, rows_of
from service.engine.openings import Button
from service.engine.rounding import Multiple
from service.engine.sizing import PieceOrder
from service.engine.yarnorder import ColoursOrder, StripeOrder, SwatchYarn, YarnOrder
from tests.pieces import order

GAUGE = square(8, 9)  # coarse, so that few counts are many centimetres
KNOWN = YarnOrder(swatch=SwatchYarn(unravelled=Fraction(9000), stitches=8, rows=9))
STRIPES = ColoursOrder(
    "ink", stripes=(StripeOrder((("ink", 2), ("ochre", 1), ("ink", 1))),), edging="ochre"
)

PIECES: dict[str, tuple[str, dict[str, int], FindOrder]] = {
    "longest strap": ("strap", {"depth": 40}, FindOrder(measurement="length")),
    "deepest strap": ("strap", {"length": 300}, FindOrder(measurement="depth")),
    "widest case": ("flap-panel", {"body_height": 120}, FindOrder(measurement="width")),
    "rows of a case": (
        "flap-panel", {"width": 120, "body_height": 99, "flap_depth": 80}, FindOrder("body"),
    ),
    "rows of a narrow strap": ("strap", {"length": 24, "depth": 30}, FindOrder("strap")),
    "wall of a cup": ("cup", {"diameter": 60, "height": 9}, FindOrder("wall")),
    "tallest tube": ("tube", {"circumference": 120}, FindOrder(measurement="height")),
    "top of a trapezoid": (
        "trapezoid", {"bottom_width": 90, "height": 200}, FindOrder(measurement="top_width"),
    ),
}  # fmt: skip


def varied_of(asked: PieceOrder, find: FindOrder) -> Varied:
    if find.rows_of:
        return rows_of(asked, find.rows_of)
    assert find.measurement
    return measurement_of(asked, find.measurement)


def shaped_rows(asked: PieceOrder) -> int:
    try:
        sections = made_up(asked).sized.sections
    except Refused:
        return 0
    shapes = [plan.shape for plan in asked.template.sections]
    return sum(s.rows for s, shape in zip(sections, shapes, strict=True) if shape != "even")


def one_by_one(asked: PieceOrder, find: FindOrder, left: dict[str, Fraction]) -> list[int | None]:
    """The first 90 counts: the largest whose yarn, and whose most, is there."""
    varied, best = varied_of(asked, find), list[int | None]((None, None))
    for step in range(90):
        count = varied.count(step)
        try:
            made = made_up(varied.order(count)).yarn
        except Refused:
            continue
        assert made
        told = [(getattr(c, "colour", ""), c) for c in made.colours or (made,)]
        for i, end in enumerate((0, 1)):
            amounts = [
                (left[name], c.length if end == 0 else (c.interval or (0, 0))[1])
                for name, c in told
            ]
            if all(takes is not None and takes <= there for there, takes in amounts):
                best[i] = count
    return best


@settings(max_examples=12, deadline=None)
@given(
    st.sampled_from(sorted(PIECES)),
    st.integers(4, 16),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from([Multiple(), Multiple(4, 1), Multiple(3)]),
)
@example("widest case", 12, True, True, True, Multiple())
@example("widest case", 9, False, True, True, Multiple(4, 1))
@example("rows of a case", 15, False, True, True, Multiple(4, 1))
@example("rows of a narrow strap", 4, True, True, True, Multiple())
@example("rows of a narrow strap", 5, True, False, True, Multiple(3))
@example("top of a trapezoid", 14, False, False, True, Multiple())
def test_the_largest_is_that_of_a_search_over_all_counts(
    name: str, metres: int, edged: bool, striped: bool, buttoned: bool, multiple: Multiple
) -> None:
    template, measurements, find = PIECES[name]
    made_up_with = {
        "yarn": KNOWN, "row_multiple": multiple,
        **({"edging": EdgingOrder()} if edged else {}),
        **({"button": Button(Fraction(18))} if buttoned else {}),
        **({"colours": replace(STRIPES, edging="ochre" if edged else None)} if striped else {}),
    }  # fmt: skip
    asked = order(template, GAUGE, made_up_with, **measurements)
    amount = Fraction(metres * 1000)
    colours = {"ink": amount * 2 / 3, "ochre": amount / 3} if striped else {"": amount}
    left = {colour: (there, False) for colour, there in colours.items()}
    likely, sure = one_by_one(asked, find, colours)
    if likely is None:
        with pytest.raises(Refused) as refused:
            yarn(YarnQuestion(asked, left=left, find=find))
        assert refused.value.refusals[0].code in ("not-enough-yarn", "too-many-counts") or (
            refused.value.refusals[0].path[0] != "left"
        )
        return
    varied, found, refused_for = varied_of(asked, find), None, list[str]()
    try:
        found = yarn(YarnQuestion(asked, left=left, find=find)).from_left
    except Refused as too_much:
        refused_for = [r.code for r in too_much.refusals]
    if refused_for:
        # All of 200 counts would be tried, and their shaped rows come to more than 10,000.
        assert refused_for == ["too-much-to-try"]
        assert not varied.grows
        assert sum(shaped_rows(varied.order(varied.count(step))) for step in range(200)) > 10_000
        return
    assert found
    assert found.likely.count == likely
    assert (found.sure.count if found.sure else None) == sure
    assert found.likely.fits


@given(st.integers(0, 9000), st.integers(0, 60), st.integers(1, 7), st.integers(0, 6))
def test_halving_finds_what_trying_all_would(
    last_fit: int, too_small: int, multiple: int, plus: int
) -> None:
    varied = Varied("rows", Multiple(multiple, plus), Fraction, lambda n: None, grows=True)  # type: ignore[arg-type, return-value]

    def fits(count: int) -> bool | None:
        return None if count < too_small else count <= last_fit

    allowed = range(varied.count(0), 10_001, multiple)
    expected = max((n for n in allowed if fits(n)), default=None)
    assert largest(varied, (fits,)).counts == (expected,)


def test_a_shape_worked_out_row_by_row_is_not_tried_without_end() -> None:
    asked = order(
        "rounded-flap-panel", GAUGE, {"yarn": KNOWN}, width=200, flap_depth=10_000, body_height=100
    )
    left = {"": (Fraction(10**9), False)}
    with pytest.raises(Refused, match="tell sizes to choose from"):
        yarn(YarnQuestion(asked, left=left, find=FindOrder("body")))
    with pytest.raises(Refused, match="is not known for this shape"):
        yarn(YarnQuestion(asked, left=left, find=FindOrder(measurement="width")))


def test_the_largest_size_is_the_one_that_takes_the_most_of_those_that_fit() -> None:
    sizes = {
        name: {"width": Fraction(width), "body_height": Fraction(height)}
        for name, width, height in (("desk", 240, 600), ("pocket", 120, 330))
    }
    asked = order("flap-panel", square(16, 19), {"yarn": KNOWN, "button": Button(Fraction(18))})
    takes = {
        name: made_up(replace(asked, measurements=wanted)).yarn for name, wanted in sizes.items()
    }
    lengths = {name: one.length for name, one in takes.items() if one and one.length}
    assert lengths["pocket"] < lengths["desk"]
    for there, expected in (
        (lengths["desk"], "desk"),
        (lengths["desk"] - 1, "pocket"),
        (lengths["pocket"], "pocket"),
    ):
        question = YarnQuestion(asked, left={"": (there, False)}, find=FindOrder(sizes=sizes))
        found = yarn(question).from_left
        assert found
        assert found.likely.name == expected
        assert found.likely.sure == (there == lengths["desk"] - 1)
        assert found.sizes
        assert [one.name for one in found.sizes] == ["pocket", "desk"]
    little = {"": (lengths["pocket"] - 1, False)}
    with pytest.raises(Refused, match="more than is left"):
        yarn(YarnQuestion(asked, left=little, find=FindOrder(sizes=sizes)))


def test_what_is_surely_enough_is_the_most_it_may_take_and_not_a_hair_less() -> None:
    asked = order("panel", GAUGE, {"yarn": KNOWN}, width=100, height=100)
    takes = made_up(asked).yarn
    assert takes
    assert takes.length
    assert takes.interval
    least, most = takes.interval
    assert least < takes.length < most
    for there, fits, sure in (
        (most, True, True), (most - 1, True, False), (takes.length, True, False),
        (takes.length - 1, False, False),
    ):  # fmt: skip
        question = YarnQuestion(asked, left={"": (there, False)})
        if not fits:
            with pytest.raises(Refused):
                yarn(question)
            continue
        found = yarn(question).from_left
        assert found
        assert (found.likely.fits, found.sure is not None) == (fits, sure)


def test_how_counts_were_searched_is_told() -> None:
    # More rows take more yarn; where an edging begins hangs on whether they are odd or even.
    left = {"": (Fraction(30_000), False)}
    plain = order("strap", GAUGE, {"yarn": KNOWN}, length=300)
    edged = replace(plain, edging=EdgingOrder())
    for asked, told in (
        (plain, "rows, by halving: more of them always takes more yarn"),
        (edged, "rows, by halving, odd and even counts apart: two more always take more yarn"),
    ):
        varied = measurement_of(asked, "depth")
        assert varied.grows
        assert varied.period == (1 if asked is plain else 2)
        found = yarn(YarnQuestion(asked, left=left, find=FindOrder(measurement="depth"))).from_left
        assert found
        assert found.searched == told


def test_what_the_refusal_permits_is_enough() -> None:
    asked = order("panel", GAUGE, {"yarn": KNOWN}, width=100, height=100)
    with pytest.raises(Refused) as refused:
        yarn(YarnQuestion(asked, left={"": (Fraction(10), False)}))
    permitted = refused.value.refusals[0].permitted
    assert isinstance(permitted, dict)
    metres = permitted["at_least"]["yarn"]["value"]
    enough = {"": (Fraction(metres * 1000 + 1), False)}
    found = yarn(YarnQuestion(asked, left=enough)).from_left
    assert found
    assert found.likely.fits
    assert found.sure is None
