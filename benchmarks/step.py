"""The adjustment of a day of twelve wheels against bare factorisation and against libraries for least squares.

A Gauss-Newton step of the program assembles loads and derivatives, whitens them and solves with the priors; the floor
is NumPy's thin singular value decomposition of the same whitened matrix, prior rows included, and nothing else. SciPy
and statsmodels get the same system: the program's own predictions, the same weights, the same start.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import statsmodels.api as sm
from numpy.typing import NDArray
from scipy.optimize import OptimizeResult, least_squares

from benchmarks.days import TWELVE
from benchmarks.measure import Row, side_by_side
from steelyard.adjustment import Adjustment, Blocks, Solution, adjust, solve
from steelyard.dayfile import read_day

Array = NDArray[np.float64]

SETTLED = 0.02
"""Where the program stops: no unknown moves by more than this share of its standard uncertainty."""

GROUP = "least squares"


@dataclass(frozen=True)
class System:
    """One weighted system: the program's equations at weights that stay as they are."""

    adjustment: Adjustment
    blocks: Blocks
    starts: Array
    priors: Array
    known: NDArray[np.int_]
    guess: Array

    def whitened(self, unknowns: Array) -> Array:
        """Derivatives and, as the last column, what is left, of all readings; shape (readings, unknowns + 1)."""
        observations = self.adjustment.observations
        loads = observations.increments.solve(unknowns, self.adjustment.lifts)
        shown, design = observations.predict(loads, unknowns)
        return self.blocks.whiten(np.column_stack([design, observations.values - shown]))

    def with_priors(self, white: Array, unknowns: Array) -> Array:
        """The same with a row for each prior, shape (readings + priors, unknowns + 1)."""
        rows = np.zeros((len(self.known), white.shape[1]))
        rows[np.arange(len(self.known)), self.known] = 1.0 / self.priors[self.known]
        rows[:, -1] = ((self.starts - unknowns) / self.priors)[self.known]
        return np.vstack([white, rows])

    def step(self, unknowns: Array) -> Solution:
        """One Gauss-Newton step of the program, assembly included; ``unknowns`` of shape (unknowns,)."""
        white = self.whitened(unknowns)
        return solve(white[:, :-1], white[:, -1], self.priors, self.starts - unknowns)

    def converged(self) -> Array:
        """Steps from the first guess until nothing moves, shape (unknowns,)."""
        unknowns, moving = self.guess, True
        while moving:
            solution = self.step(unknowns)
            unknowns = unknowns + solution.step
            moving = bool((np.abs(solution.step) > SETTLED * np.sqrt((solution.root**2).sum(axis=1)) + 1e-9).any())
        return unknowns

    def residuals(self, unknowns: Array) -> Array:
        """What SciPy makes small, shape (readings + priors,)."""
        return -self.with_priors(self.whitened(unknowns), unknowns)[:, -1]

    def derivatives(self, unknowns: Array) -> Array:
        """Its derivatives, shape (readings + priors, unknowns)."""
        return self.with_priors(self.whitened(unknowns), unknowns)[:, :-1]

    def by_scipy(self, *, analytic: bool) -> OptimizeResult:
        """The same minimum by ``scipy.optimize.least_squares``, with the program's derivatives or by differences."""
        return least_squares(self.residuals, self.guess, jac=self.derivatives if analytic else "2-point", x_scale="jac")


def system() -> System:
    """The day of twelve wheels at its solution's weights."""
    done = adjust(read_day(TWELVE))
    unknowns = done.rig.unknowns
    blocks = done.observations.covariance(done.loads).blocks.scaled(done.factors)
    priors = unknowns.priors()
    known = np.flatnonzero(~np.isnan(priors))
    return System(done, blocks, unknowns.starts(), priors, known, done.observations.first_guess())


def statsmodels_fit(whole: Array) -> tuple[Array, Array]:
    """Estimates and standard errors of a whitened system (all weights 1; last column: what is seen), by statsmodels."""
    fitted = sm.WLS(whole[:, -1], whole[:, :-1]).fit(cov_type="fixed scale")
    return np.asarray(fitted.params), np.asarray(fitted.bse)


def rows() -> Iterator[Row]:
    """The comparisons."""
    at = system()
    _same(at)
    yield from _step_rows(at)
    yield from _solver_rows(at)


def _step_rows(at: System) -> Iterator[Row]:
    observations, place = at.adjustment.observations, at.adjustment.unknowns
    loads = observations.increments.solve(place, at.adjustment.lifts)
    white = at.whitened(place)
    whole = at.with_priors(white, place)[:, :-1]
    size = f"thin SVD of the whitened {len(whole)} x {whole.shape[1]}"
    calls: dict[str, Callable[[], object]] = {
        size: lambda: np.linalg.svd(whole, full_matrices=False),
        "one Gauss-Newton step": lambda: at.step(place),
        "- loads and derivatives": lambda: observations.increments.solve(place, at.adjustment.lifts),
        "- prediction": lambda: observations.predict(loads, place),
        "- whitening": lambda: at.blocks.whiten(white),
        "- solution with its covariance": lambda: solve(white[:, :-1], white[:, -1], at.priors, at.starts - place),
    }
    took = side_by_side(calls, seconds=4.0)
    for name in list(calls)[1:]:
        yield Row(GROUP, name, took[name], size, took[size], aim="" if name.startswith("-") else "under 3x")


def _solver_rows(at: System) -> Iterator[Row]:
    day = at.adjustment.rig.day
    place = at.adjustment.unknowns
    white = at.whitened(place)
    whole = at.with_priors(white, place)
    solution, to_convergence, everything = (
        "linear solution",
        "steps to convergence",
        "whole adjustment, set-up included",
    )
    calls: dict[str, Callable[[], object]] = {
        solution: lambda: solve(white[:, :-1], white[:, -1], at.priors, at.starts - place),
        to_convergence: at.converged,
        everything: lambda: adjust(day),
        "statsmodels WLS, linear system": lambda: statsmodels_fit(whole),
        "SciPy least_squares, 2-point": lambda: at.by_scipy(analytic=False),
        "SciPy least_squares, analytic": lambda: at.by_scipy(analytic=True),
    }
    took = side_by_side(calls, seconds=6.0)
    pairs = [
        (solution, "statsmodels WLS, linear system", ""),
        (to_convergence, "SciPy least_squares, 2-point", "20x ahead"),
        (to_convergence, "SciPy least_squares, analytic", ""),
        (everything, "SciPy least_squares, 2-point", ""),
        (everything, "SciPy least_squares, analytic", ""),
    ]
    for name, beside, aim in pairs:
        yield Row(GROUP, name, took[name], beside, took[beside], aim=aim)


def _same(at: System) -> None:
    """All of them find the same: nothing is compared with what does less.

    Raises
    ------
    ArithmeticError: two differ by more than a fiftieth of a standard uncertainty, or in their uncertainties.
    """
    mine = at.converged()
    solution = at.step(mine)
    u = np.sqrt((solution.root**2).sum(axis=1))
    for analytic in (False, True):
        if bool((np.abs(at.by_scipy(analytic=analytic).x - mine) > SETTLED * u).any()):
            raise ArithmeticError("SciPy finds other estimates")
    step, errors = statsmodels_fit(at.with_priors(at.whitened(mine), mine))
    if not np.allclose(errors, u, rtol=1e-6) or bool((np.abs(step - solution.step) > 1e-6 * u).any()):
        raise ArithmeticError("statsmodels finds other estimates or uncertainties")
