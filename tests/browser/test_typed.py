"""What is typed and not kept is still there after a reload, on another page and back, and in another state."""

from __future__ import annotations

import base64
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.browser.steps import kept, key_in, open_pads, read_wheels, tap_wheel, wheel

PNG = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
WHEELS = {"truck/1L": 2160, "truck/1R": 2120}


@pytest.fixture(name="day")
def _day(station: Serving) -> str:
    return station.import_day(EXAMPLE.read_text(encoding="utf-8"))


def _stand(page: Page, readings: dict[str, int] = WHEELS) -> None:
    for place, value in readings.items():
        expect(wheel(page, place).locator(".load")).to_have_text(f"{value:,}")


def _type(page: Page) -> None:
    read_wheels(page, WHEELS)
    page.keyboard.press("Escape")
    _stand(page)


def test_readings_outlive_a_reload_and_another_page_until_they_are_kept(
    station: Serving, phone: Page, day: str
) -> None:
    open_pads(phone, station.url, day, "solo")
    _type(phone)
    phone.reload()
    _stand(phone)
    expect(phone.locator('[data-state="solo"]')).to_have_attribute("aria-pressed", "true")
    expect(phone.locator("#why")).to_have_text("What was typed and not kept is back: 2 wheels.")
    phone.get_by_role("link", name="To the bench").click()
    expect(phone).to_have_url(f"{station.url}/days/{day}")
    phone.go_back()
    _stand(phone)
    open_pads(phone, station.url, day)
    _stand(phone)
    phone.locator("#keep").click()
    kept(phone, "on disk", 7)
    phone.reload()
    expect(phone.locator("#keep-says")).to_have_text("no wheel read yet")
    drafts: list[dict[str, Any]] = tomllib.loads(station.get(f"/api/v1/days/{day}"))["drafts"]
    assert {place: value for place, (_, value) in drafts[-1]["readings"].items()} == WHEELS


def test_every_single_key_is_on_the_device(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "solo")
    tap_wheel(phone, "truck/1L")
    for typed, stands in ((2, "2"), (1, "21"), (6, "216"), (0, "2,160")):
        key_in(phone, typed)
        left = json.loads(phone.evaluate(f"localStorage.getItem('typed {day}')"))
        assert [item["text"] for _, item in left["read"]] == [stands.replace(",", "")]
    phone.reload()
    _stand(phone, {"truck/1L": 2160})


def test_label_and_note_come_back_too(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "solo")
    _type(phone)
    phone.locator("#more").click()
    phone.locator("#label").fill("second round")
    phone.locator("#note").fill("wind from the left")
    phone.reload()
    _stand(phone)
    expect(phone.locator("#label")).to_have_value("second round")
    expect(phone.locator("#note")).to_have_value("wind from the left")


def test_another_state_takes_nothing_away(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "market")
    read_wheels(phone, {"oven/1L": 3000})
    phone.keyboard.press("Escape")
    phone.locator('[data-state="solo"]').click()
    expect(phone.locator("#keep-says")).to_have_text("no wheel read yet")
    phone.reload()
    phone.locator('[data-state="market"]').click()
    _stand(phone, {"oven/1L": 3000})


def test_they_are_thrown_away_on_a_second_question_only(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "solo")
    phone.locator("#more").click()
    expect(phone.locator("#throw-away")).to_be_hidden()
    phone.keyboard.press("Escape")
    _type(phone)
    phone.locator("#more").click()
    phone.locator("#throw-away").click()
    expect(phone.locator("#question-body")).to_have_text("2 wheels are typed and not kept. This device forgets them.")
    phone.get_by_role("button", name="Leave them there").click()
    _stand(phone)
    phone.locator("#more").click()
    phone.locator("#throw-away").click()
    phone.get_by_role("button", name="Throw them away").click()
    expect(phone.locator("#keep-says")).to_have_text("no wheel read yet")
    phone.reload()
    expect(phone.locator("#keep-says")).to_have_text("no wheel read yet")


def test_old_readings_are_asked_about(station: Serving, phone: Page, day: str) -> None:
    open_pads(phone, station.url, day, "solo")
    _type(phone)
    phone.evaluate(
        "(name) => { const left = JSON.parse(localStorage.getItem(name));"
        " localStorage.setItem(name, JSON.stringify({ ...left, when: left.when - 3 * 3600e3 })); }",
        f"typed {day}",
    )
    phone.reload()
    words = "2 wheels were typed 3 hours ago and not kept. They are back in their places."
    expect(phone.locator("#question-body")).to_have_text(words)
    phone.get_by_role("button", name="Throw them away").click()
    expect(phone.locator("#keep-says")).to_have_text("no wheel read yet")


def test_a_photo_that_was_chosen_goes_with_the_draft_after_a_reload(
    station: Serving, phone: Page, day: str, tmp_path: Path
) -> None:
    picture = tmp_path / "display.png"
    picture.write_bytes(PNG)
    open_pads(phone, station.url, day, "solo")
    _type(phone)
    phone.locator("#more").click()
    phone.locator("#photo").set_input_files(picture)
    expect(phone.locator("#photo-carried span.grow")).to_be_visible()  # the device has it
    phone.reload()
    _stand(phone)
    phone.locator("#more").click()
    expect(phone.locator("#photo-carried span.grow")).to_have_text("Photo of the whole draft, chosen 0 minutes ago")
    phone.keyboard.press("Escape")
    with phone.expect_request(lambda request: "/photographs?" in request.url) as sent:
        phone.locator("#keep").click()
    assert sent.value.method == "POST"
    kept(phone, "on disk", 7)
    phone.reload()
    phone.locator("#more").click()
    expect(phone.locator("#photo-carried")).to_be_hidden()
