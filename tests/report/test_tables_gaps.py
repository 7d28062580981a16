"""What is not determined, drawn together so that a person can follow it at the pads."""

from __future__ import annotations

from steelyard.model import FindingId
from steelyard.planning import Need
from steelyard.report.tables.gaps import drawn_together, gap_lines

FRONT = (Need("solo", ("tow/1L", "tow/1R")),)
REAR = (Need("solo", ("tow/2L", "tow/2R")),)
ALL = (Need("solo", ("tow/1L", "tow/1R", "tow/2L", "tow/2R")),)
FRONT_IDS = ("solo/tow/wheel/1L", "solo/tow/wheel/1R", "solo/tow/axle/1")
REAR_IDS = ("solo/tow/wheel/2L", "solo/tow/wheel/2R", "solo/tow/axle/2")


def test_what_more_readings_cover_is_named_with_them() -> None:
    gaps = [(item, REAR) for item in REAR_IDS] + [("solo/tow/gross", ALL)] + [(item, FRONT) for item in FRONT_IDS]
    assert gap_lines(gaps, told=()) == [
        "",
        "solo: all of tow",
        "  One more draft would tell all of it:",
        "    - in state solo, read tow/1L, tow/1R, tow/2L and tow/2R together",
        "",
        "For one of these alone, less may do: 'findings --json' names the drafts for",
        "each.",
    ]


def test_sets_that_do_not_cover_one_another_stay_apart() -> None:
    gaps = [(item, FRONT) for item in FRONT_IDS] + [(item, REAR) for item in REAR_IDS]
    assert gap_lines(gaps, told=()) == [
        "",
        "solo: tow wheels 1L 1R, axle 1",
        "  One more draft would tell:",
        "    - in state solo, read tow/1L and tow/1R together",
        "",
        "solo: tow wheels 2L 2R, axle 2",
        "  One more draft would tell:",
        "    - in state solo, read tow/2L and tow/2R together",
    ]


def test_what_no_draft_would_tell_is_said_and_covered_by_nothing() -> None:
    gaps = [("hitched/coupling/couple", ()), ("solo/tow/gross", ALL)]
    assert gap_lines(gaps, told=("solo/tow/axle/1",)) == [
        "",
        "hitched: coupling weight-distributing couple",
        "  No draft in the states of this day would tell; a new state may, such as a",
        "  vehicle alone.",
        "",
        "solo: tow gross",
        "  One more draft would tell:",
        "    - in state solo, read tow/1L, tow/1R, tow/2L and tow/2R together",
    ]


def test_a_vehicle_of_which_something_is_told_is_never_named_as_a_whole() -> None:
    lines = gap_lines([("solo/tow/gross", ALL), ("solo/tow/axle/2", ALL)], told=("solo/tow/axle/1",))
    assert lines[1] == "solo: tow gross, axle 2"


def test_a_single_place_is_not_read_together() -> None:
    lines = gap_lines([("solo/tow/gross", (Need("solo", ("tow",)),))], told=())
    assert lines[-1] == "    - in state solo, read tow"


def test_changes_are_counted() -> None:
    assert gap_lines([("solo>hitched/tow/gross", ALL)], told=()) == [
        "",
        "1 change between states is not determined; 'findings --json' names each.",
    ]


def test_quantities_are_drawn_together_under_whose_they_are() -> None:
    ids = ["hitched/tow/wheel/1L", "hitched/coupling/load", "hitched/tow/wheel/1R", "hitched/tow/side/L"]
    ids += ["hitched/coupling/2/load", "hitched/tow/gross", "hitched/coupling/2/share", "hitched/combination/gross"]
    assert drawn_together([FindingId.parse(item) for item in ids]) == [
        "tow wheels 1L 1R, side L, gross",
        "coupling load",
        "coupling 2 load, share of trailer's gross",
        "combination gross",
    ]
    cargo = [FindingId.parse("cargo/hay/mass"), FindingId.parse("cargo/hay/x")]
    assert drawn_together(cargo) == ["cargo hay: mass, place along the vehicle"]
