"""A display photographed at its wheel goes with the draft, through a dead station and a reload, once and whole."""

from __future__ import annotations

import hashlib
import io

from PIL import Image
from playwright.sync_api import FilePayload, Page, expect

from steelyard.dayfile import parse_day
from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.browser.steps import kept, key_in, open_pads, tap_wheel


def _png(shade: int) -> FilePayload:
    out = io.BytesIO()
    Image.new("RGB", (9, 6), (shade, 0, 0)).save(out, "PNG")
    return {"name": f"{shade}.png", "mimeType": "image/png", "buffer": out.getvalue()}


def _digest(shade: int) -> str:
    return hashlib.sha256(_png(shade)["buffer"]).hexdigest()


def _take(phone: Page, place: str, *shades: int) -> None:
    """Open the keypad of a wheel and photograph its display."""
    tap_wheel(phone, place)
    for shade in shades:
        phone.locator("#keypad-photo").set_input_files(_png(shade))


def _close(phone: Page) -> None:
    phone.locator("#keypad [data-act=close]").click()


def test_photos_of_wheels_go_with_the_draft_once_the_station_is_there(own_station: Serving, phone: Page) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    open_pads(phone, own_station.plain_url, day, "solo")
    _take(phone, "truck/1L", 1, 2)
    expect(phone.locator("#keypad-photo-says")).to_have_text("2 photos")
    key_in(phone, 2180)
    phone.locator("#keypad [data-act=next]").click()
    expect(phone.locator("#keypad-photo-says")).to_have_text("Photo")
    key_in(phone, 2100)
    _close(phone)
    _take(phone, "truck/2L", 3)  # which is not read in this draft
    _close(phone)
    expect(phone.locator("#keep-says")).to_have_text("2 of 4 wheels, solo, 2 photos")
    own_station.kill()
    phone.locator("#keep").click()
    kept(phone, "waiting on this device", 1)
    expect(phone.locator("#why")).to_have_text(
        "The photo of 2L of Crew-cab bread truck waits here: that was not read in this draft."
    )
    own_station.start()
    phone.reload()
    kept(phone, "on disk", 7)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    phone.locator("#more").click()
    expect(phone.locator("#photo-carried li")).to_have_count(1)
    phone.locator("#photo-carried button").click()
    expect(phone.locator("#photo-carried")).to_be_hidden()
    found = parse_day(own_station.get(f"/api/v1/days/{day}"), "day")
    assert [(item.draft, item.place, item.sha256, item.by) for item in found.photographs] == [
        (7, "truck/1L", _digest(1), ""),
        (7, "truck/1L", _digest(2), ""),
    ]
    assert all(item.at is not None for item in found.photographs)
    phone.goto(f"{own_station.plain_url}/days/{day}")
    phone.locator("summary", has_text="7. without a label").click()
    link = phone.get_by_role("link", name=f"Photo {_digest(2)[:8]} of draft 7, truck/1L")
    expect(link).to_be_visible()
    assert phone.request.get(f"{own_station.url}{link.get_attribute('href')}").body() == _png(2)["buffer"]


def test_what_is_no_photo_is_said_at_the_keypad(station: Serving, phone: Page) -> None:
    open_pads(phone, station.url, station.import_day(EXAMPLE.read_text()), "solo")
    tap_wheel(phone, "truck/1L")
    fault, choose = phone.locator("#keypad-photo-fault"), phone.locator("#keypad-photo")
    choose.set_input_files({"name": "a.svg", "mimeType": "image/svg+xml", "buffer": b"<svg/>"})
    expect(fault).to_have_text("A photo is a JPEG, PNG or WebP file.")
    choose.set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b""})
    expect(fault).to_have_text("That file is empty. Take the photo again.")
    choose.set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": bytes(5_200_000)})
    expect(fault).to_have_text("That photo has 5.2 MB, over 5 MB. Take a smaller one.")
    expect(phone.locator("#keypad-photo-says")).to_have_text("Photo")
    choose.set_input_files(_png(1))
    expect(fault).to_be_hidden()
