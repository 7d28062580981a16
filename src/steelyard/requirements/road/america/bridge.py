"""The form ``bridge``: the federal bridge formula of the United States, for every group of neighbouring axles."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.requirements.road.america.spread_limits import limits_by_spread
from steelyard.requirements.road.america.spread_steps import over
from steelyard.requirements.road.ruling import AskedRule, Ruling


def bridge(asked: AskedRule) -> Iterator[Ruling]:
    """A limit [kg] on every group of two or more axles spread over more than ``over`` [m], across couplings too.

    Source: 23 USC 127(a)(2); 23 CFR 658.5, 658.17(e): W = 500 (L N/(N - 1) + 12 N + 36) lb to the nearest 500 lb, L in
    ft. The rule names how W and L are rounded, and what the published table says otherwise. Whether a group of four is
    two tandems is taken from the spreads as taped, without their doubt.
    """
    start = asked.values["over"]
    yield from limits_by_spread(asked, lambda spread, axles: axles > 1 and over(spread, start))
