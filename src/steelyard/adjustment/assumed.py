"""Assumptions on instruments and ground where the file says nothing, and how well a declared doubt is known."""

from __future__ import annotations

import datetime
import math

from steelyard.model import Axle, CouplingType, Instrument, InstrumentKind, Site, WeighDay

DECLARED_DOF = 60.0
"""Degrees of freedom of an unevenness or repeatability that the file declares."""

ASSUMED_DOF = 4.0
"""Degrees of freedom of one that is assumed: the readings soon outweigh it."""

PAD_SPAN = 0.01 / math.sqrt(3)
"""Span of a pad [1]. NIST Handbook 44, 2.20: acceptance tolerance of wheel-load weighers without a class mark, 1 % of
the load (half of the 2 % maintenance tolerance; from memory), as the half-width of a uniform distribution."""

PLATFORM_SPAN = 0.002 / math.sqrt(3)
"""Span of a platform [1]. NIST Handbook 44, 2.20: basic maintenance tolerance of axle and vehicle scales, 0.2 %."""

REPEATABILITY = 0.3
"""Repeatability of one reading, in divisions; common practice, no source."""

UNEVENNESS = {"concrete": 0.002, "asphalt": 0.003, "gravel": 0.005, "grass": 0.008, "dirt": 0.006}
"""Standard deviation of support heights [m] by surface; common practice, no source."""

UNEVENNESS_UNKNOWN = 0.004
"""The same where the surface is not among those known [m]."""

LADEN = 0.65
"""Load on an axle as a share of its rating, where nothing was read; common practice, no source."""

AXLE = 1500.0
"""Load on an axle without a rating [kg], where nothing was read; common practice, no source."""

ON_BALL = 0.12
"""Share of a trailer's gross on its coupling point, where nothing was read; common practice, no source."""

ON_PIN = 0.20
"""The same on a gooseneck or a fifth wheel; common practice, no source."""

HITCH_RISE = 0.05
"""Standard uncertainty of an unstated rise of a trailer's coupling point between stand and towing vehicle [m]."""

LATCHED_ROLL = 100.0
"""Standard uncertainty of the roll couple latched into a fifth wheel [kg*m]: some 60 kg from side to side."""

SLOPE = math.radians(0.1)
"""Standard uncertainty of a stated slope [rad] that gives none."""

UNSTATED_SLOPE = math.radians(1.5)
"""Standard deviation of a slope that nobody stated, where the rig was weighed both ways [rad]; common practice, no
source. What it takes from every load, as the cosine, is then under 0.04 % and left out."""

ANY_HEIGHT = 1.5
"""Root mean square height of a centre of gravity that nobody stated [m], where the readings themselves tell what the
slope does; common practice, no source."""

GRAVITY = 5e-5
"""Relative standard uncertainty of normal gravity against true gravity: anomalies of some 50 mGal; from memory."""

ELEVATION = 300.0
"""Standard uncertainty of an unstated elevation [m]."""


def laden(axle: Axle) -> float:
    """The load of an axle that no reading has [kg], for doubts that grow with load and for plans."""
    return AXLE if axle.rating is None else LADEN * axle.rating


def coupling_share(day: WeighDay, trailer: str) -> float:
    """The share of a trailer's gross on its coupling point [1], where nothing was read."""
    links = [link for state in day.states.values() for link in state.links if link.trailer == trailer]
    kinds = {day.vehicles[link.towing].couplings[link.at].type for link in links}
    return ON_PIN if kinds & {CouplingType.FIFTH_WHEEL, CouplingType.GOOSENECK} else ON_BALL


def span_u(instrument: Instrument, on: datetime.date | None = None) -> float:
    """Standard uncertainty of an instrument's own span [1], with what it may have wandered from its verification to the
    day ``on`` which it is used.
    """
    stated = instrument.span_uncertainty
    if stated is None:
        stated = PAD_SPAN if instrument.kind is InstrumentKind.PAD else PLATFORM_SPAN
    wandered = instrument.drifted(instrument.verified, on)
    return math.sqrt(stated**2 + wandered) if wandered else stated


def repeatability(instrument: Instrument) -> tuple[float, float]:
    """Standard uncertainty of one reading beyond rounding [kg] and its degrees of freedom."""
    if instrument.repeatability is not None:
        return instrument.repeatability, DECLARED_DOF
    return REPEATABILITY * instrument.division, ASSUMED_DOF


def unevenness(site: Site) -> tuple[float, float]:
    """Standard deviation of the support heights [m] and its degrees of freedom."""
    if site.unevenness is not None:
        return site.unevenness, DECLARED_DOF
    return UNEVENNESS.get(site.surface.strip().lower(), UNEVENNESS_UNKNOWN), ASSUMED_DOF
