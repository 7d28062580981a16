"""Slips that would explain a reading that does not fit, in words. Common practice, no source."""

from __future__ import annotations

import math

import numpy as np

from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.observation import Observations
from steelyard.units import Dimension, UnitSystem, format_number

FITS = 6.0
"""A slip explains a misfit where chi-square comes within this of its lowest: 2.4 standard deviations."""


class Slips:
    """Tries the usual slips on one suspect after another, before anything is freed."""

    def __init__(self, observations: Observations, residuals: Residuals, units: UnitSystem) -> None:
        self._items = observations.items
        self._residuals = residuals
        self._weighed = residuals.weighed.copy()
        self._units = units
        self._of_draft: dict[int, list[int]] = {}
        for row, item in enumerate(self._items):
            self._of_draft.setdefault(item.draft.number, []).append(row)

    def explain(self, row: int) -> tuple[str, ...]:
        """Every slip that would bring reading ``row`` in line, most telling first."""
        weight = float(self._residuals.weight[row])
        best = self._weighed[row] ** 2 / weight
        bias = self._weighed[row] / weight
        said = [*self._exchanged(row, best), *self._digits(row, best), *self._unzeroed(row, best, bias)]
        reading = self._items[row].reading.value
        right = reading - bias
        if bias < 0.0 and 0.2 * right < reading < 0.97 * right:
            said.append(f"wheel half off {self._items[row].instrument.id}?")
        about = self._text(right)
        return (*said, f"the other readings expect about {about} {self._units.mass} here")

    def _text(self, kilograms: float) -> str:
        return format_number(self._units.show(kilograms, Dimension.MASS))

    def _fits(self, row: int, best: float, value: float) -> bool:
        """Whether putting ``value`` [kg] in place of the reading explains the misfit as well as any value could."""
        change = self._items[row].reading.value - value
        gain = 2.0 * change * self._weighed[row] - change**2 * self._residuals.weight[row]
        return gain >= best - FITS

    def _digits(self, row: int, best: float) -> list[str]:
        value = self._units.show(self._items[row].reading.value, Dimension.MASS)
        if abs(value - round(value)) > 1e-6 or value < 10:
            return []
        digits, factor = str(round(value)), self._units.factor(Dimension.MASS)
        division = self._items[row].instrument.division
        said: list[str] = []
        for other, words in _neighbours(digits):
            kilograms = int(other) * factor
            whole = abs(kilograms / division - round(kilograms / division)) < 1e-6
            if whole and self._fits(row, best, kilograms):
                said.append(f"{words}: {format_number(int(other))} read as {format_number(round(value))}?")
        return said[:2]

    def _exchanged(self, row: int, best: float) -> list[str]:
        item = self._items[row]
        weights = self._residuals.weight
        said: list[str] = []
        for other_row in self._of_draft[item.draft.number]:
            other = self._items[other_row]
            if other_row == row:
                continue
            change = item.reading.value - other.reading.value
            if abs(change) < item.instrument.division / 2:
                continue
            joint = self._residuals.between(np.array([row]), np.array([other_row]))[0]
            gain = 2.0 * change * (self._weighed[row] - self._weighed[other_row])
            gain -= change**2 * (weights[row] - 2.0 * joint + weights[other_row])
            if gain >= best - FITS:
                pair = f"{item.instrument.id} and {other.instrument.id}"
                said.append(f"{pair} exchanged ({item.reading.place.text} and {other.reading.place.text})?")
        return said

    def _unzeroed(self, row: int, best: float, bias: float) -> list[str]:
        item = self._items[row]
        amount = f"{self._text(abs(bias))} {self._units.mass} {'high' if bias > 0 else 'low'}"
        same = [other for other, seen in enumerate(self._items) if seen.instrument is item.instrument]
        if len(same) > 1:
            together = np.zeros((len(self._items), 1))
            together[same] = 1.0
            weight = float(self._residuals.weights_of(together)[0])
            total = float(self._weighed[same].sum())
            if weight > 0.0 and total**2 / weight >= best - FITS:
                offset = total / weight
                words = f"{self._text(abs(offset))} {self._units.mass} {'high' if offset > 0 else 'low'}"
                return [f"{item.instrument.id} not zeroed, {words} all day?"]
        return [f"{item.instrument.id} not zeroed before this draft, {amount}?"]


def _neighbours(digits: str) -> list[tuple[str, str]]:
    """Numbers that a slip of the pen turns into ``digits``, with the slip's name."""
    found: dict[str, str] = {}
    for at in range(len(digits) - 1):
        swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
        found.setdefault(swapped, "digits swapped")
    for at in range(len(digits) + 1):
        for digit in "0123456789":
            found.setdefault(digits[:at] + digit + digits[at:], "a digit dropped")
    for at in range(len(digits)):
        shorter = digits[:at] + digits[at + 1 :]
        if shorter:
            found.setdefault(shorter, "a digit too many")
        for digit in "0123456789":
            found.setdefault(digits[:at] + digit + digits[at + 1 :], "one digit wrong")
    found.pop(digits, None)
    order = ("digits swapped", "a digit dropped", "a digit too many", "one digit wrong")
    ranked = sorted(found.items(), key=lambda pair: order.index(pair[1]))
    return [(number, words) for number, words in ranked if not number.startswith("0") or math.isclose(len(number), 1)]
