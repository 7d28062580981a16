"""The weigh day: site, instruments, vehicles, cargo, states, drafts. The unit of work, one file."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping
from dataclasses import field, replace
from itertools import pairwise

from steelyard.classes import dataclass
from steelyard.model.cargo import Cargo
from steelyard.model.draft import Correction, CountedReading, Draft
from steelyard.model.instrument import Instrument
from steelyard.model.photograph import Photograph
from steelyard.model.place import Place, WheelRef
from steelyard.model.rule import ChosenRules
from steelyard.model.state import State
from steelyard.model.vehicle import Vehicle
from steelyard.units import Quantity, UnitSystem


@dataclass(frozen=True, slots=True)
class Site:
    """The place where the rig is weighed.

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
    """Record for the ticket: client, weigher and date."""

    tester: str = ""
    owner: str = ""
    date: datetime.date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class WeighDay:
    """One day's weighing, every cross-reference already checked by the code that builds it.

    ``rules`` are the rules of the road that count; ``earlier_rules`` those that were chosen before them, in order.
    ``photographs`` of displays are a record beside the readings; no finding depends on them. ``earlier_titles`` are
    those that the day had before it was renamed, in order.
    """

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
    rules: ChosenRules = ChosenRules()
    earlier_rules: tuple[ChosenRules, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    earlier_titles: tuple[str, ...] = ()
    _unread: frozenset[tuple[str, str]] | None = field(default=None, init=False, repr=False, compare=False)
    _album: Mapping[int, tuple[Photograph, ...]] | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def rule_choices(self) -> tuple[ChosenRules, ...]:
        """The choices of rules that were made after the one of the file's table ``[rules]``, in order."""
        return (*self.earlier_rules, self.rules)[1:]

    @property
    def later_titles(self) -> tuple[str, ...]:
        """The titles that came after the one at the head of the file, in order; the last one counts."""
        return (*self.earlier_titles, self.title)[1:]

    @property
    def date(self) -> datetime.date | None:
        """The day on which it was weighed: of the record, else the earliest that a draft names."""
        if self.record.date is not None:
            return self.record.date
        return min((draft.at.date() for draft in self.drafts if draft.at is not None), default=None)

    def photographs_of(self, draft: Draft) -> tuple[Photograph, ...]:
        """Every photograph of ``draft``, of its readings and of the whole, in the order of the file."""
        if self._album is None:
            album: dict[int, list[Photograph]] = {}
            for item in self.photographs:
                album.setdefault(item.draft, []).append(item)
            object.__setattr__(self, "_album", {number: tuple(items) for number, items in album.items()})
        return (self._album or {}).get(draft.number, ())

    def photographs_at(self, draft: Draft, place: Place) -> tuple[Photograph, ...]:
        """The photographs of the display that was read at ``place`` in ``draft``."""
        return tuple(item for item in self.photographs_of(draft) if item.place == place.text)

    def label_of(self, draft: Draft) -> str:
        """The label of ``draft`` as it is called by now: that of its last correction that has one, else its own."""
        named = (item.label for item in reversed(self.corrections) if item.draft == draft.number)
        return next((label for label in named if label is not None), draft.label)

    def state_title(self, state: str) -> str:
        """The name of a state for people: the label of its last correction that has one, else its id in words."""
        named = (item.label for item in reversed(self.corrections) if item.state == state and item.label is not None)
        return next(named, "") or state.replace("_", " ")

    def put_away(self) -> dict[str, Correction]:
        """The states that are put away, each with the record that says why; what their findings say is not shown.

        One with a draft that counts is shown whatever the records say, so that no reading is ever hidden.
        """
        last = {item.state: item for item in self.corrections if item.state is not None and item.away is not None}
        gone = {name: item for name, item in last.items() if item.away and name in self.states}
        if not gone:
            return {}
        measured = self.measured_states()
        return {name: item for name, item in gone.items() if name not in measured}

    def without_put_away(self, but: Collection[str] = ()) -> WeighDay:
        """The day as it is shown: without the states that are put away, ``but`` those that somebody asks for."""
        gone = self.put_away().keys() - set(but)
        if not gone:
            return self
        return replace(self, states={name: state for name, state in self.states.items() if name not in gone})

    def readings_of(self, draft: Draft) -> tuple[CountedReading, ...]:
        """The readings of ``draft`` as they count: corrected ones replaced, those set aside left out."""
        last = {item.place: item for item in self.corrections if item.draft == draft.number}
        if not last:
            return draft.as_written()
        readings: list[CountedReading] = []
        for written in draft.readings:
            correction = last.get(written.place.text)
            if correction is None:
                readings.append(CountedReading(written.place, written.instrument, written.value, written.value))
            elif correction.value is not None:
                value, reason = correction.value, correction.reason
                readings.append(CountedReading(written.place, written.instrument, value, written.value, reason))
        return tuple(readings)

    def counted(self, draft: Draft) -> tuple[CountedReading, ...]:
        """The readings of ``draft`` that tell of loads on level ground.

        Those of a raised rig do not, nor do zeros under a vehicle that was not read, see ``unread``.
        """
        if draft.raised:
            return ()
        readings = self.readings_of(draft)
        if all(reading.value != 0.0 for reading in readings):
            return readings
        empty = {vehicle for vehicle, state in self.unread() if state == draft.state}
        return tuple(one for one in readings if one.value != 0.0 or empty.isdisjoint(one.place.vehicles))

    def unread(self) -> frozenset[tuple[str, str]]:
        """Pairs (vehicle, state) where zeros are written for a vehicle that must weigh something.

        A single 0 is an ordinary reading, for a wheel may be lifted. No vehicle weighs nothing, though: its zeros are
        no readings where every reading of the day is 0, where all those of its wheels are 0 in every state, or where
        they are 0 at all of its wheels in one state.
        """
        if self._unread is None:
            object.__setattr__(self, "_unread", frozenset(unread_in(self)))
        return self._unread or frozenset()

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
        corrected = {item.draft for item in self.corrections if item.of_reading}
        return frozenset(
            draft.state
            for draft in self.drafts
            if not draft.raised and (self.counted(draft) if _in_doubt(draft, corrected) else draft.readings)
        )

    def _shows(self, draft: Draft, vehicle: str) -> bool:
        return any(vehicle in reading.place.vehicles for reading in self.counted(draft))


def _in_doubt(draft: Draft, corrected: set[int]) -> bool:
    """Whether some reading that a draft has may not count."""
    return draft.number in corrected or any(reading.value == 0.0 for reading in draft.readings)


def unread_in(day: WeighDay) -> Iterator[tuple[str, str]]:
    """See ``WeighDay.unread``."""
    zeros: dict[tuple[str, str], set[WheelRef]] = {}  # wheels that showed 0, by vehicle and state
    heavy: set[tuple[str, str]] = set()  # vehicles with a wheel that showed something
    some = False
    for draft in day.drafts:
        for reading in () if draft.raised else day.readings_of(draft):
            some = some or reading.value != 0.0
            for vehicle in reading.place.vehicles:
                found = zeros.setdefault((vehicle, draft.state), set())
                wheels = {wheel for wheel in reading.place.wheels if wheel.vehicle == vehicle}
                if reading.value == 0.0:
                    found |= wheels
                elif wheels:
                    heavy.add((vehicle, draft.state))
    standing = {vehicle for vehicle, _ in heavy}
    for (vehicle, state), wheels in zeros.items():
        whole = len(wheels) == len(day.vehicles[vehicle].wheels)
        never = bool(wheels) and vehicle not in standing
        if not some or never or (whole and (vehicle, state) not in heavy):
            yield vehicle, state
