"""What is typed on Ask, Learn, Indicators and New rig is there after a reload or another page, until it is used."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.browser.steps import new_rig, to_screen
from tests.waiting import until

AGED = (
    "(name) => { const left = JSON.parse(localStorage.getItem(name));"
    " for (const [, item] of left.read) item.when -= 3 * 3600e3;"
    " localStorage.setItem(name, JSON.stringify(left)); }"
)


@pytest.fixture(name="day", scope="module")
def _day(station: Serving) -> str:
    return station.import_day(EXAMPLE.read_text(encoding="utf-8"))


def _ready(page: Page, url: str) -> None:
    page.goto(url)
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")


def test_a_new_rig_outlives_a_reload_and_another_page_until_it_is_made(station: Serving, phone: Page) -> None:
    new = f"{station.url}/days/new"
    new_rig(phone, station.url, "ball", "kg mm")
    for name, value in {"wheelbase": "3200", "coupling_x": "4300", "trailer_x": "3900"}.items():
        phone.locator(f"#f-{name}").fill(value)
    to_screen(phone, "ratings")
    phone.locator("#f-front").fill("1500,5")
    phone.locator("#f-trailer_payload").fill("900")
    to_screen(phone, "pads")
    phone.locator("#f-pads").select_option("2")
    phone.reload()
    expect(phone.locator("#progress")).to_have_text("Step 6 of 6: pads")
    expect(phone.locator("#f-wheelbase")).to_have_value("3200")
    phone.goto(f"{station.url}/")
    phone.goto(f"{new}#ratings")
    expect(phone.locator("#f-front")).to_have_value("1500,5")
    expect(phone.locator("#f-trailer_payload")).to_have_value("900")
    expect(phone.locator("#f-trailer_payload")).to_be_visible()
    expect(phone.locator("#f-pads")).to_have_value("2")
    expect(phone.locator("[name=units][value='kg mm']")).to_be_checked()
    expect(phone.locator("form .aged")).to_have_count(0)
    expect(phone.locator("main .note")).to_contain_text("What was typed and not used is back: 8 fields.")
    phone.evaluate(AGED, "typed new rig")
    phone.reload()
    expect(phone.locator("form .aged")).to_have_count(8)
    expect(phone.locator("#h-front .aged")).to_have_text("typed 3 hours ago")
    expect(phone.locator("main .note")).to_contain_text("8 fields, the oldest typed 3 hours ago. Look whether it still")
    phone.locator("#f-front").fill("1500")
    expect(phone.locator("form .aged")).to_have_count(7)
    phone.locator("#go").click()
    expect(phone.locator("#keypad h2")).to_contain_text("axle 1 left")
    phone.goto(new)
    expect(phone.locator("#f-wheelbase")).to_have_value("")
    expect(phone.locator("main .note")).to_have_count(0)


def test_what_is_refused_stays_and_what_is_cleared_is_gone(station: Serving, phone: Page) -> None:
    new = f"{station.url}/days/new"
    new_rig(phone, station.url, "alone")
    phone.locator("#f-wheelbase").fill("9 in")
    phone.locator("#next").click()
    expect(phone.locator("#w-wheelbase")).to_contain_text("9 in is not a wheelbase, which has 39.4 to 472.4 in.")
    phone.reload()
    expect(phone.locator("#f-wheelbase")).to_have_value("9 in")
    phone.get_by_role("button", name="Clear what is back").click()
    expect(phone.locator("#f-wheelbase")).to_have_value("")
    phone.goto(new)
    expect(phone.locator("#f-wheelbase")).to_have_value("")


def test_what_is_typed_before_the_script_is_there_is_not_overwritten(station: Serving, phone: Page) -> None:
    """As with a slow network: the page can be typed in, and its script is still on its way."""
    new = f"{station.url}/days/new"
    new_rig(phone, station.url, "alone")
    phone.locator("#f-wheelbase").fill("150 in")
    to_screen(phone, "ratings")
    phone.locator("#f-front").fill("5000")
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    phone.route("**/static/new.js*", hold)
    phone.goto(new, wait_until="commit")
    phone.locator("#f-wheelbase").fill("122 in")
    phone.get_by_text("mm, kg").click()
    until(lambda: phone.wait_for_timeout(20) or held, "the script is asked for")
    held[0].continue_()
    expect(phone.locator("#f-front")).to_have_value("5000")
    expect(phone.locator("#f-wheelbase")).to_have_value("122 in")
    expect(phone.get_by_label("mm, kg")).to_be_checked()
    phone.unroute("**/static/new.js*")
    phone.goto(new)
    expect(phone.locator("#f-front")).to_have_value("5000")
    expect(phone.locator("#f-wheelbase")).to_have_value("122 in")


def test_ask_keeps_fields_and_what_was_changed(station: Serving, phone: Page, day: str) -> None:
    ask = f"{station.url}/days/{day}/ask?state=market"
    _ready(phone, ask)
    phone.locator("details:has(#new) > summary").click()
    phone.locator("#new-mass").fill("250,5")
    phone.locator("#new-name").fill("crate")
    phone.locator("#new-x").fill("80")
    phone.locator("#how-much-trailer > summary").click()
    phone.locator("#trailer-gross").fill("4100")
    _ready(phone, ask)
    for name, value in {"new-mass": "250,5", "new-name": "crate", "new-x": "80", "trailer-gross": "4100"}.items():
        expect(phone.locator(f"#{name}")).to_have_value(value)
    expect(phone.locator("#new-chip-says")).to_have_text("250.5 lb")
    phone.locator("#new-y").fill("0")
    phone.locator("#new button").first.click()
    expect(phone.locator('#aboard [data-name="crate"]')).to_be_visible()
    _ready(phone, ask)
    expect(phone.locator('#aboard [data-name="crate"]')).to_contain_text("250.5 lb, 80 in back")
    expect(phone.locator("#back")).to_contain_text("What was changed and not kept as a state is back: 1 thing.")
    expect(phone.locator("#new-mass")).to_have_value("")
    expect(phone.locator("#trailer-gross")).to_have_value("4100")
    phone.get_by_role("button", name="As it was weighed").click()
    expect(phone.locator('#aboard [data-name="crate"]')).to_have_count(0)
    _ready(phone, ask)
    expect(phone.locator("#back")).to_be_hidden()


def test_learn_keeps_the_row_that_is_being_typed(station: Serving, phone: Page, day: str) -> None:
    learn = f"{station.url}/days/{day}/learn"
    _ready(phone, learn)
    phone.get_by_text("A log that was kept elsewhere", exact=True).click()
    phone.locator("#upload-at").fill("222 in, 0 in")
    phone.locator("#state").select_option("solo")
    phone.locator("#pads-part summary").click()
    phone.locator("#begin #pads select").first.select_option(index=1)
    chosen = phone.locator("#begin #pads select").first.input_value()
    _ready(phone, learn)
    expect(phone.locator("#state")).to_have_value("solo")
    expect(phone.locator("#begin #pads select").first).to_have_value(chosen)
    expect(phone.locator("#upload-at")).to_have_value("222 in, 0 in")
    phone.get_by_role("button", name="Type rows by hand").click()
    inputs = phone.locator("#hand-fields input")
    inputs.first.fill("2160")
    _ready(phone, learn)
    expect(inputs.first).to_have_value("2160")
    for number in range(inputs.count()):
        inputs.nth(number).fill("2160")
    phone.get_by_role("button", name="Add the row").click()
    expect(phone.locator("#rows")).to_have_text("1")
    _ready(phone, learn)
    expect(phone.locator("#next-row")).to_have_text("Row 2")
    expect(inputs.first).to_have_value("")


def test_a_box_that_is_being_taught(station: Serving, phone: Page) -> None:
    page = f"{station.url}/indicators"
    phone.goto(page)
    phone.locator("#lines").fill("ST,GS,  2040 lb\nUS,GS,  2060 lb")
    phone.locator("#shown").fill("2040 lb steady\n2060 lb moving")
    phone.locator("#name").fill("yard-box")
    phone.goto(f"{station.url}/")
    phone.goto(page)
    expect(phone.locator("#shown")).to_have_value("2040 lb steady\n2060 lb moving")
    phone.get_by_role("button", name="Propose a pattern").click()
    expect(phone.locator(".read").first).to_contain_text("2040, steady")
    phone.goto(page)
    expect(phone.locator("#name")).to_have_value("yard-box")
    phone.get_by_role("button", name="Propose a pattern").click()
    phone.get_by_role("button", name="Keep it as yard-box").first.click()
    expect(phone.locator("#known ~ ul")).to_contain_text("yard-box")
    expect(phone).to_have_url(f"{page}#connected")  # now its script has forgotten what was used
    phone.goto(page)
    expect(phone.locator("#name")).to_have_value("")


def test_a_correction_that_is_being_typed_outlives_a_reload(station: Serving, phone: Page) -> None:
    bench = f"{station.url}/days/{station.import_day(EXAMPLE.read_text(encoding='utf-8'))}"
    asked = f"{bench}?correct=1&place=truck%2F1L"
    phone.goto(asked)
    phone.locator("#correct-value").fill("2160")
    phone.locator("#correct-reason").fill("read from the photograph")
    phone.goto(asked)
    expect(phone.locator("#correct-what")).to_contain_text("What was typed and not kept is back.")
    expect(phone.locator("#correct-value")).to_have_value("2160")
    expect(phone.locator("#correct-reason")).to_have_value("read from the photograph")
    phone.goto(f"{bench}?correct=1&place=truck%2F1R")
    expect(phone.locator("#correct-value")).to_have_value("")
    phone.goto(asked)
    phone.get_by_role("button", name="Keep the correction").click()
    expect(phone.locator("#correct")).to_be_hidden()
    phone.goto(asked)
    expect(phone.locator("#correct-value")).to_have_value("")
