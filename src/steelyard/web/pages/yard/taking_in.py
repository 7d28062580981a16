"""A day taken into the yard: what is new is kept; where the yard has something else of that name, a person decides."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from steelyard.dayfile import write_instrument, write_vehicle
from steelyard.model import Instrument, Vehicle, WeighDay
from steelyard.store import Kept, Shelf
from steelyard.web.pages.yard.contracts import YardTwin
from steelyard.web.pages.yard.page import instrument_card, vehicle_card
from steelyard.web.station.wiring import NAME
from steelyard.web.station.yard import read_kept

_SHOWN = 8  # lines of a file on a card
VERSION, OTHER, LEAVE = "version", "other", "leave"
"""The choices for a twin: it is the same thing, changed; it is another thing; it is left out."""


@dataclass(frozen=True, slots=True)
class Thing:
    """A vehicle or an instrument of a day."""

    shelf: Shelf
    item: Vehicle | Instrument
    day: WeighDay

    @property
    def name(self) -> str:
        """Its name in its day."""
        return self.item.id

    def text(self, name: str) -> str:
        """Its block of a weigh-day file, under a name."""
        if isinstance(self.item, Vehicle):
            return write_vehicle(replace(self.item, id=name), self.day.units)
        return write_instrument(replace(self.item, id=name), self.day.units)

    def is_kept_as(self, kept: Kept) -> bool:
        """Whether the yard has it as it is, in whatever units it was written."""
        return self.text(self.name) in (kept.text, self.written(kept))

    def written(self, kept: Kept) -> str:
        """The block that the yard keeps, written in the units of this day."""
        there = read_kept(kept)
        items = there.vehicles if self.shelf is Shelf.VEHICLE else there.instruments
        return replace(self, item=items[self.name]).text(self.name) if self.name in items else kept.text


@dataclass(frozen=True, slots=True)
class TakenIn:
    """The things to keep, shelf, name and text of each; or, where that is not settled, the twins to ask about first."""

    keep: tuple[tuple[Shelf, str, str], ...]
    twins: tuple[YardTwin, ...]


def things_of(day: WeighDay) -> Iterator[Thing]:
    """The vehicles and instruments of a day, each of which can be kept."""
    yield from (Thing(Shelf.VEHICLE, item, day) for item in day.vehicles.values())
    yield from (Thing(Shelf.INSTRUMENT, item, day) for item in day.instruments.values())


def take_in(day: WeighDay, yard: Mapping[Shelf, Mapping[str, Kept]], form: Mapping[str, str]) -> TakenIn:
    """Settle what is kept of a day, by what the yard has and what a person chose of the twins.

    ``form`` has ``<shelf>/<name>`` for a choice and ``<shelf>/<name>/name`` for another name.
    """
    names = {shelf: {*yard[shelf], *(thing.name for thing in things_of(day) if thing.shelf is shelf)} for shelf in yard}
    keep: list[tuple[Shelf, str, str]] = []
    twins: list[YardTwin] = []
    open_questions = False
    for thing in things_of(day):
        kept = yard[thing.shelf].get(thing.name)
        text = thing.text(thing.name)
        if kept is not None and thing.is_kept_as(kept):
            continue
        if kept is None:
            keep.append((thing.shelf, thing.name, text))
            continue
        twin = _twin(thing, kept, names[thing.shelf], form)
        twins.append(twin)
        open_questions |= twin.choice == "" or bool(twin.fault)
        if twin.choice == VERSION:
            keep.append((thing.shelf, thing.name, text))
        elif twin.choice == OTHER and not twin.fault:
            names[thing.shelf].add(twin.typed)
            keep.append((thing.shelf, twin.typed, thing.text(twin.typed)))
    return TakenIn((), tuple(twins)) if open_questions else TakenIn(tuple(keep), ())


def _twin(thing: Thing, kept: Kept, names: set[str], form: Mapping[str, str]) -> YardTwin:
    key = f"{thing.shelf}/{thing.name}"
    card = vehicle_card if thing.shelf is Shelf.VEHICLE else instrument_card
    coming = card(replace(kept, text=thing.text(thing.name), learned={}))
    other = next(name for number in range(2, 1000) if (name := f"{thing.name[:36]}_{number}") not in names)
    choice, typed = form.get(key, ""), form.get(f"{key}/name", "").strip() or other
    fault = ""
    if choice not in (VERSION, OTHER, LEAVE):
        choice = ""
    elif choice == OTHER and NAME.fullmatch(typed) is None:
        fault = "A name has 1 to 40 letters, digits, - and _."
    elif choice == OTHER and typed in names:
        fault = f"The yard or the day has something called {typed} already."
    there, here = (text.splitlines() for text in (thing.written(kept), thing.text(thing.name)))
    only_kept, only_coming = _differing(there, here), _differing(here, there)
    head = (str(thing.shelf), thing.name, card(kept), coming, only_kept, only_coming)
    return YardTwin(*head, other, choice, typed[:60], fault)


def _differing(lines: list[str], others: list[str]) -> tuple[str, ...]:
    """The lines that the others have not, as far as they fit on a card."""
    found = [line.strip() for line in lines if line.strip() and line not in others]
    return (*found[:_SHOWN], f"and {len(found) - _SHOWN} more") if len(found) > _SHOWN else tuple(found)
