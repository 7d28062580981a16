"""Put it right with twenty items: the whole search beside the same programme written out in cvxpy and solved once.

Run alone it prints its own lines: ``python -m benchmarks.ask_rebalance``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import cvxpy
import numpy as np
from numpy.typing import NDArray

from benchmarks.ask_loading import DAY, GROUP, best
from benchmarks.measure import Row
from steelyard.dayfile import read_day
from steelyard.findings import solve
from steelyard.loading import Aim, Limits, Movable
from steelyard.model import Cargo, WeighDay
from steelyard.questions.limits import limits_of
from steelyard.questions.rebalance import Freedom, Rebalancing, Status
from steelyard.units import Quantity

ITEMS, STATE = 20, "market"
TOUCH = 0.05
"""Mass [kg] that touching an item counts for, as in the program."""

GAP = {"mip_rel_gap": 1e-6}
"""How near to the least counts as the least, as in the program."""

ALIKE = 1.0
"""How far two answers' masses may be apart [kg]: the search leaves a hair of room, agrees with the exact model, drains
whole pounds, and touches half a kilogram more where that is plainer.
"""

Array = NDArray[np.float64]


def loaded(floor: tuple[tuple[float, float], ...] = ()) -> WeighDay:
    """The bundled day with twenty movable crates too many aboard the trailer, which has a load floor where given."""
    day = read_day(DAY)
    rng = np.random.default_rng(7)
    crates = {
        f"crate{number}": Cargo(
            f"crate{number}",
            "oven",
            mass=Quantity(float(rng.uniform(12.0, 60.0))),
            x=Quantity(float(rng.uniform(3.2, 6.2))),
            y=Quantity(float(rng.uniform(-0.8, 0.0))),
            movable=True,
        )
        for number in range(ITEMS)
    }
    state = replace(day.states[STATE], cargo=(*day.states[STATE].cargo, *crates))
    vehicles = {**day.vehicles, "oven": replace(day.vehicles["oven"], load_floor=floor)}
    cargo = {**day.cargo, **crates}
    return replace(day, cargo=cargo, vehicles=vehicles, states={**day.states, STATE: state})


BENT = ((2.8, -0.95), (6.6, -0.95), (6.6, 0.95), (5.2, 0.95), (5.2, 0.2), (2.8, 0.2))
"""A load floor with a corner that points inwards [m]."""


def written_out(limits: Limits, items: Sequence[Movable], aim: Aim) -> cvxpy.Problem:
    """The same programme in cvxpy: the least touched so that every limit is kept with its guard band."""
    guarded = limits.room - limits.quantile * np.linalg.norm(limits.root, axis=1)
    effect: Any = guarded
    cost: Any = 0.0
    each = TOUCH if aim is Aim.MASS else sum(item.mass for item in items) + 1.0
    constraints: list[Any] = []
    for item in items:
        shift, drained = cvxpy.Variable(2), cvxpy.Variable(nonneg=True)
        dropped, draining = cvxpy.Variable(boolean=True), cvxpy.Variable(boolean=True)
        on = [cvxpy.Variable(boolean=True) for _ in item.floors]
        moved: Any = sum(on) if on else 0.0
        away = -item.rate @ item.place
        effect = effect + item.mass * (item.rate[:, 1:] @ shift) + away * (item.mass * dropped + drained)
        cost = cost + item.mass * (moved + dropped) + drained + each * (moved + dropped + draining)
        constraints += [moved + dropped + draining <= 1, drained <= item.drainable * draining]
        constraints += [dropped <= float(item.droppable), cvxpy.abs(shift) <= 20.0 * moved]
        for sides, here in zip(item.floors, on, strict=True):
            left = sides[:, 2] - sides[:, :2] @ np.array([item.x, item.y])
            constraints.append(sides[:, :2] @ shift <= left + 100.0 * (1 - here))
    return cvxpy.Problem(cvxpy.Minimize(cost), [*constraints, effect >= 0.01])


def checked(problem: Rebalancing, limits: Limits, aim: Aim) -> cvxpy.Problem:
    """The programme in cvxpy, once both have found the same mass, or as few items.

    Raises
    ------
    ArithmeticError: they have not, or the search's answer is not proved to be the least.
    """
    found = problem.solve(aim)
    if found.status is not Status.OPTIMAL or found.proposal is None:
        raise ArithmeticError(f"the search ended as {found.status}")
    programme = written_out(limits, problem.items, aim)
    programme.solve(solver=cvxpy.SCIPY, scipy_options=GAP)
    each = TOUCH if aim is Aim.MASS else sum(item.mass for item in problem.items) + 1.0
    other, count = float(np.asarray(programme.value)), len(found.proposal.steps)
    apart = found.moved + each * count - other if aim is Aim.MASS else count - other // each
    if not abs(apart) <= (ALIKE if aim is Aim.MASS else 0.0):
        raise ArithmeticError(f"the search touches {found.moved:.2f} kg in {count}; by cvxpy it costs {other:.2f}")
    return programme


def rows() -> Iterator[Row]:
    """The search on a floor that is a rectangle, and on one with a corner that points inwards."""
    for name, floor in (("", ()), (", bent floor", BENT)):
        weighed = solve(loaded(floor))
        problem, limits = Rebalancing(weighed, STATE, Freedom()), limits_of(weighed, STATE, "oven")
        for aim, words in ((Aim.MASS, "put right"), (Aim.ITEMS, "fewest items")):
            programme = checked(problem, limits, aim)
            took = best(lambda case=problem, goal=aim: case.solve(goal), 5)
            beside = best(lambda case=programme: case.solve(solver=cvxpy.SCIPY, scipy_options=GAP), 5)
            yield Row(GROUP, f"{words}, {ITEMS} items{name}", took, "one solution in cvxpy", beside, aim="1 s")


if __name__ == "__main__":
    for row in rows():
        print(f"{row.what:34}{row.took:9.3f} ms  {row.beside:24}{row.floor:12.3f} ms  {row.ratio:9.4f}  {row.aim}")
