"""Everybody can read and reach every page of the station: each look, large text, a narrow window, keys alone.

The pages are those of the table of addresses, so that a new one is looked at as soon as it is declared.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.axe import faint, violations
from tests.browser.conftest import EXAMPLE, PHONE
from tests.browser.pages import Pages
from tests.browser.reach import looks
from tests.browser.reach.checker import faults_of
from tests.browser.reach.places import Shown, every_page, fill
from tests.browser.serving import Serving
from tests.waiting import until

Faults = dict[str, dict[str, list[str]]]

NARROW = {"width": 320, "height": 640}
WIDE_DESK = {"width": 1440, "height": 900}
LARGE = "200%"
LOOKS: dict[str, dict[str, Any]] = {
    "dark": {"color_scheme": "dark"},
    "more contrast": {"contrast": "more"},
    "own colours": {"forced_colors": "active"},
    "own colours, dark": {"color_scheme": "dark", "forced_colors": "active"},
}
"""Besides the light one."""
PLAIN_LOOK: dict[str, Any] = {"color_scheme": "light", "contrast": "no-preference", "forced_colors": "none"}

OPEN = """() => {
  const parts = document.querySelectorAll('h2 ~ details:first-of-type, details:has(.correction)');
  parts.forEach(part => { part.open = true; });
  document.activeElement?.blur();
  scrollTo(0, 0);
}"""
"""One part of each kind: axe passes over what is closed."""
SPACE = """css => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(css);
  document.adoptedStyleSheets = css ? [sheet] : [];
}"""
RESIZE = "size => { document.documentElement.style.fontSize = size; }"


READY = ", ".join(f"[src*='{name}.js']" for name in ("/static/pads", "unsent", "/static/ask"))
"""Scripts that fill their page and say when it is whole."""


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """A station with virtual pads that hands out codes."""
    serving = Serving(tmp_path_factory.mktemp("full") / "station.db", simulate=EXAMPLE, pairs=True)
    try:
        serving.start()
        yield serving
    finally:
        serving.kill()


@pytest.fixture(scope="module")
def shown(full: Serving) -> list[Shown]:
    """Every page of it, something of each kind being kept there."""
    return every_page(full, fill(full))


def in_looks(page: Page) -> dict[str, list[str]]:
    """What axe finds in every look, on a phone and at a desk."""
    found = {"light": violations(page)}
    for name, look in LOOKS.items():
        page.emulate_media(**{**PLAIN_LOOK, **look})
        found[name] = faint(page)
    page.emulate_media(**PLAIN_LOOK)
    return found


def in_sizes(page: Page) -> dict[str, list[str]]:
    """What does not fit, is cut off or lies under something: as it is, with large text, spaced out, and narrow."""
    found = {"small": page.evaluate(looks.SMALL, 24), "moves": page.evaluate(looks.MOVING)}
    found["covered"] = page.evaluate(looks.COVERED)
    page.evaluate(RESIZE, LARGE)
    found |= {"large": page.evaluate(looks.WIDE) + page.evaluate(looks.CLIPPED)}
    found |= {"covered, large": page.evaluate(looks.COVERED)}
    page.evaluate(RESIZE, "")
    page.evaluate(SPACE, looks.SPACED)
    found |= {"spaced": page.evaluate(looks.WIDE) + page.evaluate(looks.CLIPPED)}
    page.evaluate(SPACE, "")
    page.set_viewport_size(NARROW)  # pyright: ignore[reportArgumentType]
    found |= {"narrow": page.evaluate(looks.WIDE), "covered, narrow": page.evaluate(looks.COVERED)}
    page.set_viewport_size(WIDE_DESK)  # pyright: ignore[reportArgumentType]
    found |= {"desk": page.evaluate(looks.WIDE) + faint(page)}
    page.set_viewport_size(PHONE)
    return found


@pytest.fixture(scope="module")
def walked(full: Serving, shown: list[Shown], pages: Pages) -> Iterator[Faults]:
    """Every page, looked at in every way: what is wrong by the way of looking and by page, and what stands in it."""
    lent = pages.lend(PHONE, color_scheme="light", reduced_motion="reduce")
    page, found = lent.page, defaultdict[str, dict[str, list[str]]](dict)
    for one in shown:
        page.goto(f"{full.url}{one.address}")
        if page.locator(f"script[type=module]:is({READY})").count():
            until(lambda: page.evaluate("document.body.dataset.ready") == "yes", f"the script of {one.address}")
        found["html"][one.address] = [page.content()]
        found["stops"][one.address] = looks.stops(page)
        page.evaluate(OPEN)
        for what, faults in (in_looks(page) | in_sizes(page)).items():
            found[what][one.address] = faults
    assert lent.errors == []
    assert lent.foreign == []
    yield found
    pages.take_back(lent)


def test_every_address_that_shows_a_page_is_looked_at(shown: list[Shown]) -> None:
    statuses = {one.address.partition("?")[0]: one.status for one in shown}
    assert len(statuses) > 20
    refused = {address for address, status in statuses.items() if status != 200}
    assert "/nothing-here" in refused
    # a file that needs more to be asked for is refused on a page
    assert {address for address in refused - {"/nothing-here", "/compare"} if "." not in address} == set()


@pytest.mark.parametrize(
    "way",
    [
        *("light", *LOOKS, "desk"),
        *("stops", "covered", "covered, large", "covered, narrow"),
        *("large", "narrow", "spaced", "small", "moves"),
    ],
)
def test_nothing_is_wrong_with_any_page(walked: Faults, way: str) -> None:
    """WCAG 2.2 AA: contrast 1.4.3, keys 2.1.1 and 2.4.3, focus 2.4.7 and 2.4.11, sizes 1.4.4, 1.4.10, 1.4.12, 2.5.8."""
    assert len(walked[way]) > 20
    assert {address: faults for address, faults in walked[way].items() if faults} == {}


def test_every_page_is_html_as_it_is_sent_and_as_its_script_leaves_it(
    shown: list[Shown], walked: Faults, tmp_path: Path
) -> None:
    sent = {f"{one.address} as sent": one.text for one in shown}
    left = {f"{address} after its script": content for address, (content,) in walked["html"].items()}
    assert faults_of(sent | left, tmp_path) == []


def test_the_checker_sees_what_is_no_html(tmp_path: Path) -> None:
    page = '<!DOCTYPE html><html lang="en"><head><title>x</title></head><body>{}</body></html>'
    bad = '<label>Name <input maxlength="&quot;200&quot;"></label><details hidden></details><ul><div>x</div></ul>'
    assert faults_of({"good": page.format("<p>x</p>")}, tmp_path) == []
    found = faults_of({"bad": page.format(bad)}, tmp_path)
    assert [part for part in ("maxlength", "<summary>", "<div>") if part not in " ".join(found)] == []
