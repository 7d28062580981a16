"""Quantities of a solved day with their doubt, all in one matrix product: findings, verdicts, and room under limits."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, Estimates, Explanation, Linear, student_quantile
from steelyard.classes import dataclass
from steelyard.conformity import (
    CONFIDENT,
    REACH,
    Measured,
    Requirement,
    Sense,
    Verdict,
    conformance_probabilities,
    judge,
    judge_all,
    probability_met,
)
from steelyard.findings.assembly import assembly_of
from steelyard.findings.competing import Competing
from steelyard.findings.curves import Limited, measured_on_curves
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.open_loads import trade_off
from steelyard.findings.ratios import Ratios
from steelyard.findings.result import Finding, TradeOff
from steelyard.findings.straight import Straight, straight_limits
from steelyard.model import FindingId
from steelyard.planning import Need, Needs
from steelyard.units import Dimension

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Room:
    """Margin left below a limit, positive where the limit is kept.

    The margin of a limit on a share has the unit of the quantity that is shared.

    Attributes
    ----------
    value: SI unit of the quantity. root: its doubt, ``variance = root . root``, shape (q,). dof: degrees of freedom.
    """

    value: float
    root: Array
    dof: float

    def over(self, part: float) -> Room:
        """The same room in units of ``part``."""
        return Room(self.value / part, self.root / part, self.dof)


class Quantities:
    """The entries of the catalogue with their values and doubt, all in one matrix product."""

    def __init__(self, adjustment: Adjustment, entries: Sequence[CatalogueEntry]) -> None:
        self._adjustment = adjustment
        self.entries = entries
        self._assembly = assembly_of(entries)
        tops, noise = self._assembly.numerators(adjustment)
        bottoms = self._assembly.denominators(adjustment)
        self._found = Ratios(self._assembly, tops, bottoms, noise, adjustment.propagation)

    def under(self, explanation: Explanation) -> Quantities:
        """The same entries as an explanation of the day's contradictions has them."""
        other = object.__new__(Quantities)
        other.entries, other._assembly = self.entries, self._assembly
        other._adjustment = self._adjustment.under(explanation)
        tops, bottoms = (
            Linear(one.values + one.gradients @ explanation.shift, one.gradients)
            for one in (self._found.tops, self._found.bottoms)
        )
        other._found = Ratios(self._assembly, tops, bottoms, self._found.noise, other._adjustment.propagation)
        return other

    def spans(self) -> tuple[Array, Array]:
        """Values and half-widths of the 95 % intervals, ratios to first order, both of shape (entries,)."""
        return self._found.estimates.values, self._found.half_widths + self._found.noise

    def competing(self, explanations: Sequence[Explanation]) -> Competing:
        """The same entries under each of some explanations, at least one, all at once."""
        return Competing(self._assembly, self._found, self._adjustment.propagation.under_all(explanations))

    @property
    def estimates(self) -> Estimates:
        """The entries with their doubt, ratios to first order."""
        return self._found.estimates

    def findings(self) -> list[Finding]:
        """A finding for each entry, in order."""
        found, estimates = self._found, self._found.estimates
        low, high = found.bounds
        noise = np.where(self._assembly.shares, 0.0, found.noise)
        nothing = (np.abs(estimates.values) <= noise) & (estimates.u <= noise)
        # nothing by construction: what is left is the arithmetic's own
        value, u = (np.where(nothing, 0.0, part) for part in (estimates.values, estimates.u))
        told = found.known & ~np.isnan(low)
        told[list(self._assembly.fixed)] = False
        parts = (part.tolist() for part in (told, value, u, low, high, estimates.dof))
        return [
            Finding(entry.id, entry.label, entry.dimension, entry.basis, one, its_u, its_low, its_high, dof)
            if determined
            else self._other(place, entry)
            for place, entry, determined, one, its_u, its_low, its_high, dof in zip(
                itertools.count(), self.entries, *parts, strict=False
            )
        ]

    @cached_property
    def _needs(self) -> Needs:
        """The search for drafts that would determine a finding; made when needed; most what-ifs do not need it."""
        return Needs(self._adjustment)

    def _other(self, place: int, entry: CatalogueEntry) -> Finding:
        """A finding that no reading tells, or that the readings do not determine."""
        if entry.fixed is not None:
            value, u = entry.fixed
            half = float(student_quantile(np.array([np.inf]))[0]) * u
            return Finding(entry.id, entry.label, entry.dimension, entry.basis, value, u, value - half, value + half)
        wanted = self.needs_of(place, self._needs)
        why = self.why_open(place)
        return Finding(entry.id, entry.label, entry.dimension, entry.basis, needs=wanted, why=why)

    def gradients(self, places: Sequence[int]) -> Array:
        """Derivatives of some entries by the unknowns, ratios to first order, shape (entries, unknowns)."""
        return self._found.gradients[list(places)]

    def half_width(self, place: int) -> float | None:
        """Half of the 95 % interval of an entry to first order, in SI units; None where it is not determined."""
        entry = self.entries[place]
        if entry.fixed is not None:
            return float(student_quantile(np.array([np.inf]))[0]) * entry.fixed[1]
        if not self.will_know(place):
            return None
        return float(self._found.half_widths[place])

    def will_know(self, place: int) -> bool:
        """Whether the equations determine an entry, whatever the readings turn out to say."""
        entry = self.entries[place]
        if entry.fixed is not None:
            return True
        return entry.told and bool(self._found.estimates.determined[place])

    def needs_of(self, place: int, needs: Needs) -> tuple[Need, ...]:
        """The drafts that would determine an entry."""
        open_ = list(self._open(place))
        return needs.of(open_, self.entries[place].state) if open_ else ()

    def _open(self, place: int) -> Iterator[Array]:
        """Derivatives of the numerator and the denominator of an entry, where the readings do not determine them."""
        found, row = self._found, int(self._assembly.row_over[place])
        if not found.top_determined[place]:
            yield found.tops.gradients[place]
        if row >= 0 and not found.bottom_determined[row]:
            yield found.bottoms.gradients[row]

    def why_open(self, place: int) -> TradeOff | None:
        """Which loads trade off against one another where an entry is not determined."""
        entry = self.entries[place]
        if entry.fixed is not None or not entry.told:
            return None
        open_ = next(self._open(place), None)
        return None if open_ is None else trade_off(self._adjustment, entry, open_)

    def verdicts(self, requirements: Sequence[Requirement]) -> tuple[Verdict, ...]:
        """The verdict on each requirement; the finding of one may be missing where a state tips over.

        The limit of a verdict is infinite where one that depends on another finding does not hold at all.
        """
        units = self._adjustment.rig.day.units
        found: dict[str, Verdict] = {}
        judged = [item for item in requirements if self._judged(item)]
        plain = [item for item in judged if item.curve is None]
        if plain:
            found = {one.id: one for one in judge_all(plain, self._measured(plain), units)}
        curved = measured_on_curves(self.estimates, self._adjustment.propagation, self._pairs(judged))
        found |= {name: judge(item, one, units) for name, (item, one) in curved.items()}
        return tuple(found[item.id] if item.id in found else judge(item, None, units) for item in requirements)

    def met_under(
        self, requirements: Sequence[Requirement], explanations: Sequence[Explanation], competing: Competing
    ) -> Array:
        """Probability of each requirement being met under each explanation, shape (explanations, requirements).

        NaN where its finding is not determined. ``competing`` has the entries under the same explanations.
        """
        found = np.full((len(explanations), len(requirements)), np.nan)
        place = self._assembly.place
        at = [row for row, item in enumerate(requirements) if item.curve is None and item.finding in place]
        plain = [requirements[row] for row in at]
        if plain:
            limits = np.array([item.limit for item in plain])
            greatest = np.array([item.sense is Sense.MAX for item in plain], dtype=bool)
            found[:, at] = competing.met([place[item.finding] for item in plain], limits, greatest)
        curved = {item.id: row for row, item in enumerate(requirements) if item.curve is not None}
        for row, explanation in enumerate(explanations if curved else ()):
            for name, chance in self.under(explanation).met_on_curves(requirements).items():
                found[row, curved[name]] = chance
        return found

    def met_on_curves(self, requirements: Sequence[Requirement]) -> dict[str, float]:
        """The probability of each limit that depends on another finding being met, where both are determined."""
        pairs = self._pairs([item for item in requirements if item.curve is not None and self._judged(item)])
        measured = measured_on_curves(self.estimates, self._adjustment.propagation, pairs)
        return {name: probability_met(item, one) for name, (item, one) in measured.items() if one is not None}

    def _measured(self, judged: Sequence[Requirement]) -> list[Measured]:
        """Each finding that is limited by one number, as a verdict sees it, with the probability of keeping to it."""
        places = [self._assembly.place[item.finding] for item in judged]
        limits = np.array([item.limit for item in judged])
        roots, slacks = self._found.beyond(places, limits)
        variances = np.einsum("ij,ij->i", roots, roots)
        doubts, dofs = np.sqrt(variances), self._adjustment.propagation.dof_of(roots, variances)
        met = conformance_probabilities(
            slacks, doubts, dofs, np.array([item.sense is Sense.MAX for item in judged], dtype=bool)
        )
        found = self.estimates
        kept = (found.values[places], found.u[places], dofs, slacks, doubts, found.prior_u[places])
        parts = (part.tolist() for part in kept)
        none = itertools.repeat(None)  # no limit here depends on another finding
        return list(map(Measured, *parts, none, met.tolist()))

    def _judged(self, requirement: Requirement) -> bool:
        """Whether the finding of a requirement is there and determined, and the one that its limit depends on."""
        curve = requirement.curve
        return self._told(requirement.finding) and (curve is None or self._told(curve.finding))

    def _told(self, finding: str) -> bool:
        place = self._assembly.place.get(finding)
        return place is not None and self._found.told[place]

    def _pairs(self, requirements: Sequence[Requirement]) -> list[Limited]:
        """Those whose limit depends on another finding, with the places of both findings."""
        return [
            (item, item.curve, self._assembly.place[item.finding], self._assembly.place[item.curve.finding])
            for item in requirements
            if item.curve is not None
        ]

    def straight(self, requirement: Requirement) -> Straight | None:
        """A limit as searches take it: linear in every load, and enough for the requirement, see ``straight.py``.

        Of several such limits the one that leaves most room beyond its guard band. None where the readings do not
        determine what is limited, or where the limit does not hold at all (see ``holds``).
        """
        curve = requirement.curve
        if curve is None:
            return Straight(requirement)
        if not self._judged(requirement):
            return None
        at = self._assembly.place[curve.finding]
        other, other_u = float(self.estimates.values[at]), float(self.estimates.u[at])
        fewest = min(self._adjustment.propagation.learned_dof, default=np.inf)
        best: tuple[float, Straight] | None = None
        for one in straight_limits(requirement, curve, other, other_u, fewest):
            room = self.room(one, one.requirement.finding)
            if room is None:
                continue
            quantile = float(student_quantile(np.array([room.dof]), CONFIDENT)[0])
            left = room.value - quantile * float(np.linalg.norm(room.root))
            if best is None or left > best[0]:
                best = left, one
        return None if best is None else best[1]

    def per_mass(self, finding: str) -> float:
        """Change of a force for a mass on the wheels where it counts most [N/kg]; 1 of all that is no force."""
        place = self._assembly.place.get(finding)
        if place is None or self.entries[place].dimension is not Dimension.FORCE:
            return 1.0
        return max(map(abs, self.entries[place].terms.values()), default=1.0)

    def holds(self, requirement: Requirement) -> bool:
        """Whether a limit holds, or may hold with another load; false of one that ends before a taped distance."""
        curve = requirement.curve
        if curve is None or not curve.taped or not self._judged(requirement):
            return True
        at = self._assembly.place[curve.finding]
        reached = curve.reached(float(self.estimates.values[at]), REACH * float(self.estimates.u[at]))
        return any(piece.limits for piece in reached)

    def named(self, requirement: Requirement) -> Requirement:
        """The same with the limit at the value of the finding that it depends on, or the nearest one."""
        if requirement.curve is None or not self._judged(requirement):
            return requirement
        at = self._assembly.place[requirement.curve.finding]
        limit = requirement.curve.nearest(float(self.estimates.values[at]))
        return requirement if limit is None else replace(requirement, limit=limit)

    def room(self, limit: Straight, finding: str) -> Room | None:
        """Margin left when a limit is applied to ``finding``; None where that finding is not determined."""
        place, requirement = self._assembly.place.get(finding), limit.requirement
        if place is None or not self._found.known[place]:
            return None
        if limit.slope:
            other = self._assembly.place.get(str(FindingId.parse(limit.other).at(FindingId.parse(finding).state)))
            if other is None or not self._found.known[other]:
                return None
            both = self.estimates
            value = float(both.values[place]) - requirement.limit - limit.slope * float(both.values[other])
            root = both.roots[place] - limit.slope * both.roots[other]
        else:
            roots, slacks = self._found.beyond([place], np.array([requirement.limit]))
            value, root = float(slacks[0]), roots[0]
        sign = -1.0 if requirement.sense is Sense.MAX else 1.0
        dof = self._adjustment.propagation.dof_of(root[None, :], np.array([root @ root]))
        return Room(sign * value, sign * limit.widened * root, float(dof[0]))
