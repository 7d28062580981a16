"""Quantities of a solved day with their doubt, all in one matrix product: findings, verdicts, and room under limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, Estimates, Explanation, Linear, SparseSums, fieller, student_quantile
from steelyard.conformity import CONFIDENT, REACH, Measured, Requirement, Sense, Verdict, judge
from steelyard.findings.curves import Judged, Limited, measured_on_curves
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.open_loads import trade_off
from steelyard.findings.result import Answer, Finding, TradeOff
from steelyard.findings.straight import Straight, straight_limits
from steelyard.model import FindingId
from steelyard.planning import Need, Needs
from steelyard.units import Dimension

Array = NDArray[np.float64]

NOISE = 1e-9
"""Relative error of sums of loads in double precision, generously; it matters where a change is nothing."""

_NOTHING = 1e-9
"""A mass below this [kg] counts as zero when shares of it are asked for: they are not determined."""

KNOWN_PLACE = 4.0
"""The place of a cargo is determined only where its mass is at least this many times its standard uncertainty."""


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

    def __init__(self, adjustment: Adjustment, entries: list[CatalogueEntry]) -> None:
        self._adjustment = adjustment
        self.entries = entries
        self._place = {entry.id: place for place, entry in enumerate(entries)}
        self._shares = [bool(entry.over) or entry.over_unknown is not None for entry in entries]
        self._tops = self._linear(numerator=True)
        self._bottoms = self._linear(numerator=False)
        self._top = adjustment.propagation.of(self._tops, with_dof=False)
        self._bottom = adjustment.propagation.of(self._bottoms, with_dof=False)
        self._ratio = self._ratios()
        self._known = self._which_known()

    def under(self, explanation: Explanation) -> Quantities:
        """The same entries as an explanation of the day's contradictions has them."""
        other = object.__new__(Quantities)
        other.__dict__.update(self.__dict__)
        other._adjustment = self._adjustment.under(explanation)
        other._tops, other._bottoms = (
            Linear(one.values + one.gradients @ explanation.shift, one.gradients) for one in (self._tops, self._bottoms)
        )
        other._top = other._adjustment.propagation.of(other._tops, with_dof=False)
        other._bottom = other._adjustment.propagation.of(other._bottoms, with_dof=False)
        other._ratio = other._ratios()
        other._known = other._which_known()
        return other

    def spans(self) -> tuple[Array, Array]:
        """Values and half-widths of the 95 % intervals, ratios to first order, both of shape (entries,)."""
        return self._ratio.values, self._ratio.half_widths + self._noise

    def answer(self, place: int, without: str) -> Answer:
        """The answer of the entry at index ``place``; ``without`` says which readings or changes it leaves out."""
        ratio = self._ratio
        quantile = float(student_quantile(ratio.dof[place]))
        bounds = self._bounds(place, quantile) if self._known[place] else None
        if bounds is None:
            return Answer(without, None, None, None)
        return Answer(without, float(ratio.values[place]), *bounds)

    def _linear(self, *, numerator: bool) -> Linear:
        """Numerators or denominators of all entries and their derivatives by the unknowns."""
        loads, unknowns = self._adjustment.loads, self._adjustment.unknowns
        sums = SparseSums([entry.terms if numerator else entry.over for entry in self.entries])
        values = sums.of(loads.values)
        if numerator:
            self._noise = NOISE * sums.sizes(loads.values)
        gradients = sums.derivatives(loads.jacobian)
        for place, entry in enumerate(self.entries):
            at = entry.unknown if numerator else entry.over_unknown
            if at is not None:
                values[place] = unknowns[at]
                gradients[place, at] = 1.0
            for term, factor in entry.known if numerator else ():
                values[place] += factor * term.at(unknowns)
                if term.index is not None:
                    gradients[place, term.index] += factor
            for arm, terms in entry.arms if numerator else ():
                gradients[place, arm] += sum(factor * loads.values[out] for out, factor in terms.items())
        return Linear(values, gradients)

    def _ratios(self) -> Estimates:
        """Entries as they are: sums as sums, ratios to first order."""
        ratio = np.array(self._shares, dtype=bool)
        told = ratio & (np.abs(self._bottom.values) > _NOTHING)
        bottom = np.where(told, self._bottoms.values, 1.0)
        values = self._tops.values / bottom
        gradients = self._tops.gradients / bottom[:, None]
        gradients = gradients - np.where(ratio, values / bottom, 0.0)[:, None] * self._bottoms.gradients
        self._gradients = gradients
        found = self._adjustment.propagation.of(Linear(values, gradients))
        determined = self._top.determined & np.where(ratio, self._bottom.determined, True)
        return replace(found, determined=determined)

    @property
    def estimates(self) -> Estimates:
        """The entries with their doubt, ratios to first order."""
        return self._ratio

    def findings(self) -> list[Finding]:
        """A finding for each entry, in order."""
        ratio = self._ratio
        parts = (student_quantile(ratio.dof), ratio.values, ratio.u, ratio.dof, self._noise)
        rows = zip(*(part.tolist() for part in parts), strict=True)
        return [self._finding(*each) for each in zip(range(len(self.entries)), self.entries, rows, strict=True)]

    @cached_property
    def _needs(self) -> Needs:
        """The search for drafts that would determine a finding; made when needed; most what-ifs do not need it."""
        return Needs(self._adjustment)

    def _finding(self, place: int, entry: CatalogueEntry, row: Sequence[float]) -> Finding:
        """``row`` has the quantile, the value, its doubt, its degrees of freedom and what is noise in a sum."""
        if entry.fixed is not None:
            value, u = entry.fixed
            half = float(student_quantile(np.array([np.inf]))[0]) * u
            return Finding(entry.id, entry.label, entry.dimension, entry.basis, value, u, value - half, value + half)
        quantile, value, u, dof, noise = row
        if self._shares[place]:
            noise = 0.0
        if abs(value) <= noise and u <= noise:
            value = u = 0.0  # nothing by construction: what is left is the arithmetic's own
        bounds = self._bounds(place, quantile) if self._known[place] else None
        if bounds is None:
            wanted = self.needs_of(place, self._needs)
            why = self.why_open(place)
            return Finding(entry.id, entry.label, entry.dimension, entry.basis, needs=wanted, why=why)
        return Finding(entry.id, entry.label, entry.dimension, entry.basis, value, u, *bounds, dof)

    def gradients(self, places: Sequence[int]) -> Array:
        """Derivatives of some entries by the unknowns, ratios to first order, shape (entries, unknowns)."""
        return self._gradients[list(places)]

    def half_width(self, place: int) -> float | None:
        """Half of the 95 % interval of an entry to first order, in SI units; None where it is not determined."""
        entry = self.entries[place]
        if entry.fixed is not None:
            return float(student_quantile(np.array([np.inf]))[0]) * entry.fixed[1]
        if not self.will_know(place):
            return None
        return float(self._ratio.half_widths[place])

    def will_know(self, place: int) -> bool:
        """Whether the equations determine an entry, whatever the readings turn out to say."""
        entry = self.entries[place]
        if entry.fixed is not None:
            return True
        return entry.told and bool(self._ratio.determined[place])

    def _which_known(self) -> list[bool]:
        """Whether each entry is made of anything, determined, and no share of next to nothing."""
        size = self._bottom.values
        either = np.array([entry.over_unknown is not None for entry in self.entries], dtype=bool)
        size = np.where(either, np.abs(size), size)  # a cargo taken off may count as negative
        enough = ~np.array(self._shares, dtype=bool) | ((size > 0.0) & (size >= KNOWN_PLACE * self._bottom.u))
        told = np.array([entry.told for entry in self.entries], dtype=bool)  # not so a cargo that is in no state
        return (told & self._ratio.determined & enough).tolist()

    def _bounds(self, place: int, quantile: float) -> tuple[float, float] | None:
        if not self._shares[place]:
            half = quantile * float(self._ratio.u[place]) + float(self._noise[place])
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

    def needs_of(self, place: int, needs: Needs) -> tuple[Need, ...]:
        """The drafts that would determine an entry."""
        made_of = [(self._tops, self._top)]
        if self._shares[place]:
            made_of.append((self._bottoms, self._bottom))
        open_ = [linear.gradients[place] for linear, found in made_of if not found.determined[place]]
        return needs.of(open_, self.entries[place].state) if open_ else ()

    def why_open(self, place: int) -> TradeOff | None:
        """Which loads trade off against one another where an entry is not determined."""
        entry = self.entries[place]
        if entry.fixed is not None or not entry.told:
            return None
        open_top = not self._top.determined[place]
        return trade_off(self._adjustment, entry, (self._tops if open_top else self._bottoms).gradients[place])

    def verdicts(self, requirements: Sequence[Requirement]) -> tuple[Verdict, ...]:
        """The verdict on each requirement; the finding of one may be missing where a state tips over.

        The limit of a verdict is infinite where one that depends on another finding does not hold at all.
        """
        units = self._adjustment.rig.day.units
        judged = [item for item in requirements if self._judged(item)]
        found = self._measured([item for item in judged if item.curve is None])
        found |= measured_on_curves(self._ratio, self._adjustment.propagation, self._pairs(judged))
        return tuple(judge(*found.get(item.id, (item, None)), units) for item in requirements)

    def _measured(self, judged: Sequence[Requirement]) -> dict[str, Judged]:
        """Each finding that is limited by one number, by the id of its requirement."""
        if not judged:
            return {}
        places = [self._place[item.finding] for item in judged]
        limits = np.array([item.limit for item in judged])
        ratio = np.array([self._shares[place] for place in places], dtype=bool)
        roots = self._top.roots[places] - np.where(ratio, limits, 0.0)[:, None] * self._bottom.roots[places]
        whole = np.where(ratio, limits * self._bottom.values[places], limits)
        slacks = (self._top.values[places] - whole).tolist()
        variances = (roots**2).sum(axis=1)
        doubts, dofs = np.sqrt(variances).tolist(), self._adjustment.propagation.dof_of(roots, variances).tolist()
        found = self._ratio
        kept = (found.values, found.u, found.prior_u)
        values, us, floors = ([float(one) for one in part[places].tolist()] for part in kept)
        return {
            item.id: (item, Measured(values[at], us[at], dofs[at], slacks[at], doubts[at], floors[at]))
            for at, item in enumerate(judged)
        }

    def _judged(self, requirement: Requirement) -> bool:
        """Whether the finding of a requirement is there and determined, and the one that its limit depends on."""
        named = (requirement.finding, *(() if requirement.curve is None else (requirement.curve.finding,)))
        places = [self._place.get(name) for name in named]
        return all(place is not None and self._known[place] for place in places)

    def _pairs(self, requirements: Sequence[Requirement]) -> list[Limited]:
        """Those whose limit depends on another finding, with the places of both findings."""
        return [
            (item, item.curve, self._place[item.finding], self._place[item.curve.finding])
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
        at = self._place[curve.finding]
        other, other_u = float(self._ratio.values[at]), float(self._ratio.u[at])
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
        place = self._place.get(finding)
        if place is None or self.entries[place].dimension is not Dimension.FORCE:
            return 1.0
        return max(map(abs, self.entries[place].terms.values()), default=1.0)

    def holds(self, requirement: Requirement) -> bool:
        """Whether a limit holds, or may hold with another load; false of one that ends before a taped distance."""
        curve = requirement.curve
        if curve is None or not curve.taped or not self._judged(requirement):
            return True
        at = self._place[curve.finding]
        reached = curve.reached(float(self._ratio.values[at]), REACH * float(self._ratio.u[at]))
        return any(piece.limits for piece in reached)

    def named(self, requirement: Requirement) -> Requirement:
        """The same with the limit at the value of the finding that it depends on, or the nearest one."""
        if requirement.curve is None or not self._judged(requirement):
            return requirement
        at = self._place[requirement.curve.finding]
        limit = requirement.curve.nearest(float(self._ratio.values[at]))
        return requirement if limit is None else replace(requirement, limit=limit)

    def room(self, limit: Straight, finding: str) -> Room | None:
        """Margin left when a limit is applied to ``finding``; None where that finding is not determined."""
        place, requirement = self._place.get(finding), limit.requirement
        if place is None or not self._known[place]:
            return None
        value, root = float(self._top.values[place]), self._top.roots[place]
        if limit.slope:
            other = self._place.get(str(FindingId.parse(limit.other).at(FindingId.parse(finding).state)))
            if other is None or not self._known[other]:
                return None
            both = self._ratio
            value = float(both.values[place]) - requirement.limit - limit.slope * float(both.values[other])
            root = both.roots[place] - limit.slope * both.roots[other]
        elif self._shares[place]:
            value -= requirement.limit * float(self._bottom.values[place])
            root = root - requirement.limit * self._bottom.roots[place]
        else:
            value -= requirement.limit
        sign = -1.0 if requirement.sense is Sense.MAX else 1.0
        dof = self._adjustment.propagation.dof_of(root[None, :], np.array([root @ root]))
        return Room(sign * value, sign * limit.widened * root, float(dof[0]))
