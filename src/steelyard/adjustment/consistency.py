"""Do the readings agree with one another: the global test, and the readings that do not fit.

Source: Baarda, A testing procedure for use in geodetic networks (1968): the normalised residual
``w = e' P r / sqrt(e' P Qv P e)`` with the full covariance of the readings; ``w^2`` is the fall of chi-square when that
one reading is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.propagate import student_quantile
from steelyard.adjustment.solve import Array, Blocks, Solution

SIGNIFICANCE = 0.01
"""Chance of a false alarm on a day without a slip, shared over its readings."""

ALIKE = 4.0
"""Two readings explain a misfit equally well where their falls of chi-square differ by less (7 to 1 in likelihood)."""

UNCHECKED = 1e-6
"""A reading whose redundancy is under this is checked by nothing."""

MOST_SLIPS = 8


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading [kg] that does not fit, with the slips that would explain it in words."""

    draft: int
    place: str
    instrument: str
    reading: float
    normalised_residual: float
    explanations: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """Something that may have come aboard or gone by itself, in words, with what to add to the file.

    Attributes
    ----------
    x: place along the vehicle [m]. amount: by the last draft [kg], negative where less. rate [kg/s]: None for a step.
    first, last: numbers of the drafts between which it changed. fall: by how much chi-square falls with it.
    """

    vehicle: str
    x: float
    amount: float
    rate: float | None
    first: int
    last: int
    fall: float
    words: str
    toml: str


@dataclass(frozen=True, slots=True)
class Consistency:
    """The global test and the suspects, worst first.

    ``changes`` may have happened by themselves, as people get out and fuel burns, and explain the misfit as well.
    ``p`` is None where nothing is redundant. The declared and assumed variances are themselves known to
    ``reference_dof`` degrees of freedom only, so ``p`` is that of Fisher's F, which is above that of chi-square alone.
    """

    chi2: float
    dof: float
    p: float | None
    consistent: bool
    suspects: tuple[Suspect, ...]
    changes: tuple[Change, ...] = ()
    reference_dof: float = float("inf")


@dataclass(frozen=True)
class Snoop:
    """One misfit found: readings that explain it about equally well (best first) and their normalised residuals."""

    rows: tuple[int, ...]
    normalised: tuple[float, ...]
    exchanged: bool = False


class Residuals:
    """Weighed residuals ``P r`` and the matrix ``W = P Qv P``, never formed whole.

    Parameters
    ----------
    misfit: readings minus predictions, shape (readings,). design: derivatives, shape (readings, unknowns).
    """

    def __init__(self, blocks: Blocks, design: Array, misfit: Array, solution: Solution) -> None:
        self._blocks = blocks
        self._fitted = blocks.weigh(design @ solution.root)
        self.weighed = blocks.weigh(misfit[:, None])[:, 0]
        self.weight = blocks.inverse_diagonal() - (self._fitted**2).sum(axis=1)
        self.redundancy = self.weight * blocks.variances()
        self._freed: list[Array] = []

    def column(self, row: int) -> Array:
        """One column of ``W`` as it stands after what has been freed, shape (readings,)."""
        unit = np.zeros((len(self.weighed), 1))
        unit[row] = 1.0
        column = self._blocks.weigh(unit)[:, 0] - self._fitted @ self._fitted[row]
        for freed in self._freed:
            column = column - freed * freed[row]
        return column

    def weights_of(self, columns: Array) -> Array:
        """``c' W c`` for changes ``c`` of the readings, shape (readings, n), before anything is freed; shape (n,)."""
        fitted = self._fitted.T @ columns
        return (columns * self._blocks.weigh(columns)).sum(axis=0) - (fitted**2).sum(axis=0)

    def free(self, row: int) -> None:
        """Let one reading go: it takes any value from here on."""
        column = self.column(row)
        weight = column[row]
        self.weighed = self.weighed - column * (self.weighed[row] / weight)
        self.weight = self.weight - column**2 / weight
        self.weight[row] = 0.0
        self.redundancy = self.weight * self._blocks.variances()
        self._freed.append(column / np.sqrt(weight))

    def normalised(self) -> Array:
        """Normalised residuals, shape (readings,); zero for readings that nothing checks."""
        checked = self.redundancy > UNCHECKED
        return np.where(checked, self.weighed / np.sqrt(np.where(checked, self.weight, 1.0)), 0.0)


def critical(blocks: Blocks, dof: Array, checked: NDArray[np.bool_]) -> Array:
    """Critical value of each reading's normalised residual, shape (readings,): variances are known in part only."""
    variance = np.maximum(blocks.variances(), 1e-300)
    inverse = np.zeros(len(variance))
    for part in range(blocks.components):
        inverse += (blocks.part_variances(part) / variance) ** 2 / dof[part]
    effective = 1.0 / np.maximum(inverse, 1e-9)
    tests = max(int(checked.sum()), 1)
    return student_quantile(effective, 1.0 - SIGNIFICANCE / (2 * tests))


@dataclass(frozen=True, slots=True)
class Exchange:
    """Two readings of one draft; ``change`` [kg] is the first less the second, what an exchange would undo."""

    draft: int
    first: int
    second: int
    change: float


def best_exchanges(residuals: Residuals, exchanges: Sequence[Exchange]) -> list[tuple[float, Exchange]]:
    """By how much each exchange would lower chi-square, the best first; those alike to the best only."""
    falls: list[tuple[float, Exchange]] = []
    for pair in exchanges:
        first, second = residuals.column(pair.first), residuals.column(pair.second)
        weight = first[pair.first] - 2.0 * first[pair.second] + second[pair.second]
        fall = 2.0 * pair.change * (residuals.weighed[pair.first] - residuals.weighed[pair.second])
        falls.append((float(fall - pair.change**2 * weight), pair))
    falls.sort(key=lambda one: (-round(one[0], 6), one[1].first, one[1].second))
    return [one for one in falls if one[0] >= falls[0][0] - ALIKE]


def snoop(residuals: Residuals, limits: Array, drafts: Sequence[int], exchanges: Sequence[Exchange]) -> list[Snoop]:
    """Find misfits one after the other, each freed before the next is looked for.

    Two readings exchanged shift the misfit to the other ends of a rigid vehicle, so exchanges are tried whole: one that
    explains as much as any single reading does, with nothing left to fit, is taken first.

    ``limits`` are the critical values, shape (readings,); ``drafts`` the draft of each reading.
    """
    found: list[Snoop] = []
    while len(found) < MOST_SLIPS:
        normalised = residuals.normalised()
        worst = int(np.argmax(np.abs(normalised) / limits)) if len(limits) else 0
        if not len(limits) or abs(normalised[worst]) <= limits[worst]:
            break
        accused = {drafts[int(row)] for row in np.flatnonzero(np.abs(normalised) > limits)}
        swapped = best_exchanges(residuals, [pair for pair in exchanges if pair.draft in accused])
        if swapped and swapped[0][0] >= float((normalised**2).max()) - ALIKE:
            single = np.flatnonzero(normalised**2 >= swapped[0][0] - ALIKE)
            rows = dict.fromkeys(row for _, pair in swapped for row in (pair.first, pair.second))
            rows.update(dict.fromkeys(int(row) for row in single))
            found.append(Snoop(tuple(rows), tuple(float(normalised[row]) for row in rows), exchanged=True))
            for row in (swapped[0][1].first, swapped[0][1].second):
                if residuals.redundancy[row] > UNCHECKED:
                    residuals.free(row)
            continue
        falls = np.round(normalised**2, 6)  # readings that explain it equally well stay in file order
        order = np.argsort(-falls, kind="stable")
        best = int(order[0])
        alike = [int(row) for row in order if falls[row] >= falls[best] - ALIKE and falls[row] > 0.0]
        alike = [row for row in alike if abs(normalised[row]) > 0.8 * limits[row]]
        found.append(Snoop(tuple(alike), tuple(float(normalised[row]) for row in alike)))
        residuals.free(best)
    return found


def reference_dof(blocks: Blocks, dof: Array) -> float:
    """Degrees of freedom to which the readings' variances are known (Satterthwaite), ``dof`` of shape (components,)."""
    inverse = 0.0
    variance = np.maximum(blocks.variances(), 1e-300)
    for part in range(blocks.components):
        inverse += float(np.mean(blocks.part_variances(part) / variance)) ** 2 / dof[part]
    return 1.0 / max(inverse, 1e-9)


def global_probability(chi2: float, redundancy: int, reference: float) -> float:
    """Probability of a chi-square at least this large where variances are known to ``reference`` degrees of freedom."""
    from scipy.special import fdtrc

    return float(fdtrc(redundancy, reference, max(chi2, 0.0) / redundancy))
