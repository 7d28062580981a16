"""The weigh day: site, instruments, vehicles, cargo, states, drafts. The unit of work, one file."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from steelyard.model.cargo import Cargo
from steelyard.model.draft import Correction, Draft, Reading
from steelyard.model.instrument import Instrument
from steelyard.model.state import State
from steelyard.model.vehicle import Vehicle
from steelyard.units import Quantity, UnitSystem


@dataclass(frozen=True, slots=True)
class Site:
    """Where the rig stands.

    Attributes
    ----------
    slope_long [rad]: front higher is positive. slope_lat [rad]: left higher is positive.
    latitude [rad], elevation [m]. unevenness [m]: standard deviation of the support heights; None: a default.
    pad_sink [m]: how far a loaded pad sinks into the ground.
    """

    name: str = ""
    surface: str = ""
    slope_long: Quantity | None = None
    slope_lat: Quantity | None = None
    latitude: Quantity | None = None
    elevation: Quantity | None = None
    unevenness: float | None = None
    pad_sink: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """Who asked for the weighing, who did it and when: for the ticket."""

    tester: str = ""
    owner: str = ""
    date: datetime.date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class WeighDay:
    """One day's weighing, every cross-reference already checked by whoever built it."""

    title: str = ""
    units: UnitSystem = UnitSystem()
    site: Site = Site()
    record: Record = Record()
    instruments: Mapping[str, Instrument] = field(default_factory=dict[str, Instrument])
    vehicles: Mapping[str, Vehicle] = field(default_factory=dict[str, Vehicle])
    cargo: Mapping[str, Cargo] = field(default_factory=dict[str, Cargo])
    states: Mapping[str, State] = field(default_factory=dict[str, State])
    drafts: tuple[Draft, ...] = ()
    corrections: tuple[Correction, ...] = ()

    def readings_of(self, draft: Draft) -> tuple[Reading, ...]:
        """The readings of ``draft`` as they count: corrected ones replaced, those set aside left out."""
        last = {item.place: item for item in self.corrections if item.draft == draft.number}
        readings: list[Reading] = []
        for written in draft.readings:
            correction = last.get(written.place.text)
            if correction is None:
                readings.append(Reading(written.place, written.instrument, written.value, written.value))
            elif correction.value is not None:
                value, reason = correction.value, correction.reason
                readings.append(Reading(written.place, written.instrument, value, written.value, reason))
        return tuple(readings)

    def counted(self, draft: Draft) -> tuple[Reading, ...]:
        """The readings of ``draft`` that tell of loads on level ground: those of a raised rig do not."""
        return () if draft.raised else self.readings_of(draft)

    def cargo_in(self, state: State) -> dict[str, Cargo]:
        """The cargo aboard in ``state``, with the state's own changes applied."""
        return {name: self.cargo[name].changed(state.change.get(name, {})) for name in state.cargo}

    def reference_state(self, vehicle: str) -> str | None:
        """The first state in file order that has a draft showing ``vehicle``, else the first that names it.

        Loads in other states count from it. Which state it is changes no finding.
        """
        shown = self.shown_in(vehicle)
        naming = [state.id for state in self.states.values() if vehicle in state.vehicles]
        return next((name for name in naming if name in shown), naming[0] if naming else None)

    def shown_in(self, vehicle: str) -> frozenset[str]:
        """The states that have a draft with a reading of ``vehicle``."""
        return frozenset(draft.state for draft in self.drafts if self._shows(draft, vehicle))

    def neighbours(self) -> frozenset[tuple[str, str]]:
        """Pairs of states, each state with the one before it, in file order, in which one of its vehicles stands."""
        found: set[tuple[str, str]] = set()
        for vehicle in self.vehicles:
            standing = [state.id for state in self.states.values() if vehicle in state.vehicles]
            found.update(pairwise(standing))
        return frozenset(found)

    def measured_states(self) -> frozenset[str]:
        """The states that have at least one draft with a reading that counts."""
        corrected = {item.draft for item in self.corrections}
        return frozenset(
            draft.state
            for draft in self.drafts
            if not draft.raised and (self.readings_of(draft) if draft.number in corrected else draft.readings)
        )

    def _shows(self, draft: Draft, vehicle: str) -> bool:
        places = [reading.place for reading in self.counted(draft)]
        return any(
            vehicle in place.couplings or any(wheel.vehicle == vehicle for wheel in place.wheels) for place in places
        )
