"""Weighing by hand at the pads: from the first visit to the draft on disk and what it means."""

from __future__ import annotations

import json
import tomllib

from playwright.sync_api import Page, expect

from tests.browser.conftest import EXAMPLE, Opening
from tests.browser.serving import Serving
from tests.browser.steps import kept, key_in, open_pads, read_wheels, tap_wheel, wheel


def _drafts(station: Serving, day: str) -> list[dict[str, object]]:
    return tomllib.loads(station.get(f"/api/v1/days/{day}"))["drafts"]


def test_a_first_visit_finds_the_bundled_day(station: Serving, phone: Page) -> None:
    phone.goto(station.url)
    card = phone.locator(".card.first")
    expect(card).to_contain_text("Quay bakery")
    expect(card).to_contain_text("6 drafts")
    card.get_by_role("link", name="At the pads").click()
    expect(phone.locator("#kept li")).to_have_count(6)
    expect(phone.get_by_role("button", name="Crew-cab bread truck, axle 1 left", exact=False).first).to_be_visible()


def test_the_first_state_of_a_day_comes_from_another_device(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text().partition("[states.")[0])
    open_pads(phone, station.url, day)
    station.post(f"/api/v1/days/{day}/states", {"key": "first", "name": "alone", "vehicles": ["truck"]})
    expect(phone.locator('[data-state="alone"]')).to_have_attribute("aria-pressed", "true")
    read_wheels(phone, {"truck/1L": 2180})
    expect(phone.locator("#keep-says")).to_have_text("1 of 4 wheels, alone")


def test_a_draft_typed_on_the_keypad_is_on_disk_and_says_what_it_changed(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    read_wheels(phone, {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580})
    kept(phone, "on disk", 7)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    expect(phone.locator("#outcome h2")).to_have_text("Draft 7 on disk")
    expect(phone.locator("#outcome")).to_contain_text("within")
    draft = _drafts(station, day)[-1]
    assert draft["state"] == "solo"
    assert draft["readings"] == {
        "truck/1L": ["p1", 2180],
        "truck/1R": ["p2", 2100],
        "truck/2L": ["p3", 1560],
        "truck/2R": ["p4", 1580],
    }
    assert len(str(draft["key"])) == 32


def test_label_note_and_photo_go_with_the_draft(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "hitched")
    phone.get_by_role("button", name="Pads, note").click()
    phone.get_by_label("Label").fill("after lunch")
    phone.get_by_label("Note").fill("wind from the sea")
    phone.get_by_label("Photo of the whole draft").set_input_files(
        {"name": "p.png", "mimeType": "image/png", "buffer": bytes.fromhex(_ONE_PIXEL)}
    )
    phone.locator("#extras").get_by_role("button", name="Done").click()
    read_wheels(phone, {"truck/1L": 2020, "truck/1R": 1940, "truck/2L": 2240, "truck/2R": 2240})
    kept(phone, "on disk", 7)
    draft = _drafts(station, day)[-1]
    assert (draft["label"], draft["note"]) == ("after lunch", "wind from the sea")
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    phone.goto(f"{station.url}/days/{day}")
    phone.locator("summary", has_text="after lunch").click()
    expect(phone.get_by_role("link", name="Photo").first).to_be_visible()


def test_a_reading_that_does_not_fit_is_questioned_while_the_rig_stands_there(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "hitched")
    read_wheels(phone, {"truck/1L": 2020, "truck/1R": 1940, "truck/2L": 2620, "truck/2R": 2240})
    question = phone.locator("#question")
    expect(question).to_be_visible()
    expect(question).to_contain_text("2L of Crew-cab bread truck on p3 reads 2,620 lb")
    expect(question).to_contain_text("2,260 read as 2,620")
    question.get_by_role("button", name="Correct it").click()
    expect(phone.locator("#correct")).to_be_visible()
    phone.get_by_label("What it should be, lb").fill("2260")
    phone.get_by_label("Why", exact=True).fill("digits swapped")
    phone.get_by_role("button", name="Keep the correction").click()
    expect(phone.locator("#agree ~ p").first).to_contain_text("Yes, within their stated doubt")
    kept_day = tomllib.loads(station.get(f"/api/v1/days/{day}"))
    correction = kept_day["corrections"][0]
    assert correction["draft"] in (7, kept_day["drafts"][6]["key"])
    assert (correction["place"], correction["value"]) == ("truck/2L", 2260)
    phone.locator("#history ~ details summary").first.click()
    expect(phone.locator("#history ~ details").first).to_contain_text("2,620")
    expect(phone.locator("#history ~ details").first).to_contain_text("digits swapped")


def test_a_state_is_made_in_two_taps(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "hitched")
    phone.get_by_role("button", name="Same, with …").click()
    phone.get_by_role("button", name="water full").click()
    expect(phone.locator('[data-state="hitched_water_full"]')).to_have_attribute("aria-pressed", "true")
    read_wheels(phone, {"oven/1L": 2120, "oven/1R": 1900, "oven/2L": 2040, "oven/2R": 1880})
    kept(phone, "on disk", 7)
    text = tomllib.loads(station.get(f"/api/v1/days/{day}"))
    assert text["states"]["hitched_water_full"]["change"]["water"]["level"] == "100 %"
    assert text["drafts"][-1]["state"] == "hitched_water_full"


def test_a_typing_slip_is_pointed_out_on_the_keypad(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    tap_wheel(phone, "truck/1L")
    key_in(phone, 2185)
    expect(phone.locator("#sum")).to_have_text("2,185")
    expect(phone.locator("#keypad-warn")).to_be_empty()  # whoever is typing is not interrupted
    expect(phone.locator("#says")).to_have_text("By hand")
    phone.locator("#keypad [data-act=next]").click()
    expect(phone.locator("#keypad h2")).to_contain_text("axle 1 left")
    expect(phone.locator("#keypad-warn")).to_have_text("p1 shows steps of 20: 2,180 or 2,200, not 2,185.")
    phone.locator("#keypad [data-act=clear]").click()
    key_in(phone, 20000)
    expect(phone.locator("#keypad-warn")).to_have_text("p1 carries 15,000 lb at most, so it cannot show 20,000.")
    phone.locator("#keypad [data-act=clear]").click()
    key_in(phone, 3400)
    expect(phone.locator("#keypad-warn")).to_be_empty()
    phone.locator("#keypad [data-act=next]").click()
    expect(phone.locator("#keypad h2")).to_contain_text("axle 1 right")
    expect(phone.locator("#keypad-warn")).to_have_text("1L is over this wheel's rating of 3,300.")


def test_what_no_pad_can_show_is_not_kept_and_the_wheel_says_what_would_be_right(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    tap_wheel(phone, "truck/1R")
    key_in(phone, 2185)
    phone.locator("#keypad [data-act=close]").click()
    says = phone.locator(".wheel-says:visible")
    expect(says).to_have_text("p2 shows steps of 20: 2,180 or 2,200, not 2,185.")
    plate, words = (place.bounding_box() for place in (wheel(phone, "truck/1R").locator(".plate"), says))
    assert plate is not None
    assert words is not None
    assert 0 <= plate["x"] - (words["x"] + words["width"]) < 16, "it stands beside its wheel and covers no plate"
    assert words["y"] < plate["y"] + plate["height"] / 2 < words["y"] + words["height"]
    expect(phone.locator("#keep")).to_have_attribute("aria-disabled", "true")
    expect(phone.locator("#keep-says")).to_have_text("1R cannot be 2,185")
    phone.locator("#keep").click(force=True)
    expect(phone.locator("#why")).to_contain_text("Not kept: p2 shows steps of 20: 2,180 or 2,200, not 2,185.")
    kept(phone, "on disk", 6)
    expect(phone.locator("#net-says")).to_have_text("All on disk")
    tap_wheel(phone, "truck/1R")
    key_in(phone, 2180)
    phone.locator("#keypad [data-act=close]").click()
    expect(says).to_have_count(0)
    phone.locator("#keep").click()
    kept(phone, "on disk", 7)
    assert _drafts(station, day)[-1]["readings"] == {"truck/1R": ["p2", 2180]}


class Counted:
    """A hand whose taps are counted, and whose keys are: each digit of a field and of a reading is one."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def tap(self, selector: str) -> None:
        """One tap."""
        self.count += 1
        self.page.locator(selector).first.click()

    def field(self, name: str, value: str) -> None:
        """A field of the form, which has the focus already, or takes a tap more."""
        field = self.page.locator(f"#f-{name}")
        if not field.evaluate("field => field === document.activeElement"):
            self.count += 1
        self.count += len(value)
        field.press_sequentially(value)

    def reading(self, value: int) -> None:
        """A figure on the keypad."""
        self.count += len(str(value))
        key_in(self.page, value)

    def front_axle(self) -> None:
        """Both readings of the front axle, and the draft kept."""
        expect(self.page.locator("#keypad h2")).to_contain_text("axle 1 left")
        self.reading(1320)
        self.tap("#keypad [data-act=next]")
        self.reading(1300)
        self.tap("#keypad [data-act=keep]")
        expect(self.page.locator("#outcome h2")).to_have_text("Draft 1 on disk")
        expect(self.page.locator("#outcome")).to_contain_text("1 within, nothing outside or undecided")


def test_a_new_rig_comes_to_its_first_verdict_in_few_taps_and_keys(station: Serving, phone: Page) -> None:
    """From the list of days to a verdict on the front axle 22 taps and keys are promised, and 12 for a rig of the yard.

    Each tap counts, that on New rig and that on Keep draft too, and each digit, of the rating too; readings come from
    the keypad, not from a cable. What is left at its default is not tapped, and scrolling is not counted.
    """
    phone.goto(station.url)
    hand = Counted(phone)
    hand.tap("a[href='/days/new']")
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    hand.tap("label:has([name=stands][value=alone])")
    hand.tap("label:has([name=surface][value=gravel])")
    hand.field("wheelbase", "142")
    hand.tap("#next")
    hand.field("front", "3000")
    hand.tap("#go")
    hand.front_axle()
    print(f"a new rig: {hand.count} taps and keys")
    assert hand.count == 22
    day = phone.url.split("/")[-2]
    assert tomllib.loads(station.get(f"/api/v1/days/{day}"))["site"]["surface"] == "gravel"
    phone.reload()
    kept(phone, "on disk", 1)
    expect(phone.locator("#keypad")).to_be_hidden()

    phone.goto(f"{station.url}/yard")
    phone.get_by_role("button", name="Take in its vehicles and instruments").click()
    phone.goto(station.url)
    hand = Counted(phone)
    hand.tap("a[href='/days/new']")
    hand.tap(".rigcard:has-text('tow')")
    hand.front_axle()
    print(f"a rig of the yard: {hand.count} taps and keys")
    assert hand.count == 12


def test_a_new_rig_with_a_trailer_comes_to_its_first_verdict_too(station: Serving, phone: Page) -> None:
    phone.goto(station.url)
    hand = Counted(phone)
    hand.tap("a[href='/days/new']")
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    hand.tap("label:has([name=stands][value=ball])")
    hand.tap("label:has([name=surface][value=concrete])")
    hand.field("wheelbase", "150")
    hand.field("coupling_x", "200")
    hand.field("trailer_x", "180")
    hand.tap("#next")
    hand.field("front", "3000")
    hand.tap("#go")
    hand.front_axle()
    assert hand.count <= 30


def test_a_new_state_is_two_taps_away_however_many_there_are(station: Serving, phone: Page) -> None:
    more = "".join(f'\n[states.state_number_{number}]\nvehicles = ["truck"]\n' for number in range(6))
    text = EXAMPLE.read_text().replace("[[drafts]]", f"{more}\n[[drafts]]", 1)
    day = station.import_day(text)
    open_pads(phone, station.url, day)
    maker = phone.get_by_role("button", name="Same, with …")
    for state in ("state_number_5", "solo"):
        phone.locator(f'[data-state="{state}"]').click()
        chosen = phone.locator(f'[data-state="{state}"]').bounding_box()
        box = maker.bounding_box()
        assert chosen is not None
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 390
        assert box["y"] + box["height"] <= 844
        assert box["height"] >= 48
        assert chosen["x"] >= 0
        assert chosen["x"] + chosen["width"] <= box["x"], "the chosen state is seen"
    maker.click()
    phone.get_by_role("button", name="no baker").click()
    expect(phone.locator('[data-state="solo_no_baker"]')).to_have_attribute("aria-pressed", "true")


def test_a_state_that_another_device_makes_is_there_without_a_reload(station: Serving, opening: Opening) -> None:
    day = station.import_day(EXAMPLE.read_text())
    first, second = opening(), opening()
    for page in (first, second):
        open_pads(page, station.url, day, "solo")
    second.evaluate("window.untouched = true")
    first.get_by_role("button", name="Same, with …").click()
    first.get_by_role("button", name="apprentice aboard").click()
    tab = second.locator('[data-state="solo_apprentice"]')
    expect(tab).to_have_count(1)
    tab.click()
    expect(second.locator("#state-is")).to_have_text("Crew-cab bread truck; aboard: baker, apprentice")
    read_wheels(second, {"truck/1L": 2240, "truck/1R": 2180, "truck/2L": 1560, "truck/2R": 1580})
    kept(second, "on disk", 7)
    assert _drafts(station, day)[-1]["state"] == "solo_apprentice"
    station.post(f"/api/v1/days/{day}/states", {"key": "s", "name": "oven_alone", "vehicles": ["oven"]})
    second.locator('[data-state="oven_alone"]').click()
    expect(second.locator("[data-rig]:not([hidden]) .wheel")).to_have_count(5)  # four wheels and the stand
    assert second.evaluate("window.untouched") is True


def test_findings_that_take_long_follow_by_themselves(station: Serving, phone: Page) -> None:
    day = station.import_day(EXAMPLE.read_text())
    open_pads(phone, station.url, day, "solo")
    words = "the findings of 7 drafts are still being worked out, for 20 s so far; every draft is kept"
    late = json.dumps({"error": {"code": "reckoning", "message": words, "faults": []}})
    phone.route("**/findings", lambda route: route.fulfill(status=504, body=late))
    read_wheels(phone, {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580})
    expect(phone.locator("#outcome")).to_contain_text(f"Findings follow: {words}.")
    phone.unroute("**/findings")
    draft = {"key": "other", "state": "solo", "readings": {"truck/1L": ["p1", 2180]}}
    station.post(f"/api/v1/days/{day}/drafts", draft)
    expect(phone.locator("#outcome h2")).to_have_text("Draft 7 on disk")
    expect(phone.locator("#outcome")).to_contain_text("within, nothing outside or undecided")


def test_two_phones_keep_drafts_at_once_and_hear_of_each_other(station: Serving, opening: Opening) -> None:
    day = station.import_day(EXAMPLE.read_text())
    first, second, bench = opening(), opening(), opening()
    for page in (first, second):
        open_pads(page, station.url, day, "solo")
    bench.goto(f"{station.url}/days/{day}")
    read_wheels(first, {"truck/1L": 2180, "truck/1R": 2100, "truck/2L": 1560, "truck/2R": 1580})
    read_wheels(second, {"truck/1L": 2160, "truck/1R": 2120, "truck/2L": 1560, "truck/2R": 1560})
    for page in (first, second):
        kept(page, "on disk", 8)
        expect(page.locator("#kept li", has_text="7. solo")).to_have_count(1)
        expect(page.locator("#kept li", has_text="8. solo")).to_have_count(1)
    expect(bench.locator("#fresh")).to_contain_text("2 new drafts since this page was opened")
    assert len(_drafts(station, day)) == 8


def test_the_bench_puts_trouble_first(station: Serving, desk: Page) -> None:
    text = EXAMPLE.read_text().replace('gvwr = "9000 lb"', 'gvwr = "8600 lb"').replace("11400 lb", "8452 lb")
    day = station.import_day(text)
    desk.goto(f"{station.url}/days/{day}")
    desk.locator("details.trouble > summary").click()
    marks = desk.locator("details.trouble .word").all_inner_texts()
    ranks = [{"OUTSIDE": 0, "UNDECIDED": 1}[mark.upper()] for mark in marks]
    assert 0 in ranks
    assert 1 in ranks
    assert ranks == sorted(ranks)
    found = json.loads(station.get(f"/api/v1/days/{day}/findings"))
    worst = [item for item in found["verdicts"] if item["verdict"] == "outside"]
    assert len(worst) == ranks.count(0)
    expect(desk.locator(".answer .word")).to_have_text("outside")
    expect(desk.locator(".answer")).to_contain_text(desk.locator("details.trouble .what").first.inner_text())
    desk.locator(".bystate .sheet.first .figures summary").click()
    drawing = desk.locator(".bystate .sheet.first .drawing img")
    assert drawing.evaluate("image => image.decode().then(() => image.naturalWidth)") > 0


_ONE_PIXEL = (
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cfc0000003010100c9fe92ef"
    "0000000049454e44ae426082"
)
