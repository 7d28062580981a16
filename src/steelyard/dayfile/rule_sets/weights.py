"""The keys of the forms that limit weights by axles, tyres, spreads, lengths, plates and papers.

``requirements.road.weights`` has what each form means.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.papers import read_class
from steelyard.dayfile.rule_sets.rows import axle_count, list_of, rows_of
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key
from steelyard.dayfile.values import Bound, amount, as_list, choice, flag
from steelyard.units import Dimension

_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_LENGTH = amount(Dimension.LENGTH, Bound.POSITIVE)
_RATE = amount(Dimension.RATE, Bound.POSITIVE)
_CLASSES = Key(list_of(read_class, example='["N2", "N3"]'))


class _TyresAbreast(StrEnum):
    SINGLE = "single"
    DUAL = "dual"


class _AxlePlace(StrEnum):
    FRONT = "front"
    OTHER = "other"


class _VehicleKind(StrEnum):
    MOTOR_VEHICLE = "motor_vehicle"
    TRAILER = "trailer"
    SEMI_TRAILER = "semi_trailer"


_BOUNDS = ("from", "over", "under", "upto")
_WIDTHS = ("width_from", "width_under")
_UNIT = {
    "axles": Key(axle_count, "2"),
    "limit": Key(_MASS, '"18000 kg"'),
    **{key: Key(_LENGTH) for key in (*_BOUNDS, *_WIDTHS)},
    "tyres": Key(choice(_TyresAbreast)),
    "place": Key(choice(_AxlePlace)),
}
_VEHICLE = {
    "vehicle": Key(choice(_VehicleKind), '"motor_vehicle"'),
    "axles": Key(axle_count, "2"),
    "limit": Key(_MASS, '"18000 kg"'),
    "twin_limit": Key(_MASS),
    "by_length": Key(_RATE),
}
_COMBINATION = {
    "axles": Key(axle_count, "4"),
    "limit": Key(_MASS, '"36000 kg"'),
    "short_limit": Key(_MASS),
}
_UNIT_ROW = '[{ axles = 2, from = "1 m", under = "2 m", limit = "16500 kg" }]'
_VEHICLE_ROW = '[{ vehicle = "motor_vehicle", axles = 2, limit = "18000 kg" }]'
_COMBINATION_ROW = '[{ axles = 4, limit = "36000 kg", short_limit = "30000 kg" }]'


def _unit_rows(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[dict[str, Any], ...] | None:
    """The rows for axle units; bounds that hold no spread or no width are a fault."""
    rows = rows_of(_UNIT, what="a row", example=_UNIT_ROW)(sheet, path, raw)
    for index, row in enumerate(rows or ()):
        written = (as_list(raw) or [])[index]
        for low, high in (*((low, high) for low in ("from", "over") for high in ("under", "upto")), _WIDTHS):
            if low in row and high in row and row[low] >= row[high]:
                message = f"is not more than {low} = {written[low]}, so that the row holds nothing"
                sheet.fault((*path, index, high), message, written[high])
        for key in _BOUNDS if row.get("axles") == 1 else ():
            if key in written:
                message = "is the bound of a spread, and one axle has none; leave it out"
                sheet.fault((*path, index, key), message, written[key])
    return rows


WEIGHT_KEYS: Mapping[str, Mapping[str, Key]] = {
    "axle_units": {
        "steps": Key(_unit_rows, _UNIT_ROW),
        "classes": _CLASSES,
        "articulated": Key(flag),
        "by_width": Key(_RATE),
        "front_by_width": Key(_RATE),
    },
    "gross_by_axles": {
        "steps": Key(rows_of(_VEHICLE, what="a row", example=_VEHICLE_ROW), _VEHICLE_ROW),
        "rounded_up_to": Key(_MASS),
        "classes": _CLASSES,
    },
    "combination_by_axles": {
        "steps": Key(rows_of(_COMBINATION, what="a row", example=_COMBINATION_ROW), _COMBINATION_ROW),
        "short": Key(_LENGTH, '"3 m"'),
        "classes": _CLASSES,
    },
    "gross_by_kingpin": {
        "by_length": Key(_RATE, '"5500 kg/m"'),
        "rounded_up_to": Key(_MASS),
        "classes": _CLASSES,
    },
    "plate": {"classes": _CLASSES, "trailer_over": Key(_MASS)},
    "half_kerb": {
        "share": Key(amount(Dimension.SHARE, Bound.SHARE), '"50 %"'),
        "classes": _CLASSES,
    },
    "trailer_mass": {"most": Key(_MASS), "unbraked": Key(flag)},
}
