"""The height of the centre of gravity by lifting one axle.

Source: ISO 10392:2011, Road vehicles, determination of centre of gravity (procedure seen in published extracts; formula
from memory, and derived from moments about the contact of the axle that stays down):
``h = r + L (m_front_lifted - m_front) / (m tan(theta))``, ``sin(theta) = lift / L``. The same in textbook form with the
front lifted, as taught in courses of vehicle dynamics (seen): ``h = r + (b - L R_front / W) cot(theta)``, ``b`` from
the rear axle. Numbers: derived, worked by hand from the formula. Tolerance: half a unit of the last digit given.
"""

from __future__ import annotations

import math

import pytest

from steelyard.adjustment import Supports, adjust, centre_heights
from steelyard.dayfile import parse_day
from steelyard.findings import weigh

MASS, BASE, FRONT, LIFTED, ANGLE, RADIUS = 1500.0, 2.600, 800.0, 840.0, math.radians(15.0), 0.300
HEIGHT = 0.558756


def day(*drafts: str, radius: str = "0.3 m +/- 0 m", axle: str = "", division: float = 1.0) -> str:
    """A car on four pads: 800 kg in front, 700 kg behind, and what is given."""
    pads = "".join(
        f'[instruments.p{number}]\nkind = "pad"\ncapacity = 2000\ndivision = {division}\nspan_uncertainty = "0 %"\n'
        f'repeatability = "0 kg"\n'
        for number in (1, 2, 3, 4)
    )
    axles = "".join(
        f'[[vehicles.car.axles]]\nx = "{x} m +/- 0 m"\ntrack = 1.5\nloaded_radius = "{radius}"\n{axle}'
        for x in (0.0, BASE)
    )
    level = (
        '[[drafts]]\nstate = "alone"\n'
        'readings = { "car/1L" = ["p1", 400], "car/1R" = ["p2", 400], '
        '"car/2L" = ["p3", 350], "car/2R" = ["p4", 350] }\n'
    )
    return (
        'format = 1\nunits = { mass = "kg", length = "m" }\n[site]\nunevenness = "0 mm"\n'
        f'{pads}[vehicles.car]\nrole = "towing"\n{axles}[states.alone]\nvehicles = ["car"]\n{level}{"".join(drafts)}'
    )


def raised(what: str, height: float, readings: tuple[float, float], *, blocked: bool = True, on: int = 1) -> str:
    block = 'suspension = "blocked"\n' if blocked else ""
    pads = ("p1", "p2") if on == 1 else ("p3", "p4")
    read = ", ".join(
        f'"car/{on}{side}" = ["{pad}", {value:g}]' for side, pad, value in zip("LR", pads, readings, strict=True)
    )
    lifted = f'raised = {{ "car/{what}" = "{height:.9f} m +/- 0 m" }}\n'
    return f'[[drafts]]\nstate = "alone"\n{block}{lifted}readings = {{ {read} }}\n'


def height_of(text: str) -> float:
    found = weigh(parse_day(text, "day.toml")).by_id["alone/car/cg_z"]
    assert found.value is not None
    return found.value


def test_the_formula_with_the_rear_lifted() -> None:
    assert RADIUS + BASE * (LIFTED - FRONT) / (MASS * math.tan(ANGLE)) == pytest.approx(HEIGHT, abs=5e-7)
    assert height_of(day(raised("2", BASE * math.sin(ANGLE), (420, 420)))) == pytest.approx(HEIGHT, abs=5e-7)


def test_the_same_centre_with_the_front_lifted() -> None:
    """With b = L m_front / m from the rear axle; the load on the lifted front falls as that on the rear rises."""
    behind = BASE * FRONT / MASS
    rear = 700 + 30
    expected = RADIUS + (behind - BASE * (MASS - rear) / MASS) / math.tan(ANGLE)
    found = height_of(day(raised("1", BASE * math.sin(ANGLE), (365, 365), on=2)))
    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("angle", "sensitivity"), [(15.0, 6.5), (5.0, 19.8)])
def test_what_a_kilogram_does(angle: float, sensitivity: float) -> None:
    """1 kg moves the height by 6.5 mm at 15 degrees, by 19.8 mm at 5 degrees."""
    lift = BASE * math.sin(math.radians(angle))
    high, low = (height_of(day(raised("2", lift, (float(left), 420)))) for left in (421, 420))
    assert 1000 * (high - low) == pytest.approx(sensitivity, abs=0.05)


def test_several_lifts_lie_on_one_line_in_the_tangent() -> None:
    """Loads made from the formula for three angles give its height back, and the fit is exact."""
    supports = Supports(0.0, RADIUS, BASE, RADIUS)
    drafts: list[str] = []
    for degrees in (6.0, 10.0, 14.0):
        share = supports.rear_share(math.radians(degrees), x=BASE * 700 / MASS, z=HEIGHT)
        front = round(MASS * (1.0 - share), 3)
        drafts.append(raised("2", BASE * math.sin(math.radians(degrees)), (round(front / 2, 3), round(front / 2, 3))))
    (found,) = centre_heights(adjust(parse_day(day(*drafts, division=0.001), "day.toml")))
    assert found.value == pytest.approx(HEIGHT, abs=2e-5)
    assert [round(math.degrees(angle), 6) for angle in found.angles] == [6.0, 10.0, 14.0]
    assert found.straight
    assert found.redundancy == 2


def test_unequal_radii_turn_about_the_wheel_centres() -> None:
    """With the rear wheels 4 cm taller, the line of the wheel centres is not level to begin with: moments by hand."""
    front, rear = (0.0, 0.30), (BASE, 0.34)
    centre = (BASE * 700 / MASS, 0.55)
    turn = math.radians(12.0)
    points = [
        (x * math.cos(turn) - z * math.sin(turn), x * math.sin(turn) + z * math.cos(turn))
        for x, z in (front, rear, centre)
    ]
    share = (points[2][0] - points[0][0]) / (points[1][0] - points[0][0])
    supports = Supports(0.0, 0.30, BASE, 0.34)
    assert supports.rear_share(turn, x=centre[0], z=centre[1]) == pytest.approx(share, rel=1e-12)
    rise = (points[1][1] - points[0][1]) - 0.04
    assert supports.angle(rise) == pytest.approx(turn, rel=1e-9)


def test_where_it_would_go_over() -> None:
    """The centre over the contact of the axle that stays down: tan = distance over height above the wheel centre."""
    supports = Supports(0.0, RADIUS, BASE, RADIUS)
    centre = BASE * 700 / MASS
    assert supports.tipping(x=centre, z=HEIGHT, rear_up=True) == pytest.approx(math.atan(centre / (HEIGHT - RADIUS)))
    gone = supports.rear_share(supports.tipping(x=centre, z=HEIGHT, rear_up=True), x=centre, z=HEIGHT)
    assert gone == pytest.approx(0.0, abs=1e-12)


def test_a_free_suspension_makes_it_look_higher_and_is_corrected() -> None:
    """Springs that give let the body turn further: the same readings mean a lower centre, by about a per cent."""
    lift = BASE * math.sin(ANGLE)
    soft = 'ride_rate = "30000 kg/m +/- 0 kg/m"\n'
    blocked = height_of(day(raised("2", lift, (420, 420)), axle=soft))
    free = height_of(day(raised("2", lift, (420, 420), blocked=False), axle=soft))
    arm = blocked - RADIUS
    more = 0.7 * MASS * arm * 2 / (2 * 30000) / BASE**2  # the body's further turn, as a share of the lift
    assert free < blocked
    assert free - RADIUS == pytest.approx(arm / (1 + more), rel=1e-3)


def test_what_a_pad_shows_without_a_load_is_taken_off_the_raised_reading() -> None:
    """Two platforms, 30 kg too high and 30 kg too low, are told apart by changing places on the level.

    The raised reading is then 30 kg too high as well. By hand as above: the height is that of the sound reading.
    """
    scales = "".join(
        f'[instruments.{name}]\nkind = "platform"\ncapacity = 4000\ndivision = 0.01\nspan_uncertainty = "0 %"\n'
        'repeatability = "0.01 kg"\nzero_uncertainty = "20 kg"\n'
        for name in ("high", "low")
    )
    text = day(raised("2", BASE * math.sin(ANGLE), (420, 420)))
    level = "".join(
        '[[drafts]]\nstate = "alone"\n'
        f'readings = {{ "car/1" = ["{front}", {800 + off}], "car/2" = ["{rear}", {700 - off}] }}\n'
        for front, rear, off in (("high", "low", 30), ("low", "high", -30))
    )
    head, _, rest = text.partition("[instruments.p1]")
    body = rest[rest.index("[vehicles.car]") : rest.index("[[drafts]]")]
    lift = f'raised = {{ "car/2" = "{BASE * math.sin(ANGLE):.9f} m +/- 0 m" }}\n'
    lifted = f'[[drafts]]\nstate = "alone"\nsuspension = "blocked"\n{lift}readings = {{ "car/1" = ["high", 870] }}\n'
    assert height_of(head + scales + body + level + lifted) == pytest.approx(HEIGHT, abs=2e-4)
