"""Masses as type-approved, German towed masses and coupling loads: the worked rigs of the sources, and their traps.

Sources: Implementing Regulation (EU) 2021/535, Annex XIII Part 2; StVZO sections 34, 42 and 44. The figures of the two
rigs are worked from these by hand.
"""

from __future__ import annotations

from typing import Any

import pytest

from steelyard.conformity import Sense
from steelyard.requirements import Ruling
from tests.rules.rigs import only, ruled

PAPERS = {"running_order": "1750 kg", "braked": "1800 kg", "unbraked": "750 kg", "coupling": "90 kg"}
CAR: dict[str, Any] = {"class": "M1", "ratings": {"gvwr": "2300 kg", "gcwr": "4100 kg"}, "papers": PAPERS}
CARAVAN: dict[str, Any] = {
    "class": "O2",
    "ratings": {"gvwr": "1800 kg"},
    "papers": {"brakes": "overrun", "coupling": "100 kg"},
}


def rig(tow: dict[str, Any], trailer: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    behind = {} if trailer is None else {"trailer_from": 3, "trailer": trailer}
    count = 2 if trailer is None else 3
    axles = {"axles": ["0 m", "2.8 m", "7.5 m"][:count], "loads": ["1000 kg", "1200 kg", "1500 kg"][:count]}
    return {"axles_with": {"2": {"rating": "1250 kg"}}, "tow": tow} | axles | behind | more


def limits(given: dict[str, Any], rule: str) -> list[float]:
    rule_set = "de-stvzo" if rule.startswith("de.") else "eu-approval"
    found = ruled(given, rule, rule_set)
    return [_limit(item) for item in found if item.requirement is not None or item.paper is not None]


def _limit(ruling: Ruling) -> float:
    if ruling.requirement is not None:
        return ruling.requirement.limit
    assert ruling.paper is not None
    assert ruling.paper.limit is not None
    return ruling.paper.limit


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        ("eu.approval.rear-axle-towing", [1437.5]),
        ("eu.approval.gross-towing", [2400.0]),
        ("eu.approval.towable-braked", [2300.0, 1800.0]),
        ("eu.approval.coupling-capability", [72.0]),
        ("eu.approval.combination", [4100.0]),
        ("eu.approval.front-share-towing", [460.0]),
        ("eu.approval.front-share-solo", []),
    ],
)
def test_the_car_and_its_caravan(rule: str, expected: list[float]) -> None:
    assert limits(rig(CAR, CARAVAN), rule) == pytest.approx(expected)


def test_the_car_alone_and_with_a_trailer_without_brakes() -> None:
    assert limits(rig(CAR), "eu.approval.front-share-solo") == pytest.approx([690.0])
    unbraked = {"papers": {"brakes": "none"}}
    assert limits(rig(CAR, unbraked), "eu.approval.towable-unbraked") == pytest.approx([750.0, 750.0])


def test_the_german_train() -> None:
    tow = {"class": "M1", "ratings": {"gvwr": "2800 kg"}, "papers": {"coupling": "100 kg"}}
    trailer = {"ratings": {"gvwr": "2000 kg"}, "papers": {"coupling": "90 kg"}}
    given = rig(tow, trailer)
    assert limits(given, "de.stvzo.combination") == [4700.0]
    found = only(given, "de.stvzo.coupling-load", "de-stvzo")
    assert found.requirement is not None
    assert found.requirement.curve is not None
    assert found.requirement.curve.finding == "laden/trailer/gross"
    assert [found.requirement.curve.limit(mass) for mass in (500.0, 625.0, 1500.0)] == pytest.approx([20.0, 25.0, 25.0])
    assert found.requirement.sense is Sense.MIN


def test_the_greater_and_the_lesser_of_two_figures_are_not_mixed_up() -> None:
    """4 % of 1,800 kg are 72 kg: the vehicle must be rated for that, and the trailer need not press with over 25 kg."""
    given = rig(CAR, CARAVAN)
    assert limits(given, "eu.approval.coupling-capability") == pytest.approx([72.0])
    assert limits(given, "de.stvzo.coupling-load") == [25.0]
    light = rig({"class": "M1", "papers": {"unbraked": "500 kg", "coupling": "50 kg"}}, CARAVAN)
    assert limits(light, "eu.approval.coupling-capability") == [25.0]


def test_the_towable_mass_leaves_out_the_coupling_load_that_the_german_limit_counts() -> None:
    given = rig(CAR, CARAVAN)
    approval = [item.subject for item in ruled(given, "eu.approval.towable-braked", "eu-approval")]
    assert approval == ["tow", "trailer/axles"]
    assert [item.subject for item in ruled(given, "de.stvzo.trailer-mass", "de-stvzo")] == ["trailer/gross"]


@pytest.mark.parametrize(("mass", "window"), [(3500, "coupling-load"), (3501, "coupling-load-heavy")])
def test_the_coupling_load_goes_by_the_permissible_mass(mass: float, window: str) -> None:
    given = rig(CAR, {"ratings": {"gvwr": f"{mass} kg"}})
    speaking = {
        rule
        for rule in ("coupling-load", "coupling-load-heavy")
        if any(item.requirement for item in ruled(given, f"de.stvzo.{rule}", "de-stvzo"))
    }
    assert speaking == {window}


def test_a_heavy_trailer_presses_within_a_window() -> None:
    low, high = ruled(rig(CAR, {"ratings": {"gvwr": "18 t"}}), "de.stvzo.coupling-load-heavy", "de-stvzo")
    for ruling, sense, expected in (
        (low, Sense.MIN, (200.0, 500.0, 500.0)),
        (high, Sense.MAX, (750.0, 1875.0, 2000.0)),
    ):
        assert ruling.requirement is not None
        assert ruling.requirement.curve is not None
        assert ruling.requirement.sense is sense
        assert [ruling.requirement.curve.limit(mass) for mass in (5000.0, 12500.0, 14000.0)] == pytest.approx(expected)


@pytest.mark.parametrize("kind", ["fifth_wheel", "gooseneck"])
def test_a_semi_trailer_has_no_german_least_on_its_coupling(kind: str) -> None:
    given = rig(CAR, CARAVAN, coupling={"type": kind})
    for rule in ("coupling-load", "coupling-load-heavy", "coupling-plates"):
        assert all(item.requirement is None for item in ruled(given, f"de.stvzo.{rule}", "de-stvzo"))


@pytest.mark.parametrize(
    ("off_road", "figure", "limit"), [(False, 2500, 2300.0), (True, 2500, 2500.0), (True, 3500, 3450.0)]
)
def test_an_off_road_vehicle_may_tow_half_as_much_again(off_road: bool, figure: float, limit: float) -> None:
    tow = CAR | {"papers": {"braked": f"{figure} kg", "off_road": off_road}}
    (weighed,) = [one for one in ruled(rig(tow, CARAVAN), "de.stvzo.towed-braked", "de-stvzo") if one.requirement]
    assert weighed.requirement is not None
    assert weighed.requirement.limit == pytest.approx(limit)


@pytest.mark.parametrize(
    ("vehicle", "mass", "met"),
    [
        ("N1", 3500, True),
        ("N1", 3501, False),
        ("N2", 3500, False),
        ("N2", 3501, True),
        ("N2", 12000, True),
        ("N3", 12000, False),
        ("N3", 12001, True),
        ("M2", 5000, True),
        ("M3", 5000, False),
        ("M3", 5001, True),
    ],
)
def test_the_class_goes_by_the_permissible_mass(vehicle: str, mass: float, met: bool) -> None:
    found = only(rig({"class": vehicle, "ratings": {"gvwr": f"{mass} kg"}}), "eu.approval.class", "eu-approval")
    assert found.paper is not None
    assert found.paper.met is met


@pytest.mark.parametrize(
    ("vehicle", "mass", "met"),
    [
        ("O1", 800, True),
        ("O1", 801, False),
        ("O2", 800, False),
        ("O2", 3550, True),
        ("O3", 3550, False),
        ("O4", 10051, True),
    ],
)
def test_the_class_of_a_trailer_leaves_its_coupling_out(vehicle: str, mass: float, met: bool) -> None:
    """With 50 kg on the coupling."""
    trailer = {"class": vehicle, "ratings": {"gvwr": f"{mass} kg"}, "papers": {"coupling": "50 kg"}}
    (found,) = [one for one in ruled(rig(CAR, trailer), "eu.approval.class", "eu-approval") if one.subject == "trailer"]
    assert found.paper is not None
    assert found.paper.met is met


def test_conditions_of_approval_say_that_they_are() -> None:
    given = rig(CAR, CARAVAN)
    labels = [item.label for item in ruled(given, "eu.approval.gross-towing", "eu-approval")]
    assert all("as type-approved" in label for label in labels)
    assert labels


@pytest.mark.parametrize(
    ("rule", "needs"),
    [
        ("eu.approval.gross-towing", ("vehicles.tow.ratings.gvwr",)),
        ("eu.approval.coupling-capability", ("vehicles.tow.papers.coupling", "vehicles.tow.papers.braked")),
        ("de.stvzo.towed-unbraked", ("vehicles.trailer.papers.brakes", "vehicles.tow.unloaded")),
        ("de.stvzo.coupling-load", ("vehicles.trailer.ratings.gvwr",)),
        (
            "de.stvzo.combination",
            (
                "vehicles.tow.ratings.gvwr",
                "vehicles.trailer.ratings.gvwr",
                "vehicles.tow.papers.coupling",
                "vehicles.trailer.papers.coupling",
            ),
        ),
    ],
)
def test_the_values_that_are_missing_are_named(rule: str, needs: tuple[str, ...]) -> None:
    rule_set = "de-stvzo" if rule.startswith("de.") else "eu-approval"
    assert only(rig({"class": "M1"}, {}), rule, rule_set).needs == needs
