"""The form ``carrier_us``: whether the weights bring a vehicle under the rules for motor carriers."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import Sense
from steelyard.requirements.road.america.rated import Rated, parked, reaches, weighed_limits
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.units import Dimension

APPLY = "49 CFR parts 390 to 399 apply"
BELOW = "below the threshold by the ratings"


def carrier_us(asked: AskedRule) -> Iterator[Ruling]:
    """Whether the GVWR, or the GCWR of a combination, is the rule's ``limit`` [kg] or more; weighed loads, softly.

    Source: 49 CFR 390.5. It is no limit: a heavier vehicle may drive, and further rules hold for it.
    """
    limit = asked.values["limit"]
    for unit in asked.train.units:
        if unit.towing is None:
            yield parked(asked, unit)
            continue
        rated = Rated(unit.vehicles)
        if reaches(rated.least, limit):
            paper = Paper(rated.least, None, Sense.MAX, Dimension.MASS, None, APPLY)
            yield asked.compare(unit.owner, paper, subject=unit.title)
        elif rated.needs:
            yield asked.missing(unit.owner, *rated.needs, subject=unit.title)
        else:
            paper = Paper(rated.least, None, Sense.MAX, Dimension.MASS, None, BELOW)
            yield asked.compare(unit.owner, paper, subject=unit.title)
            for measurand, title, most in weighed_limits(unit, rated, limit):
                subject = f"{title} as weighed, to stay below"
                yield asked.limit(measurand, most, subject=subject, note="the law counts the actual weight too")
