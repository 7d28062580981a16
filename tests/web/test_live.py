"""Live loads: a simulated rig settles in the day's units, a pulled cable is said in words, a taught line is read."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator
from pathlib import Path
from typing import Any

import pytest

from steelyard.capture import Live, Manner, Port, Sample
from steelyard.dayfile import parse_day
from steelyard.store import open_store
from steelyard.web.settings import Settings
from steelyard.web.station.events import Hub
from steelyard.web.station.live import LiveLoads, shown
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station
from tests.waiting import comes_about, until
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE, TOKEN
from tests.web.shapes import error

TEXT = EXAMPLE.read_text(encoding="utf-8")
DAY = parse_day(TEXT, "day")
QUICK = Manner(approach=0.2, decay=0.1, wobble=0.0)
TOKENED = {"authorization": f"Bearer {TOKEN}"}


def rig(tmp_path: Path) -> tuple[Station, Simulation]:
    """A station with a quick simulated rig."""
    settings = Settings(store=tmp_path / "station.db", token=TOKEN)
    simulation = Simulation(DAY, manner=QUICK)
    return Station(open_store(settings.store), settings, simulation=simulation), simulation


def values(station: Station) -> dict[str, Any]:
    """What the channels show in the day's units."""
    return shown(DAY, station.live.channels)


def test_a_draft_driven_on_settles_at_its_readings(tmp_path: Path) -> None:
    async def run() -> None:
        station, simulation = rig(tmp_path)
        station.live.start()
        simulation.drive_on(1)
        assert simulation.standing() == {
            "number": 1,
            "label": "truck alone",
            "state": "solo",
            "places": {"p1": "truck/1L", "p2": "truck/1R", "p3": "truck/2L", "p4": "truck/2R"},
        }
        await comes_about(lambda: bool(values(station)) and all(item["steady"] for item in values(station).values()))
        assert {name: item["value"] for name, item in values(station).items()} == {
            "p1": 2180.0,
            "p2": 2100.0,
            "p3": 1560.0,
            "p4": 1560.0,
        }
        simulation.drive_off()
        assert simulation.standing()["number"] is None
        await comes_about(lambda: all(item["steady"] and item["value"] == 0.0 for item in values(station).values()))
        await station.close()

    asyncio.run(run())


def test_what_is_shown_is_taken_as_a_draft(tmp_path: Path) -> None:
    async def run() -> None:
        station, simulation = rig(tmp_path)
        day_id = await station.import_text(simulation.text)
        station.live.start()
        simulation.drive_on(2)
        await comes_about(lambda: bool(values(station)) and all(item["steady"] for item in values(station).values()))
        places = simulation.standing()["places"]
        readings = {places[name]: [name, item["value"]] for name, item in values(station).items()}
        assert (await station.keep(day_id, {"key": "k", "state": "hitched", "readings": readings}, "test")).number == 1
        kept = (await station.day(day_id)).day.drafts[0]
        assert [reading.value for reading in kept.readings] == [reading.value for reading in DAY.drafts[1].readings]
        await station.close()

    asyncio.run(run())


def test_a_pulled_cable_is_said_in_words_and_is_no_reading(tmp_path: Path) -> None:
    async def run() -> None:
        station, simulation = rig(tmp_path)
        station.live.start()
        await comes_about(lambda: len(station.live.channels) == 4)
        simulation.plug(plugged=False)
        await comes_about(lambda: all(item["trouble"] for item in values(station).values()))
        for item in values(station).values():
            assert item["value"] is None
            assert not item["steady"]
            assert item["trouble"] == "The cable of the simulated rig is unplugged; trying again."
            assert item["short"] == "no cable"
        simulation.plug(plugged=True)
        await comes_about(lambda: all(item["value"] is not None for item in values(station).values()))
        await station.close()

    asyncio.run(run())


def test_listeners_see_loads_in_the_units_of_their_day(tmp_path: Path) -> None:
    async def run() -> None:
        station, simulation = rig(tmp_path)
        pounds = await station.import_text(simulation.text)
        kilograms = await station.import_text(simulation.text.replace('mass = "lb"', 'mass = "kg"', 1))
        other = await station.import_text(simulation.text.replace(", simulated", ", another day", 1))
        station.live.start()
        simulation.drive_on(1)
        await comes_about(lambda: bool(values(station)) and all(item["steady"] for item in values(station).values()))
        seen: dict[str, bytes] = {}
        for day_id in (pounds, kilograms, other):
            stream = await station.events(day_id)
            seen[day_id] = await anext(stream)
            await stream.aclose()
        assert b'"unit":"lb","channels":{"p1":{"value":2180.0,"steady":true' in seen[pounds]
        assert b'"unit":"kg","channels":{"p1":{"value":988.8313666,"steady":true' in seen[kilograms]
        assert b'event: stance\ndata: {"number":1,"label":"truck alone"' in seen[pounds]
        assert b"event: stance" not in seen[other]  # no rig but its own chooses the state of a day
        await station.close()

    asyncio.run(run())


def test_a_day_without_drafts_cannot_be_driven() -> None:
    with pytest.raises(ValueError, match="has no draft, so there is nothing to drive onto the pads"):
        Simulation(parse_day(TEXT.partition("[[drafts]]")[0], "day"))


def test_the_rig_is_driven_by_a_script(making: Making, tmp_path: Path) -> None:
    station, _ = rig(tmp_path)
    client = making(headers=TOKENED, station=station)
    assert client.post("/api/v1/simulation", json={"drive": 3}).json()["label"] == "trailer"
    assert client.post("/api/v1/simulation", json={"drive": None}).json()["number"] is None
    for bad, message in (
        ({"drive": 0}, "drive: 0: is not a whole number from 1 to 10000"),
        ({"drive": 7}, "drive: 7: is not the number of a draft; the simulated day has 6"),
        ({"drive": True}, "drive: true: is not a whole number"),
        ({"drive": "1", "plugged": 1}, 'drive: "1": is not a whole number from 1 to 10000 (and 1 further fault)'),
        ({"fly": 1}, "fly: is an unknown key; the keys are drive, plugged, put_on, at"),
        ({"put_on": "80 kg"}, "at: is not a coupling of the simulated rig; there are truck/ball"),
        (
            {"put_on": "80 kg", "at": "tow/pin"},
            "at: tow/pin: is not a coupling of the simulated rig; there are truck/ball",
        ),
        ({"put_on": "3 t", "at": "truck/ball"}, "put_on: 3 t: is more than a person weighs; at most 4409 lb"),
        ({"put_on": None, "drive": 1}, "put_on: stands beside drive or plugged; send it alone"),
    ):
        said = error(client.post("/api/v1/simulation", json=bad), 422, "faults")
        assert said.startswith(message), said
    assert client.post("/api/v1/simulation", json={"put_on": None}).status_code == 200


def test_without_a_simulated_rig_there_is_nothing_to_drive(making: Making) -> None:
    answer = making(headers=TOKENED).post("/api/v1/simulation", json={"drive": 1})
    assert error(answer, 404, "not_simulated") == "there is no simulated rig here; start the station with --simulate"


def test_channels_are_shown_as_they_come_and_may_be_believed(making: Making, tmp_path: Path) -> None:
    station, _ = rig(tmp_path)
    client = making(headers=TOKENED, station=station)
    until(lambda: client.get("/api/v1/channels").json()["channels"], "a channel")
    channel = client.get("/api/v1/channels").json()["channels"]["p1"]
    assert channel["source"] == "the simulated rig"
    assert channel["raw"].startswith("p1 ")
    assert client.post("/api/v1/channels/p1/believe").status_code == 200
    error(client.post("/api/v1/channels/p9/believe"), 404, "no_such_channel")


def test_one_bad_port_does_not_stop_the_others() -> None:
    class Bad(Port):
        kind = "bad"

        async def samples(self) -> AsyncGenerator[Sample, None]:
            yield Sample("b", 1.0, 0.0)
            raise RuntimeError("a fault of the driver")

    async def run() -> dict[str, Live]:
        simulation = Simulation(DAY, manner=QUICK)
        live = LiveLoads(Hub(), [Bad("bad")], simulation=simulation)
        live.start()
        await comes_about(lambda: "bad.b" in live.channels and live.channels["bad.b"].sample.trouble is not None)
        await comes_about(lambda: len(live.channels) == 5)
        await live.close()
        return live.channels

    channels = asyncio.run(run())
    trouble = channels["bad.b"].sample.trouble
    assert trouble is not None
    assert trouble.words == "bad: the driver gave up (RuntimeError). Trying again."
