"""When a load counts as steady: rates of false alarm and of patience over simulated motion.

The motions are drawn here, apart from the simulator. Each study runs many loads that differ in where the load lies
between two divisions of one kilogram, in phase and in noise; the bounds leave room for chance, the seeds are fixed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

import pytest

from steelyard.capture import Sample, Settled, Settling, Trouble, TroubleKind

Motion = Callable[[float, float], float]
"""Load over time [divisions], of time [s] and a phase from 0 to 1."""

RATE = 6.25  # samples a second: 50 from eight channels


@dataclass(frozen=True)
class Rates:
    """Over all runs: the share of samples called steady once a window is full, of those how many are off by more than
    a division, and the times to the first steady word, in order.
    """

    steady: float
    off: float
    first: list[float]

    def by(self, share: float) -> float:
        """The time by which a share of the runs was called steady [s]."""
        return self.first[min(int(len(self.first) * share), len(self.first) - 1)]


def study(motion: Motion, noise: float, *, runs: int = 60, seconds: float = 20.0) -> Rates:
    """Follow many loads in one kind of motion."""
    steady = off = judged = 0
    first: list[float] = []
    for run in range(runs):
        random, settling = Random(run), Settling(1.0)
        between, phase = random.random(), random.random()
        begun = math.inf
        for number in range(int(seconds * RATE)):
            at = number / RATE
            true = 1000 + between + motion(at, phase)
            says = settling.add(Sample("p", float(round(random.gauss(true, noise))), at))
            if at > 3.1:
                judged += 1
                steady += says.steady
                off += says.steady and says.value is not None and abs(says.value - true) > 1.0
            if says.steady:
                begun = min(begun, at)
        first.append(begun)
    return Rates(steady / judged, off / max(steady, 1), sorted(first))


def still(_at: float, _phase: float) -> float:
    return 0.0


@pytest.mark.parametrize("noise", [0.0, 0.1, 0.2, 0.3])
def test_a_load_that_stands_is_steady_at_once_and_stays_so(noise: float) -> None:
    """Whatever its place between two divisions: flicker over an edge is no motion."""
    rates = study(still, noise)
    assert rates.by(0.95) <= 3.2
    assert rates.steady >= 0.99
    assert rates.off == 0.0


def test_noise_of_a_division_is_never_steady_and_half_of_one_mostly_is() -> None:
    assert study(still, 1.0).steady <= 0.02
    assert 0.6 <= study(still, 0.5).steady <= 0.95


@pytest.mark.parametrize("height", [1.5, 2.0, 3.0, 5.0, 10.0])
@pytest.mark.parametrize("frequency", [0.3, 0.5, 1.0, 1.4, 2.0, 3.0])
def test_a_swaying_load_is_not_steady(height: float, frequency: float) -> None:
    def sway(at: float, phase: float) -> float:
        return height * math.sin(2 * math.pi * (frequency * at + phase))

    assert study(sway, 0.2, runs=30).steady <= 0.01


def test_a_sway_slower_than_the_window_is_believed_at_its_turning_points_and_is_then_nearly_right() -> None:
    """What ten seconds hold cannot be seen in three; the value kept is off by more than a division in few cases."""

    def slow(at: float, phase: float) -> float:
        return 2.0 * math.sin(2 * math.pi * (0.1 * at + phase))

    rates = study(slow, 0.2)
    assert 0.05 <= rates.steady <= 0.25
    assert rates.off <= 0.25


@pytest.mark.parametrize("speed", [-2.0, -0.5, 0.5, 1.0, 5.0])
def test_a_creeping_load_is_not_steady(speed: float) -> None:
    assert study(lambda at, _: speed * at, 0.2, runs=30).steady <= 0.01


def test_a_creep_that_rounding_hides_does_not_matter() -> None:
    rates = study(lambda at, _: 0.1 * at, 0.2)
    assert rates.steady >= 0.95
    assert rates.off == 0.0


@pytest.mark.parametrize(("decay", "patience"), [(1.0, 8.5), (3.0, 16.0)])
def test_a_settling_load_is_steady_when_what_is_left_is_little(decay: float, patience: float) -> None:
    """From 50 divisions off, ``50 exp(-t / decay)`` falls to half a division in 4.6 decays; then one window."""
    rates = study(lambda at, _: -50 * math.exp(-at / decay), 0.2, seconds=40)
    assert 4.6 * decay <= rates.by(0.5) <= rates.by(0.95) <= patience
    assert rates.off <= 0.002


def follow(
    values: list[float], *, division: float = 1.0, pause: float = 0.2, mark: bool | None = None
) -> list[Settled]:
    settling = Settling(division)
    return [settling.add(Sample("p", value, n * pause, mark)) for n, value in enumerate(values)]


def test_what_it_says_in_words() -> None:
    said = follow([100.0] * 20)
    assert said[5].why == "Watching: 1.0 of 3 s, 6 readings."
    assert said[-1] == Settled(True, 100.0, 0.0, 0.0, "Steady for 3.0 s: drift +0.0 divisions, scatter 0.0.")
    rising = follow([100.0 + n for n in range(20)])
    assert rising[-1].why == "Moving: the last reading is +8.0 divisions from the middle one."
    # The last 16 of 20 readings go from 100 to 103 in steps; the slope of their line is 0.956 a second.
    slow = follow([100.0 + n // 5 for n in range(20)])
    assert slow[-1].why == "Moving: +2.9 divisions in 3.0 s; 0.75 is steady."
    # 0, 1, 2 in turn: a variance of 2/3 over 16 readings, 14 degrees of freedom.
    restless = follow([100.0 + n % 3 for n in range(31)])
    assert restless[-1].why == "Restless: scatter 0.9 divisions; 0.6 is steady."


def test_drift_and_scatter_are_those_of_the_line() -> None:
    """A ramp of half a division a second, 16 readings: slope 0.5 kg/s exactly, no scatter."""
    said = follow([n * 0.1 for n in range(16)], division=10.0)[-1]
    assert said.drift == pytest.approx(0.5)
    assert said.scatter == pytest.approx(0.0, abs=1e-9)
    # Alternating by one about a level: sums by hand, 16 readings, variance about the line 16 * 0.25 - s^2 / tt over 14.
    said = follow([float(n % 2) for n in range(16)], division=10.0)[-1]
    tt = sum((n * 0.2 - 1.5) ** 2 for n in range(16))
    tl = sum((n * 0.2 - 1.5) * (n % 2 - 0.5) for n in range(16))
    assert said.drift == pytest.approx(tl / tt)
    assert said.scatter == pytest.approx(math.sqrt((4.0 - tl**2 / tt) / 14))


def test_a_leap_ends_it_at_once() -> None:
    said = follow([100.0] * 20 + [102.0])
    assert said[-2].steady
    assert not said[-1].steady
    assert said[-1].value == 100.0


def test_the_value_is_one_that_was_shown() -> None:
    said = follow([100.0, 101.0] * 15)
    assert said[-1].steady
    assert said[-1].value in (100.0, 101.0)


def test_the_mark_that_it_moves_asks_for_twice_the_window_and_is_mentioned() -> None:
    said = follow([100.0] * 40, mark=False)
    assert [each.steady for each in said] == [False] * 30 + [True] * 10
    assert said[-1].why.endswith("The instrument's own mark says that it moves.")


def test_the_mark_that_it_stands_proves_nothing() -> None:
    assert not any(each.steady for each in follow([100.0 + n for n in range(40)], mark=True))
    assert follow([100.0] * 40, mark=True)[-1].why.endswith("The instrument says so too.")


def test_a_trouble_ends_the_window_and_is_the_reason() -> None:
    settling = Settling(1.0)
    for n in range(30):
        settling.add(Sample("p", 5.0, n * 0.2))
    broken = settling.add(Sample("p", None, 6.0, trouble=Trouble(TroubleKind.DROPPED, "The cable is out.")))
    assert broken == Settled(False, None, None, None, "The cable is out.")
    assert not settling.add(Sample("p", 5.0, 6.2)).steady


def test_readings_that_come_slowly_are_waited_for() -> None:
    """One a second: six readings, five seconds; and a pause of a minute begins anew."""
    assert [each.steady for each in follow([7.0] * 7, pause=1.0)] == [False] * 5 + [True] * 2
    assert not any(each.steady for each in follow([7.0] * 7, pause=60.0))


def test_a_clock_set_back_begins_anew() -> None:
    settling = Settling(1.0)
    for n in range(30):
        settling.add(Sample("p", 5.0, 100 + n * 0.2))
    assert not settling.add(Sample("p", 5.0, 3.0)).steady


def test_a_division_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a division of 0 kg; it must be more than zero"):
        Settling(0)
