"""A national institute's own calibration: one instrument's indications against known values, by a straight line.

Source: NIST StRD, set Norris (US public domain): an ozone monitor calibrated against NIST's reference; 36 points read
in tenths; grade: seen, as in ``test_strd``. There the least-squares room is checked; here a whole verification file is:
the same figures as known masses on a pad of a tenth of a kilogram. The line's intercept is the pad's zero, its slope
less one the span. The intervals are held against Student's t with the certified standard deviations.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from steelyard.verification import Verified
from tests.published.statistics.test_strd import certified, observed
from tests.verification.checks import a_test, verified

HEAD = """format = 1
kind = "verification"
units = { mass = "kg", length = "mm" }
[record]
date = 2026-02-20
[tolerances]
table = "r76"
phase = "initial"
"""
PAD = '[instruments.p1]\nclass = "III"\nkind = "pad"\ncapacity = "1100 kg"\ndivision = "0.1 kg"\n'


@pytest.fixture(scope="module")
def pad() -> Verified:
    """The instrument after its test."""
    design, shown = observed("norris")
    known = design[:, 1]
    steps = ", ".join(f"[{known[at]:g}, {shown[at]:g}]" for at in np.argsort(known, kind="stable"))
    test = a_test("masses", instrument='"p1"', readings=f"[{steps}]", mass_uncertainty='"0 %"')
    return verified(PAD, test, head=HEAD).instruments["p1"]


def test_zero_and_span_are_the_certified_line(pad: Verified) -> None:
    (zero, slope), _, scatter = certified("norris")
    assert pad.zero is not None
    assert pad.span is not None
    assert pad.scatter is not None
    assert pad.zero.value == pytest.approx(zero, abs=1e-5)
    assert pad.span.value == pytest.approx(slope - 1.0, abs=1e-7)
    # the middle of what the scatter may be lies a little above its best estimate
    assert pad.scatter.value == pytest.approx(scatter, rel=0.03)


def test_their_intervals_are_those_of_the_certified_standard_deviations(pad: Verified) -> None:
    _, (u_zero, u_slope), _ = certified("norris")
    wide = float(stats.t.ppf(0.975, 34))
    assert pad.zero is not None
    assert pad.span is not None
    assert (pad.zero.high - pad.zero.low) / 2.0 == pytest.approx(wide * u_zero, rel=0.015)
    assert (pad.span.high - pad.span.low) / 2.0 == pytest.approx(wide * u_slope, rel=0.015)
