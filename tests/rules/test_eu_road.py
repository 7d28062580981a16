"""Axle groups, gross weights and the driving axles of heavy vehicles, at both sides of every edge.

Source: Directive 96/53/EC, Annex I, as read in StVZO section 34 and UK SI 1998/3111.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from steelyard.conformity import Outcome
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.requirements import Ruling
from tests.rules.rigs import only, ruled
from tests.rules.sample_days import day_text

REAR = {"driven": True}


def trailer(*gaps: float, vehicle: str = "O4", coupling: str = "ball", **more: Any) -> dict[str, Any]:
    places = [0.0, 3.6, 9.0]
    for gap in gaps:
        places.append(places[-1] + gap)
    return rig(places, trailer_from=3, trailer={"class": vehicle}, coupling={"type": coupling}, **more)


def motor(*gaps: float, rear: Sequence[dict[str, Any]] = (), vehicle: str = "N3", **more: Any) -> dict[str, Any]:
    places = [0.0]
    for gap in gaps:
        places.append(places[-1] + gap)
    with_ = {str(len(places) - len(rear) + 1 + at): keys for at, keys in enumerate(rear)}
    return rig(places, tow={"class": vehicle}, axles_with=with_, **more)


def rig(places: Sequence[float], **more: Any) -> dict[str, Any]:
    given = {"axles": [f"{place:.6f} m" for place in places], "loads": ["5000 kg"] * len(places)}
    return given | {"tow": {"class": "N3"}, "axles_with": {"2": REAR}} | more


def limit(given: dict[str, Any], rule: str, rule_set: str = "eu-road") -> float:
    ruling = only(given, rule, rule_set)
    assert ruling.requirement is not None, ruling.note
    return ruling.requirement.limit


@pytest.mark.parametrize(
    ("apart", "tonnes"),
    [(0.99, 11), (1.0, 16), (1.29, 16), (1.3, 18), (1.79, 18), (1.8, 20), (2.5, 20)],
)
@pytest.mark.parametrize(("rule", "rule_set"), [("eu.road", "eu-road"), ("de.stvzo", "de-stvzo")])
def test_the_tandem_of_a_trailer(apart: float, tonnes: float, rule: str, rule_set: str) -> None:
    assert limit(trailer(apart), f"{rule}.tandem-trailer", rule_set) == tonnes * 1000.0


@pytest.mark.parametrize(
    ("apart", "tonnes"), [(0.99, 11.5), (1.0, 16), (1.29, 16), (1.3, 18), (1.79, 18), (1.8, None), (3.0, None)]
)
def test_the_tandem_of_a_motor_vehicle(apart: float, tonnes: float | None) -> None:
    found = ruled(motor(4.0, apart, rear=[REAR, {}]), "eu.road.tandem-motor", "eu-road")
    assert [item.requirement.limit for item in found if item.requirement] == ([] if tonnes is None else [tonnes * 1000])
    singles = [item.subject for item in ruled(motor(4.0, apart, rear=[REAR, {}]), "eu.road.axle-single", "eu-road")]
    assert singles == ["tow/axle/1"] + ([] if tonnes is not None else ["tow/axle/2", "tow/axle/3"])


@pytest.mark.parametrize(
    ("first", "second", "tonnes"),
    [(1.2, 1.2, 21), (1.3, 1.3, 21), (1.301, 1.301, 24), (1.4, 1.4, 24), (1.3, 1.4, 21), (1.4, 1.31, 24)],
)
def test_the_triple(first: float, second: float, tonnes: float) -> None:
    given = trailer(first, second)
    assert limit(given, "eu.road.triple") == tonnes * 1000.0
    assert ruled(given, "eu.road.tandem-trailer", "eu-road") == []


def test_three_axles_too_far_apart_are_two_pairs() -> None:
    given = trailer(1.401, 1.401)
    assert ruled(given, "eu.road.triple", "eu-road") == []
    pairs = ruled(given, "eu.road.tandem-trailer", "eu-road")
    assert [(item.subject, item.requirement and item.requirement.limit) for item in pairs] == [
        ("combination/axles/3-4", 18000.0),
        ("combination/axles/4-5", 18000.0),
    ]


AIR, TWIN = {"driven": True, "dual": True, "air": True}, {"driven": True, "dual": True}
LIGHT, HEAVY = {"rating": "9500 kg"}, {"rating": "9501 kg"}


@pytest.mark.parametrize(
    ("rear", "tonnes"),
    [
        ([AIR, {}], 19),
        ([AIR, AIR], 19),
        ([AIR, {**TWIN, "air": False}], 18),
        ([{"driven": True, "air": True}, {}], 18),
        ([{**TWIN, "air": False, **LIGHT}, {**TWIN, "air": False, **LIGHT}], 19),
        ([{**TWIN, "air": False, **LIGHT}, {**TWIN, "air": False, **HEAVY}], 18),
        ([{**TWIN, **LIGHT}, {**TWIN, **LIGHT}], 19),
        ([{**TWIN, **LIGHT}, {}], None),
    ],
)
def test_twin_tyres_and_air_raise_the_tandem(rear: list[dict[str, Any]], tonnes: float | None) -> None:
    found = only(motor(4.0, 1.4, rear=rear), "eu.road.tandem-motor", "eu-road")
    if tonnes is None:
        assert found.needs == ("vehicles.tow.axles[2].air",)
    else:
        assert found.requirement is not None
        assert found.requirement.limit == tonnes * 1000.0


@pytest.mark.parametrize(
    ("given", "subject", "tonnes"),
    [
        (motor(4.0, rear=[REAR]), "tow/gross", 18),
        (motor(4.0, 1.3, rear=[REAR, {}]), "tow/gross", 25),
        (motor(4.0, 1.3, rear=[AIR, {}]), "tow/gross", 26),
        (motor(1.9, 3.0, 1.35, rear=[{"steered": True}, REAR, {}]), "tow/gross", 32),
        (trailer(1.3), "trailer/gross", 18),
        (trailer(1.3, 1.3), "trailer/gross", 24),
        (trailer(1.3), "combination/gross", 36),
        (trailer(1.3, 1.3), "combination/gross", 40),
    ],
)
def test_the_gross_weight_goes_by_the_axles(given: dict[str, Any], subject: str, tonnes: float) -> None:
    found = [item for item in ruled(given, "eu.road.gross", "eu-road") if item.subject == subject]
    assert [item.requirement and item.requirement.limit for item in found] == [tonnes * 1000.0]


def test_a_combination_of_three_axles_has_a_german_limit_alone() -> None:
    def limits(rule: str, rule_set: str) -> list[float]:
        found = ruled(trailer(), rule, rule_set)
        return [item.requirement.limit for item in found if item.requirement and item.subject == "combination/gross"]

    assert limits("de.stvzo.gross", "de-stvzo") == [28000.0]
    assert limits("eu.road.gross", "eu-road") == []


def test_a_semi_trailer_has_no_gross_of_its_own() -> None:
    found = ruled(trailer(1.3, 1.3, coupling="fifth_wheel"), "eu.road.gross", "eu-road")
    (own,) = [item for item in found if item.subject == "trailer"]
    assert (own.requirement, own.note) == (None, "a semi-trailer is judged by its axles and with its combination")


def test_only_neighbouring_driving_axles_are_added_up() -> None:
    apart = motor(1.5, 3.0, 1.35, rear=[{"driven": True}, {"driven": False}, {"driven": True}])
    assert only(apart, "eu.road.drive-axle-share", "eu-road").requirement is None
    both = motor(4.0, 1.35, rear=[REAR, REAR])
    assert only(both, "eu.road.drive-axle-share", "eu-road").subject == "tow/axles/2-3"


@pytest.mark.parametrize("vehicle", ["M1", "N1"])
def test_a_light_vehicle_is_not_meant(vehicle: str) -> None:
    """The trap of the Directive: it is for heavy classes, and a light rig is left alone with the reason."""
    for rule in ("axle-single", "gross", "drive-axle-share"):
        found = ruled(motor(3.0, vehicle=vehicle), f"eu.road.{rule}", "eu-road")
        assert all(item.requirement is None and item.note.startswith(f"class {vehicle}: ") for item in found)
        assert found


def test_a_class_that_is_not_said_is_named() -> None:
    given = rig([0.0, 3.6, 9.0, 10.3], trailer_from=3, tow={}, trailer={})
    needs = {key for rule in ("axle-single", "tandem-trailer", "gross") for key in _needs(given, rule)}
    assert needs == {"vehicles.tow.class", "vehicles.trailer.class"}


def _needs(given: dict[str, Any], rule: str) -> list[str]:
    return [key for item in ruled(given, f"eu.road.{rule}", "eu-road") for key in item.needs]


def test_a_car_in_germany_need_not_say_which_axle_drives() -> None:
    given = motor(2.8) | {"tow": {"class": "M1", "ratings": {"gvwr": "2300 kg"}}, "axles_with": {}}
    found: Ruling = only(given, "de.stvzo.axle-single", "de-stvzo")
    assert (found.needs, found.note) == ((), "its permissible mass is under every limit of the rule")


def test_nor_need_a_motor_caravan_with_three_axles() -> None:
    given = rig([0.0, 4.0, 4.9], axles_with={}, tow={"class": "M1", "ratings": {"gvwr": "5 t"}})
    for rule in ("axle-single", "tandem-motor", "gross"):
        found = only(given, f"de.stvzo.{rule}", "de-stvzo")
        assert (found.requirement, found.needs) == (None, ())
    heavy = given | {"tow": {"class": "M1", "ratings": {"gvwr": "26 t"}}}
    assert len(only(heavy, "de.stvzo.gross", "de-stvzo").needs) == 3


def test_near_an_edge_two_limits_are_possible() -> None:
    """A tandem of 17 t taped at 1.3 m to 5 mm: 18 t with half the probability, 16 t with the other half."""
    given = trailer(1.3, loads=["7 t", "10 t", "8.5 t", "8.5 t"], rules={"apply": ["eu-road"]})
    text = day_text(given)
    place = "4.0 m +/- 0 mm"  # the trailer's second axle, from its coupling point
    assert text.count(place) == 1
    findings = weigh(parse_day(text.replace(place, "4.0 m +/- 5 mm"), "edge.toml"))
    (verdict,) = [one for one in findings.verdicts if one.id.endswith(":eu.road.tandem-trailer")]
    assert verdict.outcome is Outcome.UNDECIDED
    assert verdict.probability == pytest.approx(0.5, abs=1e-3)


@pytest.mark.parametrize("taped", ["5 mm", "50 mm", "300 mm"])
@pytest.mark.parametrize("apart", [1.5, 1.79, 1.81, 1.9, 2.0, 2.6])
@pytest.mark.parametrize("rear", [True, False])
def test_a_limit_that_is_not_kept_is_never_called_kept_for_the_doubt_of_the_tape(
    taped: str, apart: float, rear: bool
) -> None:
    """Two axles of 40 t each are too heavy as a tandem and as single axles, however far apart they are."""
    places = [0.0, 4.0, 4.0 + apart] if rear else [0.0, apart, apart + 4.0]
    loads = ["5 t", "40 t", "40 t"] if rear else ["40 t", "40 t", "5 t"]
    given = rig(places, loads=loads, taped=taped, rules={"apply": ["eu-road"]}, tow={"class": "N3"})
    given["axles_with"] = {"2": {"driven": True, "dual": False}}
    verdicts = weigh(parse_day(day_text(given), "tape.toml")).verdicts
    rules = ("axle-single", "tandem-motor", "triple")
    heavy = [one for one in verdicts if (one.value or 0.0) > 39e3 and one.id.endswith(rules)]
    assert {one.outcome for one in heavy} & {Outcome.OUTSIDE, Outcome.UNDECIDED}
    assert not [one.id for one in heavy if one.outcome is Outcome.WITHIN]
