"""Live loads: the simulated rig drives on, settles, is kept, and a pulled cable is said in words."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.browser.steps import kept


@pytest.fixture(scope="module")
def simulated(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """A station with the bundled day's rig on virtual pads."""
    serving = Serving(tmp_path_factory.mktemp("simulated") / "station.db", simulate=EXAMPLE)
    serving.start()
    yield serving
    serving.kill()


def _open(simulated: Serving, page: Page) -> None:
    page.goto(simulated.url)
    page.get_by_role("link", name="At the pads : Quay bakery, before the market season, simulated").click()


def test_a_live_draft_is_kept_once_it_is_steady(simulated: Serving, phone: Page) -> None:
    _open(simulated, phone)
    says = phone.locator("#says")
    simulated.post("/api/v1/simulation", {"drive": None})
    expect(says).to_have_text("Empty")
    expect(phone.locator("#keep-says")).to_have_text("the pads are empty")
    simulated.post("/api/v1/simulation", {"drive": 2})
    expect(says).to_have_text("Unsteady")
    expect(says).to_have_text("Steady")
    phone.locator("#keep").click()
    kept(phone, "on disk", 1)
    expect(phone.locator("#outcome h2")).to_have_text("Draft 1 on disk")
    day = phone.url.split("/")[4]
    draft = tomllib.loads(simulated.get(f"/api/v1/days/{day}"))["drafts"][0]
    bundled = tomllib.loads(Path(EXAMPLE).read_text())["drafts"]
    near = [
        item for item in bundled if item["state"] == draft["state"] and set(item["readings"]) == set(draft["readings"])
    ]
    assert near, "the draft shows the wheels of one of the day's own drafts"
    for place, (pad, value) in draft["readings"].items():
        assert any(item["readings"][place][0] == pad and abs(item["readings"][place][1] - value) <= 40 for item in near)


def test_a_pulled_cable_is_said_in_words_and_is_no_reading(simulated: Serving, phone: Page) -> None:
    simulated.post("/api/v1/simulation", {"drive": 1})
    _open(simulated, phone)
    expect(phone.locator("#says")).to_have_text("Steady")
    simulated.post("/api/v1/simulation", {"plugged": False})
    expect(phone.locator("#says")).to_have_text("No reading")
    expect(phone.locator(".wheel.trouble .load").first).to_have_text("no cable")
    expect(phone.locator("#keep")).to_have_attribute("aria-disabled", "true")
    expect(phone.locator("#keep-says")).to_have_text("p1 shows no reading")
    simulated.post("/api/v1/simulation", {"plugged": True})
    expect(phone.locator("#says")).to_have_text("Steady")


def test_readings_are_whole_divisions(simulated: Serving, phone: Page) -> None:
    _open(simulated, phone)
    expect(phone.locator(".wheel.read").first).to_be_visible()
    shown = phone.locator("[data-rig]:not([hidden]) .wheel.read .load").all_text_contents()
    assert shown
    assert all(int(text.replace(",", "")) % 20 == 0 for text in shown)


def test_what_a_pad_said_before_the_page_slept_is_not_kept(simulated: Serving, phone: Page) -> None:
    simulated.post("/api/v1/simulation", {"drive": 1})
    _open(simulated, phone)
    expect(phone.locator("#says")).to_have_text("Steady")
    count = phone.locator("#kept li").count()
    # the clock of a device that slept jumps; the next word of the pads has not come yet
    phone.evaluate(
        "() => { const real = Date.now.bind(Date); Date.now = () => real() + 10000;"
        " document.getElementById('keep').click(); }"
    )
    question = phone.locator("#question")
    expect(question).to_contain_text("the pad said this 10 s ago and nothing since")
    question.get_by_role("button", name="Wait").click()
    expect(phone.locator("#says")).to_have_text("Steady")  # heard again
    assert phone.locator("#kept li").count() == count


def test_an_old_reading_is_shown_as_old_and_kept_only_with_that_in_the_note(simulated: Serving, phone: Page) -> None:
    simulated.post("/api/v1/simulation", {"drive": 1})
    _open(simulated, phone)
    expect(phone.locator("#says")).to_have_text("Steady")
    day = phone.url.split("/")[4]
    before = len(tomllib.loads(simulated.get(f"/api/v1/days/{day}")).get("drafts", []))
    simulated.freeze()
    expect(phone.locator("#says")).to_have_text("Not live")
    old = phone.locator("[data-rig]:not([hidden]) .wheel.old")
    expect(old.first.locator(".pad")).to_contain_text("s old")
    phone.locator("#keep").click()
    phone.locator("#question").get_by_role("button", name="Keep it, marked as old").click()
    kept(phone, "waiting on this device", 1)
    simulated.thaw()
    kept(phone, "waiting on this device", 0)
    drafts = tomllib.loads(simulated.get(f"/api/v1/days/{day}"))["drafts"]
    assert len(drafts) == before + 1
    for place, (pad, _) in drafts[-1]["readings"].items():
        assert f"old reading: {place} on {pad}, " in drafts[-1]["note"]


def test_a_new_rig_opens_live_where_an_indicator_has_its_pads(simulated: Serving, phone: Page) -> None:
    simulated.post("/api/v1/simulation", {"drive": 1})
    day = simulated.import_day(
        EXAMPLE.read_text().partition("[[drafts]]")[0].replace("Quay bakery, before the market season", "A new rig")
    )
    phone.goto(f"{simulated.url}/days/{day}/pads#first")
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    expect(phone.locator("#says")).to_have_text("Steady")
    expect(phone.locator("#keypad")).to_be_hidden()
    expect(phone.locator("#keep")).to_have_attribute("aria-disabled", "false")
