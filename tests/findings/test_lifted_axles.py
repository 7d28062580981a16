"""Axles that are up in a state: they carry nothing, and everything else is as if the rig had no such axle."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, parse_day, write_day
from steelyard.findings import Finding, Findings, solve, weigh
from steelyard.loading import Scenario
from steelyard.model import Cargo
from steelyard.planning import kit_of
from steelyard.questions.plan import plan
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.tables.findings import findings_text
from steelyard.requirements import Train
from steelyard.units import Quantity
from steelyard.web.station.places import places_of
from tests.findings.road import INCH, POUND

HEAD = 'format = 1\nunits = { mass = "lb", length = "in" }\n' + "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "10 lb"\nspan_uncertainty = "0.1 %"\n'
    "height = 2\n"
    for number in range(1, 7)
)
AXLES = (
    '{ x = 0, track = 70, ride_rate = "500 lb/in +/- 5 %" }',
    '{ x = 150, track = 72, ride_rate = "700 lb/in +/- 5 %", roll_rate = "400000 lb*in/rad +/- 10 %" }',
    '{ x = 200, track = 72, ride_rate = "600 lb/in +/- 5 %" }',
)
CART = """
[vehicles.cart]
role = "trailer"
axles = [{ x = 170, track = 80, ride_rate = "800 lb/in" }, { x = 206, track = 80, ride_rate = "800 lb/in" }]
"""
SITE = 'site = { slope_long = "0.8 deg +/- 0.1 deg", unevenness = "3 mm" }\n'
UP = 'lifted = ["tow/3"]\n'


def rig(axles: int = 3) -> str:
    """A truck of so many axles, and a trailer whose axles do not share load."""
    return (
        HEAD
        + f'[vehicles.tow]\nrole = "towing"\ncg_height = "30 in +/- 2 in"\naxles = [{", ".join(AXLES[:axles])}]\n'
        + 'couplings.hook = { type = "ball", x = 240 }\n'
        + CART
    )


def state(name: str, up: str = "", *, coupled: bool = False, cargo: str = "") -> str:
    both = 'vehicles = ["tow", "cart"]\ncouple = { towing = "tow", at = "hook", trailer = "cart" }\n'
    return f"[states.{name}]\n" + (both if coupled else 'vehicles = ["tow"]\n') + cargo + up


def draft(name: str, axles: dict[str, float], tilt: float = 20.0) -> str:
    wheels = [
        (f"{axle}{side}", load / 2 + sign * tilt)
        for axle, load in axles.items()
        for side, sign in (("L", 1), ("R", -1))
    ]
    told = ", ".join(f'"{place}" = ["p{number}", {load:g}]' for number, (place, load) in enumerate(wheels, start=1))
    return f'[[drafts]]\nstate = "{name}"\nreadings = {{ {told} }}\n'


SOLO = draft("solo", {"tow/1": 4000, "tow/2": 6000})
HITCHED = draft("hitched", {"tow/1": 3700, "tow/2": 6800}) + draft("hitched", {"cart/1": 3000, "cart/2": 3300})


def loads(found: Findings, name: str) -> dict[str, Finding]:
    """The findings of a state that do not speak of axle 3."""
    own = {one.id: one for one in found.findings if one.id.startswith(f"{name}/") and ">" not in one.id}
    return {name: one for name, one in own.items() if "/3" not in name or "cart" in name}


def same(one: Finding, other: Finding) -> None:
    assert one.determined == other.determined, one.id
    if one.value is not None:
        figures, others = (one.value, one.u, one.low, one.high), (other.value, other.u, other.low, other.high)
        assert figures == pytest.approx(others, rel=2e-5, abs=1e-6), one.id


@pytest.mark.parametrize("more", ["", '[cargo.sand]\non = "tow"\nmass = 500\nx = 120\ny = 4\n'])
def test_an_axle_that_is_always_up_is_no_axle(more: str) -> None:
    """The same rig written without it, readings and all; hitching is felt through springs that are left."""
    aboard = 'cargo = ["sand"]\n' if more else ""
    states = [
        state("solo", up) + state("hitched", up, coupled=True) + (state("laden", up, coupled=True, cargo=aboard))
        for up in (UP, "")
    ]
    lifted = weigh(parse_day(SITE + rig() + more + states[0] + SOLO + HITCHED, "day.toml"))
    without = weigh(parse_day(SITE + rig(2) + more + states[1] + SOLO + HITCHED, "day.toml"))
    for name in ("solo", "hitched", "laden"):
        ours, theirs = loads(lifted, name), loads(without, name)
        assert ours.keys() == theirs.keys()
        assert ours[f"{name}/tow/axle/2"].determined
        for key, found in ours.items():
            same(found, theirs[key])
    up = lifted.get("hitched/tow/axle/3")
    assert up is not None
    assert (up.value, up.u) == (0.0, 0.0)
    assert lifted.consistency.dof == without.consistency.dof
    assert lifted.consistency.chi2 == pytest.approx(without.consistency.chi2, rel=1e-4, abs=1e-6)


def test_how_high_a_rig_with_its_axle_up_stands_when_it_is_hitched_does_not_hang_on_that_axle() -> None:
    """Predicted from the two vehicles alone: a trailer whose axles do not share load feels how high the ball is."""
    parked = '[states.parked]\nvehicles = ["cart"]\n'
    stand = draft("parked", {"cart/1": 3000, "cart/2": 3300}).replace(" }", ', "cart/coupling" = ["p5", 500] }')
    made = [
        weigh(
            parse_day(
                rig(axles) + state("solo", up) + parked + state("hitched", up, coupled=True) + SOLO + stand, "day"
            )
        )
        for axles, up in ((3, UP), (2, ""))
    ]
    ours, theirs = (loads(one, "hitched") for one in made)
    assert ours["hitched/cart/axle/1"].determined
    assert ours.keys() == theirs.keys()
    for key, found in ours.items():
        same(found, theirs[key])


def test_lifting_an_axle_shifts_its_load_as_two_supports_take_it() -> None:
    """Statics of two supports: the rear of two axles carries G x / 150, wherever the springs are."""
    down = draft("solo", {"tow/1": 4000, "tow/2": 4000, "tow/3": 2000})
    found = weigh(parse_day(rig() + state("solo") + state("raised", UP) + down, "day.toml"))
    rear = found.get("raised/tow/axle/2")
    assert rear is not None
    assert rear.value == pytest.approx((4000 * 150 + 2000 * 200) / 150 * POUND, abs=0.05)
    gross = [found.get(f"{name}/tow/gross") for name in ("solo", "raised")]
    assert gross[0] is not None
    assert gross[1] is not None
    assert (gross[0].value, gross[0].u) == pytest.approx((gross[1].value, gross[1].u))
    change = found.get("solo>raised/tow/axle/3")
    assert change is not None
    assert change.value == pytest.approx(-2000 * POUND, abs=0.05)


def test_it_does_not_matter_which_of_up_and_down_comes_first() -> None:
    down = draft("solo", {"tow/1": 4000, "tow/2": 4000, "tow/3": 2000})
    up = draft("raised", {"tow/1": 3340, "tow/2": 6660})
    one, other = (
        weigh(parse_day(rig() + "".join(states) + down + up, "day.toml"))
        for states in ((state("solo"), state("raised", UP)), (state("raised", UP), state("solo")))
    )
    assert one.consistency.dof == other.consistency.dof
    for name in ("solo", "raised"):
        for key, found in loads(one, name).items():
            match = other.get(key)
            assert match is not None
            same(found, match)
    told = one.get("solo/tow/axle/3")
    assert told is not None
    assert told.value == pytest.approx(2000 * POUND, abs=15.0)


def test_what_an_axle_would_carry_that_was_never_down_is_not_guessed() -> None:
    found = weigh(parse_day(rig() + state("solo", UP) + state("lowered") + SOLO, "day.toml"))
    for name in ("tow/axle/1", "tow/axle/3"):
        down = found.get(f"lowered/{name}")
        assert down is not None
        assert not down.determined
    gross = found.get("solo/tow/gross")
    assert gross is not None
    assert gross.determined
    places = {place for need in found.get("lowered/tow/axle/3").needs for place in need.places}  # type: ignore[union-attr]
    assert places
    assert not any(
        need.state == "solo" and "tow/3" in "".join(need.places) for one in found.findings for need in one.needs
    )


def test_a_what_if_keeps_the_axle_up() -> None:
    weighed = solve(parse_day(rig() + state("solo", UP) + SOLO, "day.toml"))
    place = (Quantity(150 * INCH, 0.0), Quantity(0.0, 0.0))
    item = Cargo("sand", "tow", mass=Quantity(100.0, 0.0), x=place[0], y=place[1])
    found = weighed.ask(Scenario("solo", add=(item,)), "more")
    rear, up = found.get("more/tow/axle/2"), found.get("more/tow/axle/3")
    assert rear is not None
    assert up is not None
    assert rear.value == pytest.approx(6000 * POUND + 100.0, abs=0.05)
    assert up.value == 0.0


def test_a_group_of_axles_leaves_out_those_that_are_up() -> None:
    day = parse_day(rig() + state("solo", UP) + state("hitched", UP, coupled=True) + SOLO, "day.toml")
    unit = Train(day, day.states["hitched"]).units[0]
    assert [(axle.vehicle.id, axle.number) for axle in unit.axles] == [("tow", 1), ("tow", 2), ("cart", 1), ("cart", 2)]
    assert str(unit.load(2, 3)) == "combination/axles/2-4"


def test_no_draft_is_planned_under_an_axle_that_is_up() -> None:
    """Two pads, 2 in high, under one axle after the other: blocks lie under the other wheels that are down."""
    day = parse_day(rig() + state("solo", UP) + state("down"), "day.toml")
    found = plan(day, ("solo/tow/gross <= 100 lb",), kit_of(day, ["p1", "p2"], planks=True), seconds=5.0)
    under = [place for offer in found.offers for place, _ in offer.placements]
    blocks = [str(wheel) for offer in found.offers for wheel in offer.blocks]
    assert sorted(under) == ["tow/1L", "tow/1R", "tow/2L", "tow/2R"]
    assert sorted(blocks) == sorted(under)
    assert not [place.place for place in places_of(day)["solo"] if "/3" in place.place]
    assert [place.place for place in places_of(day)["down"] if "/3" in place.place] == ["tow/3L", "tow/3R", "tow/3"]


def test_people_read_that_the_axle_is_up_not_that_it_carries_nothing() -> None:
    found = weigh(parse_day(rig() + state("solo", UP) + SOLO, "day.toml"))
    text = findings_text(found).splitlines()
    assert "axle 3 of tow up" in text
    assert next(line for line in text if line.startswith("  axle 3")).split() == ["axle", "3", "up"]
    drawing = above_svg(found, "solo")
    assert drawing.count(">up<") == 3  # two wheels and an axle
    assert "not determined" not in drawing


def test_the_file_is_written_as_it_was_read() -> None:
    day = parse_day(rig() + state("solo", UP) + state("hitched", UP, coupled=True) + SOLO, "day.toml")
    assert day.states["solo"].lifted == {"tow": frozenset({3})}
    assert parse_day(write_day(day), "again.toml").states == day.states


FAULTS = {
    'lifted = "tow/3"': 'states.solo.lifted: "tow/3": is not a list of axles; write lifted = ["tow/3"]',
    "lifted = [3]": 'lifted[1]: 3: is not an axle; name vehicle and axle, as in lifted = ["tow/3"]',
    'lifted = ["tow/3L"]': '"tow/3L": is not an axle; name vehicle and axle',
    'lifted = ["tow/4"]': "is not an axle of 'tow', which has 3, counted from 1",
    'lifted = ["tow/0"]': "is not an axle of 'tow', which has 3, counted from 1",
    'lifted = ["tow/3", "tow/3"]': "stands twice in the list; name each axle once",
    'lifted = ["tow/1"]': "is the front axle of a motor vehicle, which steers and is never up",
    'lifted = ["cart/1"]': "is of 'cart', which is not in this state; it has tow",
    'lifted = ["two/3"]': "tow",
    'lifted = ["tow/2"]': "is up in state 'solo' (lifted), so nothing is read there; leave it out",
}


@pytest.mark.parametrize("line", FAULTS)
def test_each_slip_is_told_once(line: str) -> None:
    with pytest.raises(DayFileError) as caught:
        parse_day(rig() + state("solo", line + "\n") + SOLO, "day.toml")
    told = str(caught.value).splitlines()
    assert FAULTS[line] in told[0]
    assert len(told) == (2 if "tow/2" in line else 1)  # both wheels of the axle were read


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('lifted = ["cart/1"]', "shares load through an equaliser with cart/2, which would take its side down"),
        ('lifted = ["cart/1", "cart/2"]', "lifts every axle of 'cart'; at least one stays on the ground"),
    ],
)
def test_an_equaliser_or_the_last_axle_does_not_go_up(line: str, message: str) -> None:
    shared = CART.replace('"800 lb/in" }', '"800 lb/in", group = "rear", sharing = "equalised" }')
    with pytest.raises(DayFileError) as caught:
        parse_day(rig().replace(CART, shared) + state("hitched", line + "\n", coupled=True), "day.toml")
    assert message in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1
