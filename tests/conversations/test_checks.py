"""Checksums at the end of a line: found only where several lines agree."""

from __future__ import annotations

import pytest

from steelyard.capture import Checksum
from steelyard.capture.checks import find_checksum, has_hex_tail

# "AB" by hand: 0x41 and 0x42 give 0x83 as a sum, 0x03 by exclusive or, 0x7D as what is missing to 0x100.
BY_HAND = {"sum": "AB83", "xor": "AB03", "negated sum": "AB7d"}


@pytest.mark.parametrize(("kind", "line"), BY_HAND.items())
def test_a_sum_worked_out_by_hand_holds_and_no_other(kind: str, line: str) -> None:
    assert Checksum(kind).holds(line)
    assert not Checksum(kind).holds(line.replace("A", "C"))
    assert all(not Checksum(other).holds(line) for other in BY_HAND if other != kind)


def test_a_character_in_front_or_behind_may_be_left_out() -> None:
    assert Checksum("sum", start=1).holds(":AB83")
    assert Checksum("sum", before=1).holds("AB*83")
    assert not Checksum("sum").holds("AB*83")
    assert not Checksum("sum", start=1, before=1).holds("83")


def test_one_line_or_two_prove_nothing() -> None:
    lines = ["AB03", "AC02", "AD05"]
    assert find_checksum(lines[:2]) is None
    assert find_checksum([lines[0]] * 5) is None
    assert find_checksum(lines) == Checksum("xor")
    assert find_checksum([*lines, "AE05"]) is None


def test_a_tail_of_hexadecimal_digits_is_of_one_case() -> None:
    assert has_hex_tail(["xA0", "yFF"])
    assert has_hex_tail(["xa0", "yff"])
    assert not has_hex_tail(["xa0", "yFF"])
    assert not has_hex_tail(["A0"])
