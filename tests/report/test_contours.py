"""Lines of equal value: where they lie, that they close, which way they run; and the ramp of colours."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.questions.load_map.contours import framed, loops, open_stretches
from steelyard.questions.load_map.ramp import colour, lightness

X, Y = np.linspace(-2.0, 2.0, 81), np.linspace(-1.5, 1.5, 61)
ROUND = 1.0 - np.hypot(*np.meshgrid(X, Y))


def area(loop: list[tuple[float, float]]) -> float:
    points = np.array(loop)
    after = np.roll(points, -1, axis=0)
    return float((points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]).sum() / 2)


def test_a_cone_is_cut_in_a_circle_that_runs_round_what_is_high() -> None:
    (loop,) = loops(X, Y, ROUND, 0.0)
    radii = np.hypot(*np.array(loop).T)
    assert radii.min() == pytest.approx(1.0, abs=5e-4)
    assert radii.max() == pytest.approx(1.0, abs=5e-4)
    assert area(loop) == pytest.approx(np.pi, rel=1e-3)


def test_a_hole_runs_the_other_way() -> None:
    found = sorted((area(loop) for loop in loops(X, Y, -np.abs(ROUND), -0.3)), reverse=True)
    assert found == pytest.approx([np.pi * 1.69, -np.pi * 0.49], rel=3e-3)


def test_what_is_high_at_the_edge_is_closed_along_it() -> None:
    (loop,) = loops(X, Y, ROUND, -9.0)
    assert area(loop) == pytest.approx(12.0)
    assert open_stretches(loop, X, Y) == []


def test_a_line_across_the_grid_is_open_and_ends_at_its_edges() -> None:
    slope = np.broadcast_to(X, (len(Y), len(X)))
    (loop,) = loops(X, Y, slope, 0.51)
    (stretch,) = open_stretches(loop, X, Y)
    points = np.array(stretch)
    assert points[:, 0] == pytest.approx(0.51)
    assert sorted((points[0, 1], points[-1, 1])) == pytest.approx([-1.5, 1.5])
    assert area(loop) == pytest.approx(3.0 * 1.49)


def test_every_saddle_closes() -> None:
    rng = np.random.default_rng(2)
    noise = rng.normal(size=(40, 50))
    found = loops(np.arange(50.0), np.arange(40.0), noise, 0.1)
    assert len(found) > 50
    for loop in found:
        points = np.array([*loop, loop[0]])
        assert np.abs(np.diff(points, axis=0)).max() <= 1.0


def test_a_grid_of_middles_is_carried_to_its_outer_edges() -> None:
    x, y, z = framed(np.array([0.5, 1.5]), np.array([1.0, 3.0]), np.array([[1.0, 2.0], [3.0, 4.0]]))
    assert x.tolist() == [0.0, 0.5, 1.5, 2.0]
    assert y.tolist() == [0.0, 1.0, 3.0, 4.0]
    assert z[0].tolist() == [1.0, 1.0, 2.0, 2.0]


def test_the_ramp_rises_evenly_in_lightness_so_that_grey_tells_it() -> None:
    light = np.array([lightness(colour(part)) for part in np.linspace(0.0, 1.0, 41)])
    steps = np.diff(light)
    assert (steps > 0.0).all()
    assert light[-1] - light[0] > 0.55
    assert steps.max() < 2.2 * steps.mean()


def test_the_ramp_runs_from_blue_to_yellow_and_never_through_red_or_green() -> None:
    for part in np.linspace(0.0, 1.0, 21):
        red, green, blue = (int(colour(float(part))[at : at + 2], 16) for at in (1, 3, 5))
        assert abs(red - green) <= 35
        assert (blue > red) if part < 0.45 else True
        assert (blue < red) if part > 0.65 else True
    assert colour(-1.0) == colour(0.0) == "#1b2a49"
    assert colour(2.0) == "#f3dc9a"
