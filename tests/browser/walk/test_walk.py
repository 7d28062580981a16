"""From a new station to a printed ticket by taps alone, at 390 x 844; and with a station that is killed on the way."""

from __future__ import annotations

import json
import random
import re
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opening
from tests.browser.serving import Dies, Serving
from tests.browser.walk import job
from tests.browser.walk.hand import Hand, Opens
from tests.studies import days, figures
from tests.waiting import until

MOST = {
    "a new rig": 20,
    "the truck alone": 20,
    "the truck hitched": 22,
    "the trailer": 21,
    "a repeat": 21,
    "a correction": 9,
    "a what-if": 10,
    "kept as a state": 2,
    "the ticket": 2,
}
"""The most taps and keys that each part may cost, each digit and letter counted. Scrolling is not counted."""
WEIGHED = [job.SOLO, job.TRUCK, job.TRAILER, job.AGAIN]


def the_day(station: Serving) -> dict[str, Any]:
    """The one day that was begun; a new station has a bundled one besides."""
    (day,) = [one for one in json.loads(station.get("/api/v1/days"))["days"] if one["title"].startswith("New rig")]
    return tomllib.loads(station.get(f"/api/v1/days/{day['id']}"))


def read(day: dict[str, Any]) -> list[list[int]]:
    """The readings of each draft."""
    return [[value for _, value in draft["readings"].values()] for draft in day["drafts"]]


def is_whole(day: dict[str, Any]) -> None:
    """Each draft, state and correction is there once, with the figures that were typed."""
    assert read(day) == WEIGHED
    assert len({draft["key"] for draft in day["drafts"]}) == len(WEIGHED)
    assert list(day["states"]) == ["solo", "hitched", job.STATE]
    (correction,) = day["corrections"]
    assert (correction["value"], correction["reason"]) == (job.RIGHT, "misread")
    (thing,) = day["cargo"].values()
    assert (thing["mass"], thing["x"]) == (f"{job.ADDED} lb", f"{job.BEHIND} in")


def moved(ticket: str, axle: int) -> float:
    """What the ticket says that came onto an axle of the truck from the state hitched to the state load [lb]."""
    found = re.search(rf"tow, axle {axle} \S+ \S+ to \S+ \+([\d.]+) ", ticket)
    assert found is not None, ticket
    return float(found[1])


def test_the_whole_job_is_done_by_taps_from_a_new_station_to_a_ticket(own_station: Serving, phone: Page) -> None:
    phone.goto(own_station.url)
    hand = Hand(phone)
    for part in (job.begin, job.weigh, job.correct, job.what_if):
        part(hand)
    ticket = job.ticket(hand, lambda: None)
    print(f"from a new station to a ticket: {hand.count} taps and keys; {hand.parts}")
    assert {part: count for part, count in hand.parts.items() if count > MOST[part]} == {}
    is_whole(the_day(own_station))
    assert f"trailer/1L corrected to {job.RIGHT:,} lb" in ticket
    # the lever rule of a rigid body on two supports, any textbook of statics
    rear = job.ADDED * job.BEHIND / job.BASE
    assert moved(ticket, 1) == pytest.approx(job.ADDED - rear, abs=0.5)
    assert moved(ticket, 2) == pytest.approx(rear, abs=0.5)


class Dying:
    """A station that is killed before each tap, and is there again for some of them; then it may die over that tap."""

    def __init__(self, station: Serving, seed: int, *, secure: bool) -> None:
        self.station = station
        self.needed = {Opens.SHEET} if secure else {Opens.SHEET, Opens.PAGE}
        self.chance = random.Random(seed)
        self.back = self.chance.uniform(0.05, 0.3)  # how often it comes back between two taps
        self.kills = self.cut = self.without = 0

    def before(self, opens: Opens) -> None:
        """Kill it if it runs; bring it back where the next tap cannot do without, and now and then."""
        self.end()
        if opens in self.needed:
            self.station.start()
        elif self.chance.random() < self.back:
            self.station.start(self.chance.choice(MOMENTS))
        else:
            self.without += 1

    def end(self) -> None:
        """Kill it, unless it died over what it was asked."""
        if self.station.is_dead():
            self.cut += 1
        elif self.station.process is not None:
            self.station.kill()
            self.kills += 1

    def is_back(self) -> None:
        """Have it run, and not die of itself."""
        self.end()
        self.station.start()


MOMENTS: tuple[Dies | None, ...] = (None, "asked", "kept", "answering")
AT_HAND = """async () => {
  while (!(await caches.match("/days/new"))) await new Promise((done) => { setTimeout(done, 50); });
}"""


def all_of(station: Serving) -> bool:
    """Whether the correction and the state came."""
    day = the_day(station)
    return bool(day.get("corrections")) and job.STATE in day["states"]


def walked(folder: Path, opening: Opening, seed: int, *, secure: bool) -> Counter[str]:
    """The whole job over a station of its own that dies; how often it did."""
    folder.mkdir()
    station = Serving(folder / "station.db")
    dying = Dying(station, seed, secure=secure)
    try:
        station.start()
        phone = opening(service_workers="allow" if secure else "block")
        phone.goto(station.url if secure else station.plain_url)
        if secure:
            phone.evaluate(AT_HAND)
        hand = Hand(phone, dying)
        for part in (job.begin, job.weigh, job.correct, job.what_if):
            part(hand)
        job.ticket(hand, lambda: until(lambda: all_of(station), "all that was kept"))
        is_whole(the_day(station))
    finally:
        station.kill()
    return Counter(runs=1, taps=hand.count, killed=dying.kills, died_over_a_request=dying.cut, without=dying.without)


@pytest.mark.parametrize("secure", [True, False], ids=["secure", "plain"])
def test_nothing_is_lost_or_there_twice_though_the_station_dies_between_the_taps_and_over_them(
    tmp_path: Path, opening: Opening, secure: bool
) -> None:
    """One run of each kind, seeded; a study has 100 of each, each over a station of its own."""
    found: Counter[str] = Counter()
    for seed in range(days(1, 100)):
        found += walked(tmp_path / str(seed), opening, seed, secure=secure)
    figures(f"a station that dies, {'secure' if secure else 'plain'} context", **found)
    assert found["killed"] > 8 * found["runs"]
    assert found["without"] > 90 * found["runs"]
