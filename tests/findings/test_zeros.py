"""Zeros that nobody read: a vehicle weighs something, so they judge nothing; a lifted wheel's 0 is a reading."""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, solve, weigh
from steelyard.loading import Scenario, ScenarioError
from steelyard.model import Cargo
from steelyard.questions.findings import findings_data
from steelyard.questions.limits import limits_of
from steelyard.questions.rebalance import Freedom, Rebalancing
from steelyard.units import Quantity

HEAD = """
format = 1
units = { mass = "kg", length = "mm" }
[instruments.a]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
[instruments.b]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
[instruments.c]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
[instruments.d]
kind = "pad"
capacity = "4000 kg"
division = "5 kg"
[vehicles.tow]
role = "towing"
ratings = { gvwr = "3500 kg" }
[[vehicles.tow.axles]]
x = 0
track = 1700
rating = "1800 kg"
[[vehicles.tow.axles]]
x = 3600
track = 1700
rating = "2000 kg"
[vehicles.tow.couplings.ball]
type = "ball"
x = 7200
rating = { vertical = "150 kg" }
[vehicles.box]
role = "trailer"
ratings = { gvwr = "2000 kg" }
[[vehicles.box.axles]]
x = 3000
track = 1800
rating = "2000 kg"
[states.solo]
vehicles = ["tow"]
[states.hitched]
vehicles = ["tow", "box"]
couple = { towing = "tow", at = "ball", trailer = "box" }
[states.parked]
vehicles = ["box"]
"""
SOLO = {"tow/1L": 700, "tow/1R": 710, "tow/2L": 800, "tow/2R": 790}
BOX = {"box/1L": 600, "box/1R": 590}


def drafted(state: str, readings: Mapping[str, int]) -> str:
    written = ", ".join(
        f'"{place}" = ["{pad}", {value}]' for (place, value), pad in zip(readings.items(), "abcd", strict=False)
    )
    return f'[[drafts]]\nstate = "{state}"\nreadings = {{ {written} }}\n'


def nothing(places: Mapping[str, int]) -> dict[str, int]:
    return dict.fromkeys(places, 0)


def day_of(*drafts: str) -> Findings:
    return weigh(parse_day(HEAD + "".join(drafts), "day"))


def sure(found: Findings) -> list[str]:
    return [verdict.id for verdict in found.verdicts if verdict.outcome is not None]


def about_zeros(found: Findings) -> list[str]:
    return [text for text in found.cautions if "is 0" in text]


def test_a_day_of_nothing_but_zeros_judges_nothing_and_says_why() -> None:
    found = day_of(drafted("solo", nothing(SOLO)), drafted("parked", nothing(BOX)))
    assert found.verdicts
    assert not sure(found)
    loads = [one for one in found.findings if one.id.endswith("/gross") and ">" not in one.id]
    assert [one.id for one in loads if one.value is not None] == []
    assert about_zeros(found)[0] == (
        "Draft 1 (solo): every reading is 0, so nothing stood on these pads. Zeros of a vehicle that must weigh "
        "something do not count, and nothing is judged by them. If they are still to be read, write what they show; a "
        'pad without a number, as in ["p1"], waits for it.'
    )
    assert "There are no readings that count: nothing is determined yet." in found.cautions
    data = findings_data(found, file="day.toml")
    assert {item["verdict"] for item in json.loads(json.dumps(data))["verdicts"]} == {None}


def test_four_zeros_under_a_longer_vehicle_judge_nothing_either() -> None:
    """A starter file's first draft, of whose wheels only some were written."""
    assert not sure(day_of(drafted("solo", nothing({"tow/1L": 0, "tow/1R": 0}))))


def test_a_trailer_of_zeros_beside_a_towing_vehicle_that_was_read() -> None:
    found = day_of(drafted("solo", SOLO), drafted("parked", nothing(BOX)))
    assert any(name.startswith("solo/tow/gross") for name in sure(found))
    assert not [name for name in sure(found) if "/box/" in name]
    assert len(about_zeros(found)) == 1


def test_a_state_of_zeros_beside_one_that_was_read() -> None:
    """Otherwise the towing vehicle would weigh nothing when hitched, by a coupling load of minus all of it."""
    found = day_of(drafted("solo", SOLO), drafted("hitched", nothing(SOLO)))
    assert not [name for name in sure(found) if name.startswith("hitched/tow/gross")]
    plain = day_of(drafted("solo", SOLO))
    assert [(item.id, item.value) for item in found.findings] == [(item.id, item.value) for item in plain.findings]


def test_zeros_beside_readings_of_the_same_draft_are_said() -> None:
    (told,) = about_zeros(day_of(drafted("hitched", {"tow/2L": 800, "tow/2R": 790, **nothing(BOX)})))
    assert told.startswith("Draft 1 (hitched): every reading of box is 0, so it did not stand on these pads. Zeros of")


def test_a_lifted_wheel_and_a_balanced_trailer_are_read_as_zero() -> None:
    """A front axle off the ground is the most dangerous reading there is: it counts."""
    lifted = day_of(
        drafted("solo", SOLO), drafted("hitched", {"tow/1L": 0, "tow/1R": 0, "tow/2L": 2210, "tow/2R": 2200})
    )
    assert lifted.cautions[0].startswith("hitched: the supports left do not hold the rig up: it tips over")
    balanced = day_of(drafted("parked", {**BOX, "box/coupling": 0}))
    load = next(item for item in balanced.findings if item.id == "parked/coupling/load")
    assert load.value == pytest.approx(0.0, abs=10.0)
    assert not about_zeros(lifted)
    assert not about_zeros(balanced)


def test_a_correction_to_zero_and_back() -> None:
    fixes = "".join(
        f'[[corrections]]\ndraft = 1\nplace = "{place}"\nvalue = {value}\nreason = "typed late"\n'
        for place, value in SOLO.items()
    )
    assert sure(day_of(drafted("solo", nothing(SOLO)), fixes)) == sure(day_of(drafted("solo", SOLO)))


def test_the_order_of_drafts_changes_nothing() -> None:
    drafts = [drafted("solo", SOLO), drafted("hitched", nothing(SOLO)), drafted("parked", nothing(BOX))]
    answers = {tuple(sorted(sure(day_of(*order)))) for order in itertools.permutations(drafts)}
    assert len(answers) == 1


def test_every_question_that_is_asked_of_zeros_is_left_open_or_refused() -> None:
    weighed = solve(parse_day(HEAD + drafted("solo", nothing(SOLO)), "day"))
    crate = Cargo("crate", "tow", mass=Quantity(50.0, 0.0), x=Quantity(1.0, 0.0), y=Quantity(0.0, 0.0))
    asked = weighed.ask(Scenario("solo", add=(crate,)), "more")
    assert not [verdict.id for verdict in asked.verdicts if verdict.outcome is not None]
    limits = limits_of(weighed, "solo", "tow")
    assert (limits.ids, bool(limits.not_judged)) == ((), True)
    with pytest.raises(ScenarioError, match="no limit of 'solo' is judged"):
        Rebalancing(weighed, "solo", Freedom())
