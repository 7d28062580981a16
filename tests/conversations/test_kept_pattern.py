"""A pattern as it is kept: what is wrong with one from elsewhere is said, with its place."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from steelyard.capture import PatternError, pattern_from_json, pattern_to_json
from tests.conversations.dialogue import PATTERN

Change = Callable[[dict[str, Any]], object]

FAULTS: dict[str, tuple[Change, str]] = {
    "another format": (lambda data: data.update(format=2), "is not of format 1"),
    "no parts": (lambda data: data.update(parts=[]), "has 0 parts; 1 to 64 are right"),
    "parts that are none": (lambda data: data.update(parts={}), "parts: is not a list"),
    "a part that is none": (lambda data: data["parts"].insert(0, 3), "parts[0]: is not an object"),
    "an unknown key": (lambda data: data.update(colour="red"), "pattern: has the unknown key 'colour'"),
    "an unknown key of a part": (lambda data: data["parts"][1].update(x=1), "parts[1]: has the unknown key 'x'"),
    "an unknown role": (
        lambda data: data["parts"][0].update(role="king"),
        "parts[0].role: is 'king'; write one of text, value, unit, mark, channel, skip, check",
    ),
    "an unknown gap": (lambda data: data["parts"][0].update(gap="-"), "parts[0].gap: is '-'; write '', ' ' or '*'"),
    "a width of nothing": (
        lambda data: data["parts"][0].update(width=0),
        "parts[0].width: is 0; write a whole number from 1 to 64",
    ),
    "one sign for two things": (
        lambda data: data["parts"][1]["number"].update(thousands="."),
        "parts[1].number: decimal '.' and thousands '.' are not two of '', '.' and ','",
    ),
    "a name that is not a text": (lambda data: data.update(name=5), "pattern.name: is 5; a str is right"),
    "no unit of mass": (lambda data: data.update(unit="in"), "has the unit 'in', which is not a unit of mass"),
    "no value": (lambda data: data["parts"].pop(1), "has no part with the role 'value'"),
    "words that are none": (lambda data: data.update(steady=[1]), "steady: holds something that is not a short text"),
    "an unknown checksum": (
        lambda data: data.update(checksum={"kind": "crc"}),
        "checksum.kind: is 'crc'; write one of xor, sum, negated sum",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_named_with_its_place(name: str) -> None:
    change, message = FAULTS[name]
    data = json.loads(pattern_to_json(PATTERN))
    change(data)
    with pytest.raises(PatternError) as refused:
        pattern_from_json(json.dumps(data))
    assert str(refused.value) == message


def test_what_is_not_json_is_refused() -> None:
    with pytest.raises(PatternError, match=r"is not JSON: "):
        pattern_from_json("{")
    with pytest.raises(PatternError, match=r"is not JSON: "):
        pattern_from_json("[" * 100_000)
    with pytest.raises(
        PatternError, match=r"^is not JSON: it holds a number of 6000 digits; a pattern has none of that length$"
    ):
        pattern_from_json('{"format":' + "9" * 6000 + "}")
    with pytest.raises(PatternError, match=r"pattern: is not an object"):
        pattern_from_json("[]")


def test_a_pattern_of_today_is_read_for_ever() -> None:
    """Kept as it was written on the day of its release; only what may be left out is left out."""
    kept = (
        '{"format":1,"name":"plain","parts":[{"role":"mark","chars":"letters","words":["ok","no"]},'
        '{"role":"value","gap":"*","number":{"decimal":".","decimals":[1]}},'
        '{"role":"unit","chars":"letters","words":["kg"],"gap":" "}],"unit":"kg","steady":["ok"],"moving":["no"]}'
    )
    assert pattern_from_json(kept) == PATTERN
