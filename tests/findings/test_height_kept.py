"""A state asked for keeps the height of its coupling: nothing changed is nothing moved, with no doubt about it."""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import solve
from steelyard.loading import Scenario
from tests.simulated.scenarios import simulate


@pytest.mark.parametrize("kind", ["stand", "stand_equalised", "equalised", "gooseneck"])
def test_a_scenario_without_changes_is_its_base(kind: str) -> None:
    weighed = solve(parse_day(simulate(kind, 1).text, "simulated.toml"))
    asked = weighed.ask(Scenario("hitched"), "same")
    moved = [finding for finding in asked.findings if finding.id.startswith("hitched>same/")]
    assert len(moved) > 8
    for finding in moved:
        assert finding.value == pytest.approx(0.0, abs=1e-6), finding.id
        assert finding.u == pytest.approx(0.0, abs=1e-6), finding.id
