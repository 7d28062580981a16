"""The yard: what is kept between days, read as the weigh-day file it is a part of, and days made of it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from steelyard.dayfile import parse_day
from steelyard.model import Role, WeighDay
from steelyard.store import Away, Kept, Listed, Shelf, Store
from steelyard.units import UnitSystem

_HEAD = 'format = 1\nunits = {{ mass = "{mass}", length = "{length}" }}\n'


def listed(store: Store, shelf: Shelf, away: Away = Away.WITHOUT) -> list[Kept]:
    """The things of a shelf in their newest versions, by whether they were put away; waits for the disk.

    Raises
    ------
    StoreError: the store would not.
    """
    gone = {one.name for one in store.away(Listed(shelf))}
    return [kept for kept in store.shelf(shelf) if away is Away.WITH or (kept.name in gone) is (away is Away.ONLY)]


def new_day(vehicles: list[Kept], instruments: list[Kept], today: datetime.date) -> str:
    """A day without drafts of what was chosen: each vehicle alone, and each trailer on what can tow it.

    Raises
    ------
    DayFileError: what is kept does not make a day.
    """
    blocks = [item.text for item in (*instruments, *vehicles)]
    units = units_of_kept(vehicles)
    base = _HEAD.format(mass=units.mass, length=units.length)
    day = parse_day("\n".join([base, *blocks]), "yard")
    names = " and ".join(item.title for item in day.vehicles.values())
    title = f"{names}, {today:%d %B %Y}".replace("\\", "").replace('"', "'")
    head = base.replace("format = 1\n", f'format = 1\ntitle = "{title}"\n')
    return "\n".join([head, *blocks, *_states(day)])


def _states(day: WeighDay) -> Iterator[str]:
    trailers = [item for item in day.vehicles.values() if item.role is Role.TRAILER]
    pairs = len(trailers) * sum(item.role is Role.TOWING and bool(item.couplings) for item in day.vehicles.values())
    for towing in day.vehicles.values():
        if towing.role is not Role.TOWING:
            continue
        yield f'[states.{towing.id}_solo]\nvehicles = ["{towing.id}"]\n'
        coupling = next(iter(towing.couplings), None)
        for trailer in trailers if coupling is not None else ():
            couple = f'{{ towing = "{towing.id}", at = "{coupling}", trailer = "{trailer.id}" }}'
            name = "hitched" if pairs == 1 else f"{towing.id}_{trailer.id}"
            yield f'[states.{name}]\nvehicles = ["{towing.id}", "{trailer.id}"]\ncouple = {couple}\n'
    if not any(item.role is Role.TOWING for item in day.vehicles.values()):
        for trailer in trailers:
            yield f'[states.{trailer.id}_alone]\nvehicles = ["{trailer.id}"]\n'


def units_of_kept(kept: list[Kept]) -> UnitSystem:
    """The units of a day that is made of these: those of its first vehicle, for every value says its unit."""
    return UnitSystem("kg", "mm") if kept and " kg" in kept[0].text else UnitSystem("lb", "in")


def read_kept(kept: Kept) -> WeighDay:
    """A day with nothing but a thing of the yard."""
    units = units_of_kept([kept])
    return parse_day(_HEAD.format(mass=units.mass, length=units.length) + kept.text, "yard")
