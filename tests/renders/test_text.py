"""Text, Markdown, tables and a page's data: what they say is what the answer has."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from io import StringIO
from typing import Any

import pytest
from hypothesis import given, settings

from service.engine.ask_shaping import ShapingOrder, shaping
from service.engine.errors import Refused
from service.engine.instructions import Instruction
from service.engine.projects import Project
from service.engine.units import written
from service.renders import rows_csv
from service.renders.howto import piece_howto, project_howto
from service.renders.markdown import escaped, markdown
from service.renders.outline_svg import outline_svg
from service.renders.papers import PAPERS
from service.renders.plain_text import WIDTH, plain_text
from service.renders.rows import row_texts, rows_of
from service.renders.rows_csv import piece_csv, project_csv, shaping_csv
from service.renders.safe import clean
from tests.answers import answered

from .pieces import HOSTILE, PIECES, Made, pieces

OPERATIONS = (
    "pieces", "projects", "shaping", "edgings", "buttonholes", "gauge", "yarn", "gauge-checks",
    "conversions", "audits", "size-tables",
)  # fmt: skip
EVERY = {
    f"{operation} {name}": made
    for operation in OPERATIONS
    for name, made in answered(operation).items()
}


def joined(text: str) -> str:
    """The text with its lines put together again."""
    return " ".join(text.split())


@pytest.mark.parametrize("name", PIECES)
def test_the_printed_text_has_every_step_and_every_size(name: str) -> None:
    order, piece = PIECES[name]
    text = plain_text(piece, order)
    assert text.startswith(order.template.title)
    for step in piece.instructions:
        assert f"{step.step}. {joined(step.text)}" in joined(text)
    for measure in piece.measurements.values():
        assert written(measure.finished, order.units) in text
    for section in piece.sections:
        assert f"{section.stitches_at_start} to {section.stitches_at_end}" in text
    for caution in piece.cautions:
        assert joined(caution.text) in joined(text)
    if piece.yarn and piece.yarn.balls:
        assert f"{piece.yarn.balls} ball" in text


@pytest.mark.parametrize("name", PIECES)
def test_the_counts_in_the_printed_text_are_those_of_the_answer(name: str) -> None:
    # Read back: each row, or stretch of rows, ends with the count of its last row in brackets.
    order, piece = PIECES[name]
    counts = {row.number: row.stitches for row in rows_of(piece)}
    text = joined(plain_text(piece, order))
    told = re.findall(
        r"(?:Row|Round)s? (\d+)(?:–(\d+))?(?: \([RW]S\))?: .*? \((?:[\d, …]+, )?(\d+) sts?\b", text
    )
    assert told
    for first, last, count in told:
        assert counts[int(last or first)] == int(count), (first, last)


@pytest.mark.parametrize("name", EVERY)
def test_every_answer_is_printed_in_lines_that_fit_and_the_same_every_time(name: str) -> None:
    order, answer = EVERY[name]
    text = plain_text(answer, order)
    table = re.compile(r"\S  ")
    assert all(len(line) <= WIDTH or table.search(line) for line in text.splitlines())
    assert text.endswith("\n")
    assert (text, markdown(answer, order)) == (plain_text(answer, order), markdown(answer, order))


def test_a_striped_piece_is_printed_in_its_colours() -> None:
    # By hand: 63 rows of 4 and 2 end on row 63, the third of ink; edging in ochre, loop in rust.
    order, piece = PIECES["example striped-case"]
    text = joined(plain_text(piece, order))
    assert "Yarn in ink, ochre, rust: as the swatch was made with" in text
    assert "(4 rows in ink, 2 rows in ochre) 10 times, 3 rows in ink." in text
    told = list(csv.DictReader(StringIO(piece_csv(piece), newline="")))
    assert [told[row - 1]["colour"] for row in (4, 5, 6, 7, 63, 64)] == [
        "ink", "ochre", "ochre", "ink", "ink", "ochre",
    ]  # fmt: skip
    howto = json.loads(piece_howto(piece, order))
    (body,) = [part for part in howto["step"] if part["name"] == "Body"]
    assert body["itemListElement"][0]["text"].startswith("Body: Stripes from Row 1 to Row 63: ")
    drawing = outline_svg(piece, order)
    assert "Colours: body in stripes: 4 in ink, 2 in ochre, over and over" in drawing


def test_what_is_left_of_a_piece_is_printed_as_such() -> None:
    order, piece = PIECES["example case-gone-on-with-from-row-30"]
    assert "47 rows, 1228 stitches still to work, of 77 rows." in plain_text(piece, order)


def test_every_kind_of_answer_is_among_those_that_are_printed() -> None:
    assert {type(answer) for _, answer in EVERY.values()} == set(PAPERS)


def test_a_project_is_one_text_for_all_sizes() -> None:
    order, project = answered("projects")["field-sketching-kit"]
    text = joined(plain_text(project, order))
    assert "Sizes: pocket (desk)." in text
    for made in project.pieces:
        for step in made.instructions:
            assert joined(step.text) in text
    for step in project.assembly:
        assert f"{step.step}. {joined(step.text)}" in text
    for needed in project.yarn:
        for yarn in (*needed.sizes.values(), needed.in_all):
            assert f"{yarn.balls} balls" in text


def test_lengths_are_told_in_the_callers_units() -> None:
    for name, unit, other in (("sleeve, small", " cm", " in "), ("sleeve, large", " in", " cm")):
        order, piece = PIECES[name]
        text = plain_text(piece, order)
        assert unit in text
        assert other not in text.split("Checkpoints")[1].split("Cautions")[0]


# By CommonMark 0.31: what would be markup, and the same with a backslash before it.
ESCAPED = [
    ("# Cup", "\\# Cup"),
    ("1. of 2", "1\\. of 2"),
    ("11.9 cm", "11.9 cm"),
    ("- 2", "\\- 2"),
    ("a*b_c`d", "a\\*b\\_c\\`d"),
    ("[x](y)", "\\[x\\](y)"),
    ("<b>&amp;", "\\<b\\>\\&amp;"),
    ("a | b \\ c ~ d", "a \\| b \\\\ c \\~ d"),
    ("http://a.example", "http\\://a.example"),
    ("www.a.example", "www\\.a.example"),
    ("===", "\\==="),
    ("two\nlines", "two lines"),
]


@pytest.mark.parametrize(("words", "told"), ESCAPED)
def test_markdown_takes_no_markup_from_words(words: str, told: str) -> None:
    assert escaped(words) == told


@pytest.mark.parametrize("name", EVERY)
def test_markdown_has_headings_lists_and_tables_and_no_html(name: str) -> None:
    order, answer = EVERY[name]
    for line in markdown(answer, order).splitlines():
        assert not re.search(r"(?<!\\)[<>&`~]", line)
        if line.startswith("|"):
            assert line.endswith("|")
    blocks = markdown(answer, order).split("\n\n")
    for block in blocks:
        if block.startswith("|"):
            columns = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
            assert len(columns) == 1


def test_a_hostile_title_is_only_a_title() -> None:
    order, piece = PIECES["example case-pocket"]
    hostile = replace(order, template=replace(order.template, title=HOSTILE))
    assert "\u202e" not in plain_text(piece, hostile)
    first = markdown(piece, hostile).splitlines()[0]
    assert first == "# Cup\\</script\\>\\<b\\>\\*\\_\\`\"'\\&\\|\\[x\\](y) =1+1"


@settings(max_examples=40)
@given(pieces())
def test_a_table_has_a_line_for_every_row(made: Made | None) -> None:
    # Oracle: the standard library's reader of RFC 4180.
    if made is None:
        return
    _, piece = made
    text = piece_csv(piece)
    assert text.count("\r\n") == piece.totals.rows + 1
    header, *lines = csv.reader(StringIO(text, newline=""), strict=True)
    assert tuple(header) == rows_csv.COLUMNS
    counts = [n for section in piece.sections for n in section.row_counts or ()]
    assert [int(line[3]) for line in lines] == counts
    assert [int(line[0]) for line in lines] == list(range(1, len(counts) + 1))
    before = piece.sections[0].stitches_at_start
    for line in lines:
        assert int(line[3]) - before == int(line[6])
        before = int(line[3])
        if piece.worked == "flat":
            assert line[2] == ("right" if int(line[0]) % 2 else "wrong")
            assert int(line[4]) + int(line[5]) == int(line[6])
        else:
            assert line[2] == "right"
            assert line[4:6] == ["", ""]


def test_the_text_of_rows_stands_beside_the_first_of_them() -> None:
    _, piece = PIECES["example case-pocket"]
    lines = list(csv.DictReader(StringIO(piece_csv(piece), newline="")))
    assert lines[1]["text"] == "Rows 2–63: Ch 1, turn, sc in each st to end. (19 sts)"
    assert lines[2]["text"] == ""
    assert lines[63]["text"].startswith("Row 64 (WS): ")
    assert lines[63]["change_left"] == "-1"


@pytest.mark.parametrize("name", PIECES)
def test_the_steps_that_work_rows_cover_every_row_once(name: str) -> None:
    _, piece = PIECES[name]
    covered = [row for t in row_texts(piece).values() for row in range(t.first, t.last + 1)]
    assert covered == [row.number for row in rows_of(piece)]


@pytest.mark.parametrize("words", ["=1+1", "+1", "-1", "@sum", " =1", "\t=1"])
def test_words_that_a_spreadsheet_would_reckon_are_made_words(words: str) -> None:
    # OWASP, CSV injection: a cell that begins with = + - @ is taken for a formula.
    _, piece = PIECES["example wrap-band-with-slit"]
    step = Instruction(1, "Row 1 (RS): x", 9)
    (section,) = piece.sections
    named = replace(piece, sections=(replace(section, name=words),), instructions=(step,))
    lines = list(csv.DictReader(StringIO(piece_csv(named), newline="")))
    assert {line["section"] for line in lines} == {f"'{words.strip()}"}


def test_a_project_is_one_table_and_a_long_one_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _, project = answered("projects")["field-sketching-kit"]
    assert isinstance(project, Project)
    lines = list(csv.DictReader(StringIO(project_csv(project), newline="")))
    assert len(lines) == sum(s.totals.rows for p in project.pieces for s in p.sizes.values())
    assert {line["size"] for line in lines} == {"pocket", "desk"}
    monkeypatch.setattr(rows_csv, "MOST_LINES", len(lines) - 1)
    with pytest.raises(Refused, match="at most"):
        project_csv(project)


def test_a_shaping_is_a_table_of_its_rows() -> None:
    order = ShapingOrder(38, 20, rows=41, first_row="wrong-side")
    answer = shaping(order)
    lines = list(csv.DictReader(StringIO(shaping_csv(answer, order), newline="")))
    detailed = shaping(replace(order, detail="rows")).row_counts
    assert tuple(int(line["stitches"]) for line in lines) == detailed
    assert [line["side"] for line in lines[:2]] == ["wrong", "right"]


# Properties of each type, as schema.org lists them (from memory; Thing's name and description are
# every type's).
VOCABULARY = {
    "HowTo": {"name", "description", "inLanguage", "supply", "tool", "step"},
    "HowToSupply": {"name"},
    "HowToTool": {"name"},
    "HowToSection": {"name", "itemListElement"},
    "HowToStep": {"position", "text"},
}


def check_vocabulary(node: Any) -> None:
    if isinstance(node, list):
        for each in node:
            check_vocabulary(each)
    elif isinstance(node, dict):
        members = dict(node)
        kind = members.pop("@type")
        members.pop("@context", None)
        assert set(members) == VOCABULARY[kind]
        for member in members.values():
            check_vocabulary(member)


@pytest.mark.parametrize("name", PIECES)
def test_a_howto_has_the_steps_in_order_and_only_known_members(name: str) -> None:
    order, piece = PIECES[name]
    told = json.loads(piece_howto(piece, order))
    assert told["@context"] == "https://schema.org"
    check_vocabulary(told)
    steps = [step["text"] for part in told["step"] for step in part["itemListElement"]]
    assert steps == [clean(step.text) for step in piece.instructions]
    names = [part["name"] for part in told["step"]]
    assert names[0] == "Before you start"
    assert len(names) >= len(piece.sections) + 1


def test_a_project_howto_has_a_section_a_piece() -> None:
    order, project = answered("projects")["field-sketching-kit"]
    told = json.loads(project_howto(project, order))
    check_vocabulary(told)
    names = [part["name"] for part in told["step"]]
    assert names == ["Case", "Pencil pocket", "Wrap band", "Brush cup", "Strap", "Assembly"]


class Scripts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.data: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.data.append(data)


def test_a_howto_stands_in_a_page_as_it_is() -> None:
    # Oracle: the standard library's HTML parser.
    order, piece = PIECES["example case-pocket"]
    hostile = replace(order, template=replace(order.template, title=f"<!--{HOSTILE}"))
    text = piece_howto(piece, hostile)
    page = Scripts()
    page.feed(f'<script type="application/ld+json">{text}</script><p>after</p>')
    assert page.tags == ["script", "p"]
    assert "".join(page.data[:-1]) == text
    assert json.loads(text)["name"] == clean(f"<!--{HOSTILE}")
