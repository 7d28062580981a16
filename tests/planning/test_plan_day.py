"""Plans for whole days: against exhaustion, against findings of days weighed as planned, and what is possible."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations_with_replacement, pairwise, permutations

import numpy as np
import pytest

from steelyard.adjustment import prospect
from steelyard.dayfile import parse_day, write_planned
from steelyard.findings import Action, WishError, plan, weigh
from steelyard.findings.plan import _Asked  # pyright: ignore[reportPrivateUsage]
from steelyard.planning import Costs, PlanError, Status, kit_of
from steelyard.planning.doubt import Doubt
from tests.planning.days import TANDEM, day_of, herbs, weighed_as_planned

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
    found = plan(day, wishes, kit, costs, seconds=60.0, more=False)
    assert found.outcome.status is Status.OPTIMAL
    asked = _Asked(day, wishes, ())
    planner = asked.planner(kit, costs)
    prices = planner.problem.prices
    best = float("inf")
    for size in range(1, min(len(found.offers), 4) + 1):
        for some in combinations_with_replacement(range(len(planner.offers)), size):
            paid = min(
                float(prices.first[order[0]]) + sum(float(prices.step[a, b]) for a, b in pairwise(order))
                for order in set(permutations(some))
            )
            if paid >= min(best, found.outcome.cost + 1e-6):
                continue
            widths = asked.half_widths([planner.offers[at] for at in some])
            bounds = {wish.id: wish.bound for wish in asked.wishes}
            if all(half is not None and half <= (bounds[name] or np.inf) * (1 + 1e-6) for name, half in widths):
                best = paid
    assert best >= found.outcome.cost - 1e-6
    assert all(item.met for item in found.expected)


def test_half_widths_are_those_of_the_findings_of_a_day_weighed_as_planned() -> None:
    day = day_of(herbs(4))
    found = plan(day, WISHES, kit_of(day, ["p1", "p2", "p3", "p4"]), seconds=30.0, more=False)
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
    found = plan(day, WISHES, kit, seconds=30.0, more=False)
    planner = _Asked(day, WISHES, ()).planner(kit, Costs())
    chosen = [planner.offers.index(offer) for offer in found.offers]
    for count in range(1, len(chosen) + 1):
        summed = planner.doubt.half_widths(chosen[:count])
        for item, half in zip(found.expected, summed, strict=True):
            whole = item.half_widths[count - 1]
            assert (whole is None) == bool(np.isinf(half))
            if whole is not None:
                assert whole == pytest.approx(half, rel=0.005)


def test_what_is_taken_already_counts_and_the_rest_is_planned() -> None:
    day = day_of(herbs(4))
    kit = kit_of(day, ["p1", "p2", "p3", "p4"])
    whole = plan(day, WISHES, kit, seconds=30.0, more=False)
    taken = weighed_as_planned(whole, 1)
    first = replace(taken, drafts=taken.drafts[:1])
    rest = plan(first, WISHES, kit, seconds=30.0, more=False)
    assert len(rest.offers) == len(whole.offers) - 1
    assert rest.outcome.cost < whole.outcome.cost
    assert not any(step.text.startswith("begin") for step in rest.steps)
    done = plan(taken, ("hitched/coupling/load <= 60 kg",), kit, more=False)
    assert (done.outcome.status, done.offers, done.steps) == (Status.OPTIMAL, (), ())


def test_pads_go_in_pairs_unless_told_otherwise() -> None:
    day = day_of(herbs(2))
    paired = plan(day, ("solo/van/axle/1",), kit_of(day, ["p1", "p2"]), more=False)
    assert [sorted(dict(offer.placements)) for offer in paired.offers] == [["van/1L", "van/1R"]]
    single = plan(day, ("solo/van/wheel/1L",), kit_of(day, ["p1"], single=True), more=False)
    assert [dict(offer.placements) for offer in single.offers] == [{"van/1L": "p1"}]
    with pytest.raises(PlanError, match=r"^one pad is no pair, and pads go in pairs"):
        kit_of(day, ["p1"])


def test_a_group_belongs_together_or_the_others_stand_on_blocks() -> None:
    day = day_of(herbs(2, text=TANDEM, height="40 mm"))
    wish = ("hitched/cart/axle/1 <= 30 kg",)
    alone = plan(day, wish, kit_of(day, ["p1", "p2"]), more=True, seconds=5.0)
    assert alone.outcome.status is Status.IMPOSSIBLE
    assert alone.split == (("cart", 2),)
    blocked = next(item for item in alone.more if item.what.startswith("pad-high blocks"))
    assert blocked.cost is not None
    two = plan(day, wish, kit_of(day, ["p1", "p2"], blocks=2), more=False)
    assert two.outcome.status is Status.OPTIMAL
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
    assert found.outcome.status is Status.IMPOSSIBLE
    name, state, place, load = found.overloaded[0]
    assert (name, state, place) == ("p1", "solo", "van/1L")
    assert load == pytest.approx(0.65 * 1750 / 2)


def test_a_platform_goes_under_the_coupling_point_where_the_trailer_is_parked() -> None:
    table = '[instruments.table]\nkind = "platform"\ncapacity = "3000 kg"\ndivision = "1 kg"\n'
    day = day_of(herbs(2, more=table))
    found = plan(day, ("parked/coupling/load <= 5 kg",), kit_of(day, ["p1", "p2", "table"]), more=False)
    assert [(offer.state, dict(offer.placements)) for offer in found.offers] == [("parked", {"cart/coupling": "table"})]
    without = plan(day, ("parked/coupling/load <= 5 kg",), kit_of(day, ["p1", "p2"]), states=("parked",), more=False)
    assert without.outcome.status is Status.IMPOSSIBLE
    named = kit_of(day, ["p1", "p2"], coupling="p2", single=True)
    assert (named.pads, named.coupling) == (("p1",), ("p2",))


def test_costs_decide() -> None:
    day = day_of(herbs(2))
    wish = ("solo>hitched/van/axle/1 <= 14 kg",)
    kit = kit_of(day, ["p1", "p2"])
    cheap, dear = (
        plan(day, wish, kit, Costs().changed({"hitch": hitch}), more=False, seconds=30.0) for hitch in (0.0, 100.0)
    )
    assert dear.outcome.cost >= cheap.outcome.cost + 100.0
    assert dear.outcome.status is cheap.outcome.status is Status.OPTIMAL


def test_no_number_of_drafts_is_enough_and_why() -> None:
    day = day_of(herbs(2))
    found = plan(day, ("solo/van/gross <= 0.1 kg",), kit_of(day, ["p1", "p2"]), more=False)
    assert found.outcome.status is Status.IMPOSSIBLE
    item = found.expected[0]
    assert item.best == pytest.approx(1.96 * 0.001 * 0.65 * 1750 * np.sqrt(2.0), rel=0.02)  # two pads, 0.1 % each
    assert item.limits[0][0] == "the span of the instruments"


def test_what_more_would_buy() -> None:
    day = day_of(herbs(2))
    found = plan(day, ("hitched/van/axle/2 <= 12 kg",), kit_of(day, ["p1", "p2"]), seconds=20.0)
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
    found = plan(day, ("hitched/coupling/load",), kit_of(day, ["p1", "p2"]), more=False, seconds=10.0)
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
    plain = Doubt.half_widths
    monkeypatch.setattr(Doubt, "half_widths", lambda self, plan: 0.998 * plain(self, plan))
    found = plan(day, (tight,), kit, more=False)
    assert found.expected[0].met
    assert found.outcome.cost > loose.outcome.cost
    assert (found.outcome.status, found.outcome.bound) == (Status.FEASIBLE, loose.outcome.cost)
