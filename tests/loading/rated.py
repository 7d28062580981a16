"""Weigh days of many kinds with ratings close to what their vehicles carry, so that every question of loading has work.

The days are those of ``tests.simulated``; ratings are put on around the loads that were found.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, Weighed, solve, weigh
from steelyard.model import Cargo, Ratings, Vehicle, WeighDay
from steelyard.units import Quantity
from tests.simulated.scenarios import simulate

KINDS = (
    "solo",
    "equalised",
    "independent",
    "single",
    "triple",
    "gooseneck",
    "fifth_wheel",
    "weight_distribution",
    "stand",
    "predicted",
    "double",
    "hitched_first",
)


@cache
def rated(kind: str, seed: int, *, doubtful: bool = False) -> WeighDay:
    """A day of a kind with ratings; ``doubtful``: its unevenness and repeatability are the program's own guesses."""
    made = simulate(kind, seed)
    text = made.text
    if doubtful:
        text = "\n".join(line for line in text.splitlines() if not line.startswith(("unevenness", "repeatability")))
    day = parse_day(text, f"{kind}-{seed}.toml")
    rng = np.random.default_rng([*kind.encode(), seed, 7])
    found = weigh(day)
    vehicles = {name: _with_ratings(vehicle, found, rng) for name, vehicle in day.vehicles.items()}
    return replace(day, vehicles=vehicles)


@cache
def solved(kind: str, seed: int, *, doubtful: bool = False) -> Weighed:
    """Such a day solved, once for all who ask it something."""
    return solve(rated(kind, seed, doubtful=doubtful))


SLIPPED = ("slip_solo", "slip_equalised")


def contradicting(kind: str, seed: int) -> WeighDay | None:
    """A day with a slip left standing in one reading; None where it explains itself away."""
    day = rated(kind, seed)
    return day if solved(kind, seed).adjustment.explanations else None


def with_crates(day: WeighDay, seed: int) -> WeighDay:
    """The day with four movable crates and a tank aboard, in every state, and one rating too low by a little.

    What is aboard in every state changes no other load, so the readings mean what they meant.
    """
    rng = np.random.default_rng([seed, 11])
    names = list(day.vehicles)
    cargo: dict[str, Cargo] = {}
    for number in range(5):
        on = day.vehicles[names[number % len(names)]]
        x, y = (Quantity(float(rng.uniform(0.5, 1.0) * on.axles[-1].x.value)), Quantity(float(rng.uniform(-0.5, 0.5))))
        name, mass = f"crate{number}", Quantity(float(rng.uniform(30.0, 120.0)))
        cargo[name] = Cargo(name, on.id, mass=mass, x=x, y=y, movable=True)
    tank = cargo.pop("crate4")
    volume, density, level = Quantity(0.15), Quantity(1000.0), Quantity(0.8)
    cargo["tank"] = Cargo("tank", tank.on, x=tank.x, y=tank.y, volume=volume, density=density, level=level)
    states = {
        name: replace(state, cargo=(*state.cargo, *(item.id for item in cargo.values() if item.on in state.vehicles)))
        for name, state in day.states.items()
    }
    return _strained(replace(day, cargo={**day.cargo, **cargo}, states=states), rng)


def _strained(day: WeighDay, rng: np.random.Generator) -> WeighDay:
    """One axle of each vehicle gets a rating some kilograms under what it carries at most."""
    found = weigh(day)
    vehicles: dict[str, Vehicle] = {}
    for name, vehicle in day.vehicles.items():
        at = int(rng.integers(len(vehicle.axles)))
        load = _most(vehicle, found, f"axle/{at + 1}")
        axles = list(vehicle.axles)
        if load is not None:
            axles[at] = replace(axles[at], rating=load - float(rng.uniform(5.0, 40.0)))
        vehicles[name] = replace(vehicle, axles=tuple(axles))
    return replace(day, vehicles=vehicles)


def on_paper(day: WeighDay, gross: float, share: float) -> WeighDay:
    """The day with a one-axle trailer ``paper`` of a gross [kg] and a share [1] on its coupling, known without doubt.

    It is weighed parked on instruments finer than anything matters; three supports leave no room for uneven ground.
    """
    text = """
format = 1
units = { mass = "kg", length = "m" }
[instruments.fine]
kind = "platform"
capacity = "1000000 kg"
division = "0.000001 kg"
repeatability = "0.000001 kg"
span_uncertainty = "0 %"
[vehicles.paper]
role = "trailer"
[[vehicles.paper.axles]]
x = "5 m +/- 0 m"
track = "2 m +/- 0 m"
[states.paper]
vehicles = ["paper"]
"""
    half, stand = gross * (1.0 - share) / 2.0, gross * share
    for place, load in (("paper/1L", half), ("paper/1R", half), ("paper/coupling", stand)):
        text += f'[[drafts]]\nstate = "paper"\nreadings = {{ "{place}" = ["fine", "{load:.6f} kg"] }}\n'
    paper = parse_day(text, "paper.toml")
    return replace(
        day,
        instruments={**day.instruments, **paper.instruments},
        vehicles={**day.vehicles, **paper.vehicles},
        states={**day.states, **paper.states},
        drafts=(*day.drafts, *(replace(draft, number=draft.number + len(day.drafts)) for draft in paper.drafts)),
    )


def _most(vehicle: Vehicle, found: Findings, tail: str) -> float | None:
    """The greatest of a load of a vehicle [kg] among all states; None where no state determines it."""
    loads = [
        float(finding.value or 0.0)
        for finding in found.findings
        if finding.determined and ">" not in finding.id and finding.id.partition("/")[2] == f"{vehicle.id}/{tail}"
    ]
    return max(loads, default=None)


def _with_ratings(vehicle: Vehicle, found: Findings, rng: np.random.Generator) -> Vehicle:
    def rating(tail: str) -> float | None:
        load = _most(vehicle, found, tail)
        return None if load is None or rng.uniform() < 0.25 else max(load, 50.0) * float(rng.uniform(1.005, 1.4))

    axles = tuple(
        replace(axle, rating=rating(f"axle/{number}"), wheel_rating=rating(f"wheel/{number}{rng.choice(['L', 'R'])}"))
        for number, axle in enumerate(vehicle.axles, start=1)
    )
    gross = _most(vehicle, found, "gross") or 3000.0
    ratings = Ratings(gvwr=rating("gross"), gcwr=gross * float(rng.uniform(1.8, 3.0)) if rng.uniform() < 0.5 else None)
    couplings = {
        name: replace(item, vertical=float(rng.uniform(400.0, 1500.0)), gross=float(rng.uniform(3000.0, 8000.0)))
        for name, item in vehicle.couplings.items()
    }
    return replace(vehicle, axles=axles, ratings=ratings, couplings=couplings)
