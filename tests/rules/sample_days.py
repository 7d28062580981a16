"""A weigh day for a worked example of a rule, from the few values that the example gives.

The pads are next to perfect and the ground is flat, so that a verdict depends on the figures of the example alone. What
is given:

- ``axles``: places along the whole combination, the first towing axle at 0; ``loads``: of each axle.
- ``trailer_from``: the number of the first trailer axle. Left out: one towing vehicle. 1: a trailer that stands alone.
- ``taped``: standard uncertainty of every place; left out: none.
- ``coupling_at``: place of the coupling; left out: halfway between the axles before and behind it.
- ``coupling_load``: what the trailer puts on its coupling point, weighed on a stand. Left out: nobody weighed it.
- ``tow``, ``trailer``, ``coupling``, ``axle``, ``cargo``, ``site``, ``state``: keys of the weigh-day file for the
  towing vehicle, the trailer, the coupling, every axle, what is aboard, the ground and the state; ``axles_with``: keys
  of some axles, by number through the whole combination.
- ``rules``: keys of the table ``[rules]``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from steelyard.units import Dimension, parse_quantity

STATE = "laden"
"""The name of the state that the examples speak of."""

_VEHICLES = ("axles", "loads", "taped", "trailer_from", "coupling_at", "coupling_load", "axle", "axles_with")
_TABLES = ("tow", "trailer", "coupling", "cargo", "site", "state", "rules")
_KNOWN = frozenset((*_VEHICLES, *_TABLES))
_PAD = {
    "kind": "pad",
    "capacity": "200000 kg",
    "division": "0.001 kg",
    "height": "0 mm",
    "span_uncertainty": "0 %",
    "repeatability": "0 kg",
}
_TRACK = "1.8 m +/- 0 mm"


def day_text(given: Mapping[str, Any]) -> str:
    """The weigh-day file of an example."""
    strange = sorted(given.keys() - _KNOWN)
    assert not strange, f"an example gives {strange}; it may give {sorted(_KNOWN)}"
    return toml(_tables(given))


def _tables(given: Mapping[str, Any]) -> dict[str, Any]:
    places = [_metres(text) for text in given["axles"]]
    loads = [_kilograms(text) for text in given["loads"]]
    assert len(places) == len(loads), "an example has one load for each axle"
    towing = int(given.get("trailer_from", len(places) + 1)) - 1
    hitched = 0 < towing < len(places)
    hitch = _coupling_place(given, places, towing)
    vehicles: dict[str, Any] = {}
    if towing:
        vehicles["tow"] = {"role": "towing", **given.get("tow", {}), "axles": _axles(given, places, 0, towing, 0.0)}
        if hitched or "coupling" in given:
            coupling = {"type": "ball", "x": _length(given, hitch), **given.get("coupling", {})}
            vehicles["tow"]["couplings"] = {"ball": coupling}
    if towing < len(places):
        axles = _axles(given, places, towing, len(places), hitch)
        vehicles["trailer"] = {"role": "trailer", **given.get("trailer", {}), "axles": axles}
    readings = _readings(loads, towing)
    return {
        "format": 1,
        "units": {"mass": "kg", "length": "m"},
        "site": {"unevenness": "0 mm", **given.get("site", {})},
        "rules": dict(given.get("rules", {})),
        "instruments": {f"p{number}": _PAD for number in range(1, len(readings) + 2)},
        "vehicles": vehicles,
        "cargo": given.get("cargo", {}),
        **_weighed(given, readings, coupled=hitched),
    }


def _weighed(given: Mapping[str, Any], readings: dict[str, list[Any]], *, coupled: bool) -> dict[str, Any]:
    """The states and their drafts; a trailer whose coupling load is given is weighed on its own too."""
    aboard = {"cargo": list(given["cargo"])} if "cargo" in given else {}
    state = {"vehicles": list(dict.fromkeys(place.split("/")[0] for place in readings)), **aboard}
    if coupled:
        state["couple"] = {"towing": "tow", "at": "ball", "trailer": "trailer"}
    states = {STATE: {**state, **given.get("state", {})}}
    drafts = [{"state": STATE, "readings": readings}]
    if "coupling_load" in given:
        load = _kilograms(given["coupling_load"])
        stand = {"trailer/coupling": [f"p{len(readings) + 1}", round(load, 3)]}
        of_trailer = {place: row for place, row in readings.items() if place.startswith("trailer/")}
        if coupled:
            onboard = [name for name, item in given.get("cargo", {}).items() if item.get("on") == "trailer"]
            states["parked"] = {"vehicles": ["trailer"], **({"cargo": onboard} if onboard else {})}
            drafts.append({"state": "parked", "readings": of_trailer | stand})
        else:
            drafts[0]["readings"] = of_trailer | stand
    return {"states": states, "drafts": drafts}


def _coupling_place(given: Mapping[str, Any], places: list[float], towing: int) -> float:
    if "coupling_at" in given:
        return _metres(given["coupling_at"])
    if 0 < towing < len(places):
        return (places[towing - 1] + places[towing]) / 2.0
    return 0.0 if towing == 0 else places[-1] + 1.0


def _axles(given: Mapping[str, Any], places: list[float], first: int, end: int, origin: float) -> list[dict[str, Any]]:
    """The axles of one vehicle; ``origin`` is the place that its own are counted from [m]."""
    some = given.get("axles_with", {})
    return [
        {
            "x": _length(given, places[at] - origin),
            "track": _TRACK,
            **given.get("axle", {}),
            **some.get(str(at + 1), {}),
        }
        for at in range(first, end)
    ]


def _readings(loads: list[float], towing: int) -> dict[str, list[Any]]:
    """Half of each axle's load on each of its ends, each on a pad of its own."""
    found: dict[str, list[Any]] = {}
    for at, load in enumerate(loads):
        vehicle, number = ("tow", at + 1) if at < towing else ("trailer", at - towing + 1)
        for side in "LR":
            found[f"{vehicle}/{number}{side}"] = [f"p{len(found) + 1}", round(load / 2.0, 3)]
    return found


def _metres(text: str) -> float:
    return parse_quantity(text, Dimension.LENGTH, None).value


def _kilograms(text: str) -> float:
    return parse_quantity(text, Dimension.MASS, None).value


def _length(given: Mapping[str, Any], metres: float) -> str:
    return f"{round(metres, 9)!r} m +/- {given.get('taped', '0 mm')}"


def toml(tables: Mapping[str, Any]) -> str:
    """Tables as TOML, those within others in braces."""
    return "".join(f"{key} = {_value(value)}\n" for key, value in tables.items())


def _value(value: Any) -> str:
    """A value as TOML; tables in braces."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{json.dumps(key)} = {_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
