"""The page that tells of the contract, in a real browser with no other host to ask."""

from __future__ import annotations

from collections.abc import Callable

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from service.api.operations import OPERATIONS


def test_every_operation_is_shown_and_nothing_else_is_asked(
    service: str, open_page: Callable[..., Page]
) -> None:
    page = open_page("about:blank")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{service}/docs")
    for operation in OPERATIONS:
        shown = page.locator(".opblock-post .opblock-summary-path", has_text=operation.path)
        expect(shown.first).to_be_visible()
    expect(page.locator(".errors-wrapper")).to_have_count(0)
    assert [url for url in asked if not url.startswith((service, "data:", "blob:"))] == []


def test_an_example_is_tried_and_answered(service: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{service}/docs")
    asked = page.locator("#operations-Ask_one_thing-shaping")
    asked.locator(".opblock-summary-control").click()
    asked.get_by_role("button", name="Try it out").click()
    asked.get_by_role("button", name="Execute").click()
    expect(asked.locator(".live-responses-table .response-col_status").last).to_contain_text("200")


def test_the_page_can_be_read_by_all(service: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{service}/docs")
    expect(page.locator(".opblock").first).to_be_visible()
    found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]})
    assert found.violations_count == 0, found.generate_report()


def test_a_key_is_given_once_and_sent_with_what_is_tried(
    service: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{service}/docs")
    sent: list[str | None] = []
    page.on(
        "request",
        lambda r: "/v1/shaping" in r.url and sent.append(r.all_headers().get("authorization")),
    )
    page.get_by_role("button", name="Authorize").first.click()
    dialog = page.locator(".dialog-ux")
    expect(dialog.locator("input")).to_be_visible()
    found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]})
    assert found.violations_count == 0, found.generate_report()
    dialog.locator("input").fill("sizing_cup")
    dialog.get_by_role("button", name="Apply credentials").click()
    dialog.get_by_role("button", name="Close").last.click()
    asked = page.locator("#operations-Ask_one_thing-shaping")
    asked.locator(".opblock-summary-control").click()
    asked.get_by_role("button", name="Try it out").click()
    asked.get_by_role("button", name="Execute").click()
    expect(asked.locator(".live-responses-table .response-col_status").last).to_contain_text("200")
    assert sent == ["Bearer sizing_cup"]
    # Kept by the page alone, and gone with it.
    assert page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [
        0,
        0,
        "",
    ]
