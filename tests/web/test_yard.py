"""The yard for programs: read by the same model as a day, version by version, and days made of the newest."""

from __future__ import annotations

import random
from typing import Any

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day, read_day, write_instrument, write_vehicle
from tests.web.serving import EXAMPLE
from tests.web.shapes import error

DAY = read_day(EXAMPLE)
TRUCK = write_vehicle(DAY.vehicles["truck"], DAY.units)
OVEN = write_vehicle(DAY.vehicles["oven"], DAY.units)
PAD = write_instrument(DAY.instruments["p1"], DAY.units)
YARD = "/api/v1/yard"


def test_what_is_saved_is_listed_in_its_newest_version(script: TestClient) -> None:
    assert script.get(YARD).json() == {"vehicles": [], "instruments": []}
    first = script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK, "learned": {"ride_rate": [380, 12]}})
    assert (first.status_code, first.json()) == (201, {"name": "truck", "version": 1})
    again = script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK})
    assert (again.status_code, again.json()) == (200, {"name": "truck", "version": 1})
    heavier = TRUCK.replace("11400 lb", "11600 lb")
    second = script.post(f"{YARD}/vehicles/truck", json={"text": heavier})
    assert (second.status_code, second.json()) == (201, {"name": "truck", "version": 2})
    assert script.post(f"{YARD}/instruments/p1", json={"text": PAD}).status_code == 201
    listed = script.get(YARD).json()
    assert [(item["name"], item["version"], item["text"]) for item in listed["vehicles"]] == [("truck", 2, heavier)]
    assert listed["vehicles"][0]["learned"] == {"ride_rate": [380, 12]}  # nobody said that it is no longer so
    assert [(item["name"], item["text"]) for item in listed["instruments"]] == [("p1", PAD)]


def test_old_versions_stay(script: TestClient) -> None:
    address = f"{YARD}/vehicles/truck"
    script.post(address, json={"text": TRUCK, "learned": {"a": 1}})
    script.post(address, json={"text": TRUCK, "learned": {}})
    old, new = (script.get(f"{address}?version={number}").json() for number in (1, 2))
    assert (old["version"], old["learned"], old["device"]) == (1, {"a": 1}, "script")
    assert (new["version"], new["learned"]) == (2, {})
    assert script.get(address).json() == new
    error(script.get(f"{address}?version=3"), 404, "not_in_the_yard")
    error(script.get(f"{address}?version=0"), 422, "bad_parameter")
    error(script.get(f"{YARD}/vehicles/nobody"), 404, "not_in_the_yard")
    error(script.get(f"{YARD}/pictures/truck"), 404, "not_in_the_yard")


def test_values_without_a_unit_take_the_ones_asked_for(script: TestClient) -> None:
    text = '[instruments.p1]\nkind = "pad"\ncapacity = 9000\ndivision = 10\n'
    assert script.post(f"{YARD}/instruments/p1?units=kg,mm", json={"text": text}).status_code == 201
    assert 'capacity = "9000 kg"' in script.get(f"{YARD}/instruments/p1").json()["text"]
    assert script.post(f"{YARD}/instruments/p1", json={"text": text}).json()["version"] == 2
    assert 'capacity = "9000 lb"' in script.get(f"{YARD}/instruments/p1").json()["text"]


@pytest.mark.parametrize(
    ("body", "code", "message"),
    [
        ({"text": TRUCK.replace("truck", "van")}, "faults", "is not [vehicles.truck] and what belongs to it"),
        ({"text": PAD}, "faults", "is not [vehicles.truck] and what belongs to it"),
        ({"text": TRUCK + OVEN}, "faults", "is not one draft, correction, state, cargo or the like"),
        ({"text": ""}, "faults", "is not one draft, correction, state, cargo or the like"),
        (
            {"learned": [1]},
            "faults",
            "text: is missing (and 1 further fault)",
        ),
        (
            {"text": TRUCK, "learnt": {}},
            "faults",
            "learnt: is an unknown key; did you mean 'learned'?",
        ),
    ],
)
def test_what_is_no_vehicle_of_that_name_is_refused(
    script: TestClient, body: dict[str, Any], code: str, message: str
) -> None:
    assert error(script.post(f"{YARD}/vehicles/truck", json=body), 422, code) == message
    assert script.get(YARD).json()["vehicles"] == []


def test_the_faults_of_a_vehicle_are_those_of_a_file(script: TestClient) -> None:
    answer = script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK.replace('"68 in"', '"68 lb"')})
    error(answer, 422, "faults")
    assert answer.json()["error"]["faults"][0]["path"] == "axles[1].track"


def test_a_spoilt_block_is_refused_or_sound(script: TestClient) -> None:
    chance = random.Random(20260514)
    for _ in range(300):
        start = chance.randrange(len(TRUCK))
        end = start + chance.randrange(120)
        new = chance.choice(["", TRUCK[start:end] * 2, "\0", '"', "= 1e999\n", "= nan\n", "[[drafts]]\n", "9" * 400])
        answer = script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK[:start] + new + TRUCK[end:]})
        if answer.status_code not in (200, 201):
            error(answer, 422, "faults")
    assert script.get("/yard").status_code == 200
    kept = script.get(YARD).json()["vehicles"]
    if kept:
        assert script.post(f"{YARD}/days", json={"vehicles": ["truck"]}).status_code == 201


def test_a_day_is_made_of_the_newest_versions(script: TestClient) -> None:
    script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK})
    script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK.replace("11400 lb", "11600 lb")})
    script.post(f"{YARD}/vehicles/oven", json={"text": OVEN})
    script.post(f"{YARD}/instruments/p1", json={"text": PAD})
    made = script.post(f"{YARD}/days", json={"vehicles": ["truck", "oven"], "instruments": ["p1"]})
    assert made.status_code == 201
    day = parse_day(script.get(made.headers["location"]).text, "day")
    assert (sorted(day.vehicles), sorted(day.instruments), day.drafts) == (["oven", "truck"], ["p1"], ())
    gvwr = day.vehicles["truck"].ratings.gvwr
    assert gvwr is not None
    assert day.units.mass == "lb"
    assert round(gvwr / 0.45359237) == 11600
    assert sorted(day.states) == ["hitched", "truck_solo"]


@pytest.mark.parametrize(
    ("body", "code", "message"),
    [
        ({}, "faults", "vehicles: is missing"),
        ({"vehicles": []}, "faults", "vehicles: is empty; name one vehicle of the yard or more"),
        (
            {"vehicles": ["truck"], "trailers": ["oven"]},
            "faults",
            "trailers: is an unknown key; the keys are vehicles, instruments",
        ),
        ({"vehicles": ["van"]}, "not_in_the_yard", "the yard has no vehicle 'van'; it has truck"),
        (
            {"vehicles": ["truck"], "instruments": ["p9"]},
            "not_in_the_yard",
            "the yard has no instrument 'p9'; it has none",
        ),
        ({"vehicles": ["truck", "truck"]}, "faults", "vehicles: truck: is given twice; give it once"),
        ({"vehicles": [1]}, "faults", "vehicles: 1: is not a text of at most 200 letters"),
        ({"vehicles": "truck"}, "faults", "vehicles: truck: is not a list of at most 200 items"),
    ],
)
def test_what_the_yard_does_not_have_makes_no_day(
    script: TestClient, body: dict[str, Any], code: str, message: str
) -> None:
    script.post(f"{YARD}/vehicles/truck", json={"text": TRUCK})
    before = script.get("/api/v1/days").json()
    assert error(script.post(f"{YARD}/days", json=body), 422, code) == message
    assert script.get("/api/v1/days").json() == before
