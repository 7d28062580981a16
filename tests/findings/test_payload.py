"""The payload on a label is judged: what is aboard, against what the label allows.

Sources: 49 CFR 567.4(g)(3) and 571.110 S4.3 (the combined weight of occupants and cargo); the rest is arithmetic.
"""

from __future__ import annotations

import json
import math

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, solve, weigh
from steelyard.loading import Scenario
from steelyard.model import Cargo
from steelyard.questions.findings import findings_data, findings_schema
from steelyard.units import Dimension, Quantity

POUND = 0.45359237

DAY = """
format = 1
[instruments.deck]
kind = "platform"
capacity = "40000 lb"
division = "2 lb"
span_uncertainty = "0 %"
[vehicles.tow]
role = "towing"
ratings = {{ {ratings} }}
{unloaded}
[[vehicles.tow.axles]]
x = "0 in"
track = "68 in"
[[vehicles.tow.axles]]
x = "150 in"
track = "68 in"
[vehicles.tow.couplings.ball]
type = "ball"
x = "200 in"
[vehicles.box]
role = "trailer"
[[vehicles.box.axles]]
x = "150 in"
track = "72 in"
[states.solo]
vehicles = ["tow"]
[states.hitched]
vehicles = ["tow", "box"]
couple = {{ towing = "tow", at = "ball", trailer = "box" }}
[[drafts]]
state = "solo"
readings = {{ "tow" = ["deck", {solo}] }}
[[drafts]]
state = "hitched"
readings = {{ "tow" = ["deck", {hitched}] }}
"""


def day_of(*, ratings: str, unloaded: str = "", solo: int = 6000, hitched: int = 6600) -> Findings:
    return weigh(parse_day(DAY.format(ratings=ratings, unloaded=unloaded, solo=solo, hitched=hitched), "day"))


def verdict(found: Findings, state: str):
    return next(item for item in found.verdicts if item.id == f"{state}/tow/payload:payload")


def test_what_is_aboard_is_the_gross_less_the_unloaded_mass() -> None:
    """5,200 lb empty: 800 lb of people and cargo alone, and 600 lb of tongue load more when hitched."""
    found = day_of(ratings='gvwr = "7000 lb", payload = "1500 lb"', unloaded='unloaded = { mass = "5200 lb" }')
    aboard = [found.by_id[f"{state}/tow/payload"].value for state in ("solo", "hitched")]
    assert [round(value / POUND, 6) for value in aboard if value is not None] == [800.0, 1400.0]
    hitched = verdict(found, "hitched")
    assert hitched.limit == pytest.approx(1500 * POUND)
    assert hitched.margin == pytest.approx(100 * POUND)
    assert hitched.outcome == "within"


def test_without_an_unloaded_mass_the_label_itself_says_what_the_empty_vehicle_weighs() -> None:
    """GVWR less payload: what is left of the one is what is left of the other."""
    found = day_of(ratings='gvwr = "7000 lb", payload = "1500 lb"')
    for state, left in (("solo", 1000.0), ("hitched", 400.0)):
        one = next(item for item in found.verdicts if item.id == f"{state}/tow/gross:gvwr")
        other = verdict(found, state)
        assert other.margin == pytest.approx(left * POUND)
        assert (other.margin, other.u, other.probability) == pytest.approx((one.margin, one.u, one.probability))


def test_over_its_payload_though_under_its_gvwr() -> None:
    found = day_of(ratings='gvwr = "7000 lb", payload = "1300 lb"', unloaded='unloaded = { mass = "5200 lb" }')
    assert verdict(found, "solo").outcome == "within"
    assert verdict(found, "hitched").outcome == "outside"
    assert verdict(found, "hitched").advice.startswith("over by 100 lb; ")


def test_the_doubt_of_the_unloaded_mass_is_in_what_is_aboard() -> None:
    sure, unsure = (
        day_of(ratings='payload = "1450 lb"', unloaded=f'unloaded = {{ mass = "5200 lb +/- {u} lb" }}') for u in (0, 40)
    )
    one, other = (found.by_id["hitched/tow/payload"].u or 0.0 for found in (sure, unsure))
    assert other == pytest.approx(math.hypot(one, 40 * POUND), rel=1e-9)
    assert (verdict(sure, "hitched").outcome, verdict(unsure, "hitched").outcome) == ("within", "undecided")
    gross = [found.by_id["hitched/tow/gross"].u for found in (sure, unsure)]
    assert gross[0] == pytest.approx(gross[1], rel=1e-12)


def test_a_payload_alone_is_not_judged_and_it_is_said_what_is_missing() -> None:
    found = day_of(ratings='payload = "1500 lb"')
    assert found.by_id["solo/tow/payload"].value is None
    assert (verdict(found, "solo").outcome, verdict(found, "solo").probability) == (None, None)
    told = next(text for text in found.cautions if "payload" in text)
    assert told == (
        "tow: its payload is not judged, for what it weighs with nothing aboard is not known: state its gvwr beside "
        "the payload, or its unloaded mass."
    )


def test_less_than_nothing_aboard_is_said() -> None:
    found = day_of(ratings='payload = "1500 lb"', unloaded='unloaded = { mass = "6200 lb" }')
    told = next(text for text in found.cautions if text.startswith("solo: tow payload aboard: "))
    assert told == (
        "solo: tow payload aboard: \N{MINUS SIGN}200 lb: it weighs less than its unladen mass. The unloaded mass or "
        "the ratings in the file, or a reading, are wrong."
    )


def test_the_data_of_it_keep_to_the_schema() -> None:
    from jsonschema import Draft202012Validator

    found = day_of(ratings='gvwr = "7000 lb", payload = "1500 lb"')
    data = json.loads(json.dumps(findings_data(found, file="day.toml")))
    Draft202012Validator(findings_schema()).validate(data)
    assert [item["limit"] for item in data["verdicts"] if item["id"].endswith(":payload")] == [1500.0, 1500.0]


def test_what_if_takes_it_as_any_other_limit() -> None:
    """200 lb put on where 100 lb are left."""
    text = DAY.format(
        ratings='payload = "1500 lb"', unloaded='unloaded = { mass = "5200 lb" }', solo=6000, hitched=6600
    )
    weighed = solve(parse_day(text, "day"))
    crate = Cargo("crate", "tow", mass=Quantity(200 * POUND, 0.0), x=Quantity(1.0, 0.0), y=Quantity(0.0, 0.0))
    asked = weighed.ask(Scenario("hitched", add=(crate,)), "more")
    found = next(item for item in asked.verdicts if item.id == "more/tow/payload:payload")
    assert found.value == pytest.approx(1600 * POUND, rel=1e-9)
    assert found.outcome == "outside"
    assert found.dimension is Dimension.MASS
