"""Yarn, checks, conversions, audits and size tables in print: they say what the answer has."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from io import StringIO
from typing import Any

import pytest

from service.engine.ask_audit import Audit
from service.engine.ask_conversion import ConversionAnswer
from service.engine.ask_yarn import YarnAnswer
from service.engine.units import in_unit, written
from service.renders.audit_paper import audit_csv
from service.renders.conversion_paper import conversion_csv
from service.renders.markdown import markdown
from service.renders.plain_text import plain_text
from service.renders.size_table_csv import size_table_csv
from service.renders.yarn_paper import yarn_csv
from tests.answers import EXAMPLES, answered

from .pieces import HOSTILE


def cases(operation: str) -> list[Any]:
    return [pytest.param(*made, id=name) for name, made in answered(operation).items()]


def flowed(text: str) -> str:
    return " ".join(text.split())


def lines(text: str) -> list[dict[str, str]]:
    # Oracle: the standard library's reader of RFC 4180.
    return list(csv.DictReader(StringIO(text, newline=""), strict=True))


@pytest.mark.parametrize(("order", "answer"), cases("yarn"))
def test_yarn_is_told_colour_by_colour(order: Any, answer: YarnAnswer) -> None:
    text = flowed(plain_text(answer, order))
    colours = answer.yarn.colours or (answer.yarn,)
    told = lines(yarn_csv(answer, order))
    for i, one in enumerate(colours):
        assert told[i]["colour"] == getattr(one, "colour", "")
        assert told[i]["method"] == one.method
        for field, amount, unit in (
            ("length", one.length, told[i]["length_unit"]),
            ("mass", one.mass, told[i]["mass_unit"]),
        ):
            if amount is None:
                assert told[i][field] == ""
                continue
            assert float(told[i][field]) == in_unit(amount, unit)
        if one.interval:
            ends = [float(told[i][f"length_at_{end}"]) for end in ("least", "most")]
            assert ends == [in_unit(end, told[i]["length_unit"]) for end in one.interval]
            assert ends[0] < float(told[i]["length"]) < ends[1]
        buys = answer.from_left is None and one.balls is not None
        assert told[i]["balls"] == (str(one.balls) if buys else "")
        if buys:
            assert f"Balls: {one.balls} of " in text
    for caution in answer.cautions:
        assert flowed(caution.text) in text


def test_the_choice_from_what_is_left_comes_first() -> None:
    order, answer = answered("yarn")["largest-case-from-what-is-left"]
    text = plain_text(answer, order)
    assert text.startswith("From the yarn that is left: ")
    assert "- Likely: pocket, which takes 59 m, at most 62 m." in text
    assert "Balls" not in text
    told = lines(yarn_csv(answer, order))
    assert [(line["size"], line["fits"], line["sure"]) for line in told] == [
        ("pocket", "yes", "yes"), ("desk", "no", "no"),
    ]  # fmt: skip


def test_lengths_of_yarn_are_rounded_up_and_never_too_few() -> None:
    order, answer = answered("yarn")["striped-case-from-a-weighed-swatch"]
    text = plain_text(answer, order)
    for colour in answer.yarn.colours:
        told = re.search(rf"\n{colour.colour}\n-+\n\n- About (\d+) m; likely from", text)
        assert told
        assert 0 <= int(told[1]) - colour.length / 1000 < 1


@pytest.mark.parametrize(("order", "answer"), cases("gauge-checks"))
def test_a_gauge_check_gives_its_verdict_first_and_its_corrections_in_order(
    order: Any, answer: Any
) -> None:
    text = plain_text(answer, order)
    verdict = "On course: " if answer.course.on_course else "Not on course: "
    assert text.startswith(verdict)
    flow = flowed(text)
    assert ("no correction is needed" in flow) == (not answer.corrections)
    places = [flow.index(f"{i}. {flowed(c.text)}") for i, c in enumerate(answer.corrections, 1)]
    assert places == sorted(places)
    assert [c.rank for c in answer.corrections] == [*range(1, len(places) + 1)]
    for one in answer.finished_if_unchanged.values():
        low, high = (written(end, order.units) for end in one.interval)
        assert f"{low} to {high}" in text


@pytest.mark.parametrize(("order", "answer"), cases("conversions"))
def test_a_conversion_has_what_was_written_beside_what_is_converted(
    order: Any, answer: ConversionAnswer
) -> None:
    told = lines(conversion_csv(answer, order))
    found = {(line["part"], line["what"]): line for line in told}
    rows = "rounds" if answer.worked == "round" else "rows"
    for one in answer.sections:
        line = found[one.name, rows]
        assert (line["written"], line["converted"]) == (str(one.written.rows), str(one.rows))
        assert line["shaping"] == one.in_words
        end = found[one.name, "stitches at end"]
        assert end["converted"] == str(one.stitches_at_end)
        assert float(end["size_converted"]) - float(end["size_written"]) == pytest.approx(
            float(end["size_difference"]), abs=1e-5
        )
    for count in answer.counts:
        assert found[count.name, count.what]["converted"] == str(count.converted)
    text = flowed(plain_text(answer, order))
    for one in answer.sections:
        assert one.in_words in text


def test_the_case_at_a_looser_gauge_by_hand() -> None:
    # 16 to 14 stitches: 38 x 7/8 is 33.25, so 33; 19 to 17 rows: 57 x 17/19 is 51.
    order, answer = answered("conversions")["desk-case-at-a-looser-gauge"]
    text = plain_text(answer, order)
    assert re.search(r"^body +rows +57 +51 +30 cm +30 cm +0 cm$", text, re.MULTILINE)
    assert re.search(r"^foundation +stitches +38 +33 +23\.8 cm +23\.6 cm", text, re.MULTILINE)


def test_counts_that_stay_are_told_with_the_size_that_is_wanted_of_them() -> None:
    # By hand: 38 stitches of 6.25 mm are 23.75 cm; 25 cm are wanted, 1.25 cm more.
    order, answer = answered("conversions")["hook-for-a-larger-case"]
    told = [[*line.values()][:7] for line in lines(conversion_csv(answer, order))]
    assert ["wanted", "stitches", "38", "38", "23.75", "25.0", "1.25"] in told


@pytest.mark.parametrize(("order", "answer"), cases("audits"))
def test_an_audit_lists_its_findings_by_piece(order: Any, answer: Audit) -> None:
    text = plain_text(answer, order)
    told = lines(audit_csv(answer, order))
    assert len(told) == len(answer.findings)
    joined = re.sub(r"\n +", " ", text)
    for finding, line in zip(answer.findings, told, strict=True):
        assert finding.text in joined
        assert (line["size"], line["code"]) == (finding.size, finding.code)
        assert line["correction"] == finding.correction.text
    assert (text.startswith("Audit: Nothing found")) == answer.holds
    assert f"{answer.audited.rows} rows and rounds" in text


def test_the_field_of_a_finding_is_one_of_the_request() -> None:
    request: Any = json.loads((EXAMPLES / "audits" / "kit-with-slips.request.json").read_text())
    order, answer = answered("audits")["kit-with-slips"]
    for line in lines(audit_csv(answer, order)):
        here = request
        # RFC 6901: the first step of a pointer is empty.
        for step in line["field"].split("/")[1:-1]:
            here = here[int(step)] if isinstance(here, list) else here[step]


@pytest.mark.parametrize(("order", "table"), cases("size-tables"))
def test_a_size_table_has_every_pairing(order: Any, table: Any) -> None:
    text = plain_text(table, order)
    flow = flowed(text)
    for row in table.rows:
        if row.problem:
            assert all(flowed(one.detail) in flow for one in row.problem)
            continue
        start = [str(n) for n in (row.chain, row.stitches, row.rows) if n is not None]
        assert re.search(rf"^{row.size} +{' +'.join(start)}\b", text, re.MULTILINE)
        for one in row.sections:
            assert one.in_words in flow
    for name in table.gauges:
        assert f"\n{name}\n---" in text


FORMULAS = ["=1+1", "+1", "-1", "@sum"]


@pytest.mark.parametrize("name", [*FORMULAS, HOSTILE])
def test_hostile_names_are_only_names(name: str) -> None:
    order, answer = answered("audits")["kit-with-slips"]
    found = tuple(replace(f, piece=name, size=name) for f in answer.findings)
    audit = replace(answer, findings=found, sizes=(name,))
    yarn_order, yarn = answered("yarn")["striped-case-from-a-weighed-swatch"]
    colours = tuple(replace(one, colour=name) for one in yarn.yarn.colours)
    striped = replace(yarn, yarn=replace(yarn.yarn, colours=colours))
    at, converted = answered("conversions")["desk-case-at-a-looser-gauge"]
    sections = tuple(replace(s, name=name) for s in converted.sections)
    conversion = replace(converted, sections=sections)
    by_size, table = answered("size-tables")["cases-at-three-gauges"]
    rows = tuple(replace(row, size=name) for row in table.rows)
    sized = replace(table, rows=rows)
    tables = (
        audit_csv(audit, order), yarn_csv(striped, yarn_order), conversion_csv(conversion, at),
        size_table_csv(sized, "metric"),
    )  # fmt: skip
    for text in tables:
        cells = [cell for line in csv.reader(StringIO(text, newline="")) for cell in line]
        assert not [c for c in cells if c[:1] in "=+-@" and not re.fullmatch(r"-?[\d.]*", c)]
        assert "\u202e" not in text
    for made, asked in ((audit, order), (striped, yarn_order), (conversion, at), (sized, by_size)):
        for printed in (plain_text(made, asked), markdown(made, asked)):
            assert "\u202e" not in printed
        for line in markdown(made, asked).splitlines():
            assert not re.search(r"(?<!\\)[<>&`~]", line)
            bars = re.findall(r"(?<!\\)\|", line)
            assert not bars or line.startswith("|")
