"""Readings that the program's own statics simulates against those of a second statics, which shares nothing with it.

Both draw the same rig with the same loads many times; means and scatter of each reading must be the same, and so must
what the readings have in common.
"""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.simulation import draws
from steelyard.simulation.days import DaysLike
from steelyard.units import UNITS
from tests.simulated.describe import FREE, parameters
from tests.simulated.draw import draw
from tests.simulated.scenarios import Simulated, simulate
from tests.studies import LONG, days

Array = NDArray[np.float64]

POUND, INCH = UNITS["lb"].factor, UNITS["in"].factor

DRAWS = days(150, 4000)
"""At 150 a mean is seen that is off by half its scatter, and a scatter that is off by two fifths."""

KINDS = ("equalised", "fifth_wheel", "weight_distribution", "ground", "slope", *(("heights", "double") if LONG else ()))


def second(made: Simulated) -> Array:
    """Readings in pounds by the second statics, shape (draws, readings), in the order of the file."""
    free = {item.name: made.drawn.values[item.name] for item in parameters(made.day) if item.u == FREE}
    random = np.random.default_rng(77)
    return np.array(
        [np.concatenate(draw(made.day, free, random, slip={}).indications) for _ in range(DRAWS)], dtype=float
    )


def own(made: Simulated, monkeypatch: pytest.MonkeyPatch) -> Array:
    """The same by the program, with the same loads, and with variances that are known exactly, as they are there."""
    days_like = DaysLike(made.text, "day.toml", seed=5)
    like = days_like.likeness
    keys = list(like.rig.unknowns.index)
    like.expected = np.array([free_value(keys[at], made) for at in like.free.tolist()])
    like.dof = np.full_like(like.dof, 1e12)
    for at, key in enumerate(keys):
        if isinstance(key, tuple) and key[0] == "latched":  # the second statics latches less into a fifth wheel
            like.priors[at] = made.day.latch_u * POUND * INCH
    monkeypatch.setattr(draws, "SPREAD", 0.0)
    counts = draws.Draws(like, 5).of(range(DRAWS)).counts
    order = [
        next(
            at for at, item in enumerate(like.items) if (item.draft.number, item.reading.place.text) == (number, place)
        )
        for number, draft in enumerate(made.day.drafts, start=1)
        for place, _ in draft.readings
    ]
    return np.asarray((counts * like.division / POUND)[:, order], dtype=float)


def free_value(key: Hashable, made: Simulated) -> float:
    """The value [kg, kg*m] of a free unknown of the program, among the parameters of the second statics."""
    values = made.drawn.values
    match key:
        case ("wheel", vehicle, wheel):
            return values[f"ref.{vehicle}.{wheel}"] * POUND
        case ("coupling", vehicle):
            return values[f"ref.{vehicle}.coupling"] * POUND
        case ("couple", state, trailer):
            return values[f"wd.{state}.{trailer}"] * POUND * INCH
        case _:
            raise KeyError(key)


@pytest.mark.parametrize("kind", KINDS)
def test_readings_are_those_of_the_second_statics(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    made = simulate(kind, seed=3)
    theirs, mine = second(made), own(made, monkeypatch)
    scatter = np.sqrt((theirs.var(axis=0) + mine.var(axis=0)) / 2.0)
    assert np.abs((mine.mean(axis=0) - theirs.mean(axis=0)) / scatter).max() < 4.5 * np.sqrt(2.0 / DRAWS)
    assert np.abs(np.log(mine.std(axis=0) / theirs.std(axis=0))).max() < 4.5 * np.sqrt(1.0 / DRAWS)
    together = np.abs(np.corrcoef(mine.T) - np.corrcoef(theirs.T))
    assert together.max() < 5.0 * np.sqrt(2.0 / DRAWS)
