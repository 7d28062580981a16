"""Coefficients of a state against the day asked the long way: loads, doubt and verdicts, whatever cargo does."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.findings import Weighed, solve
from steelyard.loading import Hitching, Scenario, ScenarioError
from steelyard.model import Cargo
from steelyard.questions.influence import INFLUENCE, influence
from steelyard.statics import TAPE
from steelyard.units import Dimension, Quantity
from tests.loading.days import BAKERY, weighed

Array = NDArray[np.float64]
Done = tuple[str, Array, Array, Array]
MASS, LENGTH = BAKERY.units.factor(Dimension.MASS), BAKERY.units.factor(Dimension.LENGTH)


def vector(numbers: list[float], width: int) -> Array:
    """The root of a value as sent: what is left out is nothing."""
    return np.array(numbers[1:] if len(numbers) > 1 else [0.0] * width)


class Reader:
    """Predicts from the published coefficients as a page does, and shares no code with the product."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.data = json.loads(json.dumps(data))
        rows = [item["row"] for item in self.data["quantities"] if item["row"]]
        self.width = max(len(term) - 1 for row in rows for term in row)
        self.items = {item["name"]: item for item in self.data["items"]}

    def load(self, name: str, **now: float) -> tuple[Array, Array, Array]:
        """Load, its root (3, q) and the variances that a new place brings."""
        item, w = self.items[name], self.width
        mass, root = item["mass"][0], vector(item["mass"], w)
        if item["level"]:
            level: float = now["level"] if "level" in now else item["level"][0]
            more = 0.0 if "level" in now else mass * vector(item["level"], w)
            mass, root = mass * level, root * level + more
        load, roots, fresh = [mass], [root], [0.0]
        for axis in "xy":
            place: float = now[axis] if axis in now else item[axis][0]
            own = 0.0 if axis in now else mass * vector(item[axis], w)
            load.append(mass * place)
            roots.append(root * place + own)
            fresh.append((mass * TAPE / LENGTH) ** 2 if axis in now else 0.0)
        return np.array(load), np.array(roots), np.array(fresh)

    def row(self, row: list[list[float]], done: list[Done]) -> tuple[float, float]:
        value, root, more = float(row[0][0]), vector(row[0], self.width).copy(), 0.0
        for vehicle, load, roots, fresh in done:
            at = 1 + 3 * self.data["vehicles"].index(vehicle)
            rate = np.array([term[0] for term in row[at : at + 3]])
            value += float(rate @ load)
            root += sum(part * vector(term, self.width) for part, term in zip(load, row[at : at + 3], strict=True))
            root += rate @ roots
            more += float(rate**2 @ fresh)
        return value, float(np.sqrt(root @ root + more))


def moved(reader: Reader, name: str, **now: float) -> Done:
    """What moving or filling an item aboard changes."""
    before, after = reader.load(name), reader.load(name, **now)
    return reader.items[name]["on"], after[0] - before[0], after[1] - before[1], after[2]


def put_on(reader: Reader, name: str) -> Done:
    load, roots, _ = reader.load(name)
    return reader.items[name]["on"], load, roots, np.zeros(3)


def taken_off(reader: Reader, name: str) -> Done:
    load, roots, _ = reader.load(name)
    return reader.items[name]["on"], -load, -roots, np.zeros(3)


def new(reader: Reader, on: str, mass: float, x: float, y: float) -> Done:
    none = np.zeros((3, reader.width))
    return on, mass * np.array([1.0, x, y]), none, (mass * TAPE / LENGTH) ** 2 * np.array([0.0, 1.0, 1.0])


def agree(day: Weighed, state: str, scenario: Scenario, reader: Reader, done: list[Done]) -> None:
    """Every load and its doubt are those of the long way."""
    asked = day.ask(scenario)
    compared = 0
    for item in reader.data["quantities"]:
        finding = asked.get("what_if" + item["id"].removeprefix(state))
        if item["row"] is None:
            assert finding is None or not finding.determined
            continue
        assert finding is not None
        assert finding.value is not None
        assert finding.u is not None
        value, u = reader.row(item["row"], done)
        assert value == pytest.approx(finding.value / MASS, abs=1e-4)
        assert u == pytest.approx(finding.u / MASS, rel=2e-3, abs=1e-3)
        compared += 1
    assert compared > 9


def placed(x: float) -> Quantity:
    return Quantity(x * LENGTH)


@pytest.mark.parametrize("state", ["hitched", "levelled", "market"])
def test_cargo_that_moves_comes_and_goes(state: str) -> None:
    day = weighed()
    reader = Reader(INFLUENCE.data(influence(day, state), file="day.toml"))
    crate = Cargo("crate", "oven", mass=Quantity(300 * MASS), x=placed(120), y=placed(-12))
    scenario = Scenario(
        state, add=(crate,), change={"baker": {"x": placed(150), "y": placed(-10)}, "water": {"level": Quantity(0.7)}}
    )
    done = [
        new(reader, "oven", 300, 120, -12),
        moved(reader, "baker", x=150, y=-10),
        moved(reader, "water", level=0.7),
    ]
    agree(day, state, scenario, reader, done)
    agree(day, state, Scenario(state, remove=("baker",)), reader, [taken_off(reader, "baker")])


def test_what_is_not_aboard_is_put_on_with_the_doubt_of_its_own_mass() -> None:
    heavy = replace(BAKERY.cargo["apprentice"], mass=Quantity(150 * MASS, 12 * MASS))
    day = solve(replace(BAKERY, cargo={**BAKERY.cargo, "apprentice": heavy}))
    reader = Reader(INFLUENCE.data(influence(day, "levelled"), file="day.toml"))
    assert reader.items["apprentice"]["aboard"] is False
    agree(day, "levelled", Scenario("levelled", put_on=("apprentice",)), reader, [put_on(reader, "apprentice")])
    agree(
        day,
        "market",
        Scenario("market", change={"apprentice": {"x": placed(200)}}),
        (market := Reader(INFLUENCE.data(influence(day, "market"), file="day.toml"))),
        [moved(market, "apprentice", x=200)],
    )


def test_a_state_that_is_hitched_first() -> None:
    day = weighed()
    hitch = (Hitching("ball", "oven"),)
    made = influence(day, "what_if", Scenario("solo", hitch=hitch))
    reader = Reader(INFLUENCE.data(made, file="day.toml"))
    scenario = Scenario("solo", hitch=hitch, change={"baker": {"x": placed(90)}})
    agree(day, "what_if", scenario, reader, [moved(reader, "baker", x=90)])


def test_the_room_under_each_limit_is_that_of_its_verdict() -> None:
    day = weighed()
    reader = Reader(INFLUENCE.data(influence(day, "levelled"), file="day.toml"))
    done = [moved(reader, "baker", x=200, y=20)]
    asked = day.ask(Scenario("levelled", change={"baker": {"x": placed(200), "y": placed(20)}}))
    by_id = {verdict.id: verdict for verdict in asked.verdicts}
    kinds: set[bool] = set()
    for limit in reader.data["limits"]:
        verdict = by_id.get("what_if" + limit["id"].removeprefix("levelled"))
        if verdict is None or verdict.probability is None:
            continue
        if limit["of"] is None:
            slack, u = reader.row(limit["row"], done)
        else:
            value, u = reader.row(reader.data["quantities"][limit["of"]]["row"], done)
            slack = (limit["limit"] - value) * (1 if limit["sense"] == "max" else -1)
        kept = slack >= limit["quantile"] * u
        assert kept == (verdict.probability >= 0.95), limit["id"]
        kinds.add(limit["of"] is None)
    assert kinds == {True, False}


def test_an_unknown_state_is_named() -> None:
    with pytest.raises(ScenarioError, match="there is no state 'nowhere'; there are solo, hitched, levelled, market"):
        influence(weighed(), "nowhere")


def test_putting_on_what_is_aboard_or_belongs_elsewhere_is_refused() -> None:
    with pytest.raises(ScenarioError, match="cargo 'baker' is aboard already"):
        weighed().ask(Scenario("solo", put_on=("baker",)))
    with pytest.raises(ScenarioError, match="cargo 'water' goes on 'oven', which is not in this state"):
        weighed().ask(Scenario("solo", put_on=("water",)))
