"""Whole weigh days as a file can describe them: any rig, cargo, states and drafts, with readings that mostly agree.

The readings come from levers, with some scatter, and now and then with a slip. What no file may hold is drawn rarely:
most days shall be answered, not refused.
"""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
from hypothesis import strategies as st

from steelyard.dayfile import bundled_set
from steelyard.rules import bundled_names
from tests.fuzz.bodies import Body, Standing, body_of, standing
from tests.fuzz.rigs import Dice, Tree, instruments, towing, trailer
from tests.fuzz.writing import Amount

START = datetime.datetime(2026, 5, 14, 8, 0, tzinfo=datetime.UTC)


@st.composite
def whole_days(draw: Any) -> Tree:
    """A weigh day as a tree for :func:`tests.fuzz.writing.written`."""
    dice = Dice(draw)
    day: Tree = {}
    if dice.chance(60):
        day["site"] = _site(dice)
    if dice.chance(25):
        day["rules"] = _rules(dice)
    if dice.chance(30):
        day["record"] = {"date": datetime.date(2026, 5, 14), "tester": "A. Tester"}
    day["instruments"] = instruments(dice)
    day["vehicles"] = _vehicles(dice)
    day["cargo"] = _cargo(dice, day["vehicles"])
    day["states"] = _states(dice, day)
    day["drafts"] = _drafts(dice, day)
    if dice.chance(15):
        day["corrections"] = _corrections(dice, day)
    return {key: value for key, value in day.items() if value}


def _rules(dice: Dice) -> Tree:
    """Some rule sets that do not exclude one another, and now and then what they ask about the driver."""
    sets: list[str] = []
    for _ in range(dice.one(1, 2, 3)):
        name = dice.one(*bundled_names())
        excluded = {*bundled_set(name).excludes, *(one for each in sets for one in bundled_set(each).excludes)}
        if name not in sets and name not in excluded and not excluded & set(sets):
            sets.append(name)
    rules: Tree = {"apply": sets}
    if dice.chance(60):
        rules |= {"use": dice.one("private", "commerce"), "licence": dice.one("B", "BE", "A"), "from_memory": True}
    return rules


def _site(dice: Dice) -> Tree:
    site: Tree = {}
    if dice.chance(50):
        site["surface"] = dice.one("concrete", "gravel", "grass", "planks")
    dice.maybe(site, "unevenness", 40, 0.0, 0.01, "length")
    dice.maybe(site, "slope_long", 25, -0.03, 0.03, "angle")
    dice.maybe(site, "slope_lat", 20, -0.03, 0.03, "angle")
    dice.maybe(site, "latitude", 20, -1.5, 1.5, "angle")
    dice.maybe(site, "elevation", 15, 0.0, 3000.0, "length")
    dice.maybe(site, "pad_sink", 15, 0.0, 0.02, "length")
    return site


def _vehicles(dice: Dice) -> Tree:
    kind = dice.one("one", "one", "solo", "two", "parked")
    vehicles: Tree = {}
    if kind != "parked":
        vehicles["tow"] = towing(dice)
    if kind != "solo":
        vehicles["tr1"] = trailer(dice, hooked=kind == "two")
    if kind == "two":
        vehicles["tr2"] = trailer(dice, hooked=False)
    return vehicles


def _cargo(dice: Dice, vehicles: Tree) -> Tree:
    cargo: Tree = {}
    for number in range(1, dice.one(1, 0, 2, 3, 4) + 1):
        on = dice.one(*vehicles)
        item: Tree = {"on": on}
        end = vehicles[on]["axles"][-1]["x"].value
        kind = dice.one("known", "known", "tank", "mass", "place", "unknown")
        if kind in ("known", "place"):
            heavy = dice.one(100.0, 600.0, 2500.0)
            item["mass"] = dice.amount(0.0 if dice.chance(3) else heavy / 10, heavy, "mass", stated=40)
        if kind == "tank":
            item["volume"] = dice.amount(0.05, 1.0, "volume", stated=30)
            item["density"] = Amount(1000.0 * dice.one(1.0, 0.75), "density")
            if dice.chance(70):
                item["level"] = Amount(dice.number(0.0, 1.0), "share", dice.one(None, 0.03))
        if kind in ("known", "tank", "mass"):
            item["x"] = Amount(dice.number(-0.5, end + 1.5), "length", dice.one(None, None, 0.02, 0.0))
            item["y"] = Amount(dice.number(-0.8, 0.8), "length")
        elif dice.chance(40):
            item["y"] = Amount(0.0, "length")
        dice.maybe(item, "z", 15, 0.0, 2.0, "length")
        if dice.chance(40):
            item["movable"] = True
        if kind in ("known", "tank") and dice.chance(15):
            item["rate"] = dice.amount(-4e-4, 4e-4, "rate", stated=60)
        cargo[f"c{number}"] = item
    return cargo


def _states(dice: Dice, day: Tree) -> Tree:
    states: Tree = {}
    for number in range(1, dice.one(2, 1, 3, 3, 4, 5) + 1):
        vehicles, links = _together(dice, day["vehicles"])
        state: Tree = {"vehicles": vehicles}
        if links:
            for link in links:
                _distribution(dice, link, states)
                if dice.chance(12):
                    link["height_change"] = dice.amount(-0.08, 0.08, "length", stated=50)
            state["couple"] = links
        aboard = dice.some([name for name, item in day["cargo"].items() if item["on"] in vehicles], 65)
        if aboard:
            state["cargo"] = aboard
        change = {name: _change(dice, day["cargo"][name]) for name in aboard if dice.chance(15)}
        if change:
            state["change"] = change
        states[f"{dice.one('at', 'with-', 'a_')}{number}"] = state
    return states


def _together(dice: Dice, vehicles: Tree) -> tuple[list[str], list[Tree]]:
    """Which vehicles a state has, and how they are coupled."""
    if "tow" not in vehicles:
        return ["tr1"], []
    first = {"towing": "tow", "trailer": "tr1"}
    count = dice.count(0, len(vehicles) - 1) if len(vehicles) > 1 else 0
    if count == 0:
        kinds = [["tow"], *([name] for name in vehicles if name != "tow"), list(vehicles)[:2]]
        return dice.one(*kinds[:1], *kinds), []
    first["at"] = dice.one(*vehicles["tow"]["couplings"])
    links = [first, {"towing": "tr1", "trailer": "tr2", "at": "rear"}]
    return list(vehicles)[: count + 1], links[:count]


def _distribution(dice: Dice, link: Tree, before: Tree) -> None:
    made = [name for name, state in before.items() for one in state.get("couple", []) if _same(one, link)]
    kind = dice.one(None, None, None, True, "stated", "same")
    if kind is True:
        link["weight_distribution"] = True
    elif kind == "stated":
        link["weight_distribution"] = dice.amount(0.0, 400.0, "couple", stated=50)
    elif kind == "same" and made:
        link["weight_distribution"] = {"as": dice.one(*made)}
    if "weight_distribution" in link and dice.chance(25):
        link["weight_distribution_rate"] = dice.amount(0.0, 5000.0, "roll")


def _same(one: Tree, other: Tree) -> bool:
    return "weight_distribution" in one and all(one[key] == other[key] for key in ("towing", "trailer", "at"))


def _change(dice: Dice, item: Tree) -> Tree:
    if "volume" in item:
        return {"level": Amount(dice.one(1.0, 0.0, 0.4), "share")}
    if "x" in item and dice.chance(50):
        return {"x": Amount(item["x"].value + dice.number(-1.0, 1.0), "length")}
    return {"mass": dice.amount(20.0, 800.0, "mass")} if "rate" not in item else {"y": Amount(0.1, "length")}


def _weight(dice: Dice, item: Tree, change: Tree) -> tuple[str, np.ndarray]:
    now = item | change
    mass = now["volume"].value * now["density"].value if "volume" in now else dice.number(30.0, 500.0)
    if "level" in now:
        mass *= now["level"].value
    if "mass" in now:
        mass = now["mass"].value
    x, y = (now[key].value if key in now else 0.5 for key in ("x", "y"))
    return item["on"], mass * np.array([1.0, x, y])


def _drafts(dice: Dice, day: Tree) -> list[Tree]:
    bodies: dict[str, Body] = {
        name: body_of(vehicle, dice.number(700.0, 4500.0), dice.number(-0.05, 0.05))
        for name, vehicle in day["vehicles"].items()
    }
    fixed = {name: _weight(dice, item, {}) for name, item in day["cargo"].items()}
    carried: dict[str, Standing] = {}
    for name, state in day["states"].items():
        change = state.get("change", {})
        aboard = [
            _weight(dice, day["cargo"][one], change[one]) if one in change else fixed[one]
            for one in state.get("cargo", [])
        ]
        carried[name] = standing(bodies, state, day["vehicles"], aboard)
    timed = any("rate" in item for item in day["cargo"].values()) and not dice.chance(5)
    drafts: list[Tree] = []
    for number in range(dice.one(3, 0, 1, 2, 4, 5, 6, 8)):
        state = dice.one(*day["states"])
        draft: Tree = {"state": state}
        if timed or dice.chance(10):
            draft["at"] = START + datetime.timedelta(minutes=20 * number)
        again = [one for one in drafts if one["state"] == state]
        if again and dice.chance(45):
            places = {place: pair[0] for place, pair in dice.one(*again)["readings"].items()}
        else:
            places = _places(dice, day, day["states"][state])
        draft["readings"] = _readings(dice, day, carried[state], places)
        _stands(dice, draft, day, number)
        drafts.append(draft)
    return [draft for draft in drafts if draft["readings"]]


def _places(dice: Dice, day: Tree, state: Tree) -> dict[str, str]:
    """What stands under which place of a draft."""
    pads = [name for name, item in day["instruments"].items() if item["kind"] == "pad"]
    decks = [name for name, item in day["instruments"].items() if item["kind"] != "pad"]
    hung = {link["trailer"] for link in state.get("couple", [])}
    found: dict[str, str] = {}
    start = dice.one(*state["vehicles"])
    for name in state["vehicles"][state["vehicles"].index(start) :]:
        vehicle, count = day["vehicles"][name], len(day["vehicles"][name]["axles"])
        if vehicle["role"] == "trailer" and name not in hung and decks and dice.chance(50):
            found[f"{name}/coupling"] = decks.pop()
        if decks and dice.chance(20):
            place = dice.one(f"{name}/1", name, f"{name}/{count}", f"{name}/1+{name}/{count}" if count > 1 else name)
            found[place] = decks.pop()
        elif not any(place.startswith(name) and "coupling" not in place for place in found):
            first = dice.one(1, 1, count)
            ends = [f"{name}/{axle}{side}" for axle in range(first, count + 1) for side in "LR"]
            ends = dice.some(ends, 70) if dice.chance(15) else ends
            for end in ends[: len(pads)]:
                found[end] = pads.pop(0)
        if dice.chance(50):
            break
    return found


def _readings(dice: Dice, day: Tree, carried: Standing, places: dict[str, str]) -> Tree:
    readings: Tree = {}
    for place, instrument in places.items():
        load = sum(_load(carried, part) for part in place.split("+"))
        load *= 1 + 0.002 * dice.one(0, 1, -1, 2, -3, 5)
        if dice.chance(3):
            load = dice.one(load + 300.0, load / 10, load * 2, 0.0, load - 500.0)
        division = day["instruments"][instrument]["division"].value
        steps = max(0, round(load / division))
        limit = day["instruments"][instrument]["capacity"].value
        shown = Amount(min(steps * division, limit), "mass")
        readings[place] = [instrument] if dice.chance(1) and dice.chance(30) else [instrument, shown]
    return readings


def _load(carried: Standing, place: str) -> float:
    name, _, part = place.partition("/")
    if part == "coupling":
        return carried.pins[name]
    return sum(load for wheel, load in carried.wheels.items() if wheel.startswith(place if part else f"{name}/"))


def _stands(dice: Dice, draft: Tree, day: Tree, number: int) -> None:
    """How the rig stood in a draft, beyond the readings."""
    if dice.chance(15):
        draft["unsupported"] = "ground"
        state = day["states"][draft["state"]]
        free = [f"{name}/{axle}{side}" for name in state["vehicles"] for axle in (1, 2) for side in "LR"]
        read = "".join(f"+{place}+" for place in draft["readings"])
        blocks = [] if any(name in ("tow", "tr1", "tr2") for name in draft["readings"]) else free
        blocks = [end for end in blocks if end[:-1] not in read and int(end[-2]) <= len(_axles(day, end))]
        if blocks and dice.chance(40):
            draft["blocks"] = dice.some(blocks) or blocks[:1]
    if dice.chance(12):
        draft["placement"] = dice.one("a", "b", f"own{number}")
    if dice.chance(8):
        draft["heading"] = "reversed"
    if dice.chance(30):
        draft["key"] = f"k{number}"
    if dice.chance(15):
        draft["label"] = dice.one("first", "morning", "as found")
    state = day["states"][draft["state"]]
    if len(state["vehicles"]) == 1 and dice.chance(6):
        name = state["vehicles"][0]
        draft["raised"] = {f"{name}/{dice.one(1, len(_axles(day, name)))}": dice.amount(0.05, 0.6, "length", stated=30)}
        if dice.chance(40):
            draft["suspension"] = "blocked"


def _axles(day: Tree, place: str) -> list[Tree]:
    return day["vehicles"][place.split("/", maxsplit=1)[0]]["axles"]


def _corrections(dice: Dice, day: Tree) -> list[Tree]:
    made: list[Tree] = []
    for _ in range(dice.one(1, 2)):
        if not day["drafts"]:
            break
        number = dice.count(1, len(day["drafts"]))
        readings = day["drafts"][number - 1]["readings"]
        place = dice.one(*readings)
        correction: Tree = {"draft": number, "place": place, "reason": "pad was not zeroed"}
        if dice.chance(60):
            division = day["instruments"][readings[place][0]]["division"].value
            before = readings[place][1].value if len(readings[place]) > 1 else 0.0
            shown = max(0, round(before / division) + dice.one(2, -3, 10))
            correction["value"] = Amount(shown * division, "mass")
        made.append(correction)
    return made
