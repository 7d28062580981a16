"""The page of a published folder, opened from disk: no script, no network, no fault that axe finds, at every width."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.axe import violations
from tests.browser.conftest import PHONE, Opening
from tests.cli.days import NURSERY
from tests.publish.editions import SECOND, page_of, source


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A page with a comparison, and with names that do not want to be laid out."""
    long = NURSERY.replace("Nursery van with the seedling trailer", "W" * 200).replace("Nursery van", "V" * 200)
    place: Path = tmp_path_factory.mktemp("published") / "index.html"
    place.write_text(page_of(source("van.toml", long), source("lorry.toml", SECOND)), encoding="utf-8")
    return place.as_uri()


def colour(page: Page, of: str, name: str) -> str:
    """A colour as the browser shows it."""
    return page.evaluate(f"getComputedStyle(document.querySelector('{of}')).{name}")


def test_it_opens_from_disk_for_everybody(address: str, opening: Opening) -> None:
    """On a phone, at a desk in the dark, and on paper, which is light whatever the screen is.

    Nothing is wider than the window, and the browser refuses nothing.
    """
    page: Page = opening(PHONE, reduced_motion="reduce")
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(address)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert colour(page, "svg > rect[fill]", "fill") == colour(page, "body", "backgroundColor") == "rgb(251, 250, 247)"
    page.set_viewport_size({"width": 1440, "height": 900})
    page.emulate_media(color_scheme="dark")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1440
    assert colour(page, "svg > rect[fill]", "fill") == colour(page, "body", "backgroundColor") == "rgb(17, 22, 28)"
    assert violations(page) == []
    page.emulate_media(media="print", color_scheme="dark")
    assert colour(page, "svg > rect[fill]", "fill") == "rgb(251, 250, 247)"
    assert colour(page, "body", "color") == "rgb(20, 28, 36)"
    assert colour(page, ".scroll", "overflowX") == "visible"
    assert said == []
