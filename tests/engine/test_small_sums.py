"""Small questions by hand: balls, buttons along a band, sizes stated of a written piece, refusals.

Sources beside the cases; "by hand" is arithmetic of what is asked.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from service.engine.ask_conversion import ConversionOrder, WrittenCount, conversions
from service.engine.ask_shaping import ShapingOrder, shaping
from service.engine.auditfindings import Stretch, Walked
from service.engine.auditorder import StatedMeasurement
from service.engine.auditsizes import counted
from service.engine.buying import Ball, ball_of, balls, substitute
from service.engine.deriving import BodyOrder, Derivation, ObjectOrder, derive, object_size
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.rounding import Multiple
from service.engine.spacing import Placing, place, space
from service.engine.writtenwork import WrittenFoundation, WrittenRun, WrittenSection
from service.engine.yarnorder import BallOrder, YarnOrder
from tests.auditing import Json, audited
from tests.engine.test_audit_values import END, one

SC = square(16, 19)
PRACTICE = "common practice, no published source"


def refusals(ask: Any) -> list[tuple[str, Any, Any]]:
    with pytest.raises(Refused) as no:
        ask()
    return [(r.code, r.path, r.permitted) for r in no.value.refusals]


# --- balls --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("order", "per_gram", "density", "length", "mass", "source"),
    [
        # 85 m of 1.7 m a gram weigh 50 g; 50 g of it are 85 m.
        (YarnOrder(ball_length=Fraction(85_000)), 1700, "given", 85_000, 50, "given"),
        (YarnOrder(ball_mass=Fraction(50)), 1700, "x", 85_000, 50, "given; the rest as x"),
        (YarnOrder(ball_length=Fraction(9), ball_mass=Fraction(5)), 1700, "", 9, 5, "given"),
        (YarnOrder(ball_mass=Fraction(50)), None, "", None, 50, "given"),
        (YarnOrder(ball_length=Fraction(9)), None, "", 9, None, "given"),
        # Told nothing, a ball is taken to be 100 g.
        (YarnOrder(4), 1700, "given", 170_000, 100, "assumed: 100 g, as its count gives"),
        (YarnOrder(4), 1700, "x", 170_000, 100, "assumed: 100 g, metres as x"),
    ],
)
def test_a_ball_is_completed_where_its_density_is_known(
    order: YarnOrder, per_gram: int | None, density: str, length: Any, mass: Any, source: str
) -> None:
    gram = None if per_gram is None else Fraction(per_gram)
    assert ball_of(order, gram, density) == Ball(length, mass, source)


def test_no_ball_is_known_where_nothing_is() -> None:
    assert ball_of(YarnOrder(), None, "") is None
    assert balls(Fraction(9), None, by_mass=True) is None
    assert balls(None, Ball(Fraction(9), Fraction(9), ""), by_mass=True) is None
    assert balls(Fraction(9), Ball(None, Fraction(4), ""), by_mass=False) is None
    assert balls(Fraction(9), Ball(None, Fraction(4), ""), by_mass=True) == 3
    assert balls(Fraction(8), Ball(None, Fraction(4), ""), by_mass=True) == 2


def test_another_yarn_by_hand() -> None:
    # 100 m to 50 g are 2 m a gram, 500 tex; 250 m weigh 125 g and take 3 balls, 310 m four.
    other = YarnOrder(4, substitute=BallOrder(Fraction(100_000), Fraction(50)))
    made = substitute(other, Fraction(250_000), Fraction(310_000), Fraction(2500))
    assert made
    assert (made.length, made.mass, made.balls, made.balls_at_most) == (250_000, 125, 3, 4)
    assert made.tex == 500
    # 2.5 m a gram before: a quarter heavier to a length.
    assert made.heavier_percent == pytest.approx(25)
    assert substitute(YarnOrder(4), Fraction(1), Fraction(1), None) is None


# --- along a band -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("holes", "stitches", "margin", "each", "firsts", "source"),
    [
        # 100 stitches, 3 at either end, 7 holes of 4: 66 plain in 6 gaps of 11.
        (7, 100, 3, 4, [4, 19, 34, 49, 64, 79, 94], "read: gaps of 11"),
        # One stands in the middle, an odd stitch after it: 21 less 4 less 3 are 14 and 7 to a side.
        (1, 21, 2, 3, [10], PRACTICE), (1, 20, 2, 3, [9], PRACTICE),
        (2, 10, 0, 3, [1, 8], PRACTICE), (2, 7, 0, 3, [1, 5], PRACTICE),
    ],
)  # fmt: skip
def test_holes_along_a_band(
    holes: int, stitches: int, margin: int, each: int, firsts: list[int], source: str
) -> None:
    made = place(Placing(holes, stitches, margin), each)
    assert [h.first_stitch for h in made.holes] == firsts, source
    assert [h.last_stitch - h.first_stitch + 1 for h in made.holes] == [each] * holes
    assert sum(made.gaps) + holes * each + 2 * margin == (stitches if holes > 1 else sum(
        made.gaps) + each + 2 * margin)  # fmt: skip


@pytest.mark.parametrize(
    ("holes", "stitches", "margin", "each", "most"),
    [(3, 10, 0, 3, 2), (2, 6, 0, 3, 1), (3, 7, 4, 3, 0), (2, 10, 2, 3, 1)],
)
def test_holes_that_do_not_fit_say_how_many_do(
    holes: int, stitches: int, margin: int, each: int, most: int
) -> None:
    told = refusals(lambda: place(Placing(holes, stitches, margin), each))
    assert told == [("openings-do-not-fit", ("placing", "holes"), {"maximum": most})]
    if most:
        place(Placing(most, stitches, margin), each)


def test_buttons_along_a_length() -> None:
    # 8 over 15 in: 7 spaces of 2.14 in (read). 3 over 100 mm with 10 at the ends: 40 apart.
    assert space(8, Fraction(381)).spacing == Fraction(381, 7)
    made = space(3, Fraction(100), Fraction(10))
    assert (made.spacing, made.centres) == (40, (10, 50, 90))
    alone = space(1, Fraction(100), Fraction(10))
    assert (alone.spacing, alone.centres) == (None, (50,))
    assert space(1, Fraction(20), Fraction(10)).centres == (10,)
    for holes, margin in ((2, 10), (1, 11)):
        told = refusals(lambda h=holes, m=margin: space(h, Fraction(20), Fraction(m)))
        assert told == [("margins-meet", ("placing", "end_distance"), {"below_mm": 10.0})]


# --- from a body or an object -------------------------------------------------------------------


def test_what_is_made_of_an_object() -> None:
    book = {"width": Fraction(105), "height": Fraction(148), "thickness": Fraction(15)}
    # Round a book: twice its width and twice its thickness.
    assert object_size(ObjectOrder("around-width", **book)) == 2 * 105 + 2 * 15
    assert object_size(ObjectOrder("width", **book)) == 105
    size, made = derive(
        Derivation(ObjectOrder("around-width", **book), Fraction(9), Fraction(1, 2))
    )
    assert size == 129
    assert made.text == (
        "around-width of the object, 2 × 10.5 cm + 2 × 1.5 cm: 24 cm times 0.5, plus 0.9 cm"
    )
    assert (made.measured, made.times, made.ease) == (240, 0.5, 9)
    _, plain_ = derive(Derivation(ObjectOrder("width", **book)))
    assert plain_.text == "width of the object, 10.5 cm: 10.5 cm"
    for ease, said in ((1, "plus 0.1 cm"), (Fraction(1, 2), "plus 0.05 cm"), (-1, "less 0.1 cm")):
        _, eased = derive(Derivation(ObjectOrder("width", **book), Fraction(ease)))
        assert eased.text == f"width of the object, 10.5 cm: 10.5 cm, {said}"
    told = refusals(lambda: object_size(ObjectOrder("around-width", width=Fraction(9))))
    assert told == [("object-size-missing", ("thickness",), ["width", "thickness"])]


def test_nothing_is_left_when_all_is_taken_off() -> None:
    head = BodyOrder("women", "head")  # 561 mm, ANSUR II
    told = refusals(lambda: derive(Derivation(head, ease=Fraction(-561))))
    assert told == [("nothing-left", ("ease",), {"more_than": {"value": -56.1, "unit": "cm"}})]
    size, _ = derive(Derivation(head, ease=Fraction(-560)))
    assert size == 1
    # 22.0866 in, and a thousandth less would leave a little.
    told = refusals(lambda: derive(Derivation(head, ease=Fraction(-561)), "imperial"))
    assert told[0][2] == {"more_than": {"value": -22.086, "unit": "in"}}


# --- shaping and conversions that are not asked for rightly ---------------------------------------


@pytest.mark.parametrize(
    ("order", "code", "path", "permitted"),
    [
        (ShapingOrder(38, 20), "no-extent", (), {"one_of": ["rows", "height", "every"]}),
        (ShapingOrder(38, 20, rows=9, height=Fraction(9), gauge=SC), "rows-and-height",
         ("height",), {"one_of": ["rows", "height"]}),
        (ShapingOrder(38, 20, height=Fraction(9)), "height-without-gauge", ("gauge",),
         {"add": "gauge"}),
    ],
)  # fmt: skip
def test_shaping_that_cannot_be_told(
    order: ShapingOrder, code: str, path: Any, permitted: Any
) -> None:
    assert (code, path, permitted) in refusals(lambda: shaping(order))


def test_shaping_in_a_height_is_counted_and_measured() -> None:
    # 38 to 20 is 9 at each edge; 100 mm are 19 rows: 100 mm, and every 2nd row.
    made = shaping(ShapingOrder(38, 20, height=Fraction(102), gauge=SC, detail="rows"))
    assert made.rows == 19
    assert made.height
    assert (made.height.asked, made.height.finished, made.height.difference) == (102, 100, -2)
    assert len(made.row_counts or ()) == 19
    assert (made.row_counts or ())[-1] == 20
    told = shaping(ShapingOrder(38, 20, rows=19, gauge=SC))
    assert told.height
    assert (told.height.asked, told.height.finished, told.height.difference) == (None, 100, None)
    assert shaping(ShapingOrder(38, 20, every=2)).rows == 18
    assert shaping(ShapingOrder(38, 20, rows=19)).height is None


def convert(**more: Any) -> ConversionOrder:
    told: dict[str, Any] = {"foundation": WrittenFoundation(stitches=40), "sections": ()}
    return ConversionOrder(more.pop("was", SC), more.pop("now", square(14, 17)), **told | more)


@pytest.mark.parametrize(
    ("order", "code", "path", "permitted"),
    [
        (convert(foundation=WrittenFoundation(stitches=41), stitch_multiple=Multiple(4)),
         "not-in-multiple", ("foundation", "stitches"), {"stitches": [40, 44]}),
        (convert(foundation=WrittenFoundation(stitches=2), stitch_multiple=Multiple(4)),
         "not-in-multiple", ("foundation", "stitches"), {"stitches": [4]}),
        (convert(worked="round", right_side_only=True), "no-wrong-side", ("right_side_only",),
         {"right_side_only": False}),
        (convert(was=square(16, 19, stitch="chain")), "stitch-makes-no-rows",
         ("from", "stitch"),
         ["slip-stitch", "single-crochet", "half-double-crochet", "double-crochet",
          "treble-crochet"]),
        (convert(sections=(WrittenSection("body", 6_000), WrittenSection("flap", 4_001))),
         "too-many-rows", ("sections",), {"rows": 10_000}),
        (convert(sections=(WrittenSection("body", 7),), row_multiple=Multiple(4)),
         "not-in-multiple", ("sections", 0, "rows"), {"rows": [4, 8]}),
        (convert(sections=(WrittenSection("body", 8, 0),)), "no-stitches",
         ("sections", 0, "stitches_at_end"), {"minimum": 1}),
        (convert(sections=(WrittenSection("body", 8, None, (WrittenRun(8, 1, 8, -1),)),),
                 worked="round"), "wrong-edge", ("sections", 0, "schedule", 0, "left"),
         ["change"]),
        (convert(sections=(WrittenSection("body", 20, None, (
            WrittenRun(20, 1, 20, 500, 500),)),)), "schedule-out-of-range",
         ("sections", 0, "schedule", 0), {"minimum": 1}),
        (convert(foundation=WrittenFoundation(chain=41, turning_chain=9)), "turning-chain",
         None, None),
    ],
)  # fmt: skip
def test_conversions_that_are_not_asked_for_rightly(
    order: ConversionOrder, code: str, path: Any, permitted: Any
) -> None:
    told = refusals(lambda: conversions(order))
    if path is None:
        assert told[0][1][0] == "foundation"
        return
    assert (code, path, permitted) in told


def test_a_new_turning_chain_is_refused_where_it_was_told() -> None:
    told = refusals(lambda: conversions(convert(new_turning=(9, None))))
    assert told[0][1][0] == "new_turning"
    # Kept where the stitch is the same: 2 that do not count are written, and stay.
    dc = square(13, 7, stitch="double-crochet")
    now, chain = square(12, 7, stitch="double-crochet"), WrittenFoundation(42, None, 2, False)
    made = conversions(convert(was=dc, now=now, foundation=chain)).foundation
    assert made
    assert (made.turning_chain, made.turning_chain_counts, made.written_stitches) == (2, False, 40)
    # 40 x 12/13 are 36.9: 37, and 2 more chains.
    assert (made.stitches, made.chain, made.first_stitch_in_chain) == (37, 39, 3)


def test_rows_of_the_written_piece_are_counted_one_by_one() -> None:
    # 13 rows at 17 for 19 are 11.6: 12; told in rows, 12 counts.
    made = conversions(convert(sections=(WrittenSection("body", 13),), detail="rows",
                               counts=(WrittenCount("edge", "stitches", 16),)))  # fmt: skip
    assert made.sections[0].row_counts == (35,) * 12
    assert made.counts[0].converted == 14
    assert made.factors
    assert made.factors.stitches == pytest.approx(14 / 16)
    assert made.factors.rows == pytest.approx(17 / 19)
    assert made.factors.height_if_unchanged_percent == pytest.approx(100 * (19 / 17 - 1))


# --- what is stated of a written piece besides its rows ------------------------------------------


def mm(size: float) -> Json:
    return {"value": size, "unit": "mm"}


def stated(measures: str, size: float, at: str | None = None, **more: Any) -> Json:
    told: Json = {
        "name": "x",
        "measures": measures,
        "stated": {"value": size, "unit": "mm"},
        **more,
    }
    return told if at is None else {**told, "at": at}


def form(rows: list[Json], measurements: list[Json], **more: Any) -> Json:
    made = one(rows, {"stitches": 20}, measurements=measurements, **more)
    made["gauge"] = {"stitch": "single-crochet", "stitches": 20, "rows": 20,
                     "width": mm(100), "height": mm(100)}  # fmt: skip
    return made


# Twenty stitches grow to 30 in five rows, and are 26 after 15 more; 5 mm each way.
ROWS: list[Json] = [
    {"last_row": 5, "work": [{"increase": 2}, {"plain": {"to_last": 1}}, {"increase": 2}],
     "stitches": 30, "section": "foot"},
    {"work": [{"together": 2}, {"together": 2}, END], "stitches": 28, "section": "top"},
    {"work": [{"together": 2}, {"together": 2}, END], "stitches": 26, "section": "top"},
    {"last_row": 20, "work": [END], "stitches": 26, "section": "top"},
]  # fmt: skip


@pytest.mark.parametrize(
    ("measured", "count", "made", "nearest"),
    [
        (stated("width", 140, "foundation"), 20, 100, 28),
        (stated("width", 100, "last-row"), 26, 130, 20),
        (stated("width", 100), 30, 150, 20),
        (stated("height", 140), 20, 100, 28),
        (stated("width", 100, section="foot"), 30, 150, 20),
        (stated("height", 60, section="foot"), 5, 25, 12),
        (stated("height", 100, section="top"), 15, 75, 20),
        # Laid round, 26 are 130 mm: 41.4 across.
        (stated("diameter", 60, "last-row"), 26, 130 / 3.14159265, 38),
    ],
)  # fmt: skip
def test_a_measurement_is_held_against_its_own_counts(
    measured: Json, count: int, made: float, nearest: int
) -> None:
    (found,) = audited(form(ROWS, [measured])).findings
    assert (found.code, found.comes_to.count) == ("measurement-off", count)
    assert float(found.correction.length or 0) == pytest.approx(made)
    what = "row" if measured["measures"] == "height" else "stitch"
    assert f"or work {nearest} {what}" in found.text
    right = {**measured, "stated": {"value": made, "unit": "mm"}}
    assert audited(form(ROWS, [right])).holds


def test_what_a_measurement_is_counted_over() -> None:
    walked = Walked(20, 26, 30, 20, {"top": Stretch(15, 26)}, True, 0, ())
    assert [counted(StatedMeasurement("x", "width", Fraction(1), at), walked)
            for at in ("foundation", "last-row", "widest")] == [20, 26, 30]  # fmt: skip
    assert counted(StatedMeasurement("x", "height", Fraction(1)), walked) == 20
    assert counted(StatedMeasurement("x", "height", Fraction(1), section="top"), walked) == 15
    assert counted(StatedMeasurement("x", "width", Fraction(1), section="top"), walked) == 26


@pytest.mark.parametrize(
    ("pocket", "desk", "codes"),
    [
        # The pocket's width is 100 mm and the desk's 150.
        (100, 150, []), (150, 100, ["sizes-do-not-grow"]),
        # One is off by itself: only that is told.
        (100, 90, ["measurement-off"]), (160, 150, ["measurement-off"]),
        (120, 110, ["measurement-off", "measurement-off"]),
    ],
)  # fmt: skip
def test_sizes_grow(pocket: int, desk: int, codes: list[str]) -> None:
    widths = {"by_size": {"pocket": mm(pocket), "desk": mm(desk)}}
    asked = form([{"work": [END]}], [{"name": "width", "measures": "width", "stated": widths}])
    asked["sizes"] = ["pocket", "desk"]
    asked["pieces"][0]["foundation"] = {"stitches": {"by_size": {"pocket": 20, "desk": 30}}}
    found = audited(asked).findings
    assert [f.code for f in found] == codes, [f.text for f in found]
    if codes == ["sizes-do-not-grow"]:
        assert found[0].size == "desk"
        assert "put the sizes in order: 15 cm here" in found[0].text
    # With no gauge only the order can be told.
    del asked["gauge"]
    found = audited(asked).findings
    falls = desk < pocket
    assert [f.code for f in found] == (["sizes-do-not-grow"] if falls else [])
    assert not falls or f"put the sizes in order: {pocket / 10:g} cm here" in found[0].text


@pytest.mark.parametrize(
    ("case", "band", "ease", "text", "off"),
    [
        (20, 18, 0, "let the foundation of the case have 18 stitches", "2 over"),
        (18, 20, 0, "let the foundation of the case have 20 stitches", "2 short"),
        (20, 18, 2, None, ""), (20, 17, 2, "let the foundation of the case have 17", "3 over"),
    ],
)  # fmt: skip
def test_edges_that_are_sewn_together_agree(
    case: int, band: int, ease: int, text: str | None, off: str
) -> None:
    asked = one([{"work": [END]}], {"stitches": case})
    other = one([{"work": [END]}], {"stitches": band})["pieces"][0] | {"name": "band"}
    asked["pieces"].append(other)
    edges = [{"piece": "case", "edge": "foundation"}, {"piece": "band", "edge": "last-row"}]
    asked["seams"] = [{"name": "top", "edges": edges, "join": "stitch-for-stitch",
                       "ease_at_most": ease}]  # fmt: skip
    found = audited(asked).findings
    if text is None:
        assert not found
        return
    assert [f.code for f in found] == ["seam-disagrees"]
    assert text in found[0].correction.text
    joins = f"joins {case} stitches of the foundation of the case to {band} stitches of the last"
    assert joins in found[0].text
    assert f"which is {off}:" in found[0].text
    assert (found[0].stated.count, found[0].comes_to.count) == (ease, abs(case - band))
    assert found[0].correction.field == ("seams", 0, "edges", 0)


def test_what_was_held_against_the_counts_is_counted() -> None:
    # Two sizes: 20 rows each, 4 counts stated in each, a measurement, a loop and no seam.
    button = {"diameter": mm(18), "thickness": mm(3)}
    loop = {"name": "loop", "kind": "loop", "button": button, "chains": 12, "spans": 2}
    asked = form(ROWS, [stated("height", 100)], closures=[loop])
    asked["sizes"] = ["pocket", "desk"]
    made = audited(asked)
    assert made.holds
    told = made.audited
    assert (told.rows, told.stated_counts, told.measurements, told.closures, told.seams) == (
        40, 8, 2, 2, 0)  # fmt: skip
    assert made.in_words == "The arithmetic of 1 piece holds in 2 sizes."
    loop["chains"] = 2
    made = audited(asked)
    assert [f.code for f in made.findings] == ["closure-too-small"] * 2
    assert made.in_words == "2 findings in 2 sizes of 2."
    # With no gauge neither is held, and the answer says so.
    del asked["gauge"]
    made = audited(asked)
    assert (made.audited.measurements, made.audited.closures) == (0, 0)
    assert [n.field for n in made.not_audited] == [
        ("pieces", 0, "measurements"), ("pieces", 0, "closures")]  # fmt: skip


@pytest.mark.parametrize(
    ("pocket", "desk", "told"), [(20, 30, False), (20, 20, False), (20, 19, True)]
)
def test_foundations_grow(pocket: int, desk: int, told: bool) -> None:
    asked = one([{"work": [END]}], {"stitches": {"by_size": {"pocket": pocket, "desk": desk}}})
    asked["sizes"] = ["pocket", "desk"]
    found = audited(asked).findings
    assert bool(found) is told
    if told:
        assert (found[0].code, found[0].size) == ("sizes-do-not-grow", "desk")
        assert (found[0].stated.count, found[0].comes_to.count) == (19, 20)
        assert found[0].correction.count == 20
