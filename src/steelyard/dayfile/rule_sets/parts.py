"""The keys of the forms on tyres, couplings and labels; ``requirements.road.parts`` has what each form means."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key
from steelyard.dayfile.values import Bound, amount, choice
from steelyard.units import Dimension


class PlateValue(StrEnum):
    """The values that the plate of a coupling may have."""

    D = "d"
    DC = "dc"
    V = "v"
    S = "s"
    U = "u"


class Masses(StrEnum):
    """The masses that a coupling is asked to hold."""

    PERMISSIBLE = "permissible"
    WEIGHED = "weighed"


_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_PRESSURE = amount(Dimension.PRESSURE, Bound.POSITIVE)
_DIVISOR = amount(Dimension.SHARE, Bound.POSITIVE, most=10.0)


def _divisor(sheet: Sheet, path: KeyPath, raw: Any) -> float | None:
    """A number [1] by which a marked load is divided, and never made larger."""
    found = _DIVISOR(sheet, path, raw)
    if found is not None and found < 1.0:
        sheet.fault(path, 'is under 100 %, by which a load would grow; write for example "110 %"', raw)
        return None
    return found


_OCCUPANT = {"occupant": Key(_MASS, '"150 lb"')}

PART_KEYS: Mapping[str, Mapping[str, Key]] = {
    "tyre_load": {"divisor": Key(_divisor)},
    "tyre_pressure": {
        "split": Key(_MASS, '"4000 lb"'),
        "light": Key(_PRESSURE, '"5 psi"'),
        "heavy": Key(_PRESSURE, '"15 psi"'),
    },
    "label_gvwr": _OCCUPANT,
    "label_axles": {},
    "label_seats": _OCCUPANT,
    "label_payload": {},
    "roof_load": {},
    "coupling_strength": {
        "value": Key(choice(PlateValue), '"d"'),
        "masses": Key(choice(Masses), '"permissible"'),
    },
    "centre_axle": {
        "share": Key(amount(Dimension.SHARE, Bound.SHARE), '"10 %"'),
        "load": Key(_MASS, '"1000 kg"'),
    },
}
