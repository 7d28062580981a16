"""Teaching by example: a few lines of a box nobody has heard of, and then lines that it was not shown."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest

from steelyard.capture import Example, Shown, TroubleKind, pattern_from_json, pattern_to_json, teach
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


def said(line: str, value: float | None = None, **more: Any) -> Example:
    return Example(line, (Shown(value, **more),))


def test_several_channels_in_one_line_each_with_its_mark() -> None:
    lines = [("A 1230 S B  980 S lb", 1230, True, 980, True), ("A 1240 U B  990 S lb", 1240, False, 990, True)]
    lines.append(("A    0 S B 1990 U lb", 0, True, 1990, False))
    taught = teach(
        [
            Example(line, (Shown(a, channel="p1", steady=at), Shown(b, channel="p2", steady=bt)))
            for line, a, at, b, bt in lines
        ],
        name="two",
    )
    pattern = taught.proposals[0].pattern
    assert [
        (each.channel, each.shown, each.stable_mark) for each in pattern.read("A  -10 U B 12345 S lb").readings
    ] == [("p1", -10.0, False), ("p2", 12345.0, True)]
    one, other = pattern.read("A   10 S B ---- U lb").readings
    assert (one.shown, other.shown) == (10.0, None)
    assert other.trouble is not None
    assert other.trouble.kind is TroubleKind.OVERLOAD


def test_four_channels_by_their_places() -> None:
    places = ("a", "b", "c", "d")
    rows = [(1230, 980, 1100, 1090), (1231, 985, 1107, 1080)]
    taught = teach(
        [
            Example(
                ";".join(map(str, row)) + ";kg", tuple(Shown(v, channel=c) for v, c in zip(row, places, strict=True))
            )
            for row in rows
        ],
        name="four",
    )
    readings = taught.proposals[0].pattern.read("1;2;3;-4;kg").readings
    assert {each.channel: each.shown for each in readings} == {"a": 1.0, "b": 2.0, "c": 3.0, "d": -4.0}


def test_a_channel_digit_in_counted_columns() -> None:
    taught = teach(
        [
            said("1002960", 2960, channel="a", unit="lb"),
            said("2000125", 125, channel="b", unit="lb"),
            said("1002920", 2920, channel="a", unit="lb"),
        ],
        name="columns",
    )
    (reading,) = taught.proposals[0].pattern.read("2000020").readings
    assert (reading.channel, reading.shown) == ("b", 20.0)
    assert taught.questions[-1] == (
        "The columns of the number were counted. A line with a much larger load would show whether it is wider."
    )


def test_a_point_that_is_not_written() -> None:
    taught = teach([said("W029600", 2960.0, unit="kg"), said("W001255", 125.5, unit="kg")], name="point")
    (reading,) = taught.proposals[0].pattern.read("W000005").readings
    assert reading.shown == 0.5
    assert taught.proposals[0].notes == ("The lines do not say the unit; kg was taken.",)


def test_units_by_a_letter_of_the_box_and_a_unit_that_changes_is_no_reading() -> None:
    taught = teach(
        [said("K2960", 2960, unit="kg"), said("L6000", 6000, unit="lb"), said("K3000", 3000, unit="kg")], name="code"
    )
    pattern = taught.proposals[0].pattern
    assert [each.value_kg for each in pattern.read("K10").readings] == [10.0]
    changed = pattern.read("L10")
    assert changed.readings == ()
    assert changed.trouble is not None
    assert changed.trouble.kind is TroubleKind.UNIT
    assert changed.trouble.words == "The box shows lb; kg was taught. Set it back, or teach it anew."


def test_signs_of_overload_are_learned() -> None:
    taught = teach(
        [
            said("ok 2960 kg", 2960, steady=True),
            said("mv 2860 kg", 2860, steady=False),
            said("ok OL kg", overload=True),
            said("ovr 9999 kg", overload=True),
        ],
        name="overload",
    )
    pattern = taught.proposals[0].pattern
    assert pattern.overload == ("OL", "ovr")
    for line in ("ok OL kg", "ovr 9999 kg", "mv ^^^^ kg"):
        (reading,) = pattern.read(line).readings
        assert reading.value_kg is None
        assert reading.trouble is not None
        assert reading.trouble.kind is TroubleKind.OVERLOAD


def test_a_checksum_that_was_found_is_held() -> None:
    box = next(box for box in BOXES if box.name == "xor at the end")
    pattern = teach(examples(box), name="xor").proposals[0].pattern
    line = box.line(Load(2960.0))
    assert pattern.checksum is not None
    struck = pattern.read(line.replace("2960", "2950"))
    assert struck.readings == ()
    assert struck.trouble is not None
    assert struck.trouble.words == f"The checksum does not hold: {line.replace('2960', '2950')!r}"


SETTLED_BY = "Paste a line in which the two differ, with another load or a tare set, and say what was shown."

OPEN = {
    "gross and net": (
        [said("G 2960 lb N 2960 lb", 2960), said("G 120 lb N 120 lb", 120)],
        "The value may be '2960' ending at character 6 of line 1 or '2960' ending at character 16 of line 1. "
        + SETTLED_BY,
        said("G 220 lb N 20 lb", 20),
        ("G 3 lb N 1 lb", 1.0),
    ),
    "comma": (
        [said("2960,0 kg", 2960), said("120,0 kg", 120)],
        "The value may be '2960,0' ending at character 6 of line 1 or '2960' ending at character 4 of line 1. "
        + SETTLED_BY,
        said("120,5 kg", 120.5),
        ("7,5 kg", 7.5),
    ),
    "two marks": (
        [said("ST A 2960 lb", 2960, steady=True), said("US B 100 lb", 100, steady=False)],
        "Steady may be told by 'ST' and 'US' or by 'A' and 'B'. Paste a line in which only one of them changes.",
        said("ST B 140 lb", 140, steady=True),
        ("US A 60 lb", 60.0),
    ),
    "a last zero": (
        [said("0029600", 2960, unit="lb"), said("0001250", 125, unit="lb")],
        "The value may be '0029600' ending at character 7 of line 1 or '002960' ending at character 6 of line 1. "
        + SETTLED_BY,
        said("0001255", 125.5, unit="lb"),
        ("0000015", 1.5),
    ),
}


@pytest.mark.parametrize("name", OPEN)
def test_what_is_open_is_asked_and_the_example_that_was_asked_for_settles_it(name: str) -> None:
    lines, question, answer, (line, value) = OPEN[name]
    taught = teach(lines, name=name)
    assert taught.questions[0] == question
    assert len(taught.proposals) == 2
    settled = teach([*lines, answer], name=name)
    assert len(settled.proposals) == 1
    assert question not in settled.questions
    assert [each.shown for each in settled.proposals[0].pattern.read(line).readings] == [value]


QUESTIONS = {
    "nothing said": ([Example("ok 12 kg")], "Say for at least one line which number the box showed."),
    "no such unit": (
        [said("2960 stone", 2960, unit="stone")],
        "'stone' is not a unit of mass; say one of g, t, kg, lb, oz, lbs.",
    ),
    "no unit": ([said("2960", 2960)], "Say in which unit the box shows."),
    "another number": ([said("2960 kg", 3960)], "Line 1 does not hold 3960; was the display read at another moment?"),
    "channels that nothing tells apart": (
        [said("10 kg", 10, channel="p1"), said("20 kg", 20, channel="p2"), said("10 kg", 10, channel="p2")],
        "Nothing in the lines tells p1 and p2 apart; paste one more line of each.",
    ),
    "words that nobody explained": (
        [said("ST 2960 kg", 2960), Example("US 2860 kg")],
        (
            "'ST' and 'US' take turns, and nobody said why. If that tells steady from moving, or one channel from "
            "another, say so for a line with each."
        ),
    ),
    "one load": (
        [said("2960 kg", 2960)],
        "Only one load was shown. One more line with another load makes sure that it is the number and no other.",
    ),
    "nothing moves": (
        [said("2960 kg", 2960), said("10 kg", 10)],
        "No line was said to be moving. If the box marks that, paste a line taken while the load moves.",
    ),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_what_is_missing_is_asked_for(name: str) -> None:
    lines, question = QUESTIONS[name]
    assert teach(lines, name=name).questions[0] == question


def test_lines_of_another_shape_are_named() -> None:
    taught = teach([said("NET 2960 lb", 2960), said("NET 100 lb", 100), Example("tare set")], name="net")
    assert taught.proposals[0].read == 2
    assert taught.proposals[0].notes == ("Line 3 is not read: Does not fit the pattern 'net': 'tare set'",)


def test_a_unit_against_the_lines_is_named() -> None:
    taught = teach([said("2960 kg", 2960, unit="lb"), said("960 kg", 960, unit="lb")], name="x")
    assert taught.proposals[0].notes == ("The lines say kg, and lb was said; lb was taken.",)


def test_a_minus_that_was_never_shown_is_still_a_minus() -> None:
    """A mark that may be missing does not swallow the sign of the number behind it."""
    taught = teach([said("* 70 kg", 70, steady=True), said("  90 kg", 90, steady=False)], name="star")
    (reading,) = taught.proposals[0].pattern.read(" -22 kg").readings
    assert reading.shown == -22.0


@pytest.mark.parametrize("count", [3, 4, 5])
@pytest.mark.parametrize("box", BOXES, ids=lambda box: box.name)
def test_a_few_lines_never_teach_a_wrong_value(box: Box, count: int) -> None:
    """What was not shown may be unread; it is not misread."""
    read = 0
    for seed in range(4):
        shown = examples(box, count, seed)
        named = {each.channel for example in shown for each in example.shown}
        pattern = teach(shown, name=box.name).proposals[0].pattern
        for load in loads(box, 40, seed=99):
            for reading in pattern.read(box.line(load)).readings:
                if reading.shown is not None:
                    assert reading.shown == pytest.approx(load.value, abs=1e-9)
                    assert reading.channel in (f"pad {load.channel}", load.channel)
                    read += (f"pad {load.channel}" if load.channel else None) in named
    assert read >= 60


def test_the_preview_has_a_place_for_every_line_even_one_that_is_too_long() -> None:
    taught = teach([said("2960 kg", 2960), Example("x" * 5000), said("10 kg", 10)], name="long")
    assert [reading.trouble is None for reading in taught.proposals[0].preview] == [True, False, True]
