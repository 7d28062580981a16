"""Slips in a day with repeats: found, named, and explained in words. All figures invented."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import Suspect
from steelyard.adjustment.misfit.agreement import Fit
from steelyard.adjustment.misfit.consistency import Exchanges, snoop
from steelyard.adjustment.solve import Array, Blocks, solve
from tests.published.days import HEAD, Pounds, draft, pad, truck

WHEELS = ("1L", "1R", "2L", "2R")
RIGHT = (2340, 2180, 1720, 1860)
PADS = "".join(
    pad(f"p{n}", more='span_uncertainty = "0.1 %"\nrepeatability = "6 lb"\nzero_uncertainty = "1 lb"')
    for n in range(1, 5)
)
SITE = HEAD.replace("0 mm", "1 mm")
STATE = '[states.full]\nvehicles = ["tow"]\n'


def weighed(*drafts: tuple[int, ...]) -> Pounds:
    told = [
        draft("full", {f"tow/{w}": (f"p{n}", v) for n, (w, v) in enumerate(zip(WHEELS, d, strict=True), 1)})
        for d in drafts
    ]
    return Pounds(SITE, PADS, truck(0, 140), STATE, *told)


def suspects(*drafts: tuple[int, ...]) -> tuple[Suspect, ...]:
    return weighed(*drafts).findings.consistency.suspects


def test_a_clean_day() -> None:
    found = weighed(RIGHT, RIGHT, (2320, 2200, 1740, 1860)).findings.consistency
    assert found.consistent
    assert found.suspects == ()
    assert found.dof == 8
    assert found.p is not None
    assert found.p > 0.3


def test_digits_swapped() -> None:
    (found,) = suspects(RIGHT, (2340, 2180, 1720, 1680), RIGHT)
    assert (found.draft, found.place, found.instrument) == (2, "tow/2R", "p4")
    assert found.normalised_residual < -10
    assert found.explanations[0] == "digits swapped: 1,860 read as 1,680?"
    assert found.explanations[-1] == "the other readings expect about 1,860 lb here"


def test_two_readings_of_one_place_are_both_listed() -> None:
    """Of two drafts nobody can say which is right; a third would tell."""
    found = suspects(RIGHT, (2340, 2180, 1720, 1560))
    assert [(item.draft, item.place) for item in found] == [(1, "tow/2R"), (2, "tow/2R")]
    assert found[0].normalised_residual == pytest.approx(-found[1].normalised_residual, rel=1e-6)
    assert found[0].explanations[-1] == (
        "draft 2 tow/2R would explain it about as well: one more draft of this place would tell them apart"
    )
    assert found[1].explanations[-1] == (
        "draft 1 tow/2R would explain it about as well: one more draft of this place would tell them apart"
    )


def test_a_third_draft_tells_them_apart() -> None:
    (found,) = suspects(RIGHT, (2340, 2180, 1720, 1560), RIGHT)
    assert (found.draft, found.place) == (2, "tow/2R")


def test_pads_exchanged() -> None:
    found = suspects(RIGHT, (2180, 2340, 1720, 1860), RIGHT)
    assert {(item.draft, item.place) for item in found} == {(2, "tow/1L"), (2, "tow/1R")}
    assert "p1 and p2 exchanged (tow/1L and tow/1R)?" in found[0].explanations
    assert "p2 and p1 exchanged (tow/1R and tow/1L)?" in found[1].explanations


def test_a_pad_that_was_not_zeroed() -> None:
    (found,) = suspects(RIGHT, (2340, 2180, 1720, 1960), RIGHT)
    assert "p4 not zeroed before this draft, 100 lb high?" in found.explanations


def test_a_wheel_half_off_its_pad() -> None:
    (found,) = suspects(RIGHT, (2340, 2180, 1720, 1160), RIGHT)
    assert "wheel half off p4?" in found.explanations
    (high,) = suspects(RIGHT, (2340, 2180, 1720, 2560), RIGHT)
    assert not any("half off" in said for said in high.explanations)


def test_two_slips_are_found_one_after_the_other() -> None:
    found = suspects(RIGHT, (2340, 2180, 1720, 1560), RIGHT, (2640, 2180, 1720, 1860), RIGHT)
    assert {(item.draft, item.place) for item in found} == {(2, "tow/2R"), (4, "tow/1L")}


def test_nothing_redundant_nothing_suspected() -> None:
    day = weighed(RIGHT).findings
    assert day.consistency.consistent
    assert day.consistency.p is None
    assert day.consistency.suspects == ()
    assert day.cautions == (
        "Nothing checks these readings: every one of them is needed. Repeat a draft to find slips.",
    )


def test_a_slip_does_not_widen_every_interval() -> None:
    """Variances are learned from what remains once the slip is freed."""
    clean, slipped = weighed(RIGHT, RIGHT, RIGHT), weighed(RIGHT, (2340, 2180, 1720, 1560), RIGHT)
    name = "full/tow/wheel/1L"
    assert slipped.u(name) < 1.3 * clean.u(name)


def test_a_slip_set_aside_is_no_longer_suspected() -> None:
    day = weighed(RIGHT, (2340, 2180, 1720, 1560), RIGHT)
    text = day.text + '[[corrections]]\ndraft = 2\nplace = "tow/2R"\nreason = "wheel off the pad"\n'
    corrected = Pounds(text)
    assert corrected.findings.consistency.consistent
    assert corrected.findings.cautions == ("draft 2, tow/2R: set aside (wheel off the pad).",)
    assert corrected.value("full/tow/wheel/2R") == pytest.approx(1860, abs=1)
    assert day.value("full/tow/wheel/2R") < 1800


def test_the_reading_that_explains_most_is_named_even_where_its_own_limit_is_wide() -> None:
    """Doubts that are known poorly have wide limits: one reading is beyond its limit, another explains more."""
    fit = fit_of(np.ones((3, 1)), np.array([0.0, 5.0, -9.0]))
    none = np.zeros(0, dtype=int)
    (found, *_) = snoop(
        fit.residuals(), np.array([2.0, 2.0, 100.0]), [1, 2, 3], Exchanges(none, none, none, np.zeros(0))
    )
    assert found.rows[0] == found.freed[0] == 2


def fit_of(design: Array, values: Array) -> Fit:
    """Independent readings of unit variance."""
    solution = solve(design, values, np.full(design.shape[1], np.nan), np.zeros(design.shape[1]))
    blocks = Blocks.independent(np.ones(len(values)))
    return Fit(blocks, np.array([]), design, values - design @ solution.step, solution)
