"""The days of several rigs solved together, and the rows of their measures in one table."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import (
    Adjustment,
    DayPart,
    Explanation,
    JointAdjustment,
    Linear,
    SharedFunction,
    SharedThings,
    SharedUnknowns,
    Stated,
    student_quantile,
)
from steelyard.findings import Finding, Quantities, Weighed
from steelyard.questions.compare.measures import LEAST, MeasureRow, RigMeasure, RigMeasures

Array = NDArray[np.float64]

OWN_MASS = "own/"
"""Begins the name of the row that holds a vehicle's own mass; it is shown where the vehicle is said to be unchanged."""


@dataclass(frozen=True)
class ComparedRig:
    """One rig: a state of a solved weigh day. ``file`` is its name, ``title`` what people call the rig."""

    file: str
    title: str
    state: str
    weighed: Weighed

    @property
    def adjustment(self) -> Adjustment:
        """Its solved day."""
        return self.weighed.adjustment


@dataclass(frozen=True, slots=True)
class JointValue:
    """A value with its standard uncertainty, degrees of freedom and 95 % interval, in SI units."""

    value: float
    u: float
    dof: float
    low: float
    high: float


@dataclass
class _Day:
    """One day, its rows, and what each of them is in that day alone."""

    adjustment: Adjustment
    rows: list[MeasureRow] = field(default_factory=list[MeasureRow])
    alone: list[Finding | None] = field(default_factory=list["Finding | None"])
    linear: Linear = field(default_factory=lambda: Linear(np.zeros(0), np.zeros((0, 0))))
    shared: list[SharedFunction] = field(default_factory=list[SharedFunction])

    def solve(self) -> None:
        """The rows as functions of the day's unknowns."""
        entries = [row.entry for row in self.rows if row.entry is not None]
        quantities = Quantities(self.adjustment, entries)
        parts = (quantities.findings(), quantities.estimates.values, quantities.gradients(range(len(entries))))
        found = iter(zip(*parts, strict=True))
        count = len(self.adjustment.unknowns)
        values, gradients = np.zeros(len(self.rows)), np.zeros((len(self.rows), count))
        for place, row in enumerate(self.rows):
            finding: Finding | None = None
            if row.entry is not None:
                finding, value, gradient = next(found)
                values[place], gradients[place] = row.offset + row.factor * value, row.factor * gradient
            elif row.own is not None:
                values[place] = row.own[0]
            elif row.gradient is not None and row.value is not None:
                values[place], gradients[place] = row.value, row.gradient
            self.alone.append(finding)
        self.linear = Linear(values, gradients)

    def known(self, place: int) -> bool:
        """Whether the readings determine a row."""
        finding = self.alone[place]
        return finding.determined if finding is not None else self.rows[place].entry is None

    def part(self) -> DayPart:
        """The day for the joint adjustment."""
        return DayPart(self.adjustment.propagation, self.linear, self.shared)

    def under(self, one: Explanation) -> DayPart:
        """The same as an explanation of its contradictions has it."""
        linear = Linear(self.linear.values + self.linear.gradients @ one.shift, self.linear.gradients)
        shared = [replace(item, value=item.value + float(item.gradient @ one.shift)) for item in self.shared]
        return DayPart(self.adjustment.under(one).propagation, linear, shared)


class Together:
    """Some rigs whose days are solved together.

    Attributes
    ----------
    measures: in the order of the first rig that has them. at: day and row by rig and measure. ratings: rows of what is
    left of each rating, by rig.
    """

    def __init__(self, rigs: Sequence[ComparedRig]) -> None:
        self.rigs = rigs
        self.measures: dict[str, RigMeasure] = {}
        self.at: dict[tuple[int, str], tuple[int, int]] = {}
        self.ratings: dict[int, list[tuple[int, int]]] = {}
        self._unknowns = SharedUnknowns()
        self.days: list[_Day] = []
        places: dict[int, int] = {}
        for number, rig in enumerate(rigs):
            if id(rig.weighed) not in places:
                places[id(rig.weighed)] = len(self.days)
                self.days.append(_Day(rig.adjustment))
            self._enter(number, rig, places[id(rig.weighed)])
        for day in self.days:
            day.solve()
        self._share()
        self.joint = self._solved()

    def _enter(self, number: int, rig: ComparedRig, at: int) -> None:
        """The rows of a rig."""
        day, made = self.days[at], RigMeasures(rig.adjustment, rig.state)
        for row in made.rows():
            self.measures.setdefault(row.measure.id, row.measure)
            self.at[number, row.measure.id] = at, len(day.rows)
            day.rows.append(row)
        for name in rig.adjustment.rig.day.states[rig.state].vehicles:
            entry = made.own_mass(name)
            self.at[number, OWN_MASS + name] = at, len(day.rows)
            day.rows.append(MeasureRow(RigMeasure(entry.id, entry.label, entry.dimension), entry.basis, entry))
        self.ratings[number] = []
        for row in made.ratings():
            self.ratings[number].append((at, len(day.rows)))
            day.rows.append(row)

    def _share(self) -> None:
        """Give each day the functions that it shares; a span wanders between days, so the earlier day comes first."""
        sharing = SharedThings(self._unknowns)
        dates = [day.adjustment.rig.day.date or datetime.date.max for day in self.days]
        for number in sorted(range(len(self.days)), key=dates.__getitem__):
            self.days[number].shared = sharing.of(self.days[number].adjustment, number)

    def _solved(self) -> JointAdjustment:
        return JointAdjustment([day.part() for day in self.days], self._unknowns)

    def tie(self, vehicle: str, rigs: Sequence[int], doubt: float) -> None:
        """Take a vehicle's own mass as one in some rigs, with a standard uncertainty between every two of them [kg]."""
        mass = self._unknowns.add(("unchanged", vehicle))
        for number in rigs:
            at, place = self.at[number, OWN_MASS + vehicle]
            of = {mass: 1.0}
            if doubt > 0.0:
                of[self._unknowns.add(("moved", vehicle, number), Stated(0.0, doubt / math.sqrt(2.0)))] = 1.0
            linear = self.days[at].linear
            self.days[at].shared.append(SharedFunction(linear.gradients[place], float(linear.values[place]), None, of))
        self.joint = self._solved()

    def known(self, number: int, measure: str) -> bool:
        """Whether the readings determine a measure of a rig."""
        if (number, measure) not in self.at:
            return False
        at, place = self.at[number, measure]
        return self.days[at].known(place)

    def whole(self, number: int, measure: str) -> bool:
        """Whether nothing that the readings do not determine could decide a measure of a rig.

        The least room under the ratings is known only where the room under each of them is.
        """
        return measure != LEAST or all(self.days[at].known(place) for at, place in self.ratings[number])

    def row(self, number: int, measure: str) -> MeasureRow:
        """The row of a measure of a rig."""
        at, place = self.at[number, measure]
        return self.days[at].rows[place]

    def spread(self, signs: Mapping[int, float], measure: str) -> JointValue:
        """A sum of one measure of some rigs, by rig its factor."""
        return self.spreads([signs], measure)[0]

    def spreads(
        self, sums: Sequence[Mapping[int, float]], measure: str, joint: JointAdjustment | None = None
    ) -> list[JointValue]:
        """Several sums of one measure, as all days have them, or as ``joint`` has them."""
        combinations = [{self.at[number, measure]: sign for number, sign in signs.items()} for signs in sums]
        values, u, dof = (self.joint if joint is None else joint).sums(combinations)
        own = [sum((self.row(number, measure).own or (0.0, 0.0))[1] ** 2 for number in signs) for signs in sums]
        u = np.sqrt(u**2 + np.array(own))
        half = student_quantile(dof) * u
        columns = (values, u, dof, values - half, values + half)
        return [JointValue(*map(float, row)) for row in zip(*columns, strict=True)]

    def as_alone(self, number: int, measure: str, found: JointValue) -> JointValue:
        """One measure of one rig: as its own day says it where no other day tells more."""
        at, place = self.at[number, measure]
        alone, row = self.days[at].alone[place], self.days[at].rows[place]
        if alone is None or alone.u is None or alone.low is None or alone.high is None or alone.contested:
            return found
        if not math.isclose(abs(row.factor) * alone.u, found.u, rel_tol=1e-9):
            return found
        ends = sorted(row.offset + row.factor * end for end in (alone.low, alone.high))
        return replace(found, low=ends[0], high=ends[1])

    def explained(self) -> Iterator[tuple[int, Explanation, JointAdjustment]]:
        """All days together under each explanation of the contradictions of one day, with the number of that day."""
        for number, day in enumerate(self.days):
            for one in day.adjustment.explanations:
                yield number, one, self.joint.under(number, day.under(one))
