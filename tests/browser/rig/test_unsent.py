"""A day that is begun without the station: from the first screen of a new rig to the station, nothing lost or twice."""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Mapping
from typing import Any

from playwright.sync_api import Page, expect

from tests.browser.conftest import Opening
from tests.browser.serving import Serving
from tests.browser.steps import kept, new_rig, read_wheels
from tests.waiting import until

SOLO = {"big_blue/1L": 2180, "big_blue/1R": 2100, "big_blue/2L": 1560, "big_blue/2R": 1580}
HITCHED = {"big_blue/1L": 2020, "big_blue/1R": 1940, "big_blue/2L": 2240, "big_blue/2R": 2260}
ALONE = {"tow/1L": 1000, "tow/1R": 980, "tow/2L": 900, "tow/2R": 920}
OPENED = """await new Promise((done) => {
    indexedDB.open("steelyard", 1).onsuccess = (event) => done(event.target.result);
  })"""
QUEUE = f"""async () => {{
  const db = {OPENED};
  const box = db.transaction("outbox").objectStore("outbox");
  return new Promise((done) => {{ box.getAll().onsuccess = (event) => {{ db.close(); done(event.target.result); }}; }});
}}"""
PUT = f"""async (item) => {{
  const db = {OPENED};
  const doing = db.transaction("outbox", "readwrite");
  doing.objectStore("outbox").put(item);
  await new Promise((done) => {{ doing.oncomplete = done; }});
  db.close();
}}"""
AT_HAND = """async () => {
  while (!(await caches.match("/days/new"))) await new Promise((done) => { setTimeout(done, 50); });
}"""
DAY_AT_HAND = """async () => {
  const cache = await caches.open((await caches.keys()).find((name) => name.startsWith("station-")));
  return (await cache.keys()).some(({ url }) => /days\\/[0-9a-z]+\\/pads$/.test(url));
}"""
PLACES = "() => Array.from(document.querySelectorAll('[data-rig] .wheel'), (node) => node.dataset.place)"
STATES = "() => Array.from(document.querySelectorAll('#states [data-state]'), (node) => node.dataset.state)"


def _ready_for_the_field(station: Serving, opening: Opening) -> Page:
    """A phone that saw the list of days once, and nothing else; then the station is gone."""
    phone = opening(service_workers="allow")
    phone.goto(station.url)
    phone.evaluate(AT_HAND)
    station.kill()
    return phone


def _begin(phone: Page, url: str, stands: str, typed: Mapping[str, str]) -> str:
    """Fill in a new rig with no station; the name of its day on this device."""
    new_rig(phone, url, stands)
    for name, value in typed.items():
        phone.evaluate("([id, value]) => { document.getElementById(id).value = value; }", [f"f-{name}", value])
    phone.locator("#next").click()
    phone.locator("#go").click()
    expect(phone.locator("body")).to_have_attribute("data-ready", "yes")
    expect(phone.locator("#keypad")).to_be_visible()
    return phone.url.split("/")[4]


def _days(station: Serving) -> dict[str, dict[str, Any]]:
    """The days that were added to the bundled one, by title."""
    listed = json.loads(station.get("/api/v1/days"))["days"]
    found = [tomllib.loads(station.get(f"/api/v1/days/{day['id']}")) for day in listed]
    mine = [day for day in found if "bakery" not in day["title"]]
    assert len({day["title"] for day in mine}) == len(mine), "a day is there twice"
    return {day["title"].partition(",")[0]: day for day in mine}


def _moment(at: str | datetime.datetime) -> datetime.datetime:
    return at if isinstance(at, datetime.datetime) else datetime.datetime.fromisoformat(at)


def _read(day: Mapping[str, Any]) -> list[dict[str, int]]:
    return [{place: value for place, (_, value) in draft["readings"].items()} for draft in day["drafts"]]


BALL = {"wheelbase": "157", "coupling_x": "205", "trailer_x": "168", "name": "Big blue", "trailer_name": "Hay wagon"}


def test_two_days_with_and_without_a_trailer_arrive_whole_and_once(own_station: Serving, opening: Opening) -> None:
    phone = _ready_for_the_field(own_station, opening)
    with_trailer = _begin(phone, own_station.url, "ball", BALL)
    read_wheels(phone, SOLO)
    kept(phone, "waiting on this device", 1)
    phone.locator('[data-state="hitched"]').click()
    read_wheels(phone, HITCHED)
    kept(phone, "waiting on this device", 2)
    expect(phone.locator("#unsent")).to_contain_text("works out its findings, once it is back")
    drawn, states = phone.evaluate(PLACES), phone.evaluate(STATES)
    phone.locator('[data-state="solo"]').click()
    phone.locator('[data-rig]:not([hidden]) [data-place="big_blue/1L"]').click()
    phone.locator('#keypad [data-digit="7"]').click()  # typed and not kept
    phone.reload()
    kept(phone, "waiting on this device", 2)
    _begin(phone, own_station.url, "alone", {"wheelbase": "130"})
    read_wheels(phone, ALONE)
    kept(phone, "waiting on this device", 1)
    phone.goto(own_station.url)
    cards = phone.locator("#unsent-days .card")
    expect(cards).to_have_count(2)
    expect(cards.first).to_contain_text("2 drafts wait here, on this device alone")
    times = [_moment(item["json"]["at"]) for item in phone.evaluate(QUEUE) if item["what"] == "draft"]
    cards.first.get_by_role("link").click()
    kept(phone, "waiting on this device", 2)
    own_station.start()
    phone.wait_for_url(lambda url: with_trailer not in url)
    kept(phone, "on disk", 2)
    expect(phone.locator('[data-rig]:not([hidden]) [data-place="big_blue/1L"] .load')).to_have_text("7")
    assert (phone.evaluate(PLACES), phone.evaluate(STATES)) == (drawn, states)
    days = _days(own_station)
    assert [_read(day) for day in (days["Big blue and Hay wagon"], days["New rig"])] == [[SOLO, HITCHED], [ALONE]]
    found = [_moment(draft["at"]) for day in days.values() for draft in day["drafts"]]
    assert sorted(found) == sorted(times), "each has the time at which it was typed"
    phone.goto(f"{own_station.url}/days/{with_trailer}/pads")  # its old address leads there
    phone.wait_for_url(lambda url: with_trailer not in url)
    assert len(_days(own_station)) == 2


def test_an_answer_lost_on_the_way_and_a_page_that_does_not_know_yet_make_nothing_twice(
    own_station: Serving, opening: Opening
) -> None:
    phone = _ready_for_the_field(own_station, opening)
    day = _begin(phone, own_station.url, "alone", {"wheelbase": "130", "name": "Big blue"})
    read_wheels(phone, SOLO)
    kept(phone, "waiting on this device", 1)
    phone.goto(f"{own_station.url}/days/unsent/pads#stands=alone&wheelbase=130&key=aa")  # another site's link
    expect(phone.locator("#unsent")).to_contain_text("This device knows no such day")
    rig, draft = phone.evaluate(QUEUE)
    assert draft["after"] == rig["key"]
    phone.goto("about:blank")
    own_station.start()
    own_station.post(rig["url"], rig["json"])  # it arrived, and the answer did not
    phone.goto(own_station.url)  # sent from whichever page is open
    expect(phone.locator("#unsent-days")).to_contain_text("is at the station now")
    assert [item["what"] for item in phone.evaluate(QUEUE)] in (["made"], ["made", "draft"])
    # a page that was open all the time kept one more, for the day as it knows it
    late = {**draft, "key": "late", "json": {**draft["json"], "key": "late"}}
    phone.evaluate(PUT, {name: value for name, value in late.items() if name != "order"})
    phone.evaluate(PUT, draft)  # and one is there again that had arrived
    phone.goto(f"{own_station.url}/days/{day}/pads")
    phone.wait_for_url(lambda url: day not in url)
    kept(phone, "on disk", 2)
    assert [_read(one) for one in _days(own_station).values()] == [[SOLO, SOLO]]


def test_a_draft_that_is_kept_while_the_station_makes_the_day_is_not_typed_on_its_page_again(
    own_station: Serving, opening: Opening
) -> None:
    phone = _ready_for_the_field(own_station, opening)
    day = _begin(phone, own_station.url, "alone", {"wheelbase": "130", "name": "Big blue"})
    phone.locator('#keypad [data-digit="7"]').click()  # the keypad is open: the page stays
    own_station.start()
    until(lambda: phone.evaluate(QUEUE)[0]["what"] == "made" and phone.evaluate(DAY_AT_HAND), "the day")
    phone.locator("#keypad [data-act=clear]").click()
    read_wheels(phone, {place.replace("tow", "big_blue"): value for place, value in ALONE.items()})
    phone.wait_for_url(lambda url: day not in url)
    kept(phone, "on disk", 1)
    loads = phone.locator("[data-rig]:not([hidden]) .load")
    assert [load for load in loads.all_text_contents() if load.strip("\N{EN DASH}")] == []


def test_what_the_station_does_not_accept_is_put_right_and_nothing_typed_is_lost(
    own_station: Serving, opening: Opening
) -> None:
    phone = _ready_for_the_field(own_station, opening)
    day = _begin(phone, own_station.url, "ball", BALL)
    read_wheels(phone, SOLO)
    kept(phone, "waiting on this device", 1)
    rig = phone.evaluate(QUEUE)[0]
    phone.evaluate(PUT, {**rig, "json": {**rig["json"], "wheelbase": "13"}})  # as a page with a fault might have
    own_station.start()
    phone.reload()
    says = phone.locator("#unsent")
    expect(says).to_contain_text("Wheelbase: 13 in is not a wheelbase")
    kept(phone, "waiting on this device", 1)
    says.get_by_role("link", name="Put it right").click()
    expect(phone.locator("#w-wheelbase")).to_contain_text("13 in is not a wheelbase")
    expect(phone.locator("#f-wheelbase")).to_be_focused()
    expect(phone.locator("#f-coupling_x")).to_have_value("205")
    phone.locator("#f-wheelbase").fill("157")
    phone.evaluate("() => { document.getElementById('f-name').value = 'Big red'; }")
    phone.locator("#next").click()
    phone.locator("#go").click()
    phone.wait_for_url(lambda url: day not in url and "/new" not in url)
    kept(phone, "on disk", 1)
    found = _days(own_station)
    assert list(found) == ["Big red and Hay wagon"]
    assert _read(found["Big red and Hay wagon"]) == [
        {place.replace("blue", "red"): value for place, value in SOLO.items()}
    ]
