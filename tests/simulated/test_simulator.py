"""The simulator against hand-worked statics, and against itself.

Expected numbers come from statics textbooks, from formulas worked here by hand, and from normal gravity; no number is
the simulator's own earlier output. Tolerances are the last digit that the source prints.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from tests.simulated.describe import (
    FREE,
    Cargo,
    Couple,
    Coupling,
    Day,
    Draft,
    Given,
    Instrument,
    Site,
    State,
    Vehicle,
    couple_of,
    exact,
    pairs_of_equalised,
    parameters,
    reference_state,
    trailers,
)
from tests.simulated.draw import draw_values, friction_modes, support_heights
from tests.simulated.rig import Loads, distribution, gravity, respond, slope_forces, solve, suspension, ties_roll
from tests.simulated.scenarios import CLEAN, KINDS, simulate, trailer, truck
from tests.simulated.truth import kind_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

FOOT = 12.0


def lb(value: float) -> Given:
    """An exact mass."""
    return exact(value, "lb")


def inch(value: float) -> Given:
    """An exact length."""
    return exact(value, "in")


def weightless(day: Day) -> dict[str, float]:
    """Values as declared, with vehicles that weigh nothing in their reference states: all load is cargo."""
    return {p.name: 0.0 if p.u == FREE else p.value for p in parameters(day)}


def plain(wheelbase: float, couplings: Mapping[str, Coupling] | None = None, track: float = 60.0) -> Vehicle:
    """A truck with exact geometry."""
    vehicle = truck(np.random.default_rng(1), couplings)
    places = (0.0, wheelbase)
    axles = tuple(replace(a, x=inch(x), track=inch(track)) for a, x in zip(vehicle.axles, places, strict=True))
    return replace(vehicle, axles=axles)


def textbook_pair(couple: Given | None) -> Loads:
    """Beer and Johnston's trailer of 2400 lb behind a truck of 2900 lb (problems 6.95 and 6.96 of older editions)."""
    hitch = {"ball": Coupling(type="ball", x=inch(12 * FOOT))}
    tow = plain(9 * FOOT, hitch)
    cart = trailer(11 * FOOT, 1, None)
    day = Day(
        title="Beer and Johnston",
        instruments={},
        vehicles={"tow": tow, "cart": cart},
        cargo={
            "truck": Cargo(on="tow", mass=lb(2900), x=inch(4 * FOOT), y=inch(0)),
            "load": Cargo(on="cart", mass=lb(2400), x=inch(9 * FOOT), y=inch(0)),
        },
        states={
            "bare": State(vehicles=("tow",)),
            "parked": State(vehicles=("cart",)),
            "hitched": State(
                vehicles=("tow", "cart"),
                couples=(Couple(towing="tow", at="ball", trailer="cart", distribution=couple),),
                cargo=("truck", "load"),
            ),
        },
        drafts=(),
    )
    return solve(day, weightless(day))["hitched"]


def test_hitched_trailer_of_a_textbook() -> None:
    """Beer and Johnston, Vector Mechanics: Statics, 6.95: printed 982, 935 and 733 lb at each wheel, hitch 436 lb."""
    loads = textbook_pair(None)
    assert loads.coupling["cart"] == pytest.approx(436.3636, abs=5e-5)
    assert loads.wheels["cart"] == pytest.approx([981.818] * 2, abs=5e-4)
    assert loads.wheels["tow"] == pytest.approx([732.828] * 2 + [935.354] * 2, abs=5e-4)


def test_weight_distribution_of_a_textbook() -> None:
    """Beer and Johnston, 6.96: a couple of 1945.946 lb ft adds 64.865 lb to every truck wheel: 1070, 709 and 870 lb."""
    loads = textbook_pair(exact(1945.946 * FOOT, "lb*in"))
    assert loads.wheels["cart"] == pytest.approx([1070.270] * 2, abs=5e-4)
    assert loads.wheels["tow"] == pytest.approx([870.420] * 2 + [709.309] * 2, abs=5e-4)
    assert sum(float(wheels.sum()) for wheels in loads.wheels.values()) == pytest.approx(5300)


def test_load_behind_the_rear_axle() -> None:
    """Meriam and Kraige: 437.105 lb 20 in behind the rear axle of a 3020 lb pickup puts 1728.553 lb on both axles."""
    day = Day(
        title="Meriam",
        instruments={},
        vehicles={"tow": plain(112)},
        cargo={
            "truck": Cargo(on="tow", mass=lb(3020), x=inch(45), y=inch(0)),
            "box": Cargo(on="tow", mass=lb(437.105), x=inch(132), y=inch(0)),
        },
        states={
            "bare": State(vehicles=("tow",)),
            "full": State(vehicles=("tow",), cargo=("truck", "box")),
        },
        drafts=(),
    )
    wheels = solve(day, weightless(day))["full"].wheels["tow"]
    assert wheels.reshape(2, 2).sum(axis=1) == pytest.approx([1728.553] * 2, abs=1e-3)


def parked(cart: Vehicle) -> Day:
    """A trailer on its wheels and a stand."""
    return Day(
        title="Parked", instruments={}, vehicles={"cart": cart}, states={"p": State(vehicles=("cart",))}, drafts=()
    )


def test_one_axle_of_a_tandem_raised() -> None:
    """A tandem pivoting at its coupling, front axle raised by e: k e x2^2/(x1^2+x2^2), -k e x1 x2/(x1^2+x2^2).

    With 182 and 218 in, 1500 lb/in for each axle and 1 in that is 1500 * 47524/80648 = 883.92, 1500 * 39676/80648 =
    737.95 and what is left, 145.97 lb (worked by hand).
    """
    day = parked(trailer(182, 2, "independent", ride=750))
    response = respond(day, "p", weightless(day))
    answer = response.heights @ [1.0, 1.0, 0.0, 0.0]
    assert [answer[:2].sum(), answer[2:4].sum(), answer[4]] == pytest.approx([883.92, -737.95, -145.97], abs=0.005)


def test_an_equaliser_forgets_a_raised_axle() -> None:
    """The same trailer with a balance beam: no wheel feels the height."""
    day = parked(trailer(182, 2, "equalised", ride=750))
    response = respond(day, "p", weightless(day))
    assert response.heights @ [1.0, 1.0, 0.0, 0.0] == pytest.approx(0.0, abs=1e-9)


def test_friction_in_a_group_moves_the_coupling_load() -> None:
    """Loads +d, -d on one side of a pair at x1 < x2: the group gains d (x2 - x1)/mean x, the coupling loses it."""
    day = parked(trailer(182, 2, "equalised", ride=750))
    answer = respond(day, "p", weightless(day)).friction @ [50.0, 0.0, -50.0, 0.0]
    gained = 50.0 * 36 / 200
    assert answer[4] == pytest.approx(-gained)
    assert answer[:4].sum() == pytest.approx(gained)
    assert answer[0] - answer[2] == pytest.approx(100.0)
    assert answer[1] == pytest.approx(answer[3])


def test_raising_the_coupling_of_a_tandem() -> None:
    """Raised by h at x = 0, the springs turn about it: the coupling gains k h (n - (sum x)^2/sum x^2), k per axle."""
    simulated = simulate("stand", 5)
    values = {p.name: simulated.drawn.values[p.name] if p.u == FREE else p.value for p in parameters(simulated.day)}
    loads = solve(simulated.day, values)
    x = np.array([200.0, 236.0])
    gained = 1500 * 1.5 * (2 - x.sum() ** 2 / (x**2).sum())
    assert loads["hitched"].coupling["stock"] - loads["parked"].coupling["stock"] == pytest.approx(gained)
    assert gained == pytest.approx(30.47, abs=0.005)  # 2250 lb * (2 - 190096/95696)


def test_gravity() -> None:
    """Normal gravity of the Geodetic Reference System 1980, printed to seven decimals; a height of 1 km included."""
    printed = {0: 9.7803268, 30: 9.7932487, 45: 9.8061992, 60: 9.8191784, 90: 9.8321864}
    assert {degree: gravity(degree, 0) for degree in printed} == pytest.approx(printed, abs=5.1e-8)
    assert gravity(44.1, 210) == pytest.approx(9.8047368, abs=1e-6)
    assert gravity(45, 1000) == pytest.approx(9.8031143, abs=1e-6)


@pytest.mark.parametrize(("along", "across"), [(0.02, 0.0), (0.0, 0.05)])
def test_slope(along: float, across: float) -> None:
    """8000 lb, 30 in high, on 140 in by 68 in: 2 % lengthwise moves 34.3 lb to the rear, 5 % crosswise 176.5 lb.

    W h tan(a)/L per unit of cos a (derived by hand).
    """
    vehicle = replace(plain(140, track=68.0), cg_height=inch(30))
    slopes = [exact(float(np.degrees(np.arctan(slope))), "deg") for slope in (along, across)]
    day = Day(
        title="Slope",
        instruments={},
        site=Site(slope_long=slopes[0], slope_lat=slopes[1]),
        vehicles={"tow": vehicle},
        cargo={"truck": Cargo(on="tow", mass=lb(8000), x=inch(60), y=inch(0))},
        states={"bare": State(vehicles=("tow",)), "full": State(vehicles=("tow",), cargo=("truck",))},
        drafts=(),
    )
    values = weightless(day)
    forces = slope_forces(day, "full", solve(day, values)["full"], values)
    moved = (respond(day, "full", values).forces @ forces).reshape(2, 2)
    upright = 1 / np.hypot(1, np.hypot(along, across))
    rear, left = 8000 * 60 / 140 * (upright - 1), 4000 * (upright - 1)
    assert moved[1].sum() - rear == pytest.approx(34.3 * upright if along else 0.0, abs=0.05)
    assert moved[:, 0].sum() - left == pytest.approx(-176.5 * upright if across else 0.0, abs=0.05)


def left_over(day: Day, state: str, loads: Loads, values: Mapping[str, float]) -> float:
    """Largest force [lb] or moment over 100 in [lb] that is not in balance on any body, couples of roll aside."""
    worst = 0.0
    roll = dict.fromkeys(day.states[state].vehicles, 0.0)
    for name in day.states[state].vehicles:
        body = suspension(day.vehicles[name], name, values)
        pressed = body.places.T @ loads.wheels[name] - loads.weight[name]
        if name in trailers(day, state):
            pressed[0] += loads.coupling[name]
            own = couple_of(day.states[state], name)
            pressed[1] -= 0.0 if own is None else distribution(state, own, values)
        for couple in day.states[state].couples:
            if couple.towing == name:
                x = values[f"{name}.{couple.at}.x"]
                pressed -= loads.coupling[couple.trailer] * np.array([1.0, x, 0.0])
                pressed[1] += distribution(state, couple, values)
        roll[name] = float(pressed[2])
        worst = max(worst, abs(pressed[0]), abs(pressed[1]) / 100)
    tied = any(ties_roll(day, couple) for couple in day.states[state].couples)
    unbalanced = [abs(sum(roll.values()))] if tied else [abs(moment) for moment in roll.values()]
    return max(worst, *(moment / 100 for moment in unbalanced))


@pytest.mark.parametrize("kind", CLEAN)
def test_every_body_stands_still(kind: str) -> None:
    """Forces and moments balance on every body in every state: cargo, coupling loads and couples included."""
    simulated = simulate(kind, 11)
    for state, loads in simulated.drawn.loads.items():
        assert left_over(simulated.day, state, loads, simulated.drawn.values) < 1e-6


def test_imbalance_is_noticed() -> None:
    """The balance above is a real condition: a pound too much on one wheel breaks it."""
    simulated = simulate("independent", 11)
    loads = simulated.drawn.loads["hitched"]
    loads.wheels["stock"][0] += 1.0
    assert left_over(simulated.day, "hitched", loads, simulated.drawn.values) == pytest.approx(2.0, abs=0.2)


@pytest.mark.parametrize("kind", CLEAN)
def test_supports_and_friction_cannot_change_the_weight(kind: str) -> None:
    """What heights and friction do is in balance by itself: nothing on any vehicle but through its couplings."""
    simulated = simulate(kind, 12)
    values = simulated.drawn.values
    for state, content in simulated.day.states.items():
        response = respond(simulated.day, state, values)
        wheels = np.array([name != "coupling" for _, name in response.rows])
        parked_alone = np.array([name == "coupling" and not content.couples for _, name in response.rows])
        for effect in (response.heights, response.friction):
            assert np.abs(effect[wheels | parked_alone].sum(axis=0)).max() < 1e-6


@pytest.mark.parametrize("kind", CLEAN)
def test_reference_loads_are_what_was_drawn(kind: str) -> None:
    """A vehicle's loads in its reference state are its free parameters, whatever its springs."""
    simulated = simulate(kind, 13)
    for name, vehicle in simulated.day.vehicles.items():
        loads = simulated.drawn.loads[reference_state(simulated.day, name)]
        drawn = [simulated.drawn.values[f"ref.{name}.{wheel}"] for wheel in vehicle.wheels]
        assert loads.wheels[name] == pytest.approx(drawn, abs=1e-6)
        if vehicle.role == "trailer":
            assert loads.coupling[name] == pytest.approx(simulated.drawn.values[f"ref.{name}.coupling"], abs=1e-6)


def energy_minimum(day: Day, state: str, values: Mapping[str, float], force: Array) -> Array:
    """Wheel loads that a force on the bodies makes, by the minimum of a potential energy and nothing else.

    Couplings, stands and balance beams are penalties a million times stiffer than a spring. The energy is quadratic:
    its gradient and curvature by finite differences are exact but for rounding.
    """
    names = list(day.states[state].vehicles)
    counts = [len(day.vehicles[name].wheels) for name in names]
    stiff = 1e9

    def unpack(z: Array) -> tuple[Array, list[Array]]:
        motions = z[: 3 * len(names)].reshape(-1, 3) * [1.0, 0.01, 0.01]
        return motions, np.split(z[3 * len(names) :], np.cumsum(counts)[:-1])

    def energy(z: Array) -> float:
        motions, travels = unpack(z)
        total = 0.0
        for index, (name, travel) in enumerate(zip(names, travels, strict=True)):
            total += _spring_energy(day.vehicles[name], name, values, travel, motions[index], stiff)
        for trailer_name in trailers(day, state):
            couple = couple_of(day.states[state], trailer_name)
            own = motions[names.index(trailer_name)]
            gap = own[0]
            if couple is not None:
                front = motions[names.index(couple.towing)]
                gap -= front[0] + values[f"{couple.towing}.{couple.at}.x"] * front[1]
                if ties_roll(day, couple):
                    total += 0.5 * values[f"{couple.towing}.{couple.at}.roll"] * (own[2] - front[2]) ** 2
            total += 0.5 * stiff * gap**2
        return total

    size = 3 * len(names) + sum(counts)
    unit = np.eye(size)
    single = np.array([energy(e) for e in unit])
    curvature = np.array([[energy(a + b) for b in unit] for a in unit]) - single[:, None] - single[None, :]
    pushed = np.zeros(size)
    pushed[: 3 * len(names)] = force * np.tile([1.0, 0.01, 0.01], len(names))
    _, travels = unpack(np.linalg.solve(curvature, pushed))
    return np.concatenate(
        [_felt(day.vehicles[name], name, values, travel) for name, travel in zip(names, travels, strict=True)]
    )


def _spring_energy(
    vehicle: Vehicle, name: str, values: Mapping[str, float], travel: Array, motion: Array, stiff: float
) -> float:
    """Springs and bars of one vehicle, and penalties that tie their travel to the body."""
    total = 0.0
    sinking: list[float] = []
    for index in range(len(travel)):
        key = f"{name}.{index // 2 + 1}"
        half = values[f"{key}.track"] / 2 * (1 if index % 2 == 0 else -1)
        sinking.append(float(motion @ [1.0, values[f"{key}.x"], half]))
        total += 0.5 * values[f"{key}.ride"] * travel[index] ** 2
    beamed = {axle for _, axles in pairs_of_equalised(vehicle) for axle in axles}
    groups = [axles for _, axles in pairs_of_equalised(vehicle)]
    groups += [[axle] for axle in range(len(vehicle.axles)) if axle not in beamed]
    for axles in groups:
        bar = sum(values[f"{name}.{axle + 1}.roll"] for axle in axles)
        twist = np.mean([(travel[2 * a] - travel[2 * a + 1]) / values[f"{name}.{a + 1}.track"] for a in axles])
        total += 0.5 * bar * float(twist) ** 2
        for side in (0, 1):
            total += 0.5 * stiff * sum(sinking[2 * a + side] - travel[2 * a + side] for a in axles) ** 2
    return total


def _felt(vehicle: Vehicle, name: str, values: Mapping[str, float], travel: Array) -> Array:
    """Wheel loads from spring travel: the spring's own force and its end of the bar."""
    loads = np.array([values[f"{name}.{index // 2 + 1}.ride"] * s for index, s in enumerate(travel)])
    beamed = {axle for _, axles in pairs_of_equalised(vehicle) for axle in axles}
    groups = [axles for _, axles in pairs_of_equalised(vehicle)]
    groups += [[axle] for axle in range(len(vehicle.axles)) if axle not in beamed]
    for axles in groups:
        bar = sum(values[f"{name}.{axle + 1}.roll"] for axle in axles)
        tracks = [values[f"{name}.{a + 1}.track"] for a in axles]
        twist = np.mean([(travel[2 * a] - travel[2 * a + 1]) / t for a, t in zip(axles, tracks, strict=True)])
        for a, track in zip(axles, tracks, strict=True):
            loads[[2 * a, 2 * a + 1]] += np.array([1, -1]) * bar * float(twist) / (track * len(axles))
    return loads


@pytest.mark.parametrize(("kind", "state"), [("triple", "hitched"), ("fifth_wheel", "crated"), ("double", "two")])
def test_loads_lie_at_the_least_energy(kind: str, state: str) -> None:
    """A second way to the same loads: least energy with stiff penalties, for a lopsided load on every vehicle."""
    simulated = simulate(kind, 14)
    values = simulated.drawn.values
    force = np.concatenate([[500.0, 500.0 * 90, 500.0 * 14]] * len(simulated.day.states[state].vehicles))
    response = respond(simulated.day, state, values)
    wheels = [index for index, (_, name) in enumerate(response.rows) if name != "coupling"]
    expected = energy_minimum(simulated.day, state, values, force)
    assert (response.forces @ force)[wheels] == pytest.approx(expected, abs=0.01)
    assert np.ptp(expected) > 50


def test_equalised_axles_share_changes() -> None:
    """Between states, both wheels of an equalised side change alike; those of an independent pair do not."""
    for kind, alike in (("weight_distribution", True), ("fifth_wheel", False)):
        simulated = simulate(kind, 15)
        before, after = [loads for loads in simulated.drawn.loads.values() if "stock" in loads.wheels][:2]
        change = after.wheels["stock"] - before.wheels["stock"]
        assert np.allclose(change[:2], change[2:], atol=1e-6) == alike


def test_a_trailer_first_loads_the_truck_it_is_hitched_to() -> None:
    """A ball behind the rear axle takes load off the front and adds more than its own load to the rear."""
    truth = simulate("equalised", 16).truth
    assert truth["solo>hitched/tow/axle/1"] < -200
    assert truth["solo>hitched/tow/axle/2"] > truth["hitched/coupling/load"]
    assert truth["solo>hitched/tow/gross"] == pytest.approx(truth["hitched/coupling/load"])


def test_findings_add_up() -> None:
    """Sums and differences among the true values, and the ids that the format names."""
    truth = simulate("double", 17).truth
    assert truth["two/stock/axle/1"] == pytest.approx(truth["two/stock/wheel/1L"] + truth["two/stock/wheel/1R"])
    sides = truth["two/stock/side/L"] + truth["two/stock/side/R"]
    assert truth["two/stock/axles"] == pytest.approx(sides)
    assert truth["two/stock/gross"] == pytest.approx(sides + truth["two/coupling/load"])
    assert truth["two/boat/gross"] == pytest.approx(truth["two/boat/axles"] + truth["two/coupling/2/load"])
    whole = sum(truth[f"two/{name}/axles"] for name in ("tow", "stock", "boat"))
    assert truth["two/combination/gross"] == pytest.approx(whole)
    assert truth["one>two/coupling/load"] == pytest.approx(truth["two/coupling/load"] - truth["one/coupling/load"])
    assert truth["two/coupling/2/share"] == pytest.approx(100 * truth["two/coupling/2/load"] / truth["two/boat/gross"])
    assert truth["one/tow/cg_x"] == pytest.approx(truth["solo/tow/cg_x"])
    assert {kind_of(key) for key in truth} == {"wheel", "axle", "side", "gross", "cg", "share", "coupling", "transfer"}
    assert "one/coupling/2/load" not in truth
    assert "solo/combination/gross" not in truth
    assert "one/stock/front_share" not in truth


@pytest.mark.parametrize("kind", KINDS)
def test_text_holds_the_readings(kind: str) -> None:
    """The text is TOML, and its readings are the draft's indications, in whole divisions."""
    simulated = simulate(kind, 18)
    data = tomllib.loads(simulated.text)
    for draft, shown, told in zip(simulated.day.drafts, simulated.drawn.indications, data["drafts"], strict=True):
        expected = {place: [pad, value] for (place, pad), value in zip(draft.readings, shown, strict=True)}
        assert told["readings"] == expected
        for (_, pad), value in zip(draft.readings, shown, strict=True):
            assert value % simulated.day.instruments[pad].division == 0


def test_text_says_what_was_declared() -> None:
    """Stated uncertainties are written, those the format supplies are not; unknowns are left out."""
    data = tomllib.loads(simulate("unknown_cargo", 3).text)
    assert data["cargo"]["stone"] == {"on": "tow"}
    assert data["cargo"]["drum"] == {"on": "tow", "x": "150 in", "y": "-20 in"}
    assert data["cargo"]["driver"]["mass"] == "190 lb +/- 2 lb"
    bars = tomllib.loads(simulate("weight_distribution", 3).text)["states"]
    assert bars["bars"]["couple"]["weight_distribution"] is True
    assert bars["bars_bales"]["couple"]["weight_distribution"] == {"as": "bars"}
    assert tomllib.loads(simulate("ground", 3).text)["drafts"][0]["unsupported"] == "ground"
    full = tomllib.loads(simulate("predicted", 3).text)["states"]["full"]
    assert full["change"] == {"water": {"level": "100 % +/- 1 %"}}
    assert simulate("stand", 3).text.count('height_change = "1.5 in +/- 0.15 in"') == 1


def test_seeds() -> None:
    """A seed always gives the same day, another seed another one, and another kind another one."""
    assert simulate("solo", 4).text == simulate("solo", 4).text
    assert simulate("solo", 4).truth != simulate("solo", 5).truth
    assert simulate("solo", 4).truth["full/tow/gross"] != simulate("slip_solo", 4).truth["full/tow/gross"]


def test_draws_scatter_as_declared() -> None:
    """Over 400 draws each parameter's standard score has mean 0 and deviation 1 within 4.5 standard errors."""
    day = simulate("fifth_wheel", 1).day
    free = {p.name: 1.0 for p in parameters(day) if p.u == FREE}
    rng = np.random.default_rng(2)
    drawn = [draw_values(day, free, rng) for _ in range(400)]
    for parameter in parameters(day):
        if parameter.u in {0.0, FREE}:
            continue
        scores = np.array([(values[parameter.name] - parameter.value) / parameter.u for values in drawn])
        assert abs(scores.mean()) < 4.5 / np.sqrt(400), parameter.name
        assert abs(scores.std() - 1) < 4.5 / np.sqrt(800), parameter.name


def test_friction_is_one_per_cent_of_the_side() -> None:
    """One standard deviation moves 1 % of a side's load from one wheel of the pair to the other."""
    simulated = simulate("equalised", 6)
    loads = simulated.drawn.loads["hitched"]
    left, right = friction_modes(simulated.day, "hitched", loads)
    side = simulated.truth["hitched/stock/side/L"]
    assert left[4:] == pytest.approx([0.01 * side, 0, -0.01 * side, 0])
    assert right[5] == pytest.approx(0.01 * simulated.truth["hitched/stock/side/R"])


def test_support_heights() -> None:
    """A wheel stands at its pad's height; one without a pad at the mean of the draft's pads, or on the ground."""
    rows = [("tow", wheel) for wheel in ("1L", "1R", "2L", "2R")]
    heights = {"height.p1": 2.0, "height.p2": 3.0}
    draft = Draft(state="s", readings=(("tow/1L", "p1"), ("tow/1R", "p2")))
    assert support_heights(draft, rows, heights) == pytest.approx([2.0, 3.0, 2.5, 2.5])
    assert support_heights(replace(draft, ground=True), rows, heights) == pytest.approx([2.0, 3.0, 0.0, 0.0])


def test_readings_scatter_as_declared() -> None:
    """Repeats of one day differ by repeatability, rounding and placement: the variance of the difference is known.

    Pads of 20 lb and 6 lb repeatability, supports of 0.04 in: 2 (36 + 400/12 + (0.04 |row of heights|)^2) lb2. The
    ratio of the observed mean square to that over 400 days has a standard error of sqrt(2/400) for each wheel.
    """
    squares: list[Array] = []
    for seed in range(400):
        simulated = simulate("solo", seed)
        first, second = (np.array(shown) for shown in simulated.drawn.indications)
        uneven = respond(simulated.day, "full", simulated.drawn.values).heights
        variance = 2 * (36 + 400 / 12 + (0.04**2) * (uneven**2).sum(axis=1))
        squares.append((first - second) ** 2 / variance)
    assert np.mean(squares, axis=0) == pytest.approx(np.ones(4), abs=4 * np.sqrt(2 / 400))


def test_slip_is_in_one_reading() -> None:
    """A day with a slip differs from what its loads explain in the named reading, by about 300 lb."""
    simulated = simulate("slip_solo", 9)
    slip = simulated.slip
    assert slip is not None
    places = [place for place, _ in simulated.day.drafts[slip.draft - 1].readings]
    errors = np.array(simulated.drawn.indications) - simulated.drawn.loads["full"].wheels["tow"]
    assert errors[slip.draft - 1][places.index(slip.place)] == pytest.approx(slip.added, abs=100)
    assert np.sum(np.abs(errors) > 150) == 1


def test_instruments_default() -> None:
    """The kinds rely on pads of 20 lb with 6 lb repeatability, on the border where repeats share no rounding."""
    assert Instrument().repeatability == pytest.approx(0.3 * Instrument().division)
