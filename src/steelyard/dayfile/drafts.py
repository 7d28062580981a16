"""Reads ``[[drafts]]`` and ``[[corrections]]``."""

from __future__ import annotations

from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.drifts import check_drifts
from steelyard.dayfile.fault import KeyPath, listed, suggest
from steelyard.dayfile.raised import read_raised
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, listed_tables, read_table, whole
from steelyard.dayfile.values import Bound, as_list, as_table, flag, moment, quantity, text, words
from steelyard.model import (
    Correction,
    DistributionKind,
    Draft,
    Instrument,
    InstrumentKind,
    Place,
    Raise,
    WheelRef,
    WrittenReading,
)
from steelyard.units import Dimension, Quantity

# the capacity of its instrument bounds a reading; this keeps the arithmetic sound where that cannot be read
_LOAD = quantity(Dimension.MASS, Bound.NOT_NEGATIVE, most=1e9)
_SIGNED = quantity(Dimension.MASS, most=1e9)
_OFF_DIVISION = 1e-6  # of a division: what decimal fractions lose in binary, and far under what anyone can read

_SAME_KEY = "is also the key of draft {}; each draft has a key of its own, or none"


def _read_unsupported(sheet: Sheet, path: KeyPath, raw: Any) -> bool | None:
    if raw == "ground":
        return True
    message = 'is not known; write "ground" where wheels without a pad stand on the ground, or leave it out'
    sheet.fault(path, message, raw)
    return None


def _read_heading(sheet: Sheet, path: KeyPath, raw: Any) -> bool | None:
    if raw == "reversed":
        return True
    message = 'is not known; write "reversed" where the rig faced the other way than the slope is stated for'
    sheet.fault(path, f"{message}, or leave it out", raw)
    return None


def _read_suspension(sheet: Sheet, path: KeyPath, raw: Any) -> bool | None:
    if raw == "blocked":
        return True
    message = 'is not known; write "blocked" where the springs were kept from moving, or leave it out'
    sheet.fault(path, message, raw)
    return None


_DRAFT_KEYS = {
    "state": Key(text, '"solo"'),
    "readings": Key(whole, '{ "tow/1L" = ["p1", 2960] }'),
    "key": Key(words),
    "at": Key(moment),
    "label": Key(text),
    "note": Key(text),
    "placement": Key(words),
    "unsupported": Key(_read_unsupported),
    "heading": Key(_read_heading),
    "raised": Key(whole),
    "suspension": Key(_read_suspension),
    "blocks": Key(whole),
}
_CORRECTION_KEYS = {
    "draft": Key(whole, "1"),
    "place": Key(text, '"tow/1L"'),
    "value": Key(whole),
    "reason": Key(words, '"pad was not zeroed"'),
    "at": Key(moment),
}

_LABEL_KEYS = {**{key: _CORRECTION_KEYS[key] for key in ("draft", "reason", "at")}, "label": Key(text)}
"""Of a correction that names a whole draft anew; it is of no place and has no value."""

_STATE_KEYS = {
    "state": Key(text, '"hitched"'),
    "label": Key(text),
    "away": Key(flag),
    **{key: _CORRECTION_KEYS[key] for key in ("reason", "at")},
}
"""Of a correction that names a state anew, puts it away or brings it back."""


def read_drafts(sheet: Sheet, raw: Any) -> tuple[Draft, ...]:
    """All drafts in file order; instruments, vehicles and states must be there."""
    tables = listed_tables(sheet, ("drafts",), raw, example="[[drafts]]")
    drafts = [_read_draft(sheet, ("drafts", index), table, number=index + 1) for index, table in tables]
    _check_keys(sheet, drafts)
    _check_placements(sheet, drafts)
    check_drifts(sheet, drafts)
    return tuple(drafts)


def read_further_draft(sheet: Sheet, path: KeyPath, raw: Any, before: tuple[Draft, ...]) -> Draft:
    """One draft after those of a sound day; ``path`` is that of a member of ``drafts``.

    The time that it takes hardly grows with the drafts before it.
    """
    draft = _read_draft(sheet, path, raw, number=len(before) + 1)
    if draft.key is not None:
        first = next((other.number for other in before if other.key == draft.key), None)
        if first is not None:
            sheet.fault((*path, "key"), _SAME_KEY.format(first), draft.key)
    if draft.placement is not None:
        _check_placements(sheet, [*(other for other in before if other.placement == draft.placement), draft])
    if any(cargo.drifts for cargo in sheet.cargo.values()):
        check_drifts(sheet, [*before, draft])
    return draft


def _read_draft(sheet: Sheet, path: KeyPath, raw: Any, *, number: int) -> Draft:
    values = read_table(sheet, path, raw, _DRAFT_KEYS, what="a draft")
    state: str | None = values.get("state")
    if state is not None and not sheet.knows("states", state, (*path, "state"), sheet.states):
        state = None
    readings = _read_readings(sheet, (*path, "readings"), values.get("readings"), state)
    return Draft(
        number=number,
        state=state or "",
        readings=readings,
        key=values.get("key"),
        at=values.get("at"),
        label=values.get("label", ""),
        note=values.get("note", ""),
        placement=values.get("placement"),
        on_ground=values.get("unsupported", False),
        reversed=values.get("heading", False),
        raised=_read_raised(sheet, path, values, state, readings),
        blocked=_read_blocked(sheet, path, values),
        blocks=_read_blocks(sheet, path, values, state, readings),
    )


def _read_blocks(
    sheet: Sheet, path: KeyPath, values: dict[str, Any], state: str | None, readings: tuple[WrittenReading, ...]
) -> tuple[WheelRef, ...]:
    """Wheels on blocks as high as the pads, where the others without a pad stand on the ground."""
    raw = values.get("blocks")
    if raw is None:
        return ()
    path = (*path, "blocks")
    texts = as_list(raw)
    if texts is None or not all(isinstance(text, str) for text in texts):
        sheet.fault(path, 'are not a list of places; write for example ["tow/2L", "tow/2R"]', raw)
        return ()
    if not values.get("unsupported", False):
        message = 'only matter beside unsupported = "ground"; without it every wheel stands as high as the pads'
        sheet.fault(path, message, raw)
    read = {wheel for reading in readings for wheel in reading.place.wheels}
    wheels: list[WheelRef] = []
    for at, where in enumerate(texts):
        place = sheet.place(where, (*path, at), value=where)
        if place is None:
            continue
        _check_state(sheet, (*path, at), place, state, where)
        if place.couplings:
            sheet.fault((*path, at), "is not a wheel; a block stands under wheels", where)
        if read & set(place.wheels):
            sheet.fault(
                (*path, at), "has a pad under it in this draft; a block stands under a wheel without one", where
            )
        wheels.extend(place.wheels)
    return tuple(dict.fromkeys(wheels))


def _read_raised(
    sheet: Sheet, path: KeyPath, values: dict[str, Any], state: str | None, readings: tuple[WrittenReading, ...]
) -> tuple[Raise, ...]:
    if "raised" not in values:
        return ()
    whole_table = not sheet.is_ghost("readings", str(path[1]))
    return read_raised(sheet, (*path, "raised"), values["raised"], state if whole_table else None, readings)


def _read_blocked(sheet: Sheet, path: KeyPath, values: dict[str, Any]) -> bool:
    if values.get("suspension") and "raised" not in values:
        message = "is only for a draft with something raised; leave it out, or say what was raised"
        sheet.fault((*path, "suspension"), message, "blocked")
    return values.get("suspension", False)


def _read_readings(sheet: Sheet, path: KeyPath, raw: Any, state: str | None) -> tuple[WrittenReading, ...]:
    table = as_table(raw)
    if not table:
        sheet.ghost("readings", str(path[1]))
        if raw is not None:
            message = "are empty" if table is not None else "are not a table"
            sheet.fault(path, f'{message}; a draft has one reading or more, as in {{ "tow/1L" = ["p1", 2960] }}', raw)
        return ()
    readings: list[WrittenReading] = []
    seen = _Seen({}, {})
    for place, pair in table.items():
        reading = _read_reading(sheet, (*path, place), pair, state, seen)
        if reading is not None:
            readings.append(reading)
    if len(readings) < len(table):
        sheet.ghost("readings", str(path[1]))
    return tuple(readings)


@dataclass(frozen=True, slots=True)
class _Seen:
    """The instruments and the wheels of a draft's readings so far, with the place that each was read at."""

    instruments: dict[str, str]
    parts: dict[object, str]


def _read_reading(sheet: Sheet, path: KeyPath, raw: Any, state: str | None, seen: _Seen) -> WrittenReading | None:
    where = str(path[-1])
    place = sheet.place(where, path, value=raw)
    pair = _read_pair(sheet, path, raw)
    sound = place is not None and pair is not None
    if place is not None:
        _check_state(sheet, path, place, state, raw)
        sound = _check_once(sheet, path, place, seen, raw) and sound
    if pair is not None:
        first = seen.instruments.setdefault(pair[0], where)
        if first != where:
            sheet.fault((*path, 0), _again(sheet, pair[0], first), pair[0])
            sound = False
    if place is None or pair is None or not sound:
        return None
    _check_pad(sheet, path, place, pair[0], raw)
    return WrittenReading(place, *pair)


def _again(sheet: Sheet, instrument: str, first: str) -> str:
    """Message for an instrument that stands under a second place in a draft."""
    message = f"stands under {first!r} in the same draft; one instrument gives one reading in a draft"
    if sheet.instruments[instrument].kind is not InstrumentKind.PLATFORM:
        return message
    return f"{message}; declare one platform for each deck, or write one draft for each weighing"


def _read_pair(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[str, float] | None:
    """The instrument and what it showed [kg]; None where there is no such instrument."""
    pair = as_list(raw)
    if pair is not None and len(pair) == 1 and isinstance(pair[0], str):
        sheet.fault(path, f'is still to be read; write what {pair[0]} shows after its name, as in ["p1", 2960]', raw)
        return None
    if pair is not None and len(pair) == 3 and all(isinstance(part, int) for part in pair[1:]):
        message = "has a comma in its number; without quotes a number has a decimal point and no commas, as in"
        sheet.fault(path, f'{message} ["p1", 2960]', raw)
        return None
    if pair is None or len(pair) != 2:
        sheet.fault(path, 'is not a reading; write the instrument and what it showed, as in ["p1", 2960]', raw)
        return None
    name, shown = pair
    if not isinstance(name, str):
        sheet.fault((*path, 0), 'is not a name of an instrument; write it in quotes, as in ["p1", 2960]', name)
        _LOAD(sheet, (*path, 1), shown)
        return None
    if not sheet.knows("instruments", name, (*path, 0), sheet.instruments):
        _LOAD(sheet, (*path, 1), shown)
        return None
    value = read_load(sheet, (*path, 1), shown, sheet.instruments[name])
    return name, 0.0 if value is None else value


def read_load(sheet: Sheet, path: KeyPath, raw: Any, instrument: Instrument, *, signed: bool = False) -> float | None:
    """A reading [kg], within its capacity and on one of its divisions; ``signed``: or below nothing."""
    load: Quantity | None = (_SIGNED if signed else _LOAD)(sheet, path, raw)
    if load is None:
        return None
    if load.u is not None:
        message = "carries an uncertainty, which a reading takes from its instrument; state repeatability there"
        sheet.fault(path, message, raw)
        return None
    if not sheet.units_sound and not isinstance(raw, str):
        return load.value
    unit = sheet.units.mass
    if load.value > instrument.capacity * (1 + 1e-12):
        limit = _shown(sheet, instrument.capacity)
        message = f"is over the capacity of {instrument.id!r}, which is {limit} {unit}"
        sheet.fault(path, message, raw)
    elif instrument.division > 0.0:
        count = load.value / instrument.division
        if abs(count - round(count)) > _OFF_DIVISION:
            low = int(count) * instrument.division
            near = " or ".join(_shown(sheet, value) for value in (low, low + instrument.division))
            division = f"{_shown(sheet, instrument.division)} {unit}"
            message = f"is not a multiple of the division of {instrument.id!r}, {division}; it can show {near} {unit}"
            sheet.fault(path, message, raw)
    return load.value


def _shown(sheet: Sheet, value: float) -> str:
    """A mass in the file's unit, without the noise of the conversion."""
    return f"{sheet.units.show(value, Dimension.MASS):.10g}"


def _check_state(sheet: Sheet, path: KeyPath, place: Place, state: str | None, raw: Any) -> None:
    """A reading is of vehicles of its state; under a coupled trailer's coupling point a platform stands by itself."""
    if state is None or sheet.is_ghost("states", state):
        return
    condition = sheet.states[state]
    for vehicle in dict.fromkeys([*(wheel.vehicle for wheel in place.wheels), *place.couplings]):
        if vehicle not in condition.vehicles:
            message = f"{vehicle!r} is not in state {state!r}, which has {listed(condition.vehicles)}"
            sheet.fault(path, message, raw)
    if place.wheels and all(condition.is_up(wheel.vehicle, wheel.axle) for wheel in place.wheels):
        sheet.fault(path, f"is up in state {state!r} (lifted), so nothing is read there; leave it out", raw)
    for trailer in place.couplings:
        link = condition.link_of_trailer(trailer)
        if link is not None and link.distribution.kind is not DistributionKind.NONE:
            message = (
                f"{trailer!r} has weight distribution on in state {state!r}, which needs the coupling made; a platform "
                f"between it and {link.towing!r} reads its coupling load in a state without"
            )
            sheet.fault(path, message, raw)
        elif link is not None and len(place.wheels) + len(place.couplings) > 1:
            message = (
                f"joins the coupling load of {trailer!r} with other places, but {link.towing!r} carries it in state "
                f"{state!r}; a platform on {link.towing!r} reads {trailer + '/coupling'!r} alone"
            )
            sheet.fault(path, message, raw)


def _check_once(sheet: Sheet, path: KeyPath, place: Place, seen: _Seen, raw: Any) -> bool:
    parts: list[object] = [*place.wheels, *place.couplings]
    for part in parts:
        first = seen.parts.setdefault(part, place.text)
        if first != place.text:
            name = f"{part}/coupling" if isinstance(part, str) else str(part)
            sheet.fault(path, f"{name!r} is already read by {first!r} in this draft; read each wheel once", raw)
            return False
    return True


def _check_pad(sheet: Sheet, path: KeyPath, place: Place, instrument: str, raw: Any) -> None:
    pad = sheet.instruments[instrument].kind is InstrumentKind.PAD
    if pad and len(place.wheels) + len(place.couplings) > 1 and not sheet.is_ghost("vehicles", _vehicle(place)):
        message = f"{instrument!r} is a pad and carries one wheel end or one coupling point; a platform carries more"
        sheet.fault(path, message, raw)


def _vehicle(place: Place) -> str:
    return place.wheels[0].vehicle if place.wheels else place.couplings[0]


def _check_keys(sheet: Sheet, drafts: list[Draft]) -> None:
    first: dict[str, int] = {}
    for index, draft in enumerate(drafts):
        if draft.key is not None and first.setdefault(draft.key, draft.number) != draft.number:
            sheet.fault(("drafts", index, "key"), _SAME_KEY.format(first[draft.key]), draft.key)


def _check_placements(sheet: Sheet, drafts: list[Draft]) -> None:
    """Drafts of one placement have the same pad under a wheel, and a pad under the same wheel."""
    stands: dict[tuple[str, object], tuple[str, int]] = {}
    pads: dict[tuple[str, str], tuple[str, int]] = {}
    for index, draft in enumerate(drafts):
        if draft.placement is None:
            continue
        for reading in draft.readings:
            path = ("drafts", index, "readings", reading.place.text)
            complaint = _moved(sheet, draft, reading, stands, pads)
            if complaint is not None:
                message = f"{complaint}; drafts of one placement are taken without moving the rig or the pads"
                sheet.fault(path, message, reading.instrument)


def _moved(
    sheet: Sheet,
    draft: Draft,
    reading: WrittenReading,
    stands: dict[tuple[str, object], tuple[str, int]],
    pads: dict[tuple[str, str], tuple[str, int]],
) -> str | None:
    placement, name = draft.placement or "", reading.instrument
    for part in (*reading.place.wheels, *reading.place.couplings):
        before, number = stands.setdefault((placement, part), (name, draft.number))
        if before != name:
            return f"draft {number} of placement {placement!r} has {before!r} here"
    if sheet.instruments[name].kind is InstrumentKind.PAD:
        where, number = pads.setdefault((placement, name), (reading.place.text, draft.number))
        if where != reading.place.text and number != draft.number:
            return f"draft {number} of placement {placement!r} has this pad at {where!r}"
    return None


def read_corrections(sheet: Sheet, raw: Any, drafts: tuple[Draft, ...]) -> tuple[Correction, ...]:
    """All corrections in file order."""
    corrections: list[Correction] = []
    by_key = {draft.key: draft for draft in reversed(drafts) if draft.key is not None}
    for index, table in listed_tables(sheet, ("corrections",), raw, example="[[corrections]]"):
        path = ("corrections", index)
        if "state" in (as_table(table) or {}):
            of_state = _read_of_state(sheet, path, table)
            corrections += [] if of_state is None else [of_state]
            continue
        anew = "label" in (as_table(table) or {})
        keys = _LABEL_KEYS if anew else _CORRECTION_KEYS
        what = "a correction of a label" if anew else "a correction"
        values = read_table(sheet, path, table, keys, what=what)
        draft = find_draft(sheet, (*path, "draft"), values.get("draft"), drafts, by_key)
        if anew:
            label = values.get("label")
            if draft is not None and label is not None:
                corrections.append(
                    Correction(draft.number, "", None, values.get("reason", ""), values.get("at"), label)
                )
            continue
        reading = find_reading(sheet, (*path, "place"), values.get("place"), draft)
        value = _corrected(sheet, (*path, "value"), values.get("value"), reading)
        if draft is not None and reading is not None:
            place, reason = reading.place.text, values.get("reason", "")
            corrections.append(Correction(draft.number, place, value, reason, values.get("at")))
    return tuple(corrections)


def _read_of_state(sheet: Sheet, path: KeyPath, raw: Any) -> Correction | None:
    """A state's other name, or that it is put away or brought back; None with a fault entered."""
    values = read_table(sheet, path, raw, _STATE_KEYS, what="a correction of a state")
    name, label, away = (values.get(key) for key in ("state", "label", "away"))
    if name is None or not sheet.knows("states", name, (*path, "state"), sheet.states):
        return None
    if (label is None) == (away is None):
        said = "says both label and away; write two corrections" if label is not None else "says nothing of its state"
        message = f'{said}; write label = "Tank full", or away = true to put it away, or away = false to bring it back'
        sheet.fault(path, message)
        return None
    return Correction(0, "", None, values.get("reason", ""), values.get("at"), label, name, away)


def find_draft(
    sheet: Sheet, path: KeyPath, raw: Any, drafts: tuple[Draft, ...], by_key: dict[str, Draft]
) -> Draft | None:
    """The draft of that key or number; None with a fault entered, or where nothing or nobody can tell."""
    if raw is None or "drafts" in sheet.unreadable:
        return None
    if isinstance(raw, str):
        if raw not in by_key:
            hint = (
                suggest(raw, by_key, f"the keys are {listed(by_key)}")
                if by_key
                else "no draft has a key, write its number"
            )
            sheet.fault(path, f"there is no draft of that key; {hint}", raw)
        return by_key.get(raw)
    if isinstance(raw, int) and not isinstance(raw, bool):
        if 1 <= raw <= len(drafts):
            return drafts[raw - 1]
        sheet.fault(path, f"there is no draft of that number; the day has {len(drafts)}, counted from 1", raw)
        return None
    sheet.fault(path, "is not a draft; write its key in quotes, or its number", raw)
    return None


def find_reading(sheet: Sheet, path: KeyPath, raw: str | None, draft: Draft | None) -> WrittenReading | None:
    """The reading of a draft at that place; None with a fault entered, or where nothing or nobody can tell."""
    if raw is None or draft is None:
        return None
    place = sheet.place(raw, path, value=raw)
    if place is None:
        return None
    wanted = (set(place.wheels), set(place.couplings))
    for reading in draft.readings:
        if (set(reading.place.wheels), set(reading.place.couplings)) == wanted:
            return reading
    if sheet.is_ghost("readings", str(draft.number - 1)):
        return None
    places = [reading.place.text for reading in draft.readings]
    hint = suggest(raw, places, f"it has {listed(places)}")
    sheet.fault(path, f"draft {draft.number} has no reading there; {hint}", raw)
    return None


def _corrected(sheet: Sheet, path: KeyPath, raw: Any, reading: WrittenReading | None) -> float | None:
    if raw is None:
        return None
    if reading is None:
        _LOAD(sheet, path, raw)
        return None
    return read_load(sheet, path, raw, sheet.instruments[reading.instrument])
