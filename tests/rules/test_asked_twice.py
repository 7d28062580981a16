"""Rulings are kept while one day is asked about, and never given for another."""

from __future__ import annotations

from dataclasses import replace

from steelyard.dayfile import bundled_set
from steelyard.model import Use, WeighDay
from steelyard.requirements.road import rulings
from tests.rules.road_days import road_day


def told(day: WeighDay, only: str | None = None) -> list[tuple[str, str, float | None]]:
    return [
        (one.state, one.subject, None if one.requirement is None else round(one.requirement.limit))
        for one in rulings(day, only)
    ]


def test_days_that_are_asked_by_turns_keep_their_own_rulings() -> None:
    of = bundled_set("us-interstate")
    near, far = road_day([0, 120, 168], sets=[of]), road_day([0, 240, 288], sets=[of])
    first = told(near), told(far)
    assert first[0] != first[1]
    assert (told(near), told(far), told(far), told(near)) == (*first, first[1], first[0])


def test_a_day_that_differs_in_its_use_alone_is_asked_anew() -> None:
    private = road_day([0, 120], sets=[bundled_set("us-carrier")], use=Use.PRIVATE)
    unsaid = replace(private, rules=replace(private.rules, use=None))
    assert [one.needs for day in (private, unsaid, private) for one in rulings(day)] == [(), ("rules.use",), ()]


def test_one_state_is_asked_alone_and_in_the_order_of_the_file() -> None:
    day = road_day([0, 120], [300, 350], sets=[bundled_set("us-interstate")])
    solo = replace(day.states["road"], id="solo", vehicles=("v0",), links=())
    day = replace(day, states={"solo": solo, **day.states})
    assert told(day, "solo") + told(day, "road") == told(day)
    assert told(day, "nowhere") == []
