"""A day taken into the yard: what is new is kept; where the yard has something like it, a person decides."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from steelyard.dayfile import write_instrument, write_vehicle
from steelyard.model import Instrument, Vehicle, WeighDay
from steelyard.store import Kept, Shelf
from steelyard.units import UnitSystem
from steelyard.web.pages.yard import differing
from steelyard.web.pages.yard.contracts import MissingRating, YardTwin
from steelyard.web.pages.yard.page import instrument_card, item_of, vehicle_card

VERSION, OTHER, LEAVE = "version", "other", "leave"
"""The choices for a twin: it is the same thing, changed; it is another thing; it is left out."""

KEEP, GONE = "keep", "gone"
"""The choices for a rating that a new version lacks."""

_LONGEST_NAME = 100


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

    def text(self, name: str, item: Vehicle | Instrument | None = None) -> str:
        """Its block of a weigh-day file, or that of ``item`` in the units of its day, under a name."""
        return written(self.item if item is None else item, name, self.day.units)

    def is_kept_as(self, kept: Kept) -> bool:
        """Whether the yard has it as it is, in whatever units it was written; another name for people is no difference
        where the yard gave it.
        """
        there = item_of(kept)
        item = self.item
        if kept.name != self.name and isinstance(item, Vehicle) and isinstance(there, Vehicle):
            item = replace(item, name=there.name)
        return self.text(kept.name, item) in (kept.text, self.text(kept.name, there))


def written(item: Vehicle | Instrument, name: str, units: UnitSystem) -> str:
    """The block of a vehicle or an instrument under a name."""
    if isinstance(item, Vehicle):
        return write_vehicle(replace(item, id=name), units)
    return write_instrument(replace(item, id=name), units)


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

    ``form`` has ``<shelf>/<name>`` for a choice, ``<shelf>/<name>/name`` for another name, and
    ``<shelf>/<name>/rating/<key>`` for what becomes of a rating that the new version lacks.
    """
    names = {shelf: {*yard[shelf], *(thing.name for thing in things_of(day) if thing.shelf is shelf)} for shelf in yard}
    keep: list[tuple[Shelf, str, str]] = []
    twins: list[YardTwin] = []
    open_questions = False
    for thing in things_of(day):
        own = yard[thing.shelf].get(thing.name)
        if own is not None and any(thing.is_kept_as(kept) for kept in yard[thing.shelf].values()):
            continue  # as it is, or under the name that was given to it when it was asked about
        kept = own or _alike(thing, yard[thing.shelf])
        if kept is None:
            keep.append((thing.shelf, thing.name, thing.text(thing.name)))
            continue
        twin = _twin(thing, kept, yard[thing.shelf], names[thing.shelf], form)
        twins.append(twin)
        open_questions |= twin.choice == "" or bool(twin.fault)
        if twin.choice == VERSION:
            keep.append((thing.shelf, kept.name, thing.text(kept.name, _completed(thing, kept, twin))))
        elif twin.choice == OTHER and not twin.fault:
            name = id_of(twin.typed, names[thing.shelf])
            names[thing.shelf].add(name)
            named = replace(thing.item, name=twin.typed) if isinstance(thing.item, Vehicle) else thing.item
            keep.append((thing.shelf, name, thing.text(name, named)))
    return TakenIn((), tuple(twins)) if open_questions else TakenIn(tuple(keep), ())


def id_of(typed: str, taken: set[str]) -> str:
    """A name of letters, digits and _ for the program, made of what a person typed; none of those that are taken."""
    plain = "".join(letter for letter in unicodedata.normalize("NFKD", typed) if letter.isascii())
    base = re.sub("[^A-Za-z0-9_-]+", "_", plain).strip("_")[:34] or "thing"
    return base if base not in taken else next(name for n in range(2, 10_000) if (name := f"{base}_{n}") not in taken)


def _alike(thing: Thing, yard: Mapping[str, Kept]) -> Kept | None:
    """A thing of the yard under a name that the day does not have, and that looks like this one."""
    day = {other.name for other in things_of(thing.day) if other.shelf is thing.shelf}
    return next(
        (kept for kept in yard.values() if kept.name not in day and differing.looks_like(thing.item, item_of(kept))),
        None,
    )


def _completed(thing: Thing, kept: Kept, twin: YardTwin) -> Vehicle | Instrument:
    """The new version with the ratings that it lacks and that are to stay, and with the name that people know."""
    item, there = thing.item, item_of(kept)
    if not isinstance(item, Vehicle) or not isinstance(there, Vehicle):
        return item
    item = differing.with_ratings(item, there, [one.key for one in twin.missing if one.keep == KEEP])
    return replace(item, name=there.name) if twin.alike and there.name else item


def _twin(thing: Thing, kept: Kept, yard: Mapping[str, Kept], names: set[str], form: Mapping[str, str]) -> YardTwin:
    key = f"{thing.shelf}/{thing.name}"
    card = vehicle_card if thing.shelf is Shelf.VEHICLE else instrument_card
    coming = card(replace(kept, text=thing.text(kept.name), learned={}))
    if isinstance(thing.item, Instrument):
        coming = replace(coming, title=thing.name)
    there = item_of(kept)
    missing = tuple(
        replace(one, keep=chosen if (chosen := form.get(f"{key}/rating/{one.key}", "")) in (KEEP, GONE) else "")
        for one in differing.missing_ratings(there, thing.item, thing.day.units)
    )
    other = id_of(thing.name, names)
    choice, typed = form.get(key, ""), form.get(f"{key}/name", "").strip() or other
    if choice not in (VERSION, OTHER, LEAVE):
        choice = ""
    titles = {item.title if isinstance(item := item_of(one), Vehicle) else one.name for one in yard.values()}
    fault = _fault(choice, typed, names | titles, missing)
    rows = differing.side_by_side(there, thing.item, thing.day.units)
    head = (str(thing.shelf), thing.name, card(kept), coming, rows, missing)
    return YardTwin(*head, other, kept.name != thing.name, choice, typed[:_LONGEST_NAME], fault)


def _fault(choice: str, typed: str, taken: set[str], missing: tuple[MissingRating, ...]) -> str:
    """Why a choice cannot be; empty where it can."""
    if choice == OTHER and (len(typed) > _LONGEST_NAME or not typed.isprintable()):
        return f"A name is one line of at most {_LONGEST_NAME} letters."
    if choice == OTHER and typed in taken:
        return f"The yard or the day has something called {typed} already."
    open_ratings = [one.words for one in missing if not one.keep]
    if choice == VERSION and open_ratings:
        return f"Say what becomes of the {open_ratings[0]}: it is kept, or it is gone."
    return ""
