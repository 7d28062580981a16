"""Whether the readings of a solved day agree: the global test, the suspects in words, and what may have changed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from steelyard.adjustment.misfit.consistency import (
    SIGNIFICANCE,
    Consistency,
    Exchanges,
    GradualChange,
    Snoop,
    Suspect,
    critical,
    global_probability,
    reference_dof,
    snoop,
)
from steelyard.adjustment.misfit.residuals import UNCHECKED, Residuals
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.solve import Array, Blocks, Solution
from steelyard.classes import dataclass
from steelyard.model import parse_place


@dataclass(frozen=True)
class Fit:
    """A solved system: weights, derivatives of the readings (readings, unknowns), and what is left over (readings,).

    ``dof`` are the degrees of freedom of the variance components' factors, shape (components,).
    """

    blocks: Blocks
    dof: Array
    design: Array
    misfit: Array
    solution: Solution

    def residuals(self) -> Residuals:
        """Residuals with nothing freed."""
        return Residuals(self.blocks, self.design, self.misfit, self.solution)


@dataclass(frozen=True)
class Agreement:
    """Result of the search: in words for people, and the misfits themselves."""

    consistency: Consistency
    found: list[Snoop]


def check(observations: Observations, fit: Fit, redundancy: int) -> Agreement:
    """The global test at the variances of ``fit``, then the readings that do not fit."""
    chi2 = fit.solution.chi2
    if redundancy <= 0:
        return Agreement(Consistency(0.0, 0.0, None, True, ()), [])
    reference = reference_dof(fit.blocks, fit.dof)
    probability = global_probability(chi2, redundancy, reference)
    residuals = fit.residuals()
    limits = critical(fit.blocks, fit.dof, residuals.redundancy > UNCHECKED)
    drafts = [item.draft.number for item in observations.items]
    found = snoop(residuals.copy(), limits, drafts, partial(exchanges_of, observations))
    suspects = _suspects(observations, residuals, found)
    consistent = not suspects and probability >= SIGNIFICANCE
    changes: tuple[GradualChange, ...] = ()
    if not consistent:
        rows = list(dict.fromkeys(row for misfit in found for row in misfit.rows))
        best = float((residuals.normalised() ** 2).max())
        changes = _changes(observations, residuals, best, rows)
    told = tuple(_with_changes(suspect, changes, observations) for suspect in suspects)
    return Agreement(Consistency(chi2, float(redundancy), probability, consistent, told, changes, reference), found)


def _changes(
    observations: Observations, residuals: Residuals, best: float, rows: list[int]
) -> tuple[GradualChange, ...]:
    """Changes that may have come by themselves; ``best`` is the largest fall of chi-square that one slip brings."""
    from steelyard.adjustment.misfit.gradual import changes_that_explain  # a sound day does without, as below
    from steelyard.adjustment.misfit.trials import TriedChanges

    return changes_that_explain(TriedChanges(observations), residuals, best, rows)


def _suspects(observations: Observations, residuals: Residuals, found: list[Snoop]) -> list[Suspect]:
    """Every reading that one of the misfits may be, with the slips that would explain it."""
    if not found:
        return []
    from steelyard.adjustment.misfit.slips import Slips

    suspects: dict[int, Suspect] = {}
    slips = Slips(observations, residuals, observations.rig.day.units)
    for misfit in found:
        for row, normalised in _as_told(observations, misfit, residuals):
            if row in suspects:
                continue
            said = slips.explain(row)
            if len(misfit.rows) > (1 if misfit.exchanged is None else 2):
                said = (*said, _tell_apart(observations, misfit, row))
            item = observations.items[row]
            place, instrument = item.reading.place.text, item.instrument.id
            suspects[row] = Suspect(item.draft.number, place, instrument, item.reading.value, normalised, said)
    return list(suspects.values())


def _as_told(observations: Observations, misfit: Snoop, residuals: Residuals) -> list[tuple[int, float]]:
    """The readings of a misfit, the likeliest first; those that explain it equally well in the order of the drafts."""
    pairs = list(zip(misfit.rows, misfit.normalised, strict=True))
    if misfit.exchanged is not None:
        return pairs
    falls = residuals.told(np.array(misfit.normalised) ** 2)
    drafts = np.array([observations.items[row].draft.number for row in misfit.rows])
    order = np.lexsort((drafts, -falls))
    return [pairs[at] for at in order]


def _with_changes(suspect: Suspect, changes: tuple[GradualChange, ...], observations: Observations) -> Suspect:
    """A suspect with what may have changed by itself on its vehicle among its explanations."""
    place = parse_place(suspect.place, observations.rig.day.vehicles)
    vehicles = {wheel.vehicle for wheel in place.wheels} | set(place.couplings)
    states = {item.draft.number: item.draft.state for item in observations.items}
    touched = vehicles | set(observations.rig.day.states[states[suspect.draft]].vehicles)
    words = tuple(f"{change.words.partition('?')[0]}?" for change in changes if change.vehicle in touched)
    return replace(suspect, explanations=(*words, *suspect.explanations))


def exchanges_of(observations: Observations) -> Exchanges:
    """Every pair of readings of one draft that differ by a division or more."""
    members: dict[int, list[int]] = {}
    for row, item in enumerate(observations.items):
        members.setdefault(item.draft.number, []).append(row)
    first: list[int] = []
    second: list[int] = []
    for rows in members.values():
        rows.sort(key=lambda row: [str(wheel) for wheel in observations.items[row].reading.place.wheels])
        upper = np.triu_indices(len(rows), 1)
        first += [rows[at] for at in upper[0]]
        second += [rows[at] for at in upper[1]]
    one, other = np.array(first, dtype=int), np.array(second, dtype=int)
    change = observations.values[one] - observations.values[other]
    division = np.array([item.instrument.division for item in observations.items])
    number = np.array([item.draft.number for item in observations.items], dtype=int)
    kept = np.abs(change) > division[one] / 2
    return Exchanges(number[one][kept], one[kept], other[kept], change[kept])


def _tell_apart(observations: Observations, misfit: Snoop, row: int) -> str:
    others = [observations.items[other] for other in misfit.rows if other != row]
    names = ", ".join(f"draft {item.draft.number} {item.reading.place.text}" for item in others[:3])
    return f"{names} would explain it about as well: one more draft of this place would tell them apart"
