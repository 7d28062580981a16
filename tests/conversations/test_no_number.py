"""What a box prints in place of a number, run together with its unit."""

from __future__ import annotations

import pytest

from steelyard.capture import Example, Shown, teach

SHOWN = {"2960lb": 2960.0, "2980lb": 2980.0, "12340lb": 12340.0}


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("-------lb", "The box shows '-------' in place of a number: overload, or no load cell."),
        ("ERRORlb", "'ERROR' stands where the number was taught."),
        ("OLlb", "'OL' stands where the number was taught."),
    ],
)
def test_a_unit_is_not_taken_apart_by_what_stands_before_it(line: str, words: str) -> None:
    """The dashes took the ``l`` too, and ``b`` was said to be no unit."""
    found = teach([Example(text, (Shown(value, "lb"),)) for text, value in SHOWN.items()], name="box")
    (reading,) = found.proposals[0].pattern.read(line).readings
    assert (reading.shown, reading.trouble and reading.trouble.words) == (None, words)
