"""Forms of rules on parts of a vehicle: its tyres, its couplings and its label.

Begin at ``tyres.py``; ``strength.py`` has the formulas for couplings, and ``couplings.py`` asks them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from steelyard.requirements.road.parts.couplings import centre_axle, coupling_strength
from steelyard.requirements.road.parts.label import label_axles, label_gvwr, label_payload, label_seats, roof_load
from steelyard.requirements.road.parts.strength import Force, coupling_force
from steelyard.requirements.road.parts.tyres import tyre_load, tyre_pressure
from steelyard.requirements.road.ruling import AskedRule, Ruling

__all__ = ["PART_FORMS", "Force", "coupling_force"]

PART_FORMS: Mapping[str, Callable[[AskedRule], Iterator[Ruling]]] = {
    "tyre_load": tyre_load,
    "tyre_pressure": tyre_pressure,
    "label_gvwr": label_gvwr,
    "label_axles": label_axles,
    "label_seats": label_seats,
    "label_payload": label_payload,
    "roof_load": roof_load,
    "coupling_strength": coupling_strength,
    "centre_axle": centre_axle,
}
