"""Tolerances of Handbook 44 and R 76 at every boundary of their tables, from both sides.

Sources: NIST Handbook 44, 2.20, Table 6, with T.N.3.1 to T.N.3.3 (from memory but for class III above 2000 d and its
acceptance tolerance of 2.5 d at 5000 d, which were seen); OIML R 76-1:2006, Table 6 (seen as Directive 90/384/EEC,
Annex I, Table 3; in service twice that, seen; 1.5 e at 5000 e of class III seen once more beside Handbook 44). Worked
cases: a pad of 20 lb at 5,000 lb and 10,000 lb (derived). Change points: OIML R 76-1, A.4.4.3 (from memory), the same
P = I + e/2 - dL seen in a national institute's procedures for type approval. EURAMET cg-18 has no numeric example that
could be read; the budget of its formulas (from memory) is worked by hand. Exact.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.adjustment import normal_gravity
from steelyard.model import (
    AccuracyClass,
    Instrument,
    InstrumentKind,
    LoadStep,
    LoadTest,
    Phase,
    ToleranceTable,
    VerificationPlace,
)
from steelyard.units import Quantity
from steelyard.verification import change_point, kept_probability, steps_of, tolerance_of, zero_return_of
from steelyard.verification.gravity import corrected

HANDBOOK, R76 = ToleranceTable.HANDBOOK44, ToleranceTable.R76

BOUNDARIES = [
    (HANDBOOK, "I", [(50_000, 1, 2), (200_000, 2, 3)]),
    (HANDBOOK, "II", [(5_000, 1, 2), (20_000, 2, 3)]),
    (HANDBOOK, "III", [(500, 1, 2), (2_000, 2, 3), (4_000, 3, 5)]),
    (HANDBOOK, "IIII", [(50, 1, 2), (200, 2, 3), (400, 3, 5)]),
    (HANDBOOK, "III L", [(500, 1, 2), (1_000, 2, 3), (1_500, 3, 4), (9_500, 19, 20)]),
    (R76, "I", [(50_000, 0.5, 1), (200_000, 1, 1.5)]),
    (R76, "II", [(5_000, 0.5, 1), (20_000, 1, 1.5)]),
    (R76, "III", [(500, 0.5, 1), (2_000, 1, 1.5)]),
    (R76, "IIII", [(50, 0.5, 1), (200, 1, 1.5)]),
]


@pytest.mark.parametrize(
    ("table", "grade", "load", "below", "above"),
    [(table, grade, *row) for table, grade, rows in BOUNDARIES for row in rows],
)
def test_both_sides_of_every_boundary(
    table: ToleranceTable, grade: str, load: float, below: float, above: float
) -> None:
    of = AccuracyClass(grade)
    assert steps_of(table, of, load - 1) == below
    assert steps_of(table, of, load) == below
    assert steps_of(table, of, load * (1 + 1e-12)) == below  # met exactly, but for the conversion of its unit
    assert steps_of(table, of, load + 0.01) == above
    assert steps_of(table, of, load + 1) == above


@pytest.mark.parametrize("grade", ["I", "II", "III", "III L", "IIII"])
def test_no_load_has_the_first_row(grade: str) -> None:
    assert steps_of(HANDBOOK, AccuracyClass(grade), 0.0) == 1


def test_r76_does_not_know_class_iii_l() -> None:
    with pytest.raises(ValueError, match="r76 has no class III L"):
        steps_of(R76, AccuracyClass.III_L, 100.0)


def instrument(kind: InstrumentKind = InstrumentKind.PAD, division: float = 20.0) -> Instrument:
    return Instrument("p", kind, 1000 * division, division)


@pytest.mark.parametrize(
    ("phase", "load", "tolerance"),
    [
        (Phase.MAINTENANCE, 5_000.0, 120.0),
        (Phase.ACCEPTANCE, 5_000.0, 60.0),
        (Phase.MAINTENANCE, 10_000.0, 200.0),
        (Phase.ACCEPTANCE, 10_000.0, 100.0),
        (Phase.INITIAL, 5_000.0, 30.0),
        (Phase.IN_SERVICE, 5_000.0, 60.0),
    ],
)
def test_a_pad_of_twenty(phase: Phase, load: float, tolerance: float) -> None:
    """A wheel-load weigher of class IIII has twice the table of Handbook 44, and nothing extra in R 76."""
    assert tolerance_of(phase, AccuracyClass.IIII, instrument(), load) == tolerance


def test_only_a_pad_of_class_iiii_is_doubled() -> None:
    platform = instrument(InstrumentKind.PLATFORM)
    assert tolerance_of(Phase.MAINTENANCE, AccuracyClass.IIII, platform, 5_000.0) == 60.0
    assert tolerance_of(Phase.MAINTENANCE, AccuracyClass.III, instrument(), 5_000.0) == 20.0


def test_class_iii_in_half_tenths_of_a_pound() -> None:
    """A 500 lb x 0.05 lb scale: 0.15 lb at 150 lb, 0.25 lb at 500 lb (logic seen, 2007 edition)."""
    scale = Instrument("s", InstrumentKind.PLATFORM, 500.0, 0.05)
    found = [tolerance_of(Phase.MAINTENANCE, AccuracyClass.III, scale, load) for load in (150.0, 500.0)]
    assert found == pytest.approx([0.15, 0.25], abs=1e-12)


def test_five_thousand_divisions_of_class_iii_in_both_tables() -> None:
    """Acceptance 2.5 d in Handbook 44 and 1.5 e in R 76 (seen side by side)."""
    one = Instrument("s", InstrumentKind.PLATFORM, 10_000.0, 1.0)
    assert tolerance_of(Phase.ACCEPTANCE, AccuracyClass.III, one, 5_000.0) == 2.5
    assert tolerance_of(Phase.INITIAL, AccuracyClass.III, one, 5_000.0) == 1.5


def test_repeatability_of_handbook_44_takes_the_maintenance_tolerance() -> None:
    found = tolerance_of(Phase.ACCEPTANCE, AccuracyClass.IIII, instrument(), 5_000.0, maintenance=True)
    assert found == 120.0
    assert tolerance_of(Phase.INITIAL, AccuracyClass.IIII, instrument(), 5_000.0, maintenance=True) == 30.0


def test_what_may_be_left_at_zero() -> None:
    assert zero_return_of(Phase.INITIAL, AccuracyClass.IIII, instrument()) == 10.0
    assert zero_return_of(Phase.MAINTENANCE, AccuracyClass.IIII, instrument()) == 40.0


def test_a_change_point() -> None:
    """With e = 5 kg, 1000 kg shows 1000 kg and tips after 1.5 kg more: P = 1001 kg, an error of +1.0 kg."""
    assert change_point(LoadStep(1000.0, 1000.0, 1.5), 5.0) == 1001.0
    assert change_point(LoadStep(1000.0, 1000.0), 5.0) == 1000.0


def test_rounding_may_lie_anywhere_within_a_division() -> None:
    """An indication right on the load: the error before rounding lies within half a division, so within 0.5 e."""
    assert kept_probability(0.0, 0.0, 0.5, rounding=1.0) == 1.0
    assert kept_probability(0.25, 0.0, 0.5, rounding=1.0) == pytest.approx(0.75)
    assert kept_probability(1.0, 0.0, 0.5, rounding=1.0) == 0.0
    assert kept_probability(0.25, 1e-4, 0.5, rounding=1.0) == pytest.approx(0.75, abs=2e-3)


def test_rounding_and_a_doubt_together_against_draws() -> None:
    rng = np.random.default_rng(1)
    drawn = 0.6 + rng.uniform(-0.5, 0.5, 400_000) + 0.3 * rng.standard_normal(400_000)
    share = float((np.abs(drawn) <= 1.0).mean())
    assert kept_probability(0.6, 0.3, 1.0, rounding=1.0) == pytest.approx(share, abs=0.003)


def test_probability_of_two_limits() -> None:
    """JCGM 106, clause 7: viscosity 13.6, u 1.8, limits 12.5 and 16.3: 66.263 % (derived, print remembered as 66 %)."""
    middle, half = (12.5 + 16.3) / 2.0, (16.3 - 12.5) / 2.0
    assert kept_probability(13.6 - middle, 1.8, half) == pytest.approx(0.66263, abs=5e-6)


def test_an_error_that_meets_its_tolerance_keeps_it() -> None:
    assert kept_probability(-40.0, 0.0, 40.0) == 1.0
    assert kept_probability(40.001, 0.0, 40.0) == 0.0


def test_a_budget_after_cg_18() -> None:
    """For d = 10 kg, s = 4 kg, spread off centre 10 kg at 2000 kg, read at 3000 kg: u = 7.171 kg (derived)."""
    off_centre = 10.0 / (2.0 * 2000.0 * math.sqrt(3.0))  # the key that a verification writes
    u = math.sqrt(2 * 10.0**2 / 12.0 + 4.0**2 + (off_centre * 3000.0) ** 2)
    assert u == pytest.approx(7.171, abs=5e-4)


def test_a_reference_scale_from_elsewhere() -> None:
    """GRS 80: 9.8061992 m/s2 at 45 degrees, 9.7803268 at the equator: a scale set at the first reads 0.264 % low there.

    So what it calls 1000 kg at the equator is 1002.645 kg.
    """
    assert normal_gravity(math.radians(45.0)) == pytest.approx(9.8061992, abs=5e-8)
    test = LoadTest("p", (LoadStep(1000.0, 1000.0),), True, 0.0, reference_latitude=Quantity(math.radians(45.0)))
    (step,) = corrected(test, VerificationPlace(latitude=Quantity(0.0)))
    assert step.load == pytest.approx(1000.0 * 9.8061992 / 9.7803268, abs=1e-4)
    (same,) = corrected(test, VerificationPlace())
    assert same.load == 1000.0
