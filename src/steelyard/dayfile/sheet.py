"""The sheet: what all readers of one file share: its units, its faults, and what has been built so far.

A part that is broken is still entered under its name, as a ghost: references to it are then no faults of their own, so
that one slip gives one message.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field

from steelyard.classes import dataclass
from steelyard.dayfile.fault import Fault, KeyPath, listed, show_message, show_path, show_value, suggest
from steelyard.dayfile.source import KeyLines
from steelyard.model import Cargo, Instrument, Place, PlaceError, State, Vehicle, parse_place
from steelyard.units import Dimension, UnitSystem

MOST_FAULTS = 1000
"""More than anyone reads; a file of another kind would otherwise give one for each of its keys."""

_LONGEST_PLACE = 300  # characters
_MOST_PLACES = 1000  # that are kept: a day has some dozen
_ABSENT = object()


@dataclass()
class Sheet:
    """One file being read. Filled in the order units, instruments, vehicles, cargo, states, drafts, corrections."""

    units: UnitSystem = UnitSystem()
    units_sound: bool = True
    instruments: dict[str, Instrument] = field(default_factory=dict[str, Instrument])
    vehicles: dict[str, Vehicle] = field(default_factory=dict[str, Vehicle])
    cargo: dict[str, Cargo] = field(default_factory=dict[str, Cargo])
    states: dict[str, State] = field(default_factory=dict[str, State])
    ghosts: set[tuple[str, str]] = field(default_factory=set[tuple[str, str]])
    unreadable: set[str] = field(default_factory=set[str])
    _entries: list[tuple[KeyPath, str, str]] = field(default_factory=list[tuple[KeyPath, str, str]])
    _places: dict[str, Place] = field(default_factory=dict[str, Place])

    def fault(self, path: KeyPath, message: str, value: object = _ABSENT) -> None:
        """Enter a fault at ``path``; ``value`` is what stands there, left out where nothing does."""
        if len(self._entries) <= MOST_FAULTS:
            self._entries.append((path, "" if value is _ABSENT else show_value(value), message))

    @property
    def full(self) -> bool:
        """Whether further faults would not be shown."""
        return len(self._entries) > MOST_FAULTS

    @property
    def sound(self) -> bool:
        """Whether no fault was entered."""
        return not self._entries

    def faults(self, text: str) -> tuple[Fault, ...]:
        """The faults with their lines in ``text``, in the order of the lines."""
        lines = KeyLines(text)
        found = [
            Fault(lines.of(path), show_message(show_path(path)), value, show_message(message))
            for path, value, message in self._entries
        ]
        found.sort(key=lambda fault: 0 if fault.line is None else fault.line)
        if len(found) > MOST_FAULTS:
            found[MOST_FAULTS:] = [Fault(None, "", "", f"there are further faults; the first {MOST_FAULTS} are shown")]
        return tuple(found)

    def faults_below(self, depth: int) -> tuple[Fault, ...]:
        """The faults of a part that stands ``depth`` keys deep, each path without those keys; no text, so no lines."""
        return tuple(
            Fault(None, show_message(show_path(path[depth:])), value, show_message(message))
            for path, value, message in self._entries
        )

    def bare_unit(self, dimension: Dimension) -> str | None:
        """The unit of a bare number; None where one is not allowed."""
        if dimension is Dimension.MASS:
            return self.units.mass
        return self.units.length if dimension is Dimension.LENGTH else None

    def ghost(self, section: str, name: str) -> None:
        """Note that ``name`` of ``section`` is broken and stands in for itself only."""
        self.ghosts.add((section, name))

    def is_ghost(self, section: str, name: str) -> bool:
        """Whether ``name`` was read with faults, so that references to it must not be faulted as well."""
        return (section, name) in self.ghosts

    def knows(self, section: str, name: str, path: KeyPath, known: Mapping[str, object]) -> bool:
        """Whether ``name`` exists in ``section``; a fault is entered where it does not."""
        if name in known:
            return True
        if section not in self.unreadable and not self.full:
            word = _WORDS[section]
            hint = suggest(name, known, f"the day has {listed(known)}")
            self.fault(path, f"there is no {word} of that name; {hint}", name)
        return False

    def place(self, text: str, path: KeyPath, *, value: object = _ABSENT) -> Place | None:
        """The place that ``text`` names, or None with a fault entered."""
        place = self._places.get(text)
        if place is None:
            if len(text) > _LONGEST_PLACE:
                self.fault(path, f"is {len(text)} characters long; a place has at most {_LONGEST_PLACE}", value)
                return None
            try:
                place = parse_place(text, self.vehicles)
            except PlaceError as error:
                if "vehicles" not in self.unreadable and not self._misnamed(text):
                    self.fault(path, self._place_message(text, str(error)), value)
                return None
            if len(self._places) < _MOST_PLACES:
                self._places[text] = place
        return place

    def take_rig(self, other: Sheet) -> None:
        """Take what stands before the drafts from a sheet of sound sections, with the places known there."""
        self.instruments, self.vehicles = dict(other.instruments), dict(other.vehicles)
        self.cargo, self.states = dict(other.cargo), dict(other.states)
        self.ghosts, self._places = set(other.ghosts), other._places

    def _misnamed(self, text: str) -> bool:
        """Whether the place is on a vehicle whose name is a fault already."""
        heads = {part.strip().partition("/")[0] for part in text.split("+")}
        wrong = [name for name in self.vehicles if self.is_ghost("names", name)]
        return any(name in heads or (name != "" and text.startswith(name)) for name in wrong)

    def _place_message(self, text: str, message: str) -> str:
        """The model's message, with the nearest vehicle where the vehicle is not known."""
        names = [part.strip().partition("/")[0] for part in text.split("+")]
        unknown = next((name for name in names if name not in self.vehicles), None)
        hint = "" if unknown is None else suggest(unknown, self.vehicles, "")
        return f"{message}; {hint}" if hint and "there is no vehicle" in message else message


_WORDS = {
    "instruments": "instrument",
    "vehicles": "vehicle",
    "cargo": "cargo",
    "states": "state",
}


def one_serial_each(sheet: Sheet, section: str, raw: Mapping[str, object], serials: Mapping[str, str]) -> None:
    """Enter a fault for each thing of a section that bears the serial number of an earlier one; ``serials`` by name."""
    first: dict[str, str] = {}
    for name, serial in serials.items():
        bearer = first.setdefault(serial, name) if serial else name
        if bearer != name and name in raw:
            word = _WORDS[section]
            message = f"is the number of {word} {bearer!r} too; each {word} has its own: correct one, or leave it out"
            sheet.fault((section, name, "serial"), message, serial)


def repeated(names: Iterable[str]) -> list[int]:
    """The places, from 0, of names that stood before in the list."""
    seen: set[str] = set()
    again: list[int] = []
    for index, name in enumerate(names):
        if name in seen:
            again.append(index)
        seen.add(name)
    return again
