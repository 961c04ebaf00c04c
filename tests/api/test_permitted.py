"""What a refusal permits is put where it is said to go and asked again: that refusal is gone.

Each case is a bad order. Of a limit, the value itself must do, and one a thousandth beyond must be
refused for the same reason; of a choice, each of those that are named. That what is told is the
truth is so found by asking, and not by what was told before.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api.test_errors import CM_10, GAUGE, PANEL

Way = tuple[str, Any, int]
"""Where to put what, and on which side of it lies what is refused: below (-1), above (1), none."""

# Figures that are told by their own names: relative to the pointer, or from the root.
PLACES = {
    "minimum_rows": ("", -1), "minimum_height": ("", 0), "written_rows": ("", -1),
    "nearest_stitches": ("/to", 0), "max_change": ("/max_change", -1), "chains": ("", 0),
    "or_at_most": ("", 1), "ease_at_most": ("ease_at_most", -1), "rows_made": ("", 0),
    "most_off_percent": ("/most_off_percent", -1), "most_stitches": ("", 1),
    "right_side_only": ("/right_side_only", 0), "from_left_mm": ("", 0),
}  # fmt: skip
LIMITS = {"minimum": -1, "maximum": 1, "minimum_mm": -1, "maximum_mm": 1}
# What lies past these is refused, and they themselves are.
OPEN = {"below_mm": 0.999, "less_than_mm": 0.999, "more_than_mm": 0.999,
        "take_off_less_than_mm": -0.999}  # fmt: skip


# Of these it is what the next count comes to, or the nearest counts: what lies nearer may do too.
NEAR = {"oval-not-longer", "already-longer", "measurement-too-large", "opening-outside",
        "seam-cannot-agree"}  # fmt: skip


def ways(question: str, pointer: str, permitted: Any) -> Iterator[Way]:
    """Each value of what is permitted that can be put in, and where."""
    if isinstance(permitted, list):
        yield from ((pointer, value, 0) for value in permitted)
        return
    last = pointer.rsplit("/", 1)[-1]
    for name, told in (permitted or {}).items():
        each = told if isinstance(told, list) else [told]
        if name == "minimum_rows" and (last != "rows" or question == "conversions"):
            continue  # told beside a height, or beside the rows as they are written
        if name in LIMITS:
            yield pointer, in_mm(told) if name.endswith("_mm") else told, LIMITS[name]
        elif name in OPEN:
            yield pointer, in_mm(told * OPEN[name]), 0
        elif name in PLACES:
            at, side = PLACES[name]
            where = at if at.startswith("/") else f"{pointer}/{at}".rstrip("/")
            yield from ((where, in_mm(v) if name.endswith("_mm") else v, side) for v in each)
        elif name == last:
            yield from ((pointer, value, 0) for value in each)
        elif name == "at_least":
            yield f"{pointer}/length", told["yarn"], -1


def in_mm(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "mm"}


def beyond(value: Any, side: int) -> Any:
    """A thousandth past a limit, which is what it is told to, or the next whole number."""
    if isinstance(value, dict):
        return {**value, "value": value["value"] + side / 1000}
    return value + side if isinstance(value, int) else value * (1 + side / 1000)


def putting(order: dict[str, Any], pointer: str, value: Any) -> dict[str, Any]:
    made = json.loads(json.dumps(order))  # parts that are written once are apart in it
    *path, last = pointer.strip("/").split("/")
    place: Any = made
    for key in path:
        place = place[int(key)] if isinstance(place, list) else place.setdefault(key, {})
    place[int(last) if isinstance(place, list) else last] = value
    return made


def tab(*sections: dict[str, Any], start: int = 30, **more: Any) -> dict[str, Any]:
    """A piece from a document: 30 stitches, and sections; 6.25 mm a stitch, 100 / 19 a row."""
    document = {"name": "tab", "title": "Tab", "measurements": [],
                "foundation": {"stitches": start}, "sections": [*sections], **more}  # fmt: skip
    return {"gauge": GAUGE, "template": document, "measurements": {}}


def mm(value: float) -> dict[str, Any]:
    return in_mm(value)


def of(template: str, **measurements: float) -> dict[str, Any]:
    """A piece of a template, by its measurements in centimetres."""
    asked = {name: {"value": value, "unit": "cm"} for name, value in measurements.items()}
    return {"gauge": GAUGE, "template": template, "measurements": asked}


CASE = of("flap-panel", width=24, body_height=30)
CUP = of("cup", diameter=8, height=11)
BODY = {"name": "body", "shape": "even", "rows": 20}
YARN = {"yarn": {"swatch": {"stitches": 16, "rows": 19, "unravelled_length": in_mm(9000)}}}
WRITTEN = {
    "from": GAUGE, "to": {**GAUGE, "stitches": 14, "rows": 17}, "foundation": {"stitches": 38},
    "sections": [{"name": "body", "rows": 57}, {"name": "flap", "rows": 18, "stitches_at_end": 2}],
}  # fmt: skip
RUN = {"rows": 18, "every": 1, "times": 18, "left": -1, "right": -1}
CHECK = {**CASE, "at": {"section": "body", "row": 20}, "measured": {"width": {"value": 24,
         "unit": "cm"}}}  # fmt: skip
KIT = {
    "sizes": ["pocket"], "gauge": GAUGE,
    "pieces": [
        {"name": "case", "template": "panel", "measurements": {"width": CM_10, "height": CM_10}},
        {"name": "band", "template": "panel", "measurements": {
            "width": {"piece": "case", "measurement": "width"}, "height": CM_10}},
    ],
}  # fmt: skip
SLOT = {"name": "eye", "height": mm(50), "stitches": 4}
FORM = {
    "sizes": ["pocket"],
    "pieces": [{"name": "case", "foundation": {"stitches": 9}, "rows": [{"work": [{"plain": 9}]}]}],
    "seams": [{"name": "side", "edges": [{"piece": "case", "edge": "left"}] * 2,
               "join": "row-for-row"}],
}  # fmt: skip

# (question, the order and what is put into it, where it is refused, why)
ORDERS: list[tuple[str, dict[str, Any], dict[str, Any], str, str]] = [
    ("pieces", PANEL, {"/measurements/width/value": 0.1}, "/measurements/width",
     "measurement-too-small"),
    ("pieces", PANEL, {"/measurements/width/value": 9e3}, "/measurements/width",
     "measurement-too-large"),
    ("pieces", PANEL, {"/measurements/width/value": 9e4}, "/measurements/width",
     "measurement-out-of-range"),
    ("pieces", PANEL, {"/gauge/stitches": 0}, "/gauge/stitches", "out-of-range"),
    ("pieces", PANEL, {"/gauge/stitch": "sc"}, "/gauge/stitch", "not-a-choice"),
    ("pieces", PANEL, {"/gauge/stitch": "chain"}, "/gauge/stitch", "stitch-makes-no-rows"),
    ("pieces", PANEL, {"/uses": ["frost"]}, "/uses/0", "not-a-choice"),
    ("pieces", PANEL, {"/foundation": {"turning_chain": 3}}, "/foundation/turning_chain",
     "turning-chain-length"),
    ("pieces", PANEL, {"/foundation": {"turning_chain_counts": True}},
     "/foundation/turning_chain_counts", "turning-chain-too-short-to-count"),
    ("pieces", PANEL, {"/button": {"diameter": CM_10, "thickness": {"value": 11, "unit": "cm"}}},
     "/button/thickness", "button-thicker-than-wide"),
    ("pieces", PANEL, {"/button": {"diameter": in_mm(18)}, "/closure": {"kind": "loop",
     "span": 15}}, "/closure/span", "loop-does-not-fit"),
    ("pieces", CASE, {"/measurements/flap_depth": {"value": 7, "unit": "cm"}},
     "/measurements/flap_depth", "shaping-does-not-fit"),
    ("pieces", CASE, {"/continue_after": {"section": "lid", "row": 20}}, "/continue_after/section",
     "unknown-section"),
    ("pieces", CASE, {"/continue_after": {"section": "flap", "row": 20}}, "/continue_after/row",
     "row-before-section"),
    ("pieces", CASE, {"/continue_after": {"section": "body", "row": 60}}, "/continue_after/row",
     "already-longer"),
    ("pieces", CASE, {"/measurements/body_height": {"as": "around-height", "object": {
        "width": CM_10, "height": CM_10, "thickness": in_mm(15)}}},
     "/measurements/body_height/as", "measure-not-taken"),
    ("pieces", CUP, {"/right_side_only": True}, "/right_side_only", "no-wrong-side"),
    ("pieces", CUP, {"/button": {"diameter": in_mm(18)}, "/closure": {"kind": "slit"}},
     "/closure/kind", "slit-in-rounds"),
    ("pieces", CUP, {"/button": {"diameter": in_mm(18)}, "/closure": {"kind": "loop",
     "span": 60}}, "/closure/span", "loop-does-not-fit"),
    ("pieces", CUP, {"/max_change": 3}, "/max_change", "round-changes-too-much"),
    ("pieces", CUP, {"/continue_after": {"section": "wall", "row": 20, "stitches": 2}},
     "/continue_after/stitches", "too-few-stitches"),
    ("pieces", CUP, {"/continue_after": {"section": "wall", "row": 60}}, "/continue_after/row",
     "already-longer"),
    ("pieces", of("oval", length=6, width=6), {}, "/measurements/length", "oval-not-longer"),
    ("pieces", of("cap", circumference=56, depth=2), {}, "/measurements/depth", "already-longer"),
    ("pieces", tab({"name": "top", "shape": "taper", "to_stitches": 4, "rows": 6}), {},
     "/template/sections/0/rows", "shaping-does-not-fit"),
    ("pieces", tab(BODY, openings=[SLOT]), {"/stitch_multiple": {"multiple": 4}},
     "/template/foundation/stitches", "not-in-multiple"),
    ("pieces", tab(BODY), {"/row_multiple": {"multiple": 6}}, "/template/sections/0/rows",
     "not-in-multiple"),
    ("pieces", tab(BODY, openings=[{**SLOT, "stitches": 29}]), {},
     "/template/openings/0/stitches", "opening-does-not-fit"),
    *(("pieces", tab(BODY, openings=[{**SLOT, "from_left": mm(at)}]), {},
       "/template/openings/0/from_left", "opening-does-not-fit") for at in (2, 184)),
    *(("pieces", tab(BODY, openings=[{**SLOT, "height": mm(at)}]), {},
       "/template/openings/0/height", "opening-outside") for at in (1, 104)),
    ("pieces", tab(BODY, openings=[{"name": "eye", "height": mm(50), "width": mm(2)}]), {},
     "/template/openings/0/width", "measurement-too-small"),
    ("pieces", of("panel", width=24, height=30), {"/button": {"diameter": in_mm(18)},
     "/closure": {"kind": "slit", "direction": "along"},
     "/continue_after": {"section": "panel", "row": 54}}, "/continue_after/row", "inside-a-slit"),
    ("buttonholes", {"gauge": GAUGE, "button": {"diameter": in_mm(18)}},
     {"/placing": {"holes": 9, "stitches": 12, "hole_stitches": 2}}, "/placing/holes",
     "openings-do-not-fit"),
    ("buttonholes", {"gauge": GAUGE, "button": {"diameter": in_mm(18)}},
     {"/placing": {"holes": 2, "length": CM_10, "end_distance": {"value": 5, "unit": "cm"}}},
     "/placing/end_distance", "margins-meet"),
    ("gauge", {"gauge": GAUGE, "yarn": {"weight_category": 8}}, {}, "/yarn/weight_category",
     "out-of-range"),
    ("yarn", {**PANEL, **YARN}, {"/colours": {"main": "ink", "stripes": [
        {"section": "lid", "repeat": [{"colour": "ochre", "rows": 2}]}]}},
     "/colours/stripes/0/section", "unknown-section"),
    ("yarn", {**CASE, **YARN}, {"/left": {"length": CM_10}, "/find": {"rows_of": "lid"}},
     "/find/rows_of", "unknown-section"),
    ("yarn", {**CASE, **YARN}, {"/left": {"length": CM_10}, "/find": {"rows_of": "flap"}},
     "/find/rows_of", "section-is-shaped"),
    ("yarn", {**CASE, **YARN}, {"/left": {"length": CM_10}, "/find": {"measurement": "girth"}},
     "/find/measurement", "unknown-measurement"),
    ("yarn", {**CASE, **YARN}, {"/left": {"length": CM_10}}, "/left", "not-enough-yarn"),
    ("yarn", {**CASE, **YARN}, {"/left": {"length": CM_10}, "/find": {"rows_of": "body"}}, "/left",
     "not-enough-yarn"),
    ("shaping", {"from": 38, "to": 2, "rows": 13}, {}, "/rows", "shaping-does-not-fit"),
    ("shaping", {"from": 39, "to": 2, "rows": 9}, {"/max_change": 3}, "/rows",
     "shaping-does-not-fit"),
    ("shaping", {"from": 38, "to": 20}, {"/every": 5, "/right_side_only": True}, "/every",
     "every-meets-wrong-side"),
    ("conversions", WRITTEN, {"/sections/1/rows": 14}, "/sections/1/rows", "shaping-does-not-fit"),
    ("conversions", WRITTEN, {"/sections/1/rows": 12, "/row_multiple": {"multiple": 3}},
     "/sections/1/rows", "shaping-does-not-fit"),
    ("conversions", WRITTEN, {"/foundation/chain": 38}, "/foundation/chain", "chain-disagrees"),
    ("conversions", WRITTEN, {"/sections/1": {"name": "flap", "rows": 18, "stitches_at_end": 4,
     "schedule": [RUN]}}, "/sections/1/stitches_at_end", "schedule-disagrees"),
    ("conversions", WRITTEN, {"/sections/1": {"name": "flap", "rows": 17, "stitches_at_end": 2,
     "schedule": [RUN]}}, "/sections/1/rows", "schedule-disagrees"),
    ("conversions", WRITTEN, {"/sections/1": {"name": "flap", "rows": 18, "stitches_at_end": 2,
     "schedule": [{**RUN, "stitches_after": 4}]}}, "/sections/1/schedule/0/stitches_after",
     "schedule-disagrees"),
    *(("conversions", {"from": {**GAUGE, "stitch": "double-crochet"}, "to": GAUGE},
       {"/foundation": {"stitches": n, "chain": 99}}, "/foundation/chain", "chain-disagrees")
      for n in (1, 2, 5)),
    ("conversions", {**WRITTEN, "worked": "round", "sections": [{"name": "wall", "rows": 5,
     "stitches_at_end": 78}]}, {"/max_change": 2}, "/max_change", "changes-too-many"),
    ("conversions", {**WRITTEN, "worked": "round"}, {"/right_side_only": True},
     "/right_side_only", "no-wrong-side"),
    ("conversions", {**WRITTEN, "from": {**GAUGE, "stitches": 1}, "sections": []},
     {"/foundation/stitches": 9000}, "/foundation/stitches", "too-many"),
    ("gauge-checks", CHECK, {"/at/row": 60}, "/at/row", "row-past-section"),
    ("gauge-checks", {**CUP, "at": {"section": "wall", "row": 20}, "measured": {"stitches": 2}}, {},
     "/measured/stitches", "too-few-stitches"),
    ("gauge-checks", CHECK, {"/reading": in_mm(300)}, "/reading", "reading-too-coarse"),
    ("gauge-checks", CHECK, {"/companion": {"measurement": "girth", "measured_width": CM_10}},
     "/companion/measurement", "unknown-measurement"),
    ("gauge-checks", CHECK, {"/companion": {"measurement": "width", "measured_width": CM_10,
     "ease": {"value": -10, "unit": "cm"}}}, "/companion/ease", "nothing-left"),
    ("projects", KIT, {"/pieces/1/measurements/width/piece": "lid"},
     "/pieces/1/measurements/width/piece", "unknown-piece"),
    ("projects", KIT, {"/pieces/1/measurements/width/measurement": "girth"},
     "/pieces/1/measurements/width/measurement", "unknown-measurement"),
    ("projects", KIT, {"/pieces/1/measurements/width/state": "edged"},
     "/pieces/1/measurements/width/state", "piece-not-edged"),
    ("projects", KIT, {"/pieces/1/measurements/width/plus": {"value": -11, "unit": "cm"}},
     "/pieces/1/measurements/width/plus", "measurement-not-positive"),
    ("projects", KIT, {"/pieces/1/measurements/width": {"value": 16, "unit": "cm"},
     "/seams": [{"name": "foot", "edges": [{"piece": "case", "edge": "foundation"},
                                           {"piece": "band", "edge": "foundation"}],
                 "join": "stitch-for-stitch"}], "/most_off_percent": 5}, "/seams/0",
     "seam-cannot-agree"),
    ("audits", FORM, {"/seams/0/edges/0/piece": "lid"}, "/seams/0/edges/0/piece",
     "unknown-piece"),
    ("audits", FORM, {"/pieces/0/rows/0/first_row": 0}, "/pieces/0/rows/0/first_row",
     "out-of-range"),
]  # fmt: skip


def refused(client: FlaskClient, question: str, body: dict[str, Any]) -> dict[Any, Any]:
    """What is permitted, by where and why it was refused; nothing where it was answered."""
    told = client.post(f"/v1/{question}", json=body).get_json()
    return {(e["pointer"], e["code"]): e.get("permitted") for e in told.get("errors", [])}


@pytest.mark.parametrize(
    ("question", "order", "put", "pointer", "code"), ORDERS,
    ids=[f"{i} {question} {code}" for i, (question, *_, code) in enumerate(ORDERS)],
)  # fmt: skip
def test_what_is_permitted_is_no_longer_refused(
    client: FlaskClient, question: str, order: dict[str, Any], put: dict[str, Any], pointer: str,
    code: str,
) -> None:  # fmt: skip
    for at, value in put.items():
        order = putting(order, at, value)
    told = refused(client, question, order)
    assert (pointer, code) in told, told
    found = [*ways(question, pointer, told[pointer, code])]
    assert found, told
    for at, value, side in found:
        again = refused(client, question, putting(order, at, value))
        assert (pointer, code) not in again, (at, value, again)
        if side and code not in NEAR:
            past = refused(client, question, putting(order, at, beyond(value, side)))
            # No row is numbered 0, which is another reason.
            assert (pointer, code) in past or at in {p for p, _ in past}, (at, value, past)
