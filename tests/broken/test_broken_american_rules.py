"""Rules of the forms for axle groups and the bridge formula with one fault each, and the exact message beside it."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, parse_rule_set
from steelyard.rules import bundled_text

SOUND = bundled_text("us-interstate")
ORDER = "is not more than over, so that no group of axles is meant; over is the lower end of the spreads"
WORDS = 'write "nearest, half up", "nearest, half down", "down" or "none"'
CASES = [
    (
        'over = "40 in"',
        'over = "96 in"',
        f'upto: "96 in": {ORDER}',
    ),
    (
        'from = "36 ft", over = "40 in"',
        'from = "36 ft", over = "9 ft"',
        f'tandems.upto: "96 in": {ORDER}',
    ),
    (
        'length = "1 ft"',
        'length = "1 mm"',
        'length: "1 mm": is under 100 mm; write the length that the formula counts in, as in "1 ft"',
    ),
    (
        '"nearest, half down"',
        '"nearest, half dawn"',
        f"weight_rounding: \"nearest, half dawn\": is not known; did you mean 'nearest, half down'? {WORDS}",
    ),
    (
        "axles = 2",
        "axles = 1",
        "steps[1].axles: 1: is not a number of axles; write a whole number from 2 to 99, without quotes",
    ),
    (
        'under = "9 ft", ',
        "",
        'steps[1].under: is missing; a step needs it, for example under = "9 ft"',
    ),
    (
        'weight = "500 lb"',
        "weight = 500",
        'weight: 500: has no unit; write it in quotes with one, for example "190 lb" or "86 kg"',
    ),
    (
        "steps = [",
        "steps = [" + '{ axles = 2, under = "9 ft", limit = "38000 lb" }, ' * 99,
        "steps: has more than 100 steps; write the figures that the formula does not give alone",
    ),
]


@pytest.mark.parametrize(("old", "new", "message"), CASES, ids=[new.split("{")[0][:30] for _, new, _ in CASES])
def test_each_fault_is_said_exactly(old: str, new: str, message: str) -> None:
    assert old in SOUND
    with pytest.raises(DayFileError) as caught:
        parse_rule_set(SOUND.replace(old, new, 1), "own.toml")
    (line,) = caught.value.lines()
    assert line.partition("]")[2].removeprefix(".") == message
    assert line.startswith("own.toml:")
