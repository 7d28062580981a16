"""Cost, steps and drafts are one thing: plans are carried out by hand, and held against every other order and set."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations_with_replacement, count, permutations

import numpy as np
import pytest

from steelyard.model import Draft, WeighDay, WrittenReading, parse_place
from steelyard.planning import Costs, Kit, Planner, SearchStatus, kit_of, walk
from steelyard.planning.orders import Orders
from steelyard.questions.plan import DayPlan, plan
from steelyard.questions.plan.planned import _Asked  # pyright: ignore[reportPrivateUsage]
from tests.planning.by_hand import carried_out, cheapest, left
from tests.planning.days import HERBS, TANDEM, day_of, herbs

_MORE = """\
[states.laden]
vehicles = ["van", "cart"]
couple = { towing = "van", at = "ball", trailer = "cart", weight_distribution = true }
cargo = ["sacks"]
[cargo.sacks]
on = "van"
mass = "200 kg"
x = "3000 mm"
y = "0 mm"
"""
INDEPENDENT = TANDEM.replace('sharing = "equalised"', 'sharing = "independent"')
WISHES = (
    "hitched/coupling/load <= 25 kg",
    "solo/van/axle/1 <= 20 kg",
    "hitched/cart/axle/1 <= 30 kg",
    "solo>hitched/van/axle/2 <= 16 kg",
    "hitched/van/axle/1",
    "parked/cart/axles <= 25 kg",
)
_STATES = ("solo", "hitched", "parked")


def drawn(seed: int) -> tuple[WeighDay, Kit, Costs, list[str]]:
    """A small day with a last draft or none, pads of some height, blocks, planks or neither, and what is wanted."""
    rng = np.random.default_rng(seed)
    pads = int(rng.choice([2, 4]))
    text = [HERBS, TANDEM, INDEPENDENT][int(rng.integers(3))]
    day = day_of(herbs(pads, text=text, height="40 mm", more=_MORE if rng.random() < 0.4 else ""))
    names = [f"p{number}" for number in range(1, pads + 1)]
    state = _STATES[int(rng.integers(3))]
    if rng.random() < 0.7:
        vehicles = day.states[state].vehicles
        every = [f"{name}/{wheel}" for name in vehicles for wheel in day.vehicles[name].wheels]
        chosen = [str(one) for one in rng.permutation(every)[:pads]]
        readings = tuple(
            WrittenReading(parse_place(place, day.vehicles), name, 400.0)
            for place, name in zip(chosen, names, strict=False)
        )
        draft = replace(_any_draft(day), state=state, readings=readings, on_ground=bool(rng.random() < 0.3))
        day = replace(day, drafts=(draft,))
    blocks = [None, 0, 2, 4][int(rng.integers(4))]
    kit = kit_of(day, names, blocks=blocks, planks=blocks is None)
    costs = Costs().changed({"block": float(rng.choice([0.5, 2.0])), "hitch": float(rng.choice([1.0, 10.0]))})
    wishes = [str(one) for one in rng.choice(WISHES, int(rng.integers(1, 3)), replace=False)]
    return day, kit, costs, wishes


def _any_draft(day: WeighDay) -> Draft:
    return Draft(1, next(iter(day.states)), ())


@cache
def planned(seed: int) -> tuple[DayPlan, Planner]:
    """The plan of a drawn day, and what may be put in its place."""
    day, kit, costs, wishes = drawn(seed)
    looks = count()  # a clock that counts how often it is looked at: the search ends after so much work anywhere
    found = plan(day, wishes, kit, costs, seconds=WORK, more=False, now=lambda: float(next(looks)))
    return found, _Asked(day, wishes, ()).planner(kit, costs)


WORK = 5000.0

SEEDS = tuple(range(12))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plan_carried_out_by_its_steps_costs_what_it_says_and_stands_as_its_drafts_say(seed: int) -> None:
    found, _ = planned(seed)
    if found.outcome.found:
        assert carried_out(found) == pytest.approx(found.outcome.cost)
        assert sum(step.cost for step in found.steps) == pytest.approx(found.outcome.cost)


def test_most_of_the_drawn_days_can_be_planned_and_some_need_blocks() -> None:
    plans = [planned(seed)[0] for seed in SEEDS]
    assert sum(one.outcome.status is SearchStatus.OPTIMAL and bool(one.offers) for one in plans) >= 6
    assert any(offer.blocks for one in plans for offer in one.offers)
    assert any(offer.stays for one in plans for offer in one.offers)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_other_set_in_any_order_costs_less(seed: int) -> None:
    """Every set of up to as many placements, in every order, with every choice of blocks, paid for by hand."""
    found, planner = planned(seed)
    day, kit, costs = found.day, planner.kit, planner.costs
    if found.outcome.status is not SearchStatus.OPTIMAL or not found.offers:
        return
    yard = left(day)
    for size in range(1, min(len(found.outcome.plan), 2) + 1):
        for some in combinations_with_replacement(range(len(planner.placings)), size):
            orders = set(permutations(some))
            paid = min(
                cheapest(day, [planner.placings[at] for at in order], costs, kit.blocks, yard) for order in orders
            )
            if paid < found.outcome.cost - 1e-6:
                half = planner.doubt.half_widths(some)
                sufficient = np.isfinite(half) & (half <= planner.question.bounds)
                assert not sufficient.all(), (some, paid, found.outcome.cost)


@pytest.mark.parametrize("seed", SEEDS[:6])
def test_an_order_costs_what_it_costs_by_hand(seed: int) -> None:
    """Three placements drawn at random: their best order, and a given one."""
    found, planner = planned(seed)
    if not planner.placings:
        return
    rng = np.random.default_rng(seed)
    orders = Orders(planner.handling, planner.costs.move)
    for _ in range(20):
        some = tuple(int(at) for at in rng.integers(0, len(planner.placings), 3))
        paid = {
            order: cheapest(
                found.day, [planner.placings[at] for at in order], planner.costs, planner.kit.blocks, left(found.day)
            )
            for order in set(permutations(some))
        }
        assert walk(planner.handling, some)[-1][0] == pytest.approx(paid[some])
        assert orders.cost(tuple(sorted(some))) == pytest.approx(min(paid.values()))
        best = orders.ordered(tuple(sorted(some)))
        assert paid[best] == pytest.approx(min(paid.values()))


def test_drafts_share_a_placement_only_where_the_blocks_suit_both() -> None:
    """Blocks are as high as the pads of a draft; with pads of two heights a later draft would want other blocks."""
    text, wish, names = herbs(4, height="40 mm"), ("solo>hitched/van/axle/1 <= 30 kg",), ["p1", "p2", "p3", "p4"]
    mixed = text
    for name in ("p3", "p4"):
        head, mark, tail = mixed.partition(f"[instruments.{name}]")
        mixed = head + mark + tail.replace('height = "40 mm"', 'height = "60 mm"', 1)

    def shared(day: WeighDay) -> set[tuple[str, ...]]:
        placings = _Asked(day, wish, ()).planner(kit_of(day, names, planks=True), Costs()).placings
        both = [placing for placing in placings if [offer.state for offer in placing] == ["hitched", "solo"]]
        return {tuple(sorted(place for place, _ in placing[0].placements)) for placing in both}

    every = ("cart/1L", "cart/1R", "van/1L", "van/1R")
    assert every in shared(day_of(text))
    assert every not in shared(day_of(mixed))
    assert ("van/1L", "van/1R") in shared(day_of(mixed))
    assert ("cart/1L", "cart/1R") not in shared(day_of(text))  # nothing is left to be read
