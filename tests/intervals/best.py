"""The best possible estimate of every finding of a simulated day, and its standard uncertainty.

Generalised least squares on what the day declares: span, geometry, rates, cargo and the rest with their priors; no
knowledge at all of reference loads, unknown cargo and couples; support heights and friction drawn anew in each
placement. Linearised numerically through the simulator's own physics, and solved by Gauss-Newton, so that no line of
it is shared with the product. By the theorem of Gauss and Markov no linear unbiased estimate has a smaller variance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.simulated.describe import FREE, Day, Parameter, parameters
from tests.simulated.draw import friction_modes, gain, level_free_loads, placements, rows_of
from tests.simulated.rig import Loads, Response, respond, solve
from tests.simulated.truth import findings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

SHARED_ROUNDING = 0.3  # scatter in divisions below which repeats that did not move share one rounding (design 3.2)
UNKNOWN = 1e-7  # singular value, relative to the largest, of a direction of the free parameters that no reading tells
TOLD = 1e-5  # change of a finding along an unknown direction, relative to its largest, that makes it undetermined


@dataclass(frozen=True)
class Best:
    """Estimates and standard uncertainties by finding id; undetermined findings have u of infinity.

    `normalised` are Baarda's normalised residuals in order of the readings (nan where nothing checks a reading),
    `chi2` and `dof` the weighted sum of squares and what is redundant.
    """

    value: Mapping[str, float]
    u: Mapping[str, float]
    parameters: Mapping[str, float]
    normalised: Array
    chi2: float
    dof: int


def predict(day: Day, values: Mapping[str, float]) -> tuple[Array, dict[str, float]]:
    """Readings to be expected, in order of drafts, and findings."""
    loads = solve(day, values)
    return _expected(day, values, loads, _responses(day, values)), findings(day, loads, values)


def _expected(
    day: Day, values: Mapping[str, float], loads: Mapping[str, Loads], responses: Mapping[str, Response]
) -> Array:
    expected: list[float] = []
    for draft in day.drafts:
        response = responses[draft.state]
        carried = level_free_loads(day, draft, loads[draft.state], response, values)
        for place, instrument in draft.readings:
            expected.append(gain(day, instrument, values) * float(rows_of(place, response.rows) @ carried))
    return np.array(expected)


def _responses(day: Day, values: Mapping[str, float]) -> dict[str, Response]:
    return {state: respond(day, state, values) for state in {draft.state for draft in day.drafts}}


class _Noted(dict[str, float]):
    """Values that keep a note of which of them were looked at, in `read`."""

    def __init__(self, values: Mapping[str, float]) -> None:
        super().__init__(values)
        self.read: set[str] = set()

    def __getitem__(self, name: str) -> float:
        self.read.add(name)
        return super().__getitem__(name)

    def __contains__(self, name: object) -> bool:
        self.read.add(str(name))
        return super().__contains__(name)

    def get(self, name: str, default: Any = None) -> Any:
        """Look at one that need not be there."""
        self.read.add(name)
        return super().get(name, default)


class Near:
    """A day about some values: what a parameter does not enter is not worked out anew for a step of it."""

    def __init__(self, day: Day, values: Mapping[str, float]) -> None:
        self._day = day
        by_load, by_response = _Noted(values), _Noted(values)
        self._loads, self._responses = solve(day, by_load), _responses(day, by_response)
        self._moves_loads, self._moves_responses = by_load.read, by_response.read

    def predict(self, values: Mapping[str, float], stepped: str, *, found: bool) -> tuple[Array, list[float]]:
        """Readings with one parameter stepped, and where asked for the findings."""
        loads = solve(self._day, values) if stepped in self._moves_loads else self._loads
        responses = _responses(self._day, values) if stepped in self._moves_responses else self._responses
        told = list(findings(self._day, loads, values).values()) if found else []
        return _expected(self._day, values, loads, responses), told


def noise_covariance(day: Day, values: Mapping[str, float]) -> Array:
    """Covariance of the readings for given parameters: repeatability, rounding, support heights, friction [lb2]."""
    loads, responses = solve(day, values), _responses(day, values)
    labels = [(number, place, name) for number, draft in enumerate(day.drafts) for place, name in draft.readings]
    names = placements(day)
    covariance = np.zeros((len(labels), len(labels)))
    for placement in dict.fromkeys(names):
        members = [index for index, (number, _, _) in enumerate(labels) if names[number] == placement]
        state = day.drafts[names.index(placement)].state
        response = responses[state]
        moved = np.array(
            [
                gain(day, name, values) * rows_of(place, response.rows)
                for _, place, name in (labels[index] for index in members)
            ]
        )
        effects = [day.site.unevenness * moved @ response.heights]
        effects += [(moved @ response.friction @ mode)[:, None] for mode in friction_modes(day, state, loads[state])]
        stacked = np.hstack(effects)
        covariance[np.ix_(members, members)] += stacked @ stacked.T
        _add_rounding(day, labels, members, covariance)
    return covariance


def _add_rounding(day: Day, labels: list[tuple[int, str, str]], members: list[int], covariance: Array) -> None:
    """Repeatability and rounding of the readings of one placement."""
    for first in members:
        pad = day.instruments[labels[first][2]]
        covariance[first, first] += pad.repeatability**2
        for second in members:
            alike = labels[first][1:] == labels[second][1:] and pad.repeatability < SHARED_ROUNDING * pad.division
            if first == second or alike:
                covariance[first, second] += pad.division**2 / 12


def _jacobians(
    day: Day, values: Mapping[str, float], uncertain: list[Parameter], *, found: bool
) -> tuple[Array, Array]:
    """Derivatives of readings by the uncertain parameters, and where asked for of findings.

    Those that are asked for with the findings are the last, and central differences; the others are on one side.
    """
    near = Near(day, values)
    readings: list[Array] = []
    told: list[Array] = []
    at_span, found_there = predict(day, values)
    for parameter in uncertain:
        if parameter.name.startswith(("span.", "set.")):  # nothing but the readings of these pads depends on it
            readings.append(at_span * _span_share(day, values, parameter.name))
            told.append(np.zeros(len(found_there) if found else 0))
            continue
        name, step = parameter.name, _step(parameter, values[parameter.name])
        up = near.predict({**values, name: values[name] + step}, name, found=found)
        if not found:  # on the way to where the last round begins
            readings.append((up[0] - at_span) / step)
            told.append(np.zeros(0))
            continue
        down = near.predict({**values, name: values[name] - step}, name, found=found)
        readings.append((up[0] - down[0]) / (2 * step))
        told.append((np.array(up[1]) - np.array(down[1])) / (2 * step))
    return np.array(readings).T, np.array(told).T


def _span_share(day: Day, values: Mapping[str, float], name: str) -> Array:
    """Relative change of each reading for a change of a span: one over all of its pad's span factor, or nothing."""
    shares: list[float] = []
    for _, instrument in (reading for draft in day.drafts for reading in draft.readings):
        common = f"set.{day.instruments[instrument].set}"
        factor = 1 + values[f"span.{instrument}"] + values.get(common, 0.0)
        shares.append(1 / factor if name in {f"span.{instrument}", common} else 0.0)
    return np.array(shares)


def _step(parameter: Parameter, value: float) -> float:
    """A step small against the curvature and large against rounding: a fifth of u, or a thousandth of what is free."""
    return 0.2 * parameter.u if parameter.u != FREE else 1e-3 * abs(value) + 0.1


@dataclass(frozen=True)
class _Linear:
    """A day linearised: the whitener (n, n), whitened readings' derivatives (n, p), findings' derivatives (f, p) and
    whitened misfit (n,).
    """

    whitener: Array
    by_reading: Array
    by_finding: Array
    misfit: Array


def _linearise(
    day: Day, shown: Array, values: Mapping[str, float], uncertain: list[Parameter], *, found: bool
) -> _Linear:
    whitener = np.linalg.inv(np.linalg.cholesky(noise_covariance(day, values)))
    expected, _ = predict(day, values)
    by_reading, by_finding = _jacobians(day, values, uncertain, found=found)
    return _Linear(whitener, whitener @ by_reading, by_finding, whitener @ (shown - expected))


def best(day: Day, indications: list[list[float]], start: Mapping[str, float], rounds: int = 2) -> Best:
    """Estimate all findings of a day from its readings.

    `start` gives every parameter's first value (only free ones are taken from it; the others start where they are
    declared). Two rounds are plenty: the second already changes less than a hundredth of an uncertainty.
    """
    everything = parameters(day)
    uncertain = [p for p in everything if p.u > 0]
    values = {p.name: start[p.name] if p.u == FREE else p.value for p in everything}
    shown = np.array([value for draft in indications for value in draft])
    linear = _linearise(day, shown, values, uncertain, found=rounds == 1)
    for number in range(2, rounds + 1):
        change, _, _ = _least_squares(linear, uncertain, values)
        values = values | {p.name: values[p.name] + float(d) for p, d in zip(uncertain, change, strict=True)}
        linear = _linearise(day, shown, values, uncertain, found=number == rounds)
    change, covariance, unknown = _least_squares(linear, uncertain, values)
    normalised, chi2, dof = _misfit(linear, uncertain, values)
    values = values | {p.name: values[p.name] + float(d) for p, d in zip(uncertain, change, strict=True)}
    _, found = predict(day, values)
    variance = np.einsum("ij,jk,ik->i", linear.by_finding, covariance, linear.by_finding)
    lost = _undetermined(linear.by_finding, unknown)
    u = {
        key: float("inf") if gone else float(np.sqrt(max(v, 0.0)))
        for key, v, gone in zip(found, variance, lost, strict=True)
    }
    return Best(found, u, values, normalised, chi2, dof)


def _misfit(linear: _Linear, uncertain: list[Parameter], values: Mapping[str, float]) -> tuple[Array, float, int]:
    """Normalised residuals (Baarda), chi-square and redundancy, with priors inside the covariance of the readings."""
    known = np.array([p.u != FREE for p in uncertain])
    by_prior = linear.by_reading[:, known] * [p.u for p in uncertain if p.u != FREE]
    moved = np.array([(values[p.name] - p.value) / p.u for p in uncertain if p.u != FREE])
    weight = np.linalg.inv(np.eye(len(by_prior)) + by_prior @ by_prior.T)
    free = linear.by_reading[:, ~known]
    free = free / np.maximum(np.linalg.norm(free, axis=0), 1e-12)
    half = np.linalg.cholesky(weight).T
    left, sizes, _ = np.linalg.svd(half @ free, full_matrices=False)
    spanned = left[:, sizes > UNKNOWN * sizes.max()]
    kernel = half.T @ (np.eye(len(half)) - spanned @ spanned.T) @ half
    misfit = linear.misfit + by_prior @ moved
    pull = linear.whitener.T @ kernel @ misfit
    spread = np.diag(linear.whitener.T @ kernel @ linear.whitener)
    checked = spread > 1e-6 * np.diag(linear.whitener.T @ linear.whitener)
    normalised = np.where(checked, pull / np.sqrt(np.where(checked, spread, 1.0)), np.nan)
    return normalised, float(misfit @ kernel @ misfit), len(half) - spanned.shape[1]


def _least_squares(
    linear: _Linear, uncertain: list[Parameter], values: Mapping[str, float]
) -> tuple[Array, Array, Array]:
    """Step, covariance and unknown directions of the whitened problem with priors as rows of their own."""
    design = linear.by_reading
    known = np.array([p.u != FREE for p in uncertain])
    # Columns in units of each prior, free ones in units of one whitened reading: then one tolerance serves all.
    lengths = np.linalg.norm(design, axis=0)
    free_unit = 1 / np.where(lengths > 0, lengths, 1.0)
    unit = np.where(known, [p.u if p.u != FREE else 1.0 for p in uncertain], free_unit)
    _, sizes, directions = np.linalg.svd(design[:, ~known] * unit[~known], full_matrices=True)
    padded = np.zeros(len(directions))
    padded[: len(sizes)] = sizes
    unknown_free = directions[padded <= UNKNOWN * max(padded.max(initial=0.0), 1e-300)]
    unknown = np.zeros((len(unknown_free), len(uncertain)))
    unknown[:, ~known] = unknown_free * unit[~known]
    prior = np.diag(1.0 * known)[known]
    anchored = np.vstack([design * unit, prior, unknown / unit])  # unknown directions are held at their start
    pulled = [(p.value - values[p.name]) / p.u for p in uncertain if p.u != FREE]
    right = np.concatenate([linear.misfit, pulled, np.zeros(len(unknown))])
    normal = anchored.T @ anchored
    inverse = np.linalg.inv(normal)
    change = inverse @ (anchored.T @ right)
    return change * unit, inverse * np.outer(unit, unit), unknown


def _undetermined(by_finding: Array, unknown: Array) -> Array:
    """Whether each finding moves along a direction that no reading tells."""
    if len(unknown) == 0:
        return np.zeros(len(by_finding), dtype=bool)
    moved = np.abs(by_finding @ unknown.T).max(axis=1)
    scale = np.abs(by_finding).max(axis=1) * np.abs(unknown).max()
    return moved > TOLD * np.where(scale > 0, scale, 1.0)
