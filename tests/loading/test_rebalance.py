"""The least to move, drop or drain: against every choice tried one by one, and against the day asked the long way."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.conformity import Outcome
from steelyard.dayfile import read_day
from steelyard.findings import Weighed, solve
from steelyard.loading import Adjustable, Aim, Movable, Proposal, RebalanceStep, nearest, propose
from steelyard.model import Cargo, WeighDay
from steelyard.questions.rebalance import Freedom, Rebalancing, Status
from steelyard.questions.rebalance.handy import handy
from steelyard.units import Dimension, Quantity, UnitSystem

DAY = Path(__file__).parents[2] / "examples" / "quay-bakery.toml"
FLOOR = np.array([[1.0, 0.0, 4.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 1.0], [0.0, -1.0, 1.0]])  # 0..4 m by -1..1 m


def problem(seed: int) -> tuple[NDArray[np.float64], list[Movable]]:
    """Three limits, two of them missed, and four items: two that may move, one only dropped, one tank."""
    rng = np.random.default_rng(seed)
    items = [
        Movable(
            f"item{number}",
            float(rng.uniform(40, 160)),
            float(rng.uniform(0.5, 3.5)),
            float(rng.uniform(-0.9, 0.9)),
            np.column_stack([-rng.uniform(0.2, 1.0, 3), rng.uniform(-0.3, 0.3, 3), rng.uniform(-0.3, 0.3, 3)]),
            (FLOOR,) if number < 2 else (),
            droppable=number < 3,
            drainable=60.0 if number == 3 else 0.0,
        )
        for number in range(4)
    ]
    return np.array([-rng.uniform(5, 60), -rng.uniform(0, 30), rng.uniform(0, 20)]), items


def by_every_choice(room: NDArray[np.float64], items: list[Movable]) -> float:
    """The least mass touched, each choice of what is done with each item solved by a cone solver."""
    import cvxpy

    best = np.inf
    options = [("keep", "move", "drop"), ("keep", "move", "drop"), ("keep", "drop"), ("keep", "drain")]
    for choice in itertools.product(*options):
        shift, drained = cvxpy.Variable((4, 2)), cvxpy.Variable(4)
        left = room.copy()
        effect = np.zeros(3) * drained[0]
        cost = 0.0 * drained[0]
        constraints = [drained >= 0]
        for at, (item, what) in enumerate(zip(items, choice, strict=True)):
            away = -item.rate @ np.array([1.0, item.x, item.y])
            if what == "move":
                place = shift[at] + np.array([item.x, item.y])
                constraints.append(item.floors[0][:, :2] @ place <= item.floors[0][:, 2])
                effect = effect + item.mass * (item.rate[:, 1:] @ shift[at])
                cost = cost + item.mass
            elif what == "drop":
                left = left + item.mass * away
                cost = cost + item.mass
            elif what == "drain":
                constraints.append(drained[at] <= item.drainable)
                effect = effect + away * drained[at]
                cost = cost + drained[at]
        asked = cvxpy.Problem(cvxpy.Minimize(cost), [*constraints, left + effect >= 0])
        asked.solve(solver=cvxpy.CLARABEL)
        if asked.status in {"optimal", "optimal_inaccurate"}:
            best = min(best, float(np.asarray(asked.value)))
    return best


@pytest.mark.parametrize("seed", range(6))
def test_the_least_mass_is_that_of_every_choice_tried(seed: int) -> None:
    """HiGHS on the whole programme against Clarabel on each of its choices."""
    room, items = problem(seed)
    found = propose(room, items, [], aim=Aim.MASS)
    best = by_every_choice(room, items)
    if not np.isfinite(best):
        assert found is None
        return
    assert found is not None
    touched = sum(step.mass for step in found.steps)
    # each item touched counts 50 g on top in the programme, which may trade that against as much mass
    assert touched == pytest.approx(best, abs=0.05 * len(items) + 1e-3)


def kept_to_their_lines(items: list[Movable]) -> list[Movable]:
    """The same items, none of which may leave its line along the vehicle."""
    lines: list[Movable] = []
    for item in items:
        line = np.array([[0.0, 1.0, item.y], [0.0, -1.0, -item.y]])
        lines.append(replace(item, floors=tuple(np.concatenate([sides, line]) for sides in item.floors)))
    return lines


@pytest.mark.parametrize("aim", list(Aim))
def test_nothing_is_moved_across_where_moving_along_costs_the_same(aim: Aim) -> None:
    """Of forty programmes that leave nothing behind, each asked again with every item kept to its line."""
    saved = across = 0
    for seed in range(40):
        room, items = problem(seed)
        items = [replace(item, droppable=False) for item in items]
        found, straight = propose(room, items, [], aim=aim), propose(room, kept_to_their_lines(items), [], aim=aim)
        if found is None:
            assert straight is None
            continue
        ways = [abs(step.to[1] - item.y) for step in found.steps for item in items if item.id == step.id and step.to]
        if straight is not None and straight.cost <= found.cost * (1.0 + 1e-6) + 1e-6:
            assert max(ways, default=0.0) == 0.0
            saved += bool(ways)
        across += max(ways, default=0.0) > 0.0
    assert saved > 0
    assert across > 0


def test_nothing_is_moved_further_than_it_must_be() -> None:
    rate = np.array([[-1.0, 0.5, 0.0]])
    crate = Movable("crate", 100.0, 1.0, 0.25, rate, (FLOOR,))
    found = propose(np.array([-30.0]), [crate], [], aim=Aim.MASS)
    assert found is not None
    assert [step.to for step in found.steps] == [pytest.approx((1.6, 0.25), abs=1e-6)]


def test_where_nothing_does_the_shortfall_is_the_least_there_is() -> None:
    item = Movable("crate", 100.0, 1.0, 0.0, np.array([[-1.0, 0.0, 0.0], [-0.5, 0.0, 0.0]]), droppable=True)
    room = np.array([-130.0, -20.0])
    assert propose(room, [item], [], aim=Aim.MASS) is None
    short = nearest(room, [item], []).short
    assert short is not None
    assert short == pytest.approx([30.0, 0.0], abs=1e-6)


def test_a_limit_that_need_not_be_missed_is_not_named_as_short() -> None:
    # one setting plays two limits against each other; what the third lacks is less than that, and a crate mends it
    crate = Movable("crate", 100.0, 1.0, 0.0, np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [-1.0, 0.0, 0.0]]))
    setting = Adjustable("set", -50.0, 50.0, np.array([1.0, -1.0, 0.0]))
    short = nearest(np.array([-10.0, -14.0, -3.0]), [replace(crate, droppable=True)], [setting]).short
    assert short == pytest.approx([12.0, 12.0, 0.0], abs=1e-4)


def test_a_setting_is_not_turned_without_need() -> None:
    setting = Adjustable("couple/stock", -10.0, 10.0, np.array([2.0]))
    still = propose(np.array([5.0]), [], [setting], aim=Aim.MASS)
    assert still is not None
    assert still.settings == {}
    turned = propose(np.array([-6.0]), [], [setting], aim=Aim.MASS)
    assert turned is not None
    assert turned.settings["couple/stock"] == pytest.approx(3.0)


def loaded() -> WeighDay:
    """The bundled day with six movable crates too many aboard its market state."""
    day = read_day(DAY)
    crates = {
        f"crate{number}": Cargo(
            f"crate{number}",
            "oven",
            mass=Quantity(55.0 + 8 * number),
            x=Quantity(5.5 + 0.1 * number),
            y=Quantity(-0.5 + 0.2 * number),
            movable=True,
        )
        for number in range(6)
    }
    market = replace(day.states["market"], cargo=(*day.states["market"].cargo, *crates))
    return replace(day, cargo={**day.cargo, **crates}, states={**day.states, "market": market})


@pytest.fixture(scope="module")
def weighed() -> Weighed:
    return solve(loaded())


@pytest.mark.parametrize("aim", list(Aim))
def test_the_answer_holds_when_the_day_is_asked(weighed: Weighed, aim: Aim) -> None:
    before = {verdict.id: verdict.outcome for verdict in weighed.findings().verdicts}
    assert before["market/oven/gross:gvwr"] is Outcome.OUTSIDE
    found = Rebalancing(weighed, "market", Freedom()).solve(aim)
    assert found.status is Status.OPTIMAL
    assert found.findings is not None
    judged = [verdict for verdict in found.findings.verdicts if verdict.probability is not None]
    assert judged
    assert all(verdict.outcome is Outcome.WITHIN for verdict in judged)


def test_the_fewest_items_are_no_more_than_those_of_the_least_mass(weighed: Weighed) -> None:
    problem = Rebalancing(weighed, "market", Freedom())
    least, fewest = problem.solve(Aim.MASS), problem.solve(Aim.ITEMS)
    assert least.proposal is not None
    assert fewest.proposal is not None
    assert least.moved <= fewest.moved + 0.3
    assert len(fewest.proposal.steps) <= len(least.proposal.steps)


def test_the_impossible_names_the_limit_and_by_how_much(weighed: Weighed) -> None:
    """With nothing left behind and the tank untouched, no shift of crates takes a pound off the trailer's gross."""
    found = Rebalancing(weighed, "market", Freedom(keep=frozenset({"water"}), drop=False)).solve(Aim.MASS)
    assert found.status is Status.IMPOSSIBLE
    assert found.worst == "market/oven/gross:gvwr"
    verdict = next(item for item in weighed.findings().verdicts if item.id == found.worst)
    assert verdict.margin is not None
    assert found.short > -verdict.margin


def test_a_sound_state_needs_nothing(weighed: Weighed) -> None:
    found = Rebalancing(weighed, "solo", Freedom()).solve(Aim.MASS)
    assert found.status is Status.OPTIMAL
    assert found.moved == 0.0


def test_what_may_be_moved_is_marked_in_the_file_or_named(weighed: Weighed) -> None:
    marked = {item.id for item in Rebalancing(weighed, "market", Freedom()).items}
    named = Rebalancing(weighed, "market", Freedom(move=frozenset({"apprentice"}), keep=frozenset({"crate0"}))).items
    assert {item.id for item in named} == marked - {"crate0"} | {"apprentice"}
    assert next(item for item in named if item.id == "apprentice").floors


def crate(name: str, mass: float, rate: list[list[float]], **more: bool) -> Movable:
    """A crate in the middle, 2 m back; ``rate`` is the room for a unit of (m, m x, m y) of each limit."""
    return Movable(name, mass, 2.0, 0.0, np.array(rate), (FLOOR,), **more)


def test_a_fraction_of_a_pound_moves_nothing_across_that_need_not_be() -> None:
    """2 kg of room are missed. 20 kg moved 0.97 m across give 20 x 0.103093 x 0.97 = 2; 20.3 kg moved 0.05 m along give
    20.3 x 1.970443 x 0.05 = 2. The second touches 0.3 kg more, which is less than half a kilogram.
    """
    items = [
        crate("light", 20.0, [[0.0, 0.0, 2.0 / (20.0 * 0.97)]]),
        crate("heavier", 20.3, [[0.0, 2.0 / (20.3 * 0.05), 0.0]]),
    ]
    least = propose(np.array([-2.0]), items, [], aim=Aim.MASS)
    plain = propose(np.array([-2.0]), items, [], aim=Aim.MASS, near=0.5)
    assert least is not None
    assert plain is not None
    assert [(step.id, step.to) for step in least.steps] == [("light", pytest.approx((2.0, 0.97), abs=1e-5))]
    assert [(step.id, step.to) for step in plain.steps] == [("heavier", pytest.approx((2.05, 0.0), abs=1e-5))]


def test_one_thing_is_touched_rather_than_two_of_the_same_mass() -> None:
    """4 kg are missed. Two crates of 10 kg give 10 x 0.1 x 2 = 2 each where the floor ends; one of 20.3 kg, at 0.2 for
    a unit of its moment, gives 4 after 4 / (20.3 x 0.2) = 0.985 m.
    """
    items = [crate(name, 10.0, [[0.0, 0.1, 0.0]]) for name in ("one", "other")]
    items.append(crate("third", 20.3, [[0.0, 0.2, 0.0]]))
    least = propose(np.array([-4.0]), items, [], aim=Aim.MASS, near=0.1)
    plain = propose(np.array([-4.0]), items, [], aim=Aim.MASS, near=0.5)
    assert least is not None
    assert plain is not None
    assert [step.id for step in least.steps] == ["one", "other"]
    assert [(step.id, step.to) for step in plain.steps] == [("third", pytest.approx((2.985, 0.0), abs=1e-3))]


def test_of_as_few_items_the_one_that_is_least_to_carry() -> None:
    """Either crate alone does: 20 kg by 0.97 m across, or 40 kg by 0.05 m along: 2 kg m of carrying."""
    items = [
        crate("light", 20.0, [[0.0, 0.0, 2.0 / (20.0 * 0.97)]]),
        crate("heavy", 40.0, [[0.0, 2.0 / (40.0 * 0.05), 0.0]]),
    ]
    found = propose(np.array([-2.0]), items, [], aim=Aim.ITEMS, near=np.inf)
    assert found is not None
    assert [(step.id, step.to) for step in found.steps] == [("heavy", pytest.approx((2.05, 0.0), abs=1e-5))]


def test_what_can_be_moved_is_not_left_behind() -> None:
    """100 kg at 2 m weigh 100 x 0.5 x 2 = 100 kg on a limit that is missed by 5: 0.1 m forward, or left behind."""
    one = crate("crate", 100.0, [[0.0, -0.5, 0.0]], droppable=True)
    found = propose(np.array([-5.0]), [one], [], aim=Aim.MASS)
    assert found is not None
    assert [step.to for step in found.steps] == [pytest.approx((1.9, 0.0), abs=1e-5)]


@pytest.mark.parametrize(
    ("length", "places"),
    [
        ("in", [93.0, 92.0, 92.8, 92.7]),  # 2.355 m are 92.72 in
        ("mm", [2400.0, 2350.0, 2360.0, 2350.0, 2355.0, 2355.0]),
        (
            "ft",
            [7.75, 7.5, 7.8, 7.7, 7.727, 7.726],
        ),  # and 7.7264 ft; less than 7.75 would be the place where it stands
    ],
)
def test_a_place_is_told_in_whole_steps_the_roundest_first_and_rather_further(length: str, places: list[float]) -> None:
    units, item = UnitSystem("lb", length), crate("crate", 100.0, [[0.0, 0.0, 0.0]])
    item = replace(item, x=2.2860001, y=0.123)  # 7.5 ft, and a hair
    proposal = Proposal((RebalanceStep("crate", 100.0, (2.355, 0.123)),))
    steps = [round_.steps[0].to for round_ in handy(proposal, {"crate": item}, units)]
    assert [step and round(units.show(step[0], Dimension.LENGTH), 6) for step in steps] == places
    assert {step[1] for step in steps if step} == {0.123}  # nothing was to be moved across


def test_what_is_drained_is_told_in_whole_pounds_and_never_more_than_there_is() -> None:
    tank = replace(crate("water", 50.0, [[0.0, 0.0, 0.0]]), drainable=50.0)
    pound = UnitSystem("lb", "in").factor(Dimension.MASS)
    for drained, told in ((26.2 * pound, 27 * pound), (49.99, 50.0)):
        proposal = Proposal((RebalanceStep("water", drained, None, drained=True),))
        assert next(handy(proposal, {"water": tank}, UnitSystem("lb", "in"))).steps[0].mass == pytest.approx(told)


@pytest.mark.parametrize(("length", "step"), [("in", 1.0), ("mm", 50.0)])
def test_the_answer_is_told_in_whole_steps_and_holds(length: str, step: float) -> None:
    """A crate loads the truck's rear axle more than it may be: it goes forward, straight, by whole steps."""
    day = read_day(DAY)
    chest = Cargo("chest", "truck", mass=Quantity(80.0), x=Quantity(3.6), y=Quantity(-0.3), movable=True)
    market = replace(day.states["market"], cargo=(*day.states["market"].cargo, "chest"))
    day = replace(day, cargo={**day.cargo, "chest": chest}, states={**day.states, "market": market})
    truck, oven = day.vehicles["truck"], day.vehicles["oven"]
    rear = next(item for item in solve(day).findings().findings if item.id == "market/truck/axle/2").value
    assert rear is not None
    axles = (truck.axles[0], replace(truck.axles[1], rating=rear - 2.0))
    unrated = replace(oven, ratings=replace(oven.ratings, gvwr=None))  # it is too heavy in this state
    vehicles = {"truck": replace(truck, axles=axles), "oven": unrated}
    day = replace(day, vehicles=vehicles, units=UnitSystem("lb", length))
    found = Rebalancing(solve(day), "market", Freedom(keep=frozenset({"water"}), drop=False)).solve(Aim.MASS)
    assert found.proposal is not None
    assert found.findings is not None
    (moved,) = found.proposal.steps
    assert moved.to is not None
    whole = day.units.show(moved.to[0], Dimension.LENGTH) / step
    assert whole == pytest.approx(round(whole), abs=1e-6)
    assert moved.to[0] < 3.6
    assert moved.to[1] == -0.3
    judged = [verdict for verdict in found.findings.verdicts if verdict.probability is not None]
    assert all(verdict.outcome is Outcome.WITHIN for verdict in judged)
