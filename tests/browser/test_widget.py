"""The calculator in a page of another origin: what a reader sees, types and hears."""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
import requests
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Request, Route, expect

from tests.browser.conftest import Blog, publishing
from tests.conftest import ROOT
from tests.docs.tour import BASE, SNIPPET

Open = Callable[..., Page]

SMALL_PHONE = {"width": 320, "height": 640}
LARGEST = 15_000
QUESTION: dict[str, Any] = {
    "gauge": {
        "stitch": "single-crochet", "stitches": 16, "width": {"value": 10, "unit": "cm"},
        "rows": 19, "height": {"value": 10, "unit": "cm"},
    },
    "measurements": {
        "width": {"value": 12, "unit": "cm"}, "body_height": {"value": 33, "unit": "cm"},
        "flap_depth": {"value": 7, "unit": "cm"},
    },
    "button": {"diameter": {"value": 18, "unit": "mm"}, "thickness": {"value": 3, "unit": "mm"}},
    "edging": {},
    "yarn": {"weight_category": 4},
}  # fmt: skip

ARTICLE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>A case</title>
<meta name="viewport" content="width=device-width, initial-scale=1">{style}
<script src="{service}/widget.js" defer></script></head><body><main><h1>A case</h1><h2>Yours</h2>
<piece-sizer template="{template}" {attributes}>{inside}</piece-sizer></main></body></html>"""
DARK = "<style>body { background: #111; color: #eee }</style>"


def article(blog: Blog, service: str, template: str = "flap-panel", **given: Any) -> str:
    begin = given.get("begin")
    inside = f'<script type="application/json">{json.dumps(begin)}</script>' if begin else ""
    text = ARTICLE.format(
        service=service, template=template, inside=inside, style=given.get("style", ""),
        attributes=given.get("attributes", ""),
    )  # fmt: skip
    return blog.post(f"{abs(hash(text))}.html", text)


def answer(service: str, **changed: Any) -> Any:
    question = {**QUESTION, "template": "flap-panel", "units": "metric", "terms": "us", **changed}
    return requests.post(f"{service}/v1/pieces", json=question, timeout=10).json()


def counts(page: Page) -> list[list[str]]:
    rows = page.locator("table").first.locator("tbody tr").all()
    return [row.locator("th, td").all_inner_texts() for row in rows]


def as_counted(told: Any) -> list[list[str]]:
    return [
        [s["name"].capitalize(), str(s["rows"]), str(s["stitches_at_start"]),
         str(s["stitches_at_end"])]
        for s in told["sections"]
    ]  # fmt: skip


def worked_out(page: Page) -> None:
    expect(page.get_by_role("status")).to_contain_text("Worked out")


def test_what_the_author_gave_is_answered_at_once_and_by_get(
    blog: Blog, service: str, open_page: Open
) -> None:
    asked: list[Request] = []
    page = open_page("about:blank")
    page.on("request", lambda request: asked.append(request))
    page.goto(article(blog, service, begin=QUESTION))
    worked_out(page)
    told = answer(service)
    assert counts(page) == as_counted(told)
    steps = page.locator("ol li").all_inner_texts()
    assert steps == [re.sub(r"\s+", " ", i["text"]) for i in told["instructions"]]
    assert f"Chain {told['foundation']['chain']}" in page.locator("section").inner_text()
    assert f"Balls to buy: {told['yarn']['balls']}" in page.locator("section").inner_text()
    assert "foundation" in (page.locator(".drawing svg").text_content() or "")
    for_pieces = [request for request in asked if "/v1/pieces" in request.url]
    assert for_pieces
    assert {request.method for request in for_pieces} == {"GET"}


def test_the_keyboard_is_enough(blog: Blog, service: str, open_page: Open) -> None:
    page = open_page(article(blog, service, attributes='asks="button"'))
    expect(page.get_by_label("Body height")).to_be_visible()
    entries = {"Stitches": "16", "Rows": "19", "Width": "12", "Body height": "33,0"}
    left = dict(entries)
    for _ in range(40):
        page.keyboard.press("Tab")
        at = page.evaluate(
            "() => { const on = document.querySelector('piece-sizer').shadowRoot.activeElement;"
            " return on?.labels?.[0]?.textContent }"
        )
        if at in left:
            page.keyboard.type(left.pop(at))
        if not left:
            break
    page.keyboard.press("Enter")
    worked_out(page)
    asked = {"measurements": {k: v for k, v in QUESTION["measurements"].items() if k[0] != "f"}}
    assert counts(page) == as_counted(answer(service, **asked))


def test_measures_and_terms_are_the_readers_choice(
    blog: Blog, service: str, open_page: Open
) -> None:
    page = open_page(article(blog, service, begin=QUESTION))
    worked_out(page)
    page.get_by_label("UK").check()
    expect(page.locator("ol")).to_contain_text("Terms are UK")
    expect(page.locator("select").first.locator("option:checked")).to_have_text("Double crochet")
    page.get_by_label("inches").check()
    expect(page.locator("table").nth(1)).to_contain_text(re.compile(r"4\.72 in"))
    assert page.get_by_label("Width", exact=True).input_value() == "4.72"  # 12 cm / 2.54
    page.get_by_label("centimetres").check()
    expect(page.locator("table").nth(1)).to_contain_text("11.99 cm")  # 4.72 in, as it was shown


@pytest.mark.parametrize(
    ("label", "entry", "told"),
    [
        ("Width", "many", "Write a number"),
        ("Width", "", "needs width"),
        ("Width", "0.2", "at least"),
        ("Rows", "0", "outside"),
        ("Across", "0", "outside"),
    ],
)
def test_a_problem_stands_beside_its_field(
    blog: Blog, service: str, open_page: Open, label: str, entry: str, told: str
) -> None:
    page = open_page(article(blog, service, begin=QUESTION))
    worked_out(page)
    field = page.get_by_label(label, exact=True)
    field.fill(entry)
    field.press("Enter")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_be_focused()
    named = (field.get_attribute("aria-describedby") or "").split()
    words = [page.locator(f"#{name}").inner_text() for name in named]
    assert any(told.lower() in text.lower() for text in words), words
    expect(page.get_by_role("alert")).to_contain_text("entries")
    field.fill({"Width": "12", "Rows": "19", "Across": "18"}[label])
    field.press("Enter")
    worked_out(page)
    expect(field).not_to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("alert")).to_be_empty()


def test_a_service_that_is_away_is_told_and_asked_again(
    blog: Blog, service: str, open_page: Open
) -> None:
    page = open_page(article(blog, service, begin=QUESTION))
    worked_out(page)
    page.route("**/v1/pieces", lambda route: route.abort())
    page.get_by_label("Width", exact=True).fill("11")
    page.get_by_role("button", name="Work out").click()
    expect(page.get_by_role("alert")).to_contain_text("can’t be reached")
    assert page.get_by_label("Width", exact=True).input_value() == "11"
    page.unroute("**/v1/pieces")
    page.get_by_role("button", name="Try again").click()
    worked_out(page)
    wide = {**QUESTION["measurements"], "width": {"value": 11, "unit": "cm"}}
    assert counts(page) == as_counted(answer(service, measurements=wide))


def test_a_page_that_is_not_on_the_list_is_not_answered(service: str, open_page: Open) -> None:
    with publishing() as elsewhere:
        page = open_page(article(elsewhere, service))
        expect(page.get_by_role("alert")).to_contain_text("can’t be reached")


def test_a_drawing_brings_nothing_that_runs(blog: Blog, service: str, open_page: Open) -> None:
    page = open_page("about:blank")
    hostile = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" onload="window.ran=1">'
        "<script>window.ran=1</script><title>T</title><path d='M0 0h9' onclick='window.ran=1'/>"
        "<foreignObject><iframe xmlns='http://www.w3.org/1999/xhtml' src='about:blank'/>"
        "</foreignObject><use href='https://elsewhere.example/a.svg#a'/></svg>"
    )

    def drawn(route: Route) -> None:
        if "svg" in route.request.headers["accept"]:
            route.fulfill(
                body=hostile, content_type="image/svg+xml",
                headers={"Access-Control-Allow-Origin": blog.origin},
            )  # fmt: skip
        else:
            route.continue_()

    page.route("**/v1/pieces?*", drawn)
    page.goto(article(blog, service, begin=QUESTION))
    worked_out(page)
    drawing = page.locator(".drawing svg")
    expect(drawing.locator("path")).to_have_count(1)
    assert page.evaluate("() => window.ran") is None
    left = drawing.evaluate("(svg) => svg.outerHTML")
    assert not re.search(r"script|\son\w+=|foreignObject|iframe|elsewhere", left)


MARKUP = "<img src=x onerror=window.ran=1><script>window.ran=1</script>"


def marked_up(value: Any, only: tuple[str, ...] = ()) -> Any:
    """The value with markup at the head of every string, or of the members of these names."""
    if isinstance(value, str):
        return MARKUP + value
    if isinstance(value, list):
        return [marked_up(inner, only) if not only or isinstance(inner, dict) else inner
                for inner in value]  # fmt: skip
    if isinstance(value, dict):
        return {
            name: marked_up(inner, () if name in only else only)
            if not only or name in only or isinstance(inner, dict | list)
            else inner
            for name, inner in value.items()
        }
    return value


@pytest.mark.parametrize("refused", [False, True])
def test_words_of_an_answer_are_words_in_the_page(
    blog: Blog, service: str, open_page: Open, refused: bool
) -> None:
    page = open_page("about:blank")

    def told(route: Route) -> None:
        if "svg" in route.request.headers["accept"]:
            route.continue_()
            return
        of_template = "/v1/templates/" in route.request.url
        answer = route.fetch()
        body = marked_up(answer.json(), ("title", "meaning", "description") if of_template else ())
        if refused and not of_template:
            error = {"pointer": "/measurements/width", "detail": MARKUP}
            body = {"detail": MARKUP, "errors": [error, {"pointer": "", "detail": MARKUP}]}
        status = 422 if refused and not of_template else 200
        route.fulfill(
            status=status, json=body, headers={"Access-Control-Allow-Origin": blog.origin}
        )

    page.route(re.compile("/v1/(pieces|templates/)"), told)
    page.goto(article(blog, service, begin=QUESTION))
    if refused:
        expect(page.get_by_role("alert")).to_contain_text(MARKUP)
    else:
        worked_out(page)
        expect(page.locator("ol li").first).to_contain_text(MARKUP)
        expect(page.locator("tbody th").first).to_contain_text(MARKUP)
    assert page.evaluate("() => window.ran") is None
    assert page.locator("piece-sizer img, piece-sizer script:not([type])").count() == 0


@pytest.mark.parametrize(
    ("phone", "dark"), [(True, False), (False, True)], ids=["phone-light", "desk-dark"]
)
def test_nothing_stands_in_anybodys_way(
    blog: Blog, service: str, open_page: Open, phone: bool, dark: bool
) -> None:
    """The success criteria of WCAG 2.2 to level AA that axe-core 4.12 can judge."""
    options = {"viewport": SMALL_PHONE} if phone else {}
    page = open_page("about:blank", **options)
    page.goto(article(blog, service, begin=QUESTION, style=DARK if dark else ""))
    worked_out(page)
    page.get_by_label("Width", exact=True).fill("x")
    for step in ("answered", "refused"):
        if step == "refused":
            page.get_by_role("button", name="Work out").click()
            expect(page.get_by_role("alert")).not_to_be_empty()
        found = Axe().run(
            page,
            options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]},
        )
        assert found.violations_count == 0, found.generate_report()
    if phone:
        assert page.evaluate("() => document.documentElement.scrollWidth") <= SMALL_PHONE["width"]


def test_it_remembers_nothing(blog: Blog, service: str, open_page: Open) -> None:
    page = open_page(article(blog, service, begin=QUESTION))
    worked_out(page)
    assert page.context.cookies() == []
    kept = "() => [localStorage.length, sessionStorage.length, document.cookie]"
    assert page.evaluate(kept) == [0, 0, ""]


def test_the_demonstration_page_shows_two(service: str, open_page: Open) -> None:
    page = open_page(f"{service}/widget")
    expect(page.get_by_role("status").first).to_contain_text("Worked out")
    expect(page.get_by_label("Rounds")).to_be_visible()
    assert Axe().run(page).violations_count == 0


def test_it_is_small() -> None:
    script = (ROOT / "service" / "pages" / "widget.js").read_bytes()
    assert len(gzip.compress(script, mtime=0)) < LARGEST
    assert not re.search(rb"\bimport\b[^.]*from|eval\(|innerHTML|document\.cookie|Storage", script)


def test_the_lines_of_the_readme_do_it(blog: Blog, service: str, open_page: Open) -> None:
    (lines,) = SNIPPET.findall((ROOT / "README.md").read_text(encoding="utf-8"))
    page = open_page(blog.post("as-told.html", lines.replace(BASE, service)))
    expect(page.get_by_label("Body height")).to_be_visible()
