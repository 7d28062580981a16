"""From a weigh day to findings, verdicts, consistency and cautions: the call that every face shares."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, Estimates, Linear, adjust, combined, fieller, student_quantile
from steelyard.conformity import Measured, Requirement, Verdict, judge
from steelyard.findings.catalogue import Catalogue, Entry
from steelyard.findings.cautions import cautions_of
from steelyard.findings.result import Finding, Findings
from steelyard.model import WeighDay
from steelyard.planning import Need, Needs
from steelyard.rules import requirements_of

Array = NDArray[np.float64]

NOISE = 1e-9
"""Relative error of sums of loads in double precision, generously."""

KNOWN_PLACE = 4.0
"""The place of a cargo is determined only where its mass is at least this many times its standard uncertainty."""


def weigh(day: WeighDay) -> Findings:
    """Everything the readings of ``day`` support, in SI units.

    States whose supports do not hold the rig up have no findings; a caution says so. A finding that the readings do
    not determine carries the smallest set of drafts that would.
    """
    adjustment = adjust(day)
    quantities = Quantities(adjustment, Catalogue(adjustment).entries())
    findings = tuple(quantities.findings())
    ids = {finding.id for finding in findings}
    requirements = [requirement for requirement in requirements_of(adjustment.rig.day) if requirement.finding in ids]
    verdicts = tuple(quantities.verdict(requirement) for requirement in requirements)
    cautions = cautions_of(adjustment, findings)
    return Findings(day, findings, verdicts, adjustment.consistency, cautions)


class Quantities:
    """The entries of the catalogue with their values and doubt, all in one matrix product."""

    def __init__(self, adjustment: Adjustment, entries: list[Entry]) -> None:
        self._adjustment = adjustment
        self.entries = entries
        self._place = {entry.id: place for place, entry in enumerate(entries)}
        self._tops = self._linear(numerator=True)
        self._bottoms = self._linear(numerator=False)
        self._top = adjustment.propagation.of(self._tops)
        self._bottom = adjustment.propagation.of(self._bottoms)
        self._ratio = self._ratios()

    def _linear(self, *, numerator: bool) -> Linear:
        """Numerators or denominators of all entries and their derivatives by the unknowns."""
        loads, unknowns = self._adjustment.loads, self._adjustment.unknowns
        rows: list[int] = []
        columns: list[int] = []
        factors: list[float] = []
        for place, entry in enumerate(self.entries):
            terms = entry.terms if numerator else entry.over
            rows.extend([place] * len(terms))
            columns.extend(terms)
            factors.extend(terms.values())
        combination = np.zeros((len(self.entries), len(loads.values)))
        combination[rows, columns] = factors
        values = combination @ loads.values
        gradients = combined(combination, loads.jacobian)
        for place, entry in enumerate(self.entries):
            at = entry.unknown if numerator else entry.over_unknown
            if at is not None:
                values[place] = unknowns[at]
                gradients[place, at] = 1.0
            for arm, terms in entry.arms if numerator else ():
                gradients[place, arm] += sum(factor * loads.values[out] for out, factor in terms.items())
        return Linear(values, gradients)

    def _is_ratio(self, entry: Entry) -> bool:
        return bool(entry.over) or entry.over_unknown is not None

    def _ratios(self) -> Estimates:
        """Entries as they are: sums as sums, ratios to first order."""
        ratio = np.array([self._is_ratio(entry) for entry in self.entries], dtype=bool)
        bottom = np.where(ratio & (self._bottom.values != 0.0), self._bottoms.values, 1.0)
        values = self._tops.values / bottom
        gradients = self._tops.gradients / bottom[:, None]
        gradients = gradients - np.where(ratio, values / bottom, 0.0)[:, None] * self._bottoms.gradients
        found = self._adjustment.propagation.of(Linear(values, gradients))
        determined = self._top.determined & np.where(ratio, self._bottom.determined, True)
        return replace(found, determined=determined)

    def findings(self) -> list[Finding]:
        """One finding an entry, in order."""
        needs = Needs(self._adjustment)
        quantiles = student_quantile(self._ratio.dof)
        return [self._finding(place, entry, quantiles, needs) for place, entry in enumerate(self.entries)]

    def _finding(self, place: int, entry: Entry, quantiles: Array, needs: Needs) -> Finding:
        if entry.fixed is not None:
            value, u = entry.fixed
            half = float(student_quantile(np.array([np.inf]))[0]) * u
            return Finding(entry.id, entry.label, entry.dimension, entry.basis, value, u, value - half, value + half)
        value, u = float(self._ratio.values[place]), float(self._ratio.u[place])
        noise = 0.0 if self._is_ratio(entry) else self._arithmetic(entry)
        if abs(value) <= noise and u <= noise:
            value = u = 0.0  # nothing by construction: what is left is the arithmetic's own
        bounds = self._bounds(place, entry, float(quantiles[place])) if self._known(place, entry) else None
        if bounds is None:
            wanted = self.needs_of(place, needs)
            return Finding(entry.id, entry.label, entry.dimension, entry.basis, needs=wanted)
        dof = float(self._ratio.dof[place])
        return Finding(entry.id, entry.label, entry.dimension, entry.basis, value, u, *bounds, dof)

    def will_know(self, place: int) -> bool:
        """Whether the equations determine an entry, whatever the readings turn out to say."""
        entry = self.entries[place]
        if entry.fixed is not None:
            return True
        return (bool(entry.terms) or entry.unknown is not None) and bool(self._ratio.determined[place])

    def _known(self, place: int, entry: Entry) -> bool:
        if entry.unknown is None and not entry.terms:
            return False  # a cargo that is in no state
        if not self._ratio.determined[place]:
            return False
        if not self._is_ratio(entry):
            return True
        size = float(self._bottom.values[place])
        if entry.over_unknown is not None:
            size = abs(size)  # a cargo taken off may count as negative
        return size > 0.0 and size >= KNOWN_PLACE * float(self._bottom.u[place])

    def _bounds(self, place: int, entry: Entry, quantile: float) -> tuple[float, float] | None:
        if not self._is_ratio(entry):
            half = quantile * float(self._ratio.u[place]) + self._arithmetic(entry)
            value = float(self._ratio.values[place])
            return value - half, value + half
        top, bottom = self._top.roots[place], self._bottom.roots[place]
        return fieller(
            float(self._top.values[place]),
            float(self._bottom.values[place]),
            variances=(float(top @ top), float(bottom @ bottom)),
            covariance=float(top @ bottom),
            quantile=quantile,
        )

    def _arithmetic(self, entry: Entry) -> float:
        """What rounding in the arithmetic may add up to: it matters only where a change is nothing by construction."""
        loads = self._adjustment.loads.values
        return NOISE * sum(abs(factor * float(loads[out])) for out, factor in entry.terms.items())

    def needs_of(self, place: int, needs: Needs) -> tuple[Need, ...]:
        """The drafts that would determine an entry."""
        made_of = [(self._tops, self._top)]
        if self._is_ratio(self.entries[place]):
            made_of.append((self._bottoms, self._bottom))
        open_ = [linear.gradients[place] for linear, found in made_of if not found.determined[place]]
        return needs.of(open_, self.entries[place].state) if open_ else ()

    def verdict(self, requirement: Requirement) -> Verdict:
        """The verdict on a requirement; its finding may be missing where a state tips over."""
        units = self._adjustment.rig.day.units
        place = self._place.get(requirement.finding)
        if place is None or not self._known(place, self.entries[place]):
            return judge(requirement, None, units)
        value, u, dof = (float(part[place]) for part in (self._ratio.values, self._ratio.u, self._ratio.dof))
        floor = float(self._ratio.prior_u[place])
        if not self._is_ratio(self.entries[place]):
            return judge(requirement, Measured(value, u, dof, value - requirement.limit, u, floor), units)
        slack = float(self._top.values[place]) - requirement.limit * float(self._bottom.values[place])
        root = self._top.roots[place] - requirement.limit * self._bottom.roots[place]
        return judge(requirement, Measured(value, u, dof, slack, float(np.linalg.norm(root)), floor), units)
