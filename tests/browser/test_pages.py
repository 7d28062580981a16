"""The other pages: the yard, the boxes that are taught, two days compared, other units, a trailer among the answers."""

from __future__ import annotations

import json
import tomllib

from playwright.sync_api import FilePayload, Page, expect

from tests.browser.conftest import EXAMPLE
from tests.browser.serving import ROOT, Serving
from tests.browser.steps import kept, new_rig, read_wheels, to_screen

STAGE = ("van", "wagon", "flatbed")


def test_a_weigh_day_file_is_opened_from_the_list_of_days(station: Serving, phone: Page) -> None:
    phone.goto(station.url)
    opening = phone.get_by_role("button", name="Open it")
    opening.click()
    expect(phone.locator("#import-said")).to_have_text("Choose a file first.")
    text = b"format = 1\n[vehicles.van]\nrole = 3\n"
    wrong: FilePayload = {"name": "wrong.toml", "mimeType": "application/toml", "buffer": text}
    phone.locator("#file").set_input_files(wrong)
    opening.click()
    expect(phone.locator("#import-said")).to_contain_text("vehicles.van.role: 3 is not known")
    phone.locator("#file").set_input_files(EXAMPLE)
    opening.click()
    expect(phone.locator("h1")).to_have_text("Quay bakery, before the market season")
    expect(phone.get_by_role("heading", name="Limits")).to_be_visible()


def test_a_box_is_taught_by_example(station: Serving, phone: Page) -> None:
    phone.goto(f"{station.url}/indicators")
    phone.get_by_label("Paste a few lines").fill("S 1 +002040 lb\nM 2 +002060 lb\nS 1 -000120 lb")
    phone.get_by_label("What its display showed").fill("2,040 lb steady, 2060 lb moving, -120 lb steady")
    phone.get_by_label("Name of the box").fill("greybox")
    phone.get_by_role("button", name="Propose a pattern").click()
    expect(phone.locator(".note.doubt").first).to_contain_text("'2,040' could be one number or two")
    phone.get_by_label("What its display showed").fill("2040 lb steady, 2060 lb moving, -120 lb steady")
    phone.get_by_role("button", name="Propose a pattern").click()
    expect(phone.locator(".card .read").first).to_be_visible()
    lines = phone.locator(".card .read").first.locator("li b").all_inner_texts()
    assert [line.split(": ")[-1] for line in lines] == ["2040, steady", "2060, moving", "-120, steady"]
    phone.get_by_role("button", name="Keep it as greybox").first.click()
    expect(phone.locator("#known ~ ul li")).to_contain_text("greybox version 1")


def test_lines_that_do_not_say_what_was_shown_are_answered_in_words(station: Serving, phone: Page) -> None:
    phone.goto(f"{station.url}/indicators")
    phone.get_by_label("Paste a few lines").fill("2040 lb")
    phone.get_by_label("What its display showed").fill("999 lb")
    phone.get_by_label("Name of the box").fill("other")
    phone.get_by_role("button", name="Propose a pattern").click()
    expect(phone.locator(".note.doubt").first).to_be_visible()
    expect(phone.locator(".read")).to_have_count(0)
    expect(phone.get_by_label("Paste a few lines")).to_have_value("2040 lb")


def test_what_the_yard_keeps_makes_the_next_day(station: Serving, phone: Page) -> None:
    station.import_day(EXAMPLE.read_text())
    phone.goto(f"{station.url}/yard")
    phone.get_by_role("button", name="Take in its vehicles and instruments").click()
    expect(phone.locator("#vehicles ~ ul")).to_contain_text("Crew-cab bread truck")
    phone.get_by_label("Crew-cab bread truck").check()
    phone.get_by_label("Oven trailer").check()
    phone.locator("#out ~ form").get_by_role("button", name="To the pads").click()
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    assert phone.locator("#states [data-state]").all_inner_texts() == ["truck solo", "hitched"]
    day = tomllib.loads(station.get(f"/api/v1/days/{phone.url.split('/')[4]}"))
    before = tomllib.loads(EXAMPLE.read_text())
    assert list(day["instruments"]) == list(before["instruments"])
    assert [axle["x"] for axle in day["vehicles"]["oven"]["axles"]] == ["172 in", "208 in"]


def test_a_new_rig_with_a_trailer_in_metric_units(station: Serving, phone: Page) -> None:
    new_rig(phone, station.url, "alone", "kg mm")
    expect(phone.locator("label[for=f-wheelbase]")).to_contain_text("mm")
    phone.locator("#f-wheelbase").fill("150")
    expect(phone.locator("#f-coupling_x")).to_be_hidden()
    phone.go_back()
    phone.go_back()
    phone.locator("[name=stands][value=hitch]").check()
    to_screen(phone, "distances")
    phone.locator("#f-coupling_x").fill("4900")
    expect(phone.locator("#f-trailer_x")).to_be_hidden()
    phone.locator("#back").click()
    phone.locator("#back").click()
    phone.locator("[name=stands][value=ball]").check()
    to_screen(phone, "distances")
    phone.locator("#f-trailer_x").fill("4100")
    phone.locator("#next").click()
    expect(phone.locator("#w-wheelbase")).to_contain_text("150 mm is not a wheelbase")
    expect(phone.locator("#f-wheelbase")).to_be_focused()
    expect(phone.locator("#f-coupling_x")).to_have_value("4900")
    phone.locator("#f-wheelbase").fill("3100")
    to_screen(phone, "ratings")
    phone.locator("#f-vertical").fill("120")
    to_screen(phone, "pads")
    for pad in phone.locator("[name^='instrument.']").all():  # of the yard, and with steps of pounds
        pad.uncheck()
    phone.locator("#f-pads").select_option("4")
    phone.locator("#go").click()
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    read_wheels(phone, {"tow/1L": 720, "tow/1R": 700, "tow/2L": 510, "tow/2R": 500})
    kept(phone, "on disk", 1)
    phone.locator('[data-state="hitched"]').click()
    read_wheels(phone, {"tow/1L": 690, "tow/1R": 670, "tow/2L": 580, "tow/2R": 570})
    expect(phone.locator("#outcome h2")).to_have_text("Draft 2 on disk")
    expect(phone.locator("#outcome")).to_contain_text("kg")


def test_two_days_of_one_vehicle_are_compared(station: Serving, desk: Page) -> None:
    first, second = (station.import_day((ROOT / "examples" / f"stage-{name}.toml").read_text()) for name in STAGE[:2])
    desk.goto(f"{station.url}/compare?day={second}&day={first}")
    desk.get_by_text("measures of all rigs").click()
    row = desk.locator("tr", has=desk.get_by_role("rowheader", name="Gross, towing vehicle, lb", exact=True))
    expect(row.locator("td b")).to_contain_text("+")
    picture = desk.get_by_role("img", name="rigs are compared")
    assert picture.evaluate("image => image.decode().then(() => image.naturalWidth)") > 1000
    desk.goto(f"{station.url}/days/{second}")
    desk.locator("#compare summary").click()
    desk.locator("#compare ul a").first.click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("2 rigs compared")


def test_ticked_days_are_compared_against_another_base(own_station: Serving, phone: Page) -> None:
    """Three days are ticked in the list, the second is made the base, and the trailer is said to be unchanged."""
    days = [own_station.import_day((ROOT / "examples" / f"stage-{name}.toml").read_text()) for name in STAGE]
    phone.goto(own_station.url)
    for day in days:
        phone.locator(f"label:has(input[name='day'][value='{day}'])").click()
    phone.get_by_role("button", name="Compare the ticked days").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("3 rigs compared")
    phone.get_by_text("Another base, other states").click()
    phone.get_by_label("Set the others against").select_option(label="Estate wagon")
    phone.get_by_label("Say that this is the same and unchanged").select_option(label="Stage trailer")
    phone.get_by_label("give or take, lb").fill("10")
    phone.get_by_role("button", name="Compare", exact=True).click()
    expect(phone.locator("#main")).to_contain_text("the others are set against it")
    expect(phone.locator("#main li", has_text="the others are set against it")).to_contain_text("Estate wagon")
    expect(phone.get_by_role("region", name="Said to be unchanged")).to_contain_text("nothing speaks against it")
    with phone.expect_download() as download:
        phone.get_by_role("link", name="Table for a spreadsheet").click()
    assert download.value.path().read_text(encoding="utf-8").startswith("measure,label")


def test_days_of_one_title_are_told_apart_wherever_they_are_chosen(own_station: Serving, phone: Page) -> None:
    days = [own_station.import_day(EXAMPLE.read_text()) for _ in range(2)]
    first, second = (json.loads(own_station.get("/api/v1/days?limit=2"))["days"][at]["created"] for at in (1, 0))
    begun = [f"begun {moment[:19].replace('T', ' ')}" for moment in (first, second)]
    phone.goto(own_station.url)
    for day, words in zip(days, begun, strict=True):
        card = phone.locator(".card", has=phone.locator(f"a[href='/days/{day}']"))
        expect(card).to_contain_text(f"6 drafts, {words} UTC")
        expect(
            card.get_by_role("link", name=f"At the pads : Quay bakery, before the market season, {words}")
        ).to_be_visible()
    phone.goto(f"{own_station.url}/yard")
    options = phone.locator("#day option").all_inner_texts()
    assert options[:2] == [f"Quay bakery, before the market season ({words} UTC)" for words in reversed(begun)]
    phone.goto(f"{own_station.url}/compare?day={days[0]}&day={days[1]}")
    for words in begun:
        expect(phone.get_by_role("link", name=f"Quay bakery, before the market season, {words}").first).to_be_visible()
    phone.get_by_text("measures of all rigs").click()
    table = phone.locator(".compared")
    assert table.evaluate("table => table.offsetWidth <= table.parentElement.clientWidth"), "every column is seen"


def test_every_correction_of_a_reading_stands_in_the_history_with_its_reason(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    desk.goto(f"{station.url}/days/{day}")

    def correct(value: str, reason: str) -> None:
        desk.locator(".older").evaluate("one => { one.open = true; }")
        draft = desk.locator(".older > details", has_text="2. truck, trailer on the ball")
        if draft.get_attribute("open") is None:
            draft.locator("summary").click()
        draft.get_by_role("button", name="Correct draft 2, truck/2L").click()
        if value:
            desk.get_by_label("What it should be, lb").fill(value)
        else:
            desk.get_by_label("Set it aside").check()
        desk.get_by_label("Why", exact=True).fill(reason)
        desk.get_by_role("button", name="Keep the correction").click()

    correct("2245", "misread")
    expect(desk.locator("#correct-fault")).to_contain_text("it can show 2240 or 2260 lb")
    desk.get_by_role("button", name="Close").click()
    for value, reason in (("2260", "misread"), ("", "half off the pad")):
        correct(value, reason)
        expect(desk.locator("#correct")).to_be_hidden()
        desk.wait_for_load_state()
    desk.locator(".older").evaluate("one => { one.open = true; }")
    draft = desk.locator(".older > details", has_text="2. truck, trailer on the ball")
    expect(draft.locator("summary .tag")).to_have_text("corrected")
    draft.locator("summary").click()
    expect(draft.locator("del")).to_have_text("was 2,240")
    expect(draft.locator("ins")).to_have_text("now set aside")
    lines = draft.locator("tr.correction").all_inner_texts()
    assert [line.split(" (")[0] for line in lines] == ["then 2,260: misread", "now set aside: half off the pad"]
    assert all("by this device, " in line for line in lines)
    corrections = tomllib.loads(station.get(f"/api/v1/days/{day}"))["corrections"]
    assert [item.get("value") for item in corrections] == [2260, None]


def test_the_bench_speaks_the_readers_units(station: Serving, desk: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    desk.goto(f"{station.url}/days/{day}")
    desk.get_by_role("link", name="In kg and mm").click()
    expect(desk.locator(".answer")).to_contain_text("at most 4,082 kg")
    expect(desk.locator("table caption").first).to_have_text("What is left, kg")


def test_the_day_the_ticket_and_a_drawing_are_there_at_a_click(station: Serving, desk: Page) -> None:
    text = EXAMPLE.read_text()
    day = station.import_day(text)
    desk.goto(f"{station.url}/days/{day}")
    heads: dict[str, str] = {}
    desk.get_by_text("Drawings", exact=False).first.click()
    for name in ("The day as a file", "Weigh ticket, A4", "Drawing: hitched"):
        href = desk.get_by_role("link", name=name).get_attribute("href")
        answer = desk.request.get(f"{station.url}{href}")
        assert answer.status == 200
        heads[name] = answer.body()[:5].decode()
        if name == "The day as a file":
            assert answer.body().decode() == text
    assert heads["Weigh ticket, A4"] == "%PDF-"
    assert heads["Drawing: hitched"] == "<svg "


def test_a_page_that_is_not_there_says_so_and_leads_back(station: Serving, phone: Page) -> None:
    answer = phone.goto(f"{station.url}/days/nosuchday/pads")
    assert answer is not None
    assert answer.status == 404
    expect(phone.locator("h1")).to_have_text("Nothing here")
    phone.get_by_role("link", name="All weigh days", exact=True).last.click()
    expect(phone.locator("h1")).to_have_text("Weigh days")


def test_nobody_but_the_station_itself_hands_out_codes(station: Serving, phone: Page) -> None:
    phone.goto(f"{station.url}/pair")
    expect(phone.locator("main")).to_contain_text("on this machine alone")
    expect(phone.locator(".bigcode")).to_have_count(0)


def test_a_long_history_comes_in_pages(station: Serving, desk: Page) -> None:
    draft = '\n[[drafts]]\nstate = "solo"\nlabel = "draft {}"\nreadings = {{ "truck/1L" = ["p1", {}] }}\n'
    text = EXAMPLE.read_text() + "".join(draft.format(number, 2160 + 20 * (number % 3)) for number in range(7, 91))
    day = station.import_day(text)
    desk.goto(f"{station.url}/days/{day}")
    assert len(desk.content()) < 250_000
    expect(desk.locator("details.draft")).to_have_count(60)
    desk.get_by_role("link", name="Earlier drafts").click()
    expect(desk.locator("details.draft")).to_have_count(30)
    expect(desk.locator("details.draft").last).to_contain_text("1. truck alone")
    expect(desk.get_by_role("link", name="Earlier drafts")).to_have_count(0)


def test_a_long_word_that_is_not_found_fits_a_phone(station: Serving, phone: Page) -> None:
    phone.goto(f"{station.url}/?search={'w' * 200}")
    said = phone.get_by_role("status").filter(has_text="Nothing found")
    expect(said).to_be_visible()
    assert said.evaluate("box => box.scrollWidth - box.clientWidth") <= 0


def test_tables_and_long_labels_fit_a_phone(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    draft = {"key": "long", "state": "solo", "label": "a letter " * 500, "readings": {"truck/1L": ["p1", 2160]}}
    station.post(f"/api/v1/days/{day}/drafts", draft)
    phone.goto(f"{station.url}/days/{day}")
    wide = "boxes => boxes.map(box => box.scrollWidth - box.clientWidth).filter(over => over > 0)"
    phone.locator(".bystate .sheet.first .figures summary").click()
    assert phone.locator(".bystate .sheet.first .two .scroll").count() > 1
    assert phone.locator(".bystate .sheet.first .scroll").evaluate_all(wide) == []
    phone.goto(f"{station.url}/days/{day}/pads")
    expect(phone.locator("#kept li").first).to_contain_text("a letter")
    assert phone.locator("#kept li").first.evaluate("row => row.offsetHeight") < 160


def test_the_chosen_state_does_not_lie_in_the_fade(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    phone.goto(f"{station.url}/days/{day}/pads")
    for state in ("levelled", "hitched", "solo", "levelled"):
        phone.locator(f'[data-state="{state}"]').click()
        strip = phone.locator("#states")
        right = "node => node.getBoundingClientRect().right"
        clear = strip.evaluate(right) - strip.locator("[aria-pressed=true]").evaluate(right)
        assert not strip.evaluate("strip => strip.classList.contains('more')") or clear >= 40, state
