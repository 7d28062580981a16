"""Every closed form between readings and findings, by Monte Carlo over whole days.

Source: JCGM 101:2008 (propagation of distributions), used as the check of JCGM 100's law of propagation, of Fieller's
intervals and of Welch and Satterthwaite's degrees of freedom. Each day is drawn anew a hundred times or more
(``redraw.py``), in a study five hundred times or more.
Tolerance, by finding: the mean square error lies within five of its standard deviations (sqrt(2 / trials)) of the mean
squared uncertainty, the bias within five of its own; over all findings of a day coverage is 95 % within four standard
errors, days as clusters. A width wrong by 20 % fails that, as the last test shows.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from steelyard.dayfile import parse_day, read_day
from steelyard.model import WeighDay
from tests.adjustment.redraw import Redraw, Redrawn
from tests.invariants.rich_days import RICH
from tests.studies import days, figures

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "quay-bakery.toml"
TRIALS = {
    "example": days(160, 1000),
    "bars": days(100, 500),
    "cargo": days(120, 600),
    "fifth wheel": days(100, 500),
    "stand": days(100, 500),
}
EXACT = 1e-6
"""Findings of a smaller u [kg, m] follow from what is stated exactly: a known mass put aboard."""


def day_of(name: str) -> WeighDay:
    return read_day(EXAMPLE) if name == "example" else parse_day(RICH[name], f"{name}.toml")


@pytest.fixture(scope="module", params=TRIALS)
def redrawn(request: pytest.FixtureRequest) -> Redrawn:
    """One day, many times."""
    return Redraw(day_of(request.param), seed=7).run(TRIALS[request.param])


def uncertain(redrawn: Redrawn) -> np.ndarray:
    """Which findings have doubt at all."""
    return redrawn.u.max(axis=0) > EXACT


def test_uncertainties(redrawn: Redrawn) -> None:
    trials, kept = len(redrawn.u), uncertain(redrawn)
    ratio = (redrawn.errors[:, kept] ** 2).mean(axis=0) / (redrawn.u[:, kept] ** 2).mean(axis=0)
    names = np.array(redrawn.names)[kept]
    wrong = np.abs(ratio - 1.0) > 5.0 * np.sqrt(2.0 / trials)
    assert {str(name): float(value) for name, value in zip(names[wrong], ratio[wrong], strict=True)} == {}
    assert len(names) > 40


def test_no_bias(redrawn: Redrawn) -> None:
    trials, kept = len(redrawn.u), uncertain(redrawn)
    errors = redrawn.errors[:, kept]
    score = errors.mean(axis=0) / errors.std(axis=0) * np.sqrt(trials)
    wrong = np.abs(score) > 5.0
    names = np.array(redrawn.names)[kept]
    assert {str(name): float(value) for name, value in zip(names[wrong], score[wrong], strict=True)} == {}


def test_what_is_stated_exactly_comes_out_exactly(redrawn: Redrawn) -> None:
    assert np.abs(redrawn.errors[:, ~uncertain(redrawn)]).max(initial=0.0) < EXACT


def off(held: np.ndarray) -> float:
    """How many standard errors the coverage over all findings is off 95 %, days as clusters."""
    days = held.mean(axis=1)
    return float((days.mean() - 0.95) / (days.std(ddof=1) / np.sqrt(len(days))))


def test_intervals(redrawn: Redrawn) -> None:
    kept = uncertain(redrawn)
    figures(f"{redrawn.names[0]} ...", days=len(redrawn.u), coverage=float(redrawn.held[:, kept].mean()))
    assert abs(off(redrawn.held[:, kept])) < 4.0
    shares = redrawn.held[:, kept].mean(axis=0)
    assert shares.min() > 0.95 - 5.5 * np.sqrt(0.05 * 0.95 / len(redrawn.held))


def test_kinds_of_findings() -> None:
    """Sums, shares, centres of gravity, transfers, coupling loads, couples and cargo are among what is checked."""
    names = {name for day in ("example", "cargo") for name in Redraw(day_of(day), 1).names()}
    for kind in (
        "/wheel/",
        "/axle/",
        "/side/",
        "/gross",
        "/cg_x",
        "/cg_y",
        "_share",
        "coupling/load",
        "/couple",
        "cargo/",
        ">",
    ):
        assert any(kind in name for name in names), kind


def test_a_width_wrong_by_a_fifth_would_be_noticed(redrawn: Redrawn) -> None:
    """The check of coverage is a real one: intervals of four fifths of their width fail it."""
    kept = uncertain(redrawn)
    narrow = np.abs(redrawn.errors[:, kept]) <= 0.8 * 1.99 * redrawn.u[:, kept]
    assert off(narrow) < -4.0
