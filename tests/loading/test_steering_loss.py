"""What the front axle lost is a limit of every coupled state, whichever question is asked of it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from steelyard.conformity import Outcome
from steelyard.dayfile import parse_day
from steelyard.findings import Findings, solve, weigh
from steelyard.loading import Aim, Scenario, floor_of, load_map
from steelyard.model import Cargo, State, WeighDay
from steelyard.questions.distribution import distribute
from steelyard.questions.influence import influence
from steelyard.questions.limits import limits_of
from steelyard.questions.rebalance import Freedom, Rebalancing, Status
from steelyard.questions.trailer import how_much_trailer
from steelyard.report.tables.what_if import what_if_text
from steelyard.units import Quantity

LOSS = "alone>coupled/van/front_change:steering_loss"
ASKED = "alone>what_if/van/front_change:steering_loss"

DAY = """
format = 1
units = { mass = "kg", length = "m" }
[instruments.a]
kind = "platform"
capacity = "5000 kg"
division = "5 kg"
[instruments.b]
kind = "platform"
capacity = "5000 kg"
division = "5 kg"
[vehicles.van]
role = "towing"
load_floor = [["2 m", "-0.8 m"], ["4.6 m", "-0.8 m"], ["4.6 m", "0.8 m"], ["2 m", "0.8 m"]]
[[vehicles.van.axles]]
x = "0 m"
track = "1.7 m"
[[vehicles.van.axles]]
x = "3.3 m"
track = "1.7 m"
[vehicles.van.couplings.ball]
type = "ball"
x = "4.7 m"
[vehicles.cart]
role = "trailer"
[[vehicles.cart.axles]]
x = "5 m"
track = "1.9 m"
[states.alone]
vehicles = ["van"]
[states.bare]
vehicles = ["van"]
cargo = ["crate"]
[states.coupled]
vehicles = ["van", "cart"]
couple = { towing = "van", at = "ball", trailer = "cart" }
[cargo.crate]
on = "van"
mass = "120 kg"
x = "4.4 m"
y = "0.1 m"
[[drafts]]
state = "alone"
readings = { "van/1" = ["a", 1460], "van/2" = ["b", 1400] }
[[drafts]]
state = "coupled"
readings = { "van/1" = ["a", 1220], "van/2" = ["b", 2210] }
[[drafts]]
state = "coupled"
readings = { "cart/1" = ["a", 4120] }
"""

CRATE = Cargo("more", "van", mass=Quantity(180.0), x=Quantity(4.5), y=Quantity(0.0))


@cache
def day() -> WeighDay:
    return parse_day(DAY, "van.toml")


def written(state: State, *, first: bool = False) -> WeighDay:
    """The day with the state that the question makes, written by hand, last or first in the file."""
    made = {state.id: state}
    states = {**made, **day().states} if first else {**day().states, **made}
    return replace(day(), cargo={**day().cargo, CRATE.id: CRATE}, states=states)


def asked_of_coupled() -> Findings:
    return solve(day()).ask(Scenario("coupled", add=(CRATE,)))


@pytest.mark.parametrize("first", [False, True])
def test_a_coupled_state_that_is_asked_about_is_the_same_as_written_by_hand(first: bool) -> None:
    state = replace(day().states["coupled"], id="what_if", cargo=(CRATE.id,))
    by_hand = {verdict.id: verdict for verdict in weigh(written(state, first=first)).verdicts}
    asked = {verdict.id: verdict for verdict in asked_of_coupled().verdicts}
    assert asked[ASKED].outcome is Outcome.OUTSIDE
    assert {name for name in by_hand if name.startswith("what_if/") or ">what_if/" in name} == set(asked)
    for name, verdict in asked.items():
        assert verdict.outcome is by_hand[name].outcome
        if verdict.outcome is None:
            continue  # sides, which nobody weighed
        assert verdict.value == pytest.approx(by_hand[name].value, rel=1e-9)
        assert verdict.u == pytest.approx(by_hand[name].u, rel=1e-5)
        # nine standard uncertainties beyond a limit, a chance of 1e-7 moves by eighty times as much as they do
        assert verdict.probability == pytest.approx(by_hand[name].probability, rel=1e-3)


def test_a_limit_on_a_change_that_turns_is_said_to_turn() -> None:
    scenario = Scenario("coupled", add=(CRATE,))
    weighed = solve(day())
    text = what_if_text(weighed.ask(scenario), weighed.findings(), scenario, "what_if")
    assert "- van front axle may lose 20 % when hitched: within before, then outside" in text


def test_it_is_judged_against_every_state_in_which_the_vehicle_tows_nothing() -> None:
    asked = {verdict.id for verdict in asked_of_coupled().verdicts}
    assert {ASKED, ASKED.replace("alone", "bare")} <= asked


def test_which_state_the_file_names_first_does_not_matter() -> None:
    states = {name: day().states[name] for name in reversed(list(day().states))}
    before, after = ({v.id: v for v in weigh(one).verdicts}[LOSS] for one in (day(), replace(day(), states=states)))
    assert after.outcome is before.outcome
    assert after.value == pytest.approx(before.value, rel=1e-9)


def test_the_load_map_stops_where_it_binds() -> None:
    weighed = solve(day())
    made = load_map(limits_of(weighed, "coupled", "van"), floor_of(day().vehicles["van"]), columns=8, rows=4)
    rear = [made.ids[place] for place in made.limit[:, -1]]
    assert set(rear) == {LOSS}
    assert float(made.most[0, -1]) < 180.0


def test_the_page_gets_its_row() -> None:
    for state, scenario in (("coupled", None), ("tried", Scenario("coupled", add=(CRATE,)))):
        rows = {item.id: row for item, row in influence(solve(day()), state, scenario).limits}
        row = rows[LOSS.replace("coupled", state)]
        assert row is not None
        assert (float(row.terms[0]) > 0.0) == (scenario is None)


def test_the_trailer_allowed_leaves_the_front_axle_enough() -> None:
    result = how_much_trailer(solve(day()), "alone").result
    assert {result.limits.ids[place] for place in result.binds} == {ASKED}
    heavier_alone = how_much_trailer(solve(day()), "bare").result
    assert {ASKED, ASKED.replace("alone", "bare")} <= set(heavier_alone.limits.ids)


def test_putting_right_keeps_it() -> None:
    state = State("full", ("van", "cart"), day().states["coupled"].links, (CRATE.id,))
    movable = replace(CRATE, movable=True)
    full = replace(written(state), cargo={**day().cargo, CRATE.id: movable})
    found = Rebalancing(solve(full), "full", Freedom(drop=False)).solve(Aim.MASS)
    assert found.status is Status.OPTIMAL
    assert found.findings is not None
    assert found.proposal is not None
    assert [step.id for step in found.proposal.steps] == [CRATE.id]
    verdicts = {verdict.id: verdict.outcome for verdict in found.findings.verdicts}
    assert verdicts[ASKED] is Outcome.WITHIN


def test_a_couple_that_is_set_is_judged_by_it() -> None:
    answer = distribute(solve(day()), "coupled", 0.25)
    assert answer.setting is not None
    assert answer.setting.findings is not None
    assert ASKED.replace("what_if", answer.setting.state) in {
        verdict.id for verdict in answer.setting.findings.verdicts
    }
