"""Instruments held against one another: only differences are known, and their intervals hold the truth."""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.model import Instrument, InstrumentKind, PermutedTest, RoundTest
from steelyard.verification import Comparison, Estimate, compare
from tests.verification.pads import Pad

NAMES: tuple[str, ...] = ("p1", "p2", "p3", "p4")
PADS = {name: Instrument(name, InstrumentKind.PAD, 10_000.0, 10.0) for name in NAMES}
SCATTERS: dict[str, float] = dict.fromkeys(NAMES, 3.0)


def walked(values: dict[str, list[float]]) -> RoundTest:
    return RoundTest({name: tuple(each) for name, each in values.items()})


def span(found: Comparison, name: str) -> Estimate:
    item = found.spans[name]
    assert item is not None
    return item


def test_spans_stand_against_the_mean_of_the_set() -> None:
    """4000 kg shown as 3980, 4000, 4020 and 4040: against their mean, 4010, by -30, -10, 10 and 30 kg."""
    values = {name: [3980.0 + 20.0 * k] for k, name in enumerate(NAMES)}
    found = compare([walked(values)], PADS, SCATTERS, {})
    assert not found.anchored
    for k, name in enumerate(NAMES):
        assert span(found, name).value == pytest.approx((20.0 * k - 30.0) / 4010.0, rel=1e-3)
    assert sum(span(found, name).value for name in NAMES) == pytest.approx(0.0, abs=1e-9)


def test_the_common_span_shows_nowhere() -> None:
    """All pads 1 % high: the same differences as before, to the last figure that counts."""
    values = {name: [3980.0 + 20.0 * k] for k, name in enumerate(NAMES)}
    high = {name: [value * 1.01 for value in each] for name, each in values.items()}
    plain, raised = (compare([walked(each)], PADS, SCATTERS, {}) for each in (values, high))
    for name in NAMES:
        assert span(raised, name).value == pytest.approx(span(plain, name).value, abs=1e-6)


def test_one_known_pad_makes_all_absolute() -> None:
    """p1 is known to read 0.5 % high; the others shown 20 kg apart at about 4000 kg are so against it."""
    values = {name: [4020.0 + 20.0 * k] for k, name in enumerate(NAMES)}
    found = compare([walked(values)], PADS, SCATTERS, {"p1": Estimate(0.005, 0.0005, 0.004, 0.006)})
    assert found.anchored
    for k, name in enumerate(NAMES[1:], 1):
        assert span(found, name).value == pytest.approx(1.005 * (4020.0 + 20.0 * k) / 4020.0 - 1.0, rel=2e-3)
        assert span(found, name).u > 0.0005


def test_pads_that_nothing_ties_together_are_not_determined() -> None:
    """Two pairs that never met, one of them known: the other has no span, and none is guessed."""
    tests = [walked({"p1": [4000.0], "p2": [4020.0]}), walked({"p3": [3000.0], "p4": [3020.0]})]
    found = compare(tests, PADS, SCATTERS, {"p1": Estimate(0.0, 0.0005, -0.001, 0.001)})
    assert span(found, "p2").value == pytest.approx(0.005, rel=1e-2)
    assert found.spans["p3"] is None
    assert found.spans["p4"] is None


def permuted(rng: np.random.Generator, pads: dict[str, Pad], shift: float) -> PermutedTest:
    """Four places, the pads moved on by one place each draft; the rig settles anew each time by ``shift`` [kg]."""
    loads = rng.uniform(1500.0, 3000.0, 4)
    drafts: list[dict[str, tuple[str, float]]] = []
    for turn in range(4):
        moved = shift * rng.standard_normal(4)
        moved -= moved.mean()
        drafts.append(
            {
                place: (NAMES[(k + turn) % 4], pads[NAMES[(k + turn) % 4]].shows(float(loads[k] + moved[k])))
                for k, place in enumerate(("1L", "1R", "2L", "2R"))
            }
        )
    return PermutedTest(tuple(drafts))


@pytest.mark.parametrize("shift", [0.0, 15.0])
def test_intervals_hold_the_truth_with_permuted_places(shift: float) -> None:
    """On firm ground, and where the wheels settle some 15 kg otherwise each time, which nobody declared."""
    rng, trials, held = np.random.default_rng(41), 150, 0
    for _ in range(trials):
        spans = rng.normal(0.0, 3e-3, 4)
        zeros = rng.uniform(-5.0, 5.0, 4)
        pads = {name: Pad(10.0, float(zeros[k]), float(spans[k]), 3.0, rng) for k, name in enumerate(NAMES)}
        found = compare([permuted(rng, pads, shift)], PADS, SCATTERS, {})
        for k, name in enumerate(NAMES):
            item = span(found, name)
            held += item.low <= spans[k] - spans.mean() <= item.high
        if shift > 0.0:
            assert found.spread > 1.0
    # the four of one trial lean on one another: a trial counts about once
    assert held / trials / 4 >= 0.95 - 4.0 * math.sqrt(0.95 * 0.05 / trials)


def test_intervals_hold_the_truth_with_a_load_walked_round() -> None:
    rng, trials, held = np.random.default_rng(43), 200, 0
    for _ in range(trials):
        spans = rng.normal(0.0, 3e-3, 4)
        load = float(rng.uniform(2000.0, 5000.0))
        pads = [Pad(10.0, float(rng.uniform(-5.0, 5.0)), float(each), 3.0, rng) for each in spans]
        values = {name: [pads[k].shows(load) for _ in range(3)] for k, name in enumerate(NAMES)}
        found = compare([walked(values)], PADS, SCATTERS, {})
        item = span(found, "p2")
        held += item.low <= spans[1] - spans.mean() <= item.high
    assert held / trials >= 0.95 - 4.0 * math.sqrt(0.95 * 0.05 / trials)


def test_repeats_of_a_steady_pad_share_their_rounding() -> None:
    """Ten identical readings of a pad that hardly scatters say no more than one; of one that scatters, they do."""
    one = {name: [4000.0] for name in NAMES}
    ten = {name: [4000.0] * 10 for name in NAMES}
    steady: dict[str, float] = dict.fromkeys(NAMES, 0.5)
    shaky: dict[str, float] = dict.fromkeys(NAMES, 4.0)
    once, often = (span(compare([walked(each)], PADS, steady, {}), "p1").u for each in (one, ten))
    assert often == pytest.approx(once, rel=0.02)
    once, often = (span(compare([walked(each)], PADS, shaky, {}), "p1").u for each in (one, ten))
    assert often < 0.8 * once
