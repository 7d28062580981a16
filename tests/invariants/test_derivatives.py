"""The derivatives of all loads by every unknown, against central differences at random unknowns.

Days of every sort stand in ``days`` below: lifted wheels, a fifth wheel that ties roll, weight-distributing bars with a
rate, an independent tandem on pads of different heights, two trailers, a trailer from its stand to a truck, cargo of
unknown mass and place, tanks, a slope. Tolerance: 1e-5 of the largest derivative by the same unknown; central
differences with steps of a hundredth of a prior are good to some 1e-6.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from steelyard.adjustment.observation import Observations
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.unknowns import Array
from steelyard.dayfile import parse_day
from steelyard.statics import Lift
from tests.invariants.rich_days import RICH

SLOPED = {"slope"}
"""Where the weight that a slope acts on is taken as it stands, on purpose without derivative by the loads (a slope must
never pass for a scale); the other derivatives hold."""


def system(name: str) -> tuple[Rig, Observations]:
    rig = Rig(parse_day(RICH[name], f"{name}.toml"))
    return rig, Observations(rig)


def random_unknowns(rig: Rig, seed: int) -> Array:
    """Priors and loads drawn at random: masses and loads of some hundred kilograms, couples, all else within its
    doubt.
    """
    rng = np.random.default_rng(seed)
    priors, starts = rig.unknowns.priors(), rig.unknowns.starts()
    free = np.isnan(priors)
    return starts + np.where(
        free, rng.normal(800.0, 100.0, len(starts)), np.nan_to_num(priors) * rng.normal(size=len(starts))
    )


def worst(name: str, lifts: Mapping[str, Lift], seed: int) -> dict[object, float]:
    """By unknown: the largest error of its derivatives over the largest derivative, with readings' predictions beside
    the loads.
    """
    rig, observations = system(name)
    unknowns = random_unknowns(rig, seed)
    priors = rig.unknowns.priors()

    def shown(at: Array) -> tuple[Array, Array]:
        loads = observations.increments.solve(at, dict(lifts))
        predicted, design = observations.predict(loads, at)
        return np.concatenate([loads.values, predicted]), np.vstack([loads.jacobian, design])

    _, exact = shown(unknowns)
    found: dict[object, float] = {}
    for column, key in enumerate(rig.unknowns.index):
        step = 1.0 if np.isnan(priors[column]) else 1e-2 * priors[column]
        there, back = unknowns.copy(), unknowns.copy()
        there[column] += step
        back[column] -= step
        numeric = (shown(there)[0] - shown(back)[0]) / (2 * step)
        size = np.abs(numeric).max()
        # a difference of loads near 1000 kg over a step of 0.1 mm is only good to 1e-8: under 0.01 it tells nothing
        found[key] = float(np.abs(numeric - exact[:, column]).max() / max(size, 1e-2))
    if name in SLOPED:
        return {
            key: error for key, error in found.items() if isinstance(key, tuple) and key[0] not in ("wheel", "coupling")
        }
    return found


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("name", RICH)
def test_on_the_ground(name: str, seed: int) -> None:
    errors = worst(name, {}, seed)
    assert {key: error for key, error in errors.items() if error > 1e-5} == {}


LIFTED = {
    "a wheel of an independent tandem with bars": ("tandem", {"hitched": Lift({"cart": frozenset({1})})}),
    "a wheel of a truck with bars": ("solo", {"full": Lift({"tow": frozenset({2})})}),
    "a side of an equalised group": ("plate", {"crated": Lift({"cart": frozenset({0, 2})})}),
    "a stand": ("stand", {"loaded": Lift({}, frozenset({"cart"}))}),
    "wheels of two trailers": ("double", {"two": Lift({"cart": frozenset({3}), "tow": frozenset({0})})}),
    "a wheel under a fifth wheel": ("fifth wheel", {"crated": Lift({"cart": frozenset({0})})}),
}


@pytest.mark.parametrize("what", LIFTED)
def test_with_something_lifted(what: str) -> None:
    name, lifts = LIFTED[what]
    errors = worst(name, lifts, 3)
    assert {key: error for key, error in errors.items() if error > 1e-5} == {}


def test_every_sort_of_unknown_is_met() -> None:
    """So that the checks above cover what there is."""
    kinds = {key[0] for name in RICH for key in system(name)[0].unknowns.index if isinstance(key, tuple)}
    expected = {
        "wheel",
        "coupling",
        "couple",
        "rise",
        "cargo",
        "x",
        "track",
        "ride",
        "roll",
        "coupling_x",
        "tie",
        "latched",
    }
    expected |= {"sink", "slope_long", "slope_lat", "cg_height", "span", "set", "zero", "pad_height", "instrument_mass"}
    assert expected <= kinds
