"""More states on top of a solved day: a prediction needs no new solution, only the operator and the covariance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.solve import Array, Solution
from steelyard.adjustment.system.increments import Increments
from steelyard.adjustment.system.lifting import lift_next
from steelyard.adjustment.system.rig import Rig
from steelyard.model import WeighDay


def extend(adjustment: Adjustment, day: WeighDay) -> Adjustment:
    """The solution of ``adjustment`` carried over to ``day``, which has more states (and cargo), and the same drafts.

    What is known beforehand of new unknowns (a stated couple, the rise of a coupling, a taped place) enters with its
    own doubt; new free unknowns stay open.

    Raises
    ------
    ValueError: ``day`` lacks a state or has another draft than the adjusted one.
    """
    old = adjustment.rig.day
    if day.drafts[: len(old.drafts)] != old.drafts or list(day.states)[: len(old.states)] != list(old.states):
        raise ValueError("an extended day starts with all states and drafts of the adjusted one")
    rig = Rig(day, adjustment.rig)
    increments = Increments(rig, ())
    places = _places(adjustment, rig)
    unknowns, solution = _carried(adjustment, rig, places)
    propagation = adjustment.propagation.extended(solution)
    lifts, tipped = dict(adjustment.lifts), list(adjustment.tipped)
    loads = increments.solve(unknowns, lifts)
    while lift_next(increments, lifts, tipped, solution, loads):
        loads = increments.solve(unknowns, lifts)
    named = tuple(dict.fromkeys((*rig.tipped, *tipped)))
    return replace(
        adjustment,
        rig=rig,
        increments=increments,
        unknowns=unknowns,
        loads=loads,
        solution=solution,
        propagation=propagation,
        lifts=lifts,
        tipped=named,
        explanations=tuple(one.carried(places, len(unknowns)) for one in adjustment.explanations),
    )


def _places(adjustment: Adjustment, rig: Rig) -> NDArray[np.int_]:
    """The old index of each unknown of ``rig``, -1 where it is new."""
    before = adjustment.rig.unknowns.index
    return np.array([before.get(key, -1) for key in rig.unknowns.index], dtype=int)


def _carried(adjustment: Adjustment, rig: Rig, was: NDArray[np.int_]) -> tuple[Array, Solution]:
    """Estimates and covariance at their new places, and what the readings leave open."""
    old = adjustment.solution
    unknowns, priors = rig.unknowns.starts(), rig.unknowns.priors()
    here, fresh = np.flatnonzero(was >= 0), np.flatnonzero(was < 0)
    unknowns[here] = adjustment.unknowns[was[here]]
    width = old.root.shape[1]
    opened = np.isnan(priors[fresh])
    known = fresh[~opened]
    root = np.zeros((len(unknowns), width + len(known)))
    root[here, :width] = old.root[was[here]]
    root[known, width + np.arange(len(known))] = priors[known]
    free = np.flatnonzero(np.isnan(priors))
    row_of = np.full(len(adjustment.unknowns), -1)
    row_of[old.free] = np.arange(len(old.free))
    carried = was[free] >= 0
    rows = row_of[was[free[carried]]]
    left = old.null.shape[1]
    null = np.zeros((len(free), left + int(opened.sum())))
    scale = np.ones(len(free))
    null[carried, :left], scale[carried] = old.null[rows], old.scale[rows]
    null[np.flatnonzero(~carried), left + np.arange(int(opened.sum()))] = 1.0
    step = np.zeros(len(unknowns))
    return unknowns, Solution(step, root, old.chi2, old.rank, free, old.basis, null, scale)
