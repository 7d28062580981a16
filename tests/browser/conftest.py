"""A browser for the tests of a file, a page for each, and an eye on what it asks for and complains about."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from tests.browser.pages import Lent, Pages
from tests.browser.serving import PLAIN, ROOT, Serving
from tests.waiting import PATIENCE

CHROMIUM = "/usr/bin/chromium"
HEADLESS = "/usr/bin/chromium-headless-shell"
"""The same browser without a window to draw: a page costs a third less. Where it is not installed, the other serves."""

PHONE: ViewportSize = {"width": 390, "height": 844}
TABLET: ViewportSize = {"width": 820, "height": 1180}
DESK: ViewportSize = {"width": 1280, "height": 800}
EXAMPLE = ROOT / "examples" / "quay-bakery.toml"

expect.set_options(timeout=PATIENCE * 1000)


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """Chromium as the system has it; that it is there is part of the test.

    It ends with the last test of this folder: while it is open its event loop stands in the way of every other test.
    """
    program = HEADLESS if Path(HEADLESS).exists() else CHROMIUM
    assert Path(program).exists(), "the browser tests need chromium: make system"
    with sync_playwright() as play:
        arguments = ["--no-sandbox", "--disable-gpu", f"--host-resolver-rules=MAP {PLAIN} 127.0.0.1"]
        chromium = play.chromium.launch(executable_path=program, args=arguments)
        yield chromium
        chromium.close()


@pytest.fixture(scope="package")
def pages(browser: Browser) -> Pages:
    """The pages that one test after the other is lent."""
    return Pages(browser)


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
def opening(pages: Pages) -> Iterator[Opening]:
    """Lends pages; in the end none may have asked another host for anything, nor thrown an error."""
    lent: list[Lent] = []

    def open_page(viewport: ViewportSize = PHONE, **options: Any) -> Page:
        lent.append(pages.lend(viewport, **options))
        return lent[-1].page

    yield open_page
    for one in lent:
        pages.take_back(one)
    foreign = [url for one in lent for url in one.foreign]
    errors = [error for one in lent for error in one.errors]
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
