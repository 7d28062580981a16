"""Everybody can use it: axe finds nothing while things are done, and the whole job is done from the keyboard.

``reach`` walks every page as it opens.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations_in_both_looks
from tests.browser.conftest import DESK, EXAMPLE, PHONE, Opening
from tests.browser.sent import Sent
from tests.browser.serving import ROOT, Serving
from tests.browser.steps import kept, open_pads, read_wheels, tap_wheel

SLIP = ROOT / "examples" / "quay-bakery-slip.toml"
HEAVIEST = 150_000  # bytes of one page over the wire
SCRIPTS = 54_500  # bytes of all scripts of one page, compressed, without the heads of the answers
LIGHTEST = 2_000  # bytes of the smallest page
LATER = "/influence"
SMALLEST = 48.0  # px: what a gloved finger hits


@dataclass(frozen=True)
class Day:
    """A day with a reading that does not fit, so that every kind of thing is on its pages."""

    station: Serving
    id: str
    other: str

    def url(self, page: str) -> str:
        """The address of one of the pages."""
        return self.station.url + page.replace("DAY", self.id).replace("OTHER", self.other)


@pytest.fixture(scope="module")
def slip(station: Serving) -> Day:
    """The bundled day with its slip of the pen."""
    day = station.import_day(SLIP.read_text())
    for key, more in (("c1", {"value": 2280}), ("c2", {})):
        correction = {"key": key, "draft": 2, "place": "truck/2L", "reason": "read anew", **more}
        station.post(f"/api/v1/days/{day}/corrections", correction)
    return Day(station, day, station.import_day(EXAMPLE.read_text()))


PAGES = (
    "/",
    "/days/new",
    "/days/DAY",
    "/days/DAY/pads",
    "/compare?day=DAY&day=OTHER",
    "/days/DAY/ask",
    "/yard",
    "/indicators",
    "/pair",
    "/trust",
    "/offline",
    "/nothing-here",
)


def test_axe_finds_nothing_while_things_are_done(slip: Day, opening: Opening) -> None:
    page = opening(PHONE, color_scheme="light")
    open_pads(page, slip.station.url, slip.id, "solo")
    tap_wheel(page, "truck/1L")
    page.locator('#keypad [data-digit="7"]').click()
    page.locator("#keypad [data-act=next]").click()
    expect(page.locator("#keypad-warn")).to_have_class("warn stops insists")
    found = [violations_in_both_looks(page)]
    page.keyboard.press("Escape")
    expect(page.locator(".wheel-says:visible")).to_have_count(1)
    found += [violations_in_both_looks(page)]
    page.get_by_role("button", name="Pads, note").click()
    found += [violations_in_both_looks(page)]
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Same, with …").click()
    found += [violations_in_both_looks(page)]
    page.keyboard.press("Escape")
    refusal = {"error": {"code": "faults", "message": "does not fit", "faults": []}}
    page.route("**/drafts", lambda route: route.fulfill(status=422, body=json.dumps(refusal)), times=1)
    read_wheels(page, {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580})
    page.locator("#question").get_by_role("button", name="Leave it").focus()
    found += [violations_in_both_looks(page)]
    page.keyboard.press("Enter")
    page.locator("#kept").get_by_role("button", name="Send again").click()
    expect(page.locator("#outcome .sign-of")).to_be_visible()
    found += [violations_in_both_looks(page)]
    page.locator("#kept").get_by_role("button", name="Change").first.click()
    found += [violations_in_both_looks(page)]
    page.keyboard.press("Escape")
    page.goto(slip.url("/days/DAY"))
    page.get_by_role("button", name="Correct or set aside").first.click()
    found += [violations_in_both_looks(page)]
    assert found == [[]] * 8


def test_a_day_is_weighed_from_the_keyboard_alone(station: Serving, opening: Opening) -> None:
    day = station.import_day(EXAMPLE.read_text())
    page = opening(DESK)
    open_pads(page, station.url, day)
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("To the page")
    _tab_to(page, '[data-state="solo"]')
    page.keyboard.press("Enter")
    _tab_to(page, '[data-rig]:not([hidden]) [data-place="truck/1L"]')
    page.keyboard.press("Enter")
    for value in ("2180", "2100", "1560"):
        page.keyboard.type(value)
        page.keyboard.press("Enter")
    page.keyboard.type("1580")
    page.keyboard.press("Escape")
    expect(page.locator(":focus")).to_have_attribute("data-place", "truck/2R")
    expect(page.locator(":focus")).to_have_attribute("aria-label", "Crew-cab bread truck, axle 2 right: 1,580, on p4")
    _tab_to(page, "#keep")
    page.keyboard.press("Enter")
    kept(page, "on disk", 7)


def test_what_changes_is_told_to_who_does_not_see_it(slip: Day, phone: Page) -> None:
    open_pads(phone, slip.station.url, slip.id, "solo")
    for selector in ("#says", "#net", "#state-is", "#outcome", "#keypad-shown"):
        spoken = phone.locator(selector).evaluate("node => node.getAttribute('aria-live') ?? node.getAttribute('role')")
        assert spoken in ("polite", "status"), selector


@pytest.mark.parametrize("address", PAGES)
def test_a_page_is_light_and_fits_a_phone(slip: Day, phone: Page, address: str) -> None:
    with Sent(phone) as sent:
        phone.goto(slip.url(address), wait_until="load")
        sent.settle(LIGHTEST)
    # How the other states answer to loads is fetched for a time without the station, when the page stands already.
    shown = {sent.asked.get(name, ""): size for name, size in sent.sizes.items()}
    shown = {url: size for url, size in shown.items() if not url.endswith(LATER)}
    assert LIGHTEST < sum(shown.values()) < HEAVIEST, shown
    scripts = [size for _, size in sent.scripts()]
    assert LIGHTEST < sum(scripts) < SCRIPTS, sum(scripts)
    wide = phone.evaluate(_WIDE)
    assert wide == [], f"it is pushed sideways: {wide}"
    small = phone.evaluate(_SMALL, SMALLEST)
    assert small == [], small


_WIDE = """document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll('body *')]
  .filter(node => !node.parentElement.closest('.scroll, .drawing, .states, .tabs'))
  .filter(node => node.getBoundingClientRect().right > innerWidth)
  .map(node => `${node.outerHTML.slice(0, 100)} ${Math.round(node.getBoundingClientRect().right)}`)"""

_SMALL = """least => [...document.querySelectorAll('a, button, select, input, textarea, summary, .wheel')]
  .filter(node => node.checkVisibility() && !node.closest('.skip, [hidden]') && !node.matches('.skip'))
  .filter(node => !(node.matches('input[type=radio], input[type=checkbox]')))
  .map(node => [node, (node.querySelector?.('.plate') ?? node).getBoundingClientRect()])
  .filter(([, box]) => box.height < least || box.width < least)
  .map(([node, box]) => `${node.outerHTML.slice(0, 80)} ${Math.round(box.width)} x ${Math.round(box.height)}`)"""


def _tab_to(page: Page, selector: str) -> None:
    for _ in range(60):
        if page.locator(selector).evaluate("node => node === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"the focus never came to {selector}")
