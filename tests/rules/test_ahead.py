"""The road ahead: chosen rules on a trailer that nobody weighed yet, and on pairs that were never coupled."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from steelyard.conformity import LimitCurve, Outcome, Requirement, Sense
from steelyard.dayfile import bundled_set, read_day
from steelyard.findings import solve
from steelyard.model import ChosenRules, Grade, Marked, Papers, Ratings, Rule, RuleSet, Tyre, Use, WeighDay
from steelyard.questions.match import pairs_of
from steelyard.questions.trailer import how_much_trailer
from steelyard.report.tables.match import paper_words
from steelyard.requirements import on_trailer, paper_steps
from steelyard.units import Dimension
from tests.loading.days import BAKERY

POUND = 0.45359237


def chosen(day: WeighDay, *sets: RuleSet, licence: tuple[str, ...] | None = None) -> WeighDay:
    """The day with rule sets chosen."""
    return replace(day, rules=ChosenRules(sets=sets, licence=licence))


def papers(day: WeighDay, name: str, gvwr: float, category: str) -> WeighDay:
    """The day with a vehicle's class and permissible mass [kg]."""
    vehicle = day.vehicles[name]
    vehicle = replace(vehicle, ratings=replace(vehicle.ratings, gvwr=gvwr), papers=Papers(category=category))
    return replace(day, vehicles={**day.vehicles, name: vehicle})


def of_gross(limit: float) -> RuleSet:
    """A rule set with one rule: the most that a combination weighs [kg]."""
    rule = Rule("club.gross", "Gross weight", "gross", "club rules, 1", Grade.A, "words", values={"limit": limit})
    return RuleSet("club", "Club rules", "first", datetime.date(2026, 1, 1), "members", (rule,))


@pytest.fixture(scope="module")
def bakery() -> WeighDay:
    return BAKERY


def test_the_licence_is_told_by_the_permissible_mass_of_the_trailer(bakery: WeighDay) -> None:
    """Directive 2006/126/EC, Article 4(4): 3500 kg together for B, 4250 kg for B96, a trailer of 3500 kg for BE."""
    day = chosen(papers(bakery, "truck", 2200.0, "M1"), bundled_set("eu-licence"), licence=("B",))
    steps = [one for one in paper_steps(day, "solo", "truck", "ball", "then") if one.rule.id == "eu.licence.category"]
    assert [(one.up_to, one.answer, one.met) for one in steps] == [
        (1300.0, "B", True),
        (2050.0, "B96", False),
        (3500.0, "BE", False),
        (None, "C1E", False),
    ]
    assert {one.braked for one in steps} == {None}


def test_rules_on_the_towing_vehicle_alone_are_not_told_by_the_mass_of_a_trailer(bakery: WeighDay) -> None:
    """The label of the truck is judged by its papers, and the D of its ball by those of the trailer too."""
    truck = bakery.vehicles["truck"]
    coupling = replace(truck.couplings["ball"], marked=(Marked(d=15_000.0),))
    axles = tuple(replace(axle, tyre=Tyre(pressure=4e5, measured=4e5)) for axle in truck.axles)
    papers = replace(truck.papers, seats=2)
    truck = replace(truck, couplings={**truck.couplings, "ball": coupling}, axles=axles, papers=papers)
    truck = replace(truck, ratings=replace(truck.ratings, gvwr=4000.0, payload=900.0))
    day = replace(bakery, vehicles={**bakery.vehicles, "truck": truck})
    sets = (bundled_set(name) for name in ("un-r55", "us-tyres", "us-label"))
    steps = paper_steps(chosen(day, *sets), "solo", "truck", "ball", "then")
    assert [(one.rule.id, one.met) for one in steps] == [("un.r55.d", True), ("un.r55.d", False)]
    assert steps[0].up_to == pytest.approx(15_000.0 * 4000.0 / (9.81 * 4000.0 - 15_000.0), abs=0.001)


def test_without_the_class_no_licence_is_told(bakery: WeighDay) -> None:
    day = chosen(bakery, bundled_set("eu-licence"))
    assert paper_steps(day, "solo", "truck", "ball", "then") == ()


def test_a_rule_on_all_wheels_bounds_the_trailer_as_a_rating_of_the_same_mass_does(bakery: WeighDay) -> None:
    rated = {**bakery.vehicles, "truck": replace(bakery.vehicles["truck"], ratings=Ratings(gcwr=5500.0))}
    ruled = {**bakery.vehicles, "truck": replace(bakery.vehicles["truck"], ratings=Ratings())}
    by_rating = how_much_trailer(solve(replace(bakery, vehicles=rated)), "solo").result
    by_rule = how_much_trailer(solve(chosen(replace(bakery, vehicles=ruled), of_gross(5500.0))), "solo").result
    np.testing.assert_allclose(by_rule.most, by_rating.most, rtol=1e-12)
    names = {by_rule.limits.ids[place] for place in by_rule.binds}
    assert "what_if/combination/gross:club.gross" in names
    # of the vehicle alone it is no limit any longer: it would be another one
    assert not any(name == "what_if/truck/gross:club.gross" for name in by_rule.limits.ids)


def test_a_set_for_another_use_binds_no_trailer(bakery: WeighDay) -> None:
    """As in a state: a set that covers one use alone is silent about the other."""
    sets = (replace(of_gross(5500.0), use=(Use.PRIVATE,)),)
    for use, bound in ((Use.PRIVATE, True), (Use.COMMERCE, False)):
        day = replace(bakery, rules=ChosenRules(sets=sets, use=use))
        ids = how_much_trailer(solve(day), "solo").result.limits.ids
        assert ("what_if/combination/gross:club.gross" in ids) is bound


PUPPETS = read_day(Path(__file__).resolve().parents[2] / "examples" / "puppet-van.toml")


@pytest.mark.parametrize(
    ("day", "names", "trailer"),
    [(PUPPETS, (), "stage"), (BAKERY, ("us-interstate", "us-licence", "us-label", "un-r55"), "oven")],
    ids=["puppets", "bakery"],
)
def test_each_limit_leaves_what_it_leaves_once_the_trailer_is_hitched(
    day: WeighDay, names: tuple[str, ...], trailer: str
) -> None:
    """The limits on a trailer that nobody weighed, at the mass and coupling load of one that was hitched on paper."""
    if names:
        day = replace(day, rules=ChosenRules(tuple(map(bundled_set, names)), use=Use.COMMERCE))
    answer = how_much_trailer(solve(day), "solo", trailers=(trailer,))
    (given,) = answer.given
    load = given.findings.get("what_if/coupling/load")
    assert load is not None
    assert load.value is not None
    assert given.gross.value is not None
    limits = answer.result.limits
    left = limits.room + limits.by_load * load.value + limits.by_gross * given.gross.value
    verdicts = {one.id.replace(f"/{trailer}/", "/trailer/"): one for one in given.findings.verdicts}
    ruled = 0
    for name, room in zip(limits.ids, left.tolist(), strict=True):
        verdict = verdicts.get(name)
        if verdict is not None and verdict.dimension is Dimension.MASS and verdict.margin is not None:
            assert room == pytest.approx(verdict.margin, abs=0.01), name
            ruled += "." in name.rpartition(":")[2]
    assert ruled >= 4


def requirement(finding: str, limit: float, sense: Sense, curve: LimitCurve | None = None) -> Requirement:
    return Requirement(f"{finding}:r", finding, "", limit, sense, "", Dimension.MASS, "", curve, "r")


GERMAN = LimitCurve("then/trailer/gross", (625.0,), ((0.0, 0.04), (25.0, 0.0)), (True,))
"""The least of 4 % of the trailer's mass and 25 kg: StVZO 44(3)."""


@pytest.mark.parametrize(
    ("one", "rows"),
    [
        (requirement("then/trailer/gross", 3500.0, Sense.MAX), [(3500.0, 0.0, -1.0)]),
        (requirement("then/trailer/axles", 3400.0, Sense.MAX), [(3400.0, 1.0, -1.0)]),
        (requirement("then/coupling/load", 100.0, Sense.MAX), [(100.0, -1.0, 0.0)]),
        (requirement("then/coupling/load", 25.0, Sense.MIN, GERMAN), [(-25.0, 1.0, 0.0)]),
        (requirement("then/coupling/load", 25.0, Sense.MAX, GERMAN), [(0.0, -1.0, 0.04), (25.0, -1.0, 0.0)]),
        (requirement("then/trailer/axle/1", 900.0, Sense.MAX), None),
        (requirement("then/combination/axles/2-3", 900.0, Sense.MAX), None),
    ],
)
def test_a_limit_on_the_trailer_is_room_by_coupling_load_and_gross(
    one: Requirement, rows: list[tuple[float, float, float]] | None
) -> None:
    found = on_trailer(one)
    assert (None if found is None else list(found)) == rows


def test_a_pair_whose_licence_is_not_held_is_outside(bakery: WeighDay) -> None:
    day = papers(papers(bakery, "truck", 3500.0, "N1"), "oven", 3000.0, "O2")
    held = {}
    for licence in ("B", "BE"):
        (pair,) = pairs_of([("bakery.toml", solve(chosen(day, bundled_set("eu-licence"), licence=(licence,))))])
        held[licence] = pair
        answers = {one.rule.id: one.paper.answer for one in pair.papers if one.paper is not None}
        assert answers["eu.licence.category"] == "BE"
    assert [one.rule.id for one in held["B"].broken] == ["eu.licence.category"]
    assert held["B"].outcome is Outcome.OUTSIDE
    assert held["BE"].broken == ()
    assert {one.id for one in held["B"].verdicts} == {one.id for one in held["BE"].verdicts}


def test_the_part_of_a_coupling_that_does_not_hold_a_pair_is_named(bakery: WeighDay) -> None:
    day = papers(papers(bakery, "truck", 3500.0, "N1"), "oven", 3000.0, "O2")
    truck = day.vehicles["truck"]
    plates = (Marked(part="ball", d=20_000.0), Marked(part="bracket", d=15_000.0))
    ball = replace(truck.couplings["ball"], marked=plates)
    day = replace(day, vehicles={**day.vehicles, "truck": replace(truck, couplings={**truck.couplings, "ball": ball})})
    (pair,) = pairs_of([("bakery.toml", solve(chosen(day, bundled_set("un-r55"))))])
    (words, *_) = paper_words(pair)
    assert words == f"{truck.title}, ball (bracket): D by the permissible masses: not met by the papers (un-r55)"
