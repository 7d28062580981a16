"""Tyres: the load index, the load marked against each wheel, dual tyres, passenger-car tyres, pressures.

Sources: UN Regulations 30 and 54, Annex 4 (load index, by public listings that agree); 49 CFR 393.75(f) to (h) in the
edition of 2005; 49 CFR 571.120 S5.1.2 by interpretation nht76-1.47 (2,756 lb and 1,874 lb divided by 1.10).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steelyard.conformity import Outcome
from steelyard.dayfile import DayFileError, parse_day, parse_rule_set
from steelyard.findings import weigh
from steelyard.model import Draft, Tyre, WeighDay, indexed_load
from steelyard.requirements import Ruling
from steelyard.rules import bundled_text, load_indices
from tests.rules.rigs import only, ruled
from tests.rules.sample_days import day_text

LB = 0.45359237
PSI = 6894.757293168
TWO = {"axles": ["0 in", "150 in"], "loads": ["6000 lb", "6000 lb"]}


def with_tyres(*tyres: dict[str, Any], **more: Any) -> dict[str, Any]:
    axles = {str(number): {"tyre": tyre} for number, tyre in enumerate(tyres, start=1)}
    return {**TWO, "axles_with": axles, **more}


# -- the load index --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("index", "mass"),
    [
        *((60, 250), (61, 257), (62, 265), (75, 387), (83, 487), (91, 615), (100, 800), (108, 1000), (121, 1450)),
        *((128, 1800), (150, 3350), (180, 8000), (200, 14000)),
    ],
)
def test_loads_of_public_listings(index: int, mass: float) -> None:
    assert indexed_load(index) == mass


def test_the_table_has_every_index_once_and_grows() -> None:
    table = load_indices()
    assert list(table) == list(range(60, 201))
    assert sorted(set(table.values())) == list(table.values())
    assert indexed_load(59) is None
    assert indexed_load(None) is None


def test_eighty_indices_more_are_ten_times_the_load() -> None:
    """Below 1,000 kg the half kilogram is dropped: 387 is 387.5."""
    table = load_indices()
    for index in range(60, 121):
        assert table[index + 80] / 10.0 - table[index] in (0.0, 0.5), index


def test_eight_indices_more_are_a_quarter_more() -> None:
    """The steps are those of a geometric series, ten to the eightieth part, rounded to a few kilograms."""
    table = load_indices()
    for index in range(60, 193):
        assert table[index + 8] / table[index] == pytest.approx(10**0.1, rel=0.025), index


# -- the load of each wheel ------------------------------------------------------------------------------------------


def limits(rulings: list[Ruling]) -> dict[str, float]:
    return {one.subject: one.requirement.limit / LB for one in rulings if one.requirement is not None}


def test_every_wheel_has_its_limit_and_a_dual_end_twice_the_dual_load() -> None:
    rig = with_tyres({"load": "3195 lb"}, {"load": "3195 lb", "dual_load": "2910 lb"})
    rig["axles_with"]["2"]["dual"] = True
    assert limits(ruled(rig, "us.tyre.load", "us-tyres")) == pytest.approx(
        {"tow/wheel/1L": 3195.0, "tow/wheel/1R": 3195.0, "tow/wheel/2L": 5820.0, "tow/wheel/2R": 5820.0}
    )


def test_the_marked_load_counts_before_the_index() -> None:
    rig = with_tyres({"load": "3042 lb", "index": 120}, {"index": 120})
    found = limits(ruled(rig, "us.tyre.load", "us-tyres"))
    assert found["tow/wheel/1L"] == pytest.approx(3042.0)
    assert found["tow/wheel/2L"] == pytest.approx(1400.0 / LB)


def test_the_load_of_a_single_tyre_says_nothing_of_a_dual_end() -> None:
    assert Tyre(load=1000.0, index=108).end(dual=True) is None
    assert Tyre(dual_index=108).end(dual=True) == 2000.0
    assert Tyre(dual_index=108).end(dual=False) is None


def test_what_is_missing_is_named_for_each_axle() -> None:
    rig = with_tyres({"index": 120})
    rig["axles_with"]["2"] = {"dual": True, "tyre": {"index": 120}}
    found = ruled(rig, "us.tyre.load", "us-tyres")
    assert [one.needs for one in found if one.needs] == [("vehicles.tow.axles[2].tyre.dual_load",)]
    assert set(limits(found)) == {"tow/wheel/1L", "tow/wheel/1R"}


def shifted(day: WeighDay, more: float) -> WeighDay:
    """The day with ``more`` [kg] on the left wheel of axle 1, from the right one."""
    change = {"tow/1L": more, "tow/1R": -more}

    def moved(draft: Draft) -> Draft:
        rows = tuple(replace(one, value=one.value + change.get(one.place.text, 0.0)) for one in draft.readings)
        return replace(draft, readings=rows)

    return replace(day, drafts=tuple(moved(draft) for draft in day.drafts))


def test_a_wheel_may_be_over_where_its_axle_is_within() -> None:
    rig = with_tyres({"load": "3195 lb"}, {"load": "3195 lb"}, rules={"apply": ["us-tyres"]})
    rig["axle"] = {"rating": "6200 lb", "wheel_rating": "3400 lb"}
    day = shifted(parse_day(day_text(rig), "rig.toml"), 200.0 * LB)
    told = {verdict.id: verdict for verdict in weigh(day).verdicts}
    assert told["laden/tow/axle/1:rating"].outcome is Outcome.WITHIN
    assert told["laden/tow/wheel/1L:us.tyre.load"].outcome is Outcome.OUTSIDE
    assert told["laden/tow/wheel/1R:us.tyre.load"].outcome is Outcome.WITHIN
    assert told["laden/tow/wheel/1L:wheel_rating"].outcome is Outcome.WITHIN, "the owner's own limit stands beside it"
    assert "over by 2 kg; 3 kg less on this wheel" in told["laden/tow/wheel/1L:us.tyre.load"].advice


# -- passenger-car tyres ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("marked", "counts"), [("2756 lb", 2505.45), ("1874 lb", 1703.64)])
def test_a_passenger_tyre_on_a_truck_counts_less(marked: str, counts: float) -> None:
    tyre = {"load": marked, "kind": "passenger"}
    rig = with_tyres(tyre, {"index": 120, "kind": "light_truck"}, tow={"papers": {"type": "truck"}})
    found = limits(ruled(rig, "us.tyre.passenger", "us-tyres"))
    assert found == pytest.approx({"tow/wheel/1L": counts, "tow/wheel/1R": counts}, abs=0.005)
    assert len(limits(ruled(rig, "us.tyre.load", "us-tyres"))) == 4, "the marked load stays a limit of its own"


def test_who_fits_passenger_tyres_must_say_to_what() -> None:
    tyres = ({"index": 100, "kind": "passenger"}, {"index": 100, "kind": "passenger"})
    found = only(with_tyres(*tyres), "us.tyre.passenger", "us-tyres")
    assert found.needs == ("vehicles.tow.papers.type",)
    found = only(with_tyres(*tyres, tow={"papers": {"type": "passenger_car"}}), "us.tyre.passenger", "us-tyres")
    assert (found.needs, found.note) == ((), "it is a passenger car")
    found = only(with_tyres({"index": 100}, {"index": 100, "kind": "truck"}), "us.tyre.passenger", "us-tyres")
    assert found.needs == ("vehicles.tow.axles[1].tyre.kind", "vehicles.tow.papers.type")


@pytest.mark.parametrize(("divisor", "faults"), [("110 %", 0), ("100 %", 0), ("99 %", 1), ("0 %", 1)])
def test_a_marked_load_is_never_made_larger(divisor: str, faults: int) -> None:
    text = bundled_text("us-tyres").replace('divisor = "110 %"', f'divisor = "{divisor}"')
    try:
        parse_rule_set(text, "mine.toml")
        lines: list[str] = []
    except DayFileError as error:
        lines = error.lines()
    assert len(lines) == faults
    assert all(line.startswith("mine.toml:") and ".divisor: " in line for line in lines)


# -- pressures -------------------------------------------------------------------------------------------------------


def cold(tyre: dict[str, Any], **more: Any) -> Ruling:
    rig = with_tyres(tyre, {"pressure": "50 psi", "measured": "50 psi"}, **more)
    return next(one for one in ruled(rig, "us.tyre.pressure", "us-tyres") if one.subject == "tow/axle/1")


@pytest.mark.parametrize(("load", "left"), [("3195 lb", 75.0), ("4000 lb", 75.0), ("4001 lb", 65.0)])
def test_a_hot_tyre_has_less_when_it_is_cold(load: str, left: float) -> None:
    found = cold({"load": load, "pressure": "70 psi", "measured": "80 psi", "hot": True}).paper
    assert found is not None
    assert found.value == pytest.approx(left * PSI)
    assert found.met is (left >= 70.0)


@pytest.mark.parametrize(("measured", "met"), [("65 psi", True), ("64.9 psi", False), ("448.16 kPa", True)])
def test_the_specified_pressure_is_enough(measured: str, met: bool) -> None:
    found = cold({"pressure": "65 psi", "measured": measured}).paper
    assert found is not None
    assert found.met is met


def test_a_pressure_that_nobody_typed_is_not_looked_up() -> None:
    found = only(with_tyres({"load": "3195 lb", "measured": "80 psi"}, {}), "us.tyre.pressure", "us-tyres")
    assert found.needs == (
        "vehicles.tow.axles[1].tyre.pressure",
        "vehicles.tow.axles[2].tyre.pressure",
        "vehicles.tow.axles[2].tyre.measured",
    )
