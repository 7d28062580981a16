"""Weight limits of the Interstate System against a table worked out apart, over every group of neighbouring axles."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from steelyard.conformity import Outcome, Requirement
from steelyard.conformity.verdict import Measured, judge
from steelyard.dayfile import bundled_set, parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import Rounding, RuleSet
from steelyard.requirements.road import ALL_AXLES_DOWN, FORMS, Ruling, rulings
from steelyard.rules import bundled_names
from steelyard.units import UnitSystem
from tests.rules.bridge_table import limit_of
from tests.rules.road_days import POUND, road_day
from tests.rules.sample_days import day_text

LAYOUTS = 10_000
OF_GROUPS = ("us.interstate.single_axle", "us.interstate.tandem", "us.interstate.bridge")


def interstate() -> RuleSet:
    return bundled_set("us-interstate")


def of_groups(*vehicles: list[int], rule_set: RuleSet | None = None) -> list[Ruling]:
    """The rulings on groups of axles at these places [in] along the combination."""
    return [
        one
        for one in rulings(road_day(*vehicles, sets=[rule_set or interstate()]))
        if one.rule.id in OF_GROUPS and one.requirement is not None
    ]


def limit_on(ruling: Ruling) -> float:
    assert ruling.requirement is not None
    return ruling.requirement.limit / POUND


def whole(places: list[int], rule_set: RuleSet | None = None) -> float:
    """The limit [lb] on all axles of a lorry and trailer together."""
    found = of_groups(places[:2], places[2:], rule_set=rule_set) if places[2:] else of_groups(places, rule_set=rule_set)
    return next(limit_on(one) for one in found if one.subject.endswith(f"/1-{len(places)}"))


def random_layout(chance: random.Random) -> list[list[int]]:
    """One to three vehicles of one to four axles, at places [in] that often fall on a limit of the law."""
    vehicles: list[list[int]] = []
    at = 0
    for number in range(chance.choice((1, 2, 2, 2, 2, 3))):
        axles: list[int] = []
        for _ in range(chance.choice((2, 2, 3, 4) if not number else (1, 1, 2, 3))):
            axles.append(at)
            at += chance.choice((40, 41, 48, 54, 96, 97, 102, 107, 108, 120, chance.randint(24, 260)))
        vehicles.append(axles)
        at += chance.choice((0, 12, 100, 200, chance.randint(20, 300)))
    return vehicles


def number_of(ruling: Ruling, vehicles: list[list[int]]) -> tuple[int, int]:
    """First and last axle of a ruling's group, counted from 0 through the combination."""
    owner, kind, which = ruling.subject.split("/")
    if kind == "axles":
        first, last = which.split("-")
        return int(first) - 1, int(last) - 1
    at = sum(len(axles) for axles in vehicles[: int(owner[1:])]) + int(which) - 1
    return at, at


def says_within(requirement: Requirement, load: int, known: dict[tuple[object, ...], bool]) -> bool:
    """Whether a load is judged within; the same limit and load are judged once, and ``known`` from then on."""
    asked = (requirement.limit, requirement.sense, requirement.dimension, requirement.curve is None, load)
    if asked not in known:
        sure = Measured(load * POUND, 0.0, math.inf, load * POUND - requirement.limit, 0.0)
        known[asked] = judge(requirement, sure, UnitSystem()).outcome is Outcome.WITHIN
    return known[asked]


def test_every_group_of_random_layouts_is_judged_as_the_table_says() -> None:
    """Loads are around the limit and never at it, so that a wrong limit shows as a wrong verdict."""
    chance = random.Random(20261130)
    groups = outside = 0
    known: dict[tuple[object, ...], bool] = {}
    for _ in range(LAYOUTS):
        vehicles = random_layout(chance)
        places = [place for axles in vehicles for place in axles]
        found = {number_of(one, vehicles): one for one in of_groups(*vehicles)}
        pairs = [(first, last) for first in range(len(places)) for last in range(first, len(places))]
        assert sorted(found) == pairs, vehicles
        for first, last in pairs:
            limit = limit_of(places[first : last + 1])
            load = limit + chance.choice((-251, -10, 10, 251))
            requirement = found[first, last].requirement
            assert requirement is not None
            assert abs(requirement.limit - limit * POUND) < 1e-6, (vehicles, first, last)
            assert says_within(requirement, load, known) == (load <= limit)
            groups += 1
            outside += load > limit
    assert groups > 8 * LAYOUTS
    assert 0.4 < outside / groups < 0.6


@pytest.mark.parametrize("axles", range(2, 9))
def test_a_doubtful_spread_finds_the_limit_of_every_inch_on_one_curve(axles: int) -> None:
    """Both sides of every step: the curve of a group some 30 ft wide, read at each inch up to 40 ft."""
    places = [round(360 * number / (axles - 1)) for number in range(axles)]
    split = min(4, axles)
    found = of_groups(places[:split], places[split:]) if places[split:] else of_groups(places)
    requirement = next(one.requirement for one in found if one.subject.endswith(f"/1-{axles}"))
    assert requirement is not None
    assert requirement.curve is not None
    assert requirement.curve.finding == f"road/{'combination' if places[split:] else 'v0'}/spread/1-{axles}"
    for inches in range(axles, 480):
        # evenly spread axles are never two tandems but up to 96 in, where there is no exception
        expected = limit_of([*range(axles - 1), inches])
        assert abs(requirement.curve.limit(inches * 0.0254) - expected * POUND) < 1e-6, inches
    assert abs(requirement.curve.limit(360 * 0.0254) - requirement.limit) < 1e-6


def test_two_tandems_may_carry_their_own_limits_from_36_feet_on_and_not_a_hair_before() -> None:
    assert whole([0, 48, 384, 432]) == pytest.approx(68_000)
    assert whole([0, 48, 383, 431]) == pytest.approx(66_000)
    assert whole([0, 48, 408, 456]) == pytest.approx(68_000)
    assert whole([0, 48, 444, 492]) == pytest.approx(69_500)
    # a spread of 40 in is a single axle, one of 97 in no tandem: neither pair is one
    assert whole([0, 40, 384, 432]) == pytest.approx(66_000)
    assert whole([0, 97, 384, 432]) == pytest.approx(66_000)


def with_rounding(*, weight: Rounding, length: Rounding) -> RuleSet:
    """The bundled set with other named roundings, without what the published table says otherwise."""

    def values(old: Any) -> dict[str, Any]:
        kept = {key: value for key, value in old.items() if key not in ("steps", "tandems")}
        return {**kept, "weight_rounding": weight, "length_rounding": length}

    of = interstate()
    rules = tuple(replace(one, values=values(one.values)) if one.form == "bridge" else one for one in of.rules)
    return replace(of, rules=rules)


def rounded(value: Fraction, how: Rounding) -> Fraction:
    """Rounded by a named rule, from the words of the rule alone."""
    below = Fraction(value.numerator // value.denominator)
    part = value - below
    up = {"nearest, half up": part >= Fraction(1, 2), "nearest, half down": part > Fraction(1, 2)}.get(how.value, False)
    return value if how is Rounding.NONE else below + up


@pytest.mark.parametrize("weight", list(Rounding))
@pytest.mark.parametrize("length", list(Rounding))
def test_a_rule_set_may_name_another_rounding(weight: Rounding, length: Rounding) -> None:
    rule_set = with_rounding(weight=weight, length=length)
    for inches in (100, 101, 102, 103, 113, 114, 115, 150, 180, 222, 433, 434):
        for axles in (2, 3, 4):
            places = [*range(axles - 1), inches]
            feet = rounded(Fraction(inches, 12), length)
            exact = 500 * rounded(feet * Fraction(axles, axles - 1) + 12 * axles + 36, weight)
            assert whole(places, rule_set) == pytest.approx(float(exact), rel=1e-12), (inches, axles)


def test_a_trailer_that_stands_alone_is_not_on_the_road() -> None:
    day = road_day([0, 120], [300, 350], sets=[interstate()])
    state = replace(day.states["road"], vehicles=("v1",), links=())
    found = [one for one in rulings(replace(day, states={"road": state})) if one.rule.id in OF_GROUPS]
    assert [(one.requirement, one.paper, one.needs) for one in found] == [(None, None, ())] * 3
    assert all("where it is coupled" in one.note for one in found)


def test_a_set_without_a_formula_limits_only_the_spreads_it_names() -> None:
    of = interstate()
    alone = replace(of, rules=tuple(rule for rule in of.rules if rule.form != "bridge"))
    found = of_groups([0, 192, 240], rule_set=alone)
    assert {one.subject: round(limit_on(one)) for one in found} == {
        "v0/axle/1": 20_000,
        "v0/axle/2": 20_000,
        "v0/axle/3": 20_000,
        "v0/axles/2-3": 34_000,
    }


DOUBTFUL = {
    "axles": ["0 in", "192 in", "288 in", "570 in", "624 in"],
    "loads": ["12000 lb", "17500 lb", "17500 lb", "16000 lb", "16000 lb"],
    "trailer_from": 4,
    "rules": {"apply": ["us-interstate"]},
}
"""The second and third axle are 96 in apart, where a tandem ends; the last four 36 ft, where two tandems carry more."""


def measured(findings: Findings, name: str) -> tuple[float, float]:
    """Value and standard uncertainty of a finding on the combination [SI]."""
    found = findings.get(f"laden/combination/{name}")
    assert found is not None
    assert found.value is not None
    assert found.u is not None
    return found.value, found.u


def test_verdicts_at_a_step_have_the_probability_of_drawn_loads_and_tapes() -> None:
    """40,000 draws: their own doubt is a quarter of a per cent at most, and one per cent is asked for."""
    import numpy as np

    text = day_text(DOUBTFUL).replace(" m +/- 0 mm", " m +/- 15 mm")
    findings = weigh(parse_day(text.replace('"repeatability" = "0 kg"', '"repeatability" = "90 kg"'), "day.toml"))
    verdicts = {verdict.id: verdict for verdict in findings.verdicts}
    draws = np.random.default_rng(658)
    places = [0, 192, 288, 570, 624]
    for first, last, rule in ((2, 3, "tandem"), (2, 5, "bridge")):
        load = measured(findings, f"axles/{first}-{last}")
        spread = measured(findings, f"spread/{first}-{last}")
        inner = [place - places[first - 1] for place in places[first - 1 : last - 1]]
        drawn = (spread[0] + spread[1] * draws.standard_normal(40_000)) / 0.0254
        # whether two pairs are tandems is taken as taped, so that only the outermost axle moves
        limits = POUND * np.array([limit_of([*inner, float(inches)]) for inches in drawn])
        met = float(np.mean(load[0] + load[1] * draws.standard_normal(40_000) <= limits))
        verdict = verdicts[f"laden/combination/axles/{first}-{last}:us.interstate.{rule}"]
        assert 0.2 < met < 0.95, "the doubt of the tape counts"
        assert verdict.probability == pytest.approx(met, abs=0.01)


def test_an_axle_that_is_lifted_is_not_counted() -> None:
    """Axles 1, 2, 4 and 6 of six are down: the groups are theirs, called after the axles as they are counted anyway."""
    places = [0, 180, 234, 500, 550, 620]
    day = road_day(places[:3], places[3:], sets=[interstate()])
    state = replace(day.states["road"], lifted={"v0": frozenset({3}), "v1": frozenset({2})})
    found = {
        one.subject: round(one.requirement.limit / POUND)
        for one in rulings(replace(day, states={"road": state}))
        if one.rule.id in OF_GROUPS and one.requirement is not None
    }
    down = [1, 2, 4, 6]
    groups = [(first, last) for at, first in enumerate(down) for last in down[at + 1 :]]
    expected = {
        f"combination/axles/{first}-{last}": limit_of([places[n - 1] for n in down if first <= n <= last])
        for first, last in groups
    }
    singles = {"v0/axle/1": 20_000, "v0/axle/2": 20_000, "v1/axle/1": 20_000, "v1/axle/3": 20_000}
    assert found == expected | singles


def test_a_rule_that_says_nothing_of_axles_lifted_is_not_asked_of_them() -> None:
    assert set(FORMS) >= ALL_AXLES_DOWN
    forms = {form: name for name in bundled_names() for form in {rule.form for rule in bundled_set(name).rules}}
    day = road_day([0, 180, 234], sets=[bundled_set(name) for name in set(forms.values())])
    state = replace(day.states["road"], lifted={"v0": frozenset({3})})
    held = rulings(replace(day, states={"road": state}, rules=replace(day.rules, from_memory=True)))
    silent = [one for one in held if one.rule.form in ALL_AXLES_DOWN]
    assert silent
    assert all(one.requirement is None and "is lifted" in one.note for one in silent)
