"""Gravity here against gravity where an instrument was verified.

Source: Moritz, Geodetic Reference System 1980 (GRS 80): Somigliana's closed formula; free-air gradient to first order.
"""

from __future__ import annotations

import math

from steelyard.adjustment.assumed import ELEVATION, GRAVITY
from steelyard.model import Instrument, Site

EQUATOR = 9.7803267715  # m/s2
_K = 0.001931851353
_E2 = 0.00669438002290
FREE_AIR = 3.086e-6  # 1/s2


def normal_gravity(latitude: float, elevation: float = 0.0) -> float:
    """Normal gravity [m/s2] at a latitude [rad] and an elevation [m] above the ellipsoid."""
    square = math.sin(latitude) ** 2
    return EQUATOR * (1.0 + _K * square) / math.sqrt(1.0 - _E2 * square) - FREE_AIR * elevation


def gravity_factor(site: Site, instrument: Instrument) -> tuple[float, float] | None:
    """Gravity at the site over gravity at verification, and its standard uncertainty; None without both latitudes."""
    if site.latitude is None or instrument.verified_latitude is None:
        return None
    variance = 0.0
    values: list[float] = []
    for latitude, elevation in (
        (site.latitude, site.elevation),
        (instrument.verified_latitude, instrument.verified_elevation),
    ):
        height = 0.0 if elevation is None else elevation.value
        values.append(normal_gravity(latitude.value, height))
        height_u = ELEVATION if elevation is None else elevation.u_or(0.0)
        by_latitude = EQUATOR * 2 * 0.0053 * abs(math.sin(latitude.value) * math.cos(latitude.value))
        variance += GRAVITY**2
        variance += ((FREE_AIR * height_u) ** 2 + (by_latitude * latitude.u_or(0.0)) ** 2) / EQUATOR**2
    return values[0] / values[1], math.sqrt(variance)
