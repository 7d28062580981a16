"""The information that a draft would bring, before it is taken: its equations, whitened, at loads that are expected.

The derivatives and the covariance of a draft's readings hardly depend on what they show, so each possible placement
counts as the rows of its drafts in the whitened system. Placements are independent: what several tell is the sum.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.system.increments import StanceLoads
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.unknowns import Array
from steelyard.classes import dataclass
from steelyard.model import Draft

AT_ONCE = 24
"""Placements whose equations are set up together: small enough that the joint system stays cheap."""


@dataclass(frozen=True)
class Knowledge:
    """Information of independent sets of readings on the unknowns of one rig.

    Attributes
    ----------
    keys: of the unknowns. priors: their prior standard uncertainties, NaN where free, shape (unknowns,).
    values: what is expected of them, shape (unknowns,).
    rows: for each set its whitened derivatives, shape (readings, unknowns).
    parts: for each set what each learned variance component is of its unit covariance, shape (parts, readings,
        readings). dof: of these components, shape (parts,).
    """

    keys: tuple[Hashable, ...]
    priors: Array
    values: Array
    rows: tuple[Array, ...]
    parts: tuple[Array, ...]
    dof: Array


@dataclass()
class _Gathered:
    """Keys and components in the order in which they were met."""

    keys: dict[Hashable, int]
    priors: list[float]
    values: list[float]
    names: dict[str, float]


def expected_values(rig: Rig, expected: Mapping[Hashable, float]) -> Array:
    """Values of all unknowns, shape (unknowns,): what is expected, else the prior's."""
    values = rig.unknowns.starts()
    for key, value in expected.items():
        at = rig.unknowns.index.get(key)
        if at is not None:
            values[at] = value
    return values


def knowledge_of(
    base: Adjustment,
    placings: Sequence[Sequence[Draft]],
    expected: Mapping[Hashable, float],
    going_on: Callable[[], bool] | None = None,
) -> Knowledge:
    """Information of each of ``placings``; the first set is that of the drafts of the day.

    Parameters
    ----------
    base: the day, solved or before its readings; its references hold for every draft.
    placings: for each the possible drafts taken in it; the numbers that they carry do not matter.
    expected: values [kg, kg*m] of unknowns by key, where the priors do not tell.
    going_on: asked before each few placings; once it says no, those that follow are left out.
    """
    gathered = _Gathered({}, [], [], {})
    raw = [_set_up(base, [base.rig.day.drafts], expected, gathered, together=True)]
    for start in range(0, len(placings), AT_ONCE):
        if going_on is not None and not going_on():
            break
        raw.append(_set_up(base, placings[start : start + AT_ONCE], expected, gathered, together=False))
    rows: list[Array] = []
    parts: list[Array] = []
    for sets in raw:
        for at, names, design, spreads in sets:
            full = np.zeros((len(design), len(gathered.keys)))
            full[:, at] = design
            rows.append(full)
            whole = np.zeros((len(gathered.names), len(design), len(design)))
            for name, spread in zip(names, spreads, strict=True):
                whole[list(gathered.names).index(name)] = spread
            parts.append(whole)
    dof = np.array(list(gathered.names.values()))
    keys, priors, values = tuple(gathered.keys), np.array(gathered.priors), np.array(gathered.values)
    return Knowledge(keys, priors, values, tuple(rows), tuple(parts), dof)


_Set = tuple[list[int], tuple[str, ...], Array, list[Array]]


def _set_up(
    base: Adjustment,
    placings: Sequence[Sequence[Draft]],
    expected: Mapping[Hashable, float],
    gathered: _Gathered,
    *,
    together: bool,
) -> list[_Set]:
    """Each placement's own set, or one set of all drafts, with the indices of its unknowns among those gathered."""
    numbered = placings[0] if together else _numbered(placings)
    corrections = base.rig.day.corrections if together else ()
    day = replace(base.rig.day, drafts=tuple(numbered), corrections=corrections)
    rig = Rig(day, base.rig)
    observations = Observations(rig)
    values = expected_values(rig, expected)
    loads = observations.increments.solve(values, {})
    _, design = observations.predict(loads, values)
    covariance = observations.covariance(loads)
    blocks = covariance.likely
    at = [_index(gathered, key, rig, place, values) for key, place in rig.unknowns.index.items()]
    for name, dof in zip(covariance.names, covariance.dof, strict=True):
        gathered.names[name] = min(float(dof), gathered.names.get(name, math.inf))  # no draft, and no rate is felt yet
    if not len(observations.items):
        return [(at, (), np.zeros((0, len(at))), [])] if together else []
    white = blocks.whiten(design)
    spreads = [blocks.factors[part] * blocks.whitened(part) for part in range(blocks.components)]
    if together:
        return [(at, covariance.names, white, spreads)]
    names = np.array([item.draft.placement for item in observations.items])
    chosen = [np.flatnonzero(names == str(at)) for at in range(len(placings))]
    return [(at, covariance.names, white[own], [spread[np.ix_(own, own)] for spread in spreads]) for own in chosen]


def _numbered(placings: Sequence[Sequence[Draft]]) -> list[Draft]:
    """All drafts, numbered from 1, those of one placement under the name of its place in the list."""
    named = [(str(at), draft) for at, drafts in enumerate(placings) for draft in drafts]
    return [replace(draft, number=number, placement=name) for number, (name, draft) in enumerate(named, start=1)]


def _index(gathered: _Gathered, key: Hashable, rig: Rig, place: int, values: Array) -> int:
    if key not in gathered.keys:
        gathered.keys[key] = len(gathered.keys)
        gathered.priors.append(rig.unknowns.prior_u[place])
        gathered.values.append(float(values[place]))
    return gathered.keys[key]


def expected_loads(base: Adjustment, expected: Mapping[Hashable, float]) -> StanceLoads:
    """The loads of every stance of ``base`` at expected values of the unknowns, with their derivatives.

    Wheel and coupling loads [kg]; see ``StanceLoads`` for the shapes.
    """
    return base.increments.solve(expected_values(base.rig, expected), {})


def expected_elsewhere(base: Adjustment, expected: Mapping[Hashable, float], rig: Rig) -> dict[Hashable, float]:
    """The same expectations for a rig whose vehicles have their references in other states.

    ``expected`` holds values [kg, kg*m] by key of an unknown; loads among them are those in the references of ``base``.
    """
    loads, layout = expected_loads(base, expected), base.layout
    moved = dict(expected)
    for name, state in rig.reference.items():
        index = layout.level[state]
        out = layout.wheels_out[index][name]
        wheels = rig.day.vehicles[name].wheels
        moved |= {("wheel", name, wheel): float(loads.values[out.start + at]) for at, wheel in enumerate(wheels)}
        if name in layout.coupling_out[index]:
            moved["coupling", name] = float(loads.values[layout.coupling_out[index][name]])
    return moved


def drawn_to_readings(base: Adjustment, likely: Mapping[Hashable, float], doubt: float) -> dict[Hashable, float]:
    """Likely values, adjusted to the readings of the day by two steps of least squares.

    Parameters
    ----------
    likely: values [kg, kg*m] by key of a free unknown. doubt: standard uncertainty that each of them is given [kg].
    """
    rig, observations = base.rig, base.observations
    priors = rig.unknowns.priors()
    weights = 1.0 / np.where(np.isnan(priors), doubt, priors) ** 2
    start = expected_values(rig, likely)
    values = start.copy()
    for _ in range(2 if len(observations.items) else 0):
        loads = observations.increments.solve(values, {})
        shown, design = observations.predict(loads, values)
        covariance = observations.covariance(loads)
        white = covariance.likely.whiten(np.column_stack([design, observations.values - shown]))
        normal = white[:, :-1].T @ white[:, :-1] + np.diag(weights)
        right = white[:, :-1].T @ white[:, -1] + weights * (start - values)
        scale = np.sqrt(np.diag(normal))
        values = values + np.linalg.solve(normal / np.outer(scale, scale), right / scale) / scale
    return {key: float(values[at]) for key, at in rig.unknowns.index.items() if np.isnan(priors[at])}
