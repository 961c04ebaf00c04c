"""An oracle of our own: the answers, worked out again beside the service in exact fractions.

Nothing here comes from the engine. The rules are those of the published contract, of the trade and
of geometry; each says at its place where it is from. ``ORACLE_CASES`` sets how many requests go in.
"""

import json
import os
import random
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, isqrt, sqrt
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from service import create_app

Json = dict[str, Any]

CASES = int(os.environ.get("ORACLE_CASES", "2400"))
HALF = Fraction(1, 2)
# The international yard and pound agreement of 1959: an inch is 25.4 mm exactly.
MM = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(127, 5), "m": Fraction(1000)}
MM["yd"] = 36 * MM["in"]
METRIC = ("mm", "cm", "m")
# Turning chains, the usual one first, and whether it usually stands for a stitch:
# *Knitting & Crocheting All-in-One*; slip stitch is common practice, no published source.
TURNING = {
    "slip-stitch": ((1,), False),
    "single-crochet": ((1,), False),
    "half-double-crochet": ((2, 1), True),
    "double-crochet": ((3, 2), True),
    "treble-crochet": ((4,), True),
}
# Edging stitches a row end, by the stitch of the rows: *Knitting & Crocheting All-in-One* for
# single and double crochet; the other two are common practice, no published source.
ROW_END = {
    "single-crochet": Fraction(1),
    "half-double-crochet": Fraction(3, 2),
    "double-crochet": Fraction(2),
    "treble-crochet": Fraction(3),
}
# The built-in templates, from the contract: the foundation, then sections from the bottom up.
BUILT_IN: dict[str, tuple[str, list[Json]]] = {
    "panel": ("width", [{"height": "height"}]),
    "flap-panel": (
        "width",
        [{"height": "body_height"}, {"to_point": True, "height": "flap_depth"}],
    ),
    "triangle": ("width", [{"to_point": True, "height": "height"}]),
    "trapezoid": ("bottom_width", [{"to_width": "top_width", "height": "height"}]),
    "band": ("length", [{"height": "depth"}]),
    "strap": ("length", [{"height": "depth", "rows": 1}]),
}
OPTIONAL = {("flap-panel", "flap_depth"), ("triangle", "height"), ("strap", "depth")}
SCHEMAS = Path(__file__).parents[1] / "schemas"
DOCUMENTS = SCHEMAS.parent / "service" / "templates"


# --- numbers ----------------------------------------------------------------------------------


def exact(number: float | int) -> Fraction:
    """The number as its decimals are written."""
    return Fraction(str(number))


def mm(quantity: Json) -> Fraction:
    return exact(quantity["value"]) * MM[quantity["unit"]]


def half_up(number: Fraction) -> int:
    """The nearest whole number, ties up (contract, rule 1)."""
    return floor(number + HALF)


def half_up_root(square: Fraction) -> int:
    """The whole number nearest to a square root, exactly."""
    least = isqrt(floor(square))
    return least + (square >= (least + HALF) ** 2)


@dataclass(frozen=True)
class Counts:
    """The counts a stitch pattern allows: a multiple of so many, plus so many."""

    multiple: int = 1
    plus: int = 0

    @property
    def fewest(self) -> int:
        return self.plus or self.multiple

    def allows(self, count: int) -> bool:
        return count >= self.fewest and (count - self.plus) % self.multiple == 0

    def nearest(self, size: Fraction, rounding: str) -> int | None:
        """The count for a size in stitches or rows (contract, rule 1); none under the fewest."""
        repeats = (size - self.plus) / self.multiple
        whole = {"nearest": half_up(repeats), "at-least": ceil(repeats), "at-most": floor(repeats)}
        count = self.plus + self.multiple * whole[rounding]
        return count if count >= self.fewest else None

    def up(self, least: int) -> int:
        return self.fewest + self.multiple * max(0, -((self.fewest - least) // self.multiple))


def counts(given: Json | None) -> Counts:
    return Counts(given["multiple"], given.get("plus", 0)) if given else Counts()


# --- shaping ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Taper:
    """From a count to a count; ``first`` is the row of the piece that it starts with."""

    start: int
    end: int
    first: int
    edges: str
    most: int  # stitches a row, both edges together; unasked one an edge (published schema)
    right_side_only: bool
    every: int | None

    @property
    def change(self) -> int:
        return abs(self.end - self.start)

    def row(self, turn: int) -> int:
        """Row of the so-manieth shaping: the last of each so many; row 1 of a piece is RS."""
        step = self.every or 1
        early = 0
        if self.right_side_only:
            step = max(step, 2)
            early = (self.first + step) % 2
        return turn * step - early

    def may(self, rows: int) -> list[int]:
        """The rows that may be shaped, of so many."""
        found: list[int] = []
        while (row := self.row(len(found) + 1)) <= rows:
            found.append(row)
        return found

    def rows_at(self, stitches_a_row: int) -> int:
        return self.row(ceil(Fraction(self.change, stitches_a_row))) if self.change else 0

    @property
    def fewest_rows(self) -> int:
        return self.rows_at(self.most)

    @property
    def usual_rows(self) -> int:
        """Unasked, a stitch an edge in each shaping row (contract, the worked excerpt)."""
        return self.rows_at(min(self.most, 2 if self.edges == "both" else 1))

    def reach(self, rows: int) -> int:
        most = self.most * len(self.may(rows))
        return self.start + (most if self.end > self.start else -most)


def taper(start: int, end: int, first: int, how: Json) -> Taper:
    edges = how.get("edges", "both")
    most = how.get("max_change", 2 if edges == "both" else 1)
    return Taper(
        start, end, first, edges, most, how.get("right_side_only", False), how.get("every")
    )


# --- a piece ----------------------------------------------------------------------------------


@dataclass
class Plan:
    across: Fraction  # mm a stitch
    up: Fraction  # mm a row
    foundation: int = 0
    sections: list[tuple[int, Taper]] = field(default_factory=list)  # rows, shaping
    # by measurement: finished, and a multiple's size
    sizes: dict[str, tuple[Fraction, Fraction]] = field(default_factory=dict)
    padded: dict[int, int] = field(default_factory=dict)  # rows unasked, by first row
    wrong: set[str] = field(default_factory=set)  # pointers to what is wrong by itself
    unfit: dict[str, tuple[int, int, Taper]] = field(default_factory=dict)  # rows, needed


def plan(order: Json) -> Plan:
    gauge, template = order["gauge"], order["template"]
    made = Plan(
        mm(gauge["width"]) / exact(gauge["stitches"]), mm(gauge["height"]) / exact(gauge["rows"])
    )
    inline: Json = template if isinstance(template, dict) else {}
    if inline:
        base, sections = inline["foundation"], inline["sections"]
    else:
        base, sections = {"width": BUILT_IN[template][0]}, BUILT_IN[template][1]
    stitches_allowed = counts(order.get("stitch_multiple"))
    given = order.get("measurements", {})

    def count(spec: Any, pointer: str, one: Fraction, allowed: Counts) -> int | None:
        if isinstance(spec, str):
            pointer = f"/measurements/{spec}"
        size = mm(given[spec] if isinstance(spec, str) else spec)
        found = allowed.nearest(size / one, order.get("rounding", "nearest"))
        if found is None:
            made.wrong.add(pointer)
        elif isinstance(spec, str):
            made.sizes[spec] = found * one, allowed.multiple * one
        return found

    def counted(owner: Json, size: str, number: str, at: str) -> int | None:
        if size in owner:
            return count(owner[size], f"{at}/{size}", made.across, stitches_allowed)
        if not stitches_allowed.allows(owner[number]):
            made.wrong.add(f"{at}/{number}")
        return int(owner[number])

    custom = order.get("foundation", {})
    turning = custom.get("turning_chain", TURNING[gauge["stitch"]][0][0])
    if custom.get("turning_chain_counts", False) and turning == 1:
        # one chain is too short to stand for a stitch: common practice, no published source
        made.wrong.add("/foundation/turning_chain_counts")
    now = counted(base, "width", "stitches", "/template/foundation")
    made.foundation = now or 0
    first: int | None = 1
    for place, section in enumerate(sections):
        at = f"/template/sections/{place}"
        how = {k: order[k] for k in ("right_side_only", "max_change") if k in order} | section
        allowed = counts(section.get("row_multiple") or order.get("row_multiple"))
        tall = section.get("height")
        extent, rows = f"{at}/rows", section.get("rows")
        asked = rows is not None
        if tall is not None and (not isinstance(tall, str) or tall in given):
            extent = f"/measurements/{tall}" if isinstance(tall, str) else f"{at}/height"
            rows, asked = count(tall, extent, made.up, allowed), True
        elif rows is not None and tall is not None:
            rows = allowed.up(rows)
        elif rows is not None and not allowed.allows(rows):
            made.wrong.add(extent)
        end = now
        if section.get("to_point"):
            # published schema: two stitches, or one where both edges cannot give two
            both = how.get("edges", "both") == "both"
            end = None if now is None else min(now, 2 if both and now % 2 == 0 else 1)
        elif "to_width" in section or "to_stitches" in section:
            end = counted(section, "to_width", "to_stitches", at)
        every = section.get("every", 1)
        if how.get("right_side_only") and every > 1 and every % 2:
            made.wrong.add(f"{at}/every")
            first = None
        if now is None or end is None or first is None or (rows is None and asked):
            now, first = end, None
            continue
        shaping = taper(now, end, first, how)
        if rows is None:
            if not shaping.change:
                made.wrong.add(f"/measurements/{tall}" if isinstance(tall, str) else at)
                break
            rows = made.padded[first] = allowed.up(shaping.usual_rows)
        if isinstance(tall, str):
            made.sizes.setdefault(tall, (rows * made.up, allowed.multiple * made.up))
        if rows < shaping.fewest_rows:
            made.unfit[extent] = rows, allowed.up(shaping.fewest_rows), shaping
        made.sections.append((rows, shaping))
        now, first = end, first + rows
    outside = set() if inline else out_of_range(template, given)
    if outside:
        made.wrong = outside  # told before anything is counted
    return made


def out_of_range(template: str, given: Json) -> set[str]:
    """Measurements outside the limits of the template's own document."""
    document = json.loads((DOCUMENTS / f"{template}.json").read_text())
    return {
        f"/measurements/{each['name']}"
        for each in document["measurements"]
        if each["name"] in given
        and not mm(each["minimum"]) <= mm(given[each["name"]]) <= mm(each["maximum"])
    }


# --- judging ----------------------------------------------------------------------------------


class Disagreement(AssertionError):
    """Oracle and service differ; ``args`` are what about, and how."""


def same(what: str, found: object, expected: object) -> None:
    if found != expected:
        raise Disagreement(what, f"answered {found}, expected {expected}")


def holds(what: str, true: bool, how: object = "") -> None:
    if not true:
        raise Disagreement(what, str(how))


VALIDATORS = {
    path.stem: Draft202012Validator(json.loads(path.read_text())) for path in SCHEMAS.glob("*.json")
}


def ask(client: FlaskClient, operation: str, order: Json) -> tuple[int, Json]:
    """Asks; question and answer are judged by the published schemas."""
    for error in VALIDATORS[f"{operation}-request"].iter_errors(order):
        raise AssertionError(f"the oracle's own request is not valid: {error.message}")
    reply = client.post(f"/v1/{operation}", json=order)
    answer: Json = json.loads(reply.data)
    holds("status", reply.status_code in (200, 422), (reply.status_code, answer))
    done = reply.status_code == 200
    mimetype = "application/json" if done else "application/problem+json"
    same("media type", reply.mimetype, mimetype)
    schema = f"{operation}-answer" if done else "problem"
    for error in VALIDATORS[schema].iter_errors(answer):
        raise Disagreement("published schema", error.message)
    return reply.status_code, answer


def near(what: str, quantity: Json, size: Fraction) -> None:
    """Six decimals are served."""
    off = abs(mm(quantity) - size) / MM[quantity["unit"]]
    holds(what, off <= Fraction(6, 10**7), f"answered {quantity}, expected {float(size)} mm")


def check_system(order: Json, quantity: Json) -> None:
    """Contract: the unit system asked for, else that of the gauge (either, where it mixes)."""
    units = {order["gauge"][side]["unit"] for side in ("width", "height")}
    systems = {"metric" if unit in METRIC else "imperial" for unit in units}
    system = "metric" if quantity["unit"] in METRIC else "imperial"
    holds("unit system", system in ({order["units"]} if "units" in order else systems), quantity)


def check_schedule(
    shaping: Taper, rows: int, schedule: list[Json], spare: bool = False
) -> list[int]:
    """Adds up, keeps to what was asked, is spread evenly; gives the stitches of each row."""
    if not shaping.change:
        same("schedule of an even stretch", schedule, [])
        return [shaping.start] * rows
    counted: list[int] = []
    shaped: dict[int, tuple[int, int]] = {}
    now = shaping.start
    for run in schedule:
        even = run["times"] == 0
        holds("run covers every x times", even or run["rows"] == run["every"] * run["times"], run)
        for row in range(1, run["rows"] + 1):
            if not even and row % run["every"] == 0:
                now += run["left"] + run["right"]
                shaped[len(counted) + 1] = run["left"], run["right"]
            counted.append(now)
        same("stitches after a run", now, run["stitches_after"])
    same("rows and stitches the schedule adds up to", (len(counted), now), (rows, shaping.end))
    sign = 1 if shaping.end > shaping.start else -1
    left, right = ([sign * pair[edge] for pair in shaped.values()] for edge in (0, 1))
    holds("largest change", all(0 < sum(pair) * sign <= shaping.most for pair in shaped.values()))
    if shaping.edges == "both":
        # geometry: of an odd change one edge takes one more
        same("edges alike", abs(sum(left) - sum(right)), shaping.change % 2)
        amounts = left + right
    else:
        amounts, other = (left, right) if shaping.edges == "left" else (right, left)
        holds("the other edge is straight", not any(other))
    # *Sweater 101*, *Knitwear Design Workshop*: shares of q and of q + 1, and no others
    holds("even amounts an edge", min(amounts) >= 0 and max(amounts) - min(amounts) <= 1, amounts)
    may = shaping.may(rows)
    holds("only rows that may be shaped", set(shaped) <= set(may), (list(shaped), may))
    if shaping.every:
        # published schema: rows left over are worked even
        same("a shaping row every so many", list(shaped), may[: len(shaped)])
    else:
        places = [0] + [may.index(row) + 1 for row in shaped]
        gaps = [after - before for before, after in pairwise(places)]
        holds("even gaps", max(gaps) - min(gaps) <= 1, gaps)
        # unasked, rows that only fill up a row multiple may be worked even
        holds("shaped to the end", spare or len(may) - places[-1] <= max(gaps), places)
    return counted


def check_piece(order: Json, expected: Plan, answer: Json) -> None:
    check_foundation(order, expected, answer["foundation"])
    stitches: list[int] = []
    for (rows, shaping), section in zip(expected.sections, answer["sections"], strict=True):
        found = [section[f"stitches_at_{which}"] for which in ("start", "end")]
        same("stitches of a section", found, [shaping.start, shaping.end])
        same("rows of a section", section["rows"], rows)
        same("first row of a section", section["first_row"], len(stitches) + 1)
        spare = rows == expected.padded.get(len(stitches) + 1)
        counted = check_schedule(shaping, rows, section["schedule"], spare)
        same("row counts", section.get("row_counts"), counted if "detail" in order else None)
        finished = section["finished"]
        near("width of a section", finished["width_at_start"], shaping.start * expected.across)
        near("width of a section", finished["width_at_end"], shaping.end * expected.across)
        near("height of a section", finished["height"], rows * expected.up)
        stitches += counted
    same("totals", answer["totals"], {"rows": len(stitches), "stitches": sum(stitches)})
    widest = max(expected.foundation, *stitches) * expected.across
    near("widest", answer["finished"]["width"], widest)
    near("whole height", answer["finished"]["height"], len(stitches) * expected.up)
    check_measurements(order, expected, answer["measurements"])
    if "edging" in order:
        check_edging(order, expected, answer)


def check_foundation(order: Json, expected: Plan, found: Json) -> None:
    """*Knitting & Crocheting All-in-One*: n + t - 1 chains where the turning chain counts, n + t
    where it does not; the first stitch goes into chain t + 1."""
    custom = order.get("foundation", {})
    chains, counting = TURNING[order["gauge"]["stitch"]]
    turning = custom.get("turning_chain", chains[0])
    counting = custom.get("turning_chain_counts", counting and turning > 1)
    wanted = {
        "stitches": expected.foundation,
        "chain": expected.foundation + turning - counting,
        # A lone stitch that the chain would stand for is worked into the last chain all the same.
        "first_stitch_in_chain": turning + 1 - (counting and expected.foundation == 1),
        "turning_chain": turning,
        "turning_chain_counts": counting,
    }
    same("foundation", found, wanted)


def check_measurements(order: Json, expected: Plan, found: Json) -> None:
    given = order.get("measurements", {})
    same("measurements", set(found), set(expected.sizes))
    for name, (size, multiple) in expected.sizes.items():
        near("finished", found[name]["finished"], size)
        check_system(order, found[name]["finished"])
        same("asked", "asked" in found[name], name in given)
        if name in given:
            asked = mm(given[name])
            near("asked", found[name]["asked"], asked)
            near("difference", found[name]["difference"], size - asked)
            off = mm(found[name]["difference"])
            rounding = order.get("rounding", "nearest")
            most = multiple / 2 if rounding == "nearest" else multiple
            holds("rule 1, half a multiple", abs(off) <= most + Fraction(1, 1000), float(off))
            wrong_way = {"at-least": -off, "at-most": off}.get(rounding, Fraction(0))
            holds("rounding to the side asked", wrong_way <= Fraction(1, 1000), float(off))


def check_edging(order: Json, expected: Plan, answer: Json) -> None:
    edging, found = order["edging"], answer["edging"]
    gauge = edging.get("gauge", order["gauge"])
    one = mm(gauge["width"]) / exact(gauge["stitches"])
    last = expected.sections[-1][1].end
    sides = {(side["along"], side["name"]): side for side in found["sides"]}
    (top,) = (side["places"] for (along, _), side in sides.items() if along == "last-row")
    if "button" in order:
        spans = answer["buttonhole"]["loop"]["spans"]
        if last <= 2 and order["template"] not in ("band", "strap"):
            # common practice, no published source: the loop stands in for the edging of a point
            same("loop at a point", (spans, top), (last, 0))
        # where it stands on part of an edge, the edging may go on below it: not settled
        holds("stitches left to the edging", top in (last, last - spans), (top, last, spans))
    else:
        same("places along the last row", top, last)
    worked = 0
    for along, places in {"foundation": expected.foundation, "last-row": top}.items():
        (side,) = (side for (of, _), side in sides.items() if of == along)
        same(f"places along the {along}", side["places"], places)
        same(f"usual along the {along}", side["usual"], places)
        same(
            f"measured along the {along}", side["measured"], half_up(places * expected.across / one)
        )
        worked += side["measured" if edging.get("spread") == "measured" else "usual"]
    ratio = ROW_END.get(order["gauge"]["stitch"])
    for (rows, _), section in zip(expected.sections, answer["sections"], strict=True):
        for edge in ("left", "right"):
            side = sides["row-ends", f"{edge} edge of the {section['name']}"]
            same("row ends", side["places"], rows)
            # common practice, no published source: half up, and by length where there is no ratio
            usual = None if ratio is None else half_up(ratio * rows)
            same("usual along row ends", side.get("usual"), usual)
            check_slope(side["measured"], edge, section, expected, one)
            by_length = edging.get("spread") == "measured" or usual is None
            worked += side["measured"] if by_length else side["usual"]
    corner = edging.get("corner", {"chains": 1})  # common practice, no published source
    turns = len(found["corners"])
    if expected.foundation > 2:
        # a point is where the edges run together to one or two stitches
        peaked = last <= 2 and bool(answer["sections"][-1]["schedule"])
        same("corners", turns, 2 + (1 if peaked else 2) * (top > 0))
    # published schema: the stitches of a corner are in place of one
    in_corners = turns * max(corner.get("stitches", 0) - 1, 0)
    same("edging stitches", found["stitches"], worked + in_corners)
    same("edging chains", found["corner_chains"], turns * corner.get("chains", 0))
    # *Simply Crochet*: a corner of three adds two in each later round, one of five adds four
    grows = turns * max(corner.get("stitches", 0) - 1, 2)
    rounds = [found["stitches"] + grows * place for place in range(edging.get("rounds", 1))]
    same("edging rounds", found["rounds"], rounds)


def check_slope(measured: int, edge: str, section: Json, plan: Plan, one: Fraction) -> None:
    """Geometry: an edge runs straight from one of its own shaping rows to the next."""
    steps: list[tuple[int, int]] = []  # rows up, stitches across
    waited = 0
    for run in section["schedule"] or [{"rows": section["rows"], "times": 0}]:
        if run["times"] and run[edge]:
            steps.append((waited + run["every"], run[edge]))
            steps += [(run["every"], run[edge])] * (run["times"] - 1)
            waited = 0
        else:
            waited += run["rows"]
    if waited:
        steps.append((waited, 0))
    up, across = plan.up / one, plan.across / one
    if len({Fraction(stitches, rows) for rows, stitches in steps}) == 1:
        rows, stitches = (sum(each) for each in zip(*steps, strict=True))
        length = half_up_root((rows * up) ** 2 + (stitches * across) ** 2)
        same("measured along a straight edge", measured, length)
    else:
        bent = sum(sqrt((rows * up) ** 2 + (stitches * across) ** 2) for rows, stitches in steps)
        how = f"answered {measured}, expected {bent:.2f}"
        holds("measured along a bent edge", abs(measured - bent) <= 0.5 + 0.02 * bent, how)


def check_problem(
    expected: set[str], unfit: dict[str, tuple[int, int, Taper]], answer: Json
) -> None:
    """Contract, rule 3: each field that is wrong is named, and what would work."""
    errors = {error["pointer"]: error for error in answer["errors"]}
    how = f"answered {set(errors)}, expected {expected or set(unfit)}"
    if expected:
        holds("every wrong field is named", expected <= set(errors), how)
        return
    holds("every taper that cannot fit is named, and no other", set(unfit) == set(errors), how)
    for pointer, (rows, needed, shaping) in list(unfit.items())[:1]:  # later ones hang on it
        permitted = errors[pointer]["permitted"]
        same("minimum rows", permitted["minimum_rows"], needed)
        same("rows given", permitted["rows_given"], rows)
        same("stitches within reach", permitted["nearest_stitches"], shaping.reach(rows))


def check_mend(client: FlaskClient, operation: str, order: Json, answer: Json) -> None:
    """Asking for just what a problem permits works, once nothing else is wrong."""
    order = json.loads(json.dumps(order))
    mended: set[tuple[str, str]] = set()
    while answer.get("errors"):
        for error in answer["errors"]:
            *path, last = error["pointer"].split("/")[1:]
            allowed = error.get("permitted", {})
            keys = ("minimum", "minimum_rows" if last == "rows" else "minimum_height")
            better = next((allowed[key] for key in keys if key in allowed), None)
            if better is None:
                return
            holds("what is permitted works", (error["pointer"], error["code"]) not in mended, error)
            if len(answer["errors"]) == 1:
                mended.add((error["pointer"], error["code"]))
            owner: Any = order
            for step in path:
                owner = owner[int(step) if step.isdigit() else step]
            owner[last] = better
        _, answer = ask(client, operation, order)


# --- random requests --------------------------------------------------------------------------


class Random(random.Random):
    def chance(self, of: float) -> bool:
        return self.random() < of

    def length(self, one: Fraction, most: int) -> Json:
        """So many stitches or rows, often half of one over, now and then none; in any unit."""
        size = Fraction(self.randint(1, most)) + self.choice(
            (0, HALF, exact(round(self.random(), 3)))
        )
        if self.chance(0.03):
            size = exact(round(self.random(), 3))
        unit = self.choice(("cm", "cm", "in", "in", "mm", "m", "yd"))
        value = max(round(float(size * one / MM[unit]), self.choice((2, 3, 6))), 0.001)
        return {"value": value, "unit": unit}

    def gauge(self, stitches: tuple[str, ...] = tuple(TURNING)) -> Json:
        sides = (
            {"value": 10, "unit": "cm"},
            {"value": 4, "unit": "in"},
            {"value": 98, "unit": "mm"},
        )
        over = exact(self.choice((1, 0.5, 0.25, 0.1)))
        return {
            "stitch": self.choice(stitches),
            "stitches": float(self.randint(9, 26) + over * self.randint(0, 3)),
            "width": self.choice(sides),
            "rows": float(self.randint(5, 28) + over * self.randint(0, 3)),
            "height": self.choice(sides),
        }

    def multiple(self) -> Json:
        multiple = self.randint(1, 8)
        return {"multiple": multiple, "plus": self.randrange(multiple)}

    def some(self, of: float, **choices: Callable[[], Any]) -> Json:
        return {name: choice() for name, choice in choices.items() if self.chance(of)}

    def order(self, inline: bool) -> Json:
        gauge = self.gauge()
        order: Json = {"gauge": gauge} | self.some(
            0.3,
            stitch_multiple=self.multiple,
            row_multiple=self.multiple,
            rounding=lambda: self.choice(("nearest", "at-least", "at-most")),
            right_side_only=lambda: self.chance(0.7),
            max_change=lambda: self.randint(1, 6),
            units=lambda: self.choice(("metric", "imperial")),
            detail=lambda: "rows",
            button=lambda: {"diameter": {"value": self.randint(10, 30), "unit": "mm"}},
            foundation=lambda: self.some(
                0.5,
                turning_chain_counts=lambda: self.chance(0.3),
                turning_chain=lambda: self.choice(TURNING[gauge["stitch"]][0]),
            ),
            edging=lambda: self.some(
                0.4,
                stitch=lambda: "single-crochet",
                spread=lambda: self.choice(("usual", "measured")),
                rounds=lambda: self.randint(1, 4),
                corner=lambda: {"stitches": self.choice((3, 5))},
                gauge=lambda: self.gauge(("single-crochet",)),
            ),
        )
        if "gauge" in order.get("edging", {}):
            order["edging"]["stitch"] = "single-crochet"
        across = mm(gauge["width"]) / exact(gauge["stitches"])
        up = mm(gauge["height"]) / exact(gauge["rows"])
        if inline:
            order["template"] = self.template(order, across, up)
            named = {
                each["name"]: (each["name"][0] == "w", each["optional"])
                for each in order["template"]["measurements"]
            }
        else:
            name = order["template"] = self.choice(tuple(BUILT_IN))
            base, sections = BUILT_IN[name]
            named = {base: (True, False)}
            for section in sections:
                named |= {section["to_width"]: (True, False)} if "to_width" in section else {}
                named[section["height"]] = False, (name, section["height"]) in OPTIONAL
        order["measurements"] = {
            name: self.length(across, 110) if wide else self.length(up, 90)
            for name, (wide, optional) in named.items()
            if not optional or self.chance(0.5)
        }
        return order

    def template(self, order: Json, across: Fraction, up: Fraction) -> Json:
        measurements: list[Json] = []

        def measure(letter: str, optional: bool = False) -> str:
            name = f"{letter}{len(measurements)}"
            measurements.append({"name": name, "meaning": "a length", "optional": optional})
            return name

        def count(multiple: str, least: int, most: int) -> int:
            least = self.randint(least, most)
            return least if self.chance(0.02) else counts(order.get(multiple)).up(least)

        def width(name: str, number: str) -> Json:
            way = self.randrange(3)
            if way == 0:
                return {number: count("stitch_multiple", 1, 110)}
            return {name: measure("w") if way == 1 else self.length(across, 110)}

        foundation = width("width", "stitches")
        sections: list[Json] = []
        for place in range(self.randint(1, 4)):
            section: Json = {"name": f"part {place}", "shape": "even"}
            if self.chance(0.3):
                section |= self.choice(
                    (
                        {"rows": count("row_multiple", 1, 60)},
                        {"height": self.length(up, 60)},
                    )
                )
            else:
                section["shape"] = "taper"
                to = {"to_point": True} if self.chance(0.3) else width("to_width", "to_stitches")
                section |= to | self.some(
                    0.25,
                    edges=lambda: self.choice(("both", "left", "right")),
                    max_change=lambda: self.choice((1, 2, 3, 4, 9)),
                    right_side_only=lambda: self.chance(0.5),
                    every=lambda: self.randint(1, 6),
                )
                section |= self.some(
                    0.35,
                    rows=lambda: count("row_multiple", 20, 110),
                    height=lambda: self.choice(
                        (lambda: self.length(up, 110), lambda: measure("h", self.chance(0.5)))
                    )(),
                )
            sections.append(section)
        return {
            "name": "of-our-own",
            "title": "Of our own",
            "measurements": measurements,
            "foundation": foundation,
            "sections": sections,
        }

    def shaping(self) -> Json:
        order: Json = {"from": self.randint(1, 120), "to": self.randint(1, 120)} | self.some(
            0.35,
            edges=lambda: self.choice(("both", "left", "right")),
            right_side_only=lambda: self.chance(0.7),
            first_row=lambda: self.choice(("right-side", "wrong-side")),
            max_change=lambda: self.randint(1, 9),
            gauge=self.gauge,
            every=lambda: self.randint(1, 7),
            rounding=lambda: self.choice(("nearest", "at-least", "at-most")),
            detail=lambda: "rows",
        )
        if "gauge" in order and self.chance(0.7):
            gauge = order["gauge"]
            order["height"] = self.length(mm(gauge["height"]) / exact(gauge["rows"]), 110)
        elif "every" not in order or order["from"] == order["to"] or self.chance(0.5):
            order["rows"] = self.randint(1, 110)
        return order


# --- the tests --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_app().test_client()


def no_disagreement(cases: int, make: Callable[[], Json], judge: Callable[[Json], None]) -> None:
    """Judges so many requests, and tells of each kind of disagreement once, by its smallest."""
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for _ in range(cases):
        order = make()
        try:
            judge(order)
        except Disagreement as told:
            found[told.args[0]].append((json.dumps(order), told.args[1]))
    told_of = []
    for what, each in found.items():
        order_text, how = min(each, key=lambda one: len(one[0]))
        told_of.append(f"{what} ({len(each)} of {cases}): {how}\n    {order_text}")
    if told_of:
        pytest.fail("\n".join(told_of), pytrace=False)


def judge_piece(client: FlaskClient, order: Json) -> None:
    expected = plan(order)
    status, answer = ask(client, "pieces", order)
    refused = bool(expected.wrong or expected.unfit)
    how = f"answered {status}: {answer.get('detail')}; oracle: {expected.wrong}, {expected.unfit}"
    holds("feasible", refused == (status == 422), how)
    if refused:
        check_problem(expected.wrong, expected.unfit, answer)
        check_mend(client, "pieces", order, answer)
    else:
        check_piece(order, expected, answer)


def test_built_in_pieces_are_as_the_oracle_has_them(client: FlaskClient) -> None:
    rng = Random(1)
    no_disagreement(CASES // 3, lambda: rng.order(False), lambda order: judge_piece(client, order))


def test_pieces_of_inline_templates_are_as_the_oracle_has_them(client: FlaskClient) -> None:
    rng = Random(2)
    no_disagreement(CASES // 3, lambda: rng.order(True), lambda order: judge_piece(client, order))


def judge_shaping(client: FlaskClient, order: Json) -> None:
    status, answer = ask(client, "shaping", order)
    first = 2 if order.get("first_row") == "wrong-side" else 1
    shaping = taper(order["from"], order["to"], first, order)
    wrong: set[str] = set()
    rows: int | None = order.get("rows")
    row = mm(order["gauge"]["height"]) / exact(order["gauge"]["rows"]) if "gauge" in order else None
    if row and "height" in order:
        rows = Counts().nearest(mm(order["height"]) / row, order.get("rounding", "nearest"))
        if rows is None:
            wrong.add("/height")
    if shaping.right_side_only and (shaping.every or 1) > 1 and (shaping.every or 1) % 2:
        wrong.add("/every")
    unfit = {}
    if not wrong:
        rows = shaping.usual_rows if rows is None else rows
        if rows < shaping.fewest_rows:
            extent = "/height" if "height" in order else "/rows"
            unfit = {extent: (rows, shaping.fewest_rows, shaping)}
    same("feasible", status, 422 if wrong or unfit else 200)
    if status == 422:
        check_problem(wrong, unfit, answer)
        check_mend(client, "shaping", order, answer)
        return
    assert rows is not None
    ends = [answer[key] for key in ("rows", "stitches_at_start", "stitches_at_end")]
    same("rows and stitches", ends, [rows, order["from"], order["to"]])
    counted = check_schedule(shaping, rows, answer["schedule"])
    same("row counts", answer.get("row_counts"), counted if "detail" in order else None)
    same("height told", "height" in answer, row is not None)
    if row:
        near("finished", answer["height"]["finished"], rows * row)
        check_system(order, answer["height"]["finished"])
    if row and "height" in order:
        near("asked", answer["height"]["asked"], mm(order["height"]))
        near("difference", answer["height"]["difference"], rows * row - mm(order["height"]))


def test_shaping_is_as_the_oracle_has_it(client: FlaskClient) -> None:
    rng = Random(3)
    no_disagreement(CASES // 3, rng.shaping, lambda order: judge_shaping(client, order))


# --- one at a time ----------------------------------------------------------------------------

GAUGE: Json = {
    "stitch": "single-crochet",
    "stitches": 16,
    "width": {"value": 10, "unit": "cm"},
    "rows": 19,
    "height": {"value": 10, "unit": "cm"},
}


def cm(value: float) -> Json:
    return {"value": value, "unit": "cm"}


def inline(sections: list[Json], **rest: Any) -> Json:
    template = {"name": "of-our-own", "title": "Of our own", "measurements": []}
    template |= {"foundation": {"stitches": 38}, "sections": sections} | rest
    return {"gauge": GAUGE, "template": template}


def test_every_measurement_too_small_is_named_at_once(client: FlaskClient) -> None:
    # 0.1 cm is 0.16 stitches and 0.19 rows: by hand
    measurements = {"width": cm(0.1), "height": cm(0.1)}
    order = {"gauge": GAUGE, "template": "panel", "measurements": measurements}
    _, answer = ask(client, "pieces", order)
    named = {error["pointer"] for error in answer["errors"]}
    assert named == {"/measurements/width", "/measurements/height"}


def test_a_pointer_leads_to_a_field_of_the_request(client: FlaskClient) -> None:
    # 1 cm is 1.6 stitches, so 2: a point already. What would help is the height, left out.
    order = {"gauge": GAUGE, "template": "triangle", "measurements": {"width": cm(1)}}
    _, answer = ask(client, "pieces", order)
    assert [error["pointer"] for error in answer["errors"]] == ["/measurements/height"]


@pytest.mark.parametrize(
    "section",
    [
        {"name": "top", "shape": "taper", "to_stitches": 20, "height": "?"},
        {"name": "top", "shape": "taper", "to_width": "?", "rows": 60},
    ],
)
def test_a_minimum_is_in_terms_of_the_measurement_asked_for(
    client: FlaskClient, section: Json
) -> None:
    term = {"measurement": "size", "times": 0.5, "plus": cm(-1)}
    named = {key: term if value == "?" else value for key, value in section.items()}
    order = inline([named], measurements=[{"name": "size", "meaning": "a length"}])
    order["measurements"] = {"size": cm(2.1)}
    status, answer = ask(client, "pieces", order)
    assert status == 422
    check_mend(client, "pieces", order, answer)


@pytest.mark.parametrize("row_multiple", [{"multiple": 6}, {"multiple": 6, "plus": 4}])
def test_nothing_to_shape_and_no_rows_is_refused(client: FlaskClient, row_multiple: Json) -> None:
    order = inline([{"name": "top", "shape": "taper", "to_stitches": 38}])
    status, _ = ask(client, "pieces", order | {"row_multiple": row_multiple})
    assert status == 422


def test_an_edge_shaped_every_other_row_is_as_long_whatever_the_other_does(
    client: FlaskClient,
) -> None:
    # Geometry: 36 rows are 360/19 cm, 18 stitches 11.25 cm: 22.04 cm on the slope, 35.26 stitches.
    turns = {"name": "top", "shape": "taper", "to_stitches": 2, "max_change": 1}
    one = {"name": "top", "shape": "taper", "to_stitches": 20, "edges": "left", "every": 2}
    for section in (one, turns):
        _, answer = ask(client, "pieces", inline([section]) | {"edging": {}})
        (side,) = (each for each in answer["edging"]["sides"] if each["name"].startswith("left"))
        assert (side["places"], side["measured"]) == (36, 35)
