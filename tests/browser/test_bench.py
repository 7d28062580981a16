"""At the bench: the answer in the first screen, one state at a time, nothing longer than four screens, all on paper."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from tests.browser.conftest import EXAMPLE, PHONE, Opening
from tests.browser.serving import ROOT, Serving

WIDE: ViewportSize = {"width": 1440, "height": 900}
SLIP = ROOT / "examples" / "quay-bakery-slip.toml"
SCREENS = 4

TALLER = """() => document.documentElement.scrollHeight"""
LOWEST = """() => Math.max(...["h1", ".answer", ".tabs", ".sheet:not([hidden]) img", ".sheet:not([hidden]) table.left"]
  .map((part) => document.querySelector(part).getBoundingClientRect().bottom + scrollY))"""


def _many() -> str:
    """The bundled day with 56 more states, each with another level in the tank."""
    text = EXAMPLE.read_text()
    like = (
        '\n[states.load{0}]\nvehicles = ["truck", "oven"]\ncargo = ["baker", "water"]\nchange.water.level = "{0} %"\n'
    )
    hung = 'couple = {{ towing = "truck", at = "ball", trailer = "oven" }}\n'
    head, drafts, rest = text.partition("[[drafts]]")
    return head + "".join((like + hung).format(level) for level in range(30, 86)) + "\n" + drafts + rest


@pytest.fixture(scope="module")
def days(station: Serving) -> dict[str, str]:
    """Days to look at: one as it should be, one that contradicts itself, one of 60 states, one with nothing weighed."""
    text = EXAMPLE.read_text()
    found = {name: station.import_day(path.read_text()) for name, path in (("calm", EXAMPLE), ("slip", SLIP))}
    found["many"] = station.import_day(_many())
    found["empty"] = station.import_day(text.partition("[[drafts]]")[0])
    for key, more in (("c1", {"value": 2280}), ("c2", {})):
        correction = {"key": key, "draft": 2, "place": "truck/2L", "reason": "read anew", **more}
        station.post(f"/api/v1/days/{found['slip']}/corrections", correction)
    return found


def test_the_answer_stands_in_the_first_screen(station: Serving, days: dict[str, str], opening: Opening) -> None:
    """The verdict, the picture of its state and what is left there, on a phone and on a desk, of a day in doubt too."""
    for size in (PHONE, WIDE):
        page = opening(size)
        for day in ("calm", "slip", "many"):
            page.goto(f"{station.url}/days/{days[day]}")
            page.locator(".bystate .sheet:not([hidden]) img").evaluate("image => image.decode()")
            assert page.evaluate(LOWEST) <= size["height"], (size, day)
            worst = json.loads(station.get(f"/api/v1/days/{days[day]}/findings"))["verdicts"]
            (undecided,) = [item for item in worst if item["verdict"] == "undecided"]
            state = undecided["finding"].split("/")[0]
            expect(page.locator(".answer .what")).to_have_text(re.compile(f"^{state}: "))
            expect(page.locator(".tabs").first.locator("[aria-selected=true]")).to_have_text(f"undecided: {state}")
            expect(page.locator(".answer")).to_contain_text(re.compile("[0-9]+ within"))


ADDRESSES = (
    "/",
    "/days/new",
    "/days/DAY",
    "/days/DAY/pads",
    "/days/DAY/plan",
    "/days/DAY/learn",
    "/days/DAY/history",
    "/compare?day=DAY&day=OTHER",
    "/yard",
    "/indicators",
    "/pair",
    "/trust",
    "/offline",
    "/nothing-here",
)
NOT_YET = ("/days/DAY/ask",)
"""Pages that are longer still."""


def test_no_page_is_longer_than_four_screens_of_a_phone(station: Serving, days: dict[str, str], phone: Page) -> None:
    wanted = [address.replace("DAY", days["slip"]).replace("OTHER", days["calm"]) for address in ADDRESSES]
    wanted += [f"/days/{days[name]}" for name in ("calm", "many", "empty")]
    tall: dict[str, float] = {}
    for address in wanted:
        phone.goto(f"{station.url}{address}", wait_until="load")
        tall[address] = phone.evaluate(TALLER) / PHONE["height"]
    assert {address: screens for address, screens in tall.items() if screens > SCREENS} == {}
    assert max(tall.values()) > 2.0, "a page that is never filled proves nothing"


def test_one_state_is_shown_and_the_address_keeps_it(station: Serving, days: dict[str, str], desk: Page) -> None:
    desk.goto(f"{station.url}/days/{days['calm']}")
    tabs = desk.get_by_role("tablist", name="States")
    expect(desk.locator(".bystate .sheet:visible")).to_have_count(1)
    tabs.get_by_role("tab", name="hitched").click()
    expect(desk.locator(".bystate .sheet:visible h3")).to_contain_text("hitched")
    assert desk.url.endswith("#s-hitched")
    desk.keyboard.press("ArrowRight")
    expect(desk.get_by_role("tab", name="levelled")).to_be_focused()
    expect(desk.locator(".bystate .sheet:visible h3")).to_contain_text("levelled")
    desk.keyboard.press("Home")
    desk.reload()
    expect(desk.locator(".bystate .sheet:visible h3")).to_contain_text("solo")
    expect(desk.get_by_role("tabpanel")).to_have_count(1)
    desk.goto(f"{station.url}/days/{days['slip']}")
    desk.get_by_role("link", name="Readings contradict one another").click()
    expect(desk.locator("#contested p").last).to_be_visible()


def test_without_scripts_the_address_chooses_the_state(
    station: Serving, days: dict[str, str], opening: Opening
) -> None:
    page = opening(PHONE, java_script_enabled=False)
    page.goto(f"{station.url}/days/{days['calm']}")
    expect(page.locator(".bystate .sheet:visible h3")).to_contain_text("market")
    page.get_by_role("link", name="hitched", exact=True).click()
    expect(page.locator(".bystate .sheet:visible")).to_have_count(1)
    expect(page.locator(".bystate .sheet:visible h3")).to_contain_text("hitched")
    page.locator(".bystate .sheet:visible .figures summary").click()
    expect(page.locator(".bystate .sheet:visible .two")).to_be_visible()
    expect(page.locator("#history ~ details summary").first).to_be_visible()


def test_everything_is_on_paper(station: Serving, days: dict[str, str], desk: Page) -> None:
    desk.goto(f"{station.url}/days/{days['slip']}")
    desk.emulate_media(media="print")
    desk.evaluate("dispatchEvent(new Event('beforeprint'))")
    parts = desk.locator(".sheet, .sheet .two, .draft table, #contested p, .verdicts")
    assert parts.count() > 30
    hidden = parts.evaluate_all("all => all.filter((one) => !one.checkVisibility()).map((one) => one.className)")
    assert hidden == []
    desk.evaluate("dispatchEvent(new Event('afterprint'))")
    desk.emulate_media(media="screen")
    expect(desk.locator(".bystate .sheet:visible")).to_have_count(1)


def test_moments_are_told_by_the_clock_of_the_device(station: Serving, days: dict[str, str], opening: Opening) -> None:
    page = opening(PHONE, timezone_id="Europe/Berlin")
    page.goto(f"{station.url}/days/{days['calm']}")
    page.locator("details.draft summary").first.click()
    expect(page.locator("details.draft time").first).to_have_text("2026-04-09 11:45 CEST")
    plain = opening(PHONE, java_script_enabled=False)
    plain.goto(f"{station.url}/days/{days['calm']}")
    plain.locator("details.draft summary").first.click()
    expect(plain.locator("details.draft time").first).to_have_text("2026-04-09 09:45 UTC")


def test_a_corrected_draft_shows_both_values_at_the_pads(station: Serving, days: dict[str, str], phone: Page) -> None:
    phone.goto(f"{station.url}/days/{days['slip']}/pads")
    draft = phone.locator("#kept li", has_text="2. truck, trailer on the ball")
    expect(draft.locator("del")).to_have_text("was 2,240")
    expect(draft.locator("ins")).to_have_text("now set aside")
    expect(phone.locator("#kept del")).to_have_count(1)


@pytest.mark.parametrize("place", ["", "/ask"])
def test_a_page_says_that_the_database_is_away(station: Serving, days: dict[str, str], phone: Page, place: str) -> None:
    said = 'event: store\ndata: {"error": "no database"}\n\n'
    phone.route("**/events*", lambda route: route.fulfill(content_type="text/event-stream", body=said))
    phone.goto(f"{station.url}/days/{days['calm']}{place}")
    expect(phone.locator("#net-says")).to_contain_text("Database away")
    expect(phone.locator("#net")).to_be_visible()
