"""The published table of the federal bridge formula, every row.

Sources: ``data/bridge_table.csv``, whose head names them, with the grade of each. Tolerance: none but the last bits.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from steelyard.dayfile import bundled_set
from steelyard.model import Rounding, RuleSet
from steelyard.requirements.road import rulings
from tests.published.least_squares import table
from tests.rules.road_days import POUND, road_day

OTHERWISE = (38, 5, 72_000, 71_500)
"""Feet, axles, the figure of the State's table, and the federal one (by memory), which rounds this tie down too."""
TIES_UP = {(9, 3): 43_000, (11, 3): 44_500, (13, 3): 46_000, (15, 3): 47_500, (18, 5): 59_500}


def rows() -> list[tuple[int, int, int]]:
    """Feet, axles, pounds."""
    return [(int(row[0]), int(row[1]), int(row[2])) for row in table("bridge_table.csv")]


def limit(feet: int, axles: int, rule_set: RuleSet) -> float:
    """The limit [lb] on all axles of a vehicle, or of a combination where they are more than four."""
    places = [feet * 12 * number / (axles - 1) for number in range(axles)]
    vehicles = [places[:4], places[4:]] if axles > 4 else [places]
    found = rulings(road_day(*vehicles, sets=[rule_set]))
    requirement = next(one.requirement for one in found if one.subject.endswith(f"/axles/1-{axles}"))
    assert requirement is not None
    return requirement.limit / POUND


def test_every_row_of_the_published_table() -> None:
    of = bundled_set("us-interstate")
    assert len(rows()) == 143
    wrong = [(*row, round(limit(*row[:2], of))) for row in rows() if abs(limit(*row[:2], of) - row[2]) > 1e-6]
    assert wrong == [OTHERWISE]


def test_a_state_that_rounds_ties_up_is_a_set_of_its_own() -> None:
    of = bundled_set("us-interstate")
    up = {"weight_rounding": Rounding.HALF_UP}
    rules = tuple(replace(one, values={**one.values, **up}) if one.form == "bridge" else one for one in of.rules)
    found = {row: limit(*row, replace(of, rules=rules)) for row in TIES_UP}
    assert found == pytest.approx(TIES_UP, abs=1e-6)
