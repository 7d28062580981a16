"""The entries under all explanations at once are what they are under one after the other.

The other way: the whole covariance under each explanation, and everything reckoned from it as on any day.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from steelyard.adjustment import Explanation, adjust
from steelyard.dayfile import parse_day
from steelyard.findings.catalogue import Catalogue
from steelyard.findings.quantities import Quantities
from steelyard.requirements import requirements_of
from tests.findings.test_contested import RIGHT, SLIP, day, draft

SCATTERED = day(
    (2340, 2180, 1720, 1860), (2400, 2080, 1820, 1700), (2240, 2240, 1660, 2020), (2500, 2120, 1620, 1860), SLIP
)
ALONE = draft((1200, 1180), "alone", ("1L", "1R"), "cart") + draft((1260, 1180), "alone", ("1L", "1R"), "cart")
RELATIVE = 1e-9


def bakery() -> str:
    """The bundled day, whose readings have two components of variance, with the first one 400 lb too much."""
    text = (Path(__file__).parents[2] / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
    return re.sub(r'(= \["\w+", )(\d+)\]', lambda it: f"{it[1]}{int(it[2]) + 400}]", text, count=1)


@dataclass(frozen=True)
class Both:
    """A day as all readings have it, what explains its contradictions, and the day under each of them."""

    plain: Quantities
    explanations: tuple[Explanation, ...]
    each: list[Quantities]


@pytest.fixture(scope="module", params=[day(RIGHT, SLIP), SCATTERED, day(RIGHT, SLIP, more=ALONE), bakery()])
def both(request: pytest.FixtureRequest) -> Both:
    solved = adjust(parse_day(request.param, "day.toml"))
    assert len(solved.explanations) > 1
    plain = Quantities(solved, Catalogue(solved).entries())
    return Both(plain, solved.explanations, [plain.under(one) for one in solved.explanations])


def test_some_days_free_readings_and_others_doubt_all_of_them_more() -> None:
    days = (adjust(parse_day(text, "day.toml")) for text in (day(RIGHT, SLIP), SCATTERED))
    kinds = {one.explanations[0].parts is None for one in days}
    assert kinds == {True, False}


def test_where_the_explanations_move_nothing_there_is_no_answer(both: Both) -> None:
    competing = both.plain.competing(both.explanations)
    nothing = np.zeros((len(both.explanations), len(both.plain.entries)), dtype=bool)
    assert competing.answers([one.words for one in both.explanations], nothing) == {}


def test_values_and_intervals(both: Both) -> None:
    competing = both.plain.competing(both.explanations)
    count = len(both.plain.entries)
    answers = competing.answers(
        [one.words for one in both.explanations], np.ones((len(both.explanations), count), dtype=bool)
    )
    values, halves = competing.spans()
    for row, one in enumerate(both.each):
        value, half = one.spans()
        assert values[row] == pytest.approx(value, rel=RELATIVE, abs=1e-9)
        assert halves[row] == pytest.approx(half, rel=RELATIVE, abs=1e-9)
        found = one.findings()
        for place, finding in enumerate(found):
            answer = answers[place][row]
            if both.plain.entries[place].fixed is not None:
                continue
            assert answer.without == both.explanations[row].words
            assert (answer.value is None) == (finding.value is None)
            if finding.value is not None:
                assert [answer.low, answer.high] == pytest.approx([finding.low, finding.high], rel=RELATIVE, abs=1e-9)


def test_probabilities_of_requirements(both: Both) -> None:
    requirements = requirements_of(both.plain._adjustment.rig.day, None)
    competing = both.plain.competing(both.explanations)
    met = both.plain.met_under(requirements, both.explanations, competing)
    for row, one in enumerate(both.each):
        told = [np.nan if it.probability is None else it.probability for it in one.verdicts(requirements)]
        assert met[row] == pytest.approx(told, rel=RELATIVE, abs=1e-12, nan_ok=True)
    assert np.isfinite(met).any()
