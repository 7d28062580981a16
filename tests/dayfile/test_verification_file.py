"""Bad verification files: one clear message each, with its line, the place, the value and what would be right."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from steelyard.dayfile import DayFileError, parse_day, parse_verification
from tests.house.source import ROOT

SOUND = """format = 1
kind = "verification"
units = { mass = "lb", length = "in" }

[record]
date = 2026-02-20

[tolerances]
table = "handbook44"
phase = "maintenance"

[instruments.p1]
class = "IIII"
kind = "pad"
capacity = "20000 lb"
division = "20 lb"

[instruments.p2]
class = "IIII"
kind = "pad"
capacity = "20000 lb"
division = "20 lb"

[[tests]]
kind = "masses"
instrument = "p1"
mass_uncertainty = "0.005 %"
readings = [[0, 0], [5000, 5000], [10000, 10020], [5000, 5000], [0, 0]]

[[tests]]
kind = "repeats"
instrument = "p2"
load = "5000 lb"
readings = [5000, 5020, 5000]
"""

FAULTS = tomllib.loads((Path(__file__).parent / "verification_faults.toml").read_text(encoding="utf-8"))["case"]


def complaints(text: str) -> list[str]:
    with pytest.raises(DayFileError) as caught:
        parse_verification(text, "check.toml")
    return caught.value.lines()


def test_the_file_that_the_cases_break_is_sound() -> None:
    found = parse_verification(SOUND, "check.toml")
    assert len(found.tests) == 2
    assert [number for number, _ in found.tests_of("p2")] == [2]


@pytest.mark.parametrize("case", FAULTS, ids=[case["name"] for case in FAULTS])
def test_each_fault_is_said_exactly(case: dict[str, str]) -> None:
    assert case["old"] in SOUND
    assert complaints(SOUND.replace(case["old"], case["new"], 1)) == [case["line"]]


def test_a_reference_needs_its_uncertainty() -> None:
    text = SOUND.replace('kind = "masses"', 'kind = "reference"').replace('mass_uncertainty = "0.005 %"\n', "")
    assert complaints(text) == [
        (
            "check.toml:24: tests[1].reference_uncertainty: is missing; a test against a reference scale needs it, for "
            'example reference_uncertainty = "4 lb"'
        )
    ]


def test_r76_has_no_class_iii_l() -> None:
    text = SOUND.replace('"handbook44"', '"r76"').replace('"maintenance"', '"in_service"')
    text = text.replace('class = "IIII"', 'class = "III L"', 1)
    assert complaints(text) == [
        'check.toml:13: instruments.p1.class: "III L": is not in R 76; write "I", "II", "III" or "IIII"'
    ]


def further(test: str) -> list[str]:
    return complaints(f"{SOUND}\n[[tests]]\n{test}\n")


def test_compared_instruments() -> None:
    assert further('kind = "round"\nreadings = { p1 = [5000] }') == [
        "check.toml:38: tests[3].readings: { p1 = [5000] }: has 1 instrument; the same load goes to two or more"
    ]
    assert further('kind = "round"\nreadings = { p1 = [5000], p2 = [5010] }') == [
        (
            "check.toml:38: tests[3].readings.p2[1]: 5010: is not a multiple of the division of 'p2', 20 lb; it can "
            "show 5000 or 5020 lb"
        )
    ]
    assert further('kind = "permuted"\ndrafts = [{ "1L" = ["p1", 40] }, { "1L" = ["p1", 40] }]') == [
        (
            "check.toml:38: tests[3].drafts: has the same instrument on each place in every draft; exchange them, or "
            "nothing is compared"
        )
    ]
    assert further('kind = "permuted"\ndrafts = [{ "1L" = ["p1", 40], "1R" = ["p1", 40] }, { "1L" = ["p2", 40] }]') == [
        'check.toml:38: tests[3].drafts[1].1R[1]: "p1": stands on two places of one draft'
    ]


def test_a_load_that_is_none_is_not_compared() -> None:
    said = "shows no load; what is compared must stand on the instrument"
    assert further('kind = "round"\nreadings = { p1 = [0, 40], p2 = 40 }') == [
        f"check.toml:38: tests[3].readings.p1: [0, 40]: {said}"
    ]
    assert further('kind = "permuted"\ndrafts = [{ "1L" = ["p1", 0] }, { "1L" = ["p2", 40] }]') == [
        f"check.toml:38: tests[3].drafts[1].1L[2]: 0: {said}"
    ]


def test_one_load() -> None:
    assert further('kind = "eccentric"\ninstrument = "p1"\nload = "30000 lb"\nreadings = { a = 40, b = 40 }') == [
        (
            "check.toml:39: tests[3].load: \"30000 lb\": is over the capacity of 'p1', which is 20000 lb; never load "
            "it beyond that"
        )
    ]
    assert further('kind = "small_mass"\ninstrument = "p1"\nmass = "8 lb"\nmass_uncertainty = "1 %"\nwithout = [40]\n'
                   "with = [40, 40, 60]") == [
        "check.toml:41: tests[3].without: has too few readings (1); this test takes 3 or more"
    ]  # fmt: skip
    assert further('kind = "zero_return"\ninstrument = "p1"\nload = "8 lb"\nbefore = 0\nafter = -30') == [
        "check.toml:41: tests[3].after: -30: is not a multiple of the division of 'p1', 20 lb; it can show -20 or 0 lb"
    ]


def test_all_faults_come_at_once() -> None:
    text = SOUND.replace("10020", "10010").replace('load = "5000 lb"', 'load = "5000 in"')
    assert [line.split(": ")[1] for line in complaints(text)] == ["tests[1].readings[3][2]", "tests[2].load"]


@pytest.mark.parametrize("name", ["pads-2025.toml", "pads-2026.toml"])
def test_the_bundled_verifications_are_sound(name: str) -> None:
    text = (ROOT / "examples" / name).read_text(encoding="utf-8")
    assert parse_verification(text, name).title == "The four pads, yearly check"


def the_fault(text: str) -> str:
    """The only fault of a verification file."""
    with pytest.raises(DayFileError) as caught:
        parse_verification(text, "check.toml")
    (fault,) = caught.value.faults
    return f"{fault.path}: {fault.message}"


def test_small_weights_are_smaller_than_the_division() -> None:
    sized = SOUND.replace("[10000, 10020]", "[10000, 10020, 20]").replace(
        "mass_uncertainty", 'small_weight = "20 lb"\nmass_uncertainty', 1
    )
    assert the_fault(sized) == (
        "tests[1].small_weight: is no less than the division, 20 lb; the next division shows with the first one"
    )
    halves = sized.replace('small_weight = "20 lb"', 'small_weight = "0.5 lb"').replace("10020, 20]", "10020, 7.5]")
    assert parse_verification(halves, "check.toml").tests


def test_every_permuted_draft_reads_the_same_places() -> None:
    drafts = '[{ "1L" = ["p1", 2960], "1R" = ["p2", 2980] }, { "2L" = ["p2", 2960], "1R" = ["p1", 2980] }]'
    assert the_fault(f'{SOUND}\n[[tests]]\nkind = "permuted"\ndrafts = {drafts}\n').endswith(
        ".drafts[2]: has other places than the first draft (1L, 1R); every draft reads the same ones"
    )


def test_one_message_where_one_file_is_taken_for_the_other() -> None:
    day = (ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
    assert the_fault(day) == (
        ': is a weigh day, no verification; ask "steelyard findings", or say kind = "verification"'
    )
    with pytest.raises(DayFileError) as caught:
        parse_day(SOUND, "check.toml")
    assert [fault.message for fault in caught.value.faults] == ['is not a weigh day; ask "steelyard verify"']
