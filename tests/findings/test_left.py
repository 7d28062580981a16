"""The room left under the ratings of a state: plain subtraction, worked out beside each test."""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, Left, LeftKind, left_in, weigh
from steelyard.report.words.left import BINDS, LEAST_KNOWN, LIFTS, UNRATED, UNUSED, left_words

POUND = 0.45359237

DAY = """
format = 1
units = {{ mass = "lb", length = "in" }}
[site]
unevenness = "0 mm"
[instruments.deck]
kind = "platform"
capacity = "40000 lb"
division = "2 lb"
span_uncertainty = "0 %"
[vehicles.tow]
role = "towing"
name = "Flatbed"
ratings = {{ {ratings} }}
unloaded = {{ mass = "5200 lb" }}
[[vehicles.tow.axles]]
x = "0 in"
track = "68 in"
rating = "3300 lb"
[[vehicles.tow.axles]]
x = "150 in"
track = "68 in"
rating = "4000 lb"
wheel_rating = "1950 lb"
[vehicles.tow.couplings.ball]
type = "ball"
x = "200 in"
{ball}
[vehicles.box]
role = "trailer"
ratings = {{ gvwr = "3600 lb" }}
[[vehicles.box.axles]]
x = "150 in"
track = "72 in"
[states.solo]
vehicles = ["tow"]
[states.hitched]
vehicles = ["tow", "box"]
couple = {{ towing = "tow", at = "ball", trailer = "box" }}
{drafts}
"""


def read(state: str, place: str, shown: int) -> str:
    return f'[[drafts]]\nstate = "{state}"\nreadings = {{ "{place}" = ["deck", {shown}] }}\n'


SOLO = read("solo", "tow/1", 3000) + read("solo", "tow/2", 3000)
HITCHED = read("hitched", "tow/1", 2800) + read("hitched", "tow/2", 3800) + read("hitched", "box", 2900)
BOTH = 'gvwr = "7000 lb", payload = "1500 lb"'


def day_of(
    *, ratings: str = BOTH, ball: str = 'rating = { vertical = "700 lb" }', drafts: str = SOLO + HITCHED
) -> Findings:
    return weigh(parse_day(DAY.format(ratings=ratings, ball=ball, drafts=drafts), "day"))


def rooms(found: Findings, state: str) -> dict[str, float | None]:
    return {
        f"{one.kind}:{one.owner}": None if one.room is None else round(one.room / POUND, 3)
        for one in left_in(found, state)
    }


def row(found: Findings, state: str, kind: LeftKind) -> Left:
    return next(one for one in left_in(found, state) if one.kind is kind)


def test_rooms_are_the_ratings_less_the_loads() -> None:
    """Hitched: aboard 6,600 - 5,200 of 1,500; 600 on the ball of 700; axle 2 carries 3,800 of 4,000, axle 1 less."""
    found = day_of()
    assert rooms(found, "hitched") == {"payload:tow": 100.0, "coupling:tow": 100.0, "axle:tow": 200.0}
    assert rooms(found, "solo") == {"payload:tow": 700.0, "axle:tow": 300.0}
    axle = row(found, "hitched", LeftKind.AXLE)
    assert axle.verdict is not None
    assert axle.verdict.id == "hitched/tow/axle/2:rating"
    assert axle.open == 2  # both wheels of axle 2, which the platform does not tell apart


def test_the_interval_is_that_of_the_load_turned_round() -> None:
    found = day_of()
    one = row(found, "hitched", LeftKind.PAYLOAD)
    load, room = found.by_id["hitched/tow/payload"], one.as_finding
    assert load.low is not None
    assert load.high is not None
    assert room is not None
    assert (room.low, room.high) == (1500 * POUND - load.high, 1500 * POUND - load.low)
    assert room.u == load.u


def test_another_limit_that_binds_first_has_a_row_of_its_own() -> None:
    """A gross rating of 6,650 leaves 50, less than payload, ball and axles."""
    found = day_of(ratings='gvwr = "6650 lb", payload = "1500 lb"')
    last = left_in(found, "hitched")[-1]
    assert (last.kind, last.owner, round((last.room or 0.0) / POUND, 3), last.binds) == ("other", "tow", 50.0, True)
    assert [one.mark for one in left_words(found, "hitched")] == ["", "", "", LEAST_KNOWN]


def test_over_is_below_nothing() -> None:
    found = day_of(ratings='payload = "1250 lb"')
    words = {one.name: one for one in left_words(found, "hitched")}
    assert words["tow payload"].over
    assert words["tow payload"].amount.startswith("150")
    assert words["tow payload"].span.endswith(" over")
    assert words["tow payload"].outcome == "outside"


def test_ratings_that_the_file_does_not_state_are_said_to_be_missing() -> None:
    found = day_of(ratings='gvwr = "7000 lb"', ball="")
    words = {one.name: one.instead for one in left_words(found, "hitched")}
    assert words["tow payload"] == words["tow coupling"] == UNRATED


def test_a_rating_whose_load_is_not_determined_is_said_to_be() -> None:
    """Only axle 2 was read: payload, ball and axle 1 may leave less than axle 2 does."""
    words = {one.name: one for one in left_words(day_of(drafts=read("hitched", "tow/2", 3800)), "hitched")}
    assert words["tow payload"].instead == words["tow ball"].instead == "not determined"
    assert words["tow axle 2"].mark == LEAST_KNOWN
    assert words["tow axle 2"].note == "3 more axle or tyre ratings not determined"
    nothing = {one.name: one.instead for one in left_words(day_of(drafts=""), "hitched")}
    assert nothing["tow axles and tyres"] == "not determined"


def test_a_load_that_pulls_up_uses_nothing_of_its_rating() -> None:
    """90 lb up at the ball, 50 in behind axle 2: axle 2 gives 120 and axle 1 gains 30. Alone, 200 lb under empty."""
    found = day_of(drafts=SOLO + HITCHED.replace("2800", "3030").replace("3800", "2880"))
    assert {one.name: one.instead for one in left_words(found, "hitched")}["tow ball"] == LIFTS
    light = day_of(drafts=SOLO.replace("3000", "2500"))
    assert {one.name: one.instead for one in left_words(light, "solo")}["tow payload"] == UNUSED


def test_a_state_without_ratings_has_no_rows_and_an_unknown_state_is_an_error() -> None:
    text = DAY.format(ratings='gvwr = "7000 lb"', ball="", drafts=SOLO + HITCHED)
    for rating in ('ratings = { gvwr = "7000 lb" }', 'ratings = { gvwr = "3600 lb" }', 'rating = "3300 lb"'):
        text = text.replace(rating, "")
    text = text.replace('rating = "4000 lb"\nwheel_rating = "1950 lb"', "")
    assert left_in(weigh(parse_day(text, "day")), "hitched") == ()
    with pytest.raises(KeyError):
        left_words(day_of(), "hitcht")


def test_every_limit_determined_the_least_binds_first() -> None:
    text = DAY.format(ratings=BOTH, ball='rating = { vertical = "700 lb" }', drafts=SOLO).replace(
        'wheel_rating = "1950 lb"', ""
    )
    marks = [one.mark for one in left_words(weigh(parse_day(text, "day")), "solo")]
    assert marks == ["", BINDS]
