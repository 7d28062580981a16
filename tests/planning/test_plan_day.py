"""Plans for whole days: against exhaustion, against findings of days weighed as planned, and what is possible."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations_with_replacement, permutations

import numpy as np
import pytest

from steelyard.adjustment import prospect
from steelyard.dayfile import parse_day, write_planned
from steelyard.findings import weigh
from steelyard.planning import Clock, Costs, FoundPlan, Offer, PlanError, Planner, SearchStatus, kit_of, walk
from steelyard.planning.doubt import PlannedDoubt
from steelyard.questions.plan import PLAN, Action, WishError, plan
from steelyard.questions.plan.planned import Told, _Asked  # pyright: ignore[reportPrivateUsage]
from steelyard.questions.plan.steps import steps_of
from steelyard.report.tables.plan import plan_text
from tests.planning.days import TANDEM, day_of, herbs, weighed_as_planned

HOUR = 3600.0
"""What a search may take [s]: no load uses it up, so that it ends by what it has looked at."""

WISHES = ("hitched/coupling/load <= 12 kg", "hitched/van/axle/* <= 14 kg")


@pytest.mark.parametrize(
    ("count", "wishes"),
    [
        (2, ("hitched/van/axle/2 <= 12 kg",)),
        (2, ("solo/van/gross <= 12 kg", "hitched/cart/axle/1 <= 9 kg")),
        (4, ("hitched/coupling/load <= 12 kg",)),
        (4, ("solo>hitched/van/axle/1 <= 11 kg", "hitched/cart/axle/1 <= 10 kg")),
    ],
)
def test_the_plan_costs_what_the_cheapest_of_all_plans_costs(count: int, wishes: tuple[str, ...]) -> None:
    """Every multiset of up to four drafts, in every order, judged by the whole adjustment's own half-widths."""
    day = day_of(herbs(count))
    kit, costs = kit_of(day, [f"p{number}" for number in range(1, count + 1)]), Costs()
    found = plan(day, wishes, kit, costs, seconds=HOUR, more=False)
    assert found.outcome.status is SearchStatus.OPTIMAL
    asked = _Asked(day, wishes, ())
    planner = asked.planner(kit, costs)
    best = float("inf")
    for size in range(1, min(len(found.offers), 4) + 1):
        for some in combinations_with_replacement(range(len(planner.placings)), size):
            paid = min(walk(planner.handling, order)[-1][0] for order in set(permutations(some)))
            if paid >= min(best, found.outcome.cost + 1e-6):
                continue
            widths = asked.half_widths([offer for at in some for offer in planner.placings[at]])
            bounds = {wish.id: wish.bound for wish in asked.wishes}
            if all(half is not None and half <= (bounds[name] or np.inf) * (1 + 1e-6) for name, half in widths):
                best = paid
    assert best >= found.outcome.cost - 1e-6
    assert all(item.met for item in found.expected)


def test_half_widths_are_those_of_the_findings_of_a_day_weighed_as_planned() -> None:
    day = day_of(herbs(4))
    found = plan(day, WISHES, kit_of(day, ["p1", "p2", "p3", "p4"]), seconds=HOUR, more=False)
    ratios: list[float] = []
    for seed in range(12):
        findings = weigh(weighed_as_planned(found, seed)).by_id
        for item in found.expected:
            finding, half = findings[item.id], item.half_widths[-1]
            assert finding.high is not None
            assert finding.low is not None
            assert half is not None
            ratios.append((finding.high - finding.low) / 2.0 / half)
    assert np.median(ratios) == pytest.approx(1.0, abs=0.04)
    assert np.quantile(ratios, 0.9) < 1.25


def test_half_widths_after_each_draft_are_those_of_the_sum_of_what_drafts_tell() -> None:
    day = day_of(herbs(4, height="40 mm"))
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    found = plan(day, WISHES, kit, seconds=HOUR, more=False)
    planner = _Asked(day, WISHES, ()).planner(kit, Costs())
    taken = 0
    for count in range(1, len(found.outcome.plan) + 1):
        taken += len(planner.placings[found.outcome.plan[count - 1]])
        summed = planner.doubt.half_widths(found.outcome.plan[:count])
        for item, half in zip(found.expected, summed, strict=True):
            whole = item.half_widths[taken - 1]
            assert (whole is None) == bool(np.isinf(half))
            if whole is not None:
                assert whole == pytest.approx(half, rel=0.005)


def test_one_placement_serves_two_states_where_nothing_has_to_roll() -> None:
    day = day_of(herbs(4))
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    found = plan(day, WISHES, kit, seconds=HOUR, more=False)
    assert [(offer.state, offer.stays) for offer in found.offers] == [("solo", False), ("hitched", True)]
    assert {draft.placement for draft in found.drafts} == {"plan1"}
    assert found.outcome.cost == 4 * 1.0 + 5.0 + 10.0
    assert [step.text.partition(", and read")[0] for step in found.steps] == [
        "begin in state solo: van alone",
        *(f"carry {pad} to van/{end}" for pad, end in (("p1", "1L"), ("p2", "1R"), ("p3", "2L"), ("p4", "2R"))),
        (
            "drive on, van backed under the coupling of cart, which is jacked up clear of it, chock, "
            "release the brakes if the ground is level"
        ),
        "hitch cart to van at ball: lower its coupling on, no wheel rolls",
        "leave the wheels and the pads as they stand",
    ]
    pinned = plan(
        day_of(herbs(4).replace('type = "ball"', 'type = "fifth_wheel"')), WISHES, kit, seconds=HOUR, more=False
    )
    assert not any(offer.stays for offer in pinned.offers)
    assert pinned.outcome.cost > found.outcome.cost


def test_groups_that_share_load_are_not_read_twice_in_one_placement() -> None:
    day = day_of(herbs(4, text=TANDEM).replace("[states.parked]", _LADEN + "[states.parked]"))
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    planner = _Asked(day, ("hitched>laden/cart/axle/1 <= 9 kg",), ()).planner(kit, Costs())
    several = [placing for placing in planner.placings if len(placing) > 1]
    assert several
    for placing in several:
        assert not any(place.startswith("cart/") for offer in placing[1:] for place, _ in offer.placements)
    assert any(place.startswith("cart/") for first, *_ in several for place, _ in first.placements)


_LADEN = """\
[states.laden]
vehicles = ["van", "cart"]
couple = { towing = "van", at = "ball", trailer = "cart" }
cargo = ["sacks"]
[cargo.sacks]
on = "van"
mass = "200 kg"
x = "3000 mm"
y = "0 mm"
"""


def test_bars_are_slackened_before_anything_is_unhitched() -> None:
    text = herbs(4).replace("[states.parked]", _BARS + "[states.parked]")
    steps = steps_of(day_of(text), [_offer("barred"), _offer("solo"), _offer("barred")])
    assert [step.text for step in steps if step.action not in (Action.READ, Action.CARRY)] == [
        "begin in state barred: cart on van, weight-distributing bars tensioned",
        "slacken the weight-distributing bars of cart",
        "unhitch cart from van at ball",
        "hitch cart to van at ball",
        "tension the weight-distributing bars of cart",
    ]


_BARS = """\
[states.barred]
vehicles = ["van", "cart"]
couple = { towing = "van", at = "ball", trailer = "cart", weight_distribution = true }
"""


def _offer(state: str) -> Offer:
    return Offer(state, (("van/1L", "p1"), ("van/1R", "p2")), frozenset({"van/1"}))


def test_the_first_steps_know_the_blocks_that_the_last_draft_left() -> None:
    text = herbs(2, height="40 mm") + (
        '[[drafts]]\nstate = "solo"\nreadings = { "van/1L" = ["p1", 700], "van/1R" = ["p2", 700] }\n'
    )
    day = day_of(text)
    found = plan(day, ("solo/van/axle/2 <= 30 kg",), kit_of(day, ["p1", "p2"]), more=False)
    said = [step.text for step in found.steps if step.action is Action.BLOCK]
    assert said == [
        "put a block as high as the pads under van/1L, van/1R",
        "take the block away from van/2L, van/2R",
    ]


def test_looks_at_more_end_with_an_interruption_and_the_plan_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    day = day_of(herbs(2))
    kit = kit_of(day, ["p1", "p2"])
    solve, calls = Planner.solve, list[float]()

    def interrupted(self: Planner, clock: Clock, told: Told | None = None) -> FoundPlan:
        calls.append(clock.seconds)
        if len(calls) > 1:
            raise KeyboardInterrupt
        return solve(self, clock, told)

    monkeypatch.setattr(Planner, "solve", interrupted)
    stopped = iter([0.0] * 100000)  # a clock that stands still: all the time is left for every part
    found = plan(day, ("hitched/van/axle/2 <= 12 kg",), kit, seconds=30.0, now=lambda: next(stopped))
    assert found.offers
    assert [item.what.partition(",")[0] for item in found.more] == ["one more draft"]
    assert calls[0] == pytest.approx(21.0)  # the rest of the time is kept for the looks
    assert calls[1] == pytest.approx(15.0)  # two looks share what is left


def test_what_is_taken_already_counts_and_the_rest_is_planned() -> None:
    day = day_of(herbs(4))
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    wishes = (*WISHES, "hitched/cart/axle/1 <= 8 kg")
    whole = plan(day, wishes, kit, seconds=HOUR, more=False)
    taken = weighed_as_planned(whole, 1)
    at = next(at for at, offer in enumerate(whole.offers) if at and not offer.stays)
    first = replace(taken, drafts=taken.drafts[:at])
    rest = plan(first, wishes, kit, seconds=HOUR, more=False)
    assert len(rest.offers) == len(whole.offers) - at
    assert rest.outcome.cost < whole.outcome.cost
    assert not any(step.text.startswith("begin") for step in rest.steps)
    done = plan(taken, ("hitched/coupling/load <= 60 kg",), kit, more=False)
    assert (done.outcome.status, done.offers, done.steps) == (SearchStatus.OPTIMAL, (), ())


def test_pads_go_in_pairs_unless_told_otherwise() -> None:
    day = day_of(herbs(2))
    paired = plan(day, ("solo/van/axle/1",), kit_of(day, ["p1", "p2"]), more=False)
    assert [sorted(dict(offer.placements)) for offer in paired.offers] == [["van/1L", "van/1R"]]
    single = plan(day, ("solo/van/wheel/1L",), kit_of(day, ["p1"], single=True), more=False)
    assert [dict(offer.placements) for offer in single.offers] == [{"van/1L": "p1"}]
    with pytest.raises(PlanError, match=r"^one pad is not a pair, and pads go in pairs"):
        kit_of(day, ["p1"])


def test_a_group_belongs_together_or_the_others_stand_on_blocks() -> None:
    day = day_of(herbs(2, text=TANDEM, height="40 mm"))
    wish = ("hitched/cart/axle/1 <= 30 kg",)
    alone = plan(day, wish, kit_of(day, ["p1", "p2"]), more=True, seconds=HOUR)
    assert alone.outcome.status is SearchStatus.IMPOSSIBLE
    assert alone.split == (("cart", 2),)
    blocked = next(item for item in alone.more if item.what.startswith("pad-high blocks"))
    assert blocked.cost is not None
    two = plan(day, wish, kit_of(day, ["p1", "p2"], blocks=2), more=False)
    assert two.outcome.status is SearchStatus.OPTIMAL
    assert {str(wheel) for offer in two.offers for wheel in offer.blocks} == {"cart/2L", "cart/2R"}
    assert all(offer.on_ground for offer in two.offers)
    assert any(step.action is Action.BLOCK and "cart/2L, cart/2R" in step.text for step in two.steps)
    four = day_of(herbs(4, text=TANDEM, height="40 mm"))
    together = plan(four, wish, kit_of(four, ["p1", "p2", "p3", "p4"]), more=False)
    assert all({"cart/1L", "cart/2L"} <= set(dict(offer.placements)) for offer in together.offers)


def test_what_tilting_does_is_owned_up_to() -> None:
    day = day_of(herbs(4, height="40 mm"))
    found = plan(day, ("solo/van/axle/1 <= 30 kg",), kit_of(day, ["p1", "p2"]), more=False)
    assert found.cautions[0].startswith("cg_height of van is not given: what pads under some wheels only shift")
    level = plan(day, ("solo/van/axle/1 <= 30 kg",), kit_of(day, ["p1", "p2"], planks=True), more=False)
    assert not any("cg_height" in caution for caution in level.cautions)
    assert any("Chock the wheels" in caution for caution in level.cautions)


def test_what_no_draft_tells_is_no_wish() -> None:
    crate = '[cargo.crate]\non = "van"\nx = "1 m"\ny = "0 m"\n'
    day = day_of(herbs(2, more=crate))
    with pytest.raises(WishError, match=r"^'cargo/crate/mass' is nothing that drafts tell"):
        plan(day, ("cargo/crate/mass <= 3 kg",), kit_of(day, ["p1", "p2"]), more=False)


def test_capacity_is_heeded() -> None:
    day = day_of(herbs(2, capacity="500 kg"))
    found = plan(day, ("solo/van/axle/1 <= 30 kg",), kit_of(day, ["p1", "p2"]), more=False)
    assert found.outcome.status is SearchStatus.IMPOSSIBLE
    name, state, place, load = found.overloaded[0]
    assert (name, state, place) == ("p1", "solo", "van/1L")
    assert load == pytest.approx(0.65 * 1750 / 2)


def test_a_platform_goes_under_the_coupling_point_where_the_trailer_is_parked() -> None:
    table = '[instruments.table]\nkind = "platform"\ncapacity = "3000 kg"\ndivision = "1 kg"\n'
    day = day_of(herbs(2, more=table))
    found = plan(day, ("parked/coupling/load <= 5 kg",), kit_of(day, ["p1", "p2", "table"]), more=False)
    assert [(offer.state, dict(offer.placements)) for offer in found.offers] == [("parked", {"cart/coupling": "table"})]
    without = plan(day, ("parked/coupling/load <= 5 kg",), kit_of(day, ["p1", "p2"]), states=("parked",), more=False)
    assert without.outcome.status is SearchStatus.IMPOSSIBLE
    named = kit_of(day, ["p1", "p2"], coupling="p2", single=True)
    assert (named.pads, named.coupling) == (("p1",), ("p2",))


def test_costs_decide() -> None:
    day = day_of(herbs(2))
    wish = ("solo>hitched/van/axle/1 <= 14 kg",)
    kit = kit_of(day, ["p1", "p2"])
    cheap, dear = (
        plan(day, wish, kit, Costs().changed({"hitch": hitch}), more=False, seconds=HOUR) for hitch in (0.0, 100.0)
    )
    assert dear.outcome.cost >= cheap.outcome.cost + 100.0
    assert dear.outcome.status is cheap.outcome.status is SearchStatus.OPTIMAL


def test_no_number_of_drafts_is_enough_and_why() -> None:
    day = day_of(herbs(2))
    found = plan(day, ("solo/van/gross <= 0.1 kg",), kit_of(day, ["p1", "p2"]), more=False)
    assert found.outcome.status is SearchStatus.IMPOSSIBLE
    item = found.expected[0]
    assert item.best == pytest.approx(1.96 * 0.001 * 0.65 * 1750 * np.sqrt(2.0), rel=0.02)  # two pads, 0.1 % each
    assert item.limits[0][0] == "the span of the instruments"


def test_what_more_would_buy() -> None:
    day = day_of(herbs(2))
    found = plan(day, ("hitched/van/axle/2 <= 12 kg",), kit_of(day, ["p1", "p2"]), seconds=HOUR)
    names = [item.what.partition(",")[0] for item in found.more]
    assert names == ["one more draft", "two more pads of the same kind", "half the division on every pad"]
    one, two, finer = found.more
    assert one.cost is not None
    assert one.cost > found.outcome.cost
    assert (dict(one.half_widths)["hitched/van/axle/2"] or 0.0) < (found.expected[0].half_widths[-1] or 0.0)
    assert two.cost is not None
    assert finer.cost is not None
    assert finer.cost <= found.outcome.cost


def test_what_trades_off_is_named_in_the_state() -> None:
    more = '[[drafts]]\nstate = "hitched"\nreadings = { "van/1L" = ["p1", 500], "van/1R" = ["p2", 500] }\n'
    day = day_of(herbs(2, more=more))
    found = plan(day, ("hitched/coupling/load",), kit_of(day, ["p1", "p2"]), more=False, seconds=HOUR)
    why = found.expected[0].why
    assert why is not None
    assert why.unread == ("cart",)
    assert dict(why.loads)["cart/coupling"] == pytest.approx(1.0)
    adjustment = prospect(day)
    assert adjustment.solution.null.shape[1] > 0


def test_planned_drafts_wait_for_their_readings() -> None:
    day = day_of(herbs(4, text=TANDEM, height="40 mm"))
    kit = kit_of(day, ["p1", "p2"], blocks=2)
    found = plan(day, ("hitched/cart/axle/1 <= 30 kg",), kit, more=False)
    block = write_planned(day, found.drafts[0])
    assert 'unsupported = "ground"' in block
    assert 'blocks = ["cart/2L", "cart/2R"]' in block
    assert '"cart/1L" = ["p1", ]' in block
    filled = block.replace('["p1", ]', '["p1", 500]').replace('["p2", ]', '["p2", 500]')
    read = parse_day(herbs(4, text=TANDEM, height="40 mm", more="\n" + filled), "x.toml").drafts[0]
    assert replace(read, readings=()) == replace(found.drafts[0], readings=())


def test_a_bound_passed_by_a_hair_is_planned_for_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the sum of what drafts tell is a little too hopeful, the whole day's equations have the last word."""
    day = day_of(herbs(4, height="40 mm"))
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    loose = plan(day, ("hitched/coupling/load <= 10 kg",), kit, more=False)
    tight = f"hitched/coupling/load <= {0.9985 * (loose.expected[0].half_widths[-1] or 0.0):.6f} kg"
    plain = PlannedDoubt.half_widths
    monkeypatch.setattr(PlannedDoubt, "half_widths", lambda self, plan: 0.998 * plain(self, plan))
    found = plan(day, (tight,), kit, more=False)
    assert found.expected[0].met
    assert found.outcome.cost > loose.outcome.cost
    assert (found.outcome.status, found.outcome.bound) == (SearchStatus.FEASIBLE, loose.outcome.cost)


def test_what_contradicting_readings_leave_contested_is_marked() -> None:
    """Two drafts of the van alone, the same but for 400 kg under one wheel; the same two in agreement carry no mark."""
    draft = (
        '[[drafts]]\nstate = "solo"\nreadings = { "van/1L" = ["p1", N], "van/1R" = ["p2", 700], '
        '"van/2L" = ["p3", 500], "van/2R" = ["p4", 500] }\n'
    )
    wish, names = "solo/van/axle/1 <= 30 kg", ["p1", "p2", "p3", "p4"]
    apart = day_of(herbs(4, more=draft.replace("N", "700") + draft.replace("N", "1100")))
    found = plan(apart, (wish, "solo/van/side/L"), kit_of(apart, names), more=False)
    finding = weigh(apart).by_id["solo/van/axle/1"]
    assert finding.contested
    assert finding.high is not None
    assert finding.low is not None
    item = found.expected[0]
    assert item.contested
    assert item.now == pytest.approx((finding.high - finding.low) / 2.0)
    assert "contradict one another" in found.cautions[0]
    assert "solo/van/axle/1" in found.cautions[0]
    assert "One more draft of van/1L in state solo would tell." in found.cautions[0]
    assert (PLAN.data(found, file="x")["contested"], PLAN.data(found, file="x")["expected"][0]["contested"]) == (
        True,
        True,
    )
    text = plan_text(found)
    assert "solo/van/axle/1 [kg] contested" in text
    assert "Nothing more needs to be weighed" not in text
    sound = day_of(herbs(4, more=2 * draft.replace("N", "700")))
    plain = plan(sound, (wish,), kit_of(sound, names), more=False)
    assert not plain.expected[0].contested
    assert not plain.contradiction
    assert "Nothing more needs to be weighed" in plan_text(plain)


def test_a_long_plan_is_expected_to_reach_what_its_drafts_tell_together() -> None:
    """Of more than six drafts all but the last come from the sum of what placements tell; the whole day agrees."""
    day, wish = day_of(herbs(2)), ("solo/van/axle/1 <= 7 kg", "solo>hitched/van/axle/1 <= 13 kg")
    kit, costs = kit_of(day, ["p1", "p2"]), Costs()
    asked = _Asked(day, wish, ())
    planner = asked.planner(kit, costs)
    single = [at for at, placing in enumerate(planner.placings) if len(placing) == 1]
    several = [at for at, placing in enumerate(planner.placings) if len(placing) == 2]
    long = (several[0], single[0], several[1], single[1], several[0], single[2])
    offers = [offer for at in long for offer in planner.placings[at]]
    assert len(offers) == 9
    for place, item in enumerate(asked.expected(planner, long)):
        ends = np.cumsum([len(planner.placings[at]) for at in long])
        assert len(item.half_widths) == 9
        for count in range(1, 10):
            whole = asked.half_widths(offers[:count])[place][1]
            said = item.half_widths[count - 1]
            if count in ends:
                assert (said is None) == (whole is None)
                assert said is None or said == pytest.approx(whole, rel=0.005)
            else:  # in the middle of a placement, as before it
                assert said is None or (whole is not None and said >= whole * 0.995)
