"""Propagation of distributions (JCGM 101), for tests that check closed forms. Checked itself in ``test_jcgm101.py``."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Draw = Callable[[np.random.Generator, int], Array]


def normal(mean: float, sd: float) -> Draw:
    """A normal distribution (JCGM 101, 6.4.7)."""
    return lambda rng, trials: mean + sd * rng.standard_normal(trials)


def uniform(low: float, high: float) -> Draw:
    """A rectangular distribution (JCGM 101, 6.4.2)."""
    return lambda rng, trials: rng.uniform(low, high, trials)


@dataclass(frozen=True)
class Propagated:
    """Trials of one output quantity, sorted."""

    trials: Array

    @property
    def mean(self) -> float:
        """The estimate."""
        return float(self.trials.mean())

    @property
    def u(self) -> float:
        """The standard uncertainty."""
        return float(self.trials.std(ddof=1))

    def symmetric(self, coverage: float = 0.95) -> tuple[float, float]:
        """The probabilistically symmetric coverage interval (7.7.2)."""
        low, high = np.quantile(self.trials, [(1 - coverage) / 2, (1 + coverage) / 2])
        return float(low), float(high)

    def shortest(self, coverage: float = 0.95) -> tuple[float, float]:
        """The shortest coverage interval (7.7.4)."""
        held = round(coverage * len(self.trials))
        widths = self.trials[held:] - self.trials[: len(self.trials) - held]
        start = int(np.argmin(widths))
        return float(self.trials[start]), float(self.trials[start + held])

    def below(self, limit: float) -> float:
        """The share of trials not above a limit."""
        return float(np.searchsorted(self.trials, limit, side="right")) / len(self.trials)


def propagate(model: Callable[..., Array], inputs: Mapping[str, Draw], *, trials: int, seed: int) -> Propagated:
    """Draw every input ``trials`` times and send the draws through ``model``, by name."""
    rng = np.random.default_rng(seed)
    drawn = {name: draw(rng, trials) for name, draw in inputs.items()}
    return Propagated(np.sort(model(**drawn)))


def share_error(share: float, trials: int) -> float:
    """Standard deviation of an observed share."""
    return math.sqrt(share * (1.0 - share) / trials)


def u_error(u: float, trials: int) -> float:
    """Standard deviation of a standard deviation seen in so many normal trials."""
    return u / math.sqrt(2.0 * trials)
