"""Where readings scatter beyond their doubt, all of them carry more of it: variances, shares and degrees of freedom.

With the readings' variances ``t`` times as large and the weights as they were, a part brings ``t`` times what it did,
and no quantity has fewer degrees of freedom than the fewest of its parts. The square of the quantile of t is the mean
of those of the parts, by their shares of the variance; quantiles from scipy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from steelyard.adjustment import Adjustment, adjust
from steelyard.adjustment.misfit.agreement import Fit
from steelyard.adjustment.misfit.explanation import Base
from steelyard.adjustment.misfit.scatter import scatter_of
from steelyard.adjustment.solve import Array
from steelyard.dayfile import parse_day
from tests.cli.days import NURSERY

WHEELS = ("1L", "1R", "2L", "2R")

TIMES = 30.0
"""So much larger than its degrees of freedom chi-square is taken."""


def scattered() -> tuple[Adjustment, Adjustment]:
    """A van weighed three times, and the same with readings that all scatter more than they should."""
    head, _ = NURSERY.split("[vehicles.beds]")
    text = head + '[states.empty]\nvehicles = ["van"]\n'
    for off in (0, 5, -5):
        said = ", ".join(f'"van/{wheel}" = ["{pad}", {700 + off}]' for wheel, pad in zip(WHEELS, "abcd", strict=True))
        text += f'[[drafts]]\nstate = "empty"\nreadings = {{ {said} }}\n'
    day = adjust(parse_day(text, "scattered.toml"))
    shown, design = day.observations.predict(day.loads, day.unknowns)
    misfit = day.observations.values - shown
    fit = Fit(day.propagation._blocks, np.array(day.propagation.learned_dof), design, misfit, day.solution)
    scatter = scatter_of(day.observations, fit, fit.residuals(), TIMES * day.redundancy, day.redundancy)
    nothing = Base(fit.residuals(), design, day.solution).under(())
    assert scatter is not None
    assert nothing is not None
    return day, day.under(scatter.over(nothing))


def roots(day: Adjustment) -> Array:
    jacobian = day.loads.jacobian
    return jacobian[np.abs(jacobian).sum(axis=1) > 0] @ day.solution.root


def test_more_doubt_of_all_readings_is_reckoned_as_their_own() -> None:
    day, widened = scattered()
    before, after = roots(day), roots(widened)
    was, now = day.propagation, widened.propagation
    of_readings = was.of_readings(before)
    assert now.of_readings(after) == pytest.approx(TIMES * of_readings, rel=1e-6)
    assert now.parts(after) == pytest.approx(TIMES * was.parts(before), rel=1e-6)
    assert now.gain(after) == pytest.approx(was.gain(before), rel=1e-6, abs=1e-9)
    variance = (after**2).sum(axis=1)
    assert variance == pytest.approx((before**2).sum(axis=1) + (TIMES - 1.0) * of_readings, rel=1e-6)
    squares = np.asarray(stats.t.ppf(0.975, np.array(was.learned_dof)))[:, None] ** 2
    normal = stats.norm.ppf(0.975) ** 2
    expected = normal + (TIMES * was.parts(before) / variance * (squares - normal)).sum(axis=0)
    found = now.dof_of(after, variance)
    assert stats.t.ppf(0.975, found) ** 2 == pytest.approx(expected, rel=1e-6)
    assert min(was.learned_dof) * (1.0 - 1e-5) <= found.min() < 100.0
