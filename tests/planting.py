"""A clean written pattern of the field-sketching kit, and slips that are planted in it.

Every count of the clean pattern is by hand arithmetic from its numbers: see the comments.
"""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Json = dict[str, Any]
SIZES = ("pocket", "desk")
OTHER = {"pocket": "desk", "desk": "pocket"}
STITCH, ROW = 6.25, 100 / 19  # millimetres, of 16 stitches and 19 rows to 10 cm
END = {"plain": "to-end"}


def mm(value: float) -> Json:
    return {"value": round(value, 1), "unit": "mm"}


def each(of: Callable[[str], Any]) -> Json:
    return {"by_size": {size: of(size) for size in SIZES}}


def clean(dice: random.Random) -> Json:
    """Four pieces in two sizes whose arithmetic holds."""
    w = {"pocket": dice.randint(30, 36), "desk": dice.randint(45, 60)}
    r = {"pocket": dice.randint(20, 30), "desk": dice.randint(40, 60)}
    n = {s: w[s] - 2 for s in SIZES}  # after one decrease at each end
    times = {s: n[s] // 5 for s in SIZES}
    v = {s: n[s] - times[s] for s in SIZES}  # each (3 plain, 2 together) loses one
    u = {s: v[s] + 3 for s in SIZES}  # 3 into one gains two, 2 into one gains one
    q = {s: u[s] - 4 for s in SIZES}  # two rows that lose two
    p = dice.randint(4, 9)
    end = q
    case_rows = {s: r[s] + 19 for s in SIZES}

    def runs(s: str) -> list[Json]:
        return [
            {"rows": 6, "every": 2, "times": 3, "left": -1, "right": -1,
             "stitches_after": end[s] - 6},
            {"rows": 2, "every": 1, "times": 0, "left": 0, "right": 0,
             "stitches_after": end[s] - 6},
        ]  # fmt: skip

    def at(row: int) -> Json:
        return {"first_row": each(lambda s: r[s] + row)}

    dec = {"together": 2}
    case = {
        "name": "case",
        "foundation": {"chain": each(lambda s: w[s] + 1), "first_stitch_in_chain": 2,
                       "stitches": each(w.__getitem__)},
        "rows": [
            {"first_row": 1, "last_row": each(r.__getitem__), "section": "body", "work": [END],
             "stitches": each(w.__getitem__)},
            {**at(1), "work": [dec, {"plain": each(lambda s: w[s] - 4)}, dec],
             "stitches": each(n.__getitem__)},
            {**at(2), "work": [{"turning_chain": "does-not-count"},
                               {"plain": each(n.__getitem__)}], "stitches": each(n.__getitem__)},
            {**at(3), "work": [{"plain": p}, {"chain": 3, "counts_as": 3}, {"skip": 3}, END],
             "stitches": each(n.__getitem__)},
            {**at(4), "work": [{"plain": each(lambda s: n[s] - p - 3)}, {"into_space": 3}, END],
             "stitches": each(n.__getitem__)},
            {**at(5), "work": [{"repeat": [{"plain": 3}, dec], "times": each(times.__getitem__)},
                               {"plain": each(lambda s: n[s] - 5 * times[s])}],
             "stitches": each(v.__getitem__)},
            {**at(6), "work": [{"plain": 2}, {"increase": 3}, {"plain": {"to_last": 1}},
                               {"increase": 2}], "stitches": each(u.__getitem__)},
            {**at(7), "last_row": each(lambda s: r[s] + 8),
             "work": [dec, {"plain": {"to_last": 2}}, dec], "stitches": each(q.__getitem__)},
            {**at(9), "last_row": each(lambda s: r[s] + 17), "schedule": each(runs),
             "stitches": each(lambda s: end[s] - 6)},
            {**at(18), "work": [{"plain": each(lambda s: end[s] - 8)}, {"leave": 2}],
             "stitches": each(lambda s: end[s] - 8)},
            {**at(19), "work": [{"turning_chain": "counts"}, {"same_stitch": 1}, END],
             "stitches": each(lambda s: end[s] - 7)},
        ],
        "measurements": [
            {"name": "width", "measures": "width", "at": "foundation",
             "stated": each(lambda s: mm(w[s] * STITCH))},
            {"name": "height", "measures": "height",
             "stated": each(lambda s: mm(case_rows[s] * ROW))},
            {"name": "body height", "measures": "height", "section": "body",
             "stated": each(lambda s: mm(r[s] * ROW))},
        ],
        # 18 mm across, 3 mm through: 39.4 mm round. A loop of 4 chains over 2 stitches is
        # 37.5 mm, of 5 is 43.75; a slit of 3 stitches, stretched by half, goes 56 mm round.
        "closures": [
            {"name": "loop", "kind": "loop", "chains": each(lambda s: 5), "button": BUTTON},
            {"name": "slit", "kind": "slit", "skipped": each(lambda s: 3), "button": BUTTON},
        ],
    }  # fmt: skip
    side = {"pocket": dice.randint(6, 12), "desk": dice.randint(13, 20)}
    around = {"pocket": 24, "desk": 30}
    cup = {
        "name": "cup",
        "worked": "round",
        "rows": [
            {"work": [{"into_ring": 6}], "stitches": 6},
            {"work": [{"repeat": [{"increase": 2}], "times": "to-end"}], "stitches": 12},
            {"work": [{"repeat": [{"plain": 1}, {"increase": 2}], "times": 6}], "stitches": 18},
            {"work": [{"repeat": [{"plain": 2}, {"increase": 2}], "times": "to-end"}],
             "stitches": 24},
            {"sizes": ["desk"], "stitches": 30,
             "work": [{"repeat": [{"plain": 3}, {"increase": 2}], "times": 6}]},
            {"last_row": each(lambda s: 5 + side[s]), "work": [END],
             "stitches": each(around.__getitem__)},
            {"work": [{"repeat": [{"plain": each(lambda s: around[s] // 6 - 2)}, dec],
                       "times": "to-end"}], "stitches": each(lambda s: around[s] - 6)},
        ],
        "measurements": [
            {"name": "girth", "measures": "circumference",
             "stated": each(lambda s: mm(around[s] * STITCH))},
            {"name": "across", "measures": "diameter",
             "stated": each(lambda s: mm(around[s] * STITCH / 3.14159265))},
        ],
    }  # fmt: skip
    stood = [{"turning_chain": "counts"}, END]
    pocket = {
        "name": "pencil pocket",
        # 3 chains stand for the first stitch: one for it and two more besides the others
        "foundation": {"chain": each(lambda s: w[s] + 2), "first_stitch_in_chain": 4,
                       "turning_chain_counts": True, "stitches": each(w.__getitem__)},
        "rows": [{"work": stood, "stitches": each(w.__getitem__)},
                 {"last_row": 10, "work": stood, "stitches": each(w.__getitem__)}],
    }  # fmt: skip
    gusset = {
        "name": "gusset",
        "foundation": {"stitches": 5},
        "rows": [{"last_row": each(case_rows.__getitem__), "work": [{"plain": 5}], "stitches": 5}],
    }

    def edge(piece: str, name: str) -> Json:
        return {"piece": piece, "edge": name}

    made: Json = {
        "sizes": list(SIZES),
        "gauge": {"stitch": "single-crochet", "stitches": 16, "width": mm(100), "rows": 19,
                  "height": mm(100)},
        "pieces": [case, cup, pocket, gusset],
        "seams": [
            {"name": "side", "join": "row-for-row",
             "edges": [edge("case", "left"), edge("gusset", "left")]},
            {"name": "base", "join": "stitch-for-stitch",
             "edges": [edge("case", "foundation"), edge("pencil pocket", "foundation")]},
            {"name": "corner", "join": {"of": 2, "to": 1},
             "edges": [edge("pencil pocket", "left"), edge("gusset", "foundation")]},
        ],
    }  # fmt: skip
    unshared: Json = json.loads(json.dumps(made))
    return unshared


BUTTON = {"diameter": mm(18), "thickness": mm(3)}


@dataclass(frozen=True)
class Slip:
    """What is done to the pattern in one size (or all), and the one finding it must give."""

    name: str
    code: str
    piece: str | None
    row: Callable[[Json, str], int | None]
    plant: Callable[[Json, str], None]
    everywhere: bool = False
    found_in: str | None = None


def line(form: Json, i: int) -> Json:
    made: Json = form["pieces"][0]["rows"][i]
    return made


def add(holder: Json, name: str, by: int) -> Callable[[str], None]:
    def change(size: str) -> None:
        value = holder[name]
        if isinstance(value, dict):
            value["by_size"][size] += by
        else:
            holder[name] = value + by

    return change


def case_row(i: int) -> Callable[[Json, str], int | None]:
    def row(form: Json, size: str) -> int | None:
        here = line(form, i)["first_row"]
        return int(here["by_size"][size] if isinstance(here, dict) else here)

    return row


def _last(i: int) -> Callable[[Json, str], int | None]:
    return lambda form, size: int(line(form, i)["last_row"]["by_size"][size])


def number(row: int | None) -> Callable[[Json, str], int | None]:
    return lambda form, size: row


def stated(i: int, by: int) -> Callable[[Json, str], None]:
    return lambda form, size: add(line(form, i), "stitches", by)(size)


def op(i: int, j: int, name: str, by: int) -> Callable[[Json, str], None]:
    return lambda form, size: add(line(form, i)["work"][j], name, by)(size)


def put(i: int, j: int, work: Json) -> Callable[[Json, str], None]:
    def plant(form: Json, size: str) -> None:
        line(form, i)["work"][j] = work

    return plant


def drop(i: int, j: int) -> Callable[[Json, str], None]:
    return lambda form, size: line(form, i)["work"].pop(j) and None


def base(piece: int, name: str, by: int) -> Callable[[Json, str], None]:
    return lambda form, size: add(form["pieces"][piece]["foundation"], name, by)(size)


def run(j: int, name: str, by: int) -> Callable[[Json, str], None]:
    return lambda form, size: add(line(form, 8)["schedule"]["by_size"][size][j], name, by)(size)


def measured(piece: int, i: int) -> Callable[[Json, str], None]:
    def plant(form: Json, size: str) -> None:
        length = form["pieces"][piece]["measurements"][i]["stated"]["by_size"][size]
        length["value"] = round(length["value"] * (1.12 if size == "desk" else 0.88), 1)

    return plant


def swapped(piece: int, i: int) -> Callable[[Json, str], None]:
    def plant(form: Json, size: str) -> None:
        told = form["pieces"][piece]["measurements"][i]["stated"]["by_size"]
        told["pocket"], told["desk"] = told["desk"], told["pocket"]

    return plant


def opening(i: int, name: str, to: int) -> Callable[[Json, str], None]:
    def plant(form: Json, size: str) -> None:
        form["pieces"][0]["closures"][i][name]["by_size"][size] = to

    return plant


def pasted(form: Json, size: str) -> None:
    told = line(form, 2)["work"][1]["plain"]["by_size"]
    told[size] = told[OTHER[size]]


def flipped(form: Json, size: str) -> None:
    form["pieces"][2]["foundation"]["turning_chain_counts"] = False


def wider_pocket(form: Json, size: str) -> None:
    piece = form["pieces"][2]
    for holder, name in (
        (piece["foundation"], "chain"), (piece["foundation"], "stitches"),
        (piece["rows"][0], "stitches"), (piece["rows"][1], "stitches"),
    ):  # fmt: skip
        add(holder, name, 1)(size)


def cup_work(i: int, work: list[Json]) -> Callable[[Json, str], None]:
    def plant(form: Json, size: str) -> None:
        form["pieces"][1]["rows"][i]["work"] = work

    return plant


def ratio(form: Json, size: str) -> None:
    form["seams"][2]["join"]["of"] = 3


def longer_gusset(form: Json, size: str) -> None:
    add(form["pieces"][3]["rows"][0], "last_row", 1)(size)


GROUP = [{"plain": 3}, {"increase": 2}]
NONE = number(None)
COUNT, OVER, SHORT = "stated-count", "stitches-left-over", "stitches-short"
SLIPS = [
    Slip("a count misstated on an even row", COUNT, "case", case_row(2), stated(2, 1)),
    Slip("a count misstated over several rows", COUNT, "case", _last(7), stated(7, -2)),
    Slip("a count misstated on a shaping row", COUNT, "case", case_row(1), stated(1, -1)),
    Slip("a count misstated after a repeat", COUNT, "case", case_row(5), stated(5, 2)),
    Slip("a count misstated on the last row", COUNT, "case", case_row(10), stated(10, 1)),
    Slip("a plain stitch too many", SHORT, "case", case_row(1), op(1, 1, "plain", 1)),
    Slip("a plain stitch too few", OVER, "case", case_row(1), op(1, 1, "plain", -1)),
    Slip("a repeat once too often", SHORT, "case", case_row(5), op(5, 0, "times", 1)),
    Slip("a repeat once too seldom", OVER, "case", case_row(5), op(5, 0, "times", -1)),
    Slip("to the last stitches, one too many", OVER, "case", case_row(7),
         put(7, 1, {"plain": {"to_last": 3}}), everywhere=True),
    Slip("to the last stitches, one too few", SHORT, "case", case_row(7),
         put(7, 1, {"plain": {"to_last": 1}}), everywhere=True),
    Slip("three worked together for two", SHORT, "case", case_row(1),
         put(1, 0, {"together": 3}), everywhere=True),
    Slip("two into one for three", COUNT, "case", case_row(6), put(6, 1, {"increase": 2}),
         everywhere=True),
    Slip("an increase left out", COUNT, "case", case_row(6), drop(6, 1), everywhere=True),
    Slip("a decrease left out", OVER, "case", case_row(1), drop(1, 0), everywhere=True),
    Slip("more skipped than chained", COUNT, "case", case_row(3), put(3, 2, {"skip": 4}),
         everywhere=True),
    Slip("chains counted as fewer than skipped", COUNT, "case", case_row(3),
         put(3, 1, {"chain": 3, "counts_as": 2}), everywhere=True),
    Slip("too few worked back into a space", COUNT, "case", case_row(4),
         put(4, 1, {"into_space": 2}), everywhere=True),
    Slip("a space looked for a stitch too far", "no-space-here", "case", case_row(4),
         op(4, 0, "plain", 1)),
    Slip("a turning chain counted that is not one", SHORT, "case", case_row(2),
         put(2, 0, {"turning_chain": "counts"}), everywhere=True),
    Slip("two in the same stitch for one", COUNT, "case", case_row(10),
         put(10, 1, {"same_stitch": 2}), everywhere=True),
    Slip("one too many left unworked", SHORT, "case", case_row(9), put(9, 1, {"leave": 3}),
         everywhere=True),
    Slip("another size's number", "", "case", case_row(2), pasted),
    Slip("a chain too many", "foundation-count", "case", NONE, base(0, "chain", 1)),
    Slip("a chain too few", "foundation-count", "case", NONE, base(0, "chain", -1)),
    Slip("the first stitch a chain too far", "foundation-count", "case", NONE,
         base(0, "first_stitch_in_chain", 1), everywhere=True),
    Slip("foundation stitches misstated", "foundation-count", "case", NONE,
         base(0, "stitches", 1)),
    Slip("skipped chains not counted that are", "foundation-count", "pencil pocket", NONE,
         flipped, everywhere=True),
    Slip("a row number left out", "row-numbers", "case", case_row(2),
         lambda form, size: add(line(form, 2), "first_row", 1)(size)),
    Slip("a row number given twice", "row-numbers", "case", case_row(7),
         lambda form, size: add(line(form, 7), "first_row", -1)(size)),
    Slip("a run with no room for its shaping", "run-does-not-fit", "case", case_row(8),
         run(0, "times", 1)),
    Slip("a run that loses too many", COUNT, "case",
         lambda form, size: (case_row(8)(form, size) or 0) + 5, run(0, "left", -1)),
    Slip("a run's count misstated", COUNT, "case",
         lambda form, size: (case_row(8)(form, size) or 0) + 5, run(0, "stitches_after", 1)),
    Slip("a schedule longer than its rows", "schedule-rows", "case", case_row(8),
         run(1, "rows", 4)),
    Slip("a count misstated after a schedule", COUNT, "case", _last(8), stated(8, 1)),
    Slip("one too many in the ring", COUNT, "cup", number(1), cup_work(0, [{"into_ring": 7}]),
         everywhere=True),
    Slip("a repeat to the end that does not come out", "repeat-does-not-fit", "cup", number(4),
         cup_work(3, [{"repeat": GROUP, "times": "to-end"}]), everywhere=True),
    Slip("a round repeated five times for six", OVER, "cup", number(3),
         cup_work(2, [{"repeat": [{"plain": 1}, {"increase": 2}], "times": 5}]),
         everywhere=True),
    Slip("a width misstated", "measurement-off", "case", NONE, measured(0, 0)),
    Slip("a height misstated", "measurement-off", "case", NONE, measured(0, 1)),
    Slip("a section's height misstated", "measurement-off", "case", NONE, measured(0, 2)),
    Slip("a girth misstated", "measurement-off", "cup", NONE, measured(1, 0)),
    Slip("a diameter misstated", "measurement-off", "cup", NONE, measured(1, 1)),
    Slip("two sizes changed places", "sizes-do-not-grow", "case", NONE, swapped(0, 0),
         found_in="desk"),
    Slip("an edge a row longer than its seam", "seam-disagrees", None, NONE, longer_gusset),
    Slip("an edge a stitch wider than its seam", "seam-disagrees", None, NONE, wider_pocket),
    Slip("a ratio that the edges do not have", "seam-disagrees", None, NONE, ratio,
         everywhere=True),
    Slip("a loop too small", "closure-too-small", "case", NONE, opening(0, "chains", 4)),
    Slip("a slit too small", "closure-too-small", "case", NONE, opening(1, "skipped", 2)),
]  # fmt: skip


def planted(form: Json, slip: Slip, size: str) -> Json:
    made = copy.deepcopy(form)
    slip.plant(made, size)
    return made
