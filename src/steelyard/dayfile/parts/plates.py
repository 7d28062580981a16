"""Reads and writes ``marked``: the values on the plates of a coupling, of each of its parts."""

from __future__ import annotations

from typing import Any

from steelyard.dayfile.fault import KeyPath, listed, quoted
from steelyard.dayfile.parts.tyres import Amount
from steelyard.dayfile.sheet import Sheet, repeated
from steelyard.dayfile.tables import Key, read_table
from steelyard.dayfile.values import Bound, amount, as_list, as_table, words
from steelyard.model import CouplingType, Marked
from steelyard.units import Dimension

_FORCE = amount(Dimension.FORCE, Bound.POSITIVE)
_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_VALUES = {
    "d": Dimension.FORCE,
    "dc": Dimension.FORCE,
    "v": Dimension.FORCE,
    "s": Dimension.MASS,
    "u": Dimension.MASS,
}
_KEYS = {
    "part": Key(words),
    "d": Key(_FORCE),
    "dc": Key(_FORCE),
    "v": Key(_FORCE),
    "s": Key(_MASS),
    "u": Key(_MASS),
}
_MOST_PARTS = 20
_EXAMPLE = 'marked = { d = "10.4 kN", s = "100 kg" }, or a list of these, each with its part'


def read_marked(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[Marked, ...] | None:
    """One plate, or a list of the plates of several parts."""
    plates = as_list(raw)
    if as_table(raw) is None and not plates:
        sheet.fault(path, f"is not what plates are marked with; write {_EXAMPLE}", raw)
        return None
    if plates is not None and len(plates) > _MOST_PARTS:
        sheet.fault(path, f"has {len(plates)} parts; a coupling has at most {_MOST_PARTS} here")
        return None
    rows = [(path, raw)] if plates is None else [((*path, index), item) for index, item in enumerate(plates)]
    found: list[Marked] = []
    for place, row in rows:
        table = as_table(row)
        values = read_table(sheet, place, row, _KEYS, what="the plate of a coupling")
        if table is not None and not table.keys() & _VALUES.keys():
            sheet.fault(place, f"has no value of a plate; these are {listed(_VALUES)}, as in {_EXAMPLE}", row)
        found.append(Marked(**values))
    if len(found) > 1:
        for index in repeated(item.part for item in found):
            part = found[index].part
            told = "has no part, as has another of the list" if not part else "is the part of an earlier plate"
            where = rows[index][0] if not part else (*rows[index][0], "part")
            sheet.fault(where, f'{told}; name each part once, as in part = "ball"', part or rows[index][1])
    return tuple(found)


def check_kind(sheet: Sheet, path: KeyPath, raw: Any, kind: CouplingType) -> None:
    """Enter faults for values that the plate of such a coupling does not have."""
    wheel = kind is CouplingType.FIFTH_WHEEL
    wrong = ("dc", "v", "s") if wheel else ("u",)
    has = "d and u" if wheel else "d, dc, v and s"
    plates = as_list(raw)
    rows = [(path, raw)] if plates is None else [((*path, index), item) for index, item in enumerate(plates)]
    for place, row in rows:
        table = as_table(row) or {}
        for key in (key for key in wrong if key in table):
            name = "a fifth wheel" if wheel else f"a {kind}"
            sheet.fault((*place, key), f"does not stand on the plate of {name}, which has {has}", table[key])


def write_marked(plates: tuple[Marked, ...], amount_text: Amount) -> list[dict[str, str | None]]:
    """The values of each plate by key, as TOML text."""
    return [
        {"part": quoted(item.part) if item.part else None}
        | {key: amount_text(getattr(item, key), dimension) for key, dimension in _VALUES.items()}
        for item in plates
    ]
