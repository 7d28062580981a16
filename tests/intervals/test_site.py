"""What the ground, the clock and a raised axle do, on simulated days: the 95 % intervals hold the truth.

40 days of each kind, in a study 200. Findings of one day share pads and supports, so the standard error is taken over
days; the limit is four of them. Two passes the two ways round must give what a level day would, without slope or height
being known; the same days read as if they had all faced one way must not.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from steelyard.adjustment import adjust, centre_heights
from steelyard.dayfile import parse_day
from tests.intervals.engine import ask
from tests.intervals.raised_days import draw_day
from tests.intervals.study import Study, run
from tests.simulated.scenarios import SITE, simulate
from tests.studies import days, figures

DAYS = days(40, 200)
INCH = 0.0254


@pytest.fixture(scope="module", params=list(SITE))
def study(request: pytest.FixtureRequest) -> Study:
    return run(request.param, range(DAYS), quick=True)


def test_intervals_hold_the_truth(study: Study) -> None:
    assert study.problems == []
    assert study.days == DAYS
    for name, tally in study.tallies.items():
        share, error = tally.coverage()
        figures(f"{study.kind} {name}", findings=tally.count, coverage=share)
        assert abs(share - 0.95) < 4.0 * error, f"{study.kind} {name}: {share:.3f} of {tally.count}"


def test_days_without_a_slip_agree_with_themselves(study: Study) -> None:
    most = int(stats.binom.isf(3e-4, DAYS, 0.01))
    assert study.inconsistent <= most
    assert study.accused <= most


def test_a_slope_that_nobody_takes_out_is_noticed() -> None:
    """The same days without ``heading``: intervals hold far less often, or the readings are said to disagree."""
    held, judged, upset = 0, 0, 0
    for seed in range(DAYS):
        simulated = simulate("both_ways", seed)
        text = simulated.text.replace('heading = "reversed"\n', "")
        assert text != simulated.text
        answer = ask(type(simulated)("both_ways", seed, text, simulated.truth, simulated.day, simulated.drawn, None))
        upset += not answer.consistent
        one = answer.intervals["full/tow/axle/1"]
        held += one.low <= simulated.truth["full/tow/axle/1"] <= one.high
        judged += 1
    assert judged == DAYS
    assert upset > DAYS / 12


def test_a_rate_left_out_is_noticed() -> None:
    """Draining without its rate: the truth is missed more often than 5 %, or the day disagrees with itself."""
    missed = 0
    for seed in range(DAYS):
        simulated = simulate("draining", seed)
        text = "\n".join(line for line in simulated.text.splitlines() if not line.startswith("rate = "))
        answer = ask(type(simulated)("draining", seed, text, simulated.truth, simulated.day, simulated.drawn, None))
        one = answer.intervals["solo>hitched/tow/gross"]
        missed += not answer.consistent or not one.low <= simulated.truth["solo>hitched/tow/gross"] <= one.high
    assert missed > 0.1 * DAYS


@pytest.mark.parametrize("blocked", [True, False], ids=["blocked", "free"])
@pytest.mark.parametrize("rises", [(25.0,), (15.0, 25.0, 35.0, 35.0, 25.0, 15.0)], ids=["once", "six times"])
def test_heights_of_centres_of_gravity(rises: tuple[float, ...], blocked: bool) -> None:
    """Radii, wheelbase, spans, rates and raises are all drawn; the truth comes from points turned in a plane."""
    held: list[bool] = []
    deviates: list[float] = []
    straight = 0
    for seed in range(DAYS):
        text, truth = draw_day(np.random.default_rng([11, seed]), rises, blocked=blocked)
        (found,) = centre_heights(adjust(parse_day(text, "day.toml")))
        assert found.value is not None
        assert found.u is not None
        assert found.half_width is not None
        held.append(abs(found.value - truth * INCH) <= found.half_width)
        deviates.append((found.value - truth * INCH) / found.u)
        straight += found.straight
    assert abs(np.mean(held) - 0.95) < 4.0 * math.sqrt(0.95 * 0.05 / DAYS)
    assert abs(np.mean(deviates)) < 4.0 / math.sqrt(DAYS)
    assert straight >= DAYS - DAYS // 15


def test_raised_drafts_leave_every_other_finding_alone() -> None:
    from steelyard.findings import weigh

    text, _ = draw_day(np.random.default_rng(5), (15.0, 25.0), blocked=True)
    with_raises = weigh(parse_day(text, "day.toml"))
    marker = text.index('suspension = "blocked"')
    level = text[: text.rindex("[[drafts]]", 0, marker)]
    without = weigh(parse_day(level, "day.toml"))
    for finding in without.findings:
        other = with_raises.by_id[finding.id]
        assert (other.value, other.u, other.low, other.high) == (finding.value, finding.u, finding.low, finding.high)
    assert set(with_raises.by_id) - set(without.by_id) == {"solo/tow/cg_z"}
    assert with_raises.consistency == without.consistency
    assert "Drafts 3 and 4 of tow, raised, tell the height of its centre of gravity and nothing else." in (
        with_raises.cautions
    )
