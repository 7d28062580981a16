"""Limits that depend on another finding, such as an axle group's on the distance between its axles, as judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Estimates, Propagation
from steelyard.conformity import REACH, DependentLimit, LimitCurve, Measured, Piece, Requirement, met_probabilities

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
    slopes = np.where([len(one) == 1 for one in pieces], [one[0].slope for one in pieces], together)
    rest = root - slopes[:, None] * other_root
    rest_variance = (rest**2).sum(axis=1)
    parts = (values, other_values, other_us, found.u[places], propagation.dof_of(rest, rest_variance))
    more = (np.sqrt(rest_variance), found.prior_u[places], slopes)
    rows = zip(*(part.tolist() for part in (*parts, *more)), strict=True)
    return _with_probabilities([_measured(*each) for each in zip(pairs, pieces, rows, strict=True)])


def _measured(limited: Limited, pieces: tuple[Piece, ...], row: tuple[float, ...]) -> Judged:
    """One finding that is limited; see ``measured_on_curves`` for the figures of its row."""
    item, curve, _, _ = limited
    value, other, other_u, u, dof, rest_u, floor, slope = row
    limit = curve.nearest(other) if any(one.limits for one in pieces) else None
    if limit is None:
        return replace(item, limit=np.inf), Measured(value, u, dof, -np.inf, u, floor, met=1.0)
    if len(pieces) == 1:
        return replace(item, limit=limit), Measured(value, u, dof, value - limit, rest_u, floor)
    joint = DependentLimit(curve, item.sense, value, other, other_u, slope, rest_u, dof)
    return replace(item, limit=limit), Measured(value, u, dof, value - limit, u, floor, joint)


def _with_probabilities(made: list[Judged]) -> dict[str, Judged]:
    """The same by the ids of the requirements, those that need the integral with its result, all in one."""
    joints = {item.id: one.joint for item, one in made if one is not None and one.joint is not None}
    met = dict(zip(joints, met_probabilities(list(joints.values())).tolist(), strict=True))
    return {
        item.id: (item, one._replace(met=met[item.id]) if one is not None and item.id in met else one)
        for item, one in made
    }
