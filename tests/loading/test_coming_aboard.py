"""What a hitched trailer brings does not hang on which state stands first in the file."""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.loading import Hitching, Scenario, ScenarioError, applied
from steelyard.model import State, WeighDay

HEAD = """format = 1
units = { mass = "kg", length = "m" }
[vehicles.van]
role = "towing"
axles = [{ x = 0, track = 1.6 }, { x = 3, track = 1.6 }]
couplings.ball = { type = "ball", x = 4 }
[vehicles.cart]
role = "trailer"
axles = [{ x = 3, track = 1.6 }]
[cargo.box]
on = "cart"
mass = 100
x = 3
y = 0
[cargo.spade]
on = "cart"
mass = 5
x = 3
y = 0
[instruments.p1]
kind = "pad"
capacity = "5000 kg"
division = "10 kg"
[states.solo]
vehicles = ["van"]
"""
FULL = '[states.full]\nvehicles = ["cart"]\ncargo = ["box", "spade"]\n'
BARE = '[states.bare]\nvehicles = ["cart"]\ncargo = ["box"]\n'
DRAFT = '[[drafts]]\nstate = "STATE"\nreadings = { "cart/1L" = ["p1", 500] }\n'
HITCH = (Hitching("ball", "cart"),)


def day(*states: str, weighed: tuple[str, ...] = ("full", "bare")) -> WeighDay:
    return parse_day(HEAD + "".join(states) + "".join(DRAFT.replace("STATE", one) for one in weighed), "day.toml")


def made(day: WeighDay, put_on: tuple[str, ...] = (), remove: tuple[str, ...] = ()) -> State:
    return applied(day, Scenario("solo", hitch=HITCH, put_on=put_on, remove=remove)).states["what_if"]


@pytest.mark.parametrize("states", [(FULL, BARE), (BARE, FULL)])
def test_where_weighed_states_disagree_it_is_asked_in_either_order(states: tuple[str, str]) -> None:
    with pytest.raises(ScenarioError, match=r"'cart' was weighed with 'spade' in full and without it in bare; say"):
        made(day(*states))
    assert made(day(*states), put_on=("spade",)).cargo == ("box", "spade")
    assert made(day(*states), remove=("spade",)).cargo == ("box",)


@pytest.mark.parametrize("states", [(FULL, BARE), (BARE, FULL)])
def test_a_state_that_nobody_weighed_has_no_say(states: tuple[str, str]) -> None:
    assert made(day(*states, weighed=("bare",))).cargo == ("box",)
    assert made(day(*states, weighed=("full",))).cargo == ("box", "spade")


def test_what_is_nowhere_aboard_cannot_be_removed() -> None:
    with pytest.raises(ScenarioError, match="not aboard"):
        made(day(FULL, BARE, weighed=("bare",)), remove=("spade",))
