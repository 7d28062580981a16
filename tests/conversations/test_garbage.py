"""Whatever arrives: nothing raises, and nothing that was not printed becomes a value."""

from __future__ import annotations

import json
import math
import string
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from steelyard.capture import (
    Example,
    LinePattern,
    PatternError,
    Settling,
    Shown,
    parse_register,
    pattern_from_json,
    pattern_to_json,
    teach,
)
from steelyard.capture.address import AddressError, open_port
from steelyard.capture.reading_lines import LineSamples
from steelyard.capture.registers import RegisterError
from steelyard.capture.stream import LONGEST, LineCollector
from tests.conversations.boxes import BOXES, Load
from tests.conversations.dialogue import PATTERN
from tests.conversations.test_teach import examples

TAUGHT = {box.name: (box, teach(examples(box), name=box.name).proposals[0].pattern) for box in BOXES}
STRUCTURED = [pair for name, pair in TAUGHT.items() if name not in {"number alone", "leading zeros, mark glued on"}]
"""All but the two boxes whose lines are a number and next to nothing else: noise of digits is a line of theirs."""


def listening(pattern: LinePattern) -> LineSamples:
    return LineSamples("box", pattern, {}, lambda: 0.0)


@pytest.mark.parametrize("pattern", [pattern for _, pattern in TAUGHT.values()], ids=list(TAUGHT))
@given(st.lists(st.binary(max_size=400), max_size=6))
@settings(max_examples=60, deadline=None)
def test_bytes_never_raise_and_become_no_value(pattern: LinePattern, pieces: list[bytes]) -> None:
    """Bytes with a digit missing, so that no line can be a number by chance."""
    lines, samples, settling = LineCollector(), listening(pattern), Settling(1.0)
    for piece in pieces:
        for line in lines.feed(bytes(byte for byte in piece if not chr(byte).isdigit())):
            for sample in samples.read(line):
                assert sample.value_kg is None
                assert sample.trouble is not None
                assert sample.raw.isascii()
                assert sample.raw.isprintable()
                assert not settling.add(sample).steady


@pytest.mark.parametrize(("box", "pattern"), STRUCTURED, ids=[box.name for box, _ in STRUCTURED])
@given(data=st.binary(min_size=1, max_size=64))
@settings(max_examples=60, deadline=None)
def test_noise_is_not_a_line(box: Any, pattern: LinePattern, data: bytes) -> None:  # noqa: ARG001 - an id
    lines = LineCollector()
    for line in lines.feed(data + b"\n"):
        reading = pattern.read(line)
        assert all(each.value_kg is None for each in reading.readings), line


@pytest.mark.parametrize(("box", "pattern"), list(TAUGHT.values()), ids=list(TAUGHT))
@given(value=st.integers(0, 19999), steady=st.booleans(), data=st.data())
@settings(max_examples=60, deadline=None)
def test_a_struck_character_is_never_another_value(
    box: Any, pattern: LinePattern, value: int, steady: bool, data: Any
) -> None:
    """One character of a line turned into one that no box prints: no value at all."""
    channel = box.channels[0] if box.channels else ""
    line = box.line(Load(float(value), steady, channel))
    place = data.draw(st.integers(0, len(line) - 1))
    other = data.draw(st.sampled_from("\x01\x7f\x80\xb5\xff?^\\"))
    struck = line[:place] + other + line[place + 1 :]
    assume(struck.strip() != line.strip())
    assert all(each.value_kg is None for each in pattern.read(struck).readings), struck


@pytest.mark.parametrize(("box", "pattern"), list(TAUGHT.values()), ids=list(TAUGHT))
@given(value=st.integers(0, 19999), steady=st.booleans())
@settings(max_examples=40, deadline=None)
def test_what_was_printed_is_read(box: Any, pattern: LinePattern, value: int, steady: bool) -> None:
    channel = box.channels[-1] if box.channels else ""
    (reading,) = pattern.read(box.line(Load(float(value), steady, channel))).readings
    assert reading.shown == float(value)


@given(st.lists(st.binary(max_size=700), max_size=8))
@settings(max_examples=100, deadline=None)
def test_lines_are_the_same_however_the_bytes_come(pieces: list[bytes]) -> None:
    """One byte at a time or all at once; nothing longer than a line is held."""
    whole, single = LineCollector(), LineCollector()
    together = whole.feed(b"".join(pieces))
    apart = [line for byte in b"".join(pieces) for line in single.feed(bytes([byte]))]
    short = [line for line in together if len(line) < LONGEST]
    assert short == [line for line in apart if len(line) < LONGEST]
    assert all(0 < len(line) <= LONGEST for line in together + apart)


_SHOWN = st.builds(
    Shown,
    value=st.none() | st.floats(allow_nan=False, allow_infinity=False) | st.integers(-9, 99).map(float),
    unit=st.sampled_from([None, "kg", "lb", "nonsense"]),
    channel=st.sampled_from([None, "p1", "p2", ""]),
    steady=st.sampled_from([None, True, False]),
    overload=st.booleans(),
)
_LINES = st.text(string.ascii_letters[:4] + string.digits[:3] + " ,.+-:;\xff\t", max_size=24)


@given(st.lists(st.builds(Example, _LINES, st.lists(_SHOWN, max_size=2).map(tuple)), max_size=6))
@settings(max_examples=200, deadline=None)
def test_teaching_never_raises_and_never_proposes_what_contradicts_a_label(shown: list[Example]) -> None:
    taught = teach(shown, name="x", unit="lb")
    assert taught.proposals or taught.questions
    for proposal in taught.proposals:
        assert pattern_from_json(pattern_to_json(proposal.pattern)) == proposal.pattern
        assert len(proposal.preview) == len(shown)
        right = 0
        for example in shown:
            said = [each for each in example.shown if each.value is not None]
            readings = proposal.pattern.read(example.line).readings
            right += any(
                reading.shown is not None and math.isclose(reading.shown, each.value or 0.0, abs_tol=1e-9)
                for reading in readings
                for each in said
            )
        assert right > 0


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)


@given(
    key=st.sampled_from(["name", "parts", "unit", "units", "channels", "steady", "overload", "checksum", "x"]),
    value=_JSON,
)
@settings(max_examples=200, deadline=None)
def test_a_pattern_from_elsewhere_is_one_or_is_refused(key: str, value: object) -> None:
    data: dict[str, object] = json.loads(pattern_to_json(PATTERN))
    data[key] = value
    with suppress(PatternError):
        assert pattern_from_json(json.dumps(data)).read("no such line").readings == ()


@given(st.text(max_size=40) | st.text("p=holding:input0123int16kglb.scale", max_size=40))
@settings(max_examples=200, deadline=None)
def test_addresses_and_registers_are_read_or_refused(text: str) -> None:
    for call, refusal in ((parse_register, RegisterError), (lambda each: open_port("a", each), AddressError)):
        with suppress(refusal):
            assert call(text)
