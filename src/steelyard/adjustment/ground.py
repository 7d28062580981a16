"""Effects of the ground on the loads of each draft: slope, tilt, pads under some wheels, pads that sink.

Each effect is the operator at the day's estimates with the effect, less the operator without it; nothing is solved for
again, so what the readings scatter by does not enter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from enum import StrEnum

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import stances_of
from steelyard.adjustment.system.unknowns import Array
from steelyard.classes import dataclass
from steelyard.model import Draft, WeighDay
from steelyard.units import Quantity


class Effect(StrEnum):
    """The effects that the ground may have."""

    SLOPE_LONG = "slope_long"
    SLOPE_LAT = "slope_lat"
    PAD_HEIGHT = "pad_height"
    SINK = "pad_sink"


@dataclass(frozen=True)
class GroundShift:
    """Load that an effect added in one draft [kg]: wheels by vehicle, shape (wheels,), couplings by trailer.

    ``wheels_by`` and ``couplings_by`` are the derivatives of these by the unknowns of the adjustment, shapes (wheels,
    unknowns) and (unknowns,): what the effect is worth hangs on springs, tape, heights and slope, each with its doubt.
    """

    draft: Draft
    wheels: Mapping[str, Array]
    couplings: Mapping[str, float]
    wheels_by: Mapping[str, Array]
    couplings_by: Mapping[str, Array]


def moved_by(adjustment: Adjustment, effect: Effect, day: WeighDay | None = None) -> list[GroundShift]:
    """Load that ``effect`` added in each draft that counts.

    ``day`` is the day with the effect in it, where it is not the adjusted one itself: to see what it would do.
    """
    with_it = adjustment.rig.day if day is None else day
    numbers = {item.draft.number for item in adjustment.observations.items}
    drafts = [draft for draft in with_it.drafts if draft.number in numbers]
    then, before = _loads(adjustment, with_it, ()), _loads(adjustment, _without(with_it, effect), _ZEROED[effect])
    found: list[GroundShift] = []
    for draft in drafts:
        one, other = then(draft), before(draft)
        found.append(
            GroundShift(
                draft,
                {name: one.values[out] - other.values[other.wheels[name]] for name, out in one.wheels.items()},
                {name: float(one.values[out] - other.values[other.couplings[name]]) for name, out in one.joints()},
                {name: one.by_unknown[out] - other.by_unknown[other.wheels[name]] for name, out in one.wheels.items()},
                {name: one.by_unknown[out] - other.by_unknown[other.couplings[name]] for name, out in one.joints()},
            )
        )
    return found


_ZEROED: dict[Effect, tuple[str, ...]] = {
    Effect.SLOPE_LONG: ("slope_long", "lean_long"),
    Effect.SLOPE_LAT: ("slope_lat", "lean_lat"),
    Effect.PAD_HEIGHT: ("pad_height",),
    Effect.SINK: ("sink",),
}


def _without(day: WeighDay, effect: Effect) -> WeighDay:
    """The day as if there were no such effect."""
    site = day.site
    match effect:
        case Effect.SLOPE_LONG:
            return replace(day, site=replace(site, slope_long=None))
        case Effect.SLOPE_LAT:
            return replace(day, site=replace(site, slope_lat=None))
        case Effect.SINK:
            return replace(day, site=replace(site, pad_sink=None))
        case Effect.PAD_HEIGHT:
            flat = {name: replace(item, height=Quantity(0.0)) for name, item in day.instruments.items()}
            return replace(day, instruments=flat)


@dataclass(frozen=True)
class _Drawn:
    """The loads of a draft's stance: ``values`` of shape (outputs,), ``by_unknown`` (outputs, unknowns), and where.

    ``wheels`` says where those of each vehicle stand among the outputs, ``couplings`` the same of each trailer's.
    """

    values: Array
    by_unknown: Array
    wheels: Mapping[str, slice]
    couplings: Mapping[str, int]

    def joints(self) -> Iterable[tuple[str, int]]:
        """The couplings, each with its place."""
        return self.couplings.items()


class _Draws:
    """Looks up the loads of a draft's stance; derivatives stand by the unknowns of the adjustment."""

    def __init__(self, day: WeighDay, layout: Layout, loads: StanceLoads, by_unknown: Array) -> None:
        self._stances = stances_of(day)
        self._layout, self._loads, self._by_unknown = layout, loads, by_unknown

    def __call__(self, draft: Draft) -> _Drawn:
        index = self._layout.number[self._stances[draft.number]]
        wheels, couplings = self._layout.wheels_out[index], self._layout.coupling_out[index]
        return _Drawn(self._loads.values, self._by_unknown, wheels, couplings)


def _loads(adjustment: Adjustment, day: WeighDay, zeroed: tuple[str, ...]) -> _Draws:
    """Loads of all drafts of ``day`` at the estimates, some unknowns put to nothing."""
    rig = Rig(day, reference=adjustment.rig.reference)
    increments = Increments(rig, list(stances_of(rig.day).values()))
    increments.masses = adjustment.increments.masses
    unknowns = rig.unknowns.starts()
    known = adjustment.rig.unknowns.index
    shared: dict[int, int] = {}
    for key, at in rig.unknowns.index.items():
        if isinstance(key, tuple) and key[0] in zeroed:
            unknowns[at] = 0.0
        elif key in known:
            unknowns[at] = adjustment.unknowns[known[key]]
            shared[known[key]] = at
    loads = increments.solve(np.asarray(unknowns), adjustment.lifts)
    by_unknown = np.zeros((len(loads.values), len(known)))
    by_unknown[:, list(shared)] = loads.jacobian[:, list(shared.values())]
    return _Draws(rig.day, increments.layout, loads, by_unknown)
