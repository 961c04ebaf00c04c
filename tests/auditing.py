"""Answers of the service as forms to audit: by their schedules, and by the text of their rows."""

from __future__ import annotations

import json
import re
from itertools import groupby
from typing import Any

from service.api.audit_requests import AuditRequest
from service.api.decoding import decode
from service.engine.ask_audit import Audit, audit

Json = dict[str, Any]
REQUEST = AuditRequest()

SHORT = {
    "slip-stitch": "sl st",
    "single-crochet": "sc",
    "half-double-crochet": "hdc",
    "double-crochet": "dc",
    "treble-crochet": "tr",
}


def audited(form: Json) -> Audit:
    """The audit of a request, loaded as the service loads it."""
    return audit(REQUEST.load(decode(json.dumps(form).encode())))


def form(gauge: Json, piece: Json, rows: list[Json] | None = None) -> Json:
    """The form of a piece of the service's: its answer's own members, put where a form has them."""
    flat = piece["worked"] == "flat"
    made: Json = {"name": "case", "worked": piece["worked"]}
    if flat:
        made["foundation"] = {
            k: piece["foundation"][k]
            for k in ("chain", "first_stitch_in_chain", "turning_chain_counts", "stitches")
        }
    elif piece["start"]["kind"] != "ring":
        made["foundation"] = {"stitches": piece["start"]["stitches"]}
    made["rows"] = rows or [
        {
            "first_row": section["first_row"],
            "last_row": section["first_row"] + section["rows"] - 1,
            "section": section["name"],
            "schedule": section["schedule"],
            "stitches": section["stitches_at_end"],
        }
        for section in piece["sections"]
    ]
    width, height = ("width", "height") if flat else ("circumference_at_end", "along_fabric")
    made["measurements"] = []
    if flat:
        made["measurements"] = [
            {"name": "width", "measures": "width", "stated": piece["finished"]["width"]},
            {"name": "height", "measures": "height", "stated": piece["finished"]["height"]},
        ]
    for section in piece["sections"] if rows is None else ():
        size, of = section["finished"], {"section": section["name"]}
        ends = size["width_at_end"] if flat else size[width]
        made["measurements"] += [
            {"name": "across", "measures": "width", "stated": ends, **of},
            {"name": "up", "measures": "height", "stated": size[height], **of},
        ]
    # A tape reads no less than a tenth of a millimetre.
    made["measurements"] = [m for m in made["measurements"] if m["stated"]["value"] >= 0.01]
    return {"sizes": ["pocket"], "gauge": gauge, "pieces": [made]}


# --- the text of rows as work -------------------------------------------------------------------


def flat_work(text: str, st: str, _: bool) -> list[Json]:
    """The clauses of a row worked flat, each as work."""
    text = re.sub(r" \((?!\d+ skipped|counts|does)[a-z ]+\)$", "", text)
    st, chained = re.escape(st), 0
    ops: list[Json] = []
    for whole in text.split(", "):
        if "counts as first" in whole or "count as first" in whole:
            ops.append({"turning_chain": "counts"})
        clause = re.sub(r" \(.*?\)", "", whole)
        n = r"(?:(\d+) )?"
        if re.fullmatch(r"turn|skip first st", clause):
            continue
        if m := re.fullmatch(r"ch (\d+)", clause):
            chained = int(m[1])
        elif m := re.fullmatch(rf"{st} ?(\d+) ?tog(?: over .* from hook)?", clause):
            ops.append({"together": int(m[1])})
        elif m := re.fullmatch(r"skip next (\d+) sts?", clause):
            ops += [{"chain": chained, "counts_as": int(m[1])}, {"skip": int(m[1])}]
        elif m := re.fullmatch(rf"(\d+) {st} in the ch-\d+ space", clause):
            ops.append({"into_space": int(m[1])})
        elif m := re.fullmatch(rf"{st} in next {n}sts?", clause):
            ops.append({"plain": int(m[1] or 1)})
        elif m := re.fullmatch(rf"{st} in each (?:st|ch) to (end|last {n}(?:st|ch)s?)", clause):
            to_end = m[1] == "end"
            ops.append({"plain": "to-end" if to_end else {"to_last": int(m[2] or 1)}})
        elif (m := re.fullmatch(rf"{n}{st} in first st", clause)) and ops:
            ops.append({"same_stitch": int(m[1] or 1)})
        elif m := re.fullmatch(
            rf"{n}{st} in (?:first st|the st|last st|last ch|\d+\w\w ch from hook)", clause
        ):
            into = int(m[1] or 1)
            ops.append({"increase": into} if into > 1 else {"plain": 1})
        else:
            raise AssertionError(f"cannot read {clause!r}")
    return ops


def round_work(text: str, st: str, first: bool) -> list[Json]:
    """The clauses of a round, each as work."""
    name = re.escape(st)
    ops: list[Json] = []
    for clause in re.split(r"[;,] (?![^(]*\))", text):
        if re.fullmatch(r"ch \d+ \(counts as first \w+\)", clause):
            ops.append({"turning_chain": "counts"})
            continue
        if re.fullmatch(r"sl st to .*|ch \d+.*|skip the (st|ch) at its base", clause):
            continue
        if m := re.fullmatch(r"\((.*)\) (\d+) times", clause):
            group = [_round_op(part, name) for part in m[1].split(", ")]
            ops.append({"repeat": group, "times": int(m[2])})
        else:
            ops.append(_round_op(clause, name))
    if first and ops[0] == {"turning_chain": "counts"} and "into_ring" in ops[-1]:
        return [{"into_ring": ops[-1]["into_ring"] + 1}]
    return ops


def _round_op(part: str, name: str) -> Json:
    if re.fullmatch(rf"{name} in each (?:st|ch) around", part):
        return {"plain": "to-end"}
    if m := re.fullmatch(rf"(?:(\d+) )?{name} in the (?:st|ch) at its base", part):
        return {"same_stitch": int(m[1] or 1)}
    if m := re.fullmatch(rf"{name} in next (?:(\d+) )?(?:st|ch)s?", part):
        return {"plain": int(m[1] or 1)}
    if m := re.fullmatch(rf"(\d+) {name} in next (?:st|ch)", part):
        return {"increase": int(m[1])}
    if m := re.fullmatch(rf"{name} ?(\d+) ?tog", part):
        return {"together": int(m[1])}
    if m := re.fullmatch(rf"(\d+) {name} in the ring", part):
        return {"into_ring": int(m[1])}
    raise AssertionError(f"cannot read {part!r}")


def written(piece: Json) -> list[Json]:
    """The rows of a piece as its instructions tell them, one line for rows that are told alike."""
    st, read = SHORT[piece["stitch"]], flat_work if piece["worked"] == "flat" else round_work
    works: dict[int, list[Json]] = {}
    counts: dict[int, int] = {}
    for step in piece["instructions"]:
        m = re.match(
            r"(?:[^:]+: )?(?:Row|Round)s? (\d+)(?: \(\w+\))?(?:–(\d+))?: (.*)\. \(([^()]*)\)$",
            step["text"],
        )
        if not m:
            continue
        first, last, text = int(m[1]), int(m[2] or m[1]), m[3][0].lower() + m[3][1:]
        back = re.fullmatch(r"repeat the last (\d+) rows (?:once|\d+ times|\d+ more times).*", text)
        same = re.fullmatch(r"work as Row (\d+)", text)
        for row in range(first, last + 1):
            if same:
                works[row] = works[int(same[1])]
            else:
                works[row] = works[row - int(back[1])] if back else read(text, st, row == 1)
        counts[last] = step["stitches"]
    lines, row = [], 0
    told = [(json.dumps(work), counts.get(n)) for n, work in sorted(works.items())]
    for (work, count), group in groupby(told):
        row += len([*group])
        lines.append({"last_row": row, "work": json.loads(work)})
        if count is not None:
            lines[-1]["stitches"] = count
    return lines
