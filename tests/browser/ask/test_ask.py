"""Ask the rig in a browser: dragged and typed, with and without the station, for everybody."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations_in_both_looks
from tests.browser.conftest import DESK, EXAMPLE, PHONE, TABLET, Opening
from tests.browser.serving import Serving

PENDING = "Reckoned in this page. The station does not answer; its word is pending."
SMALLEST = 44.0  # units of the screen: what a finger hits; ours are 48, and a marker of the drawing a little smaller


@pytest.fixture(scope="module")
def day(station: Serving) -> str:
    return station.import_day(EXAMPLE.read_text())


def open_ask(page: Page, station: Serving, day: str, state: str = "levelled") -> None:
    page.goto(f"{station.url}/days/{day}/ask?state={state}")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")


def open_part(page: Page, name: str) -> None:
    """Open what is closed until somebody asks for it: ``put-it-right``, ``keep-it``, ``hitch-or-bars`` and so on."""
    page.locator(f"#{name} > summary").click()


def word(page: Page, whose: str) -> None:
    """Whose word the numbers are: ``base``, ``page`` or ``station``."""
    expect(page.locator("body")).to_have_attribute("data-word", whose)


def figures(page: Page) -> dict[str, tuple[float, float]]:
    """Value and standard uncertainty of every row of the table."""
    rows: list[list[str]] = page.locator("#loads tr[data-value]").evaluate_all(
        "rows => rows.map(row => [row.dataset.id, row.dataset.value, row.dataset.u])"
    )
    return {id_: (float(value), float(u)) for id_, value, u in rows}


def told(station: Serving, day: str, body: dict[str, Any]) -> dict[str, tuple[float, float]]:
    """What the station says of the same, by the same names."""
    data = json.loads(station.post(f"/api/v1/days/{day}/whatif", body))
    found = {item["id"].removeprefix("what_if"): (item["value"], item["u"]) for item in data["findings"]}
    return {id_: pair for id_, pair in found.items() if id_.startswith("/")}


def hold_back(page: Page) -> None:
    """From now on the station's word does not come: what is shown is the page's own."""
    page.route("**/whatif", lambda route: route.abort())


def drag(page: Page, name: str, along: float, across: float = 0.0) -> None:
    """Drag a marker down and to the right by so many pixels."""
    box = page.locator(f'[data-item="{name}"] .ring').bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + across / 2, y + along / 2, steps=3)
    page.mouse.move(x + across, y + along, steps=3)


def place(page: Page, name: str) -> dict[str, float]:
    """Where the fields say that the chosen item stands."""
    button = page.locator(f'#aboard [data-name="{name}"] button')
    if button.get_attribute("aria-expanded") == "false":
        button.click()
    return {axis: float(page.locator(f"#editor-{axis}").input_value()) for axis in "xy"}


def close(one: dict[str, tuple[float, float]], other: dict[str, tuple[float, float]]) -> None:
    """The same figures, to the rounding of what was sent."""
    assert len(one) >= 9
    for id_, (value, u) in one.items():
        assert value == pytest.approx(other[id_][0], abs=1e-3), id_
        assert u == pytest.approx(other[id_][1], rel=3e-3, abs=1e-2), id_


def test_loads_follow_while_a_thing_is_dragged_and_the_station_has_the_last_word(
    station: Serving, day: str, desk: Page
) -> None:
    open_ask(desk, station, day)
    word(desk, "base")
    expect(desk.locator("#says")).to_have_text("As weighed")
    before = figures(desk)
    drag(desk, "baker", 120, -6)
    word(desk, "page")
    expect(desk.locator("#says")).to_have_text("About so")
    held = figures(desk)
    assert held["/truck/axle/2"][0] > before["/truck/axle/2"][0] + 20
    assert held["/truck/gross"][0] == pytest.approx(before["/truck/gross"][0], abs=2)
    desk.mouse.up()
    word(desk, "station")
    expect(desk.locator("#says")).to_have_text("So it would be")
    close(figures(desk), held)
    desk.get_by_role("button", name="As it was").click()
    word(desk, "base")
    close(figures(desk), before)


def test_the_pages_own_figures_are_the_stations(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day)
    hold_back(desk)
    drag(desk, "baker", 90)
    desk.mouse.up()
    at = place(desk, "baker")
    change: dict[str, Any] = {"baker": {"x": at["x"]}}
    desk.get_by_role("button", name="Done").click()
    desk.locator('#tray [data-name="apprentice"] button').click()
    desk.locator('#aboard [data-name="water"] button').click()
    desk.locator("#level").fill("80")
    desk.locator("summary", has_text="Put on something new").click()
    for field, text in (("mass", "420"), ("name", "flour"), ("x", "120"), ("y", "-14")):
        desk.locator(f"#new-{field}").fill(text)
    desk.locator("#new-on").select_option("oven")
    desk.get_by_role("button", name="Put it on").click()
    word(desk, "page")
    expect(desk.locator("#why")).to_contain_text("its word is pending")
    change["water"] = {"level": "80 %"}
    flour = {"name": "flour", "on": "oven", "mass": 420, "x": 120, "y": -14}
    body = {"from": "levelled", "put_on": ["apprentice"], "add": [flour], "change": change}
    close(figures(desk), told(station, day, body))
    desk.unroute("**/whatif")
    word(desk, "station")


def test_everything_is_done_from_the_keyboard(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day, "solo")
    marker = desk.locator('.item[data-item="baker"]')
    before = marker.get_attribute("aria-label") or ""
    assert "62 in back, 15 in left" in before
    marker.focus()
    for key in ("ArrowDown", "Shift+ArrowDown", "ArrowRight", "ArrowUp"):
        desk.keyboard.press(key)
    expect(marker).to_have_attribute("aria-label", re.compile("72 in back, 14 in left"))
    word(desk, "station")
    close(figures(desk), told(station, day, {"from": "solo", "change": {"baker": {"x": 72, "y": 14}}}))
    marker.focus()
    desk.keyboard.press("Delete")
    expect(marker).to_have_count(0)
    expect(desk.locator("#aboard-head")).to_be_focused()
    word(desk, "station")
    close(figures(desk), told(station, day, {"from": "solo", "remove": ["baker"]}))


def test_whatever_is_dragged_is_also_pressed_and_typed(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day, "solo")
    phone.locator('#aboard [data-name="baker"] button').click()
    phone.get_by_role("button", name="Back", exact=True).click()
    phone.get_by_role("button", name="Left", exact=True).click()
    expect(phone.locator("#editor-x")).to_have_value("63")
    expect(phone.locator("#editor-y")).to_have_value("16")
    phone.locator("#editor-x").fill("150")
    phone.keyboard.press("Enter")
    word(phone, "station")
    close(figures(phone), told(station, day, {"from": "solo", "change": {"baker": {"x": 150, "y": 16}}}))
    phone.locator("#editor-x").fill("far")
    phone.keyboard.press("Tab")
    expect(phone.locator("#editor-x")).to_have_attribute("aria-invalid", "true")


def test_a_chip_is_dropped_on_the_plan(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day, "solo")
    desk.locator("summary", has_text="Put on something new").click()
    desk.locator("#new-mass").fill("500")
    desk.locator(".row .chip.grip").scroll_into_view_if_needed()
    chip = desk.locator(".row .chip.grip").bounding_box()
    wheel = desk.locator("svg.rig .tyre").last.bounding_box()
    middle = desk.locator("svg.rig .body").bounding_box()
    assert chip
    assert wheel
    assert middle
    desk.mouse.move(chip["x"] + 20, chip["y"] + 20)
    desk.mouse.down()
    desk.mouse.move(middle["x"] + middle["width"] / 2, wheel["y"] + wheel["height"] / 2, steps=5)
    desk.mouse.up()
    word(desk, "station")
    expect(desk.locator('#aboard [data-name="load"]')).to_contain_text("500 lb, ")
    found = place(desk, "load")
    assert found["x"] == pytest.approx(170, abs=4)
    assert abs(found["y"]) <= 2


def test_a_trailer_is_hitched_and_unhitched(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day, "solo")
    open_part(desk, "hitch-or-bars")
    desk.get_by_role("button", name="Hitch Oven trailer to the ball of Crew-cab bread truck").click()
    expect(desk.locator("svg.rig .body")).to_have_count(2)
    word(desk, "station")
    close(figures(desk), told(station, day, {"from": "solo", "hitch": [{"at": "ball", "trailer": "oven"}]}))
    desk.locator('#aboard [data-name="water"] button').click()
    desk.locator("#level").fill("100")
    expect(desk.locator("#level-says")).to_contain_text("100 %, 500 lb")
    word(desk, "station")
    desk.get_by_role("button", name="Oven trailer with its bars as in levelled").click()
    expect(desk.get_by_role("button", name="Oven trailer without its bars")).to_be_visible()
    word(desk, "station")
    hitch = [{"at": "ball", "trailer": "oven", "distribution": {"as": "levelled"}}]
    full = {"water": {"level": "100 %"}}  # as it was filled before the bars were tensioned
    close(figures(desk), told(station, day, {"from": "solo", "hitch": hitch, "change": full}))
    expect(desk.locator('tr[data-id="/truck/axle/2"] td').nth(1)).to_have_text(re.compile(r"^\+"))
    expect(desk.locator('tr[data-id="/oven/gross"] td').nth(1)).to_have_text("new")
    desk.get_by_role("button", name="Unhitch Oven trailer").click()
    expect(desk.locator("svg.rig .body")).to_have_count(1)
    word(desk, "base")


def test_bars_are_let_go(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day, "levelled")
    open_part(desk, "hitch-or-bars")
    desk.get_by_role("button", name="Oven trailer without its bars").click()
    expect(desk.get_by_role("button", name="Oven trailer with its bars as in levelled")).to_be_visible()
    word(desk, "station")
    close(figures(desk), told(station, day, {"from": "levelled", "distribution": {"oven": "none"}}))


def test_without_the_station_the_page_goes_on_and_says_so(station: Serving, day: str, opening: Opening) -> None:
    page = opening(PHONE)
    open_ask(page, station, day)
    expect(page.locator("body")).to_have_attribute("data-all", "yes")
    page.context.set_offline(True)
    page.locator('[data-state="hitched"]').click()
    expect(page.locator("#state-is")).to_contain_text("Weighed")
    page.locator('[data-item="baker"]').focus()
    page.keyboard.press("Shift+ArrowDown")
    expect(page.locator("#why")).to_have_text(PENDING)
    word(page, "page")
    mine = figures(page)
    page.locator("#map").check()
    expect(page.locator("#map-says")).to_have_text("The station does not answer; try again when it does.")
    page.context.set_offline(False)
    word(page, "station")
    close(figures(page), mine)


def test_what_lifts_a_wheel_waits_for_the_station_and_what_tips_has_no_numbers(
    station: Serving, day: str, desk: Page
) -> None:
    open_ask(desk, station, day, "solo")
    desk.locator("summary", has_text="Put on something new").click()
    hold_back(desk)
    for field, text in (("mass", "9000"), ("x", "290")):
        desk.locator(f"#new-{field}").fill(text)
    desk.get_by_role("button", name="Put it on").click()
    expect(desk.locator("#says")).to_have_text("A wheel comes off the ground")
    assert figures(desk) == {}
    expect(desk.locator("#loads")).to_contain_text("waits for the station")
    desk.unroute("**/whatif")
    expect(desk.locator("#says")).to_have_text("No numbers")
    expect(desk.locator("#why")).to_contain_text("The supports left do not hold the rig up: it tips over")
    expect(desk.locator("#cautions-own")).to_contain_text("it tips over")
    assert figures(desk) == {}


def test_a_draft_from_elsewhere_is_told(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_ask(desk, station, day, "solo")
    expect(desk.locator("body")).to_have_attribute("data-hears", "yes")
    readings = {"truck/1L": ["p1", 2160], "truck/1R": ["p2", 2120], "truck/2L": ["p3", 1580], "truck/2R": ["p4", 1540]}
    station.post(f"/api/v1/days/{day}/drafts", {"key": "k", "state": "solo", "readings": readings})
    expect(desk.locator("#fresh")).to_contain_text("A draft was kept since this page was opened.")


def test_the_load_map_says_how_much_and_what_binds(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day, "solo")
    desk.locator("#map").check()
    expect(desk.locator("svg.rig .map path").first).to_be_attached()
    expect(desk.locator("#map-key li").first).to_contain_text("Crew-cab bread truck")
    desk.locator("#map-x").fill("85")
    desk.get_by_role("button", name="Ask for this place").click()
    said = desk.locator("#map-says")
    expect(said).to_contain_text("At 85 in back, in the middle: ")
    expect(said).to_contain_text("What binds: Crew-cab bread truck")
    before = said.inner_text()
    desk.locator("svg.rig .tyre").first.scroll_into_view_if_needed()
    box = desk.locator("svg.rig .tyre").first.bounding_box()
    body = desk.locator("svg.rig .body").bounding_box()
    assert box
    assert body
    desk.mouse.click(body["x"] + body["width"] / 2 + 30, box["y"] + box["height"] + 60)
    expect(said).not_to_have_text(before)
    expect(said).to_contain_text("right: ")


def test_what_is_too_heavy_is_put_right(station: Serving, day: str, desk: Page) -> None:
    open_ask(desk, station, day, "market")
    desk.locator("summary", has_text="Put on something new").click()
    for field, text in (("mass", "1100"), ("x", "150")):
        desk.locator(f"#new-{field}").fill(text)
    desk.locator("#new-on").select_option("oven")
    desk.get_by_role("button", name="Put it on").click()
    expect(desk.locator("#limits-says")).to_contain_text("outside")
    word(desk, "station")
    open_part(desk, "put-it-right")
    desk.get_by_role("button", name="Find the least").click()
    remedy = desk.locator("#right-says .note").first
    expect(remedy).to_contain_text("Leave load (1,100 lb) behind")
    expect(desk.locator("svg.rig .arrow")).not_to_have_count(0)
    remedy.get_by_role("button", name="Do it").click()
    word(desk, "station")
    expect(desk.locator("#limits-says")).not_to_contain_text("outside")
    desk.locator("#right-items label", has_text="water").locator("input").uncheck()
    desk.get_by_label("Nothing is left behind").check()
    desk.get_by_role("button", name="As it was").click()
    desk.get_by_role("button", name="Find the least").click()
    expect(desk.locator("#right-says .note.alarm")).to_contain_text("Oven trailer: GVWR")


def test_how_much_trailer_names_the_corner(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day, "solo")
    open_part(phone, "how-much-trailer")
    phone.locator("#trailer-gross").fill("9500")
    phone.get_by_role("button", name="How much?").click()
    says = phone.locator("#trailer-says")
    expect(says).to_contain_text("Corner: 10,000 lb at 12.5 %, between Crew-cab bread truck: heaviest trailer")
    expect(says).to_contain_text("9,500 lb keeps every limit at 95 %")
    shown = phone.locator("#trailer-drawing img")
    expect(shown).to_be_visible()
    assert shown.evaluate("image => image.decode().then(() => image.naturalWidth)") == 1600


def test_a_state_is_kept_and_found_at_the_bench(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_ask(desk, station, day)
    desk.locator('#tray [data-name="apprentice"] button').click()
    word(desk, "station")
    gross = figures(desk)["/truck/gross"][0]
    open_part(desk, "keep-it")
    desk.locator("#keep-name").fill("both aboard")
    desk.get_by_role("button", name="Keep the state").click()
    expect(desk.locator("#keep-says")).to_have_text("A name has letters, digits, - and _, no spaces.")
    desk.locator("#keep-name").fill("both_aboard")
    desk.get_by_role("button", name="Keep the state").click()
    expect(desk.locator("#keep-says")).to_contain_text("Kept as both_aboard")
    desk.get_by_role("link", name="Ask about it").click()
    expect(desk.locator("body")).to_have_attribute("data-ready", "yes")
    expect(desk.locator("#says")).to_have_text("As predicted")
    assert figures(desk)["/truck/gross"][0] == pytest.approx(gross, abs=1e-2)
    desk.get_by_role("link", name="At the bench").click()
    expect(desk.locator("#s-both_aboard")).to_contain_text("predicted")


def test_a_new_thing_is_kept_in_one_state_after_another(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_ask(phone, station, day)
    phone.get_by_text("Put on something new").click()
    phone.locator("#new-mass").fill("100")
    phone.locator("#new-x").fill("150")
    phone.get_by_role("button", name="Put it on").click()
    open_part(phone, "keep-it")
    for name in ("first", "second"):
        word(phone, "station")
        phone.locator("#keep-name").fill(name)
        phone.get_by_role("button", name="Keep the state").click()
        expect(phone.locator("#keep-says")).to_contain_text(f"Kept as {name}")
        phone.get_by_role("button", name="Back", exact=True).click()
        word(phone, "station")
    text = station.get(f"/api/v1/days/{day}")
    assert text.count("[cargo.load]") == 1
    assert "change.load.x" in text.partition("[states.second]")[2]
    phone.locator("#new-name").fill("apprentice")
    phone.get_by_role("button", name="Put it on").click()
    expect(phone.locator("#new-fault")).to_have_text("The day has something of that name already.")


PILE = """
[cargo.crate1]
on = "truck"
mass = "60 lb"
x = "140 in"
y = "0 in"

[cargo.crate2]
on = "truck"
mass = "70 lb"
x = "143 in"
y = "0 in"

[cargo.sack]
on = "truck"
mass = "30 lb"
"""


def test_what_lies_on_one_another_is_reached_by_tapping_again(station: Serving, phone: Page) -> None:
    text = EXAMPLE.read_text().replace("[states.solo]", f"{PILE}\n[states.solo]", 1)
    day = station.import_day(text.replace('cargo = ["baker"]', 'cargo = ["baker", "crate1", "crate2", "sack"]', 1))
    open_ask(phone, station, day, "solo")
    assert phone.locator('.item[data-item="sack"]').count() == 0  # nobody knows where it lies
    expect(phone.locator('#aboard [data-name="sack"]')).to_contain_text("place not known")
    names = phone.locator(".item .tag-of:not(.unshown)").all_text_contents()
    assert len(names) == 2  # the two of the pile show one name at most
    phone.locator('.item[data-item="crate1"]').scroll_into_view_if_needed()
    box = phone.locator('.item[data-item="crate1"]').bounding_box()
    assert box is not None
    head, pile = phone.locator("#editor-head"), ["crate1", "crate2"]
    phone.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(head).to_have_text(re.compile("^crate[12]$"))
    first = head.inner_text()
    pile.remove(first)
    for name in (pile[0], first):
        phone.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        expect(head).to_have_text(name)


def test_the_bars_the_ledger_and_what_may_be_set(station: Serving, day: str, phone: Page) -> None:
    open_ask(phone, station, day)
    for name in ("weight-distribution", "added-up", "may-i-drive", "put-it-right"):
        open_part(phone, name)
    phone.locator("#bars-part").fill("60")
    phone.get_by_role("button", name="Ask about the bars").click()
    told = json.loads(station.post(f"/api/v1/days/{day}/distribute", {"state": "levelled", "restore": "60 %"}))
    expect(phone.locator("#bars-says")).to_contain_text(f"Front axle load restored: {told['restored']['value']:.1f} %")
    expect(phone.locator("#bars-says")).to_contain_text(f"Set the couple to {told['setting']['couple']['value']:,.0f}")
    phone.get_by_role("button", name="Add it up").click()
    expect(phone.locator("#ledger-says caption")).to_have_text(["Crew-cab bread truck", "Oven trailer"])
    expect(phone.locator("#ledger-says")).to_contain_text("not explained")
    phone.get_by_role("button", name="Ask the rules").click()
    expect(phone.locator("#rules-says")).to_contain_text("The day chooses no rule set, so nothing is judged")
    phone.get_by_text("What may be set").click()
    phone.get_by_label("Coupling of Oven trailer").fill("-2")
    phone.get_by_role("button", name="Find the least").click()
    expect(phone.locator("#right-says")).to_contain_text("a number above zero, or nothing")
    phone.get_by_label("Coupling of Oven trailer").fill("2")
    phone.get_by_label("Couple of the bars of Oven trailer").fill("40000")
    with phone.expect_request(lambda request: request.url.endswith("/rebalance")) as asked:
        phone.get_by_role("button", name="Find the least").click()
    sent = asked.value.post_data_json
    assert sent is not None
    assert (sent["couple"], sent["shift"]) == ({"oven": ["0 lb*in", "40000 lb*in"]}, {"oven": [-2, 2]})
    expect(phone.locator("#right-says")).to_contain_text("nothing to do")


def test_axe_finds_nothing_while_things_are_asked(station: Serving, day: str, opening: Opening) -> None:
    page = opening(PHONE, color_scheme="light")
    open_ask(page, station, day, "market")
    for summary in page.locator("main details > summary").all():
        summary.click()
    page.locator('#aboard [data-name="water"] button').click()
    page.locator("#new-mass").fill("1100")
    page.locator("#new-on").select_option("oven")
    page.locator("#new-x").fill("150")
    page.get_by_role("button", name="Put it on").click()
    word(page, "station")
    page.locator("#map").check()
    expect(page.locator("#map-key li").first).to_be_visible()
    page.get_by_role("button", name="Find the least").click()
    expect(page.locator("#right-says .note").first).to_be_visible()
    page.get_by_role("button", name="How much?").click()
    expect(page.locator("#trailer-drawing img")).to_be_visible()
    assert violations_in_both_looks(page) == []


@pytest.mark.parametrize("size", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])
def test_nothing_sticks_out_and_what_is_pressed_is_large(
    station: Serving, day: str, opening: Opening, size: dict[str, int]
) -> None:
    page = opening(size)
    open_ask(page, station, day)
    page.locator("#map").check()
    expect(page.locator("#map-key li").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    small: list[str] = page.locator(
        "main :is(button, select, input:not([type=checkbox]), summary, .hit, .tick)"
    ).evaluate_all(
        f"""all => all.filter(one => one.getClientRects().length)
            .map(one => [one.id || one.textContent || one.className.baseVal, one.getBoundingClientRect()])
            .filter(([, box]) => box.height < {SMALLEST} || box.width < {SMALLEST}).map(([name]) => name)"""
    )
    assert small == []
