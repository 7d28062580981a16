"""At the pads: the answer first, everything can be undone, and what goes wrong around it takes no reading away."""

from __future__ import annotations

import datetime
import json
import tomllib
from typing import Any

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from tests.browser.conftest import EXAMPLE, PHONE, Opening
from tests.browser.serving import Serving
from tests.browser.steps import kept, key_in, open_pads, read_wheels, tap_wheel, wheel

READ = {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580}
WIDE: ViewportSize = {"width": 1440, "height": 900}
ORDER = {"outside": 0, "undecided": 1, "within": 2}


@pytest.fixture(name="day")
def _day(station: Serving) -> str:
    return station.import_day(EXAMPLE.read_text(encoding="utf-8"))


def _file(station: Serving, day: str) -> dict[str, Any]:
    return tomllib.loads(station.get(f"/api/v1/days/{day}"))


def _found(station: Serving, day: str) -> dict[str, Any]:
    return json.loads(station.get(f"/api/v1/days/{day}/findings"))


@pytest.mark.parametrize("viewport", [PHONE, WIDE], ids=["phone", "desk"])
def test_the_answer_stands_at_the_top_and_is_a_line_once_the_next_wheel_begins(
    station: Serving, opening: Opening, day: str, viewport: ViewportSize
) -> None:
    page = opening(viewport)
    gross = {item["id"]: item for item in _found(station, day)["findings"]}["solo/truck/gross"]
    open_pads(page, station.url, day, "solo")
    page.evaluate("scrollTo(0, 200)")
    read_wheels(page, READ)
    panel = page.locator("#outcome")
    expect(panel.locator("h2")).to_have_text("Draft 7 on disk")
    expect(panel.locator(".sign-of .word")).to_have_text("within", ignore_case=True)
    after = _found(station, day)
    new = {item["id"]: item for item in after["findings"]}["solo/truck/gross"]
    shown = [f"{item['value']:,.0f} ± {(item['high'] - item['low']) / 2:.0f}" for item in (gross, new)]
    expect(panel.locator(".changes")).to_contain_text(f"{shown[0]} → {shown[1]} lb")
    worst = min(
        (item for item in after["verdicts"] if item["finding"].startswith("solo/")),
        key=lambda item: (
            ORDER[item["verdict"]],
            round(item["probability"], 3),
            item["margin"] / abs(item["limit"]),
        ),
    )
    expect(panel.locator(".sign-of")).to_contain_text(worst["label"])
    expect(panel.locator(".nextwheels")).to_contain_text("All of this state is known.")
    assert page.evaluate("scrollY") == 0
    for part in (".sign-of", ".changes", ".nextwheels"):
        box = panel.locator(part).bounding_box()
        assert box is not None
        assert box["y"] >= 0
        bar = page.locator(".keepbar").bounding_box()
        assert bar is not None
        assert box["y"] + box["height"] <= bar["y"], f"{part} is seen without scrolling"
    tap_wheel(page, "truck/1L")
    page.keyboard.press("Escape")
    line = page.locator("#outcome-line")
    expect(line).to_contain_text("Draft 7: WITHIN, ")
    expect(panel.locator("h2")).to_be_hidden()
    box = line.bounding_box()
    assert box is not None
    assert 44 <= box["height"] < 60
    line.click()
    expect(panel.locator("h2")).to_be_visible()
    page.locator('[data-state="hitched"]').click()
    expect(line).to_be_visible()


def test_what_is_not_known_yet_comes_next(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text(encoding="utf-8").partition("[[drafts]]")[0])
    open_pads(phone, station.url, day, "solo")
    read_wheels(phone, {"truck/1L": 2180, "truck/1R": 2100})
    phone.locator("#keep").click()
    following = phone.locator(".nextwheels")
    expect(following).to_contain_text("Crew-cab bread truck gross is not known yet. Read 2L of Crew-cab bread truck")
    following.get_by_role("button", name="Read them").click()
    expect(phone.locator("#keypad h2")).to_have_text("Crew-cab bread truck, axle 2 left")


def test_a_kept_draft_is_taken_back_put_away_brought_back_and_named(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "solo")
    read_wheels(phone, READ)
    kept(phone, "on disk", 7)
    before = _found(station, day)["findings"]
    phone.locator(".nextwheels").get_by_role("button", name="Take it back").click()
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("2,180")
    expect(phone.locator("#put-away-head")).to_have_text("Put away (1)")
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    text = _file(station, day)
    assert len(text["drafts"]) == 7, "nothing is deleted"
    assert {(item["place"], item["reason"]) for item in text["corrections"]} == {
        (place, "Taken back at the pads") for place in READ
    }
    phone.reload()
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("2,180")  # still to be put right
    phone.locator("#put-away summary").click()
    phone.locator("#away-list").get_by_role("button", name="Bring back").click()
    expect(phone.locator("#put-away")).to_be_hidden()
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    assert _found(station, day)["findings"] == before
    kept(phone, "on disk", 7)
    phone.locator("#kept").get_by_role("button", name="Change : 3. trailer").click()
    phone.get_by_label("What it is called").fill("трейлер שלום 🚚")
    phone.get_by_role("button", name="Call it so").click()
    row = phone.locator("#kept li", has_text="3. трейлер שלום 🚚")
    expect(row).to_contain_text("Oven trailer: 1L 2,020")
    expect(row.locator("b")).to_have_attribute("dir", "auto")
    phone.locator("#kept").get_by_role("button", name="Change : 1. truck alone").click()
    phone.get_by_role("button", name="Put it away").click()
    expect(phone.locator("#away-fault")).to_have_text("Say why, in a word or two.")
    phone.get_by_label("Why it should not count").fill("the baker was away")
    phone.get_by_role("button", name="Put it away").click()
    expect(phone.locator("#away-list")).to_contain_text("the baker was away")
    phone.get_by_role("button", name="Undo: draft 1 is put away").click()
    expect(phone.locator("#put-away")).to_be_hidden()
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    phone.reload()
    kept(phone, "on disk", 7)
    expect(row).to_be_visible()
    text = _file(station, day)
    assert text["drafts"][2]["label"] == "trailer", "what was written stays"
    assert text["corrections"][-1].get("reason") == "Brought back"


def test_a_number_that_went_comes_back_by_its_button_and_by_the_keys(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "solo")
    tap_wheel(phone, "truck/1L")
    key_in(phone, 2180)
    phone.locator("#keypad [data-act=clear]").click()
    expect(phone.locator("#undo-says")).to_have_text("Can be undone: 1L was 2180")
    phone.locator("#keypad [data-undo]").click()
    expect(phone.locator("#keypad-shown")).to_have_text("2180")
    phone.locator("#keypad [data-act=close]").click()
    tap_wheel(phone, "truck/1L")
    key_in(phone, 15)  # begins anew
    phone.keyboard.press("Escape")
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("15")
    phone.keyboard.press("Control+z")
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("2,180")
    phone.locator("#more").click()
    phone.locator("#throw-away").click()
    phone.get_by_role("button", name="Throw them away").click()
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("–")
    phone.get_by_role("button", name="Undo: what was typed is thrown away").click()
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("2,180")
    phone.reload()
    expect(wheel(phone, "truck/1L").locator(".load")).to_have_text("2,180")


def test_two_phones_that_read_one_wheel_keep_both_and_both_are_told(
    station: Serving, opening: Opening, day: str
) -> None:
    first, second = opening(), opening()
    for page in (first, second):
        open_pads(page, station.url, day, "solo")
    tap_wheel(second, "truck/1L")
    key_in(second, 2160)
    second.keyboard.press("Escape")
    tap_wheel(first, "truck/1L")
    key_in(first, 2180)
    first.keyboard.press("Escape")
    first.locator("#keep").click()
    expect(second.locator("#also-says")).to_contain_text("draft 7 of wheels that this device read too")
    expect(second.locator("#also-says")).to_contain_text("Crew-cab bread truck: 1L 2180. Both are kept.")
    second.locator("#keep").click()
    expect(first.locator("#also-says")).to_contain_text("draft 8 of wheels that this device read too")
    first.get_by_role("button", name="Understood").click()
    expect(first.locator("#also")).to_be_hidden()
    values = [draft["readings"]["truck/1L"][1] for draft in _file(station, day)["drafts"][6:]]
    assert values == [2180, 2160]


def test_a_wrong_clock_is_said_and_the_draft_has_the_stations_time(station: Serving, phone: Page, day: str) -> None:
    phone.add_init_script("{ const real = Date.now.bind(Date); Date.now = () => real() - 5 * 3600e3; }")
    open_pads(phone, station.url, day, "solo")
    read_wheels(phone, READ)
    kept(phone, "on disk", 7)
    words = "The clock of this device is 5 hours behind the station's. Drafts go with the station's time."
    expect(phone.locator("#clock-wrong")).to_have_text(words)
    at = _file(station, day)["drafts"][-1]["at"]
    assert abs(datetime.datetime.now(datetime.UTC) - at) < datetime.timedelta(hours=1)


def test_a_full_device_says_what_to_do_and_loses_nothing_while_the_page_lives(
    station: Serving, phone: Page, day: str
) -> None:
    open_pads(phone, station.url, day, "solo")
    phone.evaluate(
        "() => { const full = () => { throw new DOMException('full', 'QuotaExceededError'); };"
        " Storage.prototype.setItem = full; IDBObjectStore.prototype.put = full; }"
    )
    phone.route("**/drafts", lambda route: route.abort())
    read_wheels(phone, READ)
    expect(phone.locator("#no-room")).to_contain_text("Leave the page open, free some space")
    expect(phone.locator("#net-says")).to_have_text("No room on this device")
    expect(phone.locator("#why")).to_contain_text("Not kept: this device has no room, and the station does not answer.")
    for place, value in READ.items():
        expect(wheel(phone, place).locator(".load")).to_have_text(f"{value:,}")
    phone.unroute("**/drafts")
    phone.locator("#keep").click()
    kept(phone, "on disk", 7)
    assert len(_file(station, day)["drafts"]) == 7


def test_sixty_states_and_long_foreign_names_at_twice_the_text(station: Serving, phone: Page) -> None:
    title = "مقطورة " * 28 + "🚚"
    more = "".join(f'\n[states.trip_{number}_north]\nvehicles = ["truck"]\n' for number in range(56))
    text = EXAMPLE.read_text(encoding="utf-8").replace("[[drafts]]", f"{more}\n[[drafts]]", 1)
    day = station.import_day(text.replace('"Oven trailer"', f'"{title}"'))
    open_pads(phone, station.url, day)
    search = phone.get_by_label("Find a state")
    search.fill("41 nor")
    expect(phone.locator("#find-says")).to_have_text("1 state")
    phone.locator("[data-state]:visible").click()
    expect(phone.locator('[data-state="trip_41_north"]')).to_have_attribute("aria-pressed", "true")
    expect(search).to_have_value("")
    phone.locator('[data-state="hitched"]').evaluate("tab => tab.click()")
    read_wheels(phone, {"truck/1L": 2020, "truck/1R": 1940, "truck/2L": 2240, "truck/2R": 2240})
    expect(phone.locator("#outcome .sign-of")).to_be_visible()
    phone.evaluate("document.documentElement.style.fontSize = '200%'")
    wide = "document.documentElement.scrollWidth <= innerWidth"
    assert phone.evaluate(wide)
    for selector in ("#more", "#kept button >> nth=0"):
        phone.locator(selector).click()
        assert phone.evaluate(wide), selector
        phone.keyboard.press("Escape")
    phone.locator("#question").get_by_role("button", name="It stands so").or_(
        phone.locator("#outcome h2")
    ).first.click()
    phone.evaluate("scrollTo(0, 0); document.activeElement.blur()")
    for _ in range(40):
        phone.keyboard.press("Tab")
        assert phone.evaluate(_COVERED) == "", "the focus is under the bar"


_COVERED = """() => {
  const on = document.activeElement, bar = document.querySelector('.keepbar').getBoundingClientRect();
  if (!on || on === document.body || on.closest('.keepbar, dialog')) return '';
  const box = (on.querySelector('.plate') ?? on).getBoundingClientRect();
  return box.top >= bar.top - 1 ? on.outerHTML.slice(0, 80) : '';
}"""
