"""What the station does not take: said as what it is, put right from the wheels, and in nobody's way."""

from __future__ import annotations

import json
import tomllib

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.browser.steps import kept, key_in, open_pads, read_wheels, tap_wheel, wheel

OFF = {"truck/1L": 2185, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580}
RIGHT = {"truck/1L": 2160, "truck/1R": 2120, "truck/2L": 1580, "truck/2R": 1560}
REASON = "truck/1L: 2185 is not a multiple of the division of 'p1', 20 lb; it can show 2180 or 2200 lb"
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cfc0000003010100c9fe92ef"
    "0000000049454e44ae426082"
)


def _of_another_day(page: Page) -> None:
    """The page as it was before its pads were put right elsewhere: it believes in divisions of 5 lb."""

    def older(route: Route) -> None:
        text = route.fetch().text().replace('"division": 20.0', '"division": 5.0')
        route.fulfill(body=text, content_type="text/html")

    page.route("**/pads", older)


def _drafts(station: Serving, day: str) -> list[dict[str, object]]:
    return tomllib.loads(station.get(f"/api/v1/days/{day}"))["drafts"][6:]


def test_a_refused_draft_is_asked_about_and_put_right_from_the_wheels(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    _of_another_day(phone)
    open_pads(phone, station.url, day, "solo")
    phone.get_by_role("button", name="Pads, note").click()
    phone.get_by_label("Label").fill("after lunch")
    phone.get_by_label("Note").fill("wind from the sea")
    phone.get_by_label("Photo of the whole draft").set_input_files(
        {"name": "p.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    phone.locator("#extras").get_by_role("button", name="Done").click()
    read_wheels(phone, OFF)
    question = phone.locator("#question")
    expect(question).to_contain_text(f"The station says: {REASON}.")
    expect(phone.locator("#net-says")).to_have_text("1 refused")
    phone.locator('[data-state="levelled"]').evaluate("tab => tab.click()")
    question.get_by_role("button", name="Correct it").click()
    expect(phone.locator('[data-state="solo"]')).to_have_attribute("aria-pressed", "true")
    for place, value in OFF.items():
        expect(wheel(phone, place).locator(".load")).to_have_text(f"{value:,}")
    phone.reload()  # not yet kept anew: still there, and asked about again
    expect(question).to_contain_text(REASON)
    question.get_by_role("button", name="Correct it").click()
    phone.get_by_role("button", name="Pads, note").click()
    expect(phone.get_by_label("Label")).to_have_value("after lunch")
    expect(phone.get_by_label("Note")).to_have_value("wind from the sea")
    expect(phone.locator("#photo-carried")).to_be_visible()
    phone.locator("#extras").get_by_role("button", name="Done").click()
    tap_wheel(phone, "truck/1L")
    key_in(phone, 2180)
    phone.locator("#keypad [data-act=close]").click()
    phone.locator("#keep").click()
    kept(phone, "on disk", 7)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    expect(phone.locator("#kept .refused")).to_have_count(0)
    (draft,) = _drafts(station, day)
    assert draft["readings"] == {"truck/1L": ["p1", 2180], "truck/1R": ["p2", 2100]} | {
        place: [pad, OFF[place]] for place, pad in (("truck/2L", "p3"), ("truck/2R", "p4"))
    }
    assert (draft["label"], draft["note"]) == ("after lunch", "wind from the sea")
    assert phone.request.get(f"{station.url}/api/v1/days/{day}/drafts/{draft['key']}/photo").body() == PIXEL


def test_after_a_refusal_the_wheels_know_the_day_as_it_is_now(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    _of_another_day(phone)
    open_pads(phone, station.url, day, "solo")
    phone.unroute("**/pads")
    read_wheels(phone, OFF)
    phone.locator("#question").get_by_role("button", name="Correct it").click()
    expect(phone.locator(".wheel-says:visible")).to_have_text("p1 shows steps of 20: 2,180 or 2,200, not 2,185.")
    expect(phone.locator("#keep")).to_have_attribute("aria-disabled", "true")


def test_a_refused_draft_holds_nothing_up_and_is_thrown_away_only_when_that_is_meant(
    station: Serving, phone: Page
) -> None:
    day = station.import_day(EXAMPLE.read_text())
    _of_another_day(phone)
    open_pads(phone, station.url, day, "solo")
    read_wheels(phone, OFF)
    question = phone.locator("#question")
    question.get_by_role("button", name="Leave it").click()
    read_wheels(phone, RIGHT)
    kept(phone, "on disk", 7)
    expect(phone.locator("#net-says")).to_have_text("1 refused")
    expect(phone.locator("#kept .reason")).to_have_text(f"The station says: {REASON}.")
    assert [list(draft["readings"].values()) for draft in _drafts(station, day)] == [  # pyright: ignore[reportAttributeAccessIssue]
        [[f"p{number}", value] for number, value in enumerate(RIGHT.values(), 1)]
    ]
    phone.goto(station.url)
    expect(phone.locator("#waiting")).to_contain_text("The station refused one thing that this device sent.")
    phone.locator("#waiting").get_by_role("link", name="To the pads").click()
    question.get_by_role("button", name="Throw away").click()
    expect(question).to_contain_text("There is no way back.")
    question.get_by_role("button", name="Keep it").click()
    kept(phone, "refused", 1)
    phone.locator("#kept").get_by_role("button", name="Throw away").click()
    question.get_by_role("button", name="Throw away").click()
    kept(phone, "refused", 0)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    assert len(_drafts(station, day)) == 1


@pytest.mark.parametrize(
    ("status", "code", "lamp", "words"),
    [
        (507, "full_disk", "Disk full", "The disk of the station is full. Free some space"),
        (403, "role_may_not", "May not keep", "said why. Go on; what waits here stays on this device"),
    ],
)
def test_a_station_that_cannot_keep_says_why_and_the_draft_goes_once_it_can(
    station: Serving, phone: Page, status: int, code: str, lamp: str, words: str
) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    refusal = json.dumps({"error": {"code": code, "message": "the database said why", "faults": []}})
    phone.route("**/drafts", lambda route: route.fulfill(status=status, body=refusal))
    read_wheels(phone, RIGHT)
    expect(phone.locator("#net-says")).to_have_text(f"{lamp}: 1 waiting here")
    expect(phone.locator("#outcome")).to_contain_text("Kept on this device")
    expect(phone.locator("#outcome")).to_contain_text(words)
    phone.reload()
    expect(phone.locator("#net-says")).to_have_text(f"{lamp}: 1 waiting here")
    phone.unroute("**/drafts")
    kept(phone, "on disk", 7)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    assert len(_drafts(station, day)) == 1


def test_a_database_that_is_away_is_said_before_anything_is_kept_and_the_draft_goes_once_it_is_back(
    station: Serving, phone: Page
) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    away = json.dumps({"error": {"code": "unreachable", "message": "the database cannot be reached", "faults": []}})
    for address in ("**/history?after=*", "**/drafts"):
        phone.route(address, lambda route: route.fulfill(status=503, body=away))
    expect(phone.locator("#net-says")).to_have_text("Database away")
    expect(phone.get_by_text("The database of the station is away. Go on: drafts wait on this device")).to_be_visible()
    read_wheels(phone, RIGHT)
    expect(phone.locator("#net-says")).to_have_text("Database away: 1 waiting here")
    expect(phone.locator("#outcome")).to_contain_text("what waits here goes by itself once the database is back")
    phone.unroute_all()
    kept(phone, "on disk", 7)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    assert len(_drafts(station, day)) == 1


def test_a_fault_of_the_program_over_one_draft_does_not_hold_up_the_next(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    fault = json.dumps({"error": {"code": "internal", "message": "this is a fault of the program", "faults": []}})
    phone.route("**/drafts", lambda route: route.fulfill(status=500, body=fault), times=3)
    read_wheels(phone, RIGHT)
    question = phone.locator("#question")
    expect(question).to_contain_text("The station says: this is a fault of the program.")
    question.get_by_role("button", name="Leave it").click()
    phone.locator("#kept").get_by_role("button", name="Send again").click()
    kept(phone, "on disk", 7)


def test_two_devices_that_make_a_state_of_one_name_lose_no_draft(station: Serving, phone: Page) -> None:
    """The first one's state stands; the same is joined, and what is something else gets a name of its own."""
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    phone.context.set_offline(True)
    for cargo, readings in (("apprentice aboard", RIGHT), ("no baker", {**RIGHT, "truck/1L": 2100})):
        phone.locator('[data-state="solo"]').click()
        phone.get_by_role("button", name="Same, with …").click()
        phone.get_by_role("button", name=cargo).click()
        read_wheels(phone, readings)
    kept(phone, "waiting on this device", 4)
    for name, cargo in (("solo_apprentice", ["baker", "apprentice"]), ("solo_no_baker", ["apprentice"])):
        station.post(f"/api/v1/days/{day}/states", {"key": name, "name": name, "vehicles": ["truck"], "cargo": cargo})
    phone.context.set_offline(False)
    question = phone.locator("#question")
    expect(question).to_contain_text("Another device made a state solo_no_baker that is something else.")
    question.get_by_role("button", name="Name mine solo_no_baker_2").click()
    kept(phone, "on disk", 8)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    expect(phone.locator('[data-state="solo_no_baker_2"]')).to_have_attribute("aria-pressed", "true")
    # a question about the readings, which are invented, may stand before it
    phone.locator('[data-state="solo_no_baker"]').evaluate("tab => tab.click()")
    expect(phone.locator("#state-is")).to_have_text("Crew-cab bread truck; aboard: apprentice")
    assert [draft["state"] for draft in _drafts(station, day)] == ["solo_apprentice", "solo_no_baker_2"]
    states = tomllib.loads(station.get(f"/api/v1/days/{day}"))["states"]
    assert states["solo_no_baker_2"].get("cargo", []) == []
    assert states["solo_no_baker"]["cargo"] == ["apprentice"]


def test_a_state_that_was_made_from_a_renamed_one_is_kept_too(station: Serving, phone: Page) -> None:
    """It goes after the one that it was made from, and says of it no more than before."""
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    phone.context.set_offline(True)
    for cargo in ("no baker", "apprentice aboard"):
        phone.get_by_role("button", name="Same, with …").click()
        phone.get_by_role("button", name=cargo).click()
    taken = {"key": "first", "name": "solo_no_baker", "vehicles": ["truck"], "cargo": ["apprentice"]}
    station.post(f"/api/v1/days/{day}/states", taken)
    phone.context.set_offline(False)
    phone.locator("#question").get_by_role("button", name="Name mine solo_no_baker_2").click()
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    states = tomllib.loads(station.get(f"/api/v1/days/{day}"))["states"]
    assert states["solo_no_baker_2"].get("cargo", []) == []
    assert states["solo_no_baker_apprentice"]["cargo"] == ["apprentice"]
