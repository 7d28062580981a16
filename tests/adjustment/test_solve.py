"""The solver: what it determines and what it must refuse to."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.adjustment import Blocks, open_directions
from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.units import Dimension
from tests.published.days import HEAD, draft, pad, platform, truck
from tests.published.least_squares import fit

PROFILE = settings(max_examples=60, deadline=None, derandomize=True)


@PROFILE
@given(st.integers(0, 2**32 - 1), st.integers(1, 6), st.integers(0, 4))
def test_rank_and_null_space(seed: int, rank: int, more: int) -> None:
    """Columns made of a few directions have that rank; what stays open is orthogonal to every reading."""
    rng = np.random.default_rng(seed)
    columns = rng.normal(size=(9, rank)) @ rng.normal(size=(rank, rank + more))
    found, rows, null, scale = open_directions(columns)
    assert found == rank
    assert rows.shape == (rank + more, rank)
    assert null.shape == (rank + more, more)
    assert np.abs(columns / scale @ null).max(initial=0.0) < 1e-12
    assert np.hstack([rows, null]).T @ np.hstack([rows, null]) == pytest.approx(np.eye(rank + more), abs=1e-12)


@PROFILE
@given(st.integers(0, 2**32 - 1))
def test_a_prior_never_makes_a_free_unknown_determined(seed: int) -> None:
    """Of two loads only the sum is read: neither is determined, however well a third thing is known beforehand."""
    rng = np.random.default_rng(seed)
    rows = np.column_stack([np.ones(4), np.ones(4), rng.normal(size=4)])
    found = fit(rows, rng.normal(size=4), prior_u=[np.nan, np.nan, 1e-6])
    assert found.solution.rank == 1
    determined = found.solution.determined(np.array([[1.0, 0, 0], [0, 1.0, 0], [1.0, 1.0, 0], [0, 0, 1.0]]))
    assert determined.tolist() == [False, False, True, True]


def test_estimates_in_open_directions_do_not_touch_what_is_determined() -> None:
    """Two scales that only ever stand together: their sum is an ordinary least-squares mean."""
    found = fit([[1, 1, 0], [1, 1, 0], [0, 0, 1]], [10.0, 14.0, 5.0])
    assert found.of(1, 1, 0)[0] == pytest.approx(12.0)
    assert found.of(1, 1, 0)[1] == pytest.approx(np.sqrt(0.5))
    assert found.chi2 == pytest.approx(8.0)


def test_nothing_to_solve() -> None:
    found = fit(np.zeros((0, 2)), np.zeros(0))
    assert found.solution.rank == 0
    assert not found.solution.determined(np.eye(2)).any()
    assert fit(np.zeros((3, 0)), [1.0, 2.0, 2.0]).chi2 == pytest.approx(9.0)


SCALES = "".join(platform(name, more='span_uncertainty = "0 %"\nrepeatability = "0 lb"') for name in ("s1", "s2"))
PADS = "".join(pad(f"p{n}") for n in range(1, 5))
STATES = '[states.before]\nvehicles = ["tow"]\n[states.after]\nvehicles = ["tow"]\ncargo = ["load"]\n'


def weighed(*parts: str) -> Findings:
    return weigh(parse_day("".join(parts), "day.toml"))


def in_pounds(findings: Findings, name: str) -> float:
    value = findings.by_id[name].value
    assert value is not None, name
    return value / findings.day.units.factor(Dimension.MASS)


@pytest.mark.parametrize("wheelbase", [100.0, 137.0, 140.0, 176.5, 201.0])
def test_cargo_of_unknown_place_on_a_truck_scale(wheelbase: float) -> None:
    """Axle weights tell the cargo's mass and where it stands along the truck; across, they tell nothing at all.

    Left and right cancel in an axle's weight but for the last bits of the sum: what is left must not pass for a
    reading.
    """
    drafts = draft("before", {"tow/1": ("s1", 4000.0), "tow/2": ("s2", 4000.0)})
    drafts += draft("after", {"tow/1": ("s1", 4040.0), "tow/2": ("s2", 4500.0)})
    findings = weighed(HEAD, SCALES, truck(0, wheelbase), '[cargo.load]\non = "tow"\n', STATES, drafts)
    assert in_pounds(findings, "after/tow/axle/1") == pytest.approx(4040.0, abs=1e-3)
    assert in_pounds(findings, "before>after/tow/axle/1") == pytest.approx(40.0, abs=1e-3)
    assert in_pounds(findings, "cargo/load/mass") == pytest.approx(540.0, abs=1e-3)
    place = findings.by_id["cargo/load/x"]
    assert place.value is not None
    inch = findings.day.units.factor(Dimension.LENGTH)
    assert place.value / inch == pytest.approx(wheelbase * 500 / 540, abs=1e-3)
    for unknown in ("cargo/load/y", "after/tow/wheel/1L", "after/tow/cg_y", "before>after/tow/side/L"):
        assert not findings.by_id[unknown].determined, unknown


def test_a_gross_alone_tells_the_mass_and_nothing_of_the_place() -> None:
    drafts = draft("before", {"tow": ("s1", 8000.0)}) + draft("after", {"tow": ("s1", 8540.0)})
    findings = weighed(HEAD, SCALES, truck(0, 140), '[cargo.load]\non = "tow"\n', STATES, drafts)
    assert in_pounds(findings, "cargo/load/mass") == pytest.approx(540.0, abs=1e-3)
    known = {item.id for item in findings.findings if item.determined}
    assert known == {
        "before/tow/gross",
        "before/tow/axles",
        "after/tow/gross",
        "after/tow/axles",
        "before>after/tow/gross",
        "cargo/load/mass",
    }


def test_blocks_of_nothing() -> None:
    blocks = Blocks([], [], [])
    assert blocks.count == 0
    assert blocks.components == 0
    assert blocks.weigh(np.zeros((0, 2))).shape == (0, 2)


def test_blocks_scale_their_components_and_keep_what_is_fixed() -> None:
    rows = [np.array([0, 2]), np.array([1])]
    fixed = [np.eye(2), np.array([[2.0]])]
    part = [np.array([[1.0, 1.0], [1.0, 1.0]]), np.array([[0.5]])]
    blocks = Blocks(rows, fixed, [part])
    assert blocks.variances() == pytest.approx([2.0, 2.5, 2.0])
    assert blocks.scaled(np.array([4.0])).variances() == pytest.approx([5.0, 4.0, 5.0])
    assert blocks.scaled(np.array([4.0])).part_variances(0) == pytest.approx([4.0, 2.0, 4.0])
    assert blocks.variances() == pytest.approx([2.0, 2.5, 2.0])
    whole = np.array([[2.0, 0.0, 1.0], [0.0, 2.5, 0.0], [1.0, 0.0, 2.0]])
    assert blocks.weigh(np.eye(3)) == pytest.approx(np.linalg.inv(whole))
    spread = np.array([[1.0, 0.0, 1.0], [0.0, 0.5, 0.0], [1.0, 0.0, 1.0]])
    assert blocks.spread(0, np.eye(3)) == pytest.approx(spread)
    product = np.linalg.inv(whole) @ spread
    whitened = blocks.whitened_parts[0]
    assert np.trace(whitened, axis1=1, axis2=2).sum() == pytest.approx(np.trace(product))
    assert (whitened**2).sum() == pytest.approx(np.trace(product @ product))
