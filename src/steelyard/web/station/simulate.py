"""A simulated day: the drafts of a weigh day driven onto virtual pads, so that anyone can learn the station."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import Any

from steelyard.capture import Manner, SimulatedPort, SimulatedRig, SimulatedStance
from steelyard.dayfile import write_day
from steelyard.model import Draft, WeighDay
from steelyard.units import Quantity

CHANNELS_RATE = 6.25
"""Samples a second of each channel: 50 a second from eight."""


class Simulation:
    """A rig that takes the stances of a day's drafts in turn, over and over, unless it is told where to drive.

    Attributes
    ----------
    day: the day without its drafts: those are for whoever learns. port: where the virtual pads are read.
    """

    def __init__(self, day: WeighDay, *, manner: Manner | None = None) -> None:
        self.drafts = tuple(draft for draft in day.drafts if draft.readings)
        if not self.drafts:
            raise ValueError("has no draft, so there is nothing to drive onto the pads")
        self.day = replace(
            day, title=f"{day.title or 'Weigh day'}, simulated", drafts=(), corrections=(), photographs=()
        )
        divisions = {name: item.division for name, item in day.instruments.items() if item.division > 0.0}
        stances = [SimulatedStance(self._loads(day, draft, divisions), draft.title) for draft in self.drafts]
        manner = Manner() if manner is None else manner
        self.rig = SimulatedRig(stances, divisions, manner, start=time.monotonic())
        self.port = SimulatedPort("the simulated rig", self.rig, rate=CHANNELS_RATE)

    @staticmethod
    def _loads(day: WeighDay, draft: Draft, divisions: dict[str, float]) -> dict[str, float]:
        readings = day.readings_of(draft)
        return {reading.instrument: reading.value for reading in readings if reading.instrument in divisions}

    @property
    def text(self) -> str:
        """The day to weigh on, as a weigh-day file."""
        return write_day(self.day)

    def drive_on(self, number: int) -> None:
        """Drive onto the pads as in draft ``number``, counted from 1, and stay there."""
        self.rig.drive_on(number - 1, at=time.monotonic())

    def drive_off(self) -> None:
        """Leave the pads."""
        self.rig.drive_off(at=time.monotonic())

    def places(self, draft: Draft) -> dict[str, str]:
        """By place, the pad that stands there in a draft."""
        return {reading.place.text: reading.instrument for reading in draft.readings}

    def put_on(self, kilograms: float, vehicle: str, coupling: str) -> bool:
        """Somebody steps onto a coupling: the pads change as statics says; False where the rig does not stand there.

        The rig that was driving by itself then stays where it is.
        """
        from steelyard.learning import LoadPlace, influences  # the arithmetic takes a while to load

        number = self.stance()
        state = None if number is None else self.day.states[self.drafts[number - 1].state]
        if number is None or state is None or vehicle not in state.vehicles:
            return False
        places = [reading.place for reading in self.drafts[number - 1].readings]
        pads = [reading.instrument for reading in self.drafts[number - 1].readings]
        at = LoadPlace(vehicle, self.day.vehicles[vehicle].couplings[coupling].x, Quantity(0.0), coupling)
        shares = influences(self.day, state, at, places).values
        more = {pad: kilograms * float(share) for pad, share in zip(pads, shares, strict=True)}
        return self.rig.put_on(more, at=time.monotonic())

    def take_off(self) -> None:
        """Everybody steps off again."""
        self.rig.take_off(at=time.monotonic())

    def plug(self, *, plugged: bool) -> None:
        """Put the cable in, or pull it."""
        if plugged:
            self.port.plug()
        else:
            self.port.unplug()

    def stance(self) -> int | None:
        """Which draft the rig stands as, or moves to, counted from 1; None while the pads are empty."""
        now = self.rig.standing(time.monotonic())
        if now is None:
            return None
        begun = now if now.under is None else now.under
        return next(at for at, one in enumerate(self.rig.stances, 1) if one is begun)

    def standing(self) -> dict[str, Any]:
        """The stance of the simulated rig: which state it shows and which pad stands under which wheel."""
        number = self.stance()
        if number is None:
            return {"number": None, "label": "", "state": None, "places": {}}
        draft = self.drafts[number - 1]
        places = {reading.instrument: reading.place.text for reading in draft.readings}
        return {"number": number, "label": draft.title, "state": draft.state, "places": places}
