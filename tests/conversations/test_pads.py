"""All channels together: overload by the capacity, and a stuck value told from a load that stands."""

from __future__ import annotations

import pytest

from steelyard.capture import Live, Pads, Sample, Trouble, TroubleKind

DIVISION = 10.0


class Day:
    """Pads and a clock: every step shows one value on every channel."""

    def __init__(self, *channels: str, capacity: float | None = None) -> None:
        capacities = {} if capacity is None else dict.fromkeys(channels, capacity)
        self.pads = Pads(dict.fromkeys(channels, DIVISION), capacities=capacities)
        self.at = 0.0

    def show(self, seconds: float, **values: float) -> dict[str, Live]:
        """The same values for some time, five samples a second; what was said last."""
        said: dict[str, Live] = {}
        for _ in range(int(seconds * 5)):
            self.at += 0.2
            said = {channel: self.pads.see(Sample(channel, value, self.at)) for channel, value in values.items()}
        return said


def trouble(live: Live) -> TroubleKind | None:
    return live.sample.trouble.kind if live.sample.trouble is not None else None


def test_a_standing_load_repeats_itself_for_ten_minutes_and_is_no_fault() -> None:
    day = Day("p1", "p2")
    said = day.show(600, p1=1340.0, p2=1350.0)
    assert said["p1"].settled.steady
    assert said["p2"].settled.value == 1350.0


def test_an_empty_pad_repeats_itself_while_others_work_and_is_no_fault() -> None:
    day = Day("p1", "p2")
    for _ in range(4):
        day.show(5, p1=1340.0, p2=0.0)
        day.show(5, p1=0.0, p2=0.0)
    said = day.show(1, p1=0.0, p2=0.0)
    assert trouble(said["p2"]) is None
    assert said["p2"].settled.steady


def test_a_value_that_stays_while_every_other_pad_went_empty_and_back_is_stuck() -> None:
    day = Day("p1", "p2", "p3")
    day.show(5, p1=1340.0, p2=1350.0, p3=990.0)
    said = day.show(5, p1=0.0, p2=0.0, p3=990.0)
    assert trouble(said["p3"]) is None  # once may be a trailer that stays behind
    said = day.show(5, p1=1360.0, p2=1330.0, p3=990.0)
    assert trouble(said["p3"]) is TroubleKind.STUCK
    assert said["p3"].sample.value_kg is None
    assert not said["p3"].settled.steady
    assert said["p3"].settled.why == (
        "p3 has not changed by one division while every other loaded pad went empty and back; its value may be stuck. "
        "Step on it to see it move, or say that it does stand still."
    )
    assert said["p1"].settled.steady
    assert trouble(day.show(1, p1=1360.0, p2=1330.0, p3=1000.0)["p3"]) is None


def test_two_pads_under_what_stays_behind_are_not_stuck() -> None:
    """A parked trailer on two pads: neither moved, and neither is the only one that did not."""
    day = Day("p1", "p2", "p3", "p4")
    for _ in range(3):
        day.show(5, p1=1340.0, p2=1350.0, p3=990.0, p4=980.0)
        day.show(5, p1=0.0, p2=0.0, p3=990.0, p4=980.0)
    said = day.show(1, p1=0.0, p2=0.0, p3=990.0, p4=980.0)
    assert trouble(said["p3"]) is None
    assert trouble(said["p4"]) is None


def test_a_person_may_believe_it_until_it_changes() -> None:
    day = Day("p1", "p2")
    for _ in range(2):
        day.show(5, p1=1340.0, p2=990.0)
        day.show(5, p1=0.0, p2=990.0)
    assert trouble(day.show(1, p1=0.0, p2=990.0)["p2"]) is TroubleKind.STUCK
    day.pads.believe("p2")
    said = day.show(5, p1=0.0, p2=990.0)
    assert said["p2"].settled.steady


def test_more_than_the_capacity_is_an_overload() -> None:
    """Up to nine divisions above it may still be shown; more is no reading."""
    day = Day("p1", capacity=9000.0)
    assert trouble(day.show(1, p1=9090.0)["p1"]) is None
    said = day.show(1, p1=9100.0)["p1"]
    assert trouble(said) is TroubleKind.OVERLOAD
    assert said.settled.why == "Overload: p1 shows 101% of its capacity. Take the load off."


def test_a_channel_that_nobody_announced_is_followed_too() -> None:
    said = Pads({}, division=20.0).see(Sample("p9", 40.0, 0.0))
    assert said.channel == "p9"
    assert said.settled.value == 40.0


def test_a_sample_with_a_trouble_carries_no_value() -> None:
    with pytest.raises(ValueError, match=r"a sample with a trouble \(stuck\) carries no value, not 5.0"):
        Sample("p", 5.0, 0.0, trouble=Trouble(TroubleKind.STUCK, "It is stuck."))
