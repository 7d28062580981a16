"""Several days solved together, held against one generalised least squares over all their readings, written out here.

Source of the check: the normal equations of the whole system (Aitken's generalised least squares), every unknown and
every statement in one matrix.
"""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, Blocks, Linear, Propagation, adjust, solve
from steelyard.adjustment.several.join import DayPart, JointAdjustment, SharedFunction, SharedUnknowns, Stated
from steelyard.adjustment.several.same import SharedThings
from steelyard.dayfile import parse_day
from tests.simulated.two_rigs import HEAD, one_rig, pads, rig, weighed

SPAN, TAPED = Stated(0.2, 0.5), Stated(-0.1, 0.3)


class Day:
    """A made-up linear day: three free loads, a span and a taped length known beforehand."""

    def __init__(self, dice: np.random.Generator, readings: int, span: Stated = SPAN) -> None:
        self.design = dice.normal(size=(readings, 5))
        self.values = dice.normal(size=readings) * 3.0
        self.variances = dice.uniform(0.5, 2.0, readings)
        self.priors = np.array([np.nan, np.nan, np.nan, span.u, TAPED.u])
        self.starts = np.array([0.0, 0.0, 0.0, span.value, TAPED.value])
        blocks = Blocks.independent(self.variances)
        at = self.starts
        white = blocks.whiten(np.column_stack([self.design, self.values - self.design @ at]))
        self.solution = solve(white[:, :-1], white[:, -1], self.priors, np.zeros(5))
        self.unknowns = at + self.solution.step
        self.propagation = Propagation(self.solution, blocks, self.design, np.zeros(0))

    def part(self, *shared: SharedFunction) -> DayPart:
        return DayPart(self.propagation, Linear(self.unknowns.copy(), np.eye(5)), shared)


def function(day: Day, at: int, known: Stated | None, **of: float) -> SharedFunction:
    links: dict[Hashable, float] = {**of}
    gradient = np.zeros(5)
    gradient[at] = 1.0
    return SharedFunction(gradient, float(day.unknowns[at]), known, links)


Array = NDArray[np.float64]


def whole(days: list[Day], same: tuple[int, int], extra: Array, means: Array, variances: Array) -> tuple[Array, Array]:
    """Estimates and covariance of all days in one system.

    ``same`` are two unknowns that are one; ``extra`` are further observations over all unknowns.
    """
    count = 5 * len(days)
    weight, pull = np.zeros((count, count)), np.zeros(count)
    for number, day in enumerate(days):
        here = slice(5 * number, 5 * number + 5)
        weight[here, here] += day.design.T @ (day.design / day.variances[:, None])
        pull[here] += day.design.T @ (day.values / day.variances)
    weight += extra.T @ (extra / variances[:, None])
    pull += extra.T @ (means / variances)
    merged = np.delete(np.eye(count), same[1], axis=1)
    merged[same[1]] = merged[same[0]]
    covariance = np.linalg.inv(merged.T @ weight @ merged)
    return merged @ covariance @ merged.T @ pull, merged @ covariance @ merged.T


def test_a_span_that_two_days_share_is_one_unknown() -> None:
    dice = np.random.default_rng(5)
    days = [Day(dice, 7), Day(dice, 6)]
    unknowns = SharedUnknowns()
    unknowns.add("span", SPAN)
    joint = JointAdjustment([day.part(function(day, 3, SPAN, span=1.0)) for day in days], unknowns)
    extra = np.zeros((3, 10))
    extra[0, 3] = extra[1, 4] = extra[2, 9] = 1.0
    means = np.array([SPAN.value, TAPED.value, TAPED.value])
    expected, covariance = whole(days, (3, 8), extra, means, np.array([SPAN.u**2, TAPED.u**2, TAPED.u**2]))
    found = np.concatenate([day.values for day in joint.days])
    assert found == pytest.approx(expected, rel=1e-7, abs=1e-7)
    rows = [(day, row) for day in range(2) for row in range(5)]
    for first, a in enumerate(rows):
        for second, b in enumerate(rows):
            _, u, _ = joint.of({a: 1.0, b: -1.0}) if a != b else joint.of({a: 1.0})
            turned = np.zeros(10)
            turned[first] = 1.0
            if a != b:
                turned[second] = -1.0
            assert u**2 == pytest.approx(float(turned @ covariance @ turned), rel=1e-6, abs=1e-10)


@pytest.mark.parametrize("doubts", [(0.5, 0.5), (0.5, 0.8), (0.8, 0.5)])
def test_one_statement_with_two_doubts_counts_once_with_the_larger(doubts: tuple[float, float]) -> None:
    """A standard that two files doubt differently is one standard: nothing was found out twice."""
    dice = np.random.default_rng(21)
    said = [Stated(SPAN.value, u) for u in doubts]
    days = [Day(dice, 6, one) for one in said]
    unknowns = SharedUnknowns()
    for one in said:
        unknowns.add("span", one)
    joint = JointAdjustment(
        [day.part(function(day, 3, one, span=1.0)) for day, one in zip(days, said, strict=True)], unknowns
    )
    extra = np.zeros((3, 10))
    extra[0, 3] = extra[1, 4] = extra[2, 9] = 1.0
    means = np.array([SPAN.value, TAPED.value, TAPED.value])
    expected, covariance = whole(days, (3, 8), extra, means, np.array([0.8**2 if 0.8 in doubts else 0.25, 0.09, 0.09]))
    assert np.concatenate([day.values for day in joint.days]) == pytest.approx(expected, rel=1e-7, abs=1e-7)
    for (day, row), at in {(0, 0): 0, (0, 3): 3, (1, 1): 6, (1, 3): 8}.items():
        assert joint.of({(day, row): 1.0})[1] == pytest.approx(float(np.sqrt(covariance[at, at])), rel=1e-7)


def test_a_figure_copied_in_other_units_is_no_second_one() -> None:
    """176 in and 4470 mm are one taping (the second is rounded by 0.4 mm); 4480 mm is another."""
    unknowns = SharedUnknowns()
    for one in (Stated(4.4704, 0.00635), Stated(4.47, 0.00635), Stated(4.48, 0.00635), Stated(4.4704, 0.00635)):
        unknowns.add("tape", one)
    assert unknowns.known("tape") == [Stated(4.47, 0.00635), Stated(4.48, 0.00635)]


def test_a_length_taped_twice_counts_twice_and_an_unchanged_load_ties_two_days() -> None:
    dice = np.random.default_rng(8)
    days = [Day(dice, 7), Day(dice, 6)]
    other = Stated(0.3, 0.2)
    unknowns = SharedUnknowns()
    for one in (TAPED, other):
        unknowns.add("tape", one)
    unknowns.add("load")
    unknowns.add("moved", Stated(0.0, 0.05))
    parts = [
        days[0].part(function(days[0], 4, TAPED, tape=1.0), function(days[0], 1, None, load=1.0)),
        days[1].part(function(days[1], 4, TAPED, tape=1.0), function(days[1], 2, None, load=1.0, moved=1.0)),
    ]
    joint = JointAdjustment(parts, unknowns)
    extra = np.zeros((5, 10))
    extra[0, 3] = extra[1, 8] = extra[2, 4] = extra[3, 4] = 1.0
    extra[4, 1], extra[4, 7] = -1.0, 1.0
    means = np.array([SPAN.value, SPAN.value, TAPED.value, other.value, 0.0])
    variances = np.array([SPAN.u**2, SPAN.u**2, TAPED.u**2, other.u**2, 0.05**2])
    expected, covariance = whole(days, (4, 9), extra, means, variances)
    found = np.concatenate([day.values for day in joint.days])
    assert found == pytest.approx(expected, rel=1e-6, abs=1e-6)
    _, u, _ = joint.of({(0, 1): 1.0, (1, 2): -1.0})
    turned = np.zeros(10)
    turned[1], turned[7] = 1.0, -1.0
    assert u**2 == pytest.approx(float(turned @ covariance @ turned), rel=1e-4)
    draws = joint.draws([(0, 1), (1, 2)], 40_000, seed=1)
    assert np.cov(draws.T)[0, 1] == pytest.approx(covariance[1, 7], rel=0.05)


def test_another_form_of_one_day_is_as_if_all_were_joined_anew() -> None:
    dice = np.random.default_rng(13)
    days = [Day(dice, 7), Day(dice, 6), Day(dice, 8)]
    other = Day(dice, 9)
    unknowns = SharedUnknowns()
    unknowns.add("span", SPAN)
    parts = [day.part(function(day, 3, SPAN, span=1.0)) for day in (*days, other)]
    found = JointAdjustment(parts[:3], unknowns).under(1, parts[3])
    expected = JointAdjustment([parts[0], parts[3], parts[2]], unknowns)
    for wanted in ({(0, 0): 1.0}, {(1, 2): 1.0}, {(2, 1): 1.0, (1, 0): -1.0}):
        assert found.of(wanted) == pytest.approx(expected.of(wanted), rel=1e-12)


HEAVY = ((602.0, 611.0, 540.0, 533.0), (588.0, 596.0, 594.0, 588.0), (655.0, 640.0))
LIGHT = ((510.0, 515.0, 480.0, 470.0), (497.0, 501.0, 531.0, 521.0), (652.0, 646.0))


def gross(adjustment: Adjustment, vehicle: str, state: str = "hitched") -> Linear:
    """The gross of a vehicle in a state, and its derivatives by the unknowns."""
    layout = adjustment.layout
    index = layout.level[state]
    row = np.zeros(layout.outputs)
    out = layout.wheels_out[index][vehicle]
    row[out.start : out.stop] = 1.0
    if vehicle in layout.coupling_out[index]:
        row[layout.coupling_out[index][vehicle]] = 1.0
    return Linear(np.array([row @ adjustment.loads.values]), row[None, :] @ adjustment.loads.jacobian)


def two_days(keys: str, *, tippers: tuple[str, str] = ("tipper-9", "tipper-9")) -> JointAdjustment:
    """The two rigs, each on a day of its own; quantity 0 of a day is the gross of its trailer."""
    sharing = SharedThings()
    parts: list[DayPart] = []
    for number, (loads, tipper) in enumerate(zip((HEAVY, LIGHT), tippers, strict=True)):
        adjustment = adjust(parse_day(one_rig(number, loads, keys, tipper=tipper), "day.toml"))
        parts.append(DayPart(adjustment.propagation, gross(adjustment, "tip"), sharing.of(adjustment, number)))
    return JointAdjustment(parts, sharing.unknowns)


def test_two_files_say_what_one_file_of_both_rigs_says() -> None:
    """A second method: both rigs in one weigh day, where the pads are the same pads anyway."""
    first, second = (weighed(f"tow{mark}", f"tip{mark}", mark, loads) for mark, loads in (("a", HEAVY), ("b", LIGHT)))
    rigs = rig("towa", "tipa", serial="hauler-0") + rig("towb", "tipb", serial="hauler-1", tipper="tipper-10")
    text = HEAD.format(number=0) + pads() + rigs + first[0] + second[0] + first[1] + second[1]
    one = adjust(parse_day(text, "both.toml"))
    a, b = gross(one, "tipa", "ahitched"), gross(one, "tipb", "bhitched")
    expected = one.propagation.of(Linear(a.values - b.values, a.gradients - b.gradients))
    value, u, _ = two_days('serial = "{name}-77"', tippers=("tipper-9", "tipper-10")).of({(0, 0): 1.0, (1, 0): -1.0})
    assert value == pytest.approx(float(expected.values[0]), abs=0.02)
    assert u == pytest.approx(float(expected.u[0]), rel=0.02)  # scatter is learned from both rigs there, from each here


def test_what_two_days_share_cancels_in_their_difference() -> None:
    doubts = {
        keys: two_days(keys).of({(0, 0): 1.0, (1, 0): -1.0})[1]
        for keys in (
            "",
            'serial = "{name}-77"',
            'serial = "{name}-77"\nspan_drift = "1 %"\nverified = 2026-05-01',
            'standard = "M-12"\nstandard_uncertainty = "1 %"',
            'serial = "{name}-77"\nset = "a"\nset_uncertainty = "1 %"',
            'set = "a"\nset_uncertainty = "1 %"',
        )
    }
    alone, same, drifting, standard, in_a_set, sets_apart = doubts.values()
    assert same < 0.7 * alone
    assert drifting == pytest.approx(same, rel=1e-6)  # neither day has a date, so that nothing is known of the time
    assert standard == pytest.approx(alone, rel=0.01)
    assert in_a_set == pytest.approx(same, rel=0.01)
    assert sets_apart > 1.5 * alone
