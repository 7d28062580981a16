"""Tolerances and rounding of legal weighing, as the product uses them where a file says nothing.

Source: NIST Handbook 44, section 2.20: scales without a class mark, table T.1.1: basic maintenance tolerance of 2 % for
wheel-load weighers and 0.2 % for axle-load and vehicle scales (seen in a Transportation Research Record abstract);
acceptance half of maintenance (from memory). A digital value rounds to the nearest division (G-S.5.2.2, from memory).
Rounding: JCGM 100, F.2.2.1 (0.29 d for one reading, from memory); sums and differences derived.
Tolerance: half a unit of the last digit.
"""

from __future__ import annotations

import math

import pytest

from steelyard.adjustment.assumed import PAD_SPAN, PLATFORM_SPAN, span_u
from steelyard.model import Instrument, InstrumentKind
from tests.published.days import HEAD, HITCHED, Pounds, coupling, draft, pad, platform, trailer, truck

WHEEL_LOAD_MAINTENANCE, VEHICLE_SCALE_MAINTENANCE = 0.02, 0.002
FOUR = ("1L", "1R", "2L", "2R")
EXACT = 'span_uncertainty = "0 %"\nrepeatability = "0 lb"'
PADS = "".join(pad(f"p{number}") for number in range(1, 5))


def test_span_of_an_unmarked_pad_is_its_acceptance_tolerance() -> None:
    """Half of 2 %, as the half-width of a uniform distribution."""
    assert PAD_SPAN * math.sqrt(3) == pytest.approx(WHEEL_LOAD_MAINTENANCE / 2)
    assert span_u(Instrument("p", InstrumentKind.PAD, 9000.0, 9.0)) == PAD_SPAN
    assert span_u(Instrument("p", InstrumentKind.PAD, 9000.0, 9.0, span_uncertainty=0.0)) == 0.0


def test_span_of_a_platform_is_its_maintenance_tolerance() -> None:
    assert PLATFORM_SPAN * math.sqrt(3) == pytest.approx(VEHICLE_SCALE_MAINTENANCE)
    assert span_u(Instrument("s", InstrumentKind.PLATFORM, 9000.0, 9.0)) == PLATFORM_SPAN


def test_a_day_with_unmarked_instruments() -> None:
    """8000 lb on one platform, nothing said of its span: u is 0.2 % / sqrt(3) of the load beside its rounding."""
    scale = platform("s", more='repeatability = "0 lb"')
    day = Pounds(HEAD, scale, truck(0, 140), '[states.full]\nvehicles = ["tow"]\n', draft("full", {"tow": ("s", 8000)}))
    assert day.u("full/tow/gross") == pytest.approx(
        math.hypot(8000 * 0.002 / math.sqrt(3), 20 / math.sqrt(12)), rel=1e-6
    )


def alone() -> Pounds:
    """A truck on four pads that only round."""
    drafts = draft("full", {f"tow/{w}": (f"p{n}", 2000) for n, w in enumerate(FOUR, 1)})
    return Pounds(HEAD, PADS, truck(0, 140), '[states.full]\nvehicles = ["tow"]\n', drafts)


def test_rounding_of_one_reading() -> None:
    assert alone().u("full/tow/wheel/1L") / 20 == pytest.approx(0.28867513, abs=5e-7)


def test_rounding_of_a_draft_of_four_pads() -> None:
    assert alone().u("full/tow/gross") / 20 == pytest.approx(0.57735027, abs=5e-7)


def test_rounding_of_eight_readings() -> None:
    """A truck and a tandem trailer, four pads each."""
    readings = {f"tow/{w}": (f"p{n}", 2000) for n, w in enumerate(FOUR, 1)}
    behind = {f"cart/{w}": (f"p{n}", 2000) for n, w in enumerate(FOUR, 1)}
    rig = truck(0, 140, more=coupling(180)) + trailer(200, 240)
    day = Pounds(HEAD, PADS, rig, "[states.on]\n", HITCHED, draft("on", readings), draft("on", behind))
    assert day.u("on/combination/gross") / 20 == pytest.approx(0.81649658, abs=5e-7)


def test_rounding_of_a_difference() -> None:
    """Both readings round: triangular over plus and minus d, u d / sqrt(6), 95 % within 0.7764 d.

    The product's normal interval is the safe side of that, by no more than 3.1 %.
    """
    axles = {"tow/1": ("s1", 4000.0), "tow/2": ("s2", 4000.0)}
    loaded = {"tow/1": ("s1", 4040.0), "tow/2": ("s2", 4500.0)}
    states = '[states.before]\nvehicles = ["tow"]\n[states.after]\nvehicles = ["tow"]\ncargo = ["load"]\n'
    scales = (platform(name, more=EXACT) for name in ("s1", "s2"))
    drafts = draft("before", axles) + draft("after", loaded)
    day = Pounds(HEAD, *scales, truck(0, 140), '[cargo.load]\non = "tow"\n', states, drafts)
    name = "before>after/tow/axle/1"
    assert day.value(name) == pytest.approx(40.0, abs=1e-6)
    assert day.u(name) / 20 == pytest.approx(0.40824829, abs=5e-7)
    low, high = day.interval(name)
    exact = 1.0 - math.sqrt(0.05)
    assert exact == pytest.approx(0.77639320, abs=5e-9)
    assert 1.0 < (high - low) / 2 / 20 / exact < 1.031
