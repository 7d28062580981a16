"""Nothing is lost: the station dies, the page goes on, and what was kept arrives once and in order."""

from __future__ import annotations

import tomllib

from playwright.sync_api import Page, expect

from tests.browser.conftest import EXAMPLE, Opening
from tests.browser.serving import Serving
from tests.browser.steps import kept, open_pads, read_wheels

FIRST = {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580}
SECOND = {"truck/1L": 2160, "truck/1R": 2120, "truck/2L": 1580, "truck/2R": 1560}
THIRD = {"truck/1L": 2140, "truck/1R": 2120, "truck/2L": 1580, "truck/2R": 1580}


def _read_in(station: Serving, day: str) -> list[list[int]]:
    """The readings of the drafts that came after the six of the file, in the order of the file."""
    drafts = tomllib.loads(station.get(f"/api/v1/days/{day}"))["drafts"][6:]
    return [[value for _, value in draft["readings"].values()] for draft in drafts]


def test_plain_http_goes_on_without_the_station_and_keeps_its_queue_over_a_reload(
    own_station: Serving, phone: Page
) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    open_pads(phone, own_station.plain_url, day, "solo")
    assert phone.evaluate("isSecureContext") is False
    assert phone.evaluate("typeof crypto.randomUUID") == "undefined"
    own_station.kill()
    read_wheels(phone, FIRST)
    kept(phone, "waiting on this device", 1)
    read_wheels(phone, SECOND)
    kept(phone, "waiting on this device", 2)
    expect(phone.locator("#net-says")).to_have_text("No station: 2 waiting here")
    expect(phone.locator("#kept .where", has_text="on disk")).to_have_count(6)
    own_station.start()
    phone.reload()
    kept(phone, "on disk", 8)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    assert _read_in(own_station, day) == [list(FIRST.values()), list(SECOND.values())]
    phone.reload()
    kept(phone, "on disk", 8)
    assert len(_read_in(own_station, day)) == 2


def test_the_open_page_sends_by_itself_when_the_station_is_back(own_station: Serving, phone: Page) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    open_pads(phone, own_station.plain_url, day, "solo")
    read_wheels(phone, FIRST)
    kept(phone, "on disk", 7)
    own_station.kill()
    read_wheels(phone, SECOND)
    read_wheels(phone, THIRD)
    kept(phone, "waiting on this device", 2)
    own_station.start()
    kept(phone, "on disk", 9)
    expect(phone.locator("#outcome h2")).to_have_text("Draft 9 on disk")
    assert _read_in(own_station, day) == [list(FIRST.values()), list(SECOND.values()), list(THIRD.values())]


def test_an_answer_that_is_lost_on_the_way_does_not_keep_a_draft_twice(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    lost: list[str] = []

    def lose(route: object) -> None:
        if not lost:
            lost.append(route.request.url)  # pyright: ignore[reportAttributeAccessIssue]
            route.fetch()  # pyright: ignore[reportAttributeAccessIssue] - it arrives
            route.abort()  # pyright: ignore[reportAttributeAccessIssue] - its answer does not
        else:
            route.continue_()  # pyright: ignore[reportAttributeAccessIssue]

    phone.route("**/drafts", lose)
    read_wheels(phone, FIRST)
    kept(phone, "on disk", 7)
    assert len(lost) == 1
    assert _read_in(station, day) == [list(FIRST.values())]


def test_the_page_says_by_itself_that_the_station_is_gone_and_when_it_is_back(
    own_station: Serving, phone: Page
) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    open_pads(phone, own_station.plain_url, day, "solo")
    says, why = phone.locator("#net-says"), phone.locator("#why")
    expect(says).to_have_text("All on disk")
    own_station.freeze()  # its lines stay open: only asking tells
    expect(says).to_have_text("No station")
    expect(why).to_have_text("The station does not answer. Go on: drafts wait on this device.")
    expect(phone.locator("#net")).to_have_class("net away")
    own_station.thaw()
    expect(says).to_have_text("All on disk")
    expect(why).to_have_text("Tap a wheel and type what its pad shows.")
    own_station.kill()
    expect(says).to_have_text("No station")
    own_station.start()
    expect(says).to_have_text("All on disk")


def test_in_a_secure_context_the_page_opens_with_no_station_at_all(own_station: Serving, opening: Opening) -> None:
    phone = opening(service_workers="allow")
    day = own_station.import_day(EXAMPLE.read_text())
    open_pads(phone, own_station.url, day, "solo")
    address = f"/days/{day}/pads"
    expect(phone.locator("html")).to_have_attribute("data-offline", "ready")
    own_station.kill()
    phone.goto(f"{own_station.url}{address}")
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    phone.locator('[data-state="solo"]').click()
    read_wheels(phone, FIRST)
    kept(phone, "waiting on this device", 1)
    phone.goto(f"{own_station.url}/yard")
    expect(phone.locator("h1")).to_have_text("The station does not answer")
    expect(phone.locator("#waiting")).to_contain_text("1 draft waits on this device")
    own_station.start()
    phone.goto(f"{own_station.url}{address}")
    kept(phone, "on disk", 7)
    assert _read_in(own_station, day) == [list(FIRST.values())]


def test_the_first_draft_in_a_new_state_brings_the_state_along_when_the_station_is_back(
    own_station: Serving, phone: Page
) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    open_pads(phone, own_station.url, day, "solo")
    own_station.kill()
    phone.get_by_role("button", name="Same, with …").click()
    phone.get_by_role("button", name="apprentice aboard").click()
    read_wheels(phone, FIRST)
    kept(phone, "waiting on this device", 2)
    own_station.start()
    kept(phone, "on disk", 7)
    text = tomllib.loads(own_station.get(f"/api/v1/days/{day}"))
    assert text["states"]["solo_apprentice"]["cargo"] == ["baker", "apprentice"]
    assert text["drafts"][-1]["state"] == "solo_apprentice"
