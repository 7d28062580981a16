"""A verification walked at the pads: typed and taken live, back after a reload, and kept when the station is back."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from steelyard.dayfile import parse_verification, read_day, write_instrument
from steelyard.model import EccentricTest, LoadTest, ZeroReturnTest
from tests.browser.axe import violations
from tests.browser.conftest import EXAMPLE
from tests.browser.serving import Serving
from tests.cli.days import run

POUND = 0.45359237
SHOWN = {"up 0": 0, "up 2000": 2000, "up 5000": 5000, "up 10000": 10020}
SHOWN |= {"down 5000": 5000, "down 2000": 2000, "down 0": 0}


@pytest.fixture(name="rig")
def _rig(tmp_path: Path) -> Iterator[Serving]:
    """A station whose pads are virtual, to be killed at will, with two of them in its yard."""
    serving = Serving(tmp_path / "station.db", simulate=EXAMPLE)
    try:
        serving.start()
        yield serving
    finally:
        serving.kill()


def take_in(rig: Serving, page: Page) -> None:
    """The pads of the simulated day are taken into the yard, by hand."""
    page.goto(f"{rig.plain_url}/yard")
    page.get_by_role("button", name="Take in its vehicles and instruments").click()
    expect(page.get_by_role("heading", name="p1")).to_be_visible()


def test_a_verification_is_walked_waits_for_the_station_and_is_the_one_of_the_command(
    rig: Serving, phone: Page, tmp_path: Path
) -> None:
    put_away_and_undo(rig, phone)
    take_in(rig, phone)
    phone.get_by_role("link", name="Verify the pads").click()
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    phone.locator("#keep").click()
    expect(phone.locator("#fault")).to_have_text("Choose a pad or more first.")
    phone.locator("#pad-p1").check()
    phone.locator("#standard").fill("HW-3")
    expect(phone.locator("#says")).to_have_text("p1: empty")
    phone.locator("#type").click()
    for number, value in enumerate(SHOWN.values()):  # each Enter goes on to the next load
        phone.keyboard.type(str(value))
        if number < len(SHOWN) - 1:
            phone.keyboard.press("Enter")
    expect(phone.locator("#says")).to_have_text("p1: 5,000 lb at the centre")
    for place in ("centre", "front"):  # what the pad shows now
        expect(phone.locator("#take-it")).to_have_text(re.compile("^Take [0-9,]+ lb$"))
        phone.locator("#take-it").click()
        expect(phone.locator(f'[id="p1 at {place}"]')).not_to_have_value("")
    phone.reload()
    expect(phone.locator("#says")).to_have_text("p1: 5,000 lb at the rear")
    assert violations(phone) == []
    phone.locator("#keep").click()
    fault = "p1, off centre: 5,000 lb at the rear is missing. Type it, or leave the test out."
    expect(phone.locator("#fault")).to_have_text(fault)
    value = phone.locator('[id="p1 at front"]').input_value()
    for place in ("rear", "left", "right"):
        phone.locator(f'[id="p1 at {place}"]').fill(value)
    rig.kill()
    phone.locator("#keep").click()
    expect(phone.locator("#waiting-here")).to_contain_text("The station does not answer.")
    rig.start()
    expect(phone).to_have_url(re.compile("/yard/verifications/"))
    expect(phone.locator("h1")).to_contain_text("p1, ")
    assert violations(phone) == []
    name = phone.url.rpartition("/")[2]
    text = rig.get(f"/yard/verifications/{name}/check.toml")
    check_file(text, tmp_path)
    phone.goto(f"{rig.plain_url}/yard/verify")
    expect(phone.locator("#pad-p1")).not_to_be_checked()  # what was used does not come back
    assert json.loads(rig.get("/api/v1/yard/instruments/p1"))["version"] == 2


def put_away_and_undo(rig: Serving, page: Page) -> None:
    """A day is put away from the list and brought back by Ctrl+Z."""
    page.goto(f"{rig.plain_url}/")
    cards = page.locator(".cards > .card")
    before = cards.count()
    page.locator("details.change summary").first.click()
    page.get_by_role("button", name="Put away").first.click()
    expect(page.get_by_role("status").filter(has_text="was put away. Nothing of it is deleted.")).to_be_visible()
    expect(cards).to_have_count(before - 1)
    expect(page.get_by_role("button", name="Undo")).to_be_focused()
    page.wait_for_load_state("load")  # the button has the focus before the script that hears the keys has come
    page.keyboard.press("Control+z")
    expect(page.get_by_role("status").filter(has_text="is in the list again.")).to_be_visible()
    expect(cards).to_have_count(before)


def check_file(text: str, folder: Path) -> None:
    """The file says what was typed, and the command takes it."""
    found = parse_verification(text, "check")
    loads, zero, place = found.tests
    assert isinstance(loads, LoadTest)
    assert isinstance(zero, ZeroReturnTest)
    assert isinstance(place, EccentricTest)
    assert [round(step.shown / POUND) for step in loads.steps] == list(SHOWN.values())
    assert [round(step.load / POUND) for step in loads.steps] == [0, 2000, 5000, 10000, 5000, 2000, 0]
    assert (loads.standard, loads.shared_u, zero.after, list(place.readings)) == (
        *("HW-3", 0.005 / 100, 0.0, ["centre", "front", "rear", "left", "right"]),
    )
    path = folder / "check.toml"
    path.write_text(text, encoding="utf-8")
    said = run("verify", str(path), "--json")
    assert said.exit_code == 0, said.output
    pad = read_day(EXAMPLE).instruments["p1"]
    assert write_instrument(pad, found.units).splitlines()[1] in text
