"""Limits that depend on another finding, such as an axle group's on the distance between its axles, as judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Estimates, Propagation
from steelyard.conformity import REACH, DependentLimit, LimitCurve, Measured, Requirement, met_probabilities

Array = NDArray[np.float64]

Limited = tuple[Requirement, LimitCurve, int, int]
"""A requirement, its curve, and the places of the two findings among the estimates."""

Judged = tuple[Requirement, Measured | None]
"""A requirement with the limit that holds, and what it is judged by."""


def measured_on_curves(found: Estimates, propagation: Propagation, pairs: Sequence[Limited]) -> dict[str, Judged]:
    """Each finding that is limited, by the id of its requirement, with the limit at the other finding's value.

    Where only one piece of the limit is possible, the finding less the limit is one sum with a doubt of its own, and is
    judged as exactly as any other; else both findings go to the integral over the pieces.
    """
    if not pairs:
        return {}
    places, others = [place for _, _, place, _ in pairs], [other for _, _, _, other in pairs]
    root, other_root = found.roots[places], found.roots[others]
    values, other_values, other_us = found.values[places], found.values[others], found.u[others]
    covariance, variance = (root * other_root).sum(axis=1), (other_root**2).sum(axis=1)
    together = np.divide(covariance, variance, out=np.zeros(len(pairs)), where=variance > 0.0)
    pieces = [
        curve.reached(value, REACH * u)
        for (_, curve, _, _), value, u in zip(pairs, other_values.tolist(), other_us.tolist(), strict=True)
    ]
    single = np.array([len(one) == 1 for one in pieces])
    slopes = np.array([one[0].slope if len(one) == 1 else 0.0 for one in pieces])
    rest = root - np.where(single, slopes, together)[:, None] * other_root
    rest_variance = (rest**2).sum(axis=1)
    rest_u, dof = np.sqrt(rest_variance), propagation.dof_of(rest, rest_variance)
    made: dict[str, Judged] = {}
    for at, (item, curve, place, _) in enumerate(pairs):
        value, other, u, floor = float(values[at]), float(other_values[at]), float(found.u[place]), found.prior_u[place]
        limit = curve.nearest(other) if any(one.limits for one in pieces[at]) else None
        plain = Measured(value, u, float(dof[at]), value - (limit or 0.0), float(rest_u[at]), float(floor))
        if limit is None:
            made[item.id] = replace(item, limit=np.inf), replace(plain, met=1.0)
            continue
        if not single[at]:
            pair = (value, other, float(other_us[at]), float(together[at]), plain.slack_u, plain.dof)
            plain = replace(plain, slack_u=u, joint=DependentLimit(curve, item.sense, *pair))
        made[item.id] = replace(item, limit=limit), plain
    return _with_probabilities(made)


def _with_probabilities(made: dict[str, Judged]) -> dict[str, Judged]:
    """The same, those that need the integral with its result, all in one."""
    joints = {name: one.joint for name, (_, one) in made.items() if one is not None and one.joint is not None}
    met = dict(zip(joints, met_probabilities(list(joints.values())).tolist(), strict=True))
    return {
        name: (item, one if one is None or name not in met else replace(one, met=met[name]))
        for name, (item, one) in made.items()
    }
