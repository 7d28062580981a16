"""Rulings are remembered from one day to the next: only where nothing that rules look at is another."""

from __future__ import annotations

from dataclasses import replace

from steelyard.dayfile import bundled_set, parse_day
from steelyard.model import ChosenRules, Use, WeighDay
from steelyard.requirements import rulings
from tests.findings.road import READ, RIG


def day(text: str = RIG + READ, *sets: str) -> WeighDay:
    chosen = ChosenRules(tuple(bundled_set(name) for name in sets or ("us-interstate", "us-licence")), use=Use.COMMERCE)
    return replace(parse_day(text, "day.toml"), rules=chosen)


def test_other_readings_of_the_same_rig_ask_no_rule_again() -> None:
    first = rulings(day(RIG + READ), "hitched")
    again = rulings(day(RIG + READ.replace("3000", "3120")), "hitched")
    assert len(first) > 10
    assert all(one is other for one, other in zip(first, again, strict=True))


def test_what_a_rule_looks_at_is_looked_at_anew() -> None:
    first = rulings(day(), "hitched")
    papers = RIG.replace('role = "towing"', 'role = "towing"\nratings = { gvwr = "9000 lb", gcwr = "30000 lb" }')
    assert rulings(day(papers + READ), "hitched") != first
    assert rulings(day(RIG.replace("196 in +/- 0 in", "206 in +/- 0 in") + READ), "hitched") != first
    assert rulings(day(RIG + READ, "us-interstate"), "hitched") != first
    assert rulings(replace(day(), rules=replace(day().rules, use=Use.PRIVATE)), "hitched") != first
    up = RIG.replace("[states.hitched]\n", '[states.hitched]\nlifted = ["cart/1"]\n')
    assert rulings(day(up + READ.replace(', "cart/1" = ["d3", 3500]', "")), "hitched") != first
    assert rulings(day(), "hitched") == first
