"""The part of the observations that all days of one shape have in common, whatever their readings show."""

from __future__ import annotations

import math

import numpy as np

from steelyard.adjustment.assumed import span_u
from steelyard.adjustment.gravity import gravity_factor
from steelyard.adjustment.readings.observed import Observed, observed_in
from steelyard.adjustment.readings.placements import Placements
from steelyard.adjustment.system.increments import Increments
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import stances_of
from steelyard.model import Instrument, WeighDay


class ShapeFrame:
    """Where each reading stands in the equations, in the order of the file.

    Attributes
    ----------
    rig, increments: of the day that the frame was made for; other days of its shape take theirs from these.
    factor: what an instrument shows of a load with its span as stated [1], shape (readings,).
    spans, zeros: one where an unknown is an error of an instrument's span or of its zero, shape (readings, unknowns).
    selection: one where a load is on the instrument, shape (readings, outputs).
    lone: by reading, the unknown load of the one wheel that it reads in any state, or -1.
    """

    def __init__(self, rig: Rig) -> None:
        day = rig.day
        stances = stances_of(day)
        self._instruments: dict[str, tuple[float, tuple[int, ...], int | None]] = {}
        self.rig = rig
        self.increments = Increments(rig, list(stances.values()))
        layout = self.increments.layout
        self._stances = {number: layout.number[stance] for number, stance in stances.items()}
        items = self.items(day)
        known = [self._known(item.instrument) for item in items]
        shape = len(items), len(rig.unknowns)
        self.factor = rig.level_factor() * np.array([factor for factor, _, _ in known])
        self.spans, self.zeros = np.zeros(shape), np.zeros(shape)
        for row, (_, spans, zero) in enumerate(known):
            self.spans[row, list(spans)] = 1.0
            if zero is not None:
                self.zeros[row, zero] = 1.0
        self.selection = np.zeros((len(items), layout.outputs))
        for row, item in enumerate(items):
            wheels, couplings = layout.wheels_out[item.stance], layout.coupling_out[item.stance]
            for wheel in item.reading.place.wheels:
                self.selection[row, wheels[wheel.vehicle].start + 2 * (wheel.axle - 1) + (wheel.side == "R")] = 1.0
            for trailer in item.reading.place.couplings:
                self.selection[row, couplings[trailer]] = 1.0
        lone = [item.lone_wheel for item in items]
        self.lone = np.array([-1 if one is None else rig.unknowns.index["wheel", *one] for one in lone], dtype=int)
        self._placements: Placements | None = None

    def items(self, day: WeighDay) -> list[Observed]:
        """The readings of a day of this shape, in the order of the file."""
        return list(observed_in(day, self._stances))

    @property
    def numbers(self) -> int:
        """How many numbers its largest matrices have, about."""
        layout, (readings, unknowns) = self.increments.layout, self.spans.shape
        return max(layout.size, layout.outputs, readings) * max(layout.size, layout.outputs, unknowns)

    def placements(self) -> Placements:
        """The common part of their doubt; made when first asked for, for not every question needs it."""
        made = self._placements
        if made is None:
            made = self._placements = Placements(self.items(self.rig.day), self.increments)
        return made

    def _known(self, instrument: Instrument) -> tuple[float, tuple[int, ...], int | None]:
        """Factor of an instrument, the unknown errors of its span (its own and shared ones) and that of its zero."""
        if instrument.id not in self._instruments:
            unknowns, day = self.rig.unknowns, self.rig.day
            gravity = gravity_factor(day.site, instrument)
            u = math.hypot(span_u(instrument, day.date), 0.0 if gravity is None else gravity[1])
            spans = [unknowns.known(("span", instrument.id), 0.0, u)]
            spans += [unknowns.known((kind, name), 0.0, of_all) for kind, name, of_all in instrument.shared]
            zero = unknowns.known(("zero", instrument.id), 0.0, instrument.zero_uncertainty)
            factor = (1.0 + instrument.span) * (1.0 if gravity is None else gravity[0])
            self._instruments[instrument.id] = factor, tuple(at for at in spans if at is not None), zero
        return self._instruments[instrument.id]
