"""The label: GVWR by its own figures, seats, what is aboard, and the roof.

Sources: 49 CFR 567.4(g)(3) and 571.110 S3 by the agency's interpretations 10673 and aiam0613; 150 lb an occupant.
"""

from __future__ import annotations

from typing import Any

import pytest

from steelyard.requirements import Ruling
from tests.rules.rigs import only, ruled

TWO = {"axles": ["0 in", "130 in"], "loads": ["3000 lb", "3000 lb"]}
TRAILER = {"axles": ["160 in"], "loads": ["3500 lb"], "trailer_from": 1, "coupling_load": "400 lb"}
LB = 0.45359237


def of(rule: str, rig: dict[str, Any] | None = None, **tow: Any) -> Ruling:
    return only({**TWO, "tow": tow} if rig is None else rig, f"us.label.{rule}", "us-label")


@pytest.mark.parametrize(("gvwr", "met"), [("7000 lb", True), ("6999.9 lb", False), ("3175.1466 kg", True)])
def test_a_gvwr_covers_what_it_must(gvwr: str, met: bool) -> None:
    found = of("gvwr", ratings={"gvwr": gvwr, "payload": "1500 lb"}, unloaded={"mass": "5500 lb"}).paper
    assert found is not None
    assert found.met is met
    assert found.limit == pytest.approx(7000 * LB)


def test_seats_stand_in_for_a_payload_that_is_not_given() -> None:
    found = of("gvwr", ratings={"gvwr": "6000 lb"}, unloaded={"mass": "5500 lb"}, papers={"seats": 4})
    assert found.paper is not None
    assert (found.paper.met, found.note) == (False, "the label's payload is not given: the occupants alone are counted")


@pytest.mark.parametrize(("rating", "over"), [("3500 lb", False), ("3499 lb", True)])
def test_the_sum_of_the_axles_is_said_and_held_against_nobody(rating: str, over: bool) -> None:
    rig = {**TWO, "axle": {"rating": rating}, "tow": {"ratings": {"gvwr": "7000 lb"}}}
    found = of("axles", rig).paper
    assert found is not None
    assert found.met is None
    assert found.answer.startswith("the GVWR is over") is over


def test_a_trailer_may_be_rated_over_its_axles_for_its_coupling_carries_a_part() -> None:
    rig = {**TRAILER, "axle": {"rating": "3500 lb"}, "trailer": {"ratings": {"gvwr": "4000 lb"}}}
    assert of("axles", rig).note == "the coupling carries part of a trailer"


@pytest.mark.parametrize(("seats", "met"), [(5, True), (6, False), (0, True)])
def test_a_payload_has_room_for_everybody(seats: int, met: bool) -> None:
    found = of("seats", ratings={"payload": "750 lb"}, papers={"seats": seats}).paper
    assert found is not None
    assert found.met is met


def test_a_trailer_has_no_seats() -> None:
    assert of("seats", TRAILER).note == "a trailer has no seats"


def test_what_is_missing_is_named() -> None:
    assert of("gvwr").needs == ("vehicles.tow.ratings.gvwr", "vehicles.tow.unloaded", "vehicles.tow.ratings.payload")
    assert of("axles").needs[0] == "vehicles.tow.ratings.gvwr"
    assert of("axles").needs[1:] == ("vehicles.tow.axles[1].rating", "vehicles.tow.axles[2].rating")
    assert of("seats").needs == ("vehicles.tow.ratings.payload", "vehicles.tow.papers.seats")
    assert of("payload").needs == ("vehicles.tow.ratings.payload", "vehicles.tow.unloaded")
    assert of("payload", ratings={"gvwr": "7000 lb"}).needs == ("vehicles.tow.ratings.payload",)


def test_aboard_is_what_was_weighed_less_what_is_unloaded() -> None:
    found = of("payload", ratings={"payload": "1500 lb", "gvwr": "7000 lb"}).requirement
    assert found is not None
    assert (found.finding, found.id) == ("laden/tow/payload", "laden/tow/payload:us.label.payload")


# -- the roof --------------------------------------------------------------------------------------------------------


def roof(cargo: dict[str, Any], most: str | None = "165 lb", memory: bool = True) -> list[Ruling]:
    tow = {"tow": {"papers": {"roof": most}}} if most else {}
    aboard = {name: {"on": "tow", "x": "60 in", **item} for name, item in cargo.items()}
    rig = {**TWO, **tow, **({"cargo": aboard} if aboard else {}), "rules": {"from_memory": memory}}
    return ruled(rig, "us.label.roof", "us-label")


@pytest.mark.parametrize(("second", "met"), [("65 lb", True), ("66 lb", False)])
def test_everything_on_the_roof_counts_together_and_nothing_else(second: str, met: bool) -> None:
    box, rack = {"mass": "100 lb", "roof": True}, {"mass": second, "roof": True}
    (found,) = roof({"box": box, "rack": rack, "tools": {"mass": "400 lb"}})
    assert found.paper is not None
    assert found.paper.met is met


def test_a_roof_that_nobody_loads_or_rates() -> None:
    (found,) = roof({}, most=None)
    assert found.note == "nothing is said to lie on its roof"
    (found,) = roof({"box": {"roof": True}}, most=None)
    assert found.needs == ("vehicles.tow.papers.roof", "cargo.box.mass")


def test_the_roof_is_from_memory_and_judged_only_where_that_is_asked_for() -> None:
    assert roof({"box": {"mass": "100 lb", "roof": True}}, memory=False) == []
