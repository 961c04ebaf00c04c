"""Whether an answer, in whatever form, could do anything where a caller's words stand in it.

Standard library only: deploy/fuzz.py asks as well.
"""

from __future__ import annotations

import csv
import json
import re
from io import StringIO
from xml.etree import ElementTree

# What is no text to anyone, or turns the reading direction of the text round it (UAX 9).
UNSEEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]"
)
# By CommonMark 0.31, sections 2.4, 6.3 and 6.6: raw HTML and a link, unless escaped.
RAW_HTML = re.compile(r"(?<!\\)(?:\\\\)*<[A-Za-z/!?]")
LINK = re.compile(r"(?<!\\)(?:\\\\)*\]\(")
# By OWASP's page on CSV injection: what a spreadsheet takes for a formula.
FORMULA = re.compile(r"[=+\-@\t\r]")
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
DRAWN = {
    "svg", "title", "desc", "style", "defs", "pattern", "g", "path", "line", "polyline", "polygon",
    "rect", "circle", "ellipse", "text", "tspan", "use", "symbol", "marker", "clipPath",
}  # fmt: skip


def check(media_type: str, text: str) -> None:
    """Raises AssertionError where words could be run, hide, or be taken for a formula."""
    if media_type == "application/x-ndjson":
        for line in text.removesuffix("\n").split("\n"):
            check("application/json", line)
        return
    if media_type.endswith("json"):
        json.loads(text)
        assert "<" not in text
        return
    assert not UNSEEN.search(text.replace("\r\n", "\n")), "an unseen character"
    if media_type == "image/svg+xml":
        for element in ElementTree.fromstring(text).iter():
            assert element.tag.rpartition("}")[2] in DRAWN, element.tag
            for name, value in element.attrib.items():
                assert not name.lower().startswith("on"), name
                assert "href" not in name or value.startswith("#"), value
    elif media_type == "text/csv":
        rows = list(csv.reader(StringIO(text), strict=True))
        assert {len(row) for row in rows} == {len(rows[0])}
        for cell in (cell for row in rows for cell in row):
            assert NUMBER.fullmatch(cell) or not FORMULA.match(cell), cell
    elif media_type == "text/markdown":
        assert not RAW_HTML.search(text), RAW_HTML.findall(text)
        assert not LINK.search(text), LINK.findall(text)
    else:
        # Shown as it is: what is sent as plain text is no markup to a browser told not to sniff.
        assert media_type == "text/plain", media_type
