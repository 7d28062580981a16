"""A browser for the tests of a file, a page for each, and an eye on what it asks for and complains about."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests.browser.serving import PLAIN, ROOT, Serving
from tests.waiting import PATIENCE

CHROMIUM = "/usr/bin/chromium"
PHONE = {"width": 390, "height": 844}
TABLET = {"width": 820, "height": 1180}
DESK = {"width": 1280, "height": 800}
EXAMPLE = ROOT / "examples" / "quay-bakery.toml"

expect.set_options(timeout=PATIENCE * 1000)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium as the system has it; that it is there is part of the test.

    One for each file: while it is open its event loop stands in the way of every other test of the worker.
    """
    assert Path(CHROMIUM).exists(), "the browser tests need chromium: make system"
    with sync_playwright() as play:
        arguments = ["--no-sandbox", "--disable-gpu", f"--host-resolver-rules=MAP {PLAIN} 127.0.0.1"]
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=arguments)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def station(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """A station over a new store, shared by all tests that leave it running."""
    serving = Serving(tmp_path_factory.mktemp("station") / "station.db")
    try:
        serving.start()
        yield serving
    finally:
        serving.kill()


@pytest.fixture
def own_station(tmp_path: Path) -> Iterator[Serving]:
    """A station of one's own, to be killed at will."""
    serving = Serving(tmp_path / "station.db")
    try:
        serving.start()
        yield serving
    finally:
        serving.kill()


Opening = Callable[..., Page]


@pytest.fixture
def opening(browser: Browser) -> Iterator[Opening]:
    """Makes pages; in the end none may have asked another host for anything, nor thrown an error."""
    contexts: list[BrowserContext] = []
    foreign: list[str] = []
    errors: list[str] = []

    def open_page(viewport: dict[str, int] = PHONE, **options: object) -> Page:
        # keeping every page for later takes a second a context: only the test of it has it
        options = {"viewport": viewport, "has_touch": viewport["width"] < 1000, "service_workers": "block", **options}
        context = browser.new_context(**options)  # pyright: ignore[reportArgumentType]
        context.set_default_timeout(PATIENCE * 1000)
        contexts.append(context)

        def look(url: str) -> None:
            parts = urlsplit(url)
            if parts.scheme not in ("data", "blob") and parts.hostname not in ("localhost", PLAIN):
                foreign.append(url)

        context.on("request", lambda request: look(request.url))
        context.on("weberror", lambda error: errors.append(str(error.error)))
        return context.new_page()

    yield open_page
    for context in contexts:
        context.close()
    assert not foreign, f"asked somebody else: {foreign}"
    assert not errors, f"errors in the page: {errors}"


@pytest.fixture
def phone(opening: Opening) -> Page:
    """A page at the size of a phone."""
    return opening(PHONE)


@pytest.fixture
def desk(opening: Opening) -> Page:
    """A page at the size of a laptop."""
    return opening(DESK)
