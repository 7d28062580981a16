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
    trailer = {"stands": "ball", "coupling_x": "4500", "trailer_x": "3800", "trailer_gvwr": "2500"}
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
        (
            "wheelbase",
            "150",
            "150 mm is not a wheelbase, which has 1,000 to 12,000 mm. Is it 150 cm or 150 in? Type it with the unit.",
        ),
    ],
)
def test_a_field_that_is_asked_or_refused(field: str, typed: str, words: str) -> None:
    with pytest.raises(AnswersError) as refused:
        day_text({**METRIC, field: typed}, TODAY)
    assert refused.value.faults == {field: words}


def test_tyres_duals_a_platform_and_a_hitch_without_a_trailer() -> None:
    """Of a dual wheel end both tyres count: twice 900 kg."""
    typed = {"front_tyre": "1000", "rear_tyre": "900", "dual": "yes", "stands": "hitch", "coupling_x": "4200"}
    more = {"vertical": "140", "platform": "yes", "platform_mass": "25,5"}
    day = parse_day(day_text({**METRIC, **typed, **more}, TODAY), "new")
    tow = day.vehicles["tow"]
    assert [(axle.wheel_rating, axle.dual) for axle in tow.axles] == [(1000.0, False), (1800.0, True)]
    assert (list(day.vehicles), tow.couplings["ball"].vertical) == (["tow"], 140.0)
    deck = day.instruments["platform"]
    assert (deck.kind, deck.capacity, deck.division, deck.mass) == ("platform", 1500.0, 1.0, Quantity(25.5))


def test_a_hitch_without_its_place_is_asked_for_it() -> None:
    with pytest.raises(AnswersError) as refused:
        day_text({**METRIC, "stands": "hitch"}, TODAY)
    assert refused.value.faults == {"coupling_x": "This is needed."}


def test_a_trailer_has_tyres_and_duals_too() -> None:
    trailer = {
        "stands": "ball",
        "coupling_x": "4500",
        "trailer_x": "3800",
        "trailer_tyre": "850",
        "trailer_dual": "yes",
    }
    axles = parse_day(day_text({**METRIC, **trailer}, TODAY), "new").vehicles["trailer"].axles
    assert [(axle.wheel_rating, axle.dual) for axle in axles] == [(1700.0, True)] * 2


def test_a_trailer_stands_alone_on_its_wheels_and_a_stand() -> None:
    typed = {
        "units": "lb in",
        "stands": "trailer",
        "trailer_x": "172",
        "trailer_axles": "1",
        "trailer_name": "Hay wagon",
    }
    day = parse_day(day_text(typed, TODAY), "new")
    assert (list(day.vehicles), list(day.states)) == (["hay_wagon"], ["alone"])
    assert day.vehicles["hay_wagon"].axles[0].x.value == pytest.approx(172 * 0.0254)
    assert day.title == "Hay wagon, 14 May 2026"


@pytest.mark.parametrize(
    ("said", "words", "surface"),
    [("", "", ""), ("gravel", "", "gravel"), ("other", "packed snow", "packed snow"), ("marble", "", "")],
)
def test_the_ground_is_what_was_said_or_not_said(said: str, words: str, surface: str) -> None:
    """Nobody's gravel is taken for concrete, whose unevenness is less than half as much."""
    text = day_text({**METRIC, "surface": said, "surface_words": words, "place": "behind the mill"}, TODAY)
    site = parse_day(text, "new").site
    assert (site.surface, site.name) == (surface, "behind the mill")


NAMES = (
    "Big blue",
    "\N{TRACTOR}\N{FIRE}",
    "\u0627\u0644\u0634\u0627\u062d\u0646\u0629",
    'He said "no"\\',
    "cargo",
    "x" * 200,
    "7",
    "-",
)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_free_text_and_the_file_has_an_id_of_its_own(name: str) -> None:
    typed = {**METRIC, "stands": "ball", "coupling_x": "4500", "trailer_x": "3800", "name": name, "trailer_name": name}
    vehicles = parse_day(day_text(typed, TODAY), "new").vehicles
    assert [vehicle.name for vehicle in vehicles.values()] == [name, name]
    assert len(vehicles) == 2
    assert all(len(key) <= 40 for key in vehicles)


def test_a_name_of_more_letters_than_there_is_room_for_is_said_not_cut() -> None:
    with pytest.raises(AnswersError) as refused:
        day_text({**METRIC, "name": "x" * 201}, TODAY)
    assert refused.value.faults == {"name": "This has 201 letters; there is room for 200."}


def test_pads_of_the_yard_and_others_besides() -> None:
    block = '[instruments.p1]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "10 lb"\nserial = "0042"\n'
    yard = {"p1": block, "p2": block.replace("p1", "p2")}
    day = parse_day(day_text({**METRIC, "instrument.p1": "yes", "pads": "2", "platform": "yes"}, TODAY, yard), "new")
    assert list(day.instruments) == ["p1", "p2", "p3", "platform"]
    assert (day.instruments["p1"].serial, day.instruments["p2"].division) == ("0042", 10.0)
    assert list(parse_day(day_text({**METRIC, "instrument.p2": "yes"}, TODAY, yard), "new").instruments) == ["p2"]
    with pytest.raises(AnswersError, match="Nothing can be weighed without a pad"):
        day_text(METRIC, TODAY, yard)
