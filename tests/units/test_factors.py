"""Every conversion factor, against the published exact ones and against a unit library.

Sources: NIST SP 811 (2008), appendix B, and NIST Handbook 44, appendix C: exact definitions (from memory; seen in a
scientific library's constants); pint (BSD), whose registry was written from the same definitions by other people.
Tolerance: exact to the last bit or two (1e-15) for SP 811, 1e-14 against pint, which multiplies in another order.
"""

from __future__ import annotations

import math

import pint
import pytest

from steelyard.units import UNITS, Dimension, UnitSystem, parse_quantity, units_of

EXACT = {
    "lb": 0.45359237,
    "lbs": 0.45359237,
    "oz": 0.028349523125,
    "kg": 1.0,
    "g": 0.001,
    "t": 1000.0,
    "in": 0.0254,
    "ft": 0.3048,
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "gal": 0.003785411784,
    "L": 0.001,
    "ft3": 0.028316846592,
    "in3": 1.6387064e-05,
    "N": 1.0,
    "kN": 1000.0,
    "lbf": 4.4482216152605,
    "Pa": 1.0,
    "kPa": 1000.0,
    "bar": 100000.0,
}

SPELT = {
    "lbs": "pound",
    "gal": "US_liquid_gallon",
    "in3": "inch**3",
    "ft3": "foot**3",
    "m3": "meter**3",
    "l": "liter",
    "h": "hour",
    "lbf": "pound_force",
    "Pa": "pascal",
    "kPa": "kilopascal",
    "N": "newton",
    "kN": "kilonewton",
}
"""Symbols that pint spells otherwise."""


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("symbol", "factor"), EXACT.items(), ids=str)
def test_exact_definitions(symbol: str, factor: float) -> None:
    assert UNITS[symbol].factor == pytest.approx(factor, rel=1e-15)


SI = {
    Dimension.MASS: "kg",
    Dimension.LENGTH: "m",
    Dimension.VOLUME: "m**3",
    Dimension.ANGLE: "rad",
    Dimension.SHARE: "",
    Dimension.DENSITY: "kg/m**3",
    Dimension.RATE: "kg/m",
    Dimension.COUPLE: "kg*m",
    Dimension.ROLL_RATE: "kg*m/rad",
    Dimension.MASS_FLOW: "kg/s",
    Dimension.VOLUME_FLOW: "m**3/s",
    Dimension.FORCE: "N",
    Dimension.PRESSURE: "Pa",
}


def spelt(symbol: str) -> str:
    """A symbol of ours as an expression of pint's."""
    if symbol == "%":
        return "percent"
    words = symbol.replace("*", " * ").replace("/", " / ").split()
    return " ".join(SPELT.get(word, word) for word in words)


def test_every_factor_against_pint(registry: pint.UnitRegistry) -> None:
    """All of them, composed ones too; the dimension must agree as well or pint refuses."""
    expected = {
        symbol: registry.Quantity(1.0, spelt(symbol)).to(SI[unit.dimension]).magnitude for symbol, unit in UNITS.items()
    }
    assert len(expected) > 200
    assert {symbol: unit.factor for symbol, unit in UNITS.items()} == pytest.approx(expected, rel=1e-14)


def test_every_dimension_has_units_and_none_is_left_out() -> None:
    assert set(SI) == set(Dimension)
    assert sum(len(units_of(dimension)) for dimension in Dimension) == len(UNITS)


@pytest.mark.parametrize(
    ("pounds", "kilograms"),
    [("20", 9.0718474), ("1000", 453.59237), ("6000", 2721.55422), ("14000", 6350.29318), ("80000", 36287.3896)],
)
def test_pounds_to_kilograms(pounds: str, kilograms: float) -> None:
    assert parse_quantity(f"{pounds} lb", Dimension.MASS).value == pytest.approx(kilograms, rel=1e-15)


@pytest.mark.parametrize(
    ("kilograms", "pounds"), [(1, 2.2046226218), (68, 149.9143383), (75, 165.3466966), (3500, 7716.1791764)]
)
def test_kilograms_to_pounds(kilograms: float, pounds: float) -> None:
    """As many figures as are printed."""
    assert UnitSystem().show(kilograms, Dimension.MASS) == pytest.approx(pounds, rel=5e-10)


def test_spring_rates() -> None:
    """1 lbf/in is 175.126835246 N/m: a rate here is in mass units, so standard gravity (9.80665 m/s2) lies between."""
    assert UNITS["lb/in"].factor * 9.80665 == pytest.approx(175.126835246, abs=5e-10)


@pytest.mark.parametrize("dimension", list(Dimension))
@pytest.mark.parametrize("system", [UnitSystem("lb", "in"), UnitSystem("kg", "mm"), UnitSystem("t", "m")], ids=str)
def test_shown_and_read_back(dimension: Dimension, system: UnitSystem) -> None:
    """What is shown in a system's unit means the same when it is read."""
    value = 123.456
    text = f"{system.show(value, dimension)!r} {system.symbol(dimension)}"
    assert parse_quantity(text, dimension).value == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(("psi", "kilopascals"), [("5", 34.5), ("15", 103.4), ("1", 6.894757)])
def test_pounds_per_square_inch(psi: str, kilopascals: float) -> None:
    """49 CFR 393.75(h), table 1, prints the first two in both units; NIST SP 811, B.8, the third."""
    figures = len(str(kilopascals).partition(".")[2])
    assert parse_quantity(f"{psi} psi", Dimension.PRESSURE).value / 1000.0 == pytest.approx(
        kilopascals, abs=0.5 * 10.0**-figures
    )


def test_pressures_and_forces_are_shown_as_gauges_and_plates_have_them() -> None:
    pounds, kilograms = UnitSystem("lb", "in"), UnitSystem("kg", "mm")
    assert (pounds.symbol(Dimension.PRESSURE), kilograms.symbol(Dimension.PRESSURE)) == ("psi", "bar")
    assert (pounds.symbol(Dimension.FORCE), kilograms.symbol(Dimension.FORCE)) == ("kN", "kN")


def test_density_of_water() -> None:
    """8.34 lb a US gallon is 999.3 kg/m3: water, and not the imperial gallon's 834."""
    assert parse_quantity("8.34 lb/gal", Dimension.DENSITY).value == pytest.approx(999.3, abs=0.1)


def test_a_degree() -> None:
    assert parse_quantity("180 deg", Dimension.ANGLE).value == pytest.approx(math.pi, rel=1e-15)
