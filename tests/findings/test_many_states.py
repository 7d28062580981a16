"""A day of many states: the work grows with the states, and any change that somebody asks for is still told."""

from __future__ import annotations

from pathlib import Path

import pytest

from steelyard.dayfile import read_day
from steelyard.findings import Findings, solve, weigh
from steelyard.findings.shape import EVERY_PAIR
from steelyard.loading import Scenario
from steelyard.model import WeighDay
from steelyard.requirements.ratings import MOST_ALONE

_RIG = """
format = 1
title = "Pump cart, one state for each hour of the flood"
units = { mass = "kg", length = "mm" }
[instruments]
p1 = { kind = "pad", capacity = 5000, division = 5 }
p2 = { kind = "pad", capacity = 5000, division = 5 }
p3 = { kind = "pad", capacity = 5000, division = 5 }
p4 = { kind = "pad", capacity = 5000, division = 5 }
[vehicles.van]
role = "towing"
ratings = { gvwr = 4000 }
axles = [{ x = 0, track = 1700, rating = 1800 }, { x = 3400, track = 1700, rating = 2400 }]
couplings.ball = { type = "ball", x = 4400 }
[vehicles.cart]
role = "trailer"
axles = [{ x = 2500, track = 1600 }]
[[drafts]]
state = "s0"
readings = { "van/1L" = ["p1", 800], "van/1R" = ["p2", 790], "van/2L" = ["p3", 900], "van/2R" = ["p4", 905] }
[[drafts]]
state = "s1"
readings = { "van/1L" = ["p1", 760], "van/1R" = ["p2", 750], "van/2L" = ["p3", 1000], "van/2R" = ["p4", 1005] }
"""


def _day(tmp_path: Path, count: int) -> WeighDay:
    """States alone and hitched in turn, each with its own load aboard from the third on."""
    parts = [_RIG]
    for number in range(count):
        hitched = number % 2
        vehicles = '"van", "cart"' if hitched else '"van"'
        parts.append(f"[states.s{number}]\nvehicles = [{vehicles}]\n")
        if hitched:
            parts.append('couple = { towing = "van", at = "ball", trailer = "cart" }\n')
        if number > 1:
            parts.append(f'cargo = ["c{number}"]\n[cargo.c{number}]\non = "van"\nmass = {number}\nx = 3000\ny = 0\n')
    path = tmp_path / f"many-{count}.toml"
    path.write_text("".join(parts), encoding="utf-8")
    return read_day(path)


def _told(findings: Findings) -> int:
    return sum(">" in item.id for item in findings.findings)


def test_a_short_day_tells_every_change(tmp_path: Path) -> None:
    found = weigh(_day(tmp_path, 6))
    assert {f"s{a}>s{b}/van/gross" for b in range(6) for a in range(b)} <= found.by_id.keys()


def test_the_changes_told_grow_with_the_states(tmp_path: Path) -> None:
    few, many = (_told(weigh(_day(tmp_path, count))) for count in (EVERY_PAIR + 20, 2 * (EVERY_PAIR + 20)))
    assert many < 2.3 * few


def test_neighbours_are_compared_and_what_is_asked_for(tmp_path: Path) -> None:
    day = _day(tmp_path, EVERY_PAIR + 10)
    found = weigh(day, [("s9", "s2"), ("s3", "s25")])
    assert found.get("s7>s8/van/gross") is not None
    assert found.get("s7>s9/cart/gross") is not None  # the cart stands in every other state
    assert found.get("s4>s12/van/gross") is None
    asked = found.get("s2>s9/van/gross")
    assert asked is not None
    gross = [found.by_id[f"{state}/van/gross"].value or 0.0 for state in ("s2", "s9")]
    assert asked.value == pytest.approx(gross[1] - gross[0])
    assert found.get("s3>s25/van/axle/1") is not None


def test_a_what_if_counts_the_same_on_a_long_day_as_on_a_short_one(tmp_path: Path) -> None:
    scenario = Scenario("s3", remove=("c3",))
    short, long = (solve(_day(tmp_path, count)).ask(scenario) for count in (MOST_ALONE, EVERY_PAIR + 10))
    for item in short.findings:
        other = long.get(item.id)
        if other is not None and item.value is not None:
            assert other.value == pytest.approx(item.value, abs=1e-6)
    assert any("front_change" in item.id for item in long.findings)
