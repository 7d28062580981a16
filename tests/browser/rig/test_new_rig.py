"""A new rig, one screen at a time: back and forward, undo, a drawing that follows, and words for what cannot be."""

from __future__ import annotations

import re
import tomllib

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations_in_both_looks
from tests.browser.conftest import Opening
from tests.browser.serving import Serving
from tests.browser.steps import new_rig, to_screen

SCREENS = ("stands", "ground", "distances", "ratings", "names", "pads")
SMALLEST = 44.0  # px: what a thumb taps on gravel; WCAG 2.2 AA, 2.5.8 asks for 24

_OFF = """() => [...document.querySelectorAll('main *')]
  .filter(node => node.checkVisibility() && node.getBoundingClientRect().right > innerWidth + 1)
  .map(node => node.outerHTML.slice(0, 100))"""

_COVERED = """() => [...document.querySelectorAll('#new :is(input, select, button, summary)')]
  .filter(node => node.checkVisibility())
  .filter(node => {
    document.activeElement?.blur();
    node.focus();
    const box = node.getBoundingClientRect();
    const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
    return !top || !(node.contains(top) || [...(node.labels ?? [])].some(label => label.contains(top)));
  })
  .map(node => node.outerHTML.slice(0, 100))"""

_SMALL = """least => ['button, select, summary, label:has(input)', 'input:not([type=radio], [type=checkbox])']
  .flatMap(kinds => [...document.querySelectorAll(`#new :is(${kinds})`)])
  .filter(node => node.checkVisibility())
  .filter(node => Math.min(node.getBoundingClientRect().height, node.getBoundingClientRect().width) < least)
  .map(node => node.outerHTML.slice(0, 100))"""


def screen(page: Page) -> str:
    """The one screen that is shown."""
    shown = [name for name in SCREENS if page.locator(f"#{name}").is_visible()]
    assert len(shown) == 1
    return shown[0]


def test_back_and_forward_of_the_browser_go_a_screen_back_and_on(station: Serving, phone: Page) -> None:
    new_rig(phone, station.url, "gooseneck")
    expect(phone.locator("#progress")).to_have_text("Step 3 of 6: distances")
    phone.locator("#f-wheelbase").fill("14 ft 8 in")
    phone.go_back()
    expect(phone.locator("#progress")).to_have_text("Step 2 of 6: the ground")
    assert screen(phone) == "ground"
    phone.go_back()
    expect(phone.locator("[name=stands][value=gooseneck]")).to_be_checked()
    phone.go_forward()
    phone.go_forward()
    expect(phone.locator("#f-wheelbase")).to_have_value("14 ft 8 in")
    assert screen(phone) == "distances"
    phone.reload()
    assert screen(phone) == "distances"
    expect(phone.locator("#f-wheelbase")).to_have_value("14 ft 8 in")
    phone.locator("#f-coupling_x").fill("170")
    phone.locator("#f-trailer_x").fill("250")
    phone.locator("#f-trailer_x").press("Enter")
    expect(phone.locator("#progress")).to_have_text("Step 4 of 6: ratings off the labels")
    phone.locator("#back").click()
    expect(phone.locator("#progress")).to_have_text("Step 3 of 6: distances")
    phone.go_back()
    expect(phone.locator("#progress")).to_have_text("Step 2 of 6: the ground")


def test_the_answers_of_a_screen_are_undone_and_put_back(station: Serving, phone: Page) -> None:
    new_rig(phone, station.url, "ball")
    for name, value in {"wheelbase": "142", "coupling_x": "190", "trailer_x": "172"}.items():
        phone.locator(f"#f-{name}").fill(value)
    undo = phone.locator("#undo")
    undo.click()
    expect(phone.locator("#f-trailer_x")).to_have_value("")
    expect(phone.get_by_role("status").filter(has_text="Undone: Distances.")).to_have_count(1)
    expect(undo).to_have_text("Put back")
    undo.press("Enter")
    expect(phone.locator("#f-trailer_x")).to_have_value("172")
    to_screen(phone, "ratings")
    undo.click()  # nothing was answered here: the screen before is opened and its answers are taken back
    assert screen(phone) == "distances"
    expect(phone.locator("#f-wheelbase")).to_have_value("")
    phone.reload()
    expect(phone.locator("#f-wheelbase")).to_have_value("")
    expect(phone.locator("[name=stands][value=ball]")).to_be_checked()


def test_the_drawing_marks_what_is_typed_and_moves_with_it(station: Serving, phone: Page) -> None:
    new_rig(phone, station.url, "ball")
    marked = phone.locator("#drawing text.marked")
    phone.locator("#f-wheelbase").fill("142")
    expect(marked).to_have_text("142 in")
    ball = phone.locator("#drawing .coupling")
    phone.locator("#f-coupling_x").fill("150")
    expect(marked).to_have_text("150 in")
    near = ball.get_attribute("cx")
    phone.locator("#f-coupling_x").fill("16 ft 8 in")
    expect(marked).to_have_text("200 in")
    assert float(ball.get_attribute("cx") or 0) != float(near or 0)
    expect(phone.locator("#drawing rect.tyre")).to_have_count(8)
    phone.locator("[name=dual]").check()
    expect(phone.locator("#drawing rect.tyre")).to_have_count(10)
    phone.get_by_text("Track, a third axle, springs").click()
    phone.locator("#f-track").fill("70")
    expect(marked).to_have_text("70 in")


def test_what_was_understood_stands_beside_the_field_and_warnings_wait_for_next(station: Serving, phone: Page) -> None:
    new_rig(phone, station.url, "ball")
    phone.locator("#f-wheelbase").fill("14 feet 2")
    expect(phone.locator("#h-wheelbase .means")).to_have_text("= 170 in")
    phone.locator("#f-coupling_x").fill("120")
    phone.locator("#f-trailer_x").fill("heavy")
    expect(phone.locator("#new .fault")).to_have_count(0)
    expect(phone.locator("#h-trailer_x .means")).to_have_count(0)
    phone.locator("#next").click()
    expect(phone.locator("#w-coupling_x")).to_contain_text("A ball lies behind the rear axle: more than 170 in")
    expect(phone.locator("#w-trailer_x")).to_have_text("Type a number, or a length with its unit.")
    expect(phone.locator("#f-coupling_x")).to_be_focused()
    assert violations_in_both_looks(phone) == []
    phone.locator("#f-coupling_x").fill("220")
    expect(phone.locator("#w-coupling_x")).to_be_hidden()
    phone.locator("#f-trailer_x").fill("172")
    to_screen(phone, "ratings")
    phone.locator("#f-front").fill("1.234,5 pounds")
    expect(phone.locator("#h-front .means")).to_have_text("= 1,234.5 lb")
    phone.locator("#f-rear").fill("2 tons")
    expect(phone.locator("#h-rear .means")).to_have_text("4000 lb, 4480 lb or 2000 kg?")
    phone.locator("#next").click()
    expect(phone.locator("#w-rear")).to_contain_text("a ton is short, long or metric. Type the one that is meant.")


def test_a_double_tap_and_the_same_answers_again_make_one_day(station: Serving, phone: Page) -> None:
    new_rig(phone, station.url, "trailer")
    phone.locator("#f-trailer_x").fill("172")
    to_screen(phone, "names")
    phone.locator("#f-trailer_name").fill("عربة 🚜")
    phone.route("**/pads*", lambda route: route.abort())  # the answer is lost on its way
    phone.locator("#go").dblclick()
    phone.wait_for_timeout(300)
    phone.unroute("**/pads*")
    phone.goto(f"{station.url}/days/new#names")
    phone.locator("#go").click()
    phone.wait_for_url(re.compile("/pads"))
    day = tomllib.loads(station.get(f"/api/v1/days/{phone.url.split('/')[-2]}"))
    assert [vehicle["name"] for vehicle in day["vehicles"].values()] == ["عربة 🚜"]
    assert station.get("/").count("<h2>عربة 🚜, ") == 1


@pytest.mark.parametrize(("width", "height", "text"), [(390, 844, "100%"), (320, 640, "100%"), (390, 844, "200%")])
def test_every_screen_fits_and_covers_nothing_that_has_the_focus(
    station: Serving, opening: Opening, width: int, height: int, text: str
) -> None:
    """WCAG 2.2 AA: 1.4.4, 1.4.10, 2.4.11 and 2.5.8."""
    page = opening({"width": width, "height": height})
    page.goto(f"{station.url}/days/new")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    page.evaluate("size => { document.documentElement.style.fontSize = size; }", text)
    answers = {"distances": {"wheelbase": "142", "coupling_x": "190", "trailer_x": "172"}, "names": {"name": "x" * 200}}
    page.locator("[name=stands][value=ball]").focus()
    page.keyboard.press("Space")
    for name in SCREENS:
        to_screen(page, name)
        for field, value in answers.get(name, {}).items():
            page.locator(f"#f-{field}").fill(value)
        assert page.evaluate(_OFF) == [], name
        assert page.evaluate(_COVERED) == [], name
        if text == "100%":
            assert page.evaluate(_SMALL, SMALLEST) == [], name
        if width == 390:
            assert violations_in_both_looks(page) == [], name
