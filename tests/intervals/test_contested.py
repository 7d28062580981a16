"""Days with a slip that nobody corrected: what is said without a mark holds, and so do the wide intervals with one.

Two days of each of 22 kinds; the figures of a larger study stand in docs/explanations/uncertainty.md. The limits are
those that were asked for: 93 % of the intervals hold, under 3 % of the verdicts on limits near the truth are sure and
wrong, under 4 % of the days without a slip have a mark. With the seeds fixed a failure is a fault and not bad luck.
"""

from __future__ import annotations

import pytest

from tests.intervals.contested import Tally, study
from tests.simulated.scenarios import CLEAN

DAYS = range(2)


def whole(slip: str) -> Tally:
    """All kinds together."""
    found = Tally()
    for kind in CLEAN:
        found.add(study(kind, DAYS, slip))
    return found


@pytest.mark.parametrize("slip", ["reading", "exchanged"])
def test_what_is_said_beside_a_slip_holds(slip: str) -> None:
    found = whole(slip)
    assert found.free[1] > 200
    assert found.marked[1] > 500
    assert found.free[0] >= 0.93 * found.free[1]
    assert found.marked[0] >= 0.93 * found.marked[1]
    assert found.verdicts[0] < 0.03 * found.verdicts[2]
    assert found.verdicts[1] > 0.4 * found.verdicts[2]  # not by leaving everything undecided


def test_what_is_said_beside_several_slips_holds() -> None:
    """Hardly a finding is left without a mark, so all are judged together."""
    found = whole("several")
    assert found.free[0] + found.marked[0] >= 0.93 * (found.free[1] + found.marked[1])
    assert found.verdicts[0] < 0.03 * found.verdicts[2]
    assert found.marked[1] > 5 * found.free[1]


def test_an_undeclared_change_is_among_the_answers_of_what_is_marked() -> None:
    """A driver of 190 lb who got out unseen between two states may leave no trace; where there is one, it is said."""
    found = whole("forgotten")
    assert found.marked[0] >= 0.93 * found.marked[1]
    assert found.verdicts[0] < 0.03 * found.verdicts[2]


def test_days_without_a_slip_are_not_marked() -> None:
    found = whole("none")
    assert found.days[0] < 0.04 * found.days[1]
    assert found.free[0] >= 0.93 * found.free[1]
