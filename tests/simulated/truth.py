"""The true value of every finding of a simulated day, by finding id, in the units of the file (shares in per cent)."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from tests.simulated.describe import Day, couple_of, trailers
from tests.simulated.rig import Loads, cargo_weight

if TYPE_CHECKING:
    from collections.abc import Mapping


def findings(day: Day, loads: Mapping[str, Loads], values: Mapping[str, float]) -> dict[str, float]:
    """All findings: of each state, of each pair of states, and of cargo with an unknown."""
    of = {state: _of_state(day, state, loads[state]) for state in day.states}
    found = {key: value for content in of.values() for key, value in content.items()}
    for before, after in combinations(day.states, 2):
        found.update(_transfers(of[before], of[after], before, after))
    for name, cargo in day.cargo.items():
        if cargo.tank is None and (cargo.mass is None or cargo.x is None or cargo.y is None):
            aboard = next(state for state, content in day.states.items() if name in content.cargo)
            mass, along, across = cargo_weight(day, name, aboard, values)
            found |= {f"cargo/{name}/mass": mass, f"cargo/{name}/x": along / mass, f"cargo/{name}/y": across / mass}
    return {key: float(value) for key, value in found.items()}


def _of_state(day: Day, state: str, loads: Loads) -> dict[str, float]:
    found: dict[str, float] = {}
    content = day.states[state]
    for name in content.vehicles:
        found.update(_of_vehicle(day, f"{state}/{name}", name, loads))
    if content.couples:
        found[f"{state}/combination/gross"] = float(sum(loads.wheels[name].sum() for name in content.vehicles))
    for number, trailer in enumerate(trailers(day, state), start=1):
        if couple_of(content, trailer) is None and content.couples:
            message = "a parked trailer beside a coupled one has no finding id of its own"
            raise NotImplementedError(message)
        prefix = f"{state}/coupling" if number == 1 else f"{state}/coupling/{number}"
        load = loads.coupling[trailer]
        found[f"{prefix}/load"] = load
        found[f"{prefix}/share"] = 100 * load / (load + float(loads.wheels[trailer].sum()))
    return found


def _of_vehicle(day: Day, prefix: str, name: str, loads: Loads) -> dict[str, float]:
    wheels = loads.wheels[name]
    found = {
        f"{prefix}/wheel/{wheel}": float(load) for wheel, load in zip(day.vehicles[name].wheels, wheels, strict=True)
    }
    pairs = wheels.reshape(-1, 2)
    found |= {f"{prefix}/axle/{number}": float(pair.sum()) for number, pair in enumerate(pairs, start=1)}
    found |= {f"{prefix}/side/L": float(pairs[:, 0].sum()), f"{prefix}/side/R": float(pairs[:, 1].sum())}
    trailer = day.vehicles[name].role == "trailer"
    gross = float(wheels.sum()) + (loads.coupling[name] if trailer else 0.0)
    found |= {f"{prefix}/gross": gross, f"{prefix}/axles": float(wheels.sum())}
    mass, along, across = loads.weight[name]
    found |= {f"{prefix}/cg_x": float(along / mass), f"{prefix}/cg_y": float(across / mass)}
    if not trailer:
        found[f"{prefix}/front_share"] = float(100 * pairs[0].sum() / gross)
    return found


def _transfers(earlier: Mapping[str, float], later: Mapping[str, float], before: str, after: str) -> dict[str, float]:
    """Changes from one state to a later one, of what both have."""
    changed: dict[str, float] = {}
    for key, value in earlier.items():
        rest = key.partition("/")[2]
        kind = rest.split("/")[1]
        wanted = kind in {"wheel", "axle", "side"} or rest.endswith(("/gross", "coupling/load"))
        if rest.startswith("coupling/2"):
            wanted = rest.endswith("/load")
        if f"{after}/{rest}" in later and wanted and not rest.startswith("combination"):
            changed[f"{before}>{after}/{rest}"] = later[f"{after}/{rest}"] - value
    return changed


def kind_of(finding: str) -> str:
    """The class of a finding: wheel, axle, side, gross, coupling, cg, share, transfer, cargo."""
    if finding.startswith("cargo/"):
        return "cargo"
    state, _, rest = finding.partition("/")
    if ">" in state:
        return "transfer"
    last = rest.split("/")
    if last[-1] in {"share", "front_share"}:
        return "share"
    if last[0] == "coupling":
        return "coupling"
    if last[-1] in {"cg_x", "cg_y"}:
        return "cg"
    return "gross" if last[1] in {"gross", "axles"} else last[1]
