"""The doubt beside each correction of the ground, held against corrections of days whose inputs are drawn anew.

Every number that is stated with an uncertainty is drawn from it: ride and roll rates, heights of pads and of the
centre of gravity, slope and tilt, the sink of pads. The readings stay. What the corrections scatter by is the doubt
(JCGM 101).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.questions.site import site
from tests.studies import days

DRAWS = days(60, 400)

STATED = {
    "ride_1": (680.0, 68.0, "lb/in"),
    "ride_2": (640.0, 80.0, "lb/in"),
    "roll_1": (900000.0, 200000.0, "lb*in/rad"),
    "height": (2.5, 0.1, "in"),
    "cg_height": (50.0, 6.0, "in"),
    "slope_long": (1.0, 0.15, "deg"),
    "slope_lat": (-0.8, 0.1, "deg"),
    "pad_sink": (0.3, 0.1, "in"),
}
DAY = """\
format = 1
units = {{ mass = "lb", length = "in" }}
[site]
unevenness = "0.01 in"
slope_long = "{slope_long}"
slope_lat = "{slope_lat}"
pad_sink = "{pad_sink}"
[instruments.p1]
kind = "pad"
capacity = "20000 lb"
division = "10 lb"
height = "{height}"
[instruments.p2]
kind = "pad"
capacity = "20000 lb"
division = "10 lb"
height = "{height}"
[vehicles.cart]
role = "trailer"
cg_height = "{cg_height}"
[[vehicles.cart.axles]]
x = "200 in +/- 0.001 in"
track = "80 in +/- 0.001 in"
ride_rate = "{ride_1}"
roll_rate = "{roll_1}"
group = "g"
sharing = "independent"
[[vehicles.cart.axles]]
x = "236 in +/- 0.001 in"
track = "80 in +/- 0.001 in"
ride_rate = "{ride_2}"
group = "g"
sharing = "independent"
[states.parked]
vehicles = ["cart"]
[[drafts]]
state = "parked"
unsupported = "ground"
readings = {{ "cart/1L" = ["p1", 2670], "cart/1R" = ["p2", 2700] }}
[[drafts]]
state = "parked"
unsupported = "ground"
readings = {{ "cart/2L" = ["p1", 2690], "cart/2R" = ["p2", 2650] }}
"""


def text_of(values: Mapping[str, float]) -> str:
    shown = {key: f"{values[key]:.10g} {unit} +/- {u:.10g} {unit}" for key, (_, u, unit) in STATED.items()}
    return DAY.format(**shown)


def corrections(values: Mapping[str, float]) -> dict[tuple[str, str], tuple[float, float]]:
    """Correction and doubt [kg] by effect and finding; ``solve`` sees the readings of the one day always."""
    answer = site(solve(parse_day(text_of(values), "day.toml")))
    return {
        (one.effect, row.kind): (abs(row.correction), row.doubt)
        for one in answer.effects
        for row in one.touched
        if one.effect in ("slope_long", "slope_lat", "pad_height", "pad_sink")
    }


@pytest.fixture(scope="module")
def told() -> dict[tuple[str, str], tuple[float, float]]:
    return corrections({key: value for key, (value, _, _) in STATED.items()})


@pytest.fixture(scope="module")
def drawn() -> list[dict[tuple[str, str], tuple[float, float]]]:
    rng = np.random.default_rng(20261201)
    return [corrections({key: rng.normal(value, u) for key, (value, u, _) in STATED.items()}) for _ in range(DRAWS)]


@pytest.mark.parametrize(
    ("effect", "kind"),
    [  # a tilt moves nothing between axles
        ("slope_lat", "wheel"),
        *((effect, kind) for effect in ("slope_long", "pad_height", "pad_sink") for kind in ("wheel", "axle")),
    ],
)
def test_the_doubt_is_what_corrections_scatter_by(effect: str, kind: str, told, drawn) -> None:
    correction, doubt = told[effect, kind]
    found = np.array([one[effect, kind][0] for one in drawn])
    error = 4.0 / np.sqrt(2.0 * len(found))  # four standard deviations of a standard deviation
    assert correction == pytest.approx(float(np.median(found)), rel=0.1)
    assert doubt == pytest.approx(float(found.std(ddof=1)), rel=error)
    assert doubt > 0.02 * correction


def test_pads_under_one_of_two_independent_axles_leave_the_doubt_of_the_springs() -> None:
    """``k1 k2 / (k1 + k2)`` of two springs good to 10 % each is good to 7.1 %: 1,934 lb of correction to 137 lb."""
    values = {key: value for key, (value, _, _) in STATED.items()} | {"ride_1": 680.0, "ride_2": 680.0}
    text = (
        text_of(values).replace("640 lb/in +/- 80", "680 lb/in +/- 68").replace("680 lb/in +/- 80", "680 lb/in +/- 68")
    )
    text = text.replace("2.5 in +/- 0.1 in", "2.5 in")
    answer = site(solve(parse_day(text, "day.toml")))
    pads = next(one for one in answer.effects if one.effect == "pad_height")
    axle = next(row for row in pads.touched if row.kind == "axle")
    assert axle.doubt / abs(axle.correction) == pytest.approx(0.1 / np.sqrt(2.0), rel=0.02)
    assert "of doubt stays at parked: cart axle" in pads.words
