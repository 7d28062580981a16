"""Reads ``[[tests]]`` of a verification file: each kind of test with its keys, its readings and what they must be."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.drafts import read_load
from steelyard.dayfile.fault import KeyPath, listed, suggest
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, read_table, whole
from steelyard.dayfile.values import HIGHEST, Bound, amount, as_list, as_table, choice, quantity, text
from steelyard.dayfile.values import name as a_name
from steelyard.model import (
    EccentricTest,
    Instrument,
    LoadStep,
    LoadTest,
    PermutedTest,
    RepeatTest,
    RoundTest,
    SmallMassTest,
    VerificationTest,
    ZeroReturnTest,
)
from steelyard.units import Dimension

_MASS = amount(Dimension.MASS, Bound.NOT_NEGATIVE)
_POSITIVE = amount(Dimension.MASS, Bound.POSITIVE)
_SHARE = amount(Dimension.SHARE, Bound.SHARE)
_FEWEST_LOADS = 2
_FEWEST_REPEATS = 3
_MOST_READINGS = 200


class _Kind(StrEnum):
    MASSES = "masses"
    REFERENCE = "reference"
    ROUND = "round"
    PERMUTED = "permuted"
    ECCENTRIC = "eccentric"
    REPEATS = "repeats"
    ZERO_RETURN = "zero_return"
    SMALL_MASS = "small_mass"


_Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Reader:
    """How one kind of test is read. ``what`` names it in messages, with its article."""

    what: str
    keys: Mapping[str, Key]
    build: Callable[[Sheet, KeyPath, _Values], VerificationTest | None]


def read_test(sheet: Sheet, path: KeyPath, raw: Any) -> VerificationTest | None:
    """One test; None where the text describes no test, with the faults entered."""
    table = as_table(raw)
    if table is None:
        sheet.fault(path, "is not a table; write [[tests]] and its keys below", raw)
        return None
    if "kind" not in table:
        sheet.fault((*path, "kind"), f"is missing; a test has one of the kinds {listed(_READERS)}")
        return None
    kind = choice(_Kind)(sheet, (*path, "kind"), table["kind"])
    if kind is None:
        return None
    reader = _READERS[kind]
    values = read_table(sheet, path, table, {**_ALWAYS, **reader.keys}, what=reader.what)
    if any(key.required and name not in values for name, key in reader.keys.items()):
        return None
    return reader.build(sheet, path, values)


_ALWAYS = {"kind": Key(whole), "label": Key(text)}
_P1 = '"p1"'
_LADDER = "[[0, 0], [5000, 5000], [10000, 10020], [5000, 5000], [0, 0]]"


def _instrument(sheet: Sheet, path: KeyPath, name: str) -> Instrument | None:
    found = sheet.instruments.get(name)
    if found is None and "instruments" not in sheet.unreadable:
        hint = suggest(name, sheet.instruments, f"the set has {listed(sheet.instruments)}")
        sheet.fault(path, f"there is no instrument of that name; {hint}", name)
    return found


def _under_capacity(sheet: Sheet, path: KeyPath, load: float, instrument: Instrument, raw: Any) -> bool:
    if load <= instrument.capacity * (1 + 1e-12):
        return True
    limit = f"{sheet.units.show(instrument.capacity, Dimension.MASS):.10g} {sheet.units.mass}"
    sheet.fault(path, f"is over the capacity of {instrument.id!r}, which is {limit}; never load it beyond that", raw)
    return False


def _list(sheet: Sheet, path: KeyPath, raw: Any, *, least: int, what: str) -> list[Any] | None:
    items = as_list(raw)
    if items is None:
        sheet.fault(path, f"is not a list; write {what} in brackets", raw)
        return None
    if len(items) < least:
        sheet.fault(path, f"has too few {what} ({len(items)}); this test takes {least} or more")
        return None
    if len(items) > _MOST_READINGS:
        sheet.fault(path, f"has too many {what} ({len(items)}); a test has at most {_MOST_READINGS}")
        return None
    return items


def _readings(
    sheet: Sheet, path: KeyPath, raw: Any, instrument: Instrument, *, least: int = _FEWEST_REPEATS
) -> tuple[float, ...] | None:
    items = _list(sheet, path, raw, least=least, what="readings")
    if items is None:
        return None
    read = [read_load(sheet, (*path, place), item, instrument, signed=True) for place, item in enumerate(items)]
    return None if any(item is None for item in read) else tuple(item for item in read if item is not None)


# -- loads up and down -------------------------------------------------------------------------------------------------


def _loads(sheet: Sheet, path: KeyPath, values: _Values) -> LoadTest | None:
    instrument = _instrument(sheet, (*path, "instrument"), values["instrument"])
    if instrument is None:
        return None
    at = (*path, "readings")
    steps = _steps(sheet, at, values["readings"], instrument)
    by_reference = "reference_uncertainty" in values
    if steps is None or not _enough(sheet, at, steps):
        return None
    if not _one_by_one(sheet, path, steps, values.get("small_weight"), instrument.division):
        return None
    if not by_reference:
        _in_order(sheet, at, steps)
    return LoadTest(
        instrument.id,
        steps,
        by_reference=by_reference,
        shared_u=values.get("reference_span_uncertainty", values.get("mass_uncertainty", 0.0)),
        own_u=values.get("reference_uncertainty", 0.0),
        smallest=values.get("small_weight"),
        reference_latitude=values.get("reference_latitude"),
        reference_elevation=values.get("reference_elevation"),
        label=values.get("label", ""),
        standard=values.get("standard"),
    )


def _steps(sheet: Sheet, path: KeyPath, raw: Any, instrument: Instrument) -> tuple[LoadStep, ...] | None:
    items = _list(sheet, path, raw, least=_FEWEST_LOADS, what="loads with their readings")
    if items is None:
        return None
    steps = [_step(sheet, (*path, place), item, instrument) for place, item in enumerate(items)]
    return None if None in steps else tuple(step for step in steps if step is not None)


def _step(sheet: Sheet, path: KeyPath, raw: Any, instrument: Instrument) -> LoadStep | None:
    items = as_list(raw)
    if items is None or not 2 <= len(items) <= 3:
        message = "is not a load with its reading; write [5000, 5020], or [5000, 5020, 8] with the small weights added"
        sheet.fault(path, message, raw)
        return None
    load = _MASS(sheet, (*path, 0), items[0])
    shown = read_load(sheet, (*path, 1), items[1], instrument, signed=True)
    added = _MASS(sheet, (*path, 2), items[2]) if len(items) == 3 else None
    if load is None or shown is None or (len(items) == 3 and added is None):
        return None
    if not _under_capacity(sheet, (*path, 0), load, instrument, items[0]):
        return None
    if added is not None and not _can_tip(sheet, (*path, 2), added, instrument, items[2]):
        return None
    return LoadStep(load, shown, added)


def _can_tip(sheet: Sheet, path: KeyPath, added: float, instrument: Instrument, raw: Any) -> bool:
    """Whether so much added can have brought the next division: something, and no more than one division."""
    if added <= 0.0:
        message = "is not a small weight; a change point takes one or more, leave the number out where none was sought"
        sheet.fault(path, message, raw)
        return False
    if instrument.division > 0.0 and added > instrument.division * (1 + 1e-9):
        division = _shown(sheet, instrument.division)
        message = f"is more than the division, {division}; the next division shows before that much is added"
        sheet.fault(path, message, raw)
        return False
    return True


def _one_by_one(
    sheet: Sheet, path: KeyPath, steps: tuple[LoadStep, ...], stated: float | None, division: float
) -> bool:
    """Whether the small weights put on are so many of one size: that size is what the change point is good to."""
    if division <= 0.0:
        return True
    size = division / 10.0 if stated is None else stated
    if size >= division * (1 - 1e-9):
        message = f"is no less than the division, {_shown(sheet, division)}; the next division shows with the first one"
        sheet.fault((*path, "small_weight"), message, _shown(sheet, size))
        return False
    for place, step in enumerate(steps):
        count = 0.0 if step.added is None else step.added / size
        if abs(count - round(count)) > 1e-6 * max(count, 1.0):
            whose = "a tenth of the division" if stated is None else "small_weight"
            message = f"is not a whole number of small weights of {_shown(sheet, size)} ({whose}); state their size"
            sheet.fault((*path, "readings", place, 2), message, _shown(sheet, step.added or 0.0))
            return False
    return True


def _enough(sheet: Sheet, path: KeyPath, steps: tuple[LoadStep, ...]) -> bool:
    different = {step.load for step in steps if step.load > 0.0}
    if len(different) >= _FEWEST_LOADS:
        return True
    count = "no load" if not different else "one load"
    sheet.fault(path, f"has {count} above zero; the span takes two different ones or more, to near the capacity")
    return False


def _in_order(sheet: Sheet, path: KeyPath, steps: tuple[LoadStep, ...]) -> None:
    """Loads go up, then down: what was out of order is a slip, or belongs into a test of its own."""
    falling = False
    for place in range(1, len(steps)):
        change = steps[place].load - steps[place - 1].load
        falling = falling or change < 0.0
        if falling and change > 0.0:
            load = sheet.units.show(steps[place].load, Dimension.MASS)
            message = "rises again after the loads began to fall; put them in order, or write a second test"
            sheet.fault((*path, place, 0), message, round(load) if load == round(load) else round(load, 6))
            return


_MASS_KEYS = {
    "instrument": Key(text, _P1),
    "readings": Key(whole, _LADDER),
    "mass_uncertainty": Key(_SHARE, '"0.005 %"'),
    "standard": Key(a_name),
    "small_weight": Key(_POSITIVE),
}
_REFERENCE_KEYS = {
    "instrument": Key(text, _P1),
    "readings": Key(whole, _LADDER),
    "reference_uncertainty": Key(_MASS, '"4 lb"'),
    "reference_span_uncertainty": Key(_SHARE),
    "standard": Key(a_name),
    "reference_latitude": Key(quantity(Dimension.ANGLE, Bound.LATITUDE)),
    "reference_elevation": Key(quantity(Dimension.LENGTH, most=HIGHEST)),
    "small_weight": Key(_POSITIVE),
}


_EMPTY = "shows no load; what is compared must stand on the instrument"


# -- one against another -----------------------------------------------------------------------------------------------


def _round(sheet: Sheet, path: KeyPath, values: _Values) -> RoundTest | None:
    at = (*path, "readings")
    table = as_table(values["readings"])
    if table is None:
        sheet.fault(at, "is not a table; write { p1 = [4980, 5000], p2 = [5000, 5000] }", values["readings"])
        return None
    if len(table) < 2:
        sheet.fault(at, f"has {len(table)} instrument; the same load goes to two or more", values["readings"])
        return None
    found: dict[str, tuple[float, ...]] = {}
    for name, raw in table.items():
        instrument = _instrument(sheet, (*at, name), name)
        if instrument is None:
            continue
        items = raw if as_list(raw) is not None else [raw]
        read = _readings(sheet, (*at, name), items, instrument, least=1)
        if read is not None and min(read) <= 0.0:
            sheet.fault((*at, name), _EMPTY, raw)
        elif read is not None:
            found[name] = read
    return RoundTest(found, values.get("label", "")) if len(found) == len(table) else None


def _permuted(sheet: Sheet, path: KeyPath, values: _Values) -> PermutedTest | None:
    at = (*path, "drafts")
    items = _list(sheet, at, values["drafts"], least=2, what="drafts")
    if items is None:
        return None
    drafts = [_draft(sheet, (*at, place), item) for place, item in enumerate(items)]
    if any(draft is None for draft in drafts):
        return None
    sound = tuple(draft for draft in drafts if draft is not None)
    for number, draft in enumerate(sound):
        if draft.keys() != sound[0].keys():
            message = f"has other places than the first draft ({listed(sound[0])}); every draft reads the same ones"
            sheet.fault((*at, number), message, listed(draft))
            return None
    seen: dict[str, set[str]] = {}
    for draft in sound:
        for place, (name, _) in draft.items():
            seen.setdefault(place, set()).add(name)
    if all(len(names) < 2 for names in seen.values()):
        sheet.fault(at, "has the same instrument on each place in every draft; exchange them, or nothing is compared")
        return None
    return PermutedTest(sound, values.get("label", ""))


def _draft(sheet: Sheet, path: KeyPath, raw: Any) -> dict[str, tuple[str, float]] | None:
    table = as_table(raw)
    if not table:
        sheet.fault(path, 'is not a draft; write { "1L" = ["p1", 2960], "1R" = ["p2", 2980] }', raw)
        return None
    found: dict[str, tuple[str, float]] = {}
    for place, item in table.items():
        pair = as_list(item)
        if pair is None or len(pair) != 2 or not isinstance(pair[0], str):
            sheet.fault((*path, place), 'is not a reading; write the instrument and what it showed, ["p1", 2960]', item)
            continue
        instrument = _instrument(sheet, (*path, place, 0), pair[0])
        shown = None if instrument is None else read_load(sheet, (*path, place, 1), pair[1], instrument)
        if pair[0] in [name for name, _ in found.values()]:
            sheet.fault((*path, place, 0), "stands on two places of one draft", pair[0])
        elif shown is not None and shown <= 0.0:
            sheet.fault((*path, place, 1), _EMPTY, pair[1])
        elif shown is not None:
            found[place] = (pair[0], shown)
    return found if len(found) == len(table) else None


# -- one load ----------------------------------------------------------------------------------------------------------


def _loaded(sheet: Sheet, path: KeyPath, values: _Values) -> Instrument | None:
    """The instrument of a test on one load, which it must be able to carry."""
    instrument = _instrument(sheet, (*path, "instrument"), values["instrument"])
    if instrument is None:
        return None
    sound = _under_capacity(sheet, (*path, "load"), values["load"], instrument, _shown(sheet, values["load"]))
    return instrument if sound else None


def _shown(sheet: Sheet, load: float) -> str:
    return f"{sheet.units.show(load, Dimension.MASS):.10g} {sheet.units.mass}"


def _eccentric(sheet: Sheet, path: KeyPath, values: _Values) -> EccentricTest | None:
    instrument, at = _loaded(sheet, path, values), (*path, "readings")
    table = as_table(values["readings"])
    if table is None or len(table) < 2:
        message = "is not a table of two places or more; write { centre = 5000, front = 5000, rear = 5020 }"
        sheet.fault(at, message, values["readings"])
        return None
    if instrument is None:
        return None
    read = {place: read_load(sheet, (*at, place), raw, instrument) for place, raw in table.items()}
    if None in read.values():
        return None
    share = values.get("mass_uncertainty")
    load_u = None if share is None else share * values["load"]
    sound = {place: value for place, value in read.items() if value is not None}
    return EccentricTest(instrument.id, values["load"], load_u, sound, values.get("label", ""))


def _repeats(sheet: Sheet, path: KeyPath, values: _Values) -> RepeatTest | None:
    instrument = _loaded(sheet, path, values)
    read = None if instrument is None else _readings(sheet, (*path, "readings"), values["readings"], instrument)
    if instrument is None or read is None:
        return None
    return RepeatTest(instrument.id, values["load"], read, values.get("label", ""))


def _zero_return(sheet: Sheet, path: KeyPath, values: _Values) -> ZeroReturnTest | None:
    instrument = _loaded(sheet, path, values)
    if instrument is None:
        return None
    before = read_load(sheet, (*path, "before"), values["before"], instrument, signed=True)
    after = read_load(sheet, (*path, "after"), values["after"], instrument, signed=True)
    if before is None or after is None:
        return None
    return ZeroReturnTest(instrument.id, values["load"], before, after, values.get("label", ""))


def _small(sheet: Sheet, path: KeyPath, values: _Values) -> SmallMassTest | None:
    instrument = _instrument(sheet, (*path, "instrument"), values["instrument"])
    if instrument is None:
        return None
    without = _readings(sheet, (*path, "without"), values["without"], instrument)
    together = _readings(sheet, (*path, "with"), values["with"], instrument)
    if without is None or together is None:
        return None
    mass = values["mass"]
    return SmallMassTest(
        instrument.id, mass, mass * values["mass_uncertainty"], without, together, values.get("label", "")
    )


_HEAVY = '"5000 lb"'
_MANY = "[5000, 5020, 5000]"
_READERS: dict[str, _Reader] = {
    _Kind.MASSES: _Reader("a test with known masses", _MASS_KEYS, _loads),
    _Kind.REFERENCE: _Reader("a test against a reference scale", _REFERENCE_KEYS, _loads),
    _Kind.ROUND: _Reader(
        "a load walked round", {"readings": Key(whole, "{ p1 = [4980, 5000], p2 = [5000, 5000] }")}, _round
    ),
    _Kind.PERMUTED: _Reader(
        "a test with permuted places", {"drafts": Key(whole, '[{ "1L" = ["p1", 2960] }, ...]')}, _permuted
    ),
    _Kind.ECCENTRIC: _Reader(
        "an eccentric test",
        {
            "instrument": Key(text, _P1),
            "load": Key(_POSITIVE, _HEAVY),
            "mass_uncertainty": Key(_SHARE),
            "readings": Key(whole, "{ centre = 5000, front = 5000 }"),
        },
        _eccentric,
    ),
    _Kind.REPEATS: _Reader(
        "a test of repeats",
        {"instrument": Key(text, _P1), "load": Key(_POSITIVE, _HEAVY), "readings": Key(whole, _MANY)},
        _repeats,
    ),
    _Kind.ZERO_RETURN: _Reader(
        "a test of the return to zero",
        {
            "instrument": Key(text, _P1),
            "load": Key(_POSITIVE, _HEAVY),
            "before": Key(whole, "0"),
            "after": Key(whole, "0"),
        },
        _zero_return,
    ),
    _Kind.SMALL_MASS: _Reader(
        "a test with a small mass",
        {
            "instrument": Key(text, _P1),
            "mass": Key(_POSITIVE, '"8 lb"'),
            "mass_uncertainty": Key(_SHARE, '"0.01 %"'),
            "without": Key(whole, _MANY),
            "with": Key(whole, _MANY),
        },
        _small,
    ),
}
