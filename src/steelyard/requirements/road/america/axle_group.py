"""The form ``axle_group``: what neighbouring axles may weigh together where their spread lies within bounds."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.requirements.road.america.spread_limits import limits_by_spread
from steelyard.requirements.road.america.spread_steps import Band
from steelyard.requirements.road.ruling import AskedRule, Ruling


def axle_group(asked: AskedRule) -> Iterator[Ruling]:
    """The rule's ``limit`` [kg] on every group spread over more than ``over`` and at most ``upto`` [m].

    Without ``over`` every single axle is such a group too. Groups run across couplings. A rule set may have several
    such rules, for spreads that follow upon one another, and a bridge formula above them.
    """
    yield from limits_by_spread(asked, Band.of(asked.values).holds)
