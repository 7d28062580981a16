"""Forms that limit weights by the number of axles, their tyres and their spread, by lengths, plates and papers.

The rules of the United Kingdom, Canada and Australia use them, and others may. Begin at ``axle_units.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.weights.axle_units import axle_units
from steelyard.requirements.road.weights.by_axles import combination_by_axles, gross_by_axles
from steelyard.requirements.road.weights.by_length import gross_by_kingpin
from steelyard.requirements.road.weights.plates import half_kerb, plate, trailer_mass

__all__ = ["WEIGHT_FORMS"]

WEIGHT_FORMS: Mapping[str, Callable[[AskedRule], Iterator[Ruling]]] = {
    "axle_units": axle_units,
    "gross_by_axles": gross_by_axles,
    "combination_by_axles": combination_by_axles,
    "gross_by_kingpin": gross_by_kingpin,
    "plate": plate,
    "half_kerb": half_kerb,
    "trailer_mass": trailer_mass,
}
