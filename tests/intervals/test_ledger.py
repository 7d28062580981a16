"""Ledgers on simulated days: what nobody listed, and what was weighed by difference, hold the truth in 95 % of cases.

The truth comes from ``tests/simulated``: a thing of known mass and place is aboard and not in the file, the vehicle's
papers are off by their own doubt, and the readings are what imperfect pads show of it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.model import Unloaded, WeighDay
from steelyard.questions.ledger import LedgerItem, ledger
from steelyard.units import Quantity
from tests.simulated.rig import cargo_weight
from tests.simulated.scenarios import Simulated, simulate

DAYS = 120
POUND, INCH = 0.45359237, 0.0254
HIDDEN = {"tow": np.array([420.0, 420.0 * 150, 420.0 * -12]), "stock": np.array([300.0, 300.0 * 120, 300.0 * 10])}
"""Mass and moments of what nobody lists [lb, lb*in, lb*in]."""
LABEL_U, PLACE_U = 25.0, 0.4


class Tally:
    """How often intervals held the truth, and how far off values were in standard uncertainties."""

    def __init__(self) -> None:
        self.held: dict[str, list[bool]] = {}
        self.off: dict[str, list[float]] = {}

    def take(self, item: LedgerItem, truth: np.ndarray) -> None:
        """Mass and place of one item against the true mass and moments [lb, lb*in, lb*in]."""
        true = {"mass": truth[0] * POUND, "x": truth[1] / truth[0] * INCH, "y": truth[2] / truth[0] * INCH}
        for leg, value in true.items():
            finding = getattr(item, leg)
            assert finding.determined, (item.id, leg)
            self.held.setdefault(leg, []).append(finding.low <= value <= finding.high)
            self.off.setdefault(leg, []).append((finding.value - value) / finding.u)

    def check(self) -> None:
        """Coverage of 95 %, and a scatter that the standard uncertainty tells."""
        for leg, inside in self.held.items():
            coverage = sum(inside) / len(inside)
            assert abs(coverage - 0.95) < 3.0 * math.sqrt(0.95 * 0.05 / DAYS), (leg, coverage)
            scatter = math.sqrt(sum(off**2 for off in self.off[leg]) / len(self.off[leg]))
            assert scatter == pytest.approx(1.0, abs=0.25), leg


def with_papers(simulated: Simulated, state: str, rng: np.random.Generator) -> WeighDay:
    """The day as its owner has it: papers that state each vehicle without what is hidden in it, within their doubt."""
    day = parse_day(simulated.text, "simulated.toml")
    vehicles = dict(day.vehicles)
    for name, hidden in HIDDEN.items():
        weight = simulated.drawn.loads[state].weight[name]
        aboard = [item for item in simulated.day.states[state].cargo if simulated.day.cargo[item].on == name]
        cargo = sum((cargo_weight(simulated.day, item, state, simulated.drawn.values) for item in aboard), np.zeros(3))
        own = weight - cargo - hidden
        mass, x, y = own[0], own[1] / own[0], own[2] / own[0]
        told = [mass + LABEL_U * rng.standard_normal(), x + PLACE_U * rng.standard_normal()]
        told.append(y + PLACE_U * rng.standard_normal())
        vehicles[name] = replace(
            vehicles[name],
            unloaded=Unloaded(
                Quantity(told[0] * POUND, LABEL_U * POUND),
                Quantity(told[1] * INCH, PLACE_U * INCH),
                Quantity(told[2] * INCH, PLACE_U * INCH),
            ),
        )
    return replace(day, vehicles=vehicles)


def test_the_rest_covers() -> None:
    tallies = {name: Tally() for name in HIDDEN}
    for seed in range(DAYS):
        simulated = simulate("weight_distribution", seed)
        day = with_papers(simulated, "bars", np.random.default_rng([7, seed]))
        for account in ledger(solve(day), "bars").accounts:
            assert account.rest is not None
            tallies[account.vehicle].take(account.rest, HIDDEN[account.vehicle])
    for tally in tallies.values():
        tally.check()


def test_what_nobody_declared_is_weighed_by_difference() -> None:
    """The stone is loaded between two states and the file does not know of it."""
    tally = Tally()
    for seed in range(DAYS):
        simulated = simulate("unknown_cargo", seed)
        day = parse_day(simulated.text, "simulated.toml")
        states = {name: replace(day.states[name], cargo=("driver",)) for name in ("empty", "stone")}
        drafts = tuple(draft for draft in day.drafts if draft.state in states)
        told = replace(day, states=states, drafts=drafts, cargo={"driver": day.cargo["driver"]})
        (account,) = ledger(solve(told), "stone", since="empty").accounts
        assert account.since is not None
        values = simulated.drawn.values
        tally.take(account.since, np.array([values[f"cargo.stone.{key}"] for key in ("mass", "mx", "my")]))
    tally.check()
