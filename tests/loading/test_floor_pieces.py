"""Floors with corners that point inwards: their convex pieces, and what is moved onto them."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.findings import solve
from steelyard.loading import Aim, Movable, convex_pieces, floor_sides, propose
from steelyard.loading.floor import inside
from steelyard.questions.rebalance import Freedom, Rebalancing, Status
from tests.loading.test_rebalance import loaded

Outline = tuple[tuple[float, float], ...]

ELL: Outline = ((0.0, 0.0), (4.0, 0.0), (4.0, 0.6), (1.5, 0.6), (1.5, 2.0), (0.0, 2.0))
HORSESHOE: Outline = (
    (0.0, -1.0),
    (4.0, -1.0),
    (4.0, 1.0),
    (3.0, 1.0),
    (3.0, -0.4),
    (1.0, -0.4),
    (1.0, 1.0),
    (0.0, 1.0),
)


def star(seed: int) -> Outline:
    """A floor with many corners that point inwards, around the origin."""
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0.0, 2 * np.pi, 11))
    sizes = rng.uniform(0.4, 3.0, 11)
    return tuple((float(r * np.cos(a)), float(r * np.sin(a))) for a, r in zip(angles, sizes, strict=True))


def area(outline: Outline) -> float:
    turned = (*outline[1:], outline[0])
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, turned, strict=True)) / 2


def within_any(pieces: tuple[NDArray[np.float64], ...], places: NDArray[np.float64]) -> NDArray[np.bool_]:
    return np.any([np.all(places @ sides[:, :2].T <= sides[:, 2] + 1e-6, axis=1) for sides in pieces], axis=0)


@pytest.mark.parametrize("outline", [ELL, HORSESHOE, *(star(seed) for seed in range(8))])
@pytest.mark.parametrize("turned", [False, True])
def test_the_pieces_are_the_floor_and_no_more(outline: Outline, turned: bool) -> None:
    floor = outline[::-1] if turned else outline
    pieces = convex_pieces(floor)
    assert sum(area(piece) for piece in pieces) == pytest.approx(abs(area(floor)), rel=1e-9)
    places = np.random.default_rng(1).uniform(-3.0, 4.0, (2000, 2))
    assert np.array_equal(within_any(floor_sides(floor), places), inside(floor, places[:, 0], places[:, 1]))


def test_a_convex_floor_stays_one_piece() -> None:
    assert len(floor_sides(((0.0, 1.0), (4.0, 1.0), (4.0, -1.0), (2.0, -1.0), (0.0, -1.0)))) == 1


def items_on(floor: Outline, seed: int) -> tuple[NDArray[np.float64], list[Movable]]:
    """Two limits that are missed and three items on a floor, which may only be moved."""
    rng = np.random.default_rng(seed)
    places = (
        rng.uniform((0.1, 0.05), (1.0, 0.5), (3, 2)) if floor is ELL else rng.uniform((0.1, -0.9), (3.9, -0.5), (3, 2))
    )
    rates = [np.column_stack([np.zeros(2), rng.uniform(-0.3, 0.3, 2), rng.uniform(-0.5, 0.5, 2)]) for _ in range(3)]
    masses = rng.uniform(40.0, 160.0, 3)
    items = [
        Movable(
            f"item{at}", float(masses[at]), float(places[at, 0]), float(places[at, 1]), rates[at], floor_sides(floor)
        )
        for at in range(3)
    ]
    return -rng.uniform(2.0, 60.0, 2), items


def by_every_piece(room: NDArray[np.float64], items: list[Movable]) -> float:
    """The least mass moved, each choice of a piece for each item solved by a cone solver."""
    import cvxpy

    best = np.inf
    for choice in itertools.product(*[[None, *item.floors] for item in items]):
        effect, cost = np.zeros(len(room)), 0.0
        constraints: list[Any] = []
        for item, sides in zip(items, choice, strict=True):
            if sides is None:
                continue
            place = cvxpy.Variable(2)
            constraints.append(sides[:, :2] @ place <= sides[:, 2])
            effect = effect + item.mass * (item.rate[:, 1:] @ (place - np.array([item.x, item.y])))
            cost += item.mass
        if cost >= best:
            continue
        if not constraints:
            best = 0.0 if np.all(room >= 0.0) else best
            continue
        constraints.append(room + effect >= 0)
        asked = cvxpy.Problem(cvxpy.Minimize(0), constraints)
        asked.solve(solver=cvxpy.CLARABEL)
        best = cost if asked.status in {"optimal", "optimal_inaccurate"} else best
    return best


@pytest.mark.parametrize("floor", [ELL, HORSESHOE])
@pytest.mark.parametrize("seed", range(5))
def test_the_least_moved_on_a_bent_floor_is_that_of_every_choice_tried(floor: Outline, seed: int) -> None:
    room, items = items_on(floor, seed)
    best = by_every_piece(room, items)
    found = propose(room, items, [], aim=Aim.MASS)
    if not np.isfinite(best):
        assert found is None
        return
    assert found is not None
    assert sum(step.mass for step in found.steps) == pytest.approx(best, abs=0.2)
    to = np.array([step.to for step in found.steps])
    assert within_any(floor_sides(floor), to).all()


def test_both_outcomes_are_among_these() -> None:
    found = [propose(*items_on(floor, seed), [], aim=Aim.MASS) for floor in (ELL, HORSESHOE) for seed in range(5)]
    assert any(one is None for one in found)
    assert any(one is not None for one in found)


def test_a_bent_load_floor_of_a_day_is_kept_to() -> None:
    day = loaded()
    floor = ((3.0, -0.9), (6.5, -0.9), (6.5, 0.9), (4.5, 0.9), (4.5, 0.1), (3.0, 0.1))
    day = replace(day, vehicles={**day.vehicles, "oven": replace(day.vehicles["oven"], load_floor=floor)})
    found = Rebalancing(solve(day), "market", Freedom()).solve(Aim.MASS)
    assert found.status is Status.OPTIMAL
    assert found.proposal is not None
    for step in found.proposal.steps:
        assert step.to is None or within_any(floor_sides(floor), np.array([step.to])).all()
