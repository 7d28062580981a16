"""What slope, pads under one axle and a raised axle of a tandem do: formulas of the field, worked with numbers.

Source: derived from statics (formula beside each check); magnitudes as in the reports of road laboratories on wheel
weighing (slope of a site moves weight between axles and hardly changes the total: Transport Research Laboratory,
Contractor Report 114, abstract seen). Tolerance: half a unit of the last digit given.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.statics import Combination, Joint
from steelyard.units import Dimension
from tests.published.rigs import body, vehicle

X1, X2, RATE = 182.0, 218.0, 1500.0  # in from the coupling, in, lb/in an axle (both ends)


def tandem(*, equalised: bool) -> Combination:
    """A tandem trailer that pivots at its coupling point."""
    made = vehicle("tandem", [X1, X2], trailer=True, tracks=80.0, ride=RATE / 2, equalised=equalised)
    return Combination({"tandem": body(made)}, [Joint("tandem")])


def raised_by_an_inch(*, equalised: bool) -> tuple[float, float, float]:
    """Change of axle 1, axle 2 and coupling [lb] for one inch under both wheels of axle 1."""
    wheels, couplings = tandem(equalised=equalised).support_influence()
    change = wheels[:, :2].sum(axis=1)
    return float(change[:2].sum()), float(change[2:].sum()), float(couplings[0, :2].sum())


def test_raised_axle_of_an_independent_tandem() -> None:
    """dF1 = k e x2^2 / (x1^2 + x2^2), dF2 = -k e x1 x2 / (x1^2 + x2^2), coupling -(dF1 + dF2)."""
    found = raised_by_an_inch(equalised=False)
    square = X1**2 + X2**2
    assert found[:2] == pytest.approx((883.9, -738.0), abs=0.06)
    assert found[2] == pytest.approx(-145.97, abs=0.005)
    assert found[0] == pytest.approx(RATE * X2**2 / square, rel=1e-9)
    assert found[1] == pytest.approx(-RATE * X1 * X2 / square, rel=1e-9)


def test_an_equaliser_removes_it() -> None:
    assert raised_by_an_inch(equalised=True) == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)


TRUCK = """
format = 1
[site]
{SITE}
[instruments.p1]
kind = "pad"
capacity = "20000 lb"
division = "20 lb"
{PAD}
[instruments.p2]
kind = "pad"
capacity = "20000 lb"
division = "20 lb"
{PAD}
[vehicles.tow]
role = "towing"
cg_height = "30 in"
[[vehicles.tow.axles]]
x = "0 in"
track = "68 in"
[[vehicles.tow.axles]]
x = "140 in"
track = "68 in"
[states.alone]
vehicles = ["tow"]
[[drafts]]
state = "alone"
{DRAFT}
readings = { "tow/1L" = ["p1", 2000], "tow/1R" = ["p2", 2000] }
[[drafts]]
state = "alone"
{DRAFT}
readings = { "tow/2L" = ["p1", 2000], "tow/2R" = ["p2", 2000] }
"""


def truck(*, site: str = "", pad: str = "", draft: str = "") -> Findings:
    """8000 lb on four equal wheels, mass centre 30 in high, wheelbase 140 in, track 68 in."""
    text = TRUCK.replace("{SITE}", site).replace("{PAD}", pad).replace("{DRAFT}", draft)
    return weigh(parse_day(text, "day.toml"))


def pounds(findings: Findings, name: str) -> float:
    """A load in pounds."""
    value = findings.by_id[f"alone/tow/{name}"].value
    assert value is not None
    return value / findings.day.units.factor(Dimension.MASS)


def moved(findings: Findings, here: str, there: str) -> float:
    """How much the level vehicle carries more `here` than the readings say, for a gross of exactly 8000 lb."""
    change = (pounds(findings, here) - pounds(findings, there)) / 2
    return change * 8000.0 / pounds(findings, "gross")


@pytest.mark.parametrize(("slope", "expected"), [(0.02, 34.3), (0.05, 85.7)])
def test_slope_along(slope: float, expected: float) -> None:
    """W h tan(a) / L leaves the high axle: front higher, so the front carries that much more on level ground."""
    found = truck(site=f'slope_long = "{math.degrees(math.atan(slope)):.9f} deg"')
    assert moved(found, "axle/1", "axle/2") == pytest.approx(expected, abs=0.05)
    assert moved(found, "axle/1", "axle/2") == pytest.approx(8000 * 30 * slope / 140, rel=1e-6)
    lower = truck(site=f'slope_long = "-{math.degrees(math.atan(slope)):.9f} deg"')
    assert moved(lower, "axle/2", "axle/1") == pytest.approx(expected, abs=0.05)


def test_slope_across() -> None:
    """W h tan(a) / t leaves the high side: left higher, so the left carries that much more on level ground."""
    found = truck(site=f'slope_lat = "{math.degrees(math.atan(0.05)):.9f} deg"')
    assert moved(found, "side/L", "side/R") == pytest.approx(176.5, abs=0.05)


@pytest.mark.parametrize(("degrees", "low"), [(0.5, 0.004), (1.0, 0.015), (2.0, 0.061), (3.0, 0.137)])
def test_total_on_a_slope(degrees: float, low: float) -> None:
    """A pad on a slope shows W cos(a): so many per cent low."""
    gross = pounds(truck(site=f'slope_long = "{degrees} deg"'), "gross")
    assert 100 * (1 - 8000 / gross) == pytest.approx(low, abs=5.1e-4)


def test_a_pair_of_pads_under_one_axle() -> None:
    """Pads of 2.5 in under the front tilt the truck by 1.02 deg and move 30.6 lb to the rear; then the other way."""
    tilt = math.atan(2.5 / 140)
    assert math.degrees(tilt) == pytest.approx(1.02, abs=0.005)
    found = truck(pad='height = "2.5 in"', draft='unsupported = "ground"')
    # Each axle was read while it stood high, so each reads what it lost, and the findings add up to more than 8000 lb.
    for axle in ("axle/1", "axle/2"):
        lost = pounds(found, axle) - 4000.0
        assert lost * 8000.0 / pounds(found, "gross") == pytest.approx(30.6, abs=0.05)
    level = truck(pad='height = "2.5 in"')  # the other wheels stand on planks of the same height
    assert pounds(level, "axle/1") == pytest.approx(4000.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_hitch_load_on_the_truck(seed: int) -> None:
    """Front -T h / L, rear T (1 + h / L) for a load T that hangs h behind the rear axle of a wheelbase L."""
    rng = np.random.default_rng(seed)
    base, behind, load = rng.uniform(2.5, 5.0), rng.uniform(0.3, 2.0), rng.uniform(100.0, 1500.0)
    alone = Combination({"tow": body(vehicle("tow", [0.0, base], ride=rng.uniform(3e3, 2e4, 2).tolist()))}, [])
    found = load * alone.place_influence("tow", x=base + behind, y=0.0).wheels["tow"]
    assert found[:2].sum() == pytest.approx(-load * behind / base, rel=1e-9)
    assert found[2:].sum() == pytest.approx(load * (1 + behind / base), rel=1e-9)
