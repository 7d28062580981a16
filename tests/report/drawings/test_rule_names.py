"""A rule of the road that binds is named in full on the drawings, though its name is longer than that of a rating."""

from __future__ import annotations

import html
import re
from functools import lru_cache

from steelyard.dayfile import parse_day
from steelyard.findings import Weighed, solve
from steelyard.loading import floor_of, load_map
from steelyard.questions.limits import limits_of
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.load_map.view import load_map_svg
from tests.cli.days import ROOT

NAME = "towed mass of a car, with brakes"


@lru_cache(maxsize=1)
def puppets() -> Weighed:
    """The example whose trailer is heavier than the van may tow."""
    return solve(parse_day((ROOT / "examples" / "puppet-van.toml").read_text(encoding="utf-8"), "puppets.toml"))


def words(svg: str) -> str:
    """The texts of a drawing in their order."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", svg)).split())


def test_what_is_left_names_the_rule_in_full() -> None:
    svg = above_svg(puppets().findings(), "hitched")
    drawn = svg[svg.index("What is left</text>") :]
    assert NAME in words(drawn)
    assert "36 over" in words(drawn)
    assert "\N{HORIZONTAL ELLIPSIS}" not in drawn


def test_the_load_map_breaks_a_long_name_rather_than_cut_it() -> None:
    weighed = puppets()
    day = weighed.findings().day
    found = load_map(limits_of(weighed, "hitched", "stage"), floor_of(day.vehicles["stage"]), columns=20, rows=10)
    drawn = words(load_map_svg(day, found, state="hitched", vehicle="stage").split("What binds where</text>")[1])
    assert f"Stage trailer, the load of its axles: {NAME}" in drawn
