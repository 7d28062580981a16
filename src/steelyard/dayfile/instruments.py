"""Reads ``[instruments.*]``."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet
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
}

# What a broken instrument is taken for, so that its readings are not faults as well.
_UNBOUNDED: dict[str, Any] = {"kind": InstrumentKind.PLATFORM, "capacity": math.inf, "division": 0.0}


def read_instruments(sheet: Sheet, raw: Any) -> None:
    """Read all instruments onto the sheet."""
    for key, table in named_tables(sheet, ("instruments",), raw, what="each instrument"):
        values = read_table(sheet, ("instruments", key), table, INSTRUMENT_KEYS, what="an instrument")
        check_instrument(sheet, ("instruments", key), as_table(table) or {}, values)
        sheet.instruments[key] = Instrument(id=key, **(_UNBOUNDED | values))
    _share_sets(sheet, as_table(raw) or {})


def check_instrument(sheet: Sheet, path: KeyPath, raw: dict[str, Any], values: dict[str, Any]) -> None:
    """Enter the faults of an instrument's keys against one another; what cannot stand is taken out of ``values``."""
    capacity, division = values.get("capacity"), values.get("division")
    if capacity is not None and division is not None and division > capacity:
        sheet.fault((*path, "division"), "is more than the capacity; it must be a small part of it", raw["division"])
        del values["division"]
    verified, due = values.get("verified"), values.get("due")
    if verified is not None and due is not None and due < verified:
        sheet.fault((*path, "due"), f"is before it was verified, on {verified.isoformat()}; correct one of them", due)
    if "set_uncertainty" in raw and "set" not in raw:
        message = 'needs a set; name the instruments that were verified together, for example set = "a"'
        sheet.fault((*path, "set_uncertainty"), message, raw["set_uncertainty"])


def _share_sets(sheet: Sheet, raw: dict[str, Any]) -> None:
    """Give each member of a set the uncertainty that one of them states; they must not state two."""
    stated: dict[str, Instrument] = {}
    for item in sheet.instruments.values():
        if item.set is None or item.set_uncertainty == 0.0:
            continue
        first = stated.setdefault(item.set, item)
        if first.set_uncertainty != item.set_uncertainty:
            message = f"differs from that of {first.id!r} in the same set; a set shares one uncertainty"
            sheet.fault(("instruments", item.id, "set_uncertainty"), message, raw[item.id]["set_uncertainty"])
    for key, item in sheet.instruments.items():
        if item.set in stated:
            sheet.instruments[key] = replace(item, set_uncertainty=stated[item.set].set_uncertainty)
