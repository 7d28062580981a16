"""Load floors and places: outlines that cross themselves, what lies within, what is off the vehicle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steelyard.loading import Scenario, ScenarioError, floor_of, refuse_off_vehicle
from steelyard.loading.floor import inside
from steelyard.model import Cargo
from steelyard.units import Quantity
from tests.loading.days import BAKERY

TRUCK, OVEN = BAKERY.vehicles["truck"], BAKERY.vehicles["oven"]


def outlined(*corners: tuple[float, float]):
    return replace(TRUCK, load_floor=corners)


def test_without_an_outline_the_rectangle_of_axles_and_tracks_stands_in() -> None:
    corners = np.array(floor_of(TRUCK)) / 0.0254
    assert corners.min(axis=0) == pytest.approx([0.0, -34.0])
    assert corners.max(axis=0) == pytest.approx([170.0, 34.0])
    corners = np.array(floor_of(OVEN)) / 0.0254
    assert corners.min(axis=0) == pytest.approx([0.0, -38.0])
    assert corners.max(axis=0) == pytest.approx([208.0, 38.0])


def test_an_outline_that_crosses_itself_is_refused() -> None:
    with pytest.raises(
        ScenarioError,
        match="the load floor of 'truck' crosses itself: the edge from corner 1 meets the one from corner 3; list the "
        "corners in order around it",
    ):
        floor_of(outlined((2.0, -1.0), (4.0, 1.0), (4.0, -1.0), (2.0, 1.0)))


def test_an_outline_that_touches_itself_is_refused() -> None:
    with pytest.raises(ScenarioError, match="crosses itself"):
        floor_of(outlined((0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (2.0, 0.0), (0.0, 2.0)))


TOUCHING = ((0.0, 0.0), (4.0, 0.0), (0.0, 1.5), (4.0, 3.0), (0.0, 3.0))
"""The third corner lies on the last edge."""
BESIDE = ((0.0, 0.0), (0.0, 3.0), (4.0, 3.0), (4.0, -3.0), (0.0, -1.5), (2.0, 0.0))
"""The fifth corner lies on the line of the first edge, but beyond its end."""


def turned(corners, quarters: int, *, backward: bool):
    for _ in range(quarters):
        corners = tuple((-y, x) for x, y in corners)
    return outlined(*(corners[::-1] if backward else corners))


@pytest.mark.parametrize("quarters", range(4))
@pytest.mark.parametrize("backward", [False, True])
def test_a_corner_on_an_edge_is_refused_and_one_on_its_line_is_not(quarters: int, *, backward: bool) -> None:
    with pytest.raises(ScenarioError, match="crosses itself"):
        floor_of(turned(TOUCHING, quarters, backward=backward))
    assert len(floor_of(turned(BESIDE, quarters, backward=backward))) == 6


def test_an_outline_without_area_is_refused() -> None:
    with pytest.raises(ScenarioError, match="the load floor of 'truck' encloses nothing; give it a length and a width"):
        floor_of(outlined((0.0, 0.0), (1.0, 1.0), (2.0, 2.0)))


def test_a_hollow_outline_is_sound_and_its_hollow_is_outside() -> None:
    outline = floor_of(outlined((0.0, -1.0), (4.0, -1.0), (4.0, 1.0), (2.0, 0.0), (0.0, 1.0)))
    x, y = np.array([2.0, 2.0, 0.1, 3.9, 5.0]), np.array([0.5, -0.5, 0.8, 0.8, 0.0])
    assert inside(outline, x, y).tolist() == [False, True, True, True, False]


def put(vehicle: str, x: float, y: float) -> Scenario:
    inch = 0.0254
    cargo = Cargo("crate", vehicle, mass=Quantity(100.0), x=Quantity(x * inch), y=Quantity(y * inch))
    return Scenario("levelled", add=(cargo,))


@pytest.mark.parametrize(
    ("scenario", "words"),
    [
        (put("truck", 400, 0), "400 in along it, which reaches from −111 to 333 in at most"),
        (put("truck", -120, 0), "−120 in along it, which reaches from −111 to 333 in at most"),
        (put("truck", 100, 60), "60 in across it, which reaches from −58 to 58 in at most"),
        (put("oven", 100, -70), "−70 in across it, which reaches from −62 to 62 in at most"),
    ],
)
def test_a_place_off_the_vehicle_is_refused(scenario: Scenario, words: str) -> None:
    with pytest.raises(ScenarioError) as error:
        refuse_off_vehicle(BAKERY, scenario)
    assert str(error.value) == f"'crate' would stand off {scenario.add[0].on!r}: {words}"


def test_a_move_off_the_vehicle_is_refused() -> None:
    with pytest.raises(ScenarioError, match="'baker' would stand off 'truck'"):
        refuse_off_vehicle(BAKERY, Scenario("solo", change={"baker": {"y": Quantity(2.0)}}))


def test_overhangs_and_couplings_are_on_the_vehicle() -> None:
    for x, y in ((-60, 0), (222, 0), (300, 30), (85, -50)):
        refuse_off_vehicle(BAKERY, put("truck", x, y))
