"""What the hand does on Ask: the sign that follows it stays in sight, and every act is undone, done again and kept."""

from __future__ import annotations

import json
import re
import tomllib

import pytest
from playwright.sync_api import Page, Route, ViewportSize, expect

from tests.browser.ask.test_ask import drag, figures, open_ask, open_part, word
from tests.browser.conftest import EXAMPLE, PHONE
from tests.browser.serving import Serving
from tests.waiting import until

WIDE: ViewportSize = {"width": 1440, "height": 900}
FOUR = 4.0  # screens of a phone

CHEST = """
[cargo.chest]
on = "truck"
mass = "180 lb"
x = "150 in"
y = "-12 in"
name = "صندوق الأدوات"
movable = true

[states.chested]
vehicles = ["truck"]
cargo = ["baker", "chest"]

"""

_COVERED = """() => {
  const board = document.getElementById("board"), found = [];
  for (const one of document.querySelectorAll("main :is(a, button, input, select, summary, .item)")) {
    if (!one.checkVisibility() || board.contains(one)) continue;
    one.focus();
    const its = one.getBoundingClientRect(), mine = board.getBoundingClientRect();
    if (document.activeElement === one && its.top < mine.bottom - 1 && its.bottom > mine.top + 1)
      found.push(one.outerHTML.slice(0, 80));
  }
  return found;
}"""


@pytest.fixture(name="day", scope="module")
def _day(station: Serving) -> str:
    return station.import_day(EXAMPLE.read_text(encoding="utf-8"))


def _seen(page: Page) -> bool:
    """Whether the whole sign is on screen."""
    return page.locator("#board").evaluate(
        "board => board.getBoundingClientRect().top >= -1 && board.getBoundingClientRect().bottom <= innerHeight"
    )


@pytest.mark.parametrize("size", [PHONE, WIDE], ids=["phone", "desk"])
def test_the_sign_says_the_worst_and_the_load_on_the_ball_at_all_times(
    station: Serving, day: str, phone: Page, size: ViewportSize
) -> None:
    phone.set_viewport_size(size)
    open_ask(phone, station, day)
    worst, ball = phone.locator("#worst .verdict-line"), phone.locator("#ball")
    expect(worst).to_contain_text("within")
    expect(worst.locator("svg.sign")).to_have_count(1)
    expect(worst.locator(".room")).to_have_text(re.compile(r"[\d,.]+\s\S+ left$"))
    expect(ball).to_contain_text(re.compile(r"Oven trailer coupling load 888 ± \d+ lb"))
    high = phone.evaluate("document.documentElement.scrollHeight")
    if size == PHONE:
        assert high <= FOUR * size["height"]
    for part in range(5):
        phone.evaluate(f"scrollTo(0, {part / 4} * document.documentElement.scrollHeight)")
        assert _seen(phone), f"the sign is out of sight {part} quarters down"
    phone.locator('[data-item="water"]').scroll_into_view_if_needed()
    before = ball.inner_text()
    drag(phone, "water", -60)
    word(phone, "page")
    assert ball.inner_text() != before  # under the finger still
    assert _seen(phone)
    phone.mouse.up()
    word(phone, "station")
    expect(phone.locator("#spoken")).to_contain_text("So it would be. within: ")


def test_outside_is_told_with_how_much_by_shape_and_colour(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day)
    calm = phone.locator("#board").evaluate("board => getComputedStyle(board).borderColor")
    open_part(phone, "put-on")
    for field, text in (("mass", "1100"), ("x", "150")):
        phone.locator(f"#new-{field}").fill(text)
    phone.locator("#new-on").select_option("oven")
    phone.get_by_role("button", name="Put it on").click()
    expect(phone.locator("#board")).to_have_class("board outside")
    expect(phone.locator("#worst .room")).to_contain_text("too much")
    assert phone.locator("#board").evaluate("board => getComputedStyle(board).borderColor") != calm
    word(phone, "station")
    rows = phone.locator("#trouble li .what").all_text_contents()
    assert phone.locator("#worst .what").inner_text() == rows[0]


@pytest.mark.parametrize("large", ["100%", "200%"])
def test_nothing_with_the_focus_lies_under_the_sign(station: Serving, day: str, phone: Page, large: str) -> None:
    open_ask(phone, station, day)
    phone.evaluate("size => { document.documentElement.style.fontSize = size; }", large)
    for summary in phone.locator("main details > summary").all():
        summary.evaluate("node => { node.parentElement.open = true; }")
    phone.locator('#aboard [data-name="water"] button').click()
    phone.keyboard.press("Tab")  # from now on the focus is shown
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert phone.locator("#board").evaluate("board => board.clientHeight") <= PHONE["height"] / 3
    assert phone.evaluate(_COVERED) == []


def test_every_act_is_undone_and_done_again_after_a_reload_too(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day)
    undo, redo = desk.locator("#undo"), desk.locator("#redo")
    expect(undo).to_have_attribute("aria-disabled", "true")
    stages = [figures(desk)]

    def done(words: str) -> None:
        expect(undo).to_have_attribute("title", words)
        word(desk, "station")
        stages.append(figures(desk))

    drag(desk, "baker", 60)
    desk.mouse.up()
    done("move baker")
    desk.locator('#tray [data-name="apprentice"] button').click()
    done("put on apprentice")
    desk.locator('#aboard [data-name="water"] button').click()
    desk.locator("#level").fill("80")
    done("fill water")
    open_part(desk, "hitch-or-bars")
    desk.get_by_role("button", name="Oven trailer without its bars").click()
    done("hitch or bars")
    assert len({str(stage) for stage in stages}) == 5
    desk.locator("body").press("Control+z")
    expect(desk.locator("#spoken")).to_have_text("Undone: hitch or bars.")
    expect(undo).to_have_attribute("title", "fill water")
    _is(desk, stages[3])
    open_ask(desk, station, day)  # the page comes anew, and knows what was done
    for words, stage in (("fill water", 2), ("put on apprentice", 1), ("move baker", 0)):
        expect(undo).to_have_attribute("title", words)
        undo.click()
        _is(desk, stages[stage])
    expect(undo).to_have_attribute("aria-disabled", "true")
    for stage in (1, 2, 3):
        redo.click()
        _is(desk, stages[stage])
    desk.locator("body").press("Control+Shift+z")
    _is(desk, stages[4])
    desk.locator('[data-state="solo"]').click()
    expect(desk.locator("svg.rig .body")).to_have_count(1)
    undo.click()  # another state takes nothing away
    _is(desk, stages[4])
    desk.get_by_role("button", name="As it was", exact=True).click()
    undo.click()
    _is(desk, stages[4])


def _is(page: Page, stage: dict[str, tuple[float, float]]) -> None:
    """The page shows these figures, as the station or the page itself has them."""
    expect(page.locator('#loads [data-id="/truck/axle/2"]')).to_have_attribute(
        "data-value", re.compile(f"^{stage['/truck/axle/2'][0]:.2f}"[:-2])
    )


def test_a_figure_is_kept_while_it_is_typed(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day, "solo")
    phone.locator('#aboard [data-name="baker"] button').click()
    phone.locator("#editor-x").press("Control+a")
    phone.keyboard.type("5 ft 4 in")
    open_ask(phone, station, day, "solo")  # nobody left the field
    expect(phone.locator('#aboard [data-name="baker"]')).to_contain_text("64 in back")
    open_ask(phone, station, day, "market")  # another page, another state: what was done is still there to be had
    phone.locator("#undo").click()
    expect(phone.locator('#aboard [data-name="baker"]')).to_contain_text("64 in back")


def test_what_is_put_on_has_any_name_and_gets_another(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text(encoding="utf-8"))
    open_ask(phone, station, day, "solo")
    open_part(phone, "put-on")
    for field, text in (("mass", "100"), ("name", "Große Kiste 🧰"), ("x", "120")):
        phone.locator(f"#new-{field}").fill(text)
    phone.get_by_role("button", name="Put it on").click()
    expect(phone.locator("#aboard")).to_contain_text("Große Kiste 🧰")
    name = phone.locator("#editor-name")
    name.fill("baker")
    expect(phone.locator("#editor-fault")).to_have_text("Something else is called so.")
    long = "صندوق " * 33
    name.fill(long)
    name.press("Enter")
    thing = phone.locator('#aboard [data-name="load"] b')
    expect(thing).to_have_text(long.strip())
    assert thing.evaluate("node => node.dir") == "auto"
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    word(phone, "station")
    open_part(phone, "keep-it")
    phone.locator("#keep-name").fill("loaded")
    phone.get_by_role("button", name="Keep the state").click()
    expect(phone.locator("#keep-says")).to_contain_text("Kept as loaded")
    cargo = tomllib.loads(station.get(f"/api/v1/days/{day}"))["cargo"]["load"]
    assert (cargo["name"], cargo["x"]) == (long.strip(), "120 in")


def test_put_right_is_shown_before_and_after_and_undone(station: Serving, phone: Page) -> None:
    text = EXAMPLE.read_text(encoding="utf-8").replace('rating = "6600 lb"', 'rating = "3270 lb"')
    day = station.import_day(text.replace("[states.solo]", f"{CHEST}[states.solo]", 1))
    phone.goto(f"{station.url}/days/{day}/ask?state=chested#put-it-right")
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    assert phone.locator("#put-it-right").evaluate("part => part.open")
    expect(phone.locator("#board")).not_to_have_class("board within")
    phone.get_by_label("Nothing is left behind").check()
    phone.get_by_role("button", name="Find the least").click()
    remedy = phone.locator("#right-says .note").first
    expect(remedy.locator("li")).to_have_text(
        re.compile(r"^Move صندوق الأدوات \(180 lb\) \d+ in forward: to \d+ in back, 12 in right$")
    )
    expect(remedy.locator(".verdict-line")).to_have_count(2)
    expect(remedy.locator(".verdict-line").last).to_contain_text("within")
    before = figures(phone)
    remedy.get_by_role("button", name="Do it").click()
    word(phone, "station")
    expect(phone.locator("#board")).to_have_class("board within")
    for kind in ("was", "will", "moved-by"):
        expect(phone.locator(f"svg.rig .{kind}")).to_have_count(1)
    expect(phone.locator("svg.rig .moved-by")).to_have_text(re.compile(r"^\d+ in forward$"))
    phone.locator("#undo").click()
    word(phone, "base")
    assert figures(phone) == before
    expect(phone.locator("svg.rig .arrow")).to_have_count(0)


def test_a_question_has_an_address(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day)
    open_part(phone, "how-much-trailer")
    expect(phone).to_have_url(re.compile(r"state=levelled#how-much-trailer$"))
    phone.reload()
    expect(phone.locator("#trailer-gross")).to_be_visible()
    open_part(phone, "how-much-trailer")
    expect(phone).to_have_url(re.compile(r"state=levelled$"))
    tabs = phone.locator("#loads-tabs")
    expect(phone.locator('#loads [data-id="/oven/wheel/1L"]')).to_be_hidden()
    tabs.get_by_role("button", name="Oven trailer").click()
    expect(phone.locator('#loads [data-id="/oven/wheel/1L"]')).to_be_visible()
    expect(phone.locator('#loads [data-id="/truck/gross"]')).to_be_hidden()


def test_the_state_that_was_asked_for_last_is_shown(station: Serving, day: str, phone: Page) -> None:
    """Answers come in another order than they were asked for."""
    held: dict[str, Route] = {}

    def hold(route: Route) -> None:
        asked = route.request.post_data_json
        assert asked is not None
        held.setdefault(asked["from"], route)

    phone.route("**/influence", hold)
    open_ask(phone, station, day)
    for name in ("hitched", "market"):
        phone.locator(f'[data-state="{name}"]').click()
        until(lambda wanted=name: phone.wait_for_timeout(20) or wanted in held, f"{name} is asked for")
    held["market"].continue_()
    expect(phone.locator("#state-is")).to_contain_text("Predicted")
    with phone.expect_response(lambda answer: "hitched" in (answer.request.post_data or "")):
        held["hitched"].continue_()
    expect(phone.locator('[data-state="market"]')).to_have_attribute("aria-pressed", "true")
    phone.unroute("**/influence")


def test_nonsense_on_the_device_stops_nothing(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day)
    phone.evaluate(
        "([name, left]) => localStorage.setItem(name, left)",
        [f"asked {day}", json.dumps({**_NONSENSE, "read": [["x", {"on": "truck"}], ["baker", None]], "when": 1})],
    )
    open_ask(phone, station, day)
    word(phone, "base")
    expect(phone.locator("#undo")).to_have_attribute("aria-disabled", "true")


_NONSENSE = {
    "state": "levelled",
    "coupled": {"hitch": [], "unhitch": [], "bars": {}},
    "past": [None, {"state": "solo", "coupled": {"hitch": []}, "read": [1]}, 5],
    "next": "no",
}
