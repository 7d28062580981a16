"""From a new station to a printed ticket by taps alone, at 390 x 844; and with a station that is killed on the way."""

from __future__ import annotations

import json
import random
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opening
from tests.browser.serving import Serving
from tests.browser.walk import job
from tests.browser.walk.hand import Hand
from tests.studies import days, figures
from tests.waiting import until

MOST = {
    "a new rig": 20,
    "the truck alone": 20,
    "the truck hitched": 22,
    "the trailer": 21,
    "a repeat": 21,
    "a correction": 16,
    "a what-if": 11,
    "kept as a state": 7,
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
    assert list(day["states"]) == ["solo", "hitched", "load"]
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
    ticket = job.ticket(hand)
    print(f"from a new station to a ticket: {hand.count} taps and keys; {hand.parts}")
    assert {part: count for part, count in hand.parts.items() if count > MOST[part]} == {}
    is_whole(the_day(own_station))
    assert f"trailer/1L corrected to {job.RIGHT:,} lb" in ticket
    # the lever rule of a rigid body on two supports, any textbook of statics
    rear = job.ADDED * job.BEHIND / job.BASE
    assert moved(ticket, 1) == pytest.approx(job.ADDED - rear, abs=0.5)
    assert moved(ticket, 2) == pytest.approx(rear, abs=0.5)


class Dying:
    """A station that is killed before each tap, and is there again for some of them."""

    def __init__(self, station: Serving, seed: int) -> None:
        self.station = station
        self.chance = random.Random(seed)
        self.back = self.chance.uniform(0.05, 0.25)  # how often it comes back between two taps
        self.kills = 0

    def before(self, *, needs_station: bool) -> None:
        """Kill it if it runs; bring it back where the next tap cannot do without, and now and then."""
        if self.station.process is not None:
            self.station.kill()
            self.kills += 1
        if needs_station or self.chance.random() < self.back:
            self.station.start()

    def is_back(self) -> None:
        """Have it run."""
        if self.station.process is None:
            self.station.start()


def corrected(station: Serving) -> bool:
    """Whether a correction came."""
    return bool(the_day(station).get("corrections"))


def test_nothing_is_lost_or_there_twice_though_the_station_is_killed_between_the_taps(
    tmp_path: Path, opening: Opening
) -> None:
    """One run, seeded; a study has 200, each over a station of its own."""
    kills = taps = 0
    runs = days(1, 200)
    for seed in range(runs):
        folder = tmp_path / str(seed)
        folder.mkdir()
        station = Serving(folder / "station.db")
        dying = Dying(station, seed)
        try:
            station.start()
            phone = opening()
            phone.goto(station.plain_url)
            hand = Hand(phone, dying)
            job.begin(hand)
            job.weigh(hand)
            job.correct(hand)
            dying.is_back()
            until(lambda now=station: corrected(now), "the correction")
            job.what_if(hand)
            job.ticket(hand)
            is_whole(the_day(station))
        finally:
            station.kill()
        kills += dying.kills
        taps += hand.count
    figures("a station killed between the taps", runs=runs, taps_and_keys=taps, kills=kills)
    assert kills > 15 * runs
