"""Draws of true days and of what pads show of them: many at once, each from random numbers of its own.

The numbers of a day follow from the seed and from its own number alone, so that a day is the same whoever makes it and
however many others are made. Source of the streams: NumPy, SeedSequence with the day's number as spawn key, PCG64.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import GROUNDED, Lifts
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.likeness import SPREAD, Drafted, Likeness
from steelyard.simulation.raised import RaisedLoads

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

TRIES = 60
"""So often a day is drawn anew where nothing would hold it up, or a pad would be asked for more than its capacity."""

CHANCES = 6
"""Uniform numbers of each day, for a slip of the pen."""


@dataclass(frozen=True)
class Drawn:
    """True days.

    Attributes
    ----------
    numbers: of the days. unknowns: true values, shape (n, unknowns). loads: of every stance [kg], shape (n, outputs).
    counts: what the pads show of them, in divisions, shape (n, readings): first those on level ground in the order of
    the observations, then those of raised drafts. heights: of the vehicles that were raised [m], shape (n, vehicles).
    stated: standard normal numbers for what is stated and enters no equation, shape (n, stated).
    chances: uniform numbers, shape (n, ``CHANCES``).
    """

    numbers: tuple[int, ...]
    unknowns: Array
    loads: Array
    counts: Counts
    heights: Array
    stated: Array
    chances: Array


@dataclass(frozen=True)
class _Numbers:
    """Random numbers of some days: standard normal by purpose, variance factors, uniform; one row for each day."""

    normal: Mapping[str, Array]
    factors: Array
    chances: Array

    def of(self, rows: NDArray[np.int_]) -> _Numbers:
        """Those of some of the days."""
        normal = {key: part[rows] for key, part in self.normal.items()}
        return _Numbers(normal, self.factors[rows], self.chances[rows])


class Draws:
    """Days like one, drawn from a seed.

    ``stated`` is how many numbers are stated that enter no equation.
    """

    def __init__(self, likeness: Likeness, seed: int, *, stated: int = 0) -> None:
        self._like, self._seed = likeness, seed
        readings = len(likeness.items)
        self._sizes = {
            "known": len(likeness.known),
            "whole": likeness.varying[1],
            "own": len(likeness.free),
            "height": likeness.wheels,
            "friction": likeness.wheels,
            "repeat": readings,
            "place": readings,
            "stated": stated,
            "high": len(likeness.raised.expected),
            "raise": likeness.raised.stated,
            "raised_repeat": len(likeness.raised.readings),
            "raised_place": len(likeness.raised.readings),
        }  # a day without raised drafts has the numbers that it had before there were any

    def of(self, numbers: Sequence[int]) -> Drawn:
        """The days of these numbers.

        Raises
        ------
        SimulationError: one of them cannot be drawn in ``TRIES`` tries.
        """
        left, found = np.array(numbers, dtype=int), dict[int, tuple[Array, ...]]()
        for attempt in range(TRIES):
            if not len(left):
                break
            parts, sound = self._try(self._numbers(left, attempt))
            found.update({int(left[row]): tuple(part[row] for part in parts) for row in np.flatnonzero(sound)})
            left = left[~sound]
        if len(left):
            raise SimulationError(
                f"day {left[0]} was drawn {TRIES} times, and each time its rig tipped over or a pad was over its"
                " capacity; look at the readings of the file, or give its pads the capacity that they have"
            )
        rows = [found[number] for number in numbers]
        unknowns, loads, counts, heights, stated, chances = (np.array(part) for part in zip(*rows, strict=True))
        return Drawn(tuple(numbers), unknowns, loads, counts.astype(np.int64), heights, stated, chances)

    def _numbers(self, days: NDArray[np.int_], attempt: int) -> _Numbers:
        total, dof = sum(self._sizes.values()), self._like.dof
        normal, factors = np.empty((len(days), total)), np.empty((len(days), len(dof)))
        chances = np.empty((len(days), CHANCES))
        for row, number in enumerate(days.tolist()):
            sequence = np.random.SeedSequence(self._seed, spawn_key=(number, attempt))
            generator = np.random.Generator(np.random.PCG64(sequence))
            normal[row] = generator.standard_normal(total)
            factors[row] = dof / generator.chisquare(dof)
            chances[row] = generator.random(CHANCES)
        ends = np.cumsum(list(self._sizes.values()))[:-1]
        return _Numbers(dict(zip(self._sizes, np.split(normal, ends, axis=1), strict=True)), factors, chances)

    def _try(self, numbers: _Numbers) -> tuple[tuple[Array, ...], NDArray[np.bool_]]:
        """True days and their readings, and which of them can be."""
        like = self._like
        unknowns = self._unknowns(numbers)
        loads = like.loads.many(unknowns)
        sound = np.ones(len(unknowns), dtype=bool)
        pulling = like.loads.pulling(loads)
        lifted: dict[int, Lifts] = {}
        for row in pulling.tolist():
            settled = like.loads.settled(unknowns[row])
            if settled is None:
                sound[row] = False
            else:
                loads[row], lifted[row] = settled
        carried = loads @ like.observations.selection.T
        down = np.setdiff1d(np.arange(len(unknowns)), pulling)
        for rows, lifts in [(down, GROUNDED), *((np.array([row]), lifts) for row, lifts in lifted.items())]:
            if len(rows):
                carried[rows] += self._shifts(unknowns[rows], loads[rows], numbers.of(rows), lifts)
        raised = self._raised(unknowns, loads, numbers)
        sound &= raised.sound
        shown = np.hstack([like.observations.shown(carried, unknowns), raised.shown])
        counts = self._counts(shown, unknowns, numbers)
        sound &= (counts * like.division <= like.capacity * (1.0 + 1e-12)).all(axis=1)
        return (unknowns, loads, counts, raised.heights, numbers.normal["stated"], numbers.chances), sound

    def _unknowns(self, numbers: _Numbers) -> Array:
        """True values: what is known beforehand about what is stated, what is free about what the day says."""
        like = self._like
        unknowns = np.empty((len(numbers.factors), len(like.starts)))
        unknowns[:, like.known] = like.starts[like.known] + like.priors[like.known] * numbers.normal["known"]
        owners, _ = like.varying
        whole = np.clip(numbers.normal["whole"], -2.0, 2.0)[:, owners]
        own = np.clip(numbers.normal["own"], -2.0, 2.0)
        unknowns[:, like.free] = like.expected * (1.0 + SPREAD * whole) * (1.0 + SPREAD * own)
        return unknowns

    def _shifts(self, unknowns: Array, loads: Array, numbers: _Numbers, lifts: Lifts) -> Array:
        """Load that uneven supports and friction add to each reading [kg], shape (n, readings)."""
        like = self._like
        support = like.support_u * np.sqrt(numbers.factors[:, :1]) * numbers.normal["height"]
        friction = np.zeros_like(support)
        for side in like.sides:
            normal = numbers.normal["friction"][:, side.wheels]
            count = len(side.wheels)
            apart = (normal - normal.mean(axis=1, keepdims=True)) * np.sqrt(count / (count - 1))
            carried = np.maximum(loads[:, side.out].sum(axis=1, keepdims=True), 0.0)
            friction[:, side.wheels] = side.share * carried * apart
        shifts = np.zeros((len(unknowns), len(like.items)))
        for state in dict.fromkeys(draft.state for draft in like.drafts):
            drafts = [draft for draft in like.drafts if draft.state == state]
            heights, forced = (
                np.stack([part[:, self._under(draft)] for draft in drafts], axis=2) for part in (support, friction)
            )
            wheels, couplings = like.loads.shifted(state, unknowns, heights, forced, lifts)
            for at, draft in enumerate(drafts):
                shifts[:, draft.rows] = wheels[:, :, at] @ draft.wheels.T + couplings[:, :, at] @ draft.couplings.T
        return shifts

    def _under(self, draft: Drafted) -> list[int]:
        """The wheels of a draft's state, in its order, among all wheels of all placements."""
        first = self._like.placements[draft.placement].first
        return [
            first[name] + wheel
            for name in self._like.rig.operators[draft.state].bodies
            for wheel in range(self._like.rig.layouts[name].wheels)
        ]

    def _raised(self, unknowns: Array, loads: Array, numbers: _Numbers) -> RaisedLoads:
        """True heights, each about what the day says, and the loads that they give raised drafts."""
        raised = self._like.raised
        heights = raised.expected * (1.0 + SPREAD * np.clip(numbers.normal["high"], -2.0, 2.0))
        return raised.of(unknowns, loads, heights, numbers.normal["raise"])

    def _counts(self, shown: Array, unknowns: Array, numbers: _Numbers) -> Array:
        """Indications of the pads in divisions, shape (n, readings): load with span and zero, scatter, and rounding."""
        like = self._like
        shown = shown * self._slope(unknowns)[:, None]
        normal = {key: np.hstack([numbers.normal[key], numbers.normal[f"raised_{key}"]]) for key in ("repeat", "place")}
        repeat = like.repeat_u * np.sqrt(numbers.factors[:, like.component]) * normal["repeat"]
        place = like.eccentricity * shown * normal["place"]
        return np.maximum(np.rint((shown + repeat + place) / like.division), 0.0)

    def _slope(self, unknowns: Array) -> Array:
        """The cosine of the true slope over that of the stated one, which is in the gain of the pads; shape (n,)."""
        factor = np.ones(len(unknowns))
        for key in ("slope_long", "slope_lat"):
            at = self._like.rig.unknowns.index.get((key,))
            if at is not None:
                factor *= np.cos(unknowns[:, at]) / np.cos(self._like.starts[at])
        return factor
