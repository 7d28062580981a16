"""Forms of the rules of Europe: classes of vehicles, papers, axles by their spacing. A rule set elsewhere may use them.

Begin at ``asked.py`` (the class and the papers of a vehicle), then ``licence.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from steelyard.requirements.road.europe.allowance import towing_allowance
from steelyard.requirements.road.europe.coupling_load import coupling_load_by_mass, coupling_plates
from steelyard.requirements.road.europe.drive_share import drive_axle_share
from steelyard.requirements.road.europe.front_share import front_share
from steelyard.requirements.road.europe.gross_axles import gross_by_axle_count, gross_by_metre
from steelyard.requirements.road.europe.licence import licence_by_mass
from steelyard.requirements.road.europe.paper_checks import (
    class_mass,
    combination_papers,
    coupling_capability,
    running_order,
    trailer_sum,
)
from steelyard.requirements.road.europe.pay_mass import pay_mass
from steelyard.requirements.road.europe.spacing import axle_single, axle_spacing
from steelyard.requirements.road.europe.towable import towable
from steelyard.requirements.road.europe.train_mass import combination_less_coupling
from steelyard.requirements.road.ruling import AskedRule, Ruling

__all__ = ["EUROPEAN_FORMS"]

EUROPEAN_FORMS: Mapping[str, Callable[[AskedRule], Iterator[Ruling]]] = {
    "axle_single": axle_single,
    "axle_spacing": axle_spacing,
    "class_mass": class_mass,
    "combination_less_coupling": combination_less_coupling,
    "combination_papers": combination_papers,
    "coupling_capability": coupling_capability,
    "coupling_load_by_mass": coupling_load_by_mass,
    "coupling_plates": coupling_plates,
    "drive_axle_share": drive_axle_share,
    "front_share": front_share,
    "gross_by_axle_count": gross_by_axle_count,
    "gross_by_metre": gross_by_metre,
    "licence_by_mass": licence_by_mass,
    "pay_mass": pay_mass,
    "running_order": running_order,
    "towable": towable,
    "towing_allowance": towing_allowance,
    "trailer_sum": trailer_sum,
}
