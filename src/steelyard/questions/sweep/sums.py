"""Sums over the columns of a sweep: axles, sides, all that was added, its moments, how far a body sank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.learning import Arm, ChannelSum, arms_of
from steelyard.model import Axle, Place, State, WeighDay, WheelRef
from steelyard.statics import TAPE

Array = NDArray[np.float64]

ADDED = "added"
"""All that was put on, where every support of the state is a column."""


@dataclass(frozen=True)
class Measure:
    """A sum of columns with words for it; ``factors`` of shape (columns,)."""

    name: str
    label: str
    factors: Array


@dataclass(frozen=True, slots=True)
class Height:
    """A place whose height was read, and its column."""

    place: Place
    column: int


class Sums:
    """The sums that the columns of a log allow.

    Attributes
    ----------
    places: of the columns that are loads. measures: by name; the columns themselves, then axles, then all.
    levels: names of measures that are told against each other: axles and couplings, then wheels.
    added: the name of what all supports gain together; empty where not every support is a column.
    """

    def __init__(
        self,
        day: WeighDay,
        state: State,
        vehicle: str,
        places: tuple[Place, ...],
        heights: list[Height],
        width: int,
    ) -> None:
        self.day, self.state, self.vehicle, self.places = day, state, vehicle, places
        self._heights, self._width = heights, width
        self._column = {part: at for at, place in enumerate(places) for part in _parts(place)}
        self.measures: dict[str, Measure] = {}
        self.levels = self._find_levels()
        self._missing = [part for part in self._supports() if part not in self._column]
        self.added = "" if self._missing else ADDED
        if self.added:
            ones = np.zeros(width)
            ones[: len(places)] = 1.0
            self.measures[ADDED] = Measure(ADDED, "all that was added", ones)

    def _find_levels(self) -> list[list[str]]:
        axles: list[str] = []
        wheels: list[str] = []
        for at, place in enumerate(self.places):
            single = len(place.wheels) == 1 and not place.couplings
            self._measure(place.text, _label(place), [at])
            whole = self._axle_of(place)
            if single:
                wheels.append(place.text)
            elif place.text not in axles:
                axles.append(place.text)
            if whole is not None and whole[0] not in axles:
                self._measure(*whole)
                axles.append(whole[0])
        return [level for level in (axles, wheels) if len(level) > 1] or [axles + wheels]

    def _measure(self, name: str, label: str, columns: list[int]) -> None:
        factors = np.zeros(self._width)
        factors[columns] = 1.0
        self.measures[name] = Measure(name, label, factors)

    def _axle_of(self, place: Place) -> tuple[str, str, list[int]] | None:
        """The axle of a single wheel whose other end is a column of its own too."""
        if len(place.wheels) != 1 or place.couplings:
            return None
        wheel = place.wheels[0]
        ends = [self._column.get(str(WheelRef(wheel.vehicle, wheel.axle, side))) for side in "LR"]
        columns = [end for end in ends if end is not None]
        if len(columns) < 2 or any(len(self.places[end].wheels) != 1 for end in columns):
            return None
        name = f"{wheel.vehicle}/{wheel.axle}"
        return name, f"{wheel.vehicle} axle {wheel.axle}", columns

    def _supports(self) -> list[str]:
        found = [f"{name}/{wheel}" for name in self.state.vehicles for wheel in self.day.vehicles[name].wheels]
        stands = [name for name in self.state.vehicles if self.day.vehicles[name].role == "trailer"]
        return found + [f"{name}/coupling" for name in stands if self.state.link_of_trailer(name) is None]

    def axle(self, name: str) -> Axle:
        """The axle of a measure such as ``tow/1``."""
        vehicle, _, number = name.partition("/")
        return self.day.vehicles[vehicle].axles[int(number) - 1]

    # -- where the load stands ----------------------------------------------------------------------------------------

    def moment(self, axis: int) -> tuple[ChannelSum | None, ChannelSum | None, str]:
        """All that was added, its moment along (0) or across (1), and why not where there is none."""
        if self._missing:
            return (
                None,
                None,
                f"it takes a column for every support of the rig; there is none for {', '.join(self._missing)}",
            )
        arms = arms_of(self.day, self.state, self.vehicle)
        if arms is None:
            return None, None, "weight-distributing bars with a rate shift load too, so balance alone does not tell"
        factors = np.zeros(self._width)
        numbers: dict[str, tuple[Array, float]] = {}
        for at, place in enumerate(self.places):
            mine = [arms[_support(part)] for part in _parts(place)]
            levers = {round(_lever(arm, axis), 9) for arm in mine}
            if len(levers) > 1:
                return None, None, f"the column {place.text} joins supports with different levers"
            factors[at] = _lever(mine[0], axis)
            for key, by_x, by_y, u in mine[0].numbers:
                change = by_x if axis == 0 else by_y
                if change and u > 0.0:
                    numbers.setdefault(key, (np.zeros(self._width), u))[0][at] = change
        return ChannelSum(self.measures[ADDED].factors), ChannelSum(factors, tuple(numbers.values())), ""

    # -- sides --------------------------------------------------------------------------------------------------------

    def sides(self) -> Mapping[str, tuple[Array, Array]]:
        """The left end and both ends of each axle with a column for each, and of all together, shapes (columns,)."""
        found = {name: self._ends(name) for name in self._split()}
        if self.added and found and all(len(place.wheels) == 1 for place in self.places):
            left = np.sum([pair[0] for pair in found.values()], axis=0)
            found[ADDED] = left, self.measures[ADDED].factors
        return found

    def _split(self) -> list[str]:
        return [name for name in self.measures if "+" not in name and self._is_split(name)]

    def _is_split(self, name: str) -> bool:
        columns = [self._column.get(f"{name}{side}") for side in "LR"]
        return all(at is not None and len(self.places[at].wheels) == 1 for at in columns)

    def _ends(self, name: str) -> tuple[Array, Array]:
        left = np.zeros(self._width)
        left[self._column[f"{name}L"]] = 1.0
        return left, self.measures[name].factors

    def couples(self) -> Mapping[str, ChannelSum]:
        """The roll couple that each axle of the loaded vehicle takes; none unless all its ends have columns."""
        axles = [f"{self.vehicle}/{number}" for number in range(1, len(self.day.vehicles[self.vehicle].axles) + 1)]
        if any(not self._is_split(name) for name in axles):
            return {}
        found: dict[str, ChannelSum] = {}
        for name in axles:
            left, both = self._ends(name)
            difference, track = 2.0 * left - both, self.axle(name).track
            found[name] = ChannelSum(difference * track.value / 2.0, ((difference / 2.0, track.u_or(TAPE)),))
        return found

    # -- heights ------------------------------------------------------------------------------------------------------

    def heighted(self) -> list[str]:
        """The axles whose load and height are both read at both ends, or for the whole axle."""
        wanted = dict.fromkeys(f"{wheel.vehicle}/{wheel.axle}" for one in self._heights for wheel in one.place.wheels)
        return [name for name in wanted if name in self.measures and self._sinks(name) is not None]

    def _sinks(self, name: str) -> tuple[list[int], float] | None:
        """The columns of an axle's heights and what each counts: both ends once, or the whole axle twice."""
        by_place = {one.place.text: one.column for one in self._heights}
        ends = [by_place[f"{name}{side}"] for side in "LR" if f"{name}{side}" in by_place]
        if len(ends) == 2:
            return ends, 1.0
        return ([by_place[name]], 2.0) if name in by_place else None

    def heave(self, name: str) -> tuple[ChannelSum, ChannelSum]:
        """The load of an axle and how far its two ends sank together [m]."""
        sinks = self._sinks(name)
        factors = np.zeros(self._width)
        if sinks is not None:
            factors[sinks[0]] = -sinks[1]
        return ChannelSum(self.measures[name].factors), ChannelSum(factors)

    def tilt(self, name: str) -> tuple[ChannelSum, ChannelSum] | None:
        """By how much more its left end is loaded, and by how much more it sank [m]; None where ends were not read."""
        sinks = self._sinks(name)
        if sinks is None or len(sinks[0]) < 2 or not self._is_split(name):
            return None
        left, both = self._ends(name)
        factors = np.zeros(self._width)
        factors[sinks[0]] = (-1.0, 1.0)
        return ChannelSum(2.0 * left - both), ChannelSum(factors)


def _lever(arm: Arm, axis: int) -> float:
    return arm.along if axis == 0 else arm.across


def _parts(place: Place) -> list[str]:
    return [*(str(wheel) for wheel in place.wheels), *(f"{name}/coupling" for name in place.couplings)]


def _support(part: str) -> tuple[str, str]:
    vehicle, _, what = part.partition("/")
    return vehicle, what


def _label(place: Place) -> str:
    vehicle, _, what = place.text.partition("/")
    if not what or "+" in place.text:
        return place.text
    return f"{vehicle} axle {what}" if what.isdigit() else f"{vehicle} {what}"
