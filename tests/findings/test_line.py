"""The line of JSON and the columns of a day are the published findings: to the letter, and to the last bit."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.questions.columns import finding_columns, verdict_columns
from steelyard.questions.findings import findings_data
from steelyard.questions.line import findings_line
from steelyard.questions.rounding import all_written, rounded
from steelyard.units import UnitSystem
from tests.simulated.scenarios import KINDS, simulate

EXAMPLE = Path(__file__).parents[2] / "examples" / "quay-bakery.toml"
OTHER_UNITS = (None, UnitSystem("kg", "mm"))


@cache
def days() -> dict[str, Findings]:
    """The findings of the example and of a simulated day of each kind, slips included, by name."""
    texts = {"example": EXAMPLE.read_text(encoding="utf-8")}
    texts |= {kind: simulate(kind, seed=3).text for kind in KINDS}
    return {name: weigh(parse_day(text, name)) for name, text in texts.items()}


@pytest.mark.parametrize("units", OTHER_UNITS, ids=str)
def test_the_line_is_what_json_makes_of_the_data(units: UnitSystem | None) -> None:
    for name, found in days().items():
        data = findings_data(found, file=f"{name} \N{SNOWMAN}", units=units)
        wanted = json.dumps(data, allow_nan=False, separators=(",", ":"))
        assert findings_line(found, file=f"{name} \N{SNOWMAN}", units=units) == wanted, name


@pytest.mark.parametrize("units", OTHER_UNITS, ids=str)
def test_the_columns_are_those_of_the_data(units: UnitSystem | None) -> None:
    for name, found in days().items():
        shown = units or found.day.units
        data = findings_data(found, file=name, units=units)
        unit_of = {row["id"]: row["unit"] for row in data["findings"]}
        for row in data["verdicts"]:
            row["unit"] = unit_of[row["finding"]]
        for rows, columns in (
            (data["findings"], finding_columns(found.findings, shown)),
            (data["verdicts"], verdict_columns(found.verdicts, shown)),
        ):
            for key, column in columns.items():
                assert list(map(repr, column)) == [repr(row[key]) for row in rows], (name, key)


def test_the_days_hold_every_form_of_a_row() -> None:
    """The tests above say something of contested, unknown and predicted findings, and of verdicts without a value."""
    findings = [row for found in days().values() for row in found.findings]
    verdicts = [row for found in days().values() for row in found.verdicts]
    assert any(row.answers for row in findings)
    assert any(row.needs for row in findings)
    assert any(row.value is None and not row.needs for row in findings)
    assert {row.outcome for row in verdicts} > {None}
    assert {row.contested for row in verdicts} == {False, True}


def test_a_day_without_any_finding_has_empty_columns() -> None:
    columns = finding_columns((), UnitSystem()) | verdict_columns((), UnitSystem())
    assert columns
    assert not any(columns.values())


numbers = st.one_of(
    st.floats(-1e300, 1e300),
    st.integers(-(10**17), 10**17).map(float),
    st.sampled_from([0.0, -0.0, 1e16, 1e15, 9.9999999999e15, 1e-4, 9.99999999999e-5, 0.5, 123456789.05, 5e-324, 1e22]),
    st.floats(-1e4, 1e4),
)


@given(st.lists(numbers, max_size=60))
def test_numbers_are_written_as_json_writes_them_rounded(values: list[float]) -> None:
    assert all_written(values) == [json.dumps(rounded(value)) for value in values]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_number_that_is_not_finite_is_never_written(value: float) -> None:
    with pytest.raises(ValueError, match="not a finite number"):
        all_written([1.0, value])
