"""Reads ``[instruments.*]``."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet, one_serial_each
from steelyard.dayfile.tables import Key, named_tables, read_table
from steelyard.dayfile.values import HIGHEST, Bound, amount, as_table, choice, date, name, quantity, text
from steelyard.model import Instrument, InstrumentKind
from steelyard.units import Dimension

MOST_SPAN = 0.1
"""The largest known error of a span [1]: what is farther off is broken, or a slip of the unit. Common practice, no
source."""

INSTRUMENT_KEYS = {
    "kind": Key(choice(InstrumentKind), '"pad"'),
    "capacity": Key(amount(Dimension.MASS, Bound.POSITIVE), '"20000 lb"'),
    "division": Key(amount(Dimension.MASS, Bound.POSITIVE), '"20 lb"'),
    "height": Key(quantity(Dimension.LENGTH, Bound.NOT_NEGATIVE, most=0.5)),
    "span_uncertainty": Key(amount(Dimension.SHARE, Bound.SHARE)),
    "repeatability": Key(amount(Dimension.MASS, Bound.NOT_NEGATIVE)),
    "zero_uncertainty": Key(amount(Dimension.MASS, Bound.NOT_NEGATIVE)),
    "set": Key(name),
    "set_uncertainty": Key(amount(Dimension.SHARE, Bound.SHARE)),
    "eccentricity": Key(amount(Dimension.SHARE, Bound.SHARE)),
    "serial": Key(text),
    "verified": Key(date),
    "verified_latitude": Key(quantity(Dimension.ANGLE, Bound.LATITUDE)),
    "verified_elevation": Key(quantity(Dimension.LENGTH, most=HIGHEST)),
    "span": Key(amount(Dimension.SHARE, Bound.ANY, most=MOST_SPAN)),
    "due": Key(date),
    "mass": Key(quantity(Dimension.MASS, Bound.NOT_NEGATIVE)),
    "standard": Key(name),
    "standard_uncertainty": Key(amount(Dimension.SHARE, Bound.SHARE)),
    "span_drift": Key(amount(Dimension.SHARE, Bound.SHARE)),
}

# What a broken instrument is taken for, so that its readings are not faults as well.
_UNBOUNDED: dict[str, Any] = {"kind": InstrumentKind.PLATFORM, "capacity": math.inf, "division": 0.0}


def read_instruments(sheet: Sheet, raw: Any) -> None:
    """Read all instruments onto the sheet."""
    for key, table in named_tables(sheet, ("instruments",), raw, what="each instrument"):
        values = read_table(sheet, ("instruments", key), table, INSTRUMENT_KEYS, what="an instrument")
        check_instrument(sheet, ("instruments", key), as_table(table) or {}, values)
        sheet.instruments[key] = Instrument(id=key, **(_UNBOUNDED | values))
    for shared in ("set", "standard"):
        _share(sheet, as_table(raw) or {}, shared)
    serials = {name_: item.serial for name_, item in sheet.instruments.items()}
    one_serial_each(sheet, "instruments", as_table(raw) or {}, serials)


def check_instrument(sheet: Sheet, path: KeyPath, raw: dict[str, Any], values: dict[str, Any]) -> None:
    """Enter the faults of an instrument's keys against one another; what cannot stand is taken out of ``values``."""
    capacity, division = values.get("capacity"), values.get("division")
    if capacity is not None and division is not None and division > capacity:
        sheet.fault((*path, "division"), "is more than the capacity; it must be a small part of it", raw["division"])
        del values["division"]
    verified, due = values.get("verified"), values.get("due")
    if verified is not None and due is not None and due < verified:
        sheet.fault((*path, "due"), f"is before it was verified, on {verified.isoformat()}; correct one of them", due)
    for key, sense in (
        ("set", "name the instruments that were verified together"),
        ("standard", "name what they were verified with, as its certificate does"),
    ):
        if f"{key}_uncertainty" in raw and key not in raw:
            message = f'needs a {key}; {sense}, for example {key} = "a"'
            sheet.fault((*path, f"{key}_uncertainty"), message, raw[f"{key}_uncertainty"])


def _share(sheet: Sheet, raw: dict[str, Any], key: str) -> None:
    """Give each member of a set, or of a standard, the uncertainty that one of them states; they must not state two."""
    doubt = f"{key}_uncertainty"
    stated: dict[str, Instrument] = {}
    for item in sheet.instruments.values():
        if getattr(item, key) is None or getattr(item, doubt) == 0.0:
            continue
        first = stated.setdefault(getattr(item, key), item)
        if getattr(first, doubt) != getattr(item, doubt):
            message = f"differs from that of {first.id!r} in the same {key}; a {key} shares one uncertainty"
            sheet.fault(("instruments", item.id, doubt), message, raw[item.id][doubt])
    for name_, item in sheet.instruments.items():
        if getattr(item, key) in stated:
            sheet.instruments[name_] = replace(item, **{doubt: getattr(stated[getattr(item, key)], doubt)})
