"""Simulated pads, written apart from the product: what a pad with known faults would show of a load."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np


@dataclass
class Pad:
    """A pad with a zero [kg], a span [1] and a scatter [kg]; it shows the nearest of its divisions [kg]."""

    division: float
    zero: float
    span: float
    scatter: float
    rng: np.random.Generator = field(repr=False)

    def feels(self, load: float) -> float:
        """What it weighs before it rounds."""
        return self.zero + load * (1.0 + self.span) + self.scatter * float(self.rng.standard_normal())

    def shows(self, load: float) -> float:
        """What it displays."""
        return self.division * math.floor(self.feels(load) / self.division + 0.5)

    def tips(self, load: float, weight: float) -> tuple[float, float]:
        """What it displays, and the small weights put on one by one until the display went up."""
        steady = self.zero + load * (1.0 + self.span)
        first = self.division * math.floor(steady / self.division + 0.5)
        count = 0
        while True:
            count += 1
            felt = steady + count * weight
            if self.division * math.floor(felt / self.division + 0.5) > first:
                return first, count * weight


def a_pad(rng: np.random.Generator, *, division: float = 10.0, scatter: float = 3.0, zero: float = 4.0) -> Pad:
    """A pad drawn at random: zero within ``zero``, span of some 0.3 %."""
    return Pad(division, float(rng.uniform(-zero, zero)), float(rng.normal(0.0, 3e-3)), scatter, rng)
