"""What is typed into the form of a new rig, as the station reads it whatever the page's script did."""

from __future__ import annotations

import datetime

import pytest

from steelyard.dayfile import parse_day
from steelyard.units import Quantity
from steelyard.web.pages.days.new import AnswersError, day_text

TODAY = datetime.date(2026, 5, 14)
METRIC = {"units": "kg mm", "wheelbase": "3200", "front": "1500", "rear": "1700"}


def test_a_decimal_comma_is_no_factor_of_ten() -> None:
    """2700,5 was stored as 27,005 kg: an overloaded axle would have passed."""
    day = parse_day(day_text({**METRIC, "rear": "2700,5", "gvwr": "3.200,5", "payload": "1 200"}, TODAY), "new")
    assert [axle.rating for axle in day.vehicles["tow"].axles] == [1500.0, 2700.5]
    assert (day.vehicles["tow"].ratings.gvwr, day.vehicles["tow"].ratings.payload) == (3200.5, 1200.0)


def test_a_trailer_has_a_payload_on_its_label_too() -> None:
    """49 CFR 571.110 S4.3.5 asks for it on the label of a recreational trailer (cited from memory)."""
    trailer = {"trailer": "yes", "coupling_x": "4500", "trailer_x": "3800", "trailer_gvwr": "2500"}
    day = parse_day(day_text({**METRIC, **trailer, "trailer_payload": "1.700,5"}, TODAY), "new")
    assert day.vehicles["trailer"].ratings.payload == 1700.5
    with pytest.raises(AnswersError) as refused:
        day_text({**METRIC, **trailer, "trailer_payload": "1,700"}, TODAY)
    assert list(refused.value.faults) == ["trailer_payload"]


def test_a_unit_of_its_own_and_feet_and_inches() -> None:
    day = parse_day(day_text({**METRIC, "wheelbase": "10 ft 6 in", "front": "3300 lb", "rear": "1,7 t"}, TODAY), "new")
    tow = day.vehicles["tow"]
    assert tow.axles[1].x.value == pytest.approx(126 * 0.0254)
    assert [axle.rating for axle in tow.axles] == [pytest.approx(3300 * 0.45359237), 1700.0]


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        (
            "front",
            "2,500",
            'This could be 2500 or 2.5: a comma may group digits or begin the fraction; write "2500" or "2.5".',
        ),
        (
            "front",
            "2.500",
            'This could be 2500 or 2.5: a point may group digits or begin the fraction; write "2500" or "2.5".',
        ),
        ("front", "heavy", "Type a number, or a mass with its unit."),
        ("front", "3200 mm", "Type a number, or a mass with its unit."),
        ("wheelbase", "1,2,3", "Type a number, or a length with its unit."),
        ("wheelbase", "", "This is needed."),
        ("rear", "-5", "Type a number over zero."),
        ("rear", "1700 kg +/- 5 kg", "Type it without an uncertainty; the file takes that afterwards."),
        ("wheelbase", "150", "150 mm fits no vehicle."),
    ],
)
def test_a_field_that_is_asked_or_refused(field: str, typed: str, words: str) -> None:
    with pytest.raises(AnswersError) as refused:
        day_text({**METRIC, field: typed}, TODAY)
    assert refused.value.faults == {field: words}


def test_tyres_duals_a_platform_and_a_hitch_without_a_trailer() -> None:
    """Of a dual wheel end both tyres count: twice 900 kg."""
    typed = {"front_tyre": "1000", "rear_tyre": "900", "dual": "yes", "hitch": "yes", "coupling_x": "4200"}
    more = {"vertical": "140", "platform": "yes", "platform_mass": "25,5"}
    day = parse_day(day_text({**METRIC, **typed, **more}, TODAY), "new")
    tow = day.vehicles["tow"]
    assert [(axle.wheel_rating, axle.dual) for axle in tow.axles] == [(1000.0, False), (1800.0, True)]
    assert (list(day.vehicles), tow.couplings["ball"].vertical) == (["tow"], 140.0)
    deck = day.instruments["platform"]
    assert (deck.kind, deck.capacity, deck.division, deck.mass) == ("platform", 1500.0, 1.0, Quantity(25.5))


def test_a_hitch_without_its_place_is_asked_for_it() -> None:
    with pytest.raises(AnswersError) as refused:
        day_text({**METRIC, "hitch": "yes"}, TODAY)
    assert refused.value.faults == {"coupling_x": "This is needed."}


def test_a_trailer_has_tyres_and_duals_too() -> None:
    trailer = {
        "trailer": "yes",
        "coupling_x": "4500",
        "trailer_x": "3800",
        "trailer_tyre": "850",
        "trailer_dual": "yes",
    }
    axles = parse_day(day_text({**METRIC, **trailer}, TODAY), "new").vehicles["trailer"].axles
    assert [(axle.wheel_rating, axle.dual) for axle in axles] == [(1700.0, True)] * 2
