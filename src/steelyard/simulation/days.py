"""Simulated days as texts with their truth: a part of them at once, from the day they are like, seed and numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.dayfile import parse_day
from steelyard.simulation.draws import Draws
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.likeness import Likeness
from steelyard.simulation.slips import Slip, SlipReadings, slip_in
from steelyard.simulation.text import DayPattern, WrittenSlot, pattern_of
from steelyard.simulation.truth import Truths

Array = NDArray[np.float64]

KEPT = 10
"""Significant digits of a true value that are kept: what lies below differs between processors."""


@dataclass(frozen=True)
class SlippedReading:
    """A reading that a slip changed, as texts in the file's way of writing."""

    draft: int
    place: str
    instrument: str
    right: str
    written: str


@dataclass(frozen=True)
class SimulatedSlip:
    """A slip that was put into a day."""

    kind: str
    readings: tuple[SlippedReading, ...]


@dataclass(frozen=True)
class SimulatedDay:
    """One day: its number, its text, and the slip that was put into it."""

    number: int
    text: str
    slip: SimulatedSlip | None


@dataclass(frozen=True)
class SimulatedPart:
    """Some days and the true values of their findings, shape (days, findings), in the units of ``DaysLike.truths``."""

    days: tuple[SimulatedDay, ...]
    truth: Array


class DaysLike:
    """Makes days like one.

    Parameters
    ----------
    text: of the day. file: its name, for messages. seed: of all days. slips: share of the days with a slip [1].

    Raises
    ------
    DayFileError: the text is no sound weigh day. SimulationError: no days can be made like it.
    """

    def __init__(self, text: str | bytes, file: str, *, seed: int, slips: float = 0.0) -> None:
        day = parse_day(text, file)
        self.likeness = Likeness(day)
        self.truths = Truths(self.likeness)
        self.pattern: DayPattern = pattern_of(day, text if isinstance(text, str) else text.decode("utf-8-sig"))
        self.seed, self.slips = seed, slips
        self._draws = Draws(self.likeness, seed, stated=self.truths.stated)
        readings = (*self.likeness.items, *self.likeness.raised.readings)
        self._readings = {(item.draft.number, item.reading.place.text): at for at, item in enumerate(readings)}
        self._slots = [
            None if slot is None else self._readings.get((slot.draft, slot.place)) for slot in self.pattern.slots
        ]
        written: dict[int, WrittenSlot] = {}
        for slot, at in zip(self.pattern.slots, self._slots, strict=True):
            if slot is not None and at is not None:
                written.setdefault(at, slot)
        self._written = [written[at] for at in range(len(readings))]
        self._most = [int(most) for most in (self.likeness.capacity / self.likeness.division * (1.0 + 1e-12)).tolist()]

    def notes(self) -> tuple[str, ...]:
        """Remarks on the days that their user should read first, in sentences."""
        base, found = self.likeness.base, list[str]()
        if not base.consistency.consistent:
            found.append("The readings of this day contradict one another; its loads are taken as all of them have it.")
        if base.solution.null.shape[1]:
            found.append("Not all loads of this day are determined; round figures stand for those that are not.")
        if base.tipped:
            found.append(f"What it stands on does not hold it up in {', '.join(base.tipped)}, which are left out.")
        if any(self._slots[at] is None for at in range(1, len(self._slots))):
            found.append("Readings that do not count in this day, as those set aside, stand as they did.")
        for told, height in zip(self.likeness.raised.told, self.likeness.raised.expected.tolist(), strict=True):
            if told.value != height:
                what = f"The height that it tells of {told.vehicle} in {told.state}"
                found.append(f"{what} can hardly be; a round figure stands for it.")
        if self.likeness.day.photographs:
            found.append("Photographs of displays are left out, for they show other readings.")
        if self.pattern.rewritten:
            found.append("Its text is written anew, without comments: its readings were not found in their places.")
        return tuple(found)

    def of(self, numbers: Sequence[int]) -> SimulatedPart:
        """The days of these numbers.

        Raises
        ------
        SimulationError: one of them cannot be drawn.
        """
        drawn = self._draws.of(numbers)
        rows = zip(drawn.numbers, drawn.counts.tolist(), drawn.chances.tolist(), strict=True)
        days = tuple(self._day(number, counts, chances) for number, counts, chances in rows)
        truth = _rounded(self.truths.of(drawn))
        if not np.isfinite(truth).all():
            raise SimulationError(f"a true value of days {numbers[0]} to {numbers[-1]} is not a finite number")
        return SimulatedPart(days, truth)

    def _day(self, number: int, counts: list[int], chances: list[float]) -> SimulatedDay:
        slip = None
        if self.slips:  # on level ground, where readings check one another
            level = len(self.likeness.items)
            shown = SlipReadings(counts[:level], self._most[:level], self._written[:level])
            slip = slip_in(shown, chances, self.slips)
        for one in () if slip is None else slip.changed:
            counts[one.reading] = one.written
        title = f"{self.pattern.title or 'A weigh day'} (simulated, seed {self.seed}, day {number})"
        text = self.pattern.filled(title, [None if at is None else counts[at] for at in self._slots])
        return SimulatedDay(number, text, None if slip is None else self._told(slip))

    def _told(self, slip: Slip) -> SimulatedSlip:
        readings: list[SlippedReading] = []
        for one in slip.changed:
            own = self._written[one.reading]
            shown = [f"{count * own.division:f} {own.unit}" for count in (one.right, one.written)]
            readings.append(SlippedReading(own.draft, own.place, own.instrument, shown[0], shown[1]))
        return SimulatedSlip(slip.kind, tuple(readings))


def _rounded(values: Array) -> Array:
    """Values to ``KEPT`` significant digits, as decimal fractions are read."""
    size = np.floor(np.log10(np.maximum(np.abs(values), 1e-300)))
    scale = 10.0 ** (KEPT - 1 - np.clip(size, -30.0, 30.0))
    return np.rint(values * scale) / scale + 0.0
