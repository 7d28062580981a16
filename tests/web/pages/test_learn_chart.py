"""The chart of the learn page: the same plot as the drawing of the command line."""

from __future__ import annotations

import re

import pytest

from steelyard.dayfile import read_day, read_log
from steelyard.questions.sweep import learn
from steelyard.web.pages.learn.chart import draw_chart
from steelyard.web.pages.learn.named import named
from tests.house.source import ROOT


def test_added_load_is_counted_from_the_lightest_plateau() -> None:
    day = read_day(ROOT / "examples" / "quay-bakery.toml")
    data = (ROOT / "examples" / "quay-bakery-sweep.csv").read_bytes()
    log = read_log(data, "sweep.csv", day, day.states["solo"], {})
    answer = learn(day, "solo", log, vehicle="truck")
    item = answer.get("solo/slope/truck/1/per/added")
    assert item is not None
    chart = draw_chart(answer, item, named(day))
    assert chart is not None
    assert ">all that was added, lb<" in chart.svg
    across = re.findall(r'class="middle"[^>]*>([^<]+)<', chart.svg)
    up = re.findall(r'class="end"[^>]*>([^<]+)<', chart.svg)
    assert across[0] == "0"
    assert float(across[-1].replace(",", "")) < 1500.0
    assert {float(text.replace(",", "")) > 3500.0 for text in up} == {True}


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("truck/1L: 2161 is no reading", "Crew-cab bread truck 1L: 2161 is no reading"),
        ("left share of what truck axle 2 takes", "left share of what Crew-cab bread truck axle 2 takes"),
        ("place of the load along truck", "place of the load along Crew-cab bread truck"),
        ("a truck is heavy, and a truckload more", "a truck is heavy, and a truckload more"),
    ],
)
def test_a_sentence_has_the_name_of_the_vehicle(said: str, read: str) -> None:
    assert named(read_day(ROOT / "examples" / "quay-bakery.toml"))(said) == read
