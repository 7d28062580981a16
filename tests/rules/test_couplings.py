"""The strength of couplings: formulas, plates of every part, permissible and weighed masses.

Source: UN Regulation 55, 01 series, formulas as three technical texts agree on them (its own pages of formulas were not
read), class table of Annex 4. The worked figures are computed from these formulas elsewhere, with g = 9.81 m/s2, and
have three decimals.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from steelyard.conformity import Outcome
from steelyard.dayfile import parse_day
from steelyard.findings import Catalogue, Findings, Quantities, solve, weigh
from steelyard.requirements import Ruling, coupling_force, rulings
from steelyard.requirements.road.parts.strength import Force, largest_trailer, vertical_force
from tests.rules.rigs import only, ruled
from tests.rules.sample_days import day_text

ball, dc, fifth = (
    coupling_force(symbol, fifth_wheel=wheel) for symbol, wheel in (("d", False), ("dc", False), ("d", True))
)

# -- formulas --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("towing", "trailer", "force"),
    [
        *((2.0, 1.5, 8.409), (2.2, 2.0, 10.277), (3.0, 2.5, 13.377), (3.5, 3.5, 17.168)),
        *((18.0, 18.0, 88.290), (26.0, 18.0, 104.343)),
    ],
)
def test_d_of_a_ball(towing: float, trailer: float, force: float) -> None:
    found = ball(towing=towing * 1000, trailer=trailer * 1000, imposed=100.0)
    assert found.value / 1000 == pytest.approx(force, abs=0.0005)


def test_dc_leaves_out_what_lies_on_the_coupling() -> None:
    assert dc(towing=18000, trailer=19000, imposed=1000).value / 1000 == pytest.approx(88.290, abs=0.0005)


@pytest.mark.parametrize(
    ("towing", "trailer", "imposed", "force"),
    [(3.5, 5.5, 1.0, 14.163), (7.5, 10.0, 2.5, 29.430), (18.0, 33.0, 10.5, 86.328)],
)
def test_d_of_a_fifth_wheel(towing: float, trailer: float, imposed: float, force: float) -> None:
    found = fifth(towing=towing * 1000, trailer=trailer * 1000, imposed=imposed * 1000)
    assert found.value / 1000 == pytest.approx(force, abs=0.0005)


@pytest.mark.parametrize(
    ("air", "axles", "length", "drawbar", "force"),
    [(True, 18.0, 8.0, 7.0, 42.318), (False, 18.0, 8.0, 7.0, 56.424), (False, 3.3, 4.0, 4.5, 7.920)],
)
def test_v_counts_a_short_load_as_long_as_its_drawbar(
    air: bool, axles: float, length: float, drawbar: float, force: float
) -> None:
    found = vertical_force(axles=axles * 1000, length=length, drawbar=drawbar, air=air)
    assert found / 1000 == pytest.approx(force, abs=0.0005)


def test_gravity_is_that_of_the_regulation_and_not_standard_gravity() -> None:
    assert ball(towing=3500, trailer=3500, imposed=0).value / 1000 == pytest.approx(17.1675, abs=1e-9)


@pytest.mark.parametrize(("d", "towing", "trailer"), [(10.0, 2.2, 1.8995), (17.2, 3.5, 3.5133)])
def test_the_largest_trailer_is_the_inverse(d: float, towing: float, trailer: float) -> None:
    found = largest_trailer(d=d * 1000, towing=towing * 1000)
    assert found is not None
    assert found / 1000 == pytest.approx(trailer, abs=0.00005)
    assert ball(towing=towing * 1000, trailer=found, imposed=0).value == pytest.approx(d * 1000)


def test_no_trailer_needs_more_than_the_weight_of_what_tows_it() -> None:
    assert largest_trailer(d=9.81 * 2000, towing=2000) is None
    assert largest_trailer(d=9.81 * 2000 - 1, towing=2000) is not None


def test_the_published_derivatives() -> None:
    found = ball(towing=2200, trailer=2000, imposed=0)
    assert (found.by_trailer, found.by_towing) == pytest.approx((2.69163, 2.22449), abs=5e-6)


@pytest.mark.parametrize("formula", [ball, dc, fifth], ids=["d", "dc", "fifth wheel"])
def test_derivatives_are_those_of_the_formula(formula: Callable[..., Force]) -> None:
    at = {"towing": 3100.0, "trailer": 4700.0, "imposed": 800.0}
    found = formula(**at)
    for name, slope in (("towing", found.by_towing), ("trailer", found.by_trailer), ("imposed", found.by_imposed)):
        more, less = (formula(**{**at, name: at[name] + step}).value for step in (0.5, -0.5))
        assert slope == pytest.approx(more - less, rel=1e-6, abs=1e-9), name


# -- plates ----------------------------------------------------------------------------------------------------------


def rig(kind: str = "ball", hitch: Any = None, head: Any = None, **more: Any) -> dict[str, Any]:
    """A car of 2.2 t and a trailer of 2 t with 100 kg on the coupling, laden as the papers permit."""
    trailer = {"ratings": {"gvwr": "2000 kg"}, "papers": {"coupling": "100 kg"}}
    given: dict[str, Any] = {
        "axles": ["0 m", "3 m", "9 m"],
        "loads": ["900 kg", "1300 kg", "1900 kg"],
        "trailer_from": 3,
        "coupling_at": "4 m",
        "coupling_load": "100 kg",
        "tow": {"ratings": {"gvwr": "2200 kg"}},
        "trailer": trailer | ({"marked": head} if head else {}),
        "coupling": {"type": kind, **({"marked": hitch} if hitch else {})},
    }
    return {**given, **more}


def asked(rule: str, given: dict[str, Any]) -> list[Ruling]:
    return ruled(given, f"un.r55.{rule}", "un-r55")


def met(rulings: list[Ruling]) -> dict[str, bool | None]:
    return {one.subject: one.paper.met for one in rulings if one.paper is not None}


@pytest.mark.parametrize(("d", "kept"), [("10.276 kN", False), ("10.278 kN", True), ("10277.142858 N", True)])
def test_the_plate_holds_the_permissible_masses_or_not(d: str, kept: bool) -> None:
    assert met(asked("d", rig(hitch={"d": d}, head={"d": "20 kN"}))) == {"tow/ball": kept, "trailer/coupling": True}


def test_the_weakest_part_decides() -> None:
    hitch = [{"part": "ball", "d": "14 kN"}, {"part": "bracket", "d": "10.2 kN"}, {"part": "beam", "s": "80 kg"}]
    given = rig(hitch=hitch, head={"d": "11 kN", "s": "100 kg"})
    assert met(asked("d", given)) == {"tow/ball/ball": True, "tow/ball/bracket": False, "trailer/coupling": True}
    assert met(asked("s", given)) == {"tow/ball/beam": False, "trailer/coupling": True}
    names = [one.requirement.id for one in asked("d-today", given) if one.requirement]
    assert names == [f"laden/coupling/d:un.r55.d-today.{tag}" for tag in ("towing-1", "towing-2", "trailer")]
    assert "tow, ball (bracket)" in asked("d", given)[1].label


def test_a_part_whose_plate_nobody_read_is_named_and_the_others_are_judged() -> None:
    (open_, told) = asked("d", rig(hitch={"d": "10 kN"}))
    assert open_.needs == ("vehicles.trailer.marked.d",)
    assert told.paper is not None
    assert told.paper.met is False
    assert told.note == "behind a towing vehicle of 2,200 kg this D takes a trailer of at most 1,899 kg"


def test_missing_masses_are_named() -> None:
    given = rig(hitch={"d": "10 kN"}, head={"d": "10 kN"}, tow={}, trailer={"marked": {"d": "10 kN"}})
    assert only(given, "un.r55.d", "un-r55").needs == ("vehicles.tow.ratings.gvwr", "vehicles.trailer.ratings.gvwr")
    assert {one.requirement is not None for one in asked("d-today", given)} == {True}, "what is weighed needs no papers"


@pytest.mark.parametrize(
    ("kind", "rule", "note"),
    [
        ("gooseneck", "d", "the regulation has no values for a gooseneck"),
        ("pintle", "d", "D is for balls and fifth wheels; couplings for a rigid drawbar are judged by Dc"),
        ("ball", "dc", "Dc is for couplings of a rigid drawbar with its eye; balls and fifth wheels are judged by D"),
        ("ball", "u", "U is for fifth wheels; of other couplings it is S"),
        ("fifth_wheel", "s", "S is for balls and drawbar couplings; of a fifth wheel it is U"),
    ],
)
def test_a_value_that_such_a_coupling_does_not_have(kind: str, rule: str, note: str) -> None:
    assert [one.note for one in asked(rule, rig(kind))] == [note]
    assert [one.note for one in asked(f"{rule}-today", rig(kind))] == [note]


def test_a_vehicle_that_tows_nothing() -> None:
    given = {"axles": ["0 m", "3 m"], "loads": ["900 kg", "900 kg"]}
    assert [one.note for one in asked("d", given)] == ["nothing is coupled to it"]


def test_a_kingpin_has_no_u_on_its_plate() -> None:
    given = rig("fifth_wheel", hitch={"d": "90 kN", "u": "100 kg"}, head={"d": "90 kN"})
    assert [one.needs for one in asked("u", given)] == [()]
    assert [one.needs for one in asked("u", rig("fifth_wheel"))] == [("vehicles.tow.couplings.ball.marked.u",)]


def test_v_is_asked_of_heavy_trailers_and_of_those_with_a_plate() -> None:
    (light,) = asked("v", rig("pintle", hitch={"dc": "12 kN"}, head={"dc": "12 kN"}))
    assert "over 3,500 kg" in light.note
    heavy = {"ratings": {"gvwr": "3601 kg"}, "papers": {"coupling": "100 kg"}}
    (open_,) = asked("v", rig("pintle", hitch={"dc": "12 kN"}, trailer=heavy))
    assert open_.needs == ("vehicles.tow.couplings.ball.marked.v", "vehicles.trailer.marked.v")


def test_v_asks_for_the_length_of_the_load_and_the_suspension() -> None:
    given = rig("pintle", hitch={"v": "12 kN"}, head={"v": "12 kN"})
    (open_,) = asked("v", given)
    assert open_.needs == ("vehicles.trailer.papers.load_length", "vehicles.tow.axles[2].driven")
    (open_,) = asked("v", given | {"axles_with": {"1": {"driven": True}}})
    assert open_.needs == ("vehicles.trailer.papers.load_length", "vehicles.tow.axles[1].air")


def test_a_lifted_axle_makes_the_drawbar_of_v_shorter() -> None:
    """Axles at 4 m and 6 m, the last one up: L is 4 m and X2 / L2 is 1.5625 in place of 1."""
    given = rig("pintle", hitch={"v": "12 kN"}, head={"v": "12 kN"}, axles=["0 m", "3 m", "8 m", "10 m"])
    given |= {"loads": ["900 kg", "1300 kg", "1900 kg", "0 kg"], "axles_with": {"2": {"driven": True, "air": False}}}
    given["trailer"] = given["trailer"] | {"papers": {"coupling": "100 kg", "load_length": "5 m"}}
    day = parse_day(day_text(given | {"rules": {"apply": ["un-r55"]}}), "rig.toml")
    needed: list[float] = []
    for up in (frozenset[int](), frozenset({2})):
        laden = replace(day.states["laden"], lifted={"trailer": up})
        found = rulings(replace(day, drafts=(), states={"laden": laden}))
        one = next(ruling for ruling in found if ruling.rule.id == "un.r55.v")
        assert one.paper is not None
        assert one.paper.value is not None
        needed.append(one.paper.value)
    assert needed == pytest.approx([2.4 * 1900, 2.4 * 1900 * 1.5625])


def test_what_is_weighed_and_what_is_permitted_are_told_apart() -> None:
    given = rig(hitch={"d": "12 kN"}, head={"d": "12 kN"})
    paper, today = asked("d", given), asked("d-today", given)
    assert all(one.requirement is None and "by the permissible masses" in one.label for one in paper)
    assert all(one.paper is None and "as loaded today" in one.label for one in today)


@pytest.mark.parametrize(("load", "imposed"), [("50 kg", "200 kg"), ("400 kg", "200 kg"), ("50 kg", "210 kg")])
def test_what_a_centre_axle_trailer_is_goes_by_the_papers_and_holds_nothing_against_a_load(
    load: str, imposed: str
) -> None:
    """A definition; that the maximum mass is meant: definition of the term by the Serbian institute of standards."""
    trailer = {"ratings": {"gvwr": "2000 kg"}, "papers": {"coupling": imposed}}
    (said,) = asked("centre-axle", rig(trailer=trailer, coupling_load=load))
    assert (said.requirement, said.subject) == (None, "trailer")
    assert said.paper is not None
    assert (said.paper.met, said.paper.limit) == (None, None), "nothing is over a limit"
    assert said.note == "such a trailer of 2,000 kg puts at most 200 kg on its coupling"
    assert said.paper.answer == f"{'a' if imposed == '200 kg' else 'no'} centre-axle trailer by its papers"
    findings = today(rig(trailer=trailer, coupling_load=load))
    assert not [one.id for one in findings.verdicts if "centre-axle" in one.id]


# -- as loaded today -------------------------------------------------------------------------------------------------


def today(given: dict[str, Any], pad: str = "") -> Findings:
    text = day_text(given | {"rules": {"apply": ["un-r55"]}})
    return weigh(parse_day(text.replace('"span_uncertainty" = "0 %"', pad or '"span_uncertainty" = "0 %"'), "rig.toml"))


@pytest.mark.parametrize(
    ("kind", "symbol", "force"),
    [("ball", "d", 10.27714), ("pintle", "dc", 10.00141), ("fifth_wheel", "d", 6.316683)],
)
def test_the_force_of_what_was_weighed(kind: str, symbol: str, force: float) -> None:
    """2,200 kg on the towing wheels, 2,000 kg of trailer with 100 kg of it on the coupling; worked out by hand."""
    found = today(rig(kind, hitch={symbol: "20 kN"}, head={symbol: "20 kN"})).get(f"laden/coupling/{symbol}")
    assert found is not None
    assert found.value is not None
    assert found.value / 1000 == pytest.approx(force, rel=2e-6)


def test_no_force_is_found_where_no_rule_asks_for_it() -> None:
    given = rig(hitch={"d": "20 kN"}, head={"d": "20 kN"})
    assert weigh(parse_day(day_text(given), "rig.toml")).get("laden/coupling/d") is None


def test_a_force_is_not_determined_where_the_trailer_is_not() -> None:
    given = rig(hitch={"d": "20 kN"}, head={"d": "20 kN"})
    given.pop("coupling_load")
    findings = today(given)
    found = findings.get("laden/coupling/d")
    assert found is not None
    assert found.value is None
    (verdict, *_) = [one for one in findings.verdicts if one.finding == "laden/coupling/d"]
    assert (verdict.outcome, verdict.probability) == (None, None)


def test_an_advice_says_hundredths_of_a_kilonewton() -> None:
    found = {one.id: one for one in today(rig(hitch={"d": "10 kN"}, head={"d": "20 kN"})).verdicts}
    verdict = found["laden/coupling/d:un.r55.d-today.towing"]
    assert verdict.outcome is Outcome.OUTSIDE
    assert verdict.advice == (
        "over by 0.28 kN; 0.28 kN less (of the trailer, some 37 kg for each 0.1 kN) would bring it within at 95 %"
    )


DRAWS = 200_000


@pytest.mark.parametrize(("kind", "symbol"), [("ball", "d"), ("pintle", "dc"), ("fifth_wheel", "d")])
@pytest.mark.parametrize("span", ["0.5 %", "2 %"])
def test_doubt_and_probability_are_those_of_monte_carlo(kind: str, symbol: str, span: str) -> None:
    """The loads are drawn with their covariance and put into the formula itself (JCGM 101), to 1 %.

    Pads of one set share their span, so that towing vehicle and trailer err together; the limits lie where the
    probability is neither nothing nor all.
    """
    pad = f'"span_uncertainty" = "0 %", "set" = "all", "set_uncertainty" = "{span}"'
    given = rig(kind, hitch={symbol: "20 kN"}, head={symbol: "20 kN"}) | {"rules": {"apply": ["un-r55"]}}
    plain = parse_day(day_text(given).replace('"span_uncertainty" = "0 %"', pad), "rig.toml")
    value = weigh(plain).get(f"laden/coupling/{symbol}")
    assert value is not None
    assert value.value is not None
    assert value.u is not None
    drawn = _drawn(plain, coupling_force(symbol, fifth_wheel=kind == "fifth_wheel"))
    assert value.value == pytest.approx(float(drawn.mean()), rel=0.001)
    assert value.u == pytest.approx(float(drawn.std()), rel=0.01)
    limits = [value.value + step * value.u for step in (-1.0, 0.0, 1.5)]
    for limit in limits:
        marked = {symbol: f"{limit!r} N"}
        day = parse_day(
            day_text(given | rig(kind, hitch=marked, head=marked)).replace('"span_uncertainty" = "0 %"', pad), "x"
        )
        verdict = next(one for one in weigh(day).verdicts if one.id.endswith("-today.towing"))
        assert verdict.probability == pytest.approx(float((drawn <= limit).mean()), abs=0.01)


def _drawn(day: Any, formula: Callable[..., Force]) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Forces of drawn loads of the three masses, whose covariance the adjustment gives."""
    adjustment = solve(day).adjustment
    names = ("laden/tow/gross", "laden/trailer/gross", "laden/coupling/load")
    entries = {entry.id: entry for entry in Catalogue(adjustment).entries()}
    found = Quantities(adjustment, [entries[name] for name in names]).estimates
    assert (found.dof > 100).all(), "a normal distribution stands in for Student's"
    rng = np.random.default_rng(5512)
    drawn = found.values[:, None] + found.roots @ rng.standard_normal((found.roots.shape[1], DRAWS))
    masses = dict(zip(("towing", "trailer", "imposed"), drawn, strict=True))
    return np.asarray(formula(**masses).value)
