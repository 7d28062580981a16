"""A weigh day drawn anew: the same rig and drafts with everything uncertain about them drawn from its declared
distribution.

Propagation of distributions (JCGM 101) through the whole adjustment: truths are drawn, readings are made of them, the
day is solved, and estimates are compared with the truths. It uses the product's own equations for what a load is, and
its operator at the true stiffness for what uneven ground and friction do; a simulator that shares nothing with the
product stands in ``tests/simulated``. What is checked here is every closed form between readings and findings.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import adjust
from steelyard.adjustment.assumed import repeatability, unevenness
from steelyard.adjustment.readings.observed import Observed
from steelyard.adjustment.system.unknowns import Array
from steelyard.findings.catalogue import Catalogue
from steelyard.findings.quantities import Quantities
from steelyard.model import Sharing, WeighDay, WrittenReading
from steelyard.statics import FRICTION, Combination

SHAKEN = 20.0
"""Standard deviation of a free load about what the day found [kg]."""


@dataclass(frozen=True)
class Redrawn:
    """Errors, standard uncertainties and half-widths of the determined findings, each of shape (trials, findings)."""

    names: tuple[str, ...]
    errors: Array
    u: Array
    held: NDArray[np.bool_]


class Redraw:
    """Draws true days of ``day`` and reads them."""

    def __init__(self, day: WeighDay, seed: int) -> None:
        self.day = day
        self.solved = adjust(day)
        self.entries = Catalogue(self.solved).entries()
        self.rng = np.random.default_rng(seed)
        quantities = Quantities(self.solved, self.entries)
        self.places = [
            place for place, entry in enumerate(self.entries) if quantities.will_know(place) and entry.fixed is None
        ]

    def names(self) -> tuple[str, ...]:
        """The findings that the drafts determine."""
        return tuple(self.entries[place].id for place in self.places)

    def truth(self) -> Array:
        """True unknowns: what has a prior is drawn from it; what is free is what the day found, shaken by a few
        divisions.

        Loads that stood still from trial to trial would always round the same way.
        """
        unknowns = self.solved.rig.unknowns
        priors = unknowns.priors()
        drawn = unknowns.starts() + np.nan_to_num(priors) * self.rng.standard_normal(len(priors))
        loads = np.array([isinstance(key, tuple) and key[0] in ("wheel", "coupling") for key in unknowns.index])
        shaken = self.solved.unknowns + SHAKEN * loads * self.rng.standard_normal(len(priors))
        return np.where(np.isnan(priors), shaken, drawn)

    def read(self, truth: Array) -> WeighDay:
        """The day with the readings that its instruments would show of a truth."""
        observations = self.solved.observations
        loads = observations.increments.solve(truth, self.solved.lifts)
        shown, _ = observations.predict(loads, truth)
        chance: dict[str, Array] = {}
        readings: dict[int, list[WrittenReading]] = {}
        operators = {name: self._operator(name, truth) for name in self.day.states}
        for item, value in zip(observations.items, shown, strict=True):
            operator = operators[item.draft.state]
            if item.placement not in chance:
                chance[item.placement] = self._uneven(item, operator, loads.values)
            load = value + _response(item, operator) @ chance[item.placement]
            load += repeatability(item.instrument)[0] * self.rng.standard_normal()
            division = item.instrument.division
            written = WrittenReading(item.reading.place, item.instrument.id, division * round(load / division))
            readings.setdefault(item.draft.number, []).append(written)
        drafts = tuple(replace(draft, readings=tuple(readings[draft.number])) for draft in self.day.drafts)
        return replace(self.day, drafts=drafts)

    def _operator(self, state: str, truth: Array) -> Combination:
        plain, rig = self.solved.rig.operators[state], self.solved.rig
        joints = [
            joint if joint.towing is None else replace(joint, x=rig.coupling_x(joint, truth), tie=rig.tie(joint, truth))
            for joint in plain.joints
        ]
        return Combination({name: rig.body(name, truth) for name in plain.bodies}, joints)

    def _uneven(self, item: Observed, operator: Combination, loads: Array) -> Array:
        """What one placement does to all wheels and couplings: support heights, and friction within equalised sides."""
        by_height, hung_by_height = operator.support_influence()
        by_release, hung_by_release = operator.release()
        heights = unevenness(self.day.site)[0] * self.rng.standard_normal(operator.wheel_count)
        friction = np.zeros(operator.wheel_count)
        out = self.solved.observations.increments.layout.wheels_out[item.stance]
        for name, body in operator.bodies.items():
            start = operator.wheel_slice(name).start
            carried = loads[out[name]]
            for side in body.layout.equalised_sides():
                axle = self.day.vehicles[name].axles[side[0] // 2]
                assert axle.sharing is Sharing.EQUALISED
                share = FRICTION if axle.friction is None else axle.friction
                apart = self.rng.standard_normal(len(side))
                apart -= apart.mean()
                spread = share * carried[list(side)].sum() * np.sqrt(len(side) / (len(side) - 1))
                friction[[start + wheel for wheel in side]] = spread * apart
        wheels = by_height @ heights + by_release @ friction
        return np.concatenate([wheels, hung_by_height @ heights + hung_by_release @ friction])

    def run(self, trials: int) -> Redrawn:
        """Draw, read and solve so many days."""
        errors: list[Array] = []
        us: list[Array] = []
        held: list[NDArray[np.bool_]] = []
        for _ in range(trials):
            truth = self.truth()
            found = adjust(self.read(truth))
            true_loads = found.observations.increments.solve(truth, self.solved.lifts)
            there = replace(found, unknowns=truth, loads=true_loads)
            true = Quantities(there, Catalogue(there).entries()).estimates.values[self.places]
            findings = Quantities(found, Catalogue(found).entries()).findings()
            table = np.array(
                [(f.value, f.u, f.low, f.high) for f in (findings[place] for place in self.places)], dtype=float
            )
            errors.append(table[:, 0] - true)
            us.append(table[:, 1])
            held.append((table[:, 2] <= true) & (true <= table[:, 3]))
        return Redrawn(self.names(), np.array(errors), np.array(us), np.array(held))


def _response(item: Observed, operator: Combination) -> Array:
    """Which wheels and couplings of its combination a reading adds up."""
    row = np.zeros(operator.wheel_count + len(operator.joints))
    for wheel in item.reading.place.wheels:
        row[operator.wheel_slice(wheel.vehicle).start + 2 * (wheel.axle - 1) + (wheel.side == "R")] = 1.0
    for place, joint in enumerate(operator.joints):
        if joint.trailer in item.reading.place.couplings:
            row[operator.wheel_count + place] = 1.0
    return row
