"""The sources of each quantity's doubt: readings, pads, tape, springs, and the ground.

Method: the estimate is linear in the readings and in what was known beforehand, so its variance is a sum with one
term for each of them (JCGM 100, 5.1). A prior of standard uncertainty ``u`` enters with the gain
``cov(quantity, it) / u^2``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import StrEnum
from typing import cast

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.assumed import span_u
from steelyard.adjustment.gravity import gravity_factor
from steelyard.adjustment.propagate import Estimates
from steelyard.adjustment.system.unknowns import Array
from steelyard.model import WeighDay


class DoubtSource(StrEnum):
    """The sources of doubt."""

    GROUND = "uneven ground under the wheels"
    SLOPE_LONG = "the slope along the rig"
    SLOPE_LAT = "the tilt across the rig"
    HEIGHT = "the height of the centre of gravity, on this slope"
    PAD_HEIGHT = "the heights of the pads"
    SINK = "how far the pads sink"
    GRAVITY = "gravity here against gravity where the pads were verified"
    SPAN = "the span of the pads"
    ZERO = "the zero of the pads"
    ROUNDING = "rounding to the division"
    REPEATABILITY = "the pads' repeatability"
    FRICTION = "friction in axle groups and the wheel's place on the plate"
    TAPE = "the taped lengths"
    SPRINGS = "the springs"
    STATED = "what the file states of cargo, couples and hitch height"


_OF_KEY = {
    "slope_long": DoubtSource.SLOPE_LONG,
    "lean_long": DoubtSource.SLOPE_LONG,
    "slope_lat": DoubtSource.SLOPE_LAT,
    "lean_lat": DoubtSource.SLOPE_LAT,
    "cg_height": DoubtSource.HEIGHT,
    "pad_height": DoubtSource.PAD_HEIGHT,
    "sink": DoubtSource.SINK,
    "span": DoubtSource.SPAN,
    "set": DoubtSource.SPAN,
    "standard": DoubtSource.SPAN,
    "same": DoubtSource.SPAN,
    "zero": DoubtSource.ZERO,
    "x": DoubtSource.TAPE,
    "track": DoubtSource.TAPE,
    "coupling_x": DoubtSource.TAPE,
    "ride": DoubtSource.SPRINGS,
    "roll": DoubtSource.SPRINGS,
    "tie": DoubtSource.SPRINGS,
    "latched": DoubtSource.SPRINGS,
}


def budget(adjustment: Adjustment, estimates: Estimates) -> Mapping[DoubtSource, Array]:
    """The variance that each source brings to some quantities, each of shape (n,); together they are ``u ** 2``."""
    unknowns, roots = adjustment.rig.unknowns, estimates.roots
    found = {source: np.zeros(len(roots)) for source in DoubtSource}
    covariance = roots @ adjustment.solution.root.T
    priors = unknowns.priors()
    day = adjustment.rig.day
    for key, at in unknowns.index.items():
        if not math.isnan(priors[at]):
            words = [str(part) for part in cast(tuple[object, ...], key)]
            source = _OF_KEY.get(words[0], DoubtSource.STATED)
            of_gravity = _gravity_share(day, words[1]) if words[0] == "span" else 0.0
            variance = (covariance[:, at] / priors[at]) ** 2
            found[source] += (1.0 - of_gravity) * variance
            found[DoubtSource.GRAVITY] += of_gravity * variance
    parts = adjustment.propagation.parts(roots)
    if len(parts):
        found[DoubtSource.GROUND] += parts[0]
        found[DoubtSource.REPEATABILITY] += parts[1:].sum(axis=0)
    gain = adjustment.propagation.gain(roots)
    step = np.array([item.instrument.division for item in adjustment.observations.items])
    rounding = (gain**2 * (step**2 / 12.0)).sum(axis=1) if len(step) else np.zeros(len(roots))
    left = adjustment.propagation.of_readings(roots) - (parts.sum(axis=0) if len(parts) else 0.0)
    found[DoubtSource.ROUNDING] += np.minimum(rounding, np.maximum(left, 0.0))
    found[DoubtSource.FRICTION] += np.maximum(left - rounding, 0.0)
    return found


def _gravity_share(day: WeighDay, instrument: str) -> float:
    """The share of gravity in the variance of an instrument's span."""
    item = day.instruments[instrument]
    gravity = gravity_factor(day.site, item)
    if gravity is None:
        return 0.0
    return gravity[1] ** 2 / (gravity[1] ** 2 + span_u(item, day.date) ** 2)
