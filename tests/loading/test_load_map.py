"""The load map against the long way: put that mass there, ask the day, read the verdicts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steelyard.findings import solve
from steelyard.loading import Item, LoadMap, Scenario, ScenarioError, floor_of, load_map, without
from steelyard.model import Cargo
from steelyard.questions.limits import limits_of, predict_many
from steelyard.units import Quantity
from tests.loading.days import BAKERY, weighed


def made(state: str, vehicle: str, *, grid: tuple[int, int] = (40, 16), item: Item | None = None) -> LoadMap:
    limits = limits_of(weighed(), state, vehicle)
    return load_map(limits, floor_of(BAKERY.vehicles[vehicle]), columns=grid[0], rows=grid[1], item=item)


def asked(state: str, vehicle: str, mass: float, x: float, y: float) -> dict[str, float]:
    """The probability that each limit of the state is met with the mass there, by verdict id of that state.

    The place is taped, as any that is written without its own uncertainty.
    """
    cargo = Cargo("crate", vehicle, mass=Quantity(mass), x=Quantity(x), y=Quantity(y))
    found = weighed().ask(Scenario(state, add=(cargo,)), "tried")
    return {
        verdict.id.replace("tried", state, 1): verdict.probability
        for verdict in found.verdicts
        if verdict.probability is not None and verdict.finding.startswith("tried/")
    }


@pytest.mark.parametrize(("state", "vehicle"), [("solo", "truck"), ("levelled", "truck"), ("levelled", "oven")])
def test_at_the_most_the_named_limit_is_met_at_95_percent_and_no_other_below(state: str, vehicle: str) -> None:
    found = made(state, vehicle)
    rng = np.random.default_rng(7)
    for row, column in zip(rng.integers(0, 16, 12), rng.integers(0, 40, 12), strict=True):
        mass, limit = float(found.most[row, column]), found.ids[found.limit[row, column]]
        met = asked(state, vehicle, mass, float(found.x[column]), float(found.y[row]))
        assert met[limit] == pytest.approx(0.95, abs=1e-7), (limit, mass)
        assert min(met.values()) > 0.95 - 1e-7


def test_more_than_the_most_breaks_the_limit_and_less_keeps_all() -> None:
    found = made("levelled", "truck")
    for row, column in ((2, 5), (8, 20), (12, 38)):
        at = (float(found.x[column]), float(found.y[row]))
        limit = found.ids[found.limit[row, column]]
        assert asked("levelled", "truck", float(found.most[row, column]) * 1.0001, *at)[limit] < 0.95
        assert min(asked("levelled", "truck", float(found.most[row, column]) * 0.9999, *at).values()) > 0.95


def test_several_limits_bind_and_each_alone_is_never_less() -> None:
    found = made("levelled", "truck")
    names = {found.ids[place].split("/", 2)[2] for place in found.binding}
    assert {"payload:payload", "axle/1:rating", "axle/2:rating"} <= names
    assert found.each.shape == (len(found.binding), 16, 40)
    np.testing.assert_allclose(found.each.min(axis=0), found.most, rtol=1e-12)


def test_an_item_may_stand_where_the_most_is_no_less() -> None:
    found = made("levelled", "truck", item=Item(700.0))
    assert found.fits is not None
    assert 0 < found.fits.sum() < found.within.sum()
    assert (found.fits == (found.most >= 700.0)).all()


def test_an_item_of_doubtful_mass_may_stand_in_fewer_places() -> None:
    sure, doubtful = (made("levelled", "truck", item=Item(700.0, u)).fits for u in (0.0, 60.0))
    assert sure is not None
    assert doubtful is not None
    assert doubtful.sum() < sure.sum()
    assert not (doubtful & ~sure).any()


def test_places_off_the_floor_have_no_amount() -> None:
    vehicle = replace(BAKERY.vehicles["truck"], load_floor=((1.0, -0.8), (5.0, -0.8), (3.0, 0.8)))
    found = load_map(limits_of(weighed(), "solo", "truck"), floor_of(vehicle), columns=40, rows=20)
    assert found.within.mean() == pytest.approx(0.5, abs=0.03)
    assert (np.isnan(found.most) == ~found.within).all()
    assert (found.limit[~found.within] == -1).all()


def test_a_limit_that_is_missed_and_that_a_load_only_strains_leaves_nothing() -> None:
    found = made("market", "oven")
    assert found.missed == ("market/oven/gross:gvwr",)
    assert (found.most[found.within] == 0.0).all()
    assert {found.ids[place] for place in np.unique(found.limit)} == {"market/oven/gross:gvwr"}


def test_a_missed_limit_that_no_load_there_touches_is_said_and_does_not_bind() -> None:
    found = made("market", "truck")
    assert found.missed == ("market/oven/gross:gvwr",)
    assert "market/oven/gross:gvwr" not in found.ids
    assert float(np.nanmin(found.most)) > 0.0


def test_a_missed_limit_that_a_load_mends_asks_for_enough_of_it() -> None:
    limits = limits_of(weighed(), "levelled", "oven")
    low = limits.ids.index("levelled/coupling/share:window_low")
    room = limits.room.copy()
    room[low] -= 10.0  # as if the window began higher: missed now, and mended by what stands far forward
    only = without(replace(limits, room=room), frozenset(limits.ids) - {limits.ids[low], "levelled/oven/gross:gvwr"})
    found = load_map(only, floor_of(BAKERY.vehicles["oven"]), columns=60, rows=8)
    assert found.missed == ("levelled/coupling/share:window_low",)
    front, rear = found.most[:, 5], found.most[:, -1]
    assert (front > 100.0).all()
    assert (rear == 0.0).all()


def test_without_any_limit_that_a_load_touches_it_is_said() -> None:
    limits = limits_of(weighed(), "levelled", "truck")
    untouched = without(limits, frozenset(limits.ids) - {"levelled/oven/gross:gvwr"})
    with pytest.raises(ScenarioError, match="no limit that the readings determine depends on a load there"):
        load_map(untouched, floor_of(BAKERY.vehicles["truck"]), columns=4, rows=4)


def test_ten_thousand_what_ifs_are_those_asked_one_by_one() -> None:
    rng = np.random.default_rng(1)
    masses, x, y = rng.uniform(10.0, 900.0, 10_000), rng.uniform(0.0, 5.0, 10_000), rng.uniform(-0.8, 0.8, 10_000)
    many = predict_many(weighed(), "levelled", "truck", np.column_stack([masses, masses * x, masses * y]))
    assert many.room.shape == (10_000, len(many.ids))
    for row in (0, 17, 4711):
        met = asked("levelled", "truck", masses[row], x[row], y[row])
        for place, name in enumerate(many.ids):
            if name in met:
                assert many.kept[row, place] == (met[name] >= 0.95)


@pytest.mark.parametrize("loads", [np.zeros(3), np.zeros((2, 2)), np.full((1, 3), np.nan)])
def test_loads_of_another_shape_are_refused(loads: np.ndarray) -> None:
    with pytest.raises(ValueError, match=r"loads are finite and of shape \(k, 3\)"):
        predict_many(weighed(), "levelled", "truck", loads)


@pytest.mark.parametrize("payload", [1800.0, 1860.3, 1900.0, 2000.7])
def test_of_two_limits_that_are_one_the_first_is_named(payload: float) -> None:
    """Without an unloaded mass, the payload allows what the GVWR allows, but for the last bit of a sum."""
    truck = BAKERY.vehicles["truck"]
    alike = replace(truck, unloaded=None, ratings=replace(truck.ratings, payload=payload))
    solved = solve(replace(BAKERY, vehicles={**BAKERY.vehicles, "truck": alike}))
    found = load_map(limits_of(solved, "solo", "truck"), floor_of(alike), columns=20, rows=8)
    names = {found.ids[place] for place in found.binding}
    assert "solo/truck/gross:gvwr" in names
    assert "solo/truck/payload:payload" not in names


@pytest.mark.parametrize("count", [3, 5, 7, 11, 15, 17, 21, 27, 81])
def test_the_place_in_the_middle_is_on_the_centreline_and_not_beside_it(count: int) -> None:
    found = made("levelled", "truck", grid=(4, count))
    assert found.y[count // 2] == 0.0
    assert not np.signbit(found.y[count // 2])
    assert (found.y == -found.y[::-1]).all()
