"""Do the readings agree with one another: the global test, and the readings that do not fit.

Source: Baarda, A testing procedure for use in geodetic networks (1968); see ``residuals``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.misfit.residuals import UNCHECKED, Residuals
from steelyard.adjustment.solve import Array, Blocks, Indices
from steelyard.adjustment.student import SIGNIFICANCE, student_quantile
from steelyard.classes import dataclass
from steelyard.distributions import functions

ALIKE = 4.0
"""Two readings explain a misfit equally well where their falls of chi-square differ by less (7 to 1 in likelihood)."""

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
class GradualChange:
    """Something that may have come aboard or gone by itself, in words, with what to add to the file.

    Attributes
    ----------
    x, y: place on the vehicle [m]. amount: by the last draft [kg], negative where less. rate [kg/s]: None for a step.
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
    y: float = 0.0


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
    changes: tuple[GradualChange, ...] = ()
    reference_dof: float = float("inf")


@dataclass(frozen=True)
class Snoop:
    """One misfit found: readings that explain it about equally well (best first) and their normalised residuals.

    ``freed`` are the readings let go for it; ``exchanged`` the pair, where two readings may have changed places.
    """

    rows: tuple[int, ...]
    normalised: tuple[float, ...]
    freed: tuple[int, ...]
    exchanged: tuple[int, int] | None = None


def critical(blocks: Blocks, dof: Array, checked: NDArray[np.bool_]) -> Array:
    """Critical value of each reading's normalised residual, shape (readings,): variances are known in part only."""
    variance = np.maximum(blocks.variances(), 1e-300)
    inverse = np.zeros(len(variance))
    for part in range(blocks.components):
        inverse += (blocks.part_variances(part) / variance) ** 2 / dof[part]
    effective = 1.0 / np.maximum(inverse, 1e-9)
    tests = max(int(checked.sum()), 1)
    return student_quantile(effective, 1.0 - SIGNIFICANCE / (2 * tests))


@dataclass(frozen=True)
class Exchanges:
    """All pairs of readings of one draft that differ by a division or more; each array of shape (pairs,).

    ``change`` [kg] is the first less the second, what an exchange would undo. ``draft`` is the draft's number.
    """

    draft: Indices
    first: Indices
    second: Indices
    change: Array

    def among(self, drafts: set[int]) -> Exchanges:
        """Those of some drafts."""
        chosen = np.isin(self.draft, list(drafts))
        return Exchanges(self.draft[chosen], self.first[chosen], self.second[chosen], self.change[chosen])

    def falls(self, residuals: Residuals) -> Array:
        """By how much each exchange would lower chi-square, shape (pairs,)."""
        weight = residuals.weight[self.first] + residuals.weight[self.second]
        weight = weight - 2.0 * residuals.between(self.first, self.second)
        pull = residuals.weighed[self.first] - residuals.weighed[self.second]
        return 2.0 * self.change * pull - self.change**2 * weight


def best_exchanges(residuals: Residuals, exchanges: Exchanges, margin: float) -> list[tuple[float, int]]:
    """Falls of chi-square and places of the exchanges within ``margin`` of the best, the best first."""
    falls = residuals.told(exchanges.falls(residuals))
    if not len(falls):
        return []
    order = np.lexsort((exchanges.second, exchanges.first, -falls))
    return [(float(falls[at]), int(at)) for at in order if falls[at] >= falls[order[0]] - margin]


def snoop(
    residuals: Residuals, limits: Array, drafts: Sequence[int], exchanges: Exchanges | Callable[[], Exchanges]
) -> list[Snoop]:
    """Find misfits one after the other, each freed before the next is looked for.

    Two readings exchanged shift the misfit to the other ends of a rigid vehicle, so exchanges are tried whole: one that
    explains as much as any single reading does, with nothing left to fit, is taken first. A reading that nothing checks
    is never among the suspects: nothing could be said of it.

    ``limits`` are the critical values, shape (readings,); ``drafts`` the draft of each reading. ``exchanges`` may be
    what makes them, for most days have no misfit to explain.
    """
    found: list[Snoop] = []
    while len(found) < MOST_SLIPS:
        normalised = residuals.normalised()
        worst = int(np.argmax(residuals.told((normalised / limits) ** 2))) if len(limits) else 0
        if not len(limits) or abs(normalised[worst]) <= limits[worst]:
            break
        accused = {drafts[int(row)] for row in np.flatnonzero(np.abs(normalised) > limits)}
        exchanges = exchanges() if callable(exchanges) else exchanges
        swapped = exchanges.among(accused)
        best = best_exchanges(residuals, swapped, ALIKE)
        if best and best[0][0] >= float((normalised**2).max()) - ALIKE:
            found.append(_exchanged(residuals, normalised, swapped, best))
            for row in found[-1].freed:
                residuals.free(row)
            continue
        falls = residuals.told(normalised**2)  # readings that explain it equally well stay in file order
        order = np.argsort(-falls, kind="stable")
        alike = [int(row) for row in order if falls[row] >= falls[order[0]] - ALIKE and falls[row] > 0.0]
        alike = [row for row in alike if row == order[0] or abs(normalised[row]) > 0.8 * limits[row]]
        found.append(Snoop(tuple(alike), tuple(float(normalised[row]) for row in alike), (alike[0],)))
        residuals.free(alike[0])
    return found


def _exchanged(residuals: Residuals, normalised: Array, pairs: Exchanges, best: list[tuple[float, int]]) -> Snoop:
    """An exchange as the misfit found: both readings of the pairs alike, then what single readings explain as well."""
    single = np.flatnonzero(normalised**2 >= best[0][0] - ALIKE)
    rows = dict.fromkeys(int(row) for _, at in best for row in (pairs.first[at], pairs.second[at]))
    rows.update(dict.fromkeys(int(row) for row in single))
    checked = [row for row in rows if residuals.redundancy[row] > UNCHECKED]
    at = best[0][1]
    pair = int(pairs.first[at]), int(pairs.second[at])
    freed = tuple(row for row in pair if row in checked)
    return Snoop(tuple(checked), tuple(float(normalised[row]) for row in checked), freed, pair)


def reference_dof(blocks: Blocks, dof: Array) -> float:
    """Degrees of freedom to which the readings' variances are known (Satterthwaite), ``dof`` of shape (components,)."""
    inverse = 0.0
    variance = np.maximum(blocks.variances(), 1e-300)
    for part in range(blocks.components):
        inverse += float(np.mean(blocks.part_variances(part) / variance)) ** 2 / dof[part]
    return 1.0 / max(inverse, 1e-9)


def global_probability(chi2: float, redundancy: int, reference: float) -> float:
    """Probability of a chi-square at least this large where variances are known to ``reference`` degrees of freedom."""
    return float(functions().fdtrc(redundancy, reference, max(chi2, 0.0) / redundancy))
