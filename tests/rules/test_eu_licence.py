"""The EU licence categories, both sides of every threshold.

Source: Directive 2006/126/EC, Article 4(4), as quoted by driving schools; the sum for C1E is from memory.
"""

from __future__ import annotations

from typing import Any

import pytest

from steelyard.requirements import Ruling
from tests.rules.rigs import only

CASES = [
    (2200, 1300, "B"),
    (2400, 1300, "B96"),
    (3500, None, "B"),
    (3500, 750, "B"),
    (3500, 751, "BE"),
    (3499, 751, "B96"),
    (2750, 750, "B"),
    (2749, 751, "B"),
    (2750, 751, "B96"),
    (2200, 2050, "B96"),
    (2200, 2051, "BE"),
    (2900, 1800, "BE"),
    (3500, 3500, "BE"),
    (3500, 3501, "C1E"),
    (3500, 4000, "C1E"),
    (3501, None, "C1"),
    (3501, 750, "C1"),
    (3501, 751, "C1E"),
    (7500, 750, "C1"),
    (7500, 4500, "C1E"),
    (7501, None, "beyond C1E"),
    (7501, 751, "beyond C1E"),
]


def licence(
    vehicle: float, trailer: float | None, *held: str, memory: bool = False, tow: dict[str, Any] | None = None
) -> Ruling:
    given = {
        "axles": ["0 m", "3 m"] + ([] if trailer is None else ["7 m"]),
        "loads": ["1000 kg", "1000 kg"] + ([] if trailer is None else ["500 kg"]),
        "tow": {"ratings": {"gvwr": f"{vehicle} kg"}, **({"class": "N2"} if tow is None else tow)},
        "rules": {"from_memory": memory, **({"licence": list(held)} if held else {})},
    }
    if trailer is not None:
        given |= {"trailer_from": 3, "trailer": {"ratings": {"gvwr": f"{trailer} kg"}}}
    return only(given, "eu.licence.c1e-sum" if memory else "eu.licence.category", "eu-licence")


@pytest.mark.parametrize(("vehicle", "trailer", "needed"), CASES)
def test_the_category_that_is_needed(vehicle: float, trailer: float | None, needed: str) -> None:
    found = licence(vehicle, trailer)
    assert found.paper is not None
    assert (found.paper.answer, found.paper.met, found.paper.value) == (needed, None, None)


@pytest.mark.parametrize(
    ("held", "met"),
    [
        (("B",), False),
        (("B96",), False),
        (("be",), True),
        (("B", "B E"), True),
        (("C1E",), None),
        (("CE",), None),
        (("B", "C1E"), None),
    ],
)
def test_the_licence_that_is_held(held: tuple[str, ...], met: bool | None) -> None:
    found = licence(2900, 1800, *held)
    assert found.paper is not None
    assert found.paper.met is met


def test_a_larger_category_covers_a_smaller_rig() -> None:
    """A car with a light trailer falls into the bounds of B, of B96 and of BE."""
    for held in ("B", "B96", "BE"):
        found = licence(2200, 700, held)
        assert found.paper is not None
        assert found.paper.met is True


@pytest.mark.parametrize(
    ("vehicle", "trailer", "held", "met"),
    [
        (2000, 1500, "C1E", None),
        (3600, None, "C1E", None),
        (3600, None, "BE", False),
        (3600, 800, "C1", False),
        (7501, None, "B", False),
        (7501, None, "C", None),
    ],
)
def test_a_smaller_category_does_not_cover_it_and_a_larger_one_is_not_held_against_the_driver(
    vehicle: float, trailer: float | None, held: str, met: bool | None
) -> None:
    """That C1E covers BE, and is given only to holders of B, is from memory: Directive 2006/126/EC, Article 6."""
    found = licence(vehicle, trailer, held)
    assert found.paper is not None
    assert found.paper.met is met
    assert (f"whether {held} covers it, the rule does not say" in found.note) is (met is None)


def test_what_c1e_is_said_to_cover_names_the_limit_that_is_left_out() -> None:
    for vehicle, trailer in ((7500, 8501), (3500, 9000)):
        assert "the limit on their sum is a rule of its own, from memory" in licence(vehicle, trailer, "C1E").note


@pytest.mark.parametrize(("trailer", "answer"), [(4500, "C1E"), (4501, "beyond C1E")])
def test_the_sum_for_c1e_is_from_memory(trailer: float, answer: str) -> None:
    found = licence(7500, trailer, memory=True)
    assert found.paper is not None
    assert found.paper.answer == answer
    assert "from memory" in found.rule.grade.words


def test_the_sum_for_c1e_is_silent_below_it() -> None:
    found = licence(3500, 3500, memory=True)
    assert found.paper is None
    assert found.note == "C1E is not needed"


def test_missing_values_are_named() -> None:
    rig = {"axles": ["0 m", "3 m", "7 m"], "loads": ["1000 kg"] * 3, "trailer_from": 3, "tow": {"class": "M1"}}
    found = only(rig, "eu.licence.category", "eu-licence")
    assert found.needs == ("vehicles.tow.ratings.gvwr", "vehicles.trailer.ratings.gvwr")
    assert licence(2000, 700, tow={}).needs == ("vehicles.tow.class",)


def test_seats_tell_who_may_be_carried() -> None:
    assert licence(3000, None, tow={"papers": {"seats": 9}}).paper is not None
    found = licence(3000, None, tow={"papers": {"seats": 10}})
    assert found.paper is None
    assert found.note == "it carries more than 8 passengers: the rule is for fewer"


def test_a_class_of_buses_is_not_in_the_table() -> None:
    assert licence(3000, None, tow={"class": "M2"}).paper is None


def test_a_trailer_that_stands_alone_needs_no_driver() -> None:
    found = only({"axles": ["4 m"], "loads": ["500 kg"], "trailer_from": 1}, "eu.licence.category", "eu-licence")
    assert (found.paper, found.needs, found.note) == (None, (), "a trailer that stands alone needs no driver")
