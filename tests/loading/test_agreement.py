"""Any answer that two questions can give is the same in both: maps and trailers against the day asked the long way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from steelyard.cli.scenario_text import Wishes, scenario_given
from steelyard.conformity import Outcome
from steelyard.findings import Findings, Weighed, solve
from steelyard.loading import Aim, Hitching, Item, LoadMap, Scenario, ScenarioError, floor_of, load_map
from steelyard.model import Cargo, Distribution, DistributionKind, WeighDay
from steelyard.questions.distribution import distribute
from steelyard.questions.limits import limits_of
from steelyard.questions.rebalance import REBALANCE, Freedom, RebalanceAnswer, Rebalancing, Status
from steelyard.questions.trailer import how_much_trailer
from steelyard.questions.what_if import WHAT_IF
from steelyard.units import Quantity
from tests.loading.rated import KINDS, on_paper, rated, solved, with_crates

DOUBTS = [pytest.param(False, id="declared"), pytest.param(True, id="guessed")]
UNDER, OVER = 1.0 - 1e-7, 1.0 + 1e-6


def outcomes(found: Findings, state: str) -> dict[str, Outcome]:
    """The verdicts of the state that was asked about, by the ids that they have in ``state``."""
    return {v.id.replace("what_if", state, 1): v.outcome for v in found.verdicts if v.outcome is not None}


def put_on(vehicle: str, mass: float, made: LoadMap, place: tuple[int, int]) -> Cargo:
    x, y = float(made.x[place[1]]), float(made.y[place[0]])
    return Cargo("crate", vehicle, mass=Quantity(mass), x=Quantity(x), y=Quantity(y))


@pytest.mark.parametrize("doubtful", DOUBTS)
@pytest.mark.parametrize("kind", KINDS)
def test_what_the_map_allows_is_what_a_what_if_keeps(kind: str, doubtful: bool) -> None:
    compared = sum(agreeing(solved(kind, seed, doubtful=doubtful), np.random.default_rng(5)) for seed in (1, 2))
    assert compared > 0


def agreeing(weighed: Weighed, rng: np.random.Generator) -> int:
    """How many maps of a day were held against a what-if, each at one place."""
    day = weighed.adjustment.rig.day
    compared = 0
    for state, vehicle in ((one.id, name) for one in day.states.values() for name in one.vehicles):
        try:
            made = load_map(limits_of(weighed, state, vehicle), floor_of(day.vehicles[vehicle]), columns=9, rows=5)
        except ScenarioError:
            continue  # no limit of it is determined
        allowed = np.argwhere((made.most > 0.0) & np.isfinite(made.most))
        if not len(allowed):
            continue
        row, column = (int(part) for part in rng.choice(allowed))
        most = float(made.most[row, column])
        below, above = (
            outcomes(weighed.ask(Scenario(state, add=(put_on(vehicle, most * part, made, (row, column)),))), state)
            for part in (UNDER, OVER)
        )
        others = set(made.missed) - set(made.ids)
        assert {name for name, one in below.items() if one is not Outcome.WITHIN} <= others
        assert above[made.ids[made.limit[row, column]]] is not Outcome.WITHIN
        compared += 1
    return compared


def couplings(day: WeighDay) -> list[tuple[str, str, str]]:
    """State, vehicle and coupling that nothing hangs on."""
    return [
        (state.id, name, at)
        for state in day.states.values()
        for name in state.vehicles
        for at in day.vehicles[name].couplings
        if not any(link.towing == name for link in state.links)
    ]


@pytest.mark.parametrize("doubtful", DOUBTS)
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "solo"])
def test_the_trailer_allowed_is_one_that_hitched_on_paper_keeps_every_limit(kind: str, doubtful: bool) -> None:
    rng = np.random.default_rng(3)
    told = 0
    for seed in range(2):
        weighed = solved(kind, seed, doubtful=doubtful)
        day = weighed.adjustment.rig.day
        alone = {verdict.id: verdict.outcome for verdict in weighed.findings().verdicts}
        for state, vehicle, at in couplings(day):
            try:
                result = how_much_trailer(weighed, state, at=at).result
            except ScenarioError:
                continue
            whole = f"{state}/" if day.states[state].links else f"{state}/{vehicle}/"
            own = [one for name, one in alone.items() if one is not None and whole in name]
            assert bool(result.missed) == any(one is not Outcome.WITHIN for one in own)
            if result.missed:
                assert not result.most.any()
                assert result.load == result.at(0.12)[0] == 0.0
                continue
            column = int(rng.integers(len(result.shares)))
            share, most = float(result.shares[column]), float(result.most[column])
            if not 0.0 < most < np.inf:
                continue
            below, above = (_hitched(day, state, vehicle, at, most * part, share) for part in (UNDER, OVER))
            assert [name for name, one in below.items() if one is not Outcome.WITHIN] == []
            limit = result.limits.ids[result.binds[column]].replace("/trailer/", "/paper/")
            assert above[limit] is not Outcome.WITHIN or kind == "fifth_wheel"  # there the answer is cautious
            told += 1
    assert told > 0


def _hitched(day: WeighDay, state: str, vehicle: str, at: str, gross: float, share: float) -> dict[str, Outcome]:
    """The limits of the towing vehicle with a trailer on paper, the window of usual shares left out."""
    weighed = solve(on_paper(day, gross, share))
    found = weighed.ask(Scenario(state, hitch=(Hitching(at, "paper", vehicle),)))
    named = {verdict.id: verdict.outcome for verdict in found.verdicts if verdict.outcome is not None}
    theirs = ("paper/left_share", "share:window")
    return {name: one for name, one in named.items() if not any(part in name for part in theirs)}


MENDED = [kind for kind in KINDS if kind not in ("fifth_wheel", "double")]
"""Kinds of days in which what is aboard can put a state right; in the others the share on a coupling is far out."""


@pytest.mark.parametrize("aim", list(Aim))
@pytest.mark.parametrize("kind", MENDED)
def test_what_puts_a_state_right_does_so_when_it_is_typed_as_a_what_if(kind: str, aim: Aim) -> None:
    told = 0
    for seed in range(2):
        day = with_crates(rated(kind, seed, doubtful=seed == 1), seed)
        weighed = solve(day)
        for state in day.states:
            answer = Rebalancing(weighed, state, Freedom(drop=seed == 0)).solve(aim)
            if answer.status is Status.IMPOSSIBLE:
                continue
            data = REBALANCE.data(RebalanceAnswer(day, state, answer, answer), file="day.toml")
            given = scenario_given(day, state, typed(data["actions"], day))
            question = WHAT_IF.read(day, given.values, "day.toml", given.options)
            found = weighed.ask(question.scenario(day))
            assert {v.id for v in found.verdicts if v.outcome not in (Outcome.WITHIN, None)} == set()
            told += bool(data["actions"])
    assert told > 0


def typed(actions: list[dict[str, Any]], day: WeighDay) -> Wishes:
    """The actions as options of ``whatif``."""
    unit = day.units.length
    moves = [item for item in actions if item["action"] == "move"]
    return Wishes(
        remove=tuple(item["cargo"] for item in actions if item["action"] == "remove"),
        move=tuple(f"{item['cargo']} to {item['to']['x']} {unit}, {item['to']['y']} {unit}" for item in moves),
        change=tuple(f"{item['cargo']}.level={item['level']} %" for item in actions if item["action"] == "drain"),
    )


@pytest.mark.parametrize("kind", ["weight_distribution", "single", "equalised", "independent", "gooseneck"])
@pytest.mark.parametrize("seed", range(2))
def test_a_couple_that_restores_a_part_is_the_same_state_asked_as_a_what_if(kind: str, seed: int) -> None:
    weighed = solved(kind, seed)
    day = weighed.adjustment.rig.day
    told = 0
    for state in day.states.values():
        if not state.links or day.vehicles[state.links[0].towing].couplings[state.links[0].at].type.value != "ball":
            continue
        setting = distribute(weighed, state.id, 0.5).setting
        if setting is None or setting.findings is None or setting.couple.value is None:
            continue
        couple = Distribution(DistributionKind.STATED, Quantity(setting.couple.value, 0.0))
        asked = weighed.ask(Scenario(state.id, distribution={state.links[0].trailer: couple}), setting.state)
        mine, theirs = ({v.id: v for v in one.verdicts} for one in (setting.findings, asked))
        own = {name for name in mine if name.endswith(("above_alone", "below_alone"))}  # against a setting only
        own |= {name for name in mine if name.split(">")[0] in {"alone", "alone_"} - set(day.states)}  # made to compare
        assert set(mine) - own == set(theirs)
        for name, verdict in theirs.items():
            assert mine[name].outcome is verdict.outcome
            assert mine[name].probability == pytest.approx(verdict.probability, abs=1e-9)
        told += 1
    assert told > 0 or kind == "gooseneck"


@pytest.mark.parametrize("kind", ["equalised", "triple", "single"])
def test_a_thing_may_stand_where_a_what_if_with_it_keeps_every_limit(kind: str) -> None:
    weighed, item = solved(kind, 1), Item(500.0, 20.0)
    day = weighed.adjustment.rig.day
    answers: set[bool] = set()
    for state, vehicle in ((one.id, name) for one in day.states.values() for name in one.vehicles):
        made = load_map(
            limits_of(weighed, state, vehicle), floor_of(day.vehicles[vehicle]), columns=5, rows=3, item=item
        )
        assert made.fits is not None
        for row, column in np.ndindex(3, 5):
            crate = replace(put_on(vehicle, item.mass, made, (row, column)), mass=Quantity(item.mass, item.u))
            found = outcomes(weighed.ask(Scenario(state, add=(crate,))), state)
            kept = all(found[name] is Outcome.WITHIN for name in made.ids)
            assert kept == made.fits[row, column]
            answers.add(kept)
    assert answers == {True, False}
