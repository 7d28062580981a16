"""A vehicle at rest on a slope: the loads square to the ground, and back to the level.

Source: the free body of every text on vehicle mechanics, ``R_front = W (b cos - h sin) / L`` with the front uphill; a
vehicle of 49,050 N, wheelbase 2.25 m, centre of gravity 1.0 m ahead of the rear axle and 1.5 m up, on 10 degrees (a
problem of a textbook of automobile engineering, chapter on stability on a slope: statement seen, answers worked here).
Tolerance: half a unit of the last digit given; of the day a hundredth of a kilogram, what rounding to grams leaves.
"""

from __future__ import annotations

import math

import pytest

from steelyard.adjustment import Supports
from tests.published.days import Pounds

WEIGHT, BASE, AHEAD, HEIGHT = 5000.0, 2.25, 1.0, 1.5
UP = math.radians(10.0)


def normal_loads(angle: float) -> tuple[float, float]:
    """Front and rear, square to the ground, front uphill."""
    front = WEIGHT * (AHEAD * math.cos(angle) - HEIGHT * math.sin(angle)) / BASE
    rear = WEIGHT * ((BASE - AHEAD) * math.cos(angle) + HEIGHT * math.sin(angle)) / BASE
    return front, rear


def test_the_answers() -> None:
    assert normal_loads(UP) == pytest.approx((1609.6, 3314.4), abs=0.05)
    assert 9.81 * normal_loads(UP)[0] == pytest.approx(15790.5, abs=0.5)


def day(
    *, heading: str = "", angle: float = UP, height: str = 'cg_height = "1.5 m +/- 0 m"', twice: bool = False
) -> Pounds:
    """Read on the slope in grams; facing the other way where ``heading`` says so, both where ``twice``."""
    pads = "".join(
        f'[instruments.p{number}]\nkind = "pad"\ncapacity = 9000\ndivision = 0.001\nspan_uncertainty = "0 %"\n'
        f'repeatability = "0 kg"\n'
        for number in (1, 2, 3, 4)
    )
    axles = "".join(f'[[vehicles.van.axles]]\nx = "{x} m +/- 0 m"\ntrack = 1.6\n' for x in (0.0, BASE))

    def draft(facing: str, front: float, rear: float) -> str:
        loads = [front / 2, front / 2, rear / 2, rear / 2]
        read = ", ".join(
            f'"van/{wheel}" = ["p{number}", {load:.3f}]'
            for number, (wheel, load) in enumerate(zip(("1L", "1R", "2L", "2R"), loads, strict=True), start=1)
        )
        return f'[[drafts]]\nstate = "alone"\n{facing}readings = {{ {read} }}\n'

    facing = 'heading = "reversed"\n'
    drafts = draft(facing if heading else "", *normal_loads(-angle if heading else angle))
    if twice:
        drafts = draft("", *normal_loads(angle)) + draft(facing, *normal_loads(-angle))
    slope = "" if twice else f'slope_long = "{math.degrees(angle):.9g} deg +/- 0 deg"\n'
    return Pounds(
        'format = 1\nunits = { mass = "kg", length = "m" }\n[site]\nunevenness = "0 mm"\n',
        f'{slope}{pads}[vehicles.van]\nrole = "towing"\n{height}\n{axles}[states.alone]\nvehicles = ["van"]\n{drafts}',
    )


@pytest.mark.parametrize("heading", ["", "reversed"])
def test_the_day_brings_the_loads_back_to_the_level(heading: str) -> None:
    found = day(heading=heading)
    assert found.value("alone/van/axle/1") == pytest.approx(WEIGHT * AHEAD / BASE, abs=0.01)
    assert found.value("alone/van/axle/2") == pytest.approx(WEIGHT * (BASE - AHEAD) / BASE, abs=0.01)
    assert found.value("alone/van/gross") == pytest.approx(WEIGHT, abs=0.01)


def test_two_ways_round_need_neither_slope_nor_height() -> None:
    """On a degree and a half of slope, unstated, both ways: level loads, but for the cosine, which is 0.03 %."""
    found = day(angle=math.radians(1.5), height="", twice=True)
    lost = math.cos(math.radians(1.5))
    assert found.value("alone/van/axle/1") == pytest.approx(WEIGHT * AHEAD / BASE * lost, abs=0.2)
    assert found.value("alone/van/axle/2") == pytest.approx(WEIGHT * (BASE - AHEAD) / BASE * lost, abs=0.2)
    shift = WEIGHT * HEIGHT * math.tan(math.radians(1.5)) / BASE
    assert shift > 85  # kilograms that one way alone would have been off by


def test_overturning() -> None:
    """The centre of gravity over the lower contact: tan = 1.0 / 1.5, 33.7 degrees."""
    on_the_ground = Supports(0.0, 0.0, BASE, 0.0)
    angle = on_the_ground.tipping(x=BASE - AHEAD, z=HEIGHT, rear_up=False)
    assert math.degrees(angle) == pytest.approx(33.7, abs=0.05)
    assert normal_loads(angle)[0] == pytest.approx(0.0, abs=1e-9)


def test_one_axle_read_both_ways_brings_the_other_back_to_the_level_too() -> None:
    """With neither slope nor height known, the front axle read both ways tells what the slope moved: the rear too."""
    both = day(angle=math.radians(1.0), height="", twice=True)
    text = both.text
    rear = text[text.rindex(', "van/2L"') : text.rindex(" }")]
    once = Pounds(text.replace(rear, "", 1) if text.count(rear) == 1 else text[::-1].replace(rear[::-1], "", 1)[::-1])
    assert once.u("alone/van/axle/1") == pytest.approx(both.u("alone/van/axle/1"), rel=0.05)
    assert once.u("alone/van/axle/2") < 5.0
    assert once.value("alone/van/axle/2") == pytest.approx(both.value("alone/van/axle/2"), abs=1.0)
