"""More states on top of a solved day: a prediction needs no new solution, only the operator and the covariance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.increments import Increments
from steelyard.adjustment.lifting import lift_once
from steelyard.adjustment.rig import Rig
from steelyard.adjustment.solve import Array, Solution
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
    rig = Rig(day)
    increments = Increments(rig, ())
    unknowns, solution = _carried(adjustment, rig)
    propagation = adjustment.propagation.extended(solution)
    lifts, tipped = dict(adjustment.lifts), list(adjustment.tipped)
    loads = increments.solve(unknowns, lifts)
    while lift_once(increments, lifts, tipped, solution, loads):
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
    )


def _carried(adjustment: Adjustment, rig: Rig) -> tuple[Array, Solution]:
    """Estimates and covariance at their new places, and what the readings leave open."""
    before, old = adjustment.rig.unknowns.index, adjustment.solution
    unknowns, priors = rig.unknowns.starts(), rig.unknowns.priors()
    pairs = [(at, before[key]) for key, at in rig.unknowns.index.items() if key in before]
    here = np.array([at for at, _ in pairs], dtype=int)
    there = np.array([at for _, at in pairs], dtype=int)
    unknowns[here] = adjustment.unknowns[there]
    fresh = np.setdiff1d(np.arange(len(unknowns)), here)
    known = fresh[~np.isnan(priors[fresh])]
    root = np.zeros((len(unknowns), old.root.shape[1] + len(known)))
    root[here, : old.root.shape[1]] = old.root[there]
    root[known, old.root.shape[1] + np.arange(len(known))] = priors[known]
    free = np.flatnonzero(np.isnan(priors))
    opened = fresh[np.isnan(priors[fresh])]
    place = {int(at): row for row, at in enumerate(old.free)}
    null = np.zeros((len(free), old.null.shape[1] + len(opened)))
    scale = np.ones(len(free))
    back = {int(at): int(was) for at, was in pairs}
    for row, at in enumerate(free):
        if int(at) in back:
            null[row, : old.null.shape[1]] = old.null[place[back[int(at)]]]
            scale[row] = old.scale[place[back[int(at)]]]
        else:
            null[row, old.null.shape[1] + int(np.flatnonzero(opened == at)[0])] = 1.0
    step = np.zeros(len(unknowns))
    return unknowns, Solution(step, root, old.chi2, old.rank, free, old.basis, null, scale)
