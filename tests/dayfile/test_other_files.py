"""A file of another kind is answered with one message that says what it is, or why it is no weigh day."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, parse_day, parse_verification
from tests.house.source import ROOT

CHECK = (ROOT / "examples" / "pads-2026.toml").read_bytes()
DAY = (ROOT / "tests" / "broken" / "sound.toml").read_bytes()
LOG = (ROOT / "examples" / "quay-bakery-sweep.csv").read_bytes()


def test_a_verification_is_no_weigh_day() -> None:
    with pytest.raises(DayFileError) as caught:
        parse_day(CHECK, "check.toml")
    line = CHECK.decode().splitlines().index('kind = "verification"') + 1
    assert caught.value.lines() == [
        f'check.toml:{line}: kind: "verification": is not a weigh day; ask "steelyard verify"'
    ]


def test_a_weigh_day_is_no_verification() -> None:
    with pytest.raises(DayFileError) as caught:
        parse_verification(DAY, "day.toml")
    assert caught.value.lines() == [
        'day.toml: is a weigh day, no verification; ask "steelyard findings", or say kind = "verification"'
    ]


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (b'{"a": 1}\n', '1: {"a": 1}: is not valid TOML: a line is a [table], a key = value, or a comment after #'),
        (b"%PDF-1.7\n", "1: %PDF-1.7: is not valid TOML: a line is a [table], a key = value, or a comment after #"),
        (b"%PDF-1.7\n\x00", " is a binary file; it must be TOML text in UTF-8"),
    ],
    ids=["json", "pdf text", "pdf"],
)
def test_what_is_no_toml_is_one_message(data: bytes, line: str) -> None:
    with pytest.raises(DayFileError) as caught:
        parse_day(data, "x")
    assert caught.value.lines() == [f"x:{line}"]


def test_a_log_of_a_sweep_is_one_message() -> None:
    with pytest.raises(DayFileError) as caught:
        parse_day(LOG, "log.csv")
    assert len(caught.value.lines()) == 1
    assert "is not valid TOML" in caught.value.lines()[0]
