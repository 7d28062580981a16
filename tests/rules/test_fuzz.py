"""Made-up rule sets and made-up rigs: what can be read is judged in finite numbers, the rest is refused in words.

The same files and rigs on every machine; thirty rigs meet every class of vehicle several times.
"""

from __future__ import annotations

import copy
import datetime
import json
import math
import random
import re
import tomllib
from dataclasses import replace
from typing import Any

import pytest

from steelyard.conformity import Requirement
from steelyard.dayfile import DayFileError, bundled_set, parse_day, parse_rule_set
from steelyard.findings import Weighed, solve
from steelyard.model import RuleSet
from steelyard.questions.rules import RULES, judged_rules
from steelyard.report.tables.rules import judged_text
from steelyard.requirements.road import rulings
from steelyard.rules import bundled_names, bundled_text
from tests.rules.sample_days import day_text, toml

RIGS = 30
FILES = 120
WIDTH = 96  # pads that weigh to a gram print more digits than any real ones
JUNK: tuple[Any, ...] = (
    "",
    " ",
    0,
    -1,
    3,
    1e308,
    math.nan,
    True,
    [],
    {},
    [[]],
    [{}],
    "7000 lb",
    "3 m",
    "-5 kg",
    "1e999 kg",
    "0 kg",
    "50 %",
    "front",
    "gross",
    "limit * 2",
    "__import__('os')",
    ["M1", "N9"],
    [{"axles": 2, "limit": "1 kg"}],
    [{"axles": 1, "limit": "1 kg", "under": "1 m"}],
    datetime.date(2026, 5, 14),
    "a\u0000b",
    "\u2028",
)


def some_rig(dice: random.Random) -> dict[str, Any]:
    """A rig as ``sample_days`` takes it: any axles, classes and papers, stated or not."""
    towing, towed = dice.randint(2, 4), dice.choice((0, 1, 2, 3))
    places = [0.0]
    for number in range(1, towing + towed):
        step = dice.choice((0.9, 1.0, 1.3, 1.8, 2.4384, 3.6, 5.5))
        places.append(places[-1] + (3.0 + step if number == towing else step))
    given: dict[str, Any] = {
        "axles": [f"{place:.4f} m" for place in places],
        "loads": [f"{dice.uniform(300.0, 11000.0):.1f} kg" for _ in places],
        "tow": _vehicle(dice, ("M1", "M2", "M3", "N1", "N2", "N3")),
        "axle": _axle(dice),
        "axles_with": {str(number): _axle(dice) for number in range(1, len(places) + 1) if dice.random() < 0.4},
        "rules": {"use": dice.choice(("private", "commerce")), "licence": [dice.choice(("B", "BE", "none", "A"))]},
        "taped": dice.choice(("0 mm", "5 mm", "80 mm")),
    }
    if dice.random() < 0.3:
        given["cargo"] = {"driver": {"on": "tow", "mass": "75 kg", "x": "1.5 m", "y": "0 m"}}
    if towed:
        given |= {"trailer_from": towing + 1, "trailer": _vehicle(dice, ("O1", "O2", "O3", "O4"))}
        coupling: dict[str, Any] = {"type": dice.choice(("ball", "pintle", "gooseneck", "fifth_wheel"))}
        given["coupling"] = coupling
        if dice.random() < 0.5:
            wheel = coupling["type"] == "fifth_wheel"
            coupling["marked"] = {"d": "104 kN"} | (
                {"u": "6 t"} if wheel else {"dc": "20 kN", "v": "9 kN", "s": "100 kg"}
            )
        if dice.random() < 0.7:
            given["coupling_load"] = f"{dice.uniform(10.0, 3000.0):.1f} kg"
    return given


def _vehicle(dice: random.Random, classes: tuple[str, ...]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    if dice.random() < 0.8:
        made["class"] = dice.choice(classes)
    mass = f"{dice.choice((750, 1020, 2500, 3500, 4250, 12000, 26000))} kg"
    if dice.random() < 0.7:
        made["ratings"] = {"gvwr": mass} | ({"gcwr": "7000 kg"} if dice.random() < 0.5 and "tow" not in made else {})
    if dice.random() < 0.5:
        made["unloaded"] = {"mass": f"{dice.uniform(300.0, 1500.0):.0f} kg"}
    papers: dict[str, Any] = {"seats": 5, "berths": 4, "running_order": "1500 kg", "kerb": "1425 kg", "length": "7 m"}
    papers |= {"braked": "2000 kg", "unbraked": "750 kg", "coupling": "100 kg"}
    papers |= {"brakes": dice.choice(("none", "overrun", "service", "continuous")), "off_road": dice.random() < 0.5}
    made["papers"] = {key: value for key, value in papers.items() if dice.random() < 0.6}
    return made


def _axle(dice: random.Random) -> dict[str, Any]:
    keys: dict[str, Any] = {"dual": dice.random() < 0.5, "driven": dice.random() < 0.5, "air": dice.random() < 0.5}
    keys |= {"rating": f"{dice.uniform(800.0, 9000.0):.0f} kg"}
    load = dice.uniform(400.0, 3500.0)
    tyre: dict[str, Any] = {"width": f"{dice.choice((175, 295, 385))} mm", "load": f"{load:.0f} kg"}
    tyre |= {"dual_load": f"{load * 0.9:.0f} kg", "pressure": "5 bar", "measured": f"{dice.uniform(1.0, 9.0):.1f} bar"}
    tyre |= {"kind": dice.choice(("passenger", "light_truck", "trailer"))}
    keys["tyre"] = {key: value for key, value in tyre.items() if dice.random() < 0.7}
    keys["steered"] = False
    return {key: value for key, value in keys.items() if dice.random() < 0.6}


def judged(given: dict[str, Any], sets: tuple[RuleSet, ...]) -> tuple[Weighed, set[str]]:
    """Judge a rig by some sets, and see that every number is one; the solved day and the ids of its verdicts."""
    day = parse_day(day_text(given), "rig.toml")
    day = replace(day, rules=replace(day.rules, sets=sets, from_memory=True))
    weighed = solve(day)
    findings = weighed.findings()
    verdicts = {verdict.id for verdict in findings.verdicts}
    for verdict in findings.verdicts:
        numbers = (verdict.limit, verdict.value, verdict.u, verdict.margin, verdict.probability)
        assert all(number is None or math.isfinite(number) for number in numbers), verdict
        assert verdict.probability is None or 0.0 <= verdict.probability <= 1.0, verdict
    for ruling in rulings(day):
        given_ways = (ruling.requirement is not None, ruling.paper is not None, bool(ruling.needs))
        assert sum(given_ways) <= 1, ruling
        assert any(given_ways) or ruling.note, f"{ruling.label} says nothing"
        assert "  " not in ruling.label, ruling.label
        assert ruling.requirement is None or ruling.requirement.id in verdicts or _limits_nothing(ruling.requirement)
        paper = ruling.paper
        figures = () if paper is None else (paper.value, paper.limit)
        assert all(figure is None or math.isfinite(figure) for figure in figures), ruling
    assert len(verdicts) == len(findings.verdicts), "two verdicts have one id"
    return weighed, verdicts


def said(weighed: Weighed, verdicts: set[str]) -> int:
    """See that the answer to the question is whole as data and as text; how many rulings it has."""
    answer = judged_rules(weighed, None)
    data = json.loads(json.dumps(RULES.data(answer, file="rig.toml"), allow_nan=False))
    assert {one["verdict_id"] for one in data["rules"] if one["basis"] == "weighed" and one["verdict"]} <= verdicts
    wide = [line for line in judged_text(answer).splitlines() if len(line) > WIDTH or "None" in line]
    assert wide == []
    return len(data["rules"])


def _limits_nothing(requirement: Requirement) -> bool:
    """Whether the distance that a limit depends on may be one for which there is none: no verdict says so then."""
    curve = requirement.curve
    return curve is not None and any(math.isinf(constant) for constant, _ in curve.pieces)


@pytest.mark.parametrize("start", range(0, RIGS, 10))
def test_every_set_judges_any_rig_in_finite_numbers(start: int) -> None:
    sets = tuple(bundled_set(name) for name in bundled_names())
    for seed in range(start, start + 10):
        assert said(*judged(some_rig(random.Random(seed)), sets)) > len(sets)


def spoiled(dice: random.Random) -> str:
    """The text of a bundled set with other figures; in half of them one to three values are something else, or gone."""
    tree = _with_other_figures(dice, tomllib.loads(bundled_text(dice.choice(bundled_names()))))
    for _ in range(dice.choice((0, 0, 1, 3))):
        _spoil(dice, tree)
    return toml(tree)


def _with_other_figures(dice: random.Random, value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _with_other_figures(dice, item) for key, item in value.items() if key != "examples"}
    if isinstance(value, list):
        return [_with_other_figures(dice, item) for item in value]
    amount = re.fullmatch(r"([0-9.]+) (kg|lb|t|m|ft|in|kg/m|kg/mm|%)", value) if isinstance(value, str) else None
    if amount is None or dice.random() < 0.5:
        return value
    return f"{float(amount[1]) * dice.uniform(0.5, 2.0):.4g} {amount[2]}"


def _spoil(dice: random.Random, tree: dict[str, Any]) -> None:
    at: Any = tree
    while True:
        keys = list(at) if isinstance(at, dict) else list(range(len(at)))
        if not keys:
            return
        key = dice.choice(keys)
        if isinstance(at[key], dict | list) and dice.random() < 0.75:
            at = at[key]
            continue
        if dice.random() < 0.2:
            del at[key]
        elif isinstance(at, dict) and dice.random() < 0.2:
            at[f"{key}s"] = copy.deepcopy(at[key])
        else:
            at[key] = copy.deepcopy(dice.choice(JUNK))
        return


def _read(text: str) -> tuple[RuleSet | None, list[str]]:
    try:
        return parse_rule_set(text, "spoiled.toml"), []
    except DayFileError as error:
        return None, error.lines()


@pytest.mark.parametrize("start", range(0, FILES, 40))
def test_a_spoiled_rule_set_is_refused_in_words_or_judges(start: int) -> None:
    sound = 0
    for seed in range(start, start + 40):
        dice = random.Random(seed)
        rule_set, lines = _read(spoiled(dice))
        assert all(line.startswith("spoiled.toml:") and line.isprintable() for line in lines)
        if rule_set is not None:
            sound += 1
            judged(some_rig(dice), (rule_set,))
    assert 8 < sound < 33, "some are still sound, and some are not"
