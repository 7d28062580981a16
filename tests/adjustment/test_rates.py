"""What uneven ground brings where springs are known to a factor, against draws of that factor.

Four springs at the corners of a stiff body twist in series: one metre under one corner moves a quarter of ``2 a b / (a
+ b)``, where ``a`` and ``b`` are the stiffnesses of the axles in roll, over the square of the track. Rates are drawn
log-normal (NumPy), and the quantiles of what they bring are those of the draws. Tolerances: 2 % of a mean square, 3 %
of a quantile; taking each rate at its root mean square is 10 % off.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from steelyard.adjustment import Adjustment, adjust
from steelyard.adjustment.readings.rates import likely_rates
from steelyard.adjustment.solve import Array
from steelyard.dayfile import parse_day
from tests.adjustment.dense import whole

DRAWS = 200_000


def day(rates: str, ground: str = 'unevenness = "3 mm"') -> Adjustment:
    """A van on four pads, its axles 4 m apart and 1.6 m wide."""
    axle = '[[vehicles.van.axles]]\nx = "{} m"\ntrack = "1.6 m +/- 0 m"\n{}\n'
    wheels = ", ".join(f'"van/{wheel}" = ["p{pad}", 700]' for pad, wheel in enumerate(("1L", "1R", "2L", "2R"), 1))
    pads = "".join(
        f'[instruments.p{pad}]\nkind = "pad"\ncapacity = "3000 kg"\ndivision = "0.001 kg"\nrepeatability = "0 kg"\n'
        for pad in range(1, 5)
    )
    text = (
        f'format = 1\nunits = {{ mass = "kg", length = "m" }}\n[site]\nname = "yard"\nsurface = "concrete"\n{ground}\n'
        f'[record]\ndate = 2026-03-02\n{pads}[vehicles.van]\nrole = "towing"\n{axle.format(0, rates)}'
        f'{axle.format(4, rates)}[states.empty]\nvehicles = ["van"]\n'
        f'[[drafts]]\nstate = "empty"\nreadings = {{ {wheels} }}\n'
    )
    return adjust(parse_day(text, "van.toml"))


def squares(u: float) -> Array:
    """The variance of one wheel's reading for each draw of the rates [kg2]."""
    dice = np.random.default_rng(3)
    factors = np.exp(u * dice.standard_normal((4, DRAWS)))
    a, b = (1000.0 * factors[at] * 1.6**2 / 2.0 + 400.0 * factors[at + 1] for at in (0, 2))
    heights = 4  # each moves the reading by as much
    return heights * (0.003 / 4.0 * 2.0 * a * b / (a + b) / (1.6**2 / 2.0)) ** 2


def stated(u: float) -> str:
    return f'ride_rate = "1000 kg/m +/- {1000 * u:g} kg/m"\nroll_rate = "400 kg*m/rad +/- {400 * u:g} kg*m/rad"'


@pytest.mark.parametrize("u", [0.1, 0.5])
def test_the_variance_and_its_scatter_are_those_of_springs_in_series(u: float) -> None:
    found = day(stated(u))
    covariance = found.observations.covariance(found.loads)
    dof = covariance.dof[0]
    part = whole(covariance.likely)[0, 0]
    drawn = squares(u) * 60.0 / np.random.default_rng(4).chisquare(60.0, DRAWS)
    assert np.exp(np.log(drawn).mean()) == pytest.approx(part * np.exp(-_log_mean(dof)), rel=0.02)
    assert dof < 60.0
    errors = np.abs(np.sqrt(drawn) * np.random.default_rng(5).standard_normal(DRAWS))
    for chance in (0.6827, 0.95):
        half = stats.t.ppf(0.5 + chance / 2.0, dof) * np.sqrt(part)
        assert half == pytest.approx(np.quantile(errors, chance), rel=0.03)


def _log_mean(dof: float) -> float:
    """Of the logarithm of chi-square over its degrees of freedom, from the quantiles."""
    return float(np.log(stats.chi2.ppf((np.arange(20_000) + 0.5) / 20_000, dof) / dof).mean())


def test_with_springs_that_are_known_the_ground_alone_is_in_doubt() -> None:
    found = day(stated(0.0))
    covariance = found.observations.covariance(found.loads)
    assert covariance.dof[0] == 60.0
    assert covariance.factors[0] == 1.0
    assert whole(covariance.blocks)[0, 0] == pytest.approx(float(squares(0.0)[0]), rel=1e-6)


@pytest.mark.parametrize(("u", "ground", "dof"), [(0.5, "", 4.0), (0.5, 'unevenness = "3 mm"', 60.0)])
def test_readings_are_held_against_one_another_at_what_reaches_as_far(u: float, ground: str, dof: float) -> None:
    found = day(stated(u), ground)
    covariance = found.observations.covariance(found.loads)
    far = stats.t.ppf(0.995, covariance.dof[0]) ** 2 * covariance.factors[0]
    assert covariance.tested[0] == dof
    assert far == pytest.approx(stats.t.ppf(0.995, dof) ** 2, rel=1e-9)


def test_the_sets_are_standard_and_even() -> None:
    found = day(stated(0.5))
    sets = likely_rates(found.rig, ["empty"])
    moved = (sets - found.rig.unknowns.starts())[:, found.rig.rates] / 0.5
    assert moved.T @ moved / len(sets) == pytest.approx(np.eye(4), abs=1e-12)
    assert np.sort(moved, axis=0) == pytest.approx(-np.sort(moved, axis=0)[::-1], abs=1e-12)
