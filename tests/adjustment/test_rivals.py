"""What explains a contradiction: declared cargo by name, two readings at once, nothing that a rig could not do."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import Adjustment, adjust
from steelyard.adjustment.misfit.pairs import best_pairs
from steelyard.dayfile import parse_day
from tests.adjustment.test_explanations import again, system

HEAD = """format = 1
units = { mass = "lb", length = "in" }
[vehicles.tow]
role = "towing"
axles = [{ x = 0, track = 68 }, { x = 140, track = 68 }]
[cargo.cook]
on = "tow"
mass = 300
x = 70
y = 17
[states.crewed]
vehicles = ["tow"]
cargo = ["cook"]
[states.empty]
vehicles = ["tow"]
""" + "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "20 lb"\n'
    'span_uncertainty = "0.1 %"\nrepeatability = "6 lb"\n'
    for number in range(1, 5)
)
EMPTY = (2340, 2180, 1720, 1860)
CREWED = (2460, 2220, 1840, 1900)
"""With the cook: 150 lb on each axle, 225 lb on the left and 75 lb on the right, by the lever rule; to 20 lb."""


def weighed(*drafts: tuple[str, tuple[int, ...]]) -> Adjustment:
    """The adjustment of drafts of all four wheels, each with its state."""
    text = HEAD
    for state, values in drafts:
        told = ", ".join(
            f'"tow/{wheel}" = ["p{pad}", {value}]'
            for pad, (wheel, value) in enumerate(zip(("1L", "1R", "2L", "2R"), values, strict=True), start=1)
        )
        text += f'[[drafts]]\nstate = "{state}"\nreadings = {{ {told} }}\n'
    return adjust(parse_day(text, "day.toml"))


def words(adjustment: Adjustment) -> list[str]:
    return [one.words for one in adjustment.explanations]


def test_declared_cargo_that_is_missing_in_a_draft_is_named() -> None:
    found = weighed(("crewed", CREWED), ("crewed", EMPTY), ("crewed", CREWED), ("empty", EMPTY))
    assert any("cook not aboard in draft 2" in one for one in words(found))


def test_declared_cargo_that_is_aboard_where_the_file_has_it_not_is_named() -> None:
    found = weighed(("crewed", CREWED), ("empty", EMPTY), ("empty", CREWED), ("empty", EMPTY))
    assert any("cook aboard in draft 3" in one for one in words(found))


def test_a_day_as_declared_names_nobody() -> None:
    assert words(weighed(("crewed", CREWED), ("crewed", CREWED), ("empty", EMPTY), ("empty", EMPTY))) == []


def test_no_mass_that_went_leaves_a_wheel_pulling() -> None:
    """Every answer of a mass that came or went has all wheels push."""
    slip = (EMPTY[0], EMPTY[1], EMPTY[2] + 3000, EMPTY[3])
    found = weighed(("empty", EMPTY), ("empty", slip), ("empty", EMPTY))
    assert found.explanations
    for one in found.explanations:
        if "nobody declared" in one.words or "aboard" in one.words:
            under = found.under(one)
            assert (under.loads.values[:4] > -50.0).all(), one.words


@pytest.mark.parametrize("seed", range(3))
def test_a_pair_falls_by_what_a_full_solution_without_both_says(seed: int) -> None:
    fit, priors, values = system(seed)
    pairs = best_pairs(fit.residuals(), np.inf, 100)
    assert len(pairs) == 36
    for first, second, fall in pairs:
        wide = np.column_stack([fit.design, np.eye(9)[:, [first, second]]])
        full = again(fit.blocks, wide, values, np.concatenate([priors, [np.nan, np.nan]]))
        assert fall == pytest.approx(fit.solution.chi2 - full.solution.chi2, abs=2e-6)
    falls = [fall for *_, fall in pairs]
    assert falls == sorted(falls, reverse=True)


def test_two_slips_that_hide_behind_a_third_reading_are_found_together() -> None:
    """Wheels across from each other, both 900 lb too heavy in one draft, look like much else one at a time."""
    slips = (EMPTY[0] + 900, EMPTY[1], EMPTY[2], EMPTY[3] + 900)
    found = weighed(("empty", EMPTY), ("empty", slips), ("empty", EMPTY), ("empty", EMPTY))
    named = [{(one.draft, one.place) for one in explanation.readings} for explanation in found.explanations]
    assert {(2, "tow/1L"), (2, "tow/2R")} in named
