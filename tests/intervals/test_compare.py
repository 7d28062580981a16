"""Several days solved together: intervals of differences hold the truth, and a secret change of a trailer is found.

The days are drawn by levers alone (``tests/simulated/sets_of_days.py``). The measures of one set share its pads, so a
set is a cluster; limits are four standard errors, or a chance of one in a thousand where cases are counted.
"""

from __future__ import annotations

import math

import pytest
from scipy import stats

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.questions.compare import COMPARE, ClaimVerdict, CompareQuestion, RigComparison
from steelyard.units import Quantity
from tests.intervals.study import Tally
from tests.simulated.sets_of_days import Sharing, SimulatedSet, simulate
from tests.studies import days, figures

SETS = days(60, 1000)  # widths wrong by a quarter are seen with 60 sets, by a twentieth with 1000
POUNDS_100 = 45.36
KINDS = {
    "the same pads": Sharing(),
    "pads and standard": Sharing(standard=True),
    "spans that drift": Sharing(drift=True, days_between=120),
    "nothing in common": Sharing(serials=False),
}


def compared(made: SimulatedSet, **unchanged: float) -> RigComparison:
    """The comparison of a set of days; ``unchanged`` are claims with a doubt [kg]."""
    files = [(f"day{at}.toml", solve(parse_day(text, f"day{at}.toml"))) for at, text in enumerate(made.texts)]
    claims = {name: Quantity(doubt, 0.0) for name, doubt in unchanged.items()}
    return COMPARE.answer(files, CompareQuestion(unchanged=claims))


@pytest.mark.parametrize("kind", KINDS)
def test_intervals_of_differences_hold_the_truth(kind: str) -> None:
    """And no difference is less sure than from days solved alone: what is common cancels, or changes nothing."""
    tally, shares = Tally(), list[float]()
    for seed in range(SETS):
        made = simulate(seed, KINDS[kind])
        truths = [truth.measures() for truth in made.truths]
        answer = compared(made)
        for name in truths[0]:
            one = answer.get(name)
            assert one is not None
            (difference,) = one.differences
            spread = difference.spread
            truth = truths[difference.a][name] - truths[difference.b][name]
            tally.hits[seed].append(spread.low <= truth <= spread.high)
            tally.half.append(spread.high - spread.low)
            apart = math.hypot(*(value.spread.u for value in one.values if value.spread is not None))
            assert spread.u < 1.001 * apart
            if name == "gross/trailer":
                shares.append(spread.u / apart)
    share, error = tally.coverage()
    narrower = sum(shares) / len(shares)
    figures(f"differences, {kind}", coverage=share, error=error, trailer_u_by_u_of_days_apart=narrower)
    assert abs(share - 0.95) < 4.0 * error
    assert error < 0.025
    assert narrower == pytest.approx(1.0, abs=0.001) if kind == "nothing in common" else narrower < 0.6


@pytest.mark.parametrize("doubt", [0.0, 5.0])
def test_a_hundred_pounds_put_in_secretly_are_found(doubt: float) -> None:
    """'Unchanged' is refuted in 95 % of cases where it is false by 100 lb, and in under 3 % where it is true."""
    count = days(30, 1000)
    refuted = {}
    for put_in in (0.0, POUNDS_100):
        made = (simulate(seed, Sharing(), put_in=put_in, doubt=doubt) for seed in range(count))
        verdicts = [compared(one, tip=doubt).unchanged[0].verdict for one in made]
        refuted[put_in] = verdicts.count(ClaimVerdict.CHANGED)
    figures(f"unchanged, doubt {doubt} kg", true=refuted[0.0] / count, false=refuted[POUNDS_100] / count)
    assert stats.binom.sf(refuted[0.0] - 1, count, 0.03) > 0.001
    assert stats.binom.cdf(refuted[POUNDS_100], count, 0.95) > 0.001


@pytest.mark.parametrize("rigs", [2, 3, 5])
def test_rigs_that_are_equal_are_not_told_apart(rigs: int) -> None:
    """In 5 % of sets at most one of them is told from another: of 25 sets of five some 7 would be, each pair alone."""
    count = days(25, 1000)
    told = dict.fromkeys(("gross/towing", "gross/trailer", "used/towing/axle1", "used/towing/axle2"), 0)
    won = dict.fromkeys(told, 0)
    for seed in range(count):
        answer = compared(simulate(seed, Sharing(), rigs, equal=True))
        for name in told:
            one = answer.get(name)
            assert one is not None
            told[name] += any(difference.told_apart for difference in one.differences)
            won[name] += one.winner is not None
    figures(f"{rigs} equal rigs told apart", **{name: hits / count for name, hits in told.items()})
    for name, hits in told.items():
        assert stats.binom.sf(hits - 1, count, 0.05) > 0.001, name
        assert won[name] <= hits
