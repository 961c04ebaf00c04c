"""Tables of sizes: every pairing is the piece that /v1/pieces makes, as JSON and as CSV."""

from __future__ import annotations

import csv
import json
from io import StringIO
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.engine.ask_size_table import (
    MOST_PAIRINGS,
    SizeTable,
    SizeTableOrder,
    TableRow,
    TableSection,
    size_tables,
)
from service.engine.errors import Refused
from service.engine.gauge import square
from service.renders.size_table_csv import size_table_csv
from tests.api.test_errors import CM_10, GAUGE
from tests.conftest import ROOT
from tests.pieces import order

EXAMPLES = ROOT / "openapi" / "examples" / "size-tables"
CASES = json.loads((EXAMPLES / "cases-at-three-gauges.request.json").read_text())
CUPS = json.loads((EXAMPLES / "brush-cups-in-inches.request.json").read_text())


def as_csv(client: FlaskClient, body: Any) -> list[list[str]]:
    response = client.post("/v1/size-tables", json=body, headers={"Accept": "text/csv"})
    assert response.status_code == 200
    assert response.content_type == "text/csv; charset=utf-8"
    text = response.get_data().decode("utf-8")
    # RFC 4180: every line, the last too, ends with CR LF.
    assert text.endswith("\r\n")
    return list(csv.reader(StringIO(text, newline=""), strict=True))


# Eight increases a round are another cup than the gauge's own six.
RUFFLED = {**CUPS, "in_the_round": {"increases": 8}}


@pytest.mark.parametrize("table", [CASES, CUPS, RUFFLED], ids=["cases", "cups", "ruffled"])
def test_every_pairing_is_the_piece_asked_for_alone(client: FlaskClient, table: Any) -> None:
    rows = client.post("/v1/size-tables", json=table).get_json()["rows"]
    shared = {k: v for k, v in table.items() if k not in ("gauges", "sizes")}
    pairs = [(g, s) for g in table["gauges"] for s in table["sizes"]]
    assert [(r["gauge"], r["size"]) for r in rows] == [(g["name"], s["name"]) for g, s in pairs]
    for row, (gauge, size) in zip(rows, pairs, strict=True):
        body = {**shared, "gauge": gauge["gauge"], "measurements": size["measurements"],
                "units": "metric" if table is CASES else "imperial"}  # fmt: skip
        alone = client.post("/v1/pieces", json=body).get_json()
        if "errors" in alone:
            told = [(e["code"], e["detail"]) for e in alone["errors"]]
            assert [(e["code"], e["detail"]) for e in row["problem"]] == told
            continue
        begun = alone.get("foundation") or alone["start"]
        assert (row.get("chain"), row["stitches"]) == (begun.get("chain"), begun["stitches"])
        assert row["rows"] == alone["totals"]["rows"]
        assert row["measurements"] == alone["measurements"]
        for ours, theirs in zip(row["sections"], alone["sections"], strict=True):
            assert ours.items() <= theirs.items()
        if "yarn" in alone:
            assert row["yarn_length"] == alone["yarn"]["length"]
            assert row["yarn_interval"] == alone["yarn"]["interval"]
            assert row["balls"] == alone["yarn"]["balls"]


@pytest.mark.parametrize("table", [CASES, CUPS], ids=["cases", "cups"])
def test_csv_read_back_is_the_json(client: FlaskClient, table: Any) -> None:
    # Oracle: Python's csv module, strict.
    header, *lines = as_csv(client, table)
    rows = client.post("/v1/size-tables", json=table).get_json()["rows"]
    assert len(lines) == len(rows)
    assert len(set(header)) == len(header)
    for line, row in zip(lines, rows, strict=True):
        assert len(line) == len(header)
        cells = {name: cell for name, cell in zip(header, line, strict=True) if cell}
        expected: dict[str, Any] = {
            name.replace("_", " "): row[name]
            for name in ("gauge", "size", "stitch", "chain", "stitches", "rows", "edging_stitches",
                         "balls")
            if name in row
        }  # fmt: skip
        for s in row["sections"]:
            expected[f"{s['name']} rows"] = s["rows"]
            expected[f"{s['name']} stitches at start"] = s["stitches_at_start"]
            expected[f"{s['name']} stitches at end"] = s["stitches_at_end"]
            expected[f"{s['name']} shaping"] = s["in_words"]
        lengths = {
            f"{name} {kind}": quantity
            for name, measure in row.get("measurements", {}).items()
            for kind, quantity in measure.items()
        }
        lengths |= {f"finished {kind}": q for kind, q in row.get("finished", {}).items()}
        if "yarn_length" in row:
            lengths["yarn length"] = row["yarn_length"]
            lengths["yarn at least"], lengths["yarn at most"] = row["yarn_interval"]
        expected |= {f"{name} ({q['unit']})": q["value"] for name, q in lengths.items()}
        if "problem" in row:
            expected["problem"] = "; ".join(e["detail"] for e in row["problem"])
        assert cells == {name: str(value) for name, value in expected.items()}


@pytest.mark.parametrize(
    ("accept", "status", "kind"),
    [
        # RFC 9110, 12.5.1: the best quality wins; none but what is refused is 406.
        ("application/json", 200, "application/json"),
        ("text/csv", 200, "text/csv"),
        ("*/*", 200, "application/json"),
        ("text/*", 200, "text/csv"),
        ("text/csv;q=0.5, application/json", 200, "application/json"),
        ("text/csv, application/json;q=0.9", 200, "text/csv"),
        ("application/json;q=0, */*", 200, "text/csv"),
        ("text/html", 406, "application/problem+json"),
        ("text/csv;q=0, application/json;q=0", 406, "application/problem+json"),
    ],
)
def test_the_form_is_the_one_asked_for(
    client: FlaskClient, accept: str, status: int, kind: str
) -> None:
    response = client.post("/v1/size-tables", json=CUPS, headers={"Accept": accept})
    assert (response.status_code, response.mimetype) == (status, kind)
    if status == 406:
        assert response.get_json()["errors"][0]["permitted"] == [
            "application/json", "text/csv", "text/plain", "text/markdown",
        ]  # fmt: skip


def test_refusals_are_problem_documents_whatever_is_accepted(client: FlaskClient) -> None:
    body = {**CUPS, "sizes": []}
    response = client.post("/v1/size-tables", json=body, headers={"Accept": "text/csv"})
    assert (response.status_code, response.mimetype) == (422, "application/problem+json")


def test_a_pairing_that_cannot_be_made_does_not_end_the_table(client: FlaskClient) -> None:
    made = client.post("/v1/size-tables", json=CASES).get_json()
    assert (made["made"], made["refused"]) == (5, 1)
    (bad,) = [row for row in made["rows"] if "problem" in row]
    assert (bad["gauge"], bad["size"]) == ("medium in half double", "pocket")
    assert bad["problem"][0]["pointer"] == "/sizes/0/measurements/flap_depth"
    assert "needs at least 8 rows" in bad["problem"][0]["detail"]


def panel(**changes: Any) -> dict[str, Any]:
    body: dict[str, Any] = {
        "template": "panel",
        "gauges": [{"name": "fine", "gauge": GAUGE}],
        "sizes": [{"name": "pocket", "measurements": {"width": CM_10, "height": CM_10}}],
    }
    return {**body, **changes}


@pytest.mark.parametrize(
    ("body", "at", "code"),
    [
        (panel(gauges=panel()["gauges"] * 2), "/gauges/1/name", "name-twice"),
        (panel(sizes=panel()["sizes"] * 2), "/sizes/1/name", "name-twice"),
        (panel(gauges=panel()["gauges"] * 41), "/gauges", "out-of-range"),
        (panel(closure={"kind": "loop"}), "/closure", "closure-without-button"),
        (panel(gauge=GAUGE), "/gauge", "unknown-field"),
        (panel(gauges=[{"name": "=1+1", "gauge": GAUGE}]), "/gauges/0/name", "wrong-pattern"),
        (panel(gauges=[{"name": "fine", "gauge": {**GAUGE, "stitches": 0}}]),
         "/gauges/0/gauge/stitches", "out-of-range"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_table_is_refused(
    client: FlaskClient, body: Any, at: str, code: str
) -> None:
    response = client.post("/v1/size-tables", json=body)
    assert response.status_code == 422
    assert (at, code) in [(e["pointer"], e["code"]) for e in response.get_json()["errors"]]


def test_the_work_is_bounded() -> None:
    one = order("panel", square(16, 19), width=100, height=100)
    names = tuple(f"size {i}" for i in range(40))
    with pytest.raises(Refused) as refused:
        size_tables(SizeTableOrder(names[:11], names, (one,) * 440))
    (refusal,) = refused.value.refusals
    assert refusal.code == "too-many-pairings"
    assert refusal.permitted == {"pairings": MOST_PAIRINGS, "sizes": 36}  # 400 // 11
    # 19 rows a pairing; 400 of them are 7,600 rows. Of 1,900 rows, the eleventh passes 20,000.
    assert size_tables(SizeTableOrder(names[:10], names, (one,) * 400)).made == 400
    long = order("panel", square(16, 19), width=100, height=10_000)
    assert size_tables(SizeTableOrder(names[:1], names[:10], (long,) * 10)).made == 10
    with pytest.raises(Refused) as refused:
        size_tables(SizeTableOrder(names[:1], names[:11], (long,) * 11))
    assert [r.code for r in refused.value.refusals] == ["table-too-long"]


def test_no_cell_is_taken_for_a_formula() -> None:
    # Names that requests refuse by their pattern, straight into the renderer.
    row = TableRow("=1+1", "@sum", "single-crochet", None, None, None,
                   (TableSection("-x", 1, 2, 2, "+y, \"quoted\"\r\nand on", ()),),
                   None, None, None, None, None, None, None)  # fmt: skip
    table = SizeTable("t", ("=1+1",), ("@sum",), 1, 0, (row,), ())
    lines = list(csv.reader(StringIO(size_table_csv(table, "metric"), newline=""), strict=True))
    for cell in (cell for line in lines for cell in line):
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert lines[1][:2] == ["'=1+1", "'@sum"]
    assert '\'+y, "quoted" and on' in lines[1]  # a name is one line in every form
