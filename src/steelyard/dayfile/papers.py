"""Reads the class and the papers of a vehicle, which rules of the road ask for."""

from __future__ import annotations

from typing import Any

from steelyard.dayfile.fault import KeyPath, listed, suggest
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, read_table
from steelyard.dayfile.values import Bound, amount, choice, flag
from steelyard.model import Brakes, LabelType, Papers, Role
from steelyard.units import Dimension

CLASSES = ("M1", "M2", "M3", "N1", "N2", "N3", "O1", "O2", "O3", "O4")
"""Classes of vehicles, (EU) 2018/858, Article 4: M carries people, N goods, O is a trailer."""

_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_MOST_SEATS = 200


def read_class(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    """A class of vehicles."""
    if isinstance(raw, str) and raw in CLASSES:
        return raw
    near = suggest(raw, CLASSES, "") if isinstance(raw, str) else ""
    sheet.fault(path, f"is not a class of vehicles; {near + ' ' if near else ''}the classes are {listed(CLASSES)}", raw)
    return None


def read_papers(sheet: Sheet, path: KeyPath, raw: Any) -> dict[str, Any] | None:
    """The table of papers, by key."""
    return read_table(sheet, path, raw, _KEYS, what="the table of papers")


def papers_of(sheet: Sheet, path: KeyPath, category: str, values: dict[str, Any], role: Role | None) -> Papers:
    """The papers of a vehicle, with a fault for a class that its role cannot have."""
    if category and role is not None and category.startswith("O") is not (role is Role.TRAILER):
        wanted = "O1 to O4 are trailers" if role is Role.TRAILER else "M and N are motor vehicles"
        sheet.fault((*path, "class"), f'does not go with role = "{role}"; {wanted}', category)
    if "type" in values and role is Role.TRAILER:
        message = "is only for a towing vehicle: the certification label of a trailer says trailer; leave it out"
        sheet.fault((*path, "papers", "type"), message, str(values["type"]))
    return Papers(category=category, **values)


def count(sheet: Sheet, path: KeyPath, raw: Any) -> int | None:
    """A number of places for people."""
    if isinstance(raw, int) and not isinstance(raw, bool) and 0 <= raw <= _MOST_SEATS:
        return raw
    sheet.fault(path, f"is not a number of places; write a whole number from 0 to {_MOST_SEATS}, without quotes", raw)
    return None


_KEYS = {
    "seats": Key(count),
    "berths": Key(count),
    "running_order": Key(_MASS),
    "kerb": Key(_MASS),
    "braked": Key(_MASS),
    "unbraked": Key(_MASS),
    "coupling": Key(_MASS),
    "length": Key(amount(Dimension.LENGTH, Bound.POSITIVE)),
    "brakes": Key(choice(Brakes)),
    "off_road": Key(flag),
    "roof": Key(_MASS),
    "load_length": Key(amount(Dimension.LENGTH, Bound.POSITIVE)),
    "type": Key(choice(LabelType)),
}
