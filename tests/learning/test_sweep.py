"""What is learned of channels: slopes against an independent fit, plateaus, doubts, and the arms of a rig."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from steelyard.dayfile import parse_day
from steelyard.learning import Channels, ChannelSum, LoadPlace, Sweep, SweepError, arms_of, influences
from steelyard.learning.doubt import doubt_of, wave_variance
from steelyard.learning.plateaus import plateaus
from steelyard.model import parse_place
from steelyard.units import Quantity
from tests.simulated.sweep import Plan, day_text
from tests.simulated.sweep import run as simulated

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    from scipy import odr

Array = NDArray[np.float64]
FRONT, REAR = ChannelSum(np.array([1.0, 1.0, 0.0, 0.0])), ChannelSum(np.array([0.0, 0.0, 1.0, 1.0]))


def channels(values: Array, *, division: float = 20.0, repeatability: float = 6.0, span: float = 0.0) -> Channels:
    width = values.shape[1]
    return Channels(
        tuple("abcdefgh"[:width]),
        values,
        np.full(width, division),
        np.full(width, repeatability),
        np.full(width, 60.0),
        np.full(width, span),
        (),
        np.ones(width, dtype=bool),
    )


def table(plan: Plan, seed: int) -> Array:
    made = simulated(plan, np.random.default_rng(seed))
    return np.array([[float(cell) for cell in row.split(",")[1:5]] for row in made.log.splitlines()[1:]])


@pytest.mark.parametrize("seed", range(4))
def test_slopes_agree_with_orthogonal_distance_regression(seed: int) -> None:
    """Many flickering samples need no plateaus: ODRPACK on the samples themselves finds the same line."""
    values = table(Plan("steps", 900, 20.0, 8.0, 8.0), seed)
    slope = Sweep(channels(values, repeatability=8.0)).slope(FRONT, REAR)
    x, y = values[:, 2:].sum(axis=1), values[:, :2].sum(axis=1)
    data = odr.RealData(x - x.mean(), y - y.mean(), sx=np.full(len(x), 14.0), sy=np.full(len(y), 14.0))
    found = odr.ODR(data, odr.Model(lambda line, at: line[0] * at + line[1]), beta0=[-0.2, 0.0]).run()
    assert slope.value is not None
    assert slope.u is not None
    assert slope.value == pytest.approx(found.beta[0], abs=0.4 * slope.u)
    assert slope.u == pytest.approx(float(found.sd_beta[0]), rel=0.6)


def test_a_long_wait_is_not_many_measurements() -> None:
    """Waiting ten times as long at each step makes rounding no smaller where nothing flickers."""
    rng = np.random.default_rng(3)
    loads = np.concatenate([[0.0], np.cumsum(rng.uniform(60.0, 160.0, 8))])
    values = (
        np.round((np.array([2000.0, 2050.0, 1500.0, 1540.0]) + np.outer(loads, [-0.15, -0.16, 0.65, 0.66])) / 20) * 20
    )
    short, long = (
        Sweep(channels(np.repeat(values, times, axis=0), repeatability=0.0)).slope(FRONT, REAR) for times in (3, 30)
    )
    assert short.u is not None
    assert long.u == pytest.approx(short.u, rel=1e-6)
    assert long.value == pytest.approx(short.value, rel=1e-9)


def test_flicker_lets_a_long_wait_count() -> None:
    short, long = (
        Sweep(channels(table(Plan("steps", count, 20.0, 9.0, 9.0), 5), repeatability=9.0)).slope(FRONT, REAR)
        for count in (90, 1800)
    )
    assert short.u is not None
    assert long.u is not None
    assert long.u < short.u / 2.5


def test_the_order_of_columns_and_a_turn_of_time_change_nothing() -> None:
    values = table(Plan("steps", 270, 20.0, 4.0, 4.0), 2)
    plain = Sweep(channels(values)).slope(FRONT, REAR)
    swapped = Sweep(channels(values[:, [2, 0, 3, 1]])).slope(
        ChannelSum(np.array([0.0, 1.0, 0.0, 1.0])), ChannelSum(np.array([1.0, 0.0, 1.0, 0.0]))
    )
    assert swapped.value == pytest.approx(plain.value, rel=1e-9)
    assert swapped.u == pytest.approx(plain.u, rel=1e-9)
    turned = Sweep(channels(values[::-1].copy())).slope(FRONT, REAR)
    assert turned.value == pytest.approx(plain.value, rel=5e-3)


def test_a_slope_times_its_inverse_is_one() -> None:
    sweep = Sweep(channels(table(Plan("steps", 270, 20.0, 4.0, 4.0), 8)))
    there, back = sweep.slope(FRONT, REAR), sweep.slope(REAR, FRONT)
    assert there.value is not None
    assert back.value is not None
    assert there.value * back.value == pytest.approx(1.0, rel=1e-9)


def test_a_common_span_takes_nothing_from_a_slope_and_a_single_one_does() -> None:
    values = table(Plan("steps", 2700, 2.0, 2.0, 2.0), 4)
    base = channels(values, division=2.0, repeatability=2.0)
    everyone = np.ones(4, dtype=bool)
    common = Channels(
        *[getattr(base, name) for name in base.__dataclass_fields__ if name not in {"sets", "loads"}],
        sets=((everyone, 0.01),),
        loads=base.loads,
    )
    own = channels(values, division=2.0, repeatability=2.0, span=0.01)
    plain, shared, alone = (Sweep(one).slope(FRONT, REAR).u for one in (base, common, own))
    assert plain is not None
    assert alone is not None
    assert shared == pytest.approx(plain, rel=1e-6)
    assert alone == pytest.approx(0.2 * 0.01, rel=0.8)
    assert alone > 2.0 * plain


def test_what_does_not_move_is_not_determined() -> None:
    values = table(Plan("steps", 270, 20.0, 4.0, 4.0), 6)
    values[:, 0] = values[0, 0]
    sweep = Sweep(channels(values))
    slope = sweep.slope(ChannelSum(np.array([0.0, 0.0, 1.0, 0.0])), ChannelSum(np.array([1.0, 0.0, 0.0, 0.0])))
    assert (slope.value, slope.u, slope.low, slope.high) == (None, None, None, None)
    other = sweep.slope(ChannelSum(np.array([1.0, 0.0, 0.0, 0.0])), ChannelSum(np.array([0.0, 0.0, 1.0, 0.0])))
    assert other.value == pytest.approx(0.0, abs=1e-12)


def mixed(values: Array, division: Array) -> Channels:
    """Channels of still instruments with these divisions."""
    base = channels(np.round(values / division) * division, repeatability=0.0)
    fields = {name: getattr(base, name) for name in base.__dataclass_fields__}
    return Channels(**{**fields, "division": division})


COARSE = np.array([20.0, 20.0, 20.0, 20.0, 5.0])
GAINS = np.array([0.30, -0.03, 0.30, -0.03, 0.46])


def test_a_fine_instrument_beside_coarse_ones_is_not_taken_for_stuck() -> None:
    """The others tell where it should be only to within their own rounding, which is several of its divisions."""
    rng = np.random.default_rng(5)
    for _ in range(200):
        loads = np.cumsum(rng.uniform(40.0, 400.0, 9))
        weights = rng.uniform(1400.0, 2400.0, 5) + np.outer(np.repeat(loads, 9), GAINS)
        Sweep(mixed(weights, COARSE))


def test_an_instrument_that_saturates_is_refused_all_the_same() -> None:
    rng = np.random.default_rng(6)
    refused = 0
    for _ in range(50):
        loads = np.cumsum(rng.uniform(100.0, 400.0, 9))
        weights = rng.uniform(1400.0, 2400.0, 5) + np.outer(np.repeat(loads, 9), GAINS)
        weights[:, 4] = np.minimum(weights[:, 4], weights[5 * 9, 4])
        try:
            Sweep(mixed(weights, COARSE))
        except SweepError as error:
            refused += "e stays at its largest value" in str(error)
    assert refused >= 48


def test_friction_widens_the_interval_and_is_told_as_a_factor() -> None:
    values = table(Plan("there and back", 1000, 2.0, 2.0, 2.0), 9)
    sticking = np.where(np.arange(len(values)) < len(values) / 2, 0.0, 30.0)
    plain = Sweep(channels(values, division=2.0, repeatability=2.0)).slope(FRONT, REAR)
    held = values.copy()
    held[:, 0] += sticking
    stuck = Sweep(channels(held, division=2.0, repeatability=2.0)).slope(FRONT, REAR)
    assert plain.factor == 1.0
    assert stuck.factor > 3.0
    assert plain.u is not None
    assert stuck.u is not None
    assert stuck.u > 3.0 * plain.u


def test_squares_of_expanded_uncertainties_add_up_where_scatter_and_spans_doubt_a_slope() -> None:
    """What the scatter about the line tells has the quantile of t at its own degrees of freedom, spans have the
    normal one; quantiles from scipy. Welch and Satterthwaite would have the square of the interval a tenth smaller.
    """
    values = table(Plan("steps", 9, 2.0, 12.0, 2.0), 3)
    plain, spanned = (
        Sweep(channels(values, division=2.0, repeatability=2.0, span=span)).slope(FRONT, REAR) for span in (0.0, 0.06)
    )
    assert plain.factor == spanned.factor > 1.0
    assert spanned.line is not None
    assert spanned.line.dof < 10
    normal = stats.norm.ppf(0.975) ** 2
    for slope in (plain, spanned):
        assert plain.u is not None
        assert slope.u is not None
        assert slope.low is not None
        assert slope.high is not None
        share = (plain.u / slope.u) ** 2
        expected = normal + share * (stats.t.ppf(0.975, spanned.line.dof) ** 2 - normal)
        assert ((slope.high - slope.low) / 2.0 / slope.u) ** 2 == pytest.approx(expected, rel=0.02)
    assert spanned.u is not None
    assert plain.u is not None
    assert 0.3 < (plain.u / spanned.u) ** 2 < 0.7


def test_plateaus_are_the_steps_and_a_load_met_again_is_one_of_them() -> None:
    loads = np.repeat([0.0, 300.0, 600.0, 300.0, 0.0], 12)
    values = np.round((2000.0 + np.outer(loads, [-0.3, 1.3])) / 20) * 20
    found = plateaus(values, np.full(2, 20.0))
    assert sorted(found.counts.tolist()) == [12.0, 24.0, 24.0]
    assert sorted(found.means[:, 1].tolist()) == sorted(set(values[:, 1].tolist()))


def test_the_variance_of_rounding_is_all_there_without_flicker_and_gone_with_it() -> None:
    still, little, much = (float(wave_variance(np.array([scatter])).sum()) for scatter in (0.0, 0.1, 0.5))
    assert still == pytest.approx(1.0 / 12.0, rel=1e-12)
    assert little == pytest.approx(np.exp(-((0.2 * np.pi) ** 2)) / (2 * np.pi**2), rel=0.1)
    assert much < 1e-4


def test_flicker_is_seen_through_the_divisions() -> None:
    values = table(Plan("steps", 1800, 20.0, 6.0, 6.0), 1)
    doubt = doubt_of(channels(values), plateaus(values, np.full(4, 20.0)))
    assert doubt.share == pytest.approx(np.full(4, 0.3), abs=0.05)


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (np.zeros((2, 2)), "has 2 samples; a sweep takes three or more"),
        (np.zeros((9, 1)), "has one place only; a slope takes two places that carry load"),
        (
            np.full((9, 2), 40.0),
            "shows one distinct load in all its 9 samples; put on more, step by step, while the log runs",
        ),
    ],
)
def test_what_teaches_nothing(values: Array, message: str) -> None:
    with pytest.raises(SweepError) as caught:
        Sweep(channels(values))
    assert str(caught.value) == message


# -- where the load stands -------------------------------------------------------------------------------------------

RIG = (
    day_text(Plan("steps", 9, 20.0, 0.0, 0.0)).split("[states.solo]")[0]
    + """
[vehicles.cart]
role = "trailer"
[[vehicles.cart.axles]]
x = "120 in"
track = "70 in"
[vehicles.cart.couplings.rear]
type = "KIND"
x = "180 in"
[vehicles.dolly]
role = "trailer"
[[vehicles.dolly.axles]]
x = "90 in"
track = "60 in"
[states.train]
vehicles = ["truck", "cart", "dolly"]
couple = [
  { towing = "truck", at = "ball", trailer = "cart" },
  { towing = "cart", at = "rear", trailer = "dolly" },
]
[states.parked]
vehicles = ["cart"]
"""
)


@pytest.mark.parametrize("kind", ["ball", "fifth_wheel"])
@pytest.mark.parametrize(("vehicle", "x", "y"), [("truck", 190.0, 11.0), ("cart", 60.0, -9.0), ("dolly", 30.0, 5.0)])
def test_arms_find_the_load_that_the_operator_put_there(kind: str, vehicle: str, x: float, y: float) -> None:
    """Balance alone, without any spring, gives back the place that went into the operator with all its springs."""
    day = parse_day(RIG.replace("KIND", kind), "train.toml")
    state, inch = day.states["train"], 0.0254
    supports = [(name, wheel) for name in state.vehicles for wheel in day.vehicles[name].wheels]
    places = [parse_place(f"{name}/{wheel}", day.vehicles) for name, wheel in supports]
    gains = influences(day, state, LoadPlace(vehicle, Quantity(x * inch), Quantity(y * inch)), places).values
    arms = arms_of(day, state, vehicle)
    assert arms is not None
    assert gains.sum() == pytest.approx(1.0, abs=1e-9)
    assert sum(gain * arms[at].along for gain, at in zip(gains, supports, strict=True)) == pytest.approx(x * inch)
    assert sum(gain * arms[at].across for gain, at in zip(gains, supports, strict=True)) == pytest.approx(y * inch)


def test_a_parked_trailer_is_held_by_its_stand_too() -> None:
    day = parse_day(RIG.replace("KIND", "ball"), "train.toml")
    state, inch = day.states["parked"], 0.0254
    supports = [("cart", "1L"), ("cart", "1R"), ("cart", "coupling")]
    places = [parse_place(f"{name}/{what}", day.vehicles) for name, what in supports]
    gains = influences(day, state, LoadPlace("cart", Quantity(40 * inch), Quantity(0.0)), places).values
    arms = arms_of(day, state, "cart")
    assert arms is not None
    assert set(arms) == set(supports)
    assert gains[2] == pytest.approx(80.0 / 120.0)
    assert sum(gain * arms[at].along for gain, at in zip(gains, supports, strict=True)) == pytest.approx(40 * inch)


def test_bars_that_answer_to_load_leave_the_place_open() -> None:
    text = RIG.replace("KIND", "ball").replace(
        'trailer = "cart" }',
        'trailer = "cart", weight_distribution = true, weight_distribution_rate = "9000 lb*in/rad" }',
    )
    day = parse_day(text, "train.toml")
    assert arms_of(day, day.states["train"], "truck") is None


@pytest.mark.parametrize("kind", ["one wheel alone", "from nothing", "one step", "back and forth"])
def test_odd_loads_give_finite_figures_or_none(kind: str) -> None:
    rng = np.random.default_rng(11)
    for many in (3, 7, 40):
        base, time = rng.integers(20, 300, 4) * 20.0, np.arange(many)
        values = {
            "one wheel alone": base + np.outer(time * 40.0, [1.0, 0.0, 0.0, 0.0]),
            "from nothing": np.outer(time * 40.0, [0.0, 1.0, 0.0, 0.0]),
            "one step": base + np.outer(400.0 * (time >= many // 2), [1.0, 0.0, 0.0, 1.0]),
            "back and forth": base + np.outer(time % 2, [-60.0, -80.0, 400.0, 420.0]),
        }[kind]
        sweep = Sweep(channels(values))
        for above, below in ((FRONT, REAR), (REAR, FRONT), (FRONT, ChannelSum(np.ones(4)))):
            slope = sweep.slope(above, below)
            figures = [part for part in (slope.value, slope.u, slope.low, slope.high) if part is not None]
            assert len(figures) in (0, 4)
            assert all(np.isfinite(part) for part in figures)
            assert slope.low is None or slope.high is None or slope.low <= slope.high


def test_readings_without_any_line_teach_nothing_sure() -> None:
    rng = np.random.default_rng(11)
    values = np.round(rng.uniform(0.0, 700.0, (40, 4))) * 20.0
    with pytest.raises(SweepError) as caught:
        Sweep(channels(values))
    assert str(caught.value).startswith("shows one load only: no place moved by more than its own doubt;")
