"""Questions about how much, of days whose readings contradict one another: the least of all answers, and the mark."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from steelyard.conformity import Outcome
from steelyard.findings import Weighed, solve
from steelyard.loading import Aim, Item, ScenarioError, floor_of, load_map
from steelyard.model import WeighDay
from steelyard.questions.limits import limits_of, predict_many
from steelyard.questions.load_map import LOAD_MAP, LoadMapAnswer
from steelyard.questions.rebalance import REBALANCE, Freedom, RebalanceAnswer, Rebalancing, Status
from steelyard.questions.trailer import TRAILER, how_much_trailer
from steelyard.report.drawings.load_map.view import load_map_svg
from steelyard.report.drawings.trailer import trailer_svg
from steelyard.report.tables.load_map import load_map_csv, load_map_text
from steelyard.report.tables.rebalance import rebalance_text
from steelyard.report.tables.trailer import trailer_text
from tests.loading.rated import SLIPPED, contradicting, rated, with_crates
from tests.loading.test_agreement import agreeing

COLUMNS, ROWS = 9, 5


@cache
def days() -> tuple[WeighDay, ...]:
    """Days whose slip stands out, so that their ratings are met by some of the answers and missed by others."""
    found = [contradicting(kind, seed) for kind in SLIPPED for seed in range(3)]
    return tuple(day for day in found if day is not None)


def lenient(day: WeighDay) -> WeighDay:
    """The same day with ratings that leave room whichever reading is wrong."""

    def more(rating: float | None) -> float | None:
        return None if rating is None else 1.6 * rating + 400.0

    vehicles = {
        name: replace(
            vehicle,
            axles=tuple(
                replace(axle, rating=more(axle.rating), wheel_rating=more(axle.wheel_rating)) for axle in vehicle.axles
            ),
            ratings=replace(vehicle.ratings, gvwr=more(vehicle.ratings.gvwr)),
        )
        for name, vehicle in day.vehicles.items()
    }
    return replace(day, vehicles=vehicles)


def each_answer(weighed: Weighed) -> list[Weighed]:
    """The day by all readings, and as each explanation has it."""
    adjustment = weighed.adjustment
    plain = Weighed(replace(adjustment, explanations=()))
    return [plain, *(Weighed(adjustment.under(one)) for one in adjustment.explanations)]


def test_there_are_such_days() -> None:
    assert len(days()) > 2


@pytest.mark.parametrize("room", [False, True], ids=["tight", "roomy"])
def test_the_map_agrees_with_a_what_if_on_such_days_too(room: bool) -> None:
    compared = sum(agreeing(solve(lenient(day) if room else day), np.random.default_rng(2)) for day in days())
    assert compared > 0 or not room


def test_a_map_is_the_least_of_the_maps_of_all_answers() -> None:
    for day in map(lenient, days()):
        weighed = solve(day)
        state = next(iter(day.states))
        vehicle = day.states[state].vehicles[0]
        made = load_map(
            limits_of(weighed, state, vehicle),
            floor_of(day.vehicles[vehicle]),
            item=Item(400.0),
            columns=COLUMNS,
            rows=ROWS,
        )
        each = [
            load_map(
                limits_of(one, state, vehicle),
                floor_of(day.vehicles[vehicle]),
                item=Item(400.0),
                columns=COLUMNS,
                rows=ROWS,
            )
            for one in each_answer(weighed)
        ]
        np.testing.assert_allclose(made.most, np.min([one.most for one in each], axis=0), rtol=2e-4)
        assert made.spare is not None
        spare = [one.spare for one in each if one.spare is not None]
        np.testing.assert_allclose(made.spare, np.min(spare, axis=0), rtol=1e-4, atol=0.05)
        assert len(set(made.ids)) == len(made.ids) == len(each[0].ids)
        assert made.contested
        assert not each[0].contested


def test_many_loads_are_kept_only_where_every_answer_keeps_them() -> None:
    day = lenient(days()[0])
    weighed, state = solve(day), next(iter(day.states))
    vehicle = day.states[state].vehicles[0]
    rng = np.random.default_rng(0)
    mass = rng.uniform(0.0, 3000.0, 200)
    loads = np.column_stack([mass, mass * rng.uniform(0.0, 4.0, 200), mass * rng.uniform(-0.5, 0.5, 200)])
    found = predict_many(weighed, state, vehicle, loads)
    each = [predict_many(one, state, vehicle, loads) for one in each_answer(weighed)]
    assert found.ids == each[0].ids
    assert (found.kept == np.all([one.kept for one in each], axis=0)).all()
    assert found.kept.any()
    assert not found.kept.all()


def test_a_trailer_is_the_least_of_the_trailers_of_all_answers() -> None:
    told = 0
    for day in map(lenient, days()):
        weighed = solve(day)
        try:
            answer = how_much_trailer(weighed, "solo")
        except ScenarioError:
            continue
        each = [how_much_trailer(one, "solo").result for one in each_answer(weighed)]
        share = 0.12
        # an explanation moves the unknowns along their derivatives, here of the state and there of the probes
        assert answer.result.at(share)[0] == pytest.approx(min(one.at(share)[0] for one in each), rel=2e-4)
        assert answer.result.load == pytest.approx(min(one.load for one in each), rel=2e-4)
        told += answer.result.at(share)[0] > 0.0
        data = TRAILER.data(answer, file="day.toml")
        assert data["contested"]
        assert len({item["id"] for item in data["limits"]}) == len(data["limits"])
        assert "contradict one another" in trailer_text(answer)
        assert "Contested: the readings contradict one another" in trailer_svg(answer).replace("\n", " ")
    assert told > 0


def test_what_puts_a_state_right_does_so_whichever_reading_is_wrong() -> None:
    told = 0
    for number, day in enumerate(days()):
        crated = with_crates(lenient(day), number)
        weighed = solve(crated)
        for state in crated.states:
            answer = Rebalancing(weighed, state, Freedom()).solve(Aim.MASS)
            data = REBALANCE.data(RebalanceAnswer(crated, state, answer, answer), file="day.toml")
            assert data["contested"]
            assert "contradict one another" in rebalance_text(crated, state, answer, answer)
            if answer.status is Status.IMPOSSIBLE or answer.findings is None:
                continue
            assert all(one.outcome in (Outcome.WITHIN, None) for one in answer.findings.verdicts)
            told += bool(data["actions"])
    assert told > 0


def test_every_form_of_the_map_carries_the_mark() -> None:
    day = lenient(days()[0])
    state = next(iter(day.states))
    vehicle = day.states[state].vehicles[0]
    made = load_map(limits_of(solve(day), state, vehicle), floor_of(day.vehicles[vehicle]), columns=COLUMNS, rows=ROWS)
    assert LOAD_MAP.data(LoadMapAnswer(day, made, state, vehicle, None), file="day.toml")["contested"]
    assert "contradict one another" in load_map_text(day, made, state=state, vehicle=vehicle, item=None)
    assert "Contested" in load_map_svg(day, made, state=state, vehicle=vehicle)
    head, *rows = load_map_csv(made, day.units)
    assert head == "x,y,max_mass,limit,contested\n"
    assert all(row.endswith(",contested\n") for row in rows)


def test_a_sound_day_carries_none() -> None:
    day = rated("equalised", 1)
    made = load_map(limits_of(solve(day), "solo", "tow"), floor_of(day.vehicles["tow"]), columns=COLUMNS, rows=ROWS)
    assert not made.contested
    assert next(iter(load_map_csv(made, day.units))) == "x,y,max_mass,limit\n"
    assert "ontested" not in load_map_svg(day, made, state="solo", vehicle="tow")
