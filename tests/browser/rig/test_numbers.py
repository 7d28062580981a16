"""A number that a person types in any field of the station is read as it was meant, or it is asked."""

from __future__ import annotations

import re
import tomllib

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.browser.steps import new_rig, open_pads, tap_wheel, to_screen, wheel

COULD = "This could be 2500 or 2.5. Type the one that is meant."


def test_a_new_rig_takes_a_decimal_comma_and_asks_what_could_be_either(station: Serving, desk: Page) -> None:
    new_rig(desk, station.url, "alone", "kg mm")
    desk.get_by_label("Wheelbase").fill("3.2 m")
    to_screen(desk, "ratings")
    desk.get_by_label("GAWR front").fill("2.500")
    desk.get_by_label("GAWR rear").fill("2700,5")
    desk.get_by_label("GVWR").first.fill("2,500")
    expect(desk.locator("#ratings .fault")).to_have_count(0)
    desk.locator("#go").click()
    expect(desk.locator("#w-front")).to_have_text(COULD)
    expect(desk.locator("#w-gvwr")).to_have_text(COULD)
    expect(desk.locator("#w-rear")).to_have_count(0)
    expect(desk.get_by_label("GAWR front")).to_be_focused()
    desk.get_by_label("GAWR front").fill("2500")
    desk.get_by_label("GVWR").first.fill("4.600,5")
    desk.locator("#go").click()
    desk.wait_for_url(re.compile("/pads"))
    day = tomllib.loads(station.get(f"/api/v1/days/{desk.url.split('/')[-2]}"))
    tow = day["vehicles"]["tow"]
    assert [axle.get("rating") for axle in tow["axles"]] == ["2500 kg", "2700.5 kg"]
    assert (tow["axles"][1]["x"], tow["ratings"]["gvwr"]) == ("3200 mm", "4600.5 kg")


def test_a_correction_with_a_comma_is_asked(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    desk.goto(f"{station.url}/days/{day}?correct=1&place=truck/1L")
    desk.get_by_label("Why", exact=True).fill("misread")
    for typed, words in (
        ("2,180", "This could be 2180 or 2.18. Type the one that is meant."),
        ("lots", "Type what it"),
    ):
        desk.locator("#correct-value").fill(typed)
        desk.locator("#correct button.main").click()
        expect(desk.locator("#correct-fault")).to_contain_text(words)
    assert "corrections" not in tomllib.loads(station.get(f"/api/v1/days/{day}"))
    desk.locator("#correct-value").fill("2.200,0 pounds")
    expect(desk.locator("#correct .means")).to_have_text("= 2,200 lb")
    desk.locator("#correct button.main").click()
    expect(desk.locator("#correct")).to_be_hidden()
    assert tomllib.loads(station.get(f"/api/v1/days/{day}"))["corrections"][0]["value"] == 2200


def test_what_is_put_on_is_as_heavy_as_it_was_typed(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    desk.goto(f"{station.url}/days/{day}/ask")
    desk.get_by_text("Put on something new").click()
    desk.locator("#new-mass").fill("1,250")
    desk.locator("#new-x").fill("150,5")
    desk.get_by_role("button", name="Put it on").click()
    expect(desk.locator("#new-fault")).to_have_text("This could be 1250 or 1.25. Type the one that is meant.")
    expect(desk.locator("#new .means").first).to_have_text("1250 lb or 1.25 lb?")
    desk.locator("#new-mass").fill("125,5 pounds")
    expect(desk.locator("#new .means").first).to_have_text("= 125.5 lb")
    expect(desk.locator("#new-chip-says")).to_have_text("125.5 lb")
    desk.get_by_role("button", name="Put it on").click()
    expect(desk.locator("#editor-what")).to_contain_text("125.5 lb")
    expect(desk.locator("#editor-x")).to_have_value("150.5")
    desk.locator("#editor-x").fill("1.250")
    desk.locator("#editor-x").blur()
    expect(desk.locator("#editor-what")).to_have_text("This could be 1250 or 1.25. Type the one that is meant.")


@pytest.mark.parametrize(("typed", "read"), [("2,180", "2,180"), ("2.180", "2,180"), ("2180", "2,180")])
def test_at_the_pads_the_display_says_which_of_two_numbers_it_was(
    station: Serving, desk: Page, typed: str, read: str
) -> None:
    """2.18 lb stands on no display with steps of 20 lb."""
    day = station.import_day(EXAMPLE.read_text())
    open_pads(desk, station.url, day, "solo")
    tap_wheel(desk, "truck/1L")
    desk.keyboard.type(typed)
    expect(desk.locator("#keypad-shown")).to_have_text(typed)
    expect(desk.locator("#keypad-warn")).to_be_empty()
    desk.keyboard.press("Escape")
    expect(wheel(desk, "truck/1L").locator(".load")).to_have_text(read)


def test_at_the_pads_a_display_that_could_show_both_is_asked(station: Serving, desk: Page) -> None:
    fine = EXAMPLE.read_text().replace('division = "20 lb"', 'division = "0.02 lb"')
    day = station.import_day(fine)
    open_pads(desk, station.url, day, "solo")
    tap_wheel(desk, "truck/1L")
    desk.keyboard.type("2,180")
    desk.locator("#keypad [data-act=next]").click()
    expect(desk.locator("#keypad-warn")).to_have_text("This could be 2180 or 2.18. Type the one that is meant.")
    expect(desk.locator("#keypad h2")).to_contain_text("axle 1 left")
    desk.keyboard.press("Escape")
    expect(desk.locator("#keep-says")).to_have_text("1L could be two numbers, 2,180")


def test_a_row_typed_on_the_learn_page_is_asked(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    desk.goto(f"{station.url}/days/{day}/learn")
    desk.locator("#state").select_option("solo")
    desk.locator("#begin button.main").click()  # no indicator is there, so that rows are typed
    fields = desk.locator("#hand-fields input")
    expect(fields).to_have_count(4)
    for field in fields.all():
        field.fill("2180,0")
    fields.nth(2).fill("2,180")
    desk.locator("#by-hand button.main").click()
    expect(desk.locator("#hand-fault")).to_have_text(
        "2L of Crew-cab bread truck: This could be 2180 or 2.18. Type the one that is meant."
    )
    fields.nth(2).fill("1560 lbs")
    expect(desk.locator("#hand-fields .means").nth(2)).to_have_text("= 1,560 lb")
    desk.locator("#by-hand button.main").click()
    expect(desk.locator("#hand-fault")).to_be_empty()
    expect(desk.locator("#rows")).to_have_text("1")
