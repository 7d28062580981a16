"""Forms of the rules of the United States: axles by their spread, bridge formula, licence and carrier by weight.

Begin at ``spread_steps.py`` (the limit as a step function of the spread), then ``rated.py`` (the rating of a
combination). A rule set elsewhere may use them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from steelyard.requirements.road.america.axle_group import axle_group
from steelyard.requirements.road.america.bridge import bridge
from steelyard.requirements.road.america.carrier import carrier_us
from steelyard.requirements.road.america.licence import licence_us
from steelyard.requirements.road.ruling import AskedRule, Ruling

__all__ = ["AMERICAN_FORMS"]

AMERICAN_FORMS: Mapping[str, Callable[[AskedRule], Iterator[Ruling]]] = {
    "axle_group": axle_group,
    "bridge": bridge,
    "licence_us": licence_us,
    "carrier_us": carrier_us,
}
