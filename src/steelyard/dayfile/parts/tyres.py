"""Reads and writes the table ``tyre`` of an axle: the sidewall, and the pressure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from steelyard.dayfile.fault import KeyPath, quoted
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, read_table
from steelyard.dayfile.values import Bound, amount, as_table, choice, flag
from steelyard.model import Tyre, TyreKind, indexed_load
from steelyard.rules import load_indices
from steelyard.units import Dimension

Amount = Callable[[float | None, Dimension], str | None]
"""Writes an amount [SI] with its unit; None for None."""

_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_PRESSURE = amount(Dimension.PRESSURE, Bound.POSITIVE)
_PAIRS = (("load", "index"), ("dual_load", "dual_index"))


def read_tyre(sheet: Sheet, path: KeyPath, raw: Any) -> Tyre | None:
    """The tyres of an axle."""
    table = as_table(raw)
    values = read_table(sheet, path, raw, _KEYS, what="a tyre")
    if table is None:
        return None
    for load, index in _PAIRS:
        if load in values and index in values:
            _check_index(sheet, (*path, index), values[load], values[index])
    tyre = Tyre(**values)
    if tyre.single is not None and tyre.beside is not None and tyre.beside > tyre.single * (1 + 1e-9):
        key = next(key for key in _PAIRS[1] if key in table)
        message = f"is more than a single tyre carries ({_shown(sheet, tyre.single)}); one beside another carries less"
        sheet.fault((*path, key), message, table[key])
    if "hot" in table and "measured" not in table:
        sheet.fault((*path, "hot"), "has no pressure beside it that was measured hot; give measured too", table["hot"])
    return tyre


def _check_index(sheet: Sheet, path: KeyPath, load: float, index: int) -> None:
    """A load and an index of one sidewall name the same load, to the step from one index to the next."""
    table = load_indices()
    low, high = (table.get(index + step, table[index]) for step in (-1, 1))
    near = 0.005  # of the load: a sidewall rounds its pounds and kilograms, and drops half a kilogram
    if low * (1 - near) <= load <= high * (1 + near):
        return
    key = path[-1]
    other = str(key).replace("index", "load")
    message = (
        f"means {_shown(sheet, table[index])}, but {other} says {_shown(sheet, load)}; a sidewall has both and they "
        "agree to one step of the index: read it again, or leave one out"
    )
    sheet.fault(path, message, index)


def _shown(sheet: Sheet, mass: float) -> str:
    return f"{sheet.units.show(mass, Dimension.MASS):.0f} {sheet.units.symbol(Dimension.MASS)}"


def _read_index(sheet: Sheet, path: KeyPath, raw: Any) -> int | None:
    if isinstance(raw, int) and not isinstance(raw, bool) and indexed_load(raw) is not None:
        return raw
    known = load_indices()
    sheet.fault(
        path, f"is not a load index; write a whole number from {min(known)} to {max(known)}, without quotes", raw
    )
    return None


def write_tyre(tyre: Tyre, amount_text: Amount) -> dict[str, str | None]:
    """The values of the table by key, as TOML text."""
    return {
        "load": amount_text(tyre.load, Dimension.MASS),
        "dual_load": amount_text(tyre.dual_load, Dimension.MASS),
        "index": None if tyre.index is None else str(tyre.index),
        "dual_index": None if tyre.dual_index is None else str(tyre.dual_index),
        "kind": None if tyre.kind is None else quoted(tyre.kind),
        "pressure": amount_text(tyre.pressure, Dimension.PRESSURE),
        "measured": amount_text(tyre.measured, Dimension.PRESSURE),
        "hot": "true" if tyre.hot else None,
        "width": amount_text(tyre.width, Dimension.LENGTH),
    }


_KEYS = {
    "load": Key(_MASS),
    "dual_load": Key(_MASS),
    "index": Key(_read_index),
    "dual_index": Key(_read_index),
    "kind": Key(choice(TyreKind)),
    "pressure": Key(_PRESSURE),
    "measured": Key(_PRESSURE),
    "hot": Key(flag),
    "width": Key(amount(Dimension.LENGTH, Bound.POSITIVE, most=1.0)),
}
