"""Whose doubt the springs' is: the ground's where pads under some wheels shift load through them, else not.

Pads under one axle of two independent ones press on springs that are stated loosely. Where every wheel stands on a
pad the springs tell next to nothing of that vehicle, and what they tell between states is no doing of the ground.
"""

from __future__ import annotations

from steelyard.adjustment import DoubtSource
from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.questions.site import SiteAnswer, site
from steelyard.report.tables.site import site_text

LOOSE = {f"ride_{axle}": f"{rate} lb/in +/- 200 lb/in" for axle, rate in ((1, 680), (2, 640))}
HEAD = """\
format = 1
units = {{ mass = "lb", length = "in" }}
[site]
unevenness = "0.01 in"
[instruments.p1]
kind = "pad"
capacity = "20000 lb"
division = "10 lb"
height = "2.5 in +/- 0.01 in"
[instruments.p2]
kind = "pad"
capacity = "20000 lb"
division = "10 lb"
height = "2.5 in +/- 0.01 in"
[vehicles.cart]
role = "trailer"
[[vehicles.cart.axles]]
x = "200 in +/- 0.001 in"
track = "80 in +/- 0.001 in"
ride_rate = "{ride_1}"
[[vehicles.cart.axles]]
x = "236 in +/- 0.001 in"
track = "80 in +/- 0.001 in"
ride_rate = "{ride_2}"
[states.parked]
vehicles = ["cart"]
"""
SENTENCE = "pads under some wheels shift load through them"


def answered(text: str) -> SiteAnswer:
    return site(solve(parse_day(text, "day")))


def halves(unsupported: str) -> str:
    return HEAD.format(**LOOSE) + "".join(
        f'[[drafts]]\nstate = "parked"\n{unsupported}\nreadings = {{ "cart/{axle}L" = ["p1", 2670], '
        f'"cart/{axle}R" = ["p2", 2700] }}\n'
        for axle in (1, 2)
    )


def test_the_springs_under_a_raised_axle_are_the_grounds_doubt() -> None:
    answer = answered(halves('unsupported = "ground"'))
    (axle,) = [one for one in answer.largest if one.kind == "axle"]
    assert (axle.source, axle.of_the_ground) == (DoubtSource.SPRINGS, True)
    assert axle.after is not None
    assert axle.after < axle.half_width
    told = " ".join(site_text(answer).split())
    assert "The ground is not the largest doubt" not in told
    assert SENTENCE in told


def test_level_with_planks_the_springs_are_not_it() -> None:
    answer = answered(halves(""))
    assert [one for one in answer.largest if one.through_pads] == []
    assert SENTENCE not in " ".join(site_text(answer).split())
