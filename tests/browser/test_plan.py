"""The plan of the day in a browser: made, walked at the pads, reloaded, planned anew."""

from __future__ import annotations

import json
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.axe import violations, violations_in_both_looks
from tests.browser.conftest import DESK, EXAMPLE, PHONE, TABLET, Opening
from tests.browser.serving import Serving
from tests.browser.steps import kept, key_in, tap_wheel

TITLES = {"truck": "Crew-cab bread truck", "oven": "Oven trailer"}


@pytest.fixture
def day(station: Serving) -> str:
    return station.import_day(EXAMPLE.read_text())


def make_plan(page: Page, station: Serving, day: str, bound: str = "20") -> dict[str, Any]:
    """Ask for the coupling load of the hitched state; gives the plan that was kept."""
    page.goto(f"{station.url}/days/{day}/plan")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    for box in page.locator("[name=in]").all():
        box.set_checked(box.get_attribute("value") == "hitched")
    page.get_by_label("Axles", exact=True).uncheck()
    page.get_by_label("Coupling load: to within").fill(bound)
    page.get_by_role("button", name="Make the plan").click()
    expect(page.locator("#result h2")).to_be_visible()
    return plan_of(page, station, day) if page.locator(".draftplan").count() else {}


def plan_for(station: Serving, day: str, *, more: bool = False) -> dict[str, Any]:
    """The same plan of two drafts, asked for by a script and kept; ``more``: with what more would buy."""
    question = {"pads": ["p1", "p2", "p3", "p4"], "want": ["hitched/coupling/load <= 20 lb"], "more": more}
    answer = json.loads(station.post(f"/api/v1/days/{day}/plan", {**question, "keep": True}))
    assert len(answer["drafts"]) == 2
    return answer


@pytest.fixture(scope="module")
def planned(station: Serving) -> str:
    """A day with a plan of two drafts and what more would buy, only looked at."""
    day = station.import_day(EXAMPLE.read_text())
    assert plan_for(station, day, more=True)["what_more"]
    return day


def open_plan(page: Page, station: Serving, day: str) -> None:
    """The page of a plan that is made, ready for whoever looks at it."""
    page.goto(f"{station.url}/days/{day}/plan")
    expect(page.locator("body")).to_have_attribute("data-ready", "yes")
    expect(page.locator("#result .draftplan")).to_have_count(2)


def plan_of(page: Page, station: Serving, day: str) -> dict[str, Any]:
    return page.request.get(f"{station.url}/api/v1/days/{day}/plan").json()


def loads_of(page: Page, station: Serving, day: str) -> dict[str, float]:
    data = page.request.get(f"{station.url}/api/v1/days/{day}/findings").json()
    return {item["id"]: item["value"] for item in data["findings"]}


def take(page: Page, draft: dict[str, Any], loads: dict[str, float]) -> None:
    """Type what the pads show where the plan has them, and keep it."""
    for place in draft["placements"]:
        vehicle, end = place.split("/")
        tap_wheel(page, place)
        key_in(page, 20 * round(loads[f"{draft['state']}/{vehicle}/wheel/{end}"] / 20))
        page.locator("#keypad [data-act=close]").click()
    page.locator("#keep").click()


def walk_it(page: Page, draft: dict[str, Any], loads: dict[str, float]) -> None:
    """One tap opens the first planned wheel, the next one follows, and the last one keeps the draft."""
    marked = page.locator("[data-rig]:not([hidden]) .wheel.planned")
    expect(marked).to_have_count(len(draft["placements"]))
    wheels = [wheel.get_attribute("data-place") or "" for wheel in marked.all()]
    assert set(wheels) == set(draft["placements"])
    for wheel in marked.all():
        pad = draft["placements"][wheel.get_attribute("data-place")]
        expect(wheel.locator(".pad")).to_have_text(f"{pad} next")
    assert page.evaluate(RAW) == []
    page.locator("#walk").get_by_role("button", name="Read its first wheel").click()
    for place in wheels:
        vehicle, end = place.split("/")
        side = {"L": "left", "R": "right"}[end[-1]]
        expect(page.locator("#keypad h2")).to_have_text(f"{TITLES[vehicle]}, axle {end[:-1]} {side}")
        expect(page.locator("#keypad-pad")).to_have_value(draft["placements"][place])
        key_in(page, 20 * round(loads[f"{draft['state']}/{vehicle}/wheel/{end}"] / 20))
        page.locator("#keypad [data-act=next]").click()


RAW = """() => document.body.innerText.split('\\n').filter(line => /\\b(truck|oven)\\/(\\d|coupling)/.test(line))"""
"""The lines of a page that show a place as the file writes it."""


def no_violations(page: Page) -> None:
    assert violations(page) == []


def test_a_plan_is_made_walked_across_a_reload_and_planned_anew(station: Serving, day: str, phone: Page) -> None:
    plan = make_plan(phone, station, day)
    drafts = plan["answer"]["drafts"]
    assert len(drafts) == 2
    first = phone.locator(".draftplan").first
    for place, pad in drafts[0]["placements"].items():
        expect(first.locator(f'[data-at="{place}"].on text')).to_have_text(pad)
        vehicle, end = place.split("/")
        expect(first.locator("ol")).to_contain_text(f"{pad} under {end} of {TITLES[vehicle]}")
    no_violations(phone)
    assert phone.evaluate(RAW) == []
    loads = loads_of(phone, station, day)
    phone.get_by_role("link", name="Walk it").click()
    expect(phone.locator("#walk summary")).to_have_text("Plan: draft 1 of 2")
    expect(phone.locator(f'#states [data-state="{drafts[0]["state"]}"]')).to_have_attribute("aria-pressed", "true")
    walk_it(phone, drafts[0], loads)
    expect(phone.locator("#walk summary")).to_have_text("Plan: draft 2 of 2")
    expect(phone.locator(".nextwheels")).to_contain_text("Draft 2 of 2 of the plan, ")
    phone.reload()
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    expect(phone.locator("#walk summary")).to_have_text("Plan: draft 2 of 2")
    no_violations(phone)
    take(phone, drafts[1], loads)
    expect(phone.locator("#walk summary")).to_have_text("Plan: all 2 drafts taken")
    written = phone.request.get(f"{station.url}/api/v1/days/{day}").text()
    planned = 'unsupported = "ground"' if drafts[0]["unsupported"] else "unsupported"
    assert written.count(planned) >= (2 if drafts[0]["unsupported"] else 0)
    phone.locator("#walk").get_by_role("link", name="Expected and reached").click()
    expect(phone.locator(".draftplan.done")).to_have_count(2)
    expect(phone.locator("#result td b")).to_have_count(2)
    phone.locator("#question").get_by_role("button", name="Plan the rest").click()
    expect(phone.locator("#result h2")).not_to_contain_text("The plan: 2 drafts")
    assert plan_of(phone, station, day)["version"] == 2


def test_another_draft_than_planned_is_no_error(station: Serving, day: str, desk: Page) -> None:
    plan_for(station, day)
    open_plan(desk, station, day)
    body = {"key": "other", "state": "solo", "readings": {"truck/1L": ["p1", 3000], "truck/1R": ["p2", 3000]}}
    station.post(f"/api/v1/days/{day}/drafts", body)
    expect(desk.locator("#result .note").first).to_contain_text("That is no error. Plan the rest, and they count.")
    expect(desk.locator(".draftplan.done")).to_have_count(0)
    desk.goto(f"{station.url}/days/{day}/pads")
    desk.locator("#walk summary").click()
    expect(desk.locator("#walk").get_by_role("link", name="Plan the rest")).to_be_visible()


def test_an_impossible_wish_says_the_best_possible(station: Serving, day: str, desk: Page) -> None:
    make_plan(desk, station, day, "0.01")
    expect(desk.locator("#result h2")).to_have_text("No plan can reach that")
    expect(desk.locator("#result li").first).to_contain_text("hitched: load on the coupling: at best ±")


def test_with_the_station_gone_the_plan_goes_on_ticking(own_station: Serving, opening: Opening) -> None:
    day = own_station.import_day(EXAMPLE.read_text())
    page = opening(PHONE)
    drafts = plan_for(own_station, day)["drafts"]
    open_plan(page, own_station, day)
    loads = loads_of(page, own_station, day)
    page.get_by_role("link", name="Walk it").click()
    expect(page.locator("#walk summary")).to_have_text("Plan: draft 1 of 2")
    own_station.kill()
    take(page, drafts[0], loads)
    kept(page, "waiting on this device", 1)
    expect(page.locator("#walk summary")).to_have_text("Plan: draft 2 of 2")
    expect(page.locator("#walk ol")).to_be_visible()


@pytest.mark.parametrize("viewport", [PHONE, TABLET, DESK], ids=["phone", "tablet", "desk"])
def test_everybody_can_use_it(station: Serving, planned: str, opening: Opening, viewport: dict[str, int]) -> None:
    page = opening(viewport, color_scheme="light")
    open_plan(page, station, planned)
    expect(page.locator("#result")).to_contain_text("What more would buy")
    assert violations_in_both_looks(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
