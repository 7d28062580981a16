"""Normal gravity, and what it does to a pad that was verified elsewhere.

Source: Moritz, Geodetic Reference System 1980, Somigliana's formula. Grade: constants from memory; values derived and
equal to the boule library to 1e-8 (seen). Tolerance: half a unit of the last digit on the ellipsoid. Above it the
program keeps the first-order free-air gradient, 3.086e-6 per second squared: at 1000 m it is 1.1e-6 m/s2 low, a
ten-millionth; a weight feels the fifth digit.
"""

from __future__ import annotations

import math

import pytest

from steelyard.adjustment import normal_gravity
from steelyard.adjustment.gravity import gravity_factor
from steelyard.model import Instrument, InstrumentKind, Site
from steelyard.units import Quantity
from tests.published.days import HEAD, Pounds, draft, platform, truck

TABLE = {
    0.0: 9.7803268,
    30.0: 9.7932487,
    40.0: 9.8016983,
    44.1: 9.8053848,
    45.0: 9.8061992,
    50.0: 9.8107036,
    60.0: 9.8191784,
    90.0: 9.8321864,
}


@pytest.mark.parametrize(("latitude", "gravity"), TABLE.items(), ids=str)
def test_on_the_ellipsoid(latitude: float, gravity: float) -> None:
    assert normal_gravity(math.radians(latitude)) == pytest.approx(gravity, abs=5.1e-8)
    assert normal_gravity(math.radians(-latitude)) == normal_gravity(math.radians(latitude))


@pytest.mark.parametrize(
    ("latitude", "elevation", "gravity", "within"), [(44.1, 210.0, 9.8047368, 2e-7), (45.0, 1000.0, 9.8031143, 1.3e-6)]
)
def test_above_it(latitude: float, elevation: float, gravity: float, within: float) -> None:
    assert normal_gravity(math.radians(latitude), elevation) == pytest.approx(gravity, abs=within)


def test_pole_and_equator() -> None:
    assert normal_gravity(math.pi / 2) / normal_gravity(0.0) == pytest.approx(1.0053024, abs=5e-8)


def test_a_pad_set_at_60_degrees_reads_low_at_the_equator() -> None:
    """0.396 %: more than a division of 20 lb from 5000 lb up."""
    pad = Instrument(
        "p",
        InstrumentKind.PAD,
        9000.0,
        9.0,
        verified_latitude=Quantity(math.radians(60)),
        verified_elevation=Quantity(0),
    )
    found = gravity_factor(Site(latitude=Quantity(0.0), elevation=Quantity(0.0)), pad)
    assert found is not None
    assert 100 * (1 - found[0]) == pytest.approx(0.396, abs=5e-4)
    assert gravity_factor(Site(), pad) is None
    assert gravity_factor(Site(latitude=Quantity(0.0)), Instrument("p", InstrumentKind.PAD, 9000.0, 9.0)) is None


def test_the_day_corrects_for_it() -> None:
    """The finding is what the instrument would show at home; the reading is left as it was."""
    exact = 'span_uncertainty = "0 %"\nrepeatability = "0 lb"\n'
    home = exact + 'verified_latitude = "60 deg"\nverified_elevation = "0 m"'
    site = HEAD + 'latitude = "0 deg"\nelevation = "0 m"\n'
    states = '[states.full]\nvehicles = ["tow"]\n'
    drafts = draft("full", {"tow": ("s", 10_000.0)})
    away = Pounds(site, platform("s", more=home), truck(0, 140), states, drafts)
    unknown = Pounds(site, platform("s", more=exact), truck(0, 140), states, drafts)
    assert unknown.value("full/tow/gross") == pytest.approx(10_000.0, abs=1e-6)
    assert away.value("full/tow/gross") == pytest.approx(10_000.0 * 9.8191784 / 9.7803268, rel=1e-7)
    rounding = 20 / math.sqrt(12) * 9.8191784 / 9.7803268
    gravities = 10_040 * math.hypot(5e-5, 5e-5)  # each good to 5e-5
    assert away.u("full/tow/gross") == pytest.approx(math.hypot(rounding, gravities), rel=1e-4)
