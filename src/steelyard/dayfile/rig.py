"""The sections that many days of one rig share to the letter, instruments to states: read once, then kept.

A part with a fault is never kept, so that its messages are made anew each time.
"""

from __future__ import annotations

from dataclasses import field
from functools import lru_cache
from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.cargo import read_cargo
from steelyard.dayfile.instruments import read_instruments
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.states import read_states
from steelyard.dayfile.vehicles import read_vehicles
from steelyard.units import UnitSystem

_READERS = {
    "instruments": read_instruments,
    "vehicles": read_vehicles,
    "cargo": read_cargo,
    "states": read_states,
}
_LONGEST = 50_000  # letters of what is kept: a rig has some thousand
_MOST = 64


def read_rig(sheet: Sheet, values: dict[str, Any]) -> None:
    """Read instruments, vehicles, cargo and states onto the sheet; the units must be there."""
    raw = {section: values[section] for section in _READERS if section in values}
    text = repr(raw)  # unlike the values themselves it tells true from 1 and 1 from 1.0
    if len(text) > _LONGEST or not sheet.sound:
        _read(sheet, raw)
        return
    try:
        kept = _kept(_Written(text, sheet.units, raw))
    except _FaultyError:
        _read(sheet, raw)
        return
    sheet.take_rig(kept)


@dataclass(frozen=True, slots=True)
class _Written:
    """The sections as they are written, told apart by their text and their units."""

    text: str
    units: UnitSystem
    raw: dict[str, Any] = field(compare=False)


class _FaultyError(Exception):
    """A section has a fault."""


@lru_cache(maxsize=_MOST)
def _kept(written: _Written) -> Sheet:
    sheet = Sheet(units=written.units)
    _read(sheet, written.raw)
    if not sheet.sound:
        raise _FaultyError
    return sheet


def _read(sheet: Sheet, raw: dict[str, Any]) -> None:
    for section, value in raw.items():
        _READERS[section](sheet, value)
