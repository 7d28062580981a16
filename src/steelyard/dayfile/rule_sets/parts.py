"""The keys of the forms on tyres, couplings and labels; ``requirements.road.parts`` has what each form means."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

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
_OCCUPANT = {"occupant": Key(_MASS, '"150 lb"')}

PART_KEYS: Mapping[str, Mapping[str, Key]] = {
    "tyre_load": {"divisor": Key(amount(Dimension.SHARE, Bound.POSITIVE, most=10.0))},
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
