"""The adjustment of a weigh day: all readings together, by Gauss-Newton on the whitened system."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import field, replace

import numpy as np

from steelyard.adjustment.misfit.agreement import Agreement, Fit, check
from steelyard.adjustment.misfit.consistency import Consistency, Snoop
from steelyard.adjustment.misfit.explanation import Explanation
from steelyard.adjustment.observation import Covariance, Observations
from steelyard.adjustment.propagate import Estimates, Linear, Propagation, combined
from steelyard.adjustment.shapes import SHAPES
from steelyard.adjustment.solve import FAINT, Array, Blocks, Solution, solve
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.lifting import firm_references, lift_next
from steelyard.adjustment.system.masses import own_masses
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.variance import learn
from steelyard.classes import dataclass
from steelyard.model import WeighDay
from steelyard.statics import Lift

STEPS = 20
SETTLED = 1e-5
"""Gauss-Newton stops when no unknown moves by more than this share of its standard uncertainty; that last step is taken
along the derivatives at hand. What is left is of second order, under 1e-6 of the uncertainty, so that nothing of where
the iteration started, such as the order of the file, is seen in a result."""

HALVINGS = 4

FASTEST = 1.0
"""The logarithm of a stiffness changes by no more in one step."""

SOFTEST = 3.0
"""The logarithm of a stiffness departs by no more from what the file says or what is assumed: a factor of 20. That is
six standard uncertainties of an assumed rate."""

LEARNING_STEPS = 6


@dataclass(frozen=True)
class _Linearised:
    """Everything at one set of unknowns; ``prior`` is the weighted sum of squares of what is known beforehand."""

    unknowns: Array
    loads: StanceLoads
    design: Array
    misfit: Array
    prior: float

    def cost(self, white: Array) -> float:
        """The weighted sum of squares that the solution makes least; ``white`` is the misfit, whitened."""
        return self.prior + float(white @ white)


@dataclass()
class _Work:
    """State of the iteration; ``point`` is the one that the last step started from."""

    unknowns: Array
    covariance: Covariance
    lifts: dict[str, Lift] = field(default_factory=dict[str, Lift])
    tipped: list[str] = field(default_factory=list[str])
    point: _Linearised | None = None


@dataclass(frozen=True)
class _Solved:
    """One converged system: everything at the solution."""

    unknowns: Array
    loads: StanceLoads
    design: Array
    misfit: Array
    solution: Solution


@dataclass(frozen=True)
class Adjustment:
    """A solved weigh day.

    Attributes
    ----------
    loads: of every stance, level states first (see ``Layout`` for where each stands).
    observations: the readings; increments: the system that ``loads`` came from, which may have more states.
    unknowns: the estimates, shape (unknowns,). propagation: carries their covariance on.
    lifts: what is off the ground, by state. tipped: states whose supports do not hold the rig up.
    explanations: where readings contradict one another, all that explains it about as well, the likeliest first.
    """

    rig: Rig
    observations: Observations
    increments: Increments
    unknowns: Array
    loads: StanceLoads
    solution: Solution
    propagation: Propagation
    consistency: Consistency
    lifts: dict[str, Lift]
    tipped: tuple[str, ...]
    factors: Array
    redundancy: int
    explanations: tuple[Explanation, ...] = ()

    @property
    def layout(self) -> Layout:
        """Position of each load among the outputs."""
        return self.increments.layout

    def under(self, explanation: Explanation) -> Adjustment:
        """The day as one of its ``explanations`` has it, to be asked as any other; nothing is solved again.

        Loads move along their derivatives; what lifts off the ground stays as it is.
        """
        root = self.propagation.inserted(self.solution.root, explanation.extra)
        solution = replace(self.solution, root=root)
        moved = self.loads.jacobian @ explanation.shift
        return replace(
            self,
            unknowns=self.unknowns + explanation.shift,
            loads=StanceLoads(self.loads.values + moved, self.loads.jacobian),
            solution=solution,
            propagation=self.propagation.under(solution, explanation),
            explanations=(),
        )

    def estimate(self, combination: Array) -> Estimates:
        """Linear combinations of the loads of all stances, shape (n, outputs), with their doubt."""
        return self.propagation.of(Linear(combination @ self.loads.values, combined(combination, self.loads.jacobian)))


def adjust(day: WeighDay) -> Adjustment:
    """Solve a weigh day.

    Wheels that would have to pull are lifted and the rest is solved again. Suspects are sought with the prior
    variances; only then are variances learned from what remains.
    """
    observations = SHAPES.observations(day)
    work, solved = _settle(observations)
    firm = firm_references(observations.increments, solved.solution, solved.loads)
    if firm is not None and not firm.items() <= observations.rig.reference.items():
        observations = SHAPES.observations(day, {**observations.rig.reference, **firm})
        work, solved = _settle(observations)
    while lift_next(observations.increments, work.lifts, work.tipped, solved.solution, solved.loads):
        solved = _converge(observations, work)
    prior = work.covariance
    redundancy = len(observations.items) - solved.solution.rank
    fit = Fit(prior.blocks, prior.tested, solved.design, solved.misfit, solved.solution)
    agreement = check(observations, fit, redundancy)
    blocks, dof = _learn(observations, prior, solved, agreement.found, redundancy)
    solved = _weigh_again(observations, blocks, solved)
    fit = Fit(blocks, prior.tested + dof - prior.dof, solved.design, solved.misfit, solved.solution)
    return Adjustment(
        observations.rig,
        observations,
        observations.increments,
        solved.unknowns,
        solved.loads,
        solved.solution,
        Propagation(solved.solution, blocks, solved.design, dof),
        agreement.consistency,
        work.lifts,
        (*observations.rig.tipped, *work.tipped),
        blocks.factors,
        redundancy,
        _explanations(observations, fit, agreement, redundancy, solved.loads),
    )


def prospect(day: WeighDay, expected: Mapping[Hashable, float] | None = None) -> Adjustment:
    """The equations of a weigh day, before any arithmetic on its readings: what they will determine, and how well.

    ``expected`` holds values of unknowns by key [kg, kg*m]. With them what grows with load is there, and the degrees
    of freedom are those of variances once learned; without them rank alone is to be relied on.
    """
    rig = Rig(day)
    observations = Observations(rig)
    starts, priors = rig.unknowns.starts(), rig.unknowns.priors()
    for key, value in (expected or {}).items():
        if key in rig.unknowns.index:
            starts[rig.unknowns.index[key]] = value
    loads = observations.increments.solve(starts, {})
    _, design = observations.predict(loads, starts)
    covariance = observations.covariance(loads if expected is not None else None)
    blocks = covariance.likely
    solution = _solve(blocks, design, np.zeros(len(design)), priors, np.zeros(len(starts)))
    redundancy = len(observations.items) - solution.rank
    dof = covariance.dof
    if expected is not None and redundancy > 0:
        _, dof = learn(blocks, design, solution.root, np.zeros(len(design)), dof)
    propagation = Propagation(solution, blocks, design, dof)
    unchecked = Consistency(0.0, float(max(redundancy, 0)), None, True, ())
    return Adjustment(
        rig,
        observations,
        observations.increments,
        starts,
        loads,
        solution,
        propagation,
        unchecked,
        {},
        rig.tipped,
        blocks.factors,
        redundancy,
    )


def _explanations(
    observations: Observations, fit: Fit, agreement: Agreement, redundancy: int, loads: StanceLoads
) -> tuple[Explanation, ...]:
    """All that explains where readings contradict one another; none on a sound day."""
    if agreement.consistency.consistent:
        return ()
    from steelyard.adjustment.misfit.hypotheses import explanations_of  # a sound day does without

    return explanations_of(observations, fit, agreement, redundancy, _carried(observations, loads))


def _carried(observations: Observations, loads: StanceLoads) -> StanceLoads:
    """The loads of wheels and couplings of every state, level."""
    layout = observations.increments.layout
    places = [
        out
        for index in layout.level.values()
        for vehicle in layout.wheels_out[index].values()
        for out in range(vehicle.start, vehicle.stop)
    ]
    places += [out for index in layout.level.values() for out in layout.coupling_out[index].values()]
    return StanceLoads(loads.values[places], loads.jacobian[places])


def _settle(observations: Observations) -> tuple[_Work, _Solved]:
    """The solution of a day, every wheel and stand on the ground."""
    guess = observations.first_guess()
    work = _Work(guess, observations.covariance(observations.increments.guessed(guess)))
    return work, _converge(observations, work)


def _converge(observations: Observations, work: _Work) -> _Solved:
    """Gauss-Newton; friction grows with load: taken from the first guess, then from each solution."""
    work.point = None
    solved, _ = _step(observations, work)
    for _ in range(STEPS):
        work.covariance = observations.covariance(solved.loads, solved.solution)
        solved, settled = _step(observations, work)
        if settled:
            break
    return solved


def _step(observations: Observations, work: _Work) -> tuple[_Solved, bool]:
    """One Gauss-Newton step, and whether it was too small to need another.

    Where the last step made the fit worse, it is halved first: far from the solution the derivatives can mislead.
    """
    starts, priors = observations.rig.unknowns.starts(), observations.rig.unknowns.priors()
    blocks = work.covariance.blocks
    here = _evaluate(observations, work, work.unknowns)
    white = blocks.whiten(np.column_stack([here.design, here.misfit]))
    if work.point is not None:
        most = work.point.cost(blocks.whiten(work.point.misfit[:, None])[:, 0]) * (1.0 + 1e-6) + 1e-4
        for _ in range(HALVINGS):
            if not here.cost(white[:, -1]) > most:
                break
            here = _evaluate(observations, work, (work.point.unknowns + here.unknowns) / 2.0)
            white = blocks.whiten(np.column_stack([here.design, here.misfit]))
    solution = solve(white[:, :-1], white[:, -1], priors, starts - here.unknowns, faint=FAINT)
    moved = np.abs(solution.step) > SETTLED * np.sqrt((solution.root**2).sum(axis=1)) + 1e-9
    work.point, work.unknowns = here, _within(observations.rig, here.unknowns, solution.step)
    solved = _moved(work.unknowns, here.loads, here.design, here.misfit, solution)
    observations.increments.masses = own_masses(observations.increments, solution, solved.loads)
    return solved, not bool(moved.any())


def _within(rig: Rig, unknowns: Array, step: Array) -> Array:
    """The point after a step, stiffnesses kept within reason: readings that contradict one another may ask for any."""
    there = unknowns + step
    rates = rig.rates
    there[rates] = unknowns[rates] + np.clip(step[rates], -FASTEST, FASTEST)
    there[rates] = np.clip(there[rates], -SOFTEST, SOFTEST)
    return there


def _evaluate(observations: Observations, work: _Work, unknowns: Array) -> _Linearised:
    """Loads, derivatives and what is left of the readings at ``unknowns``."""
    loads = observations.increments.solve(unknowns, work.lifts)
    shown, design = observations.predict(loads, unknowns)
    priors = observations.rig.unknowns.priors()
    known = ~np.isnan(priors)
    off = (unknowns - observations.rig.unknowns.starts())[known] / priors[known]
    return _Linearised(unknowns, loads, design, observations.values - shown, float(off @ off))


def _moved(unknowns: Array, loads: StanceLoads, design: Array, misfit: Array, solution: Solution) -> _Solved:
    """The outputs after a small step, along the derivatives at hand; ``unknowns`` have it in them already."""
    there = StanceLoads(loads.values + loads.jacobian @ solution.step, loads.jacobian)
    return _Solved(unknowns, there, design, misfit - design @ solution.step, solution)


def _solve(
    blocks: Blocks,
    design: Array,
    misfit: Array,
    priors: Array,
    prior_misfit: Array,
    like: Solution | None = None,
) -> Solution:
    white = blocks.whiten(np.column_stack([design, misfit]))
    return solve(white[:, :-1], white[:, -1], priors, prior_misfit, faint=FAINT, like=like)


def _weigh_again(observations: Observations, blocks: Blocks, solved: _Solved) -> _Solved:
    """The same system with learned variances: a small step, taken with the derivatives at hand."""
    unknowns = observations.rig.unknowns
    prior_misfit = unknowns.starts() - solved.unknowns
    solution = _solve(blocks, solved.design, solved.misfit, unknowns.priors(), prior_misfit, solved.solution)
    there = _within(observations.rig, solved.unknowns, solution.step)
    return _moved(there, solved.loads, solved.design, solved.misfit, solution)


def _learn(
    observations: Observations, prior: Covariance, solved: _Solved, found: list[Snoop], redundancy: int
) -> tuple[Blocks, Array]:
    """Variance factors from what remains once one reading of each misfit is freed."""
    blocks, dof = prior.blocks, prior.dof
    if redundancy - len(found) <= 0:
        return prior.likely, dof
    unknowns = observations.rig.unknowns
    design, priors = solved.design, unknowns.priors()
    prior_misfit = unknowns.starts() - solved.unknowns
    if found:
        freed = np.zeros((len(design), len(found)))
        for column, misfit in enumerate(found):
            freed[misfit.freed[0], column] = 1.0
        design = np.column_stack([design, freed])
        priors = np.concatenate([priors, np.full(len(found), np.nan)])
        prior_misfit = np.concatenate([prior_misfit, np.zeros(len(found))])
    # without a reading freed, the system that is solved already: the same weights, and nothing left to move
    solution = _solve(blocks, design, solved.misfit, priors, prior_misfit) if found else solved.solution
    left = solved.misfit - design @ solution.step if found else solved.misfit
    for _ in range(LEARNING_STEPS):
        factors, dof = learn(blocks, design, solution.root, left, prior.dof, prior.factors)
        settled = bool(np.all(np.abs(factors - blocks.factors) < 0.01 * blocks.factors))
        blocks = prior.blocks.scaled(factors)
        if settled:
            break
        solution = _solve(blocks, design, solved.misfit, priors, prior_misfit, solution)
        left = solved.misfit - design @ solution.step
    return blocks, dof
