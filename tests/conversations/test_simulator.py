"""The rig on virtual pads: it drives on, settles, wobbles and drives off, the same each time."""

from __future__ import annotations

import math
from contextlib import aclosing
from itertools import pairwise

import pytest

from steelyard.capture import Manner, Pads, Sample, SimulatedPort, SimulatedRig, SimulatedStance
from tests.conversations.dialogue import kinds, run, values

DIVISION = 10.0
QUIET = Manner(wobble=0.0)


def rig(manner: Manner = QUIET, start: float = 0.0) -> SimulatedRig:
    stances = [SimulatedStance({"p1": 1340.0, "p2": 1352.0}, "front"), SimulatedStance({"p1": 980.0}, "rear")]
    return SimulatedRig(stances, {"p1": DIVISION, "p2": DIVISION}, manner, start=start)


def test_by_itself_it_goes_through_its_stances_over_and_over() -> None:
    virtual = rig()
    length = virtual.round_time
    assert length == 2 * 3.0 + 12.0 + 3.0
    for number, (first, second) in enumerate([(1340, 1350), (980, 0), (1340, 1350)]):
        standing = number * length + 3.0 + 3.0 + 11.0
        assert (virtual.shown("p1", standing), virtual.shown("p2", standing)) == (first, second)
        assert virtual.shown("p1", number * length + 1.0) == 0.0
    assert virtual.standing(10.0) is virtual.stances[0]
    assert virtual.standing(1.0) is None


def test_a_wheel_rolls_on_smoothly_swings_and_comes_to_rest() -> None:
    """No jump from one moment to the next; the swing falls below its share by 1/e in each decay time."""
    virtual = rig()
    virtual.drive_on(0, at=100.0)
    steps = [virtual.load("p1", 100.0 + n / 1000) for n in range(20000)]
    largest = max(abs(b - a) for a, b in pairwise(steps))
    swing = 1340 * 0.05 * 2 * math.pi * 1.4 / 1000
    rolling = 1340 * 1.5 / 3.0 / 1000
    assert largest <= max(swing, rolling) * 1.01
    after = [abs(load - 1340.0) for load in steps[3000:]]
    for n in (0, 800, 1600, 2400):
        assert max(after[n:]) <= 1340 * 0.05 * math.exp(-n / 800)
    assert virtual.shown("p1", 119.0) == 1340.0


def test_it_does_what_it_is_told() -> None:
    virtual = rig()
    virtual.drive_on(0, at=5.0)
    virtual.drive_on(1, at=30.0)
    virtual.drive_off(at=60.0)
    assert [virtual.shown("p2", at) for at in (0.0, 4.9, 25.0, 50.0, 90.0)] == [0.0, 0.0, 1350.0, 0.0, 0.0]
    assert [virtual.shown("p1", at) for at in (25.0, 50.0, 90.0)] == [1340.0, 980.0, 0.0]
    with pytest.raises(ValueError, match=r"told to move at 59.0 s, before the last word at 60.0 s"):
        virtual.drive_on(0, at=59.0)


def test_what_it_shows_depends_on_time_and_seed_alone() -> None:
    one, two = (rig(Manner(wobble=0.8)) for _ in range(2))
    times = [17.0 + n * 0.16 for n in range(50)]
    shown = [one.shown("p1", at) for at in times]
    assert shown == [two.shown("p1", at) for at in reversed(times)][::-1]
    assert len(set(shown)) > 2
    assert all(value % DIVISION == 0 for value in shown)


def test_a_rig_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="no division is given for p9"):
        SimulatedRig([SimulatedStance({"p9": 1.0})], {"p1": 10.0})
    with pytest.raises(ValueError, match=r"the division of p1 is 0.0; it must be more than zero"):
        SimulatedRig([], {"p1": 0.0})


def test_on_its_port_every_pad_is_heard_and_the_cable_can_be_pulled() -> None:
    async def main() -> None:
        now = 0.0

        def clock() -> float:
            return now

        port = SimulatedPort("pads", rig(), rate=1000, clock=clock)
        pads = Pads({"p1": DIVISION, "p2": DIVISION})
        seen: list[Sample] = []
        steady: set[str] = set()
        async with aclosing(port.samples()) as samples:
            async for sample in samples:
                seen.append(sample)
                if pads.see(sample).settled.steady and sample.value_kg:
                    steady.add(sample.channel)
                now += 0.08
                if now > 16.0:
                    break
            assert steady == {"p1", "p2"}
            assert {sample.channel for sample in seen} == {"p1", "p2"}
            assert values(seen)[-1] in (1340.0, 1350.0)
            port.unplug()
            dropped = [await anext(samples) for _ in range(2)]
            assert kinds(dropped) == ["dropped", "dropped"]
            port.plug()
            assert (await anext(samples)).value_kg is not None

    run(main())


def test_nobody_is_told_that_it_is_steady_while_it_rolls_and_soon_after_it_stands() -> None:
    """From the end of rolling, 67 kg of swing fall under half a division in 2.1 s; then one window of three."""
    for seed in range(20):
        virtual = SimulatedRig([SimulatedStance({"p1": 1340.0})], {"p1": DIVISION}, Manner(), seed=seed)
        pads = Pads({"p1": DIVISION})
        virtual.drive_on(0, at=5.0)
        virtual.drive_off(at=25.0)
        first = math.inf
        for number in range(200):
            at = number * 0.16
            settled = pads.see(Sample("p1", virtual.shown("p1", at), at)).settled
            if settled.steady and settled.value is not None:
                assert abs(settled.value - virtual.load("p1", at)) <= DIVISION
                if settled.value > 0:
                    first = min(first, at)
        assert 5.0 + 3.0 + 3.0 <= first <= 5.0 + 3.0 + 6.5
