"""All that explains the contradictions of a day about as well as the best does, one hypothesis for each misfit.

The contest is wider than the list of suspects: where two hypotheses are equally far from the truth, the difference of
their chi-squares scatters with four times its mean as variance (Cox 1961, for hypotheses that are not nested), so a
right one may by chance stand well behind a wrong one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, product

import numpy as np

from steelyard.adjustment.misfit.agreement import Agreement, Fit, exchanges_of
from steelyard.adjustment.misfit.consistency import Snoop, global_probability, reference_dof
from steelyard.adjustment.misfit.declared import Declared
from steelyard.adjustment.misfit.explanation import Base, Explanation, Hypothesis, Named
from steelyard.adjustment.misfit.gradual import kind_of, said
from steelyard.adjustment.misfit.pairs import best_pairs
from steelyard.adjustment.misfit.residuals import UNCHECKED, Residuals
from steelyard.adjustment.misfit.scatter import scatter_of
from steelyard.adjustment.misfit.trials import Trial, TriedChanges, touches
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.readings.observed import Observed
from steelyard.adjustment.solve import Array, Indices
from steelyard.adjustment.student import SIGNIFICANCE, student_quantile
from steelyard.adjustment.system.increments import StanceLoads

CONTEST = 9.0
"""Explanations whose chi-square is within this of the best count: three standard deviations. Widened (as Student's t
is) where the readings' variances are known poorly."""

EACH = 24
"""No more hypotheses than this for one misfit."""

MOST_EXPLANATIONS = 48
"""No more explanations than this of the whole day."""

MOST_PAIRED = 4
"""Of more misfits than this, pairs are not tried in place of two of them."""

FEWEST_DRAFTS = 2
"""Drafts of a vehicle from which on a change may explain a contradiction, though it may not be told from a slip."""

_Parts = tuple[Hypothesis, ...]


def explanations_of(
    observations: Observations, fit: Fit, agreement: Agreement, redundancy: int, carried: StanceLoads | None = None
) -> tuple[Explanation, ...]:
    """All that explains the misfits found about as well as the best does, the likeliest first; none on a sound day.

    Where the readings still disagree with the best explanation, all of them carry the doubt that is missing, and each
    reading that stands out is left out in turn besides. ``fit`` has the variances as they were learned from what
    remains. ``carried`` are the loads of wheels and couplings [kg]: no mass is said to have come or gone that would
    make one of them pull.
    """
    if agreement.consistency.consistent:
        return ()
    return _Contest(observations, fit, agreement.found, carried).explanations(redundancy)


class _Contest:
    def __init__(
        self, observations: Observations, fit: Fit, found: Sequence[Snoop], carried: StanceLoads | None
    ) -> None:
        self._observations, self._found = observations, found
        self._fit = fit
        self._residuals = fit.residuals()
        self._base = Base(self._residuals, fit.design, fit.solution)
        self._exchanges = exchanges_of(observations)
        self._changes = TriedChanges(observations, FEWEST_DRAFTS)
        self._declared = Declared(observations)
        self._carried = carried
        t = float(student_quantile(np.array([reference_dof(fit.blocks, fit.dof)]), 0.5 + 0.9973 / 2)[0])
        self._margin = max(CONTEST, t * t)

    def explanations(self, redundancy: int) -> tuple[Explanation, ...]:
        """Explanations of the day, with the missing doubt added where none fits."""
        kept = self._kept(redundancy) if self._found else self._of_no_slip()
        if not kept:
            return ()
        kept = [(one, parts) for one, parts in kept if not self._pulls(one, parts)] or kept
        best, parts = kept[0]
        left = self._residuals.copy()
        freed = 0
        for part in parts:
            if part.put is not None:
                left.put(part.put)
            if part.free is not None:
                freed += left.let(part.free[:, 0])
        scatter = scatter_of(self._observations, self._fit, left, best.chi2, redundancy - freed)
        if scatter is None:
            return tuple(one for one, parts in kept if parts)
        without = [self._base.under((*parts, self._reading(self._residuals, row, 0.0))) for row in scatter.far[:EACH]]
        found = [*(one for one, _ in kept), *(one for one in without if one is not None)]
        return tuple(scatter.over(one) for one in found[:MOST_EXPLANATIONS])

    def _pulls(self, explanation: Explanation, parts: Sequence[Hypothesis]) -> bool:
        """Whether a mass that came or went would have a wheel or a coupling pull that pushes by all readings."""
        if self._carried is None or not any(part.mass for part in parts):
            return False
        loads, jacobian = self._carried.values, self._carried.jacobian
        u = np.sqrt(((jacobian @ self._fit.solution.root) ** 2).sum(axis=1))
        known = self._fit.solution.determined(jacobian)
        return bool((known & (loads >= 0.0) & (loads + jacobian @ explanation.shift < -2.0 * u)).any())

    def _of_no_slip(self) -> list[tuple[Explanation, _Parts]]:
        """Hypotheses for a day without a misfit: the changes that may have happened, and that nothing changed."""
        size = np.abs(self._residuals.normalised())
        rows = [int(row) for row in np.flatnonzero(size >= 0.5 * size.max(initial=0.0))]
        rivals = [one for one in self._all(self._residuals, rows) if one.fall > self._margin]
        made = [((one,), self._base.under((one,))) for one in rivals]
        nothing = self._base.under(())
        found = [(one, parts) for parts, one in [*made, ((), nothing)] if one is not None]
        return self._by_fit(found)

    def _kept(self, redundancy: int) -> list[tuple[Explanation, _Parts]]:
        """One hypothesis for each misfit, in every combination that is worth it, the likeliest first."""
        own = tuple(self._own(misfit) for misfit in self._found)
        rivals = [self._of_misfit(at) for at in range(len(own))]
        tried = {frozenset(part.key for part in parts): parts for parts in _combinations(own, rivals)}
        if len(own) > 1:  # one cause of all that was found
            rows = list(dict.fromkeys(row for misfit in self._found for row in misfit.rows))
            tried.update((frozenset([one.key]), (one,)) for one in self._all(self._residuals, rows))
        alone = self._base.under(own) if len(own) == 1 else None
        if alone is None or self._disagrees(alone.chi2, redundancy - 1):
            tried.update((frozenset(part.key for part in parts), parts) for parts in self._pairs(own))
        made = [(self._base.under(parts), parts) for parts in tried.values()]
        kept = self._by_fit([(one, parts) for one, parts in made if one is not None])
        return [pair for pair in kept if pair[0].chi2 <= kept[0][0].chi2 + self._margin][:MOST_EXPLANATIONS]

    def _by_fit(self, pairs: Sequence[tuple[Explanation, _Parts]]) -> list[tuple[Explanation, _Parts]]:
        """The likeliest first; of those that explain it equally well, the one about the earliest draft."""
        left = self._residuals.told(np.array([one.chi2 for one, _ in pairs]))
        drafts = [[named.draft for named in one.readings] for one, _ in pairs]
        return [pairs[at] for at in sorted(range(len(pairs)), key=lambda at: (left[at], drafts[at]))]

    def _disagrees(self, chi2: float, dof: int) -> bool:
        """Whether the rest of chi-square is larger than chance would make it."""
        reference = reference_dof(self._fit.blocks, self._fit.dof)
        return dof > 0 and global_probability(chi2, dof, reference) < SIGNIFICANCE

    def _pairs(self, own: tuple[Hypothesis, ...]) -> Iterator[tuple[Hypothesis, ...]]:
        """Pairs of readings in place of all that was found, or of two misfits where there are more."""
        places = [(), *combinations(range(len(own)), 2)] if 2 < len(own) <= MOST_PAIRED else [()]
        for taken in places:
            others = tuple(one for at, one in enumerate(own) if at not in taken) if taken else ()
            residuals = self._residuals.copy()
            for part in others:
                if part.put is not None:
                    residuals.put(part.put)
                if part.free is not None:
                    residuals.let(part.free[:, 0])
            for first, second, fall in best_pairs(residuals, self._margin, MOST_EXPLANATIONS):
                yield (*others, *(self._reading(self._residuals, row, fall) for row in (first, second)))

    def _own(self, misfit: Snoop) -> Hypothesis:
        """The explanation that the search chose for a misfit."""
        if misfit.exchanged is None:
            return self._reading(self._residuals, misfit.freed[0], 0.0)
        return self._exchange(*misfit.exchanged, 0.0)

    def _of_misfit(self, at: int) -> list[Hypothesis]:
        """Explanations of one misfit, best first, while each other misfit keeps its best explanation."""
        residuals = self._residuals.copy()
        for other, misfit in enumerate(self._found):
            if other == at:
                continue
            if misfit.exchanged is None:
                residuals.free(misfit.freed[0])
            else:
                first, second = misfit.exchanged
                residuals.put(self._swap(first, second))
        found = list(self._all(residuals, self._found[at].rows))
        best = max((one.fall for one in found), default=0.0)
        order = np.argsort(-residuals.told(np.array([one.fall for one in found])), kind="stable")
        ranked = [found[int(at)] for at in order]
        return [one for one in ranked if one.fall >= best - self._margin][:EACH]

    def _all(self, residuals: Residuals, rows: Sequence[int]) -> Iterator[Hypothesis]:
        falls = residuals.normalised() ** 2
        top = float(falls.max())
        pairs = self._exchanges
        of_pairs = pairs.falls(residuals)
        top = max(top, float(of_pairs.max(initial=0.0)))
        changes = [one for one in self._changes.best(residuals, top - self._margin) if one.touches(residuals, rows)]
        declared = [
            one for one in self._declared.best(residuals, top - self._margin) if touches(one.put, residuals, rows)
        ]
        top = max([top, *(one.fall for one in (*changes[:1], *declared))])
        least = max(top - self._margin, 1e-9)
        for row in np.flatnonzero(falls >= least):
            yield self._reading(residuals, int(row), float(falls[row]))
        for pair in np.flatnonzero(of_pairs >= least):
            yield self._exchange(int(pairs.first[pair]), int(pairs.second[pair]), float(of_pairs[pair]))
        yield from self._zeros(residuals, least)
        for case in declared:
            if case.fall >= least:
                yield Hypothesis(case.words, self._largest(case.put), case.fall, put=case.put, mass=True)
        for trial in changes:
            if trial.fall >= max(least, residuals.step):  # a mass of nothing, at any place, explains nothing
                words = said(trial, self._observations.rig.day.units)
                free, u = _place_unknown(trial)
                at = self._largest(trial.column)
                yield Hypothesis(words, at, trial.fall, free, u, mass=True, kind=kind_of(trial))

    def _reading(self, residuals: Residuals, row: int, fall: float) -> Hypothesis:
        item = self._observations.items[row]
        words = f"draft {item.draft.number}, {item.reading.place.text}"
        return Hypothesis(words, self._named([row]), fall, free=residuals.unit(row)[:, None])

    def _exchange(self, first: int, second: int, fall: float) -> Hypothesis:
        one, other = self._observations.items[first], self._observations.items[second]
        words = (
            f"draft {one.draft.number}, {one.instrument.id} and {other.instrument.id} exchanged "
            f"({one.reading.place.text} and {other.reading.place.text})"
        )
        return Hypothesis(words, self._named([first, second]), fall, put=self._swap(first, second))

    def _swap(self, first: int, second: int) -> Array:
        values = self._observations.values
        put = np.zeros(len(values))
        put[first], put[second] = values[second] - values[first], values[first] - values[second]
        return put

    def _zeros(self, residuals: Residuals, least: float) -> Iterator[Hypothesis]:
        """A pad that was not zeroed all day, where it read more than once."""
        members: dict[str, list[int]] = {}
        for row, item in enumerate(self._observations.items):
            members.setdefault(item.instrument.id, []).append(row)
        for name, rows in members.items():
            if len(rows) < 2:
                continue
            column = np.zeros(len(self._observations.items))
            column[rows] = 1.0
            weight, whole = float(residuals.weights_of(column[:, None])[0]), float(residuals.wholes(column[:, None])[0])
            if weight <= UNCHECKED * whole:
                continue
            fall = float(column @ residuals.weighed) ** 2 / weight
            if fall >= least:
                yield Hypothesis(f"{name} not zeroed all day", self._named(rows[:1]), fall, free=column[:, None])

    def _largest(self, column: Array) -> tuple[Named, ...]:
        """The first of the readings that a change shows in most."""
        return self._named(np.flatnonzero(np.abs(column) >= 0.5 * np.abs(column).max())[:1])

    def _named(self, rows: Sequence[int] | Indices) -> tuple[Named, ...]:
        items: list[Observed] = [self._observations.items[int(row)] for row in rows]
        return tuple(Named(item.draft.number, item.draft.state, item.reading.place.text) for item in items)


def _place_unknown(trial: Trial) -> tuple[Array, tuple[float, ...]]:
    """The columns of a change whose place is known roughly, and how large each may be."""
    along, across = trial.reach
    free = np.column_stack([trial.column, trial.size * trial.along, trial.size * trial.across])
    return free, (math.inf, along, across)


def _combinations(
    own: tuple[Hypothesis, ...], rows: Sequence[Sequence[Hypothesis]]
) -> Iterator[tuple[Hypothesis, ...]]:
    """One hypothesis for each misfit: all combinations where they are few, else one varied at a time.

    ``own`` are those that the search took, ``rows`` the rivals of each.
    """
    yield own
    if all(rows) and math.prod(len(row) for row in rows) <= 4 * MOST_EXPLANATIONS:
        chosen = product(*rows)
    else:
        chosen = ((*own[:at], other, *own[at + 1 :]) for at, row in enumerate(rows) for other in row)
    told = {tuple(one.key for one in own)}
    for parts in chosen:
        keys = tuple(one.key for one in parts)
        if keys not in told and len(set(keys)) == len(keys):
            told.add(keys)
            yield parts
