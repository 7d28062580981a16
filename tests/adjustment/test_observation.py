"""What a reading's doubt is made of, against the same put together by hand, one support after the other.

Source: design of the observations: rounding, repeatability, placement through the operator, friction of equalised
groups in balance, shared rounding of repeats that did not move. Tolerance: 1e-9 relative.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from steelyard.adjustment import adjust
from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.assumed import REPEATABILITY, UNEVENNESS, UNEVENNESS_UNKNOWN, repeatability, unevenness
from steelyard.adjustment.solve import Array
from steelyard.dayfile import parse_day
from steelyard.model import Instrument, InstrumentKind, Site, Vehicle
from steelyard.statics import Change, ride_rate, roll_rate, tie_rate
from steelyard.units import Quantity
from tests.adjustment.dense import whole
from tests.invariants.rich_days import RICH
from tests.published.days import HEAD, Pounds, draft, pad, platform, truck

POUND = 0.45359237


def solved(text: str) -> Adjustment:
    return adjust(parse_day(text, "day.toml"))


def held(text: str) -> Adjustment:
    """A day whose springs are known exactly, so that one operator tells all of what uneven ground does."""
    day = parse_day(text, "day.toml")

    def exact(vehicle: Vehicle) -> Vehicle:
        axles = [
            replace(
                axle, ride_rate=Quantity(ride_rate(axle).value, 0.0), roll_rate=Quantity(roll_rate(axle).value, 0.0)
            )
            for axle in vehicle.axles
        ]
        couplings = {
            name: replace(one, roll_rate=Quantity(tie_rate(one).value, 0.0)) for name, one in vehicle.couplings.items()
        }
        return replace(vehicle, axles=tuple(axles), couplings=couplings)

    return adjust(replace(day, vehicles={name: exact(one) for name, one in day.vehicles.items()}))


def by_hand(found: Adjustment) -> Array:
    """Covariance of the readings without friction: supports raised one by one, placement by placement."""
    observations, rig = found.observations, found.rig
    rows = observations.items
    covariance = np.zeros((len(rows), len(rows)))
    height = unevenness(rig.day.site)[0]
    for placement in {item.placement for item in rows}:
        members = [row for row, item in enumerate(rows) if item.placement == placement]
        operator = rig.operators[rows[members[0]].draft.state]
        for name, body in operator.bodies.items():
            for wheel in range(body.layout.wheels):
                moved = operator.solve(Change(supports={name: height * np.eye(body.layout.wheels)[wheel]}))
                felt = np.zeros(len(rows))
                for row in members:
                    place = rows[row].reading.place
                    felt[row] = sum(moved.wheels[w.vehicle][2 * (w.axle - 1) + (w.side == "R")] for w in place.wheels)
                    felt[row] += sum(moved.couplings[trailer] for trailer in place.couplings)
                covariance += np.outer(felt, felt)
    for row, item in enumerate(rows):
        covariance[row, row] += item.instrument.division**2 / 12 + repeatability(item.instrument)[0] ** 2
    return covariance


@pytest.mark.parametrize("name", ["tandem", "double", "stand", "fifth wheel", "cargo"])
def test_placement_rounding_and_repeatability(name: str) -> None:
    found = held(RICH[name])
    covariance = whole(found.observations.covariance(found.loads).blocks)
    expected = by_hand(found)
    assert np.abs(covariance - expected).max() < 1e-6 * np.abs(expected).max()
    assert np.abs(expected - np.diag(np.diag(expected))).max() > 1.0


def test_repeats_that_did_not_move_share_their_placement() -> None:
    """Drafts 5 and 6 of the tandem day, same pads, same places: correlated; draft 3 stood elsewhere."""
    found = solved(RICH["tandem"])
    rows = [row for row, item in enumerate(found.observations.items) if item.reading.place.text == "cart/1L"]
    numbers = [found.observations.items[row].draft.number for row in rows]
    covariance = whole(found.observations.covariance(found.loads).blocks)
    at = dict(zip(numbers, rows, strict=True))
    assert abs(covariance[at[3], at[5]]) < 1e-6
    placed = covariance[at[5], at[5]] - (10 * POUND) ** 2 / 12 - (4 * POUND) ** 2
    assert covariance[at[5], at[6]] == pytest.approx(placed, rel=1e-6)


@pytest.mark.parametrize(("scatter", "shared"), [(2.9, True), (3.1, False)])
def test_repeats_that_scatter_too_little_share_their_rounding(scatter: float, shared: bool) -> None:
    """Under 0.3 divisions of scatter the same load rounds the same way again."""
    text = RICH["tandem"].replace('repeatability = "4 lb"', f'repeatability = "{scatter} lb"')
    found = solved(text)
    items = found.observations.items
    first, again = (
        row
        for row, item in enumerate(items)
        if item.placement == "named again" and item.reading.place.text == "cart/1L"
    )
    covariance = whole(found.observations.covariance(found.loads).blocks)
    own = (scatter * POUND) ** 2 + (0.0 if shared else (10 * POUND) ** 2 / 12)
    assert covariance[first, first] - covariance[first, again] == pytest.approx(own, rel=1e-4)


def friction_by_hand(found: Adjustment) -> Array:
    """Covariance that friction adds: 1 % of a side's load from wheel to wheel, in balance through the whole rig."""
    observations, rig = found.observations, found.rig
    rows = observations.items
    covariance = np.zeros((len(rows), len(rows)))
    for placement in {item.placement for item in rows}:
        members = [row for row, item in enumerate(rows) if item.placement == placement]
        state = rows[members[0]].draft.state
        operator = rig.operators[state]
        if "cart" not in operator.bodies:
            continue
        out = observations.increments.layout.wheels_out[rows[members[0]].stance]["cart"]
        travel = operator.bodies["cart"].travel
        for side in (0, 1):
            pair = [side, 2 + side]
            shift = np.zeros(4)
            shift[pair] = 0.01 * found.loads.values[out][pair].sum() * np.array([1.0, -1.0])
            moved = operator.solve(Change(loads={"cart": tuple(-travel.T @ shift)}))
            moved.wheels["cart"] += shift
            felt = np.zeros(len(rows))
            for row in members:
                place = rows[row].reading.place
                felt[row] = sum(moved.wheels[w.vehicle][2 * (w.axle - 1) + (w.side == "R")] for w in place.wheels)
            covariance += np.outer(felt, felt)
    return covariance


@pytest.mark.parametrize("name", ["bars", "plate"])
def test_friction_within_the_sides_of_an_equalised_group(name: str) -> None:
    found = held(RICH[name])
    covariance = whole(found.observations.covariance(found.loads).blocks)
    expected = by_hand(found) + friction_by_hand(found)
    assert np.abs(covariance - expected).max() < 1e-6 * np.abs(expected).max()
    assert np.abs(friction_by_hand(found)).max() > 100.0


def test_friction_cannot_change_the_weight() -> None:
    """Its parts add up to nothing over all wheels of the combination."""
    found = solved(RICH["bars"])
    operator = found.rig.operators["off"]
    wheels, _ = operator.release()
    assert np.abs(wheels.sum(axis=0)).max() < 1e-9


def test_a_gross_read_in_one_draft_is_free_of_its_supports() -> None:
    """A hundred times rougher ground: the same u of the gross, and wheels that drown in it."""
    pads = "".join(pad(f"p{n}") for n in range(1, 5))
    four = {f"tow/{w}": (f"p{n}", 2000.0) for n, w in enumerate(("1L", "1R", "2L", "2R"), 1)}
    parts = (pads, truck(0, 140), '[states.full]\nvehicles = ["tow"]\n', draft("full", four))
    even, rough = (Pounds(HEAD.replace("0 mm", f"{mm} mm"), *parts) for mm in (1, 100))
    assert rough.u("full/tow/gross") == pytest.approx(even.u("full/tow/gross"), rel=1e-9)
    assert rough.u("full/tow/wheel/1L") > 20 * even.u("full/tow/wheel/1L")
    assert rough.u("full/tow/axle/1") == pytest.approx(even.u("full/tow/axle/1"), rel=1e-6)


def test_the_span_cancels_in_a_transfer_with_the_same_pad_at_the_same_wheel() -> None:
    """Span 1 % of 5000 lb is 50 lb on each total, and 1 % of 200 lb on their difference."""
    scale = platform("s1", division=1, more='span_uncertainty = "1 %"\nrepeatability = "0 lb"')
    states = '[states.before]\nvehicles = ["tow"]\n[states.after]\nvehicles = ["tow"]\ncargo = ["load"]\n'
    cargo = '[cargo.load]\non = "tow"\n'
    drafts = draft("before", {"tow": ("s1", 5000)}) + draft("after", {"tow": ("s1", 5200)})
    day = Pounds(HEAD, scale, truck(0, 140), cargo, states, drafts)
    assert day.u("before/tow/gross") == pytest.approx(50.0, abs=0.01)
    assert day.u("before>after/tow/gross") == pytest.approx(math.hypot(2.0, 1 / math.sqrt(6)), rel=1e-3)


def test_instruments_verified_together_share_a_span() -> None:
    """Four pads of a set: the set's error adds up over the gross, their own errors do not."""
    told = 'span_uncertainty = "0.1 %"\nset = "case"\nset_uncertainty = "0.2 %"\nrepeatability = "0 lb"'
    pads = "".join(pad(f"p{n}", division=0.1, more=told) for n in range(1, 5))
    four = {f"tow/{w}": (f"p{n}", 2000.0) for n, w in enumerate(("1L", "1R", "2L", "2R"), 1)}
    day = Pounds(HEAD, pads, truck(0, 140), '[states.full]\nvehicles = ["tow"]\n', draft("full", four))
    assert day.u("full/tow/gross") == pytest.approx(math.hypot(0.002 * 8000, 0.001 * 2000 * 2), rel=1e-3)


def test_a_zero_is_shared_by_all_readings_of_a_pad() -> None:
    """Two drafts do not average it away."""
    scale = platform(
        "s1", division=0.1, more='span_uncertainty = "0 %"\nrepeatability = "0 lb"\nzero_uncertainty = "8 lb"'
    )
    once = draft("full", {"tow": ("s1", 5000)})
    day = Pounds(HEAD, scale, truck(0, 140), '[states.full]\nvehicles = ["tow"]\n', once * 4)
    assert day.u("full/tow/gross") == pytest.approx(8.0, rel=1e-4)


def test_what_is_assumed_where_nothing_is_said() -> None:
    """Declared doubt counts 60 degrees of freedom, assumed doubt 4."""
    plain = Instrument("p", InstrumentKind.PAD, 9000.0, 10.0)
    assert repeatability(plain) == (REPEATABILITY * 10.0, 4.0)
    assert repeatability(Instrument("p", InstrumentKind.PAD, 9000.0, 10.0, repeatability=0.0)) == (0.0, 60.0)
    assert unevenness(Site(unevenness=0.0)) == (0.0, 60.0)
    assert unevenness(Site(surface="Gravel ")) == (UNEVENNESS["gravel"], 4.0)
    assert unevenness(Site()) == (UNEVENNESS_UNKNOWN, 4.0)
