"""A real Chromium, a blog on an origin of its own, and the service that lets that origin in."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.conftest import serving

# Long, for machines that are busy: what is waited for is waited for no longer than it takes.
PATIENCE = 20_000
expect.set_options(timeout=PATIENCE)

QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update",
]  # fmt: skip


class Quietly(SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


class Blog:
    """Somebody else's site: plain files on an origin of their own."""

    def __init__(self, folder: Path, origin: str) -> None:
        self.folder, self.origin = folder, origin

    def post(self, name: str, text: str) -> str:
        (self.folder / name).write_text(text, encoding="utf-8")
        return f"{self.origin}/{name}"


@contextmanager
def publishing() -> Iterator[Blog]:
    with TemporaryDirectory() as folder:
        handler = partial(Quietly, directory=folder)
        with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
            threading.Thread(target=server.serve_forever, daemon=True).start()
            yield Blog(Path(folder), f"http://127.0.0.1:{server.server_port}")
            server.shutdown()


@pytest.fixture(scope="session")
def blog() -> Iterator[Blog]:
    with publishing() as blog:
        yield blog


@pytest.fixture(scope="session")
def service(blog: Blog) -> Iterator[str]:
    with serving(SIZING_ORIGINS=blog.origin) as base:
        yield base


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chrome")
    if not path:
        pytest.fail("no Chromium: deploy/test installs it on Debian; else set CHROMIUM to its path")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens an address in a context of its own; what goes wrong in the page fails the test."""
    contexts, thrown = [], []

    def opened(address: str, **options: object) -> Page:
        context = browser.new_context(**{"viewport": {"width": 900, "height": 900}, **options})  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: thrown.append(str(error)))
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not thrown
