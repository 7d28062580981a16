"""One thing more for a day that is sound: a draft, a correction, a state, a cargo, each held against the day alone.

What comes in is shaped as in the file, from TOML or from JSON (where moments are texts). Faults name their place
within the thing itself: ``readings."tow/1L"[2]``.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from steelyard.dayfile import cargo as cargo_reader
from steelyard.dayfile import instruments as instrument_reader
from steelyard.dayfile import vehicles as vehicle_reader
from steelyard.dayfile.drafts import read_corrections, read_further_draft
from steelyard.dayfile.fault import DayFileError, KeyPath, listed, suggest
from steelyard.dayfile.growth import Part, read_block
from steelyard.dayfile.photographs.record import read_photographs
from steelyard.dayfile.reader import read_title_of
from steelyard.dayfile.rule_sets.chosen import chosen_rules
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.source import parse
from steelyard.dayfile.states import read_states
from steelyard.dayfile.values import as_list, as_table
from steelyard.dayfile.write import write_state
from steelyard.model import Cargo, ChosenRules, Correction, Draft, Instrument, Photograph, State, Vehicle, WeighDay
from steelyard.units import UnitSystem

_MOMENT = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d(:\d\d(\.\d{1,9})?)?([Zz]|[+-]\d\d:\d\d)?")
_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_FIRST: KeyPath = ("drafts", 0)


def read_draft(day: WeighDay, data: dict[str, Any]) -> Draft:
    """The next draft of a day, with the number that it has there.

    Raises
    ------
    DayFileError: it does not fit the day; all faults at once.
    """
    sheet = _sheet(day)
    raw = _from_json(sheet, _FIRST, data)
    _check_room(sheet, Part.DRAFT, len(day.drafts))
    draft = read_further_draft(sheet, _FIRST, raw, day.drafts)
    _refuse_faults(sheet, "draft")
    return draft


def read_correction(day: WeighDay, data: dict[str, Any]) -> Correction:
    """The next correction of a day, of a reading that it has.

    Raises
    ------
    DayFileError: it does not fit the day; all faults at once.
    """
    sheet = _sheet(day)
    raw = _from_json(sheet, ("corrections", 0), data)
    _check_room(sheet, Part.CORRECTION, len(day.corrections))
    corrections = read_corrections(sheet, [raw], day.drafts)
    _refuse_faults(sheet, "correction")
    return corrections[0]


def refuse_hiding(day: WeighDay, correction: Correction) -> None:
    """See that a state may be put away, where ``correction`` does that to one of ``day``.

    Raises
    ------
    DayFileError: it has drafts that count, or the day would have no state to show.
    """
    name = correction.state
    if name is None or not correction.away:
        return
    sheet = _sheet(day)
    path = (Part.CORRECTION, 0, "state")
    if name in day.measured_states():
        sheet.fault(path, "has drafts that count; no reading is hidden, so put these drafts away first", name)
    elif day.without_put_away().states.keys() <= {name}:
        sheet.fault(path, "is the only state that is shown; bring another one back, or make one, before it goes", name)
    _refuse_faults(sheet, "correction")


def read_choice(day: WeighDay, data: dict[str, Any]) -> ChosenRules:
    """A choice of rules of the road that counts instead of the day's own; nothing of the earlier one is kept in it.

    Raises
    ------
    DayFileError: an unknown set, two that exclude each other, or a value that is none; all faults at once.
    """
    sheet = _sheet(day)
    path = (Part.CHOICE, 0)
    raw = _from_json(sheet, path, data)
    _check_room(sheet, Part.CHOICE, len(day.earlier_rules))
    chosen = chosen_rules(sheet, raw, path)
    _refuse_faults(sheet, "choice of rules")
    return chosen


def read_photograph(day: WeighDay, data: dict[str, Any]) -> Photograph:
    """The next photograph of a day, of a draft that it has.

    Raises
    ------
    DayFileError: it does not fit the day; all faults at once.
    """
    sheet = _sheet(day)
    raw = _from_json(sheet, (Part.PHOTOGRAPH, 0), data)
    _check_room(sheet, Part.PHOTOGRAPH, len(day.photographs))
    photographs = read_photographs(sheet, [raw], day.drafts, day.photographs)
    _refuse_faults(sheet, "photograph")
    return photographs[0]


def read_title(day: WeighDay, data: dict[str, Any]) -> str:
    """A later title of a day.

    Raises
    ------
    DayFileError: it says nothing, is too long, or is not one line; all faults at once.
    """
    sheet = _sheet(day)
    path = (Part.TITLE, 0)
    raw = _from_json(sheet, path, data)
    _check_room(sheet, Part.TITLE, len(day.earlier_titles))
    title = read_title_of(sheet, raw, path)
    _refuse_faults(sheet, "title")
    return title


def read_cargo(day: WeighDay, name: str, data: dict[str, Any]) -> Cargo:
    """A further cargo of a day.

    Raises
    ------
    DayFileError: it does not fit the day, or the name is taken; all faults at once.
    """
    sheet = _sheet(day)
    _check_name(sheet, Part.CARGO, name, day.cargo)
    cargo_reader.read_cargo(sheet, {name: _from_json(sheet, ("cargo", name), data)})
    _refuse_faults(sheet, "cargo")
    return sheet.cargo[name]


def read_state(day: WeighDay, name: str, data: dict[str, Any]) -> State:
    """A further state of a day: all its keys, or ``same`` as another state ``with`` and ``without`` some cargo.

    With ``same``, keys that stand beside it replace those of the other state; cargo and couplings of a vehicle that is
    no longer there are left behind.

    Raises
    ------
    DayFileError: it does not fit the day, or the name is taken; all faults at once.
    """
    sheet = _sheet(day)
    path = ("states", name)
    _check_name(sheet, Part.STATE, name, day.states)
    raw = _from_json(sheet, path, data)
    if "same" in raw:
        raw = _like_another(sheet, path, raw, day)
    if sheet.sound:
        read_states(sheet, {name: raw})
    _refuse_faults(sheet, "state")
    return sheet.states[name]


def read_vehicle(name: str, data: dict[str, Any], units: UnitSystem) -> Vehicle:
    """A vehicle on its own; ``units`` are those of bare numbers.

    Raises
    ------
    DayFileError: it is no sound vehicle; all faults at once.
    """
    sheet = Sheet(units=units)
    vehicle_reader.read_vehicles(sheet, {name: _from_json(sheet, ("vehicles", name), data)})
    _refuse_faults(sheet, "vehicle")
    return sheet.vehicles[name]


def read_instrument(name: str, data: dict[str, Any], units: UnitSystem) -> Instrument:
    """An instrument on its own; ``units`` are those of bare numbers.

    Raises
    ------
    DayFileError: it is no sound instrument; all faults at once.
    """
    sheet = Sheet(units=units)
    instrument_reader.read_instruments(sheet, {name: _from_json(sheet, ("instruments", name), data)})
    _refuse_faults(sheet, "instrument")
    return sheet.instruments[name]


def with_draft(day: WeighDay, draft: Draft) -> WeighDay:
    """The day with a draft at its end, numbered as it stands there."""
    return replace(day, drafts=(*day.drafts, replace(draft, number=len(day.drafts) + 1)))


def with_correction(day: WeighDay, correction: Correction) -> WeighDay:
    """The day with a correction at its end."""
    return replace(day, corrections=(*day.corrections, correction))


def with_choice(day: WeighDay, rules: ChosenRules) -> WeighDay:
    """The day with another choice of rules; the one before it stays in the record."""
    return replace(day, rules=rules, earlier_rules=(*day.earlier_rules, day.rules))


def with_photograph(day: WeighDay, photograph: Photograph) -> WeighDay:
    """The day with a photograph at its end."""
    return replace(day, photographs=(*day.photographs, photograph))


def with_title(day: WeighDay, title: str) -> WeighDay:
    """The day with another title; the one before it stays in the record."""
    return replace(day, title=title, earlier_titles=(*day.earlier_titles, day.title))


def with_cargo(day: WeighDay, cargo: Cargo) -> WeighDay:
    """The day with a further cargo."""
    return replace(day, cargo={**day.cargo, cargo.id: cargo})


def with_state(day: WeighDay, state: State) -> WeighDay:
    """The day with a further state."""
    return replace(day, states={**day.states, state.id: state})


def extended(day: WeighDay, block: str) -> WeighDay:
    """The day with whatever one block of text adds: what reading the whole text anew would give, and sooner.

    Raises
    ------
    DayFileError: it is not one block, or does not fit the day; all faults at once.
    """
    part = read_block(block).part
    raw = parse(block, "addition")[part]
    if part is Part.DRAFT:
        return with_draft(day, read_draft(day, raw[0]))
    if part is Part.CORRECTION:
        return with_correction(day, read_correction(day, raw[0]))
    if part is Part.CHOICE:
        return with_choice(day, read_choice(day, raw[0]))
    if part is Part.PHOTOGRAPH:
        return with_photograph(day, read_photograph(day, raw[0]))
    if part is Part.TITLE:
        return with_title(day, read_title(day, raw[0]))
    (name, data) = next(iter(raw.items()))
    if part is Part.CARGO:
        return with_cargo(day, read_cargo(day, name, data))
    if part is Part.STATE:
        return with_state(day, read_state(day, name, data))
    return _with_equipment(day, part, name, data)


def _with_equipment(day: WeighDay, part: Part, name: str, data: Any) -> WeighDay:
    sheet = _sheet(day)
    raw = {name: _from_json(sheet, (part, name), data)}
    if part is Part.VEHICLE:
        _check_name(sheet, part, name, day.vehicles)
        vehicle_reader.read_vehicles(sheet, raw)
    else:
        _check_name(sheet, part, name, day.instruments)
        instrument_reader.read_instruments(sheet, raw)
    _refuse_faults(sheet, "addition")
    return replace(day, vehicles=sheet.vehicles, instruments=sheet.instruments)


def _sheet(day: WeighDay) -> Sheet:
    return Sheet(
        units=day.units,
        instruments=dict(day.instruments),
        vehicles=dict(day.vehicles),
        cargo=dict(day.cargo),
        states=dict(day.states),
    )


def _refuse_faults(sheet: Sheet, what: str) -> None:
    if not sheet.sound:
        raise DayFileError(what, sheet.faults_below(len(_FIRST)))


def _check_name(sheet: Sheet, part: Part, name: str, known: Mapping[str, object]) -> None:
    path = (part, name, "name")
    if name in known:
        sheet.fault(path, "is taken; the day has that name already, choose another", name)
    _check_text(sheet, path, name)
    _check_room(sheet, part, len(known))


def _check_room(sheet: Sheet, part: Part, count: int) -> None:
    if count >= part.most:
        sheet.fault((part, 0), f"is one too many; a weigh day has at most {part.most} {part}")


def _from_json(sheet: Sheet, path: KeyPath, data: Any) -> dict[str, Any]:
    """A table as TOML would give it: null is left out, moments and dates are read, half characters are faults."""
    table = as_table(data)
    if table is None:
        sheet.fault(path, "is not a table of keys and values", data)
        return {}
    raw: dict[str, Any] = {}
    for key, value in table.items():
        place = (*path, key)
        _check_text(sheet, place, value)
        read = _WRITTEN_OUT.get(key)
        plain = read(sheet, place, value) if read is not None and isinstance(value, str) else value
        if plain is not None:
            raw[key] = plain
    return raw


def _check_text(sheet: Sheet, path: KeyPath, value: Any) -> None:
    """A fault for the first text inside a value that no file can hold."""
    inside = [value]
    while inside:
        item = inside.pop()
        table = as_table(item)
        if isinstance(item, str) and not _whole(item):
            sheet.fault(path, "holds half a character, which no UTF-8 file can", item)
            return
        inside += [*table, *table.values()] if table is not None else as_list(item) or []


def _whole(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


# What is taken now: a clock that was never set, or a slip of a digit, is no time of a draft.
_YEARS = (1900, 2199)


def _moment(sheet: Sheet, path: KeyPath, text: str) -> datetime.datetime | None:
    try:
        if _MOMENT.fullmatch(text):
            at = datetime.datetime.fromisoformat(text.upper().replace(" ", "T"))
            if _YEARS[0] <= at.year <= _YEARS[1]:
                return at
            sheet.fault(path, f"is not a time of a weigh day; its year is from {_YEARS[0]} to {_YEARS[1]}", text)
            return None
    except ValueError:
        pass
    sheet.fault(path, 'is not a date with a time; write for example "2026-05-14T09:12:00Z"', text)
    return None


def _date(sheet: Sheet, path: KeyPath, text: str) -> datetime.date | None:
    try:
        if _DATE.fullmatch(text):
            return datetime.date.fromisoformat(text)
    except ValueError:
        pass
    sheet.fault(path, 'is not a date; write for example "2026-05-14"', text)
    return None


_WRITTEN_OUT: dict[str, Callable[[Sheet, KeyPath, str], Any]] = {"at": _moment, "verified": _date}
"""The keys whose values JSON has to write out as a text."""


def _like_another(sheet: Sheet, path: KeyPath, raw: dict[str, Any], day: WeighDay) -> dict[str, Any]:
    """The keys of a state that is as another but for what ``raw`` says."""
    same = raw.pop("same")
    if not isinstance(same, str):
        sheet.fault((*path, "same"), "is not a name of a state; write it in quotes", same)
        return {}
    if not sheet.knows("states", same, (*path, "same"), day.states):
        return {}
    other: dict[str, Any] = tomllib.loads(write_state(day, day.states[same]))["states"][same]
    vehicles: list[Any] = as_list(raw.get("vehicles", other["vehicles"])) or []
    aboard = _aboard(sheet, path, raw, other.get("cargo", []), day)
    if "vehicles" in raw:
        aboard = [name for name in aboard if name not in day.cargo or day.cargo[name].on in vehicles]
    change = {name: dict(values) for name, values in other.get("change", {}).items() if name in aboard}
    further = as_table(raw.get("change"))
    if further is not None:
        del raw["change"]
        for name, values in further.items():
            table = as_table(values)
            change[name] = values if table is None else {**change.get(name, {}), **table}
    made = {"vehicles": vehicles, "couple": _couples(other.get("couple"), vehicles), "cargo": aboard, "change": change}
    return {key: value for key, value in made.items() if value} | raw


def _aboard(sheet: Sheet, path: KeyPath, raw: dict[str, Any], base: list[str], day: WeighDay) -> list[Any]:
    if "cargo" in raw and ("with" in raw or "without" in raw):
        sheet.fault((*path, "cargo"), "cannot stand beside with and without; list all cargo, or say what differs")
    further, less = (_names(sheet, (*path, key), raw.pop(key, [])) for key in ("with", "without"))
    for name in less:
        if name not in base:
            hint = suggest(name, base, f"it has {listed(base)}")
            sheet.fault((*path, "without"), f"is not aboard in that state; {hint}", name)
    for name in further:
        sheet.knows("cargo", name, (*path, "with"), day.cargo)
    return [name for name in dict.fromkeys([*base, *further]) if name not in less]


def _names(sheet: Sheet, path: KeyPath, raw: Any) -> list[str]:
    items = as_list(raw)
    if items is None or not all(isinstance(item, str) for item in items):
        sheet.fault(path, 'is not a list of names; write them in brackets, as in ["driver"]', raw)
        return []
    return items


def _couples(raw: Any, vehicles: list[Any]) -> list[Any]:
    """The couplings of which both ends are there."""
    links = as_list(raw)
    if links is None:
        links = [] if raw is None else [raw]
    return [link for link in links if link["towing"] in vehicles and link["trailer"] in vehicles]
