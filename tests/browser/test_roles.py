"""Who comes in by a code, and what each sees: a stranger, a device that may look, one that may weigh."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations, violations_in_both_looks
from tests.browser.conftest import EXAMPLE, PHONE, Opening
from tests.browser.serving import Serving
from tests.browser.steps import kept, open_pads, read_wheels, tap_wheel
from tests.waiting import until

ELSEWHERE = {"x-forwarded-for": "192.0.2.7"}
"""What a request from another machine carries that a proxy brings here: it is not taken for this machine's own."""


@pytest.fixture(scope="module")
def pairing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """A station that hands out codes."""
    serving = Serving(tmp_path_factory.mktemp("pairing") / "station.db", pairs=True)
    serving.start()
    yield serving
    serving.kill()


def _code(page: Page, pairing: Serving, *, look: bool) -> str:
    """The code that a page on the station's own machine shows."""
    page.goto(f"{pairing.url}/pair{'?role=look' if look else ''}")
    expect(page.locator("img.qr")).to_be_visible()
    return page.locator(".bigcode").inner_text()


def _pair(page: Page, pairing: Serving, code: str, name: str) -> None:
    """A wrong code of another test costs the address a pause, in which the station does not listen to the right one."""

    def paired() -> bool:
        page.goto(pairing.plain_url)
        page.get_by_label("Code on the station's screen").fill(code)
        page.get_by_label("Name of this device").fill(name)
        page.get_by_role("button", name="Pair", exact=True).click()
        page.wait_for_load_state()
        return page.locator("h1").inner_text() == "Weigh days"

    until(paired, "the pairing")


def test_a_stranger_sees_how_to_come_in_and_nothing_that_leads_nowhere(pairing: Serving, opening: Opening) -> None:
    page = opening(PHONE, headers=ELSEWHERE, color_scheme="light")
    page.goto(f"{pairing.plain_url}/yard")
    expect(page.locator("h1")).to_have_text("Pair this device")
    expect(page.locator(".head nav")).to_have_count(0)
    expect(page.locator(".bigcode")).to_have_count(0)
    assert violations_in_both_looks(page) == []


def test_a_wrong_code_is_said_in_words(pairing: Serving, opening: Opening) -> None:
    page = opening(PHONE, headers=ELSEWHERE)
    page.goto(pairing.plain_url)
    page.get_by_label("Code on the station's screen").fill("00000000")
    page.get_by_role("button", name="Pair", exact=True).click()
    expect(page.get_by_role("alert")).to_have_text("This code is not, or no longer, the one that the station shows.")
    expect(page.locator("h1")).to_have_text("Pair this device")


def test_a_device_that_may_only_look_sees_all_and_is_offered_nothing_to_keep(
    pairing: Serving, opening: Opening
) -> None:
    day = pairing.import_day(EXAMPLE.read_text())
    page = opening(PHONE, headers=ELSEWHERE)
    _pair(page, pairing, _code(opening(), pairing, look=True), "the judge's tablet")
    expect(page.get_by_role("link", name="New rig")).to_have_count(0)
    open_pads(page, pairing.plain_url, day, "hitched")
    kept(page, "on disk", 6)
    expect(page.locator("#says")).to_have_text("Looking on")
    expect(page.locator("#why")).to_have_text("This device may look, not weigh.")
    expect(page.locator("[data-rig]:not([hidden]) .wheel[role=button]")).to_have_count(0)
    tap_wheel(page, "truck/1L")
    expect(page.locator("#keypad")).to_be_hidden()
    assert page.locator("main button:visible, .keepbar button").all_inner_texts() == [
        "solo",
        "hitched",
        "levelled",
        "market",
    ]
    assert violations(page) == []
    for address in (f"/days/{day}", "/days/new", "/yard", "/indicators", "/"):
        page.goto(f"{pairing.plain_url}{address}")
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        expect(page.locator(".foot")).to_contain_text("This device may look, not weigh.")
        # comparing days keeps nothing
        offered = page.locator("main button:visible, main form:visible")
        kept_by = "node => node.closest('form')?.getAttribute('action') !== '/compare'"
        assert [one.inner_text() for one in offered.all() if one.evaluate(kept_by)] == [], address


def test_a_device_that_may_weigh_keeps_drafts_under_its_name_until_it_is_sent_away(
    pairing: Serving, opening: Opening
) -> None:
    day = pairing.import_day(EXAMPLE.read_text())
    page, bench = opening(PHONE, headers=ELSEWHERE), opening()
    _pair(page, pairing, _code(bench, pairing, look=False), "the yard phone")
    open_pads(page, pairing.plain_url, day, "solo")
    read_wheels(page, {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580})
    kept(page, "on disk", 7)
    bench.goto(f"{pairing.url}/days/{day}")
    bench.locator("#history ~ details summary").first.click()
    expect(bench.locator("#history ~ details").first).to_contain_text("Kept by the yard phone")
    other = page.context.new_page()  # a page that asks the station for nothing by itself
    other.set_extra_http_headers(ELSEWHERE)
    other.goto(f"{pairing.plain_url}/yard")
    bench.goto(f"{pairing.url}/pair")
    bench.get_by_role("button", name="Send away the yard phone").click()
    for told in (page, other):
        expect(told.get_by_role("alert").first).to_contain_text("it was sent away")
    expect(other.get_by_role("link", name="Pair it again")).to_have_attribute("href", "/pair")
    read_wheels(page, {"truck/1L": 2160, "truck/1R": 2120, "truck/2L": 1580, "truck/2R": 1560})
    expect(page.locator("#net-says")).to_have_text("Not paired: 1 waiting here")
    expect(page.locator("#outcome")).to_contain_text("Pair it again; nothing is lost by that.")
