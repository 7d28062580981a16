"""Teaching by example: a few lines of a box nobody has heard of, and then lines that it was not shown."""

from __future__ import annotations

from random import Random

import pytest

from steelyard.capture import Example, Shown, Teaching, pattern_from_json, pattern_to_json, teach
from steelyard.units import UNITS
from tests.conversations.boxes import BOXES, Box, Load


def loads(box: Box, count: int, seed: int) -> list[Load]:
    """Loads as a rig makes them, every pad and both marks among them from the fourth on."""
    random = Random(seed)
    step = 10.0**-box.decimals
    made: list[Load] = []
    for number in range(count):
        value = round(random.choice([random.uniform(20, 400), random.uniform(1000, box.largest)]) / step) * step
        if box.negative and number % 7 == 5:
            value = -round(random.uniform(10, 90) / step) * step
        channel = box.channels[number % len(box.channels)] if box.channels else ""
        steady = number % 3 != 2
        made.append(Load(round(value, box.decimals), steady, channel))
    return made


def examples(box: Box, count: int = 8, seed: int = 11) -> list[Example]:
    """Lines with what the box showed, unit left to the line where it says it."""
    return [
        Example(
            box.line(load),
            (
                Shown(
                    load.value,
                    unit=box.unit or "lb",
                    channel=f"pad {load.channel}" if load.channel else None,
                    steady=load.steady if box.marks else None,
                ),
            ),
        )
        for load in loads(box, count, seed)
    ]


@pytest.mark.parametrize("box", BOXES, ids=lambda box: box.name)
def test_a_taught_box_is_read(box: Box) -> None:
    taught = teach(examples(box), name=box.name)
    assert taught.proposals, taught.questions
    best = taught.proposals[0]
    assert best.read == 8, best.notes
    pattern = best.pattern
    factor = UNITS[box.unit or "lb"].factor
    for load in loads(box, 60, seed=5):
        line = box.line(load)
        (reading,) = pattern.read(line).readings
        assert reading.trouble is None, (line, reading.trouble)
        assert reading.shown == pytest.approx(load.value, abs=1e-9), line
        assert reading.value_kg == pytest.approx(load.value * factor, abs=1e-9)
        assert reading.stable_mark is (load.steady if box.marks else None), line
        assert reading.channel == (f"pad {load.channel}" if load.channel else ""), line


@pytest.mark.parametrize("box", BOXES, ids=lambda box: box.name)
def test_a_pattern_survives_being_kept(box: Box) -> None:
    pattern = teach(examples(box), name=box.name).proposals[0].pattern
    assert pattern_from_json(pattern_to_json(pattern)) == pattern


def show(taught: Teaching) -> None:
    for proposal in taught.proposals:
        print(proposal.read, proposal.pattern, proposal.notes)
    print(taught.questions)
