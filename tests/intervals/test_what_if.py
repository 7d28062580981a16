"""What-ifs on simulated days: the 95 % intervals of a state that nobody weighed hold the truth in 95 % of cases.

The truth comes from ``tests/simulated``, which shares nothing with the product: the day that was drawn is given one
more state, its springs and bodies solved a second time, and compared with what the product says when it is asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, solve
from steelyard.loading import Hitching, Scenario
from steelyard.model import Cargo as ProductCargo
from steelyard.units import Dimension, Quantity, UnitSystem
from tests.simulated.describe import Cargo, Day, State, exact, parameters
from tests.simulated.rig import solve as truly
from tests.simulated.scenarios import Simulated, simulate
from tests.simulated.truth import findings as true_findings

INCH, POUND = 0.0254, 0.45359237
UNITS = UnitSystem("lb", "in")


@dataclass(frozen=True)
class Load:
    """What is put on: a vehicle, pounds, inches."""

    on: str
    mass: float
    x: float
    y: float


def asked(simulated: Simulated, base: str, load: Load, hitch: Hitching | None = None) -> Findings:
    """What the product says of the loaded state."""
    weighed = solve(parse_day(simulated.text, "simulated.toml"))
    crate = ProductCargo(
        "crate",
        load.on,
        mass=Quantity(load.mass * POUND),
        x=Quantity(load.x * INCH, 0.0),
        y=Quantity(load.y * INCH, 0.0),
    )
    return weighed.ask(Scenario(base, add=(crate,), hitch=() if hitch is None else (hitch,)), "asked")


def truth(simulated: Simulated, base: str, load: Load, like: State | None = None) -> dict[str, float]:
    """What the loaded state truly weighs, in pounds and inches."""
    crate = Cargo(on=load.on, mass=exact(load.mass, "lb"), x=exact(load.x, "in"), y=exact(load.y, "in"))
    state = simulated.day.states[base] if like is None else like
    day: Day = replace(
        simulated.day,
        cargo={**simulated.day.cargo, "crate": crate},
        states={**simulated.day.states, "asked": replace(state, cargo=(*state.cargo, "crate"))},
    )
    known = {item.name: item.value for item in parameters(day) if not math.isinf(item.u)}
    values = {**known, **simulated.drawn.values}
    found = true_findings(day, truly(day, values), values)
    return {key: value for key, value in found.items() if key.startswith(("asked/", f"{base}>asked/"))}


def judged(found: Findings, true: dict[str, float]) -> Iterator[tuple[bool, float]]:
    """For each finding: whether its interval holds the truth, and how far off it is in standard uncertainties."""
    compared = 0
    for key, value in true.items():
        finding = found.get(key)
        if finding is None or finding.low is None or finding.high is None or not finding.u:
            continue
        factor = UNITS.factor(finding.dimension)
        share = 0.01 if finding.dimension is Dimension.SHARE else factor
        if finding.u / share < 1e-6:
            continue
        compared += 1
        yield (
            finding.low / share <= value <= finding.high / share,
            (value - (finding.value or 0.0) / share) * share / finding.u,
        )
    assert compared >= 8


CASES = [
    ("solo", Load("tow", 900.0, 150.0, 12.0)),
    ("equalised", Load("tow", 700.0, 180.0, -10.0)),
    ("independent", Load("trailer", 800.0, 150.0, 8.0)),
    ("gooseneck", Load("trailer", 1200.0, 90.0, 0.0)),
    ("weight_distribution", Load("trailer", 500.0, 60.0, 5.0)),
]


@pytest.mark.parametrize(("kind", "load"), CASES, ids=[kind for kind, _ in CASES])
def test_intervals_of_what_ifs_cover(kind: str, load: Load) -> None:
    held: list[float] = []
    apart: list[float] = []
    for seed in range(40):
        simulated = simulate(kind, seed)
        base = list(simulated.day.states)[-1]
        on = load.on if load.on in simulated.day.states[base].vehicles else simulated.day.states[base].vehicles[-1]
        placed = replace(load, on=on)
        day = list(judged(asked(simulated, base, placed), truth(simulated, base, placed)))
        held.append(sum(inside for inside, _ in day) / len(day))
        apart += [off for _, off in day]
    coverage = sum(held) / len(held)
    spread = math.sqrt(sum((share - coverage) ** 2 for share in held) / len(held) / (len(held) - 1))
    assert abs(coverage - 0.95) < 3.0 * max(spread, 0.012), (coverage, spread)
    assert math.sqrt(sum(off**2 for off in apart) / len(apart)) == pytest.approx(1.0, abs=0.35)
