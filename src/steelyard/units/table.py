"""The closed vocabulary of units. Factors are exact by definition.

Source: NIST SP 811 (2008), Appendix B, and NIST Handbook 44, Appendix C: the international avoirdupois pound
(0.453 592 37 kg), the international foot (0.3048 m) and the US gallon (231 in3) are exact; so are the pound-force, one
pound times standard gravity (9.806 65 m/s2), and with it the psi.
"""

from __future__ import annotations

import math

from steelyard.classes import dataclass
from steelyard.units.quantity import Dimension

POUND = 0.45359237  # kg
INCH = 0.0254  # m
FOOT = 0.3048  # m
US_GALLON = 231 * INCH**3  # m3
LITRE = 1e-3  # m3
POUND_FORCE = POUND * 9.80665  # N


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its dimension and the factor that takes a value in it to SI."""

    symbol: str
    dimension: Dimension
    factor: float


_MASS = {
    "kg": 1.0,
    "g": 1e-3,
    "t": 1000.0,
    "lb": POUND,
    "lbs": POUND,
    "oz": POUND / 16,
}
_LENGTH = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": INCH, "ft": FOOT}
_VOLUME = {"m3": 1.0, "L": LITRE, "l": LITRE, "gal": US_GALLON, "ft3": FOOT**3, "in3": INCH**3}
_ANGLE = {"rad": 1.0, "mrad": 1e-3, "deg": math.pi / 180}
_SHARE = {"%": 1e-2}
_FORCE = {"N": 1.0, "kN": 1000.0, "lbf": POUND_FORCE}
_PRESSURE = {"Pa": 1.0, "kPa": 1000.0, "bar": 1e5, "psi": POUND_FORCE / INCH**2}
_TIME = {"h": 3600.0, "min": 60.0, "s": 1.0}


def _build() -> dict[str, Unit]:
    table: dict[str, Unit] = {}

    def add(symbol: str, dimension: Dimension, factor: float) -> None:
        table[symbol] = Unit(symbol, dimension, factor)

    for symbol, factor in _MASS.items():
        add(symbol, Dimension.MASS, factor)
    for symbol, factor in _LENGTH.items():
        add(symbol, Dimension.LENGTH, factor)
    for symbol, factor in _VOLUME.items():
        add(symbol, Dimension.VOLUME, factor)
    for symbol, factor in _ANGLE.items():
        add(symbol, Dimension.ANGLE, factor)
    for symbol, factor in _SHARE.items():
        add(symbol, Dimension.SHARE, factor)
    for symbol, factor in _FORCE.items():
        add(symbol, Dimension.FORCE, factor)
    for symbol, factor in _PRESSURE.items():
        add(symbol, Dimension.PRESSURE, factor)
    for time, time_factor in _TIME.items():
        for mass, mass_factor in _MASS.items():
            add(f"{mass}/{time}", Dimension.MASS_FLOW, mass_factor / time_factor)
        for volume, volume_factor in _VOLUME.items():
            add(f"{volume}/{time}", Dimension.VOLUME_FLOW, volume_factor / time_factor)
    for mass, mass_factor in _MASS.items():
        for volume, volume_factor in _VOLUME.items():
            add(f"{mass}/{volume}", Dimension.DENSITY, mass_factor / volume_factor)
        for length, length_factor in _LENGTH.items():
            add(f"{mass}/{length}", Dimension.RATE, mass_factor / length_factor)
            add(f"{mass}*{length}", Dimension.COUPLE, mass_factor * length_factor)
            for angle, angle_factor in _ANGLE.items():
                add(f"{mass}*{length}/{angle}", Dimension.ROLL_RATE, mass_factor * length_factor / angle_factor)
    return table


UNITS: dict[str, Unit] = _build()
"""Every unit the program reads, by its symbol."""


def units_of(dimension: Dimension) -> tuple[str, ...]:
    """The symbols of one dimension, the plainest first."""
    symbols = [unit.symbol for unit in UNITS.values() if unit.dimension is dimension]
    return tuple(sorted(symbols, key=lambda symbol: (len(symbol), symbol)))
