"""Whole axles and whole vehicles on a platform: offered, kept, and read live as any pad."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from steelyard.capture import Manner, pattern_to_json
from steelyard.dayfile import parse_day
from steelyard.store import Shelf, open_store
from steelyard.web.settings import Settings
from steelyard.web.station.live import shown
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station
from tests.waiting import comes_about
from tests.web.serving import EXAMPLE
from tests.web.test_indicators import ONE, Box, printing

SCALE = '\n[instruments.scale]\nkind = "platform"\ncapacity = "60000 kg"\ndivision = "10 kg"\n'
ALONE = '\n[states.parked]\nvehicles = ["oven"]\n'
READ = """
[[drafts]]
state = "solo"
readings = { "truck/1" = ["scale", "1940 kg"] }
[[drafts]]
state = "hitched"
readings = { "truck" = ["scale", "4000 kg"] }
[[drafts]]
state = "hitched"
readings = { "oven" = ["scale", "3400 kg"] }
"""
BASE = EXAMPLE.read_text(encoding="utf-8").partition("[[drafts]]")[0]
TEXT = BASE + SCALE + ALONE


def imported(client: TestClient, text: str = TEXT) -> str:
    """A day in the store."""
    answer = client.post("/api/v1/days", content=text)
    assert answer.status_code == 201, answer.text
    return answer.json()["id"]


def test_every_place_that_is_offered_can_be_kept(script: TestClient) -> None:
    day_id = imported(script)
    listed: dict[str, Any] = script.get(f"/api/v1/days/{day_id}/places").json()
    assert listed["instruments"]["scale"] == "platform"
    assert listed["instruments"]["p1"] == "pad"
    assert [item["place"] for item in listed["states"]["solo"]] == [
        *("truck/1L", "truck/1R", "truck/1", "truck/2L", "truck/2R", "truck/2", "truck")
    ]
    assert [item["place"] for item in listed["states"]["parked"] if item["kind"] == "coupling"] == ["oven/coupling"]
    # a platform in the bed of the towing vehicle carries the coupling point of a hitched trailer
    assert [item["place"] for item in listed["states"]["hitched"] if item["kind"] == "coupling"] == ["oven/coupling"]
    for state, places in listed["states"].items():
        for number, item in enumerate(places):
            readings = {item["place"]: ["scale", "1500 kg"]}
            draft = {"key": f"{state}-{number}", "state": state, "readings": readings}
            answer = script.post(f"/api/v1/days/{day_id}/drafts", json=draft)
            assert answer.status_code == 201, (item, answer.text)
    day = parse_day(script.get(f"/api/v1/days/{day_id}").text, "day")
    covered = [[str(wheel) for wheel in item.readings[0].place.wheels] for item in day.drafts]
    assert covered == [item["covers"] for places in listed["states"].values() for item in places]


def test_a_group_among_other_axles_is_a_place_of_its_own(script: TestClient) -> None:
    third = '[[vehicles.oven.axles]]\nx = "260 in"\ntrack = "80 in"\n'
    text = TEXT.replace("[cargo.", third + "[cargo.", 1)
    if parse_day(TEXT, "day").vehicles["oven"].axles[0].group is None:
        text = text.replace("[[vehicles.oven.axles]]\n", '[[vehicles.oven.axles]]\ngroup = "rear"\n', 2)
    places = script.get(f"/api/v1/days/{imported(script, text)}/places").json()["states"]["parked"]
    group = [item for item in places if item["kind"] == "group"]
    assert [(item["place"], item["covers"]) for item in group] == [
        ("oven/1+oven/2", ["oven/1L", "oven/1R", "oven/2L", "oven/2R"])
    ]


def test_a_platform_is_read_live_and_kept_as_an_axle(tmp_path: Path) -> None:
    box = Box(tmp_path / "scale.txt", "S + 1940.0 kg")

    async def run() -> tuple[dict[str, Any], str]:
        settings = Settings(store=tmp_path / "station.db", instruments=(f"scale={box.address}",))
        store = open_store(settings.store)
        store.save(Shelf.TEACHING, "scale", pattern_to_json(ONE))
        station = Station(store, settings)
        day_id = await station.import_text(TEXT)
        day = (await station.day(day_id)).day
        station.live.know(day.instruments)
        station.live.start()
        await comes_about(lambda: "scale" in station.live.channels and station.live.channels["scale"].settled.steady)
        loads = shown(day, station.live.channels)
        value = loads["scale"]["value"]
        await station.keep(day_id, {"key": "k", "state": "solo", "readings": {"truck/1": ["scale", value]}}, "test")
        text = await station.text(day_id)
        await station.close()
        return loads, text

    with printing(box):
        loads, text = asyncio.run(run())
    assert loads["scale"]["steady"]
    assert loads["scale"]["trouble"] is None
    draft = parse_day(text, "day").drafts[-1]
    assert (draft.readings[0].place.text, round(draft.readings[0].value)) == ("truck/1", 1940)


def test_a_rig_is_simulated_on_a_platform(tmp_path: Path) -> None:
    async def run() -> tuple[dict[str, Any], float | None]:
        simulation = Simulation(parse_day(TEXT + READ, "day"), manner=Manner(approach=0.2, decay=0.1, wobble=0.0))
        settings = Settings(store=tmp_path / "station.db")
        station = Station(open_store(settings.store), settings, simulation=simulation)
        station.live.start()
        simulation.drive_on(2)
        channels = station.live.channels
        await comes_about(lambda: "scale" in channels and channels["scale"].settled.steady)
        value = station.live.channels["scale"].sample.value_kg
        await station.close()
        return simulation.standing(), value

    stance, value = asyncio.run(run())
    assert (stance["state"], stance["places"]) == ("hitched", {"scale": "truck"})
    assert value is not None
    assert round(value) == 4000
