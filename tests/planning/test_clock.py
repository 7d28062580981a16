"""The time of a plan: asked for in every loop, said where it was over, and never decisive for what is proved."""

from __future__ import annotations

from itertools import count

import numpy as np
import pytest

from steelyard.planning import (
    Clock,
    Criterion,
    OutOfTime,
    PlanningProblem,
    SearchStatus,
    best_of_size,
    cheapest,
    kit_of,
)
from steelyard.planning import problem as parts
from steelyard.planning.bounds import root_cuts, whole_bound
from steelyard.planning.orders import Orders
from steelyard.questions.plan import plan
from steelyard.report.tables.plan import impossible_lines, plan_text
from tests.planning.days import day_of, herbs
from tests.planning.test_search import drawn

HARD = ("hitched/*/axle/* <= 6 kg", "solo/*/axle/* <= 6 kg")


class Looked:
    """A clock on which a second goes by whenever it is looked at; ``most`` inverses were taken between two looks."""

    def __init__(self) -> None:
        self.time, self.inverses, self.most = 0.0, 0, 0

    def __call__(self) -> float:
        self.most, self.inverses = max(self.most, self.inverses), 0
        self.time += 1.0
        return self.time


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> Looked:
    clock, plain = Looked(), parts.PlanningProblem.covariance

    def counted(self: PlanningProblem, plan: parts.Plan) -> parts.Array:
        clock.inverses += 1
        return plain(self, plan)

    monkeypatch.setattr(parts.PlanningProblem, "covariance", counted)
    return clock


@pytest.mark.parametrize("seconds", [3.0, 30.0, 300.0, 3000.0])
def test_little_is_done_between_two_looks_at_the_clock_and_nothing_once_it_is_over(
    looked: Looked, seconds: float
) -> None:
    problem = drawn(4, count=14, unknowns=8)
    found = cheapest(problem, Clock(seconds, looked))
    assert looked.most <= 4 + problem.count  # one set, and perhaps the test of each that suffices with one more
    assert found.status is SearchStatus.OPTIMAL or (found.out_of_time and looked.time <= seconds + 3.0)


def test_every_part_of_the_search_ends_with_the_clock() -> None:
    problem = drawn(4, count=14, unknowns=8)
    course, least = problem.prices.course, problem.prices.least
    cuts = root_cuts(problem)
    for part in (
        lambda over: root_cuts(problem, over),
        lambda over: whole_bound(problem, cuts, over),
        lambda over: best_of_size(problem, 4, Criterion.EXCESS, clock=over),
        lambda over: Orders(course, least, over).cost((0, 1, 2)),
        lambda over: Orders(course, least, over).cost(tuple(range(9))),
    ):
        with pytest.raises(OutOfTime):
            part(Clock(0.0))


@pytest.mark.parametrize("seed", range(4))
def test_what_is_proved_is_the_same_however_slow_the_clock(seed: int) -> None:
    """With more and more time the answer changes from none or the best so far to one that stays."""
    problem = drawn(seed)
    whole = cheapest(problem)
    assert whole.status is SearchStatus.OPTIMAL
    for seconds in (10.0, 40.0, 80.0, 160.0, 320.0, 1e4):
        ticks = count()
        found = cheapest(problem, Clock(seconds, lambda ticks=ticks: float(next(ticks))))
        if found.status is SearchStatus.OPTIMAL:
            assert (found.plan, found.cost) == (whole.plan, whole.cost)
        else:
            assert found.out_of_time
            assert found.bound <= whole.cost + 1e-9
            assert found.status in (SearchStatus.FEASIBLE, SearchStatus.UNKNOWN)


def test_out_of_time_is_never_impossible() -> None:
    day, looks = day_of(herbs(4)), count()
    found = plan(day, HARD, kit_of(day, ["p1", "p2"]), seconds=8.0, more=True, now=lambda: float(next(looks)))
    assert (found.outcome.status, found.outcome.out_of_time) == (SearchStatus.UNKNOWN, True)
    assert {item.status for item in found.more} == {SearchStatus.UNKNOWN}
    flat = " ".join(plan_text(found).split())
    assert "No plan was found, and none is ruled out" in flat
    assert "no plan was found in the time that was left, and none is ruled out" in flat
    assert impossible_lines(found) == [
        "no plan was found in 8.0 s, and none is ruled out; give it more --seconds, or ask for less"
    ]


def test_placements_that_the_time_did_not_reach_are_owned_up_to() -> None:
    """The set-up takes its part of the time; what it leaves out is neither proved cheapest nor impossible."""
    day, looks = day_of(herbs(4)), count()
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    found = plan(day, ("solo/van/axle/1",), kit, seconds=4.0, now=lambda: float(next(looks)))
    assert found.outcome.status in (SearchStatus.UNKNOWN, SearchStatus.FEASIBLE)
    assert found.left_out[-1].startswith("the time was over before ")


def test_more_than_can_be_looked_at_is_cut_down_and_said() -> None:
    day = day_of(herbs(6, text=herbs_with_many_axles()))
    found = plan(
        day, ("solo/van/axle/1 <= 40 kg",), kit_of(day, [f"p{at}" for at in range(1, 7)], single=True), more=False
    )
    assert found.left_out
    assert found.outcome.found
    assert " among those looked at (" in " ".join(plan_text(found).split())


def herbs_with_many_axles() -> str:
    """The same rig with four axles under the cart, each on its own."""
    from tests.planning.days import HERBS

    axle = '[[vehicles.cart.axles]]\nx = "{} mm"\ntrack = "1800 mm"\nrating = "1500 kg"\n'
    return HERBS.replace("[states.solo]\n", "".join(axle.format(x) for x in (4000, 4800, 5600)) + "[states.solo]\n")


def test_a_proof_by_cuts_that_no_plan_is_short_enough() -> None:
    """A thousand weighings of unit variance would be needed; the cuts say so without trying them."""
    problem = drawn(0, count=5)
    far = PlanningProblem(problem.rows, problem.known, problem.wanted, problem.limits * 1e-3, problem.prices)
    found = cheapest(far)
    assert found.status is SearchStatus.IMPOSSIBLE
    assert not found.out_of_time
    assert float((far.weighted(np.full(5, 24.0 / 5.0)) - far.known).trace()) > 0.0
