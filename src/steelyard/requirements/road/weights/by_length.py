"""Limits that grow with a length by so many kilograms a metre, rounded up to a step; and the form ``gross_by_kingpin``.

Source: UK SI 1998/3111 as made, schedules 1 and 2: the product of a factor and a distance in metres, rounded up to the
nearest 10 kg, where that is less than the fixed figure. The figures come from the rule set.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from steelyard.conformity import LimitCurve
from steelyard.model import CouplingType, FindingId
from steelyard.requirements.road.europe.asked import not_of_class
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit

_NEAR = 0.05
"""So far from the taped length [m] every step is kept; farther off, the line through their lower ends is used."""
_DUST = 1e-7
"""Part of a step by which a product of converted figures may exceed a whole number of steps and still be that."""


def rounded_up(kilograms: float, step: float | None) -> float:
    """The least multiple of a step [kg] that is not under a mass [kg]; without a step the mass itself."""
    return kilograms if step is None else math.ceil(kilograms / step - _DUST) * step


def by_length(finding: FindingId, length: float, *, rate: float, step: float | None, most: float) -> LimitCurve:
    """The limit [kg] over a length [m]: ``rate`` [kg/m] times it, rounded up to ``step``, at most ``most`` [kg]."""
    whole = most / rate
    near: list[int] = []
    if step is not None:
        first = max(math.ceil((length - _NEAR) * rate / step), 1)
        near = list(range(first, math.ceil(min(length + _NEAR, whole) * rate / step - _DUST)))
    if not near or step is None:
        return LimitCurve(str(finding), (whole,), ((0.0, rate), (most, 0.0)), (False,))
    breaks = [count * step / rate for count in near]
    pieces = [(0.0, rate), *((min((count + 1) * step, most), 0.0) for count in near)]
    if pieces[-1] != (most, 0.0):
        breaks.extend(((near[-1] + 1) * step / rate, whole))
        pieces.extend(((0.0, rate), (most, 0.0)))
    return LimitCurve(str(finding), tuple(breaks), tuple(pieces), (False,) * len(breaks))


def articulated(unit: RoadUnit) -> bool:
    """Whether a unit is a motor vehicle with one trailer, which a fifth wheel carries in front."""
    if unit.towing is None or len(unit.links) != 1:
        return False
    return unit.towing.couplings[unit.links[0].at].type is CouplingType.FIFTH_WHEEL


def gross_by_kingpin(asked: AskedRule) -> Iterator[Ruling]:
    """The limit on an articulated vehicle, by the distance from the kingpin to its last axle.

    The limit is ``by_length`` [kg/m] times that distance as taped, rounded up to ``rounded_up_to`` [kg].
    """
    for unit in asked.train.units:
        if not articulated(unit):
            note = "it is not a motor vehicle with one trailer on a fifth wheel"
            yield asked.silent(unit.owner, subject=unit.title, note=note)
            continue
        refused = not_of_class(asked, unit.vehicles[0], asked.values.get("classes", ()))
        if refused is not None:
            yield refused
            continue
        length = unit.vehicles[1].axles[-1].x.value
        limit = rounded_up(length * asked.values["by_length"], asked.values.get("rounded_up_to"))
        note = f"{length:.2f} m from the kingpin to the last axle as taped; the doubt of this length is not counted"
        yield asked.limit(unit.gross, limit, subject=unit.title, note=note)
