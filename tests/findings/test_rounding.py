"""Published numbers: many rounded at once are what each is by itself, and rows made by columns are what each row is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from steelyard.questions.rounding import all_rounded, rounded
from steelyard.questions.shape import OMIT, Omit, to_json


@dataclass(slots=True)
class _Inner:
    what: str
    size: float


@dataclass(slots=True)
class _Row:
    name: str
    value: float | None
    count: int | float
    parts: tuple[_Inner, ...]
    from_: bool


@dataclass(slots=True)
class _Gappy:
    name: str
    more: float | Omit


def _awkward() -> list[float]:
    """Of every size; next to the middle between two decimals; next to powers of ten; zeros; very large and small."""
    rng = np.random.default_rng(20)
    sized = rng.normal(size=4000) * 10.0 ** rng.integers(-40, 40, 4000)
    halves = [
        float(f"{digits}5e{power}")
        for digits, power in zip(rng.integers(10**9, 10**10, 2000), rng.integers(-20, 5, 2000), strict=True)
    ]
    tens = [float(np.nextafter(10.0**power, end)) for power in range(-25, 25) for end in (0.0, np.inf)]
    return [*sized.tolist(), *halves, *tens, *(10.0**p for p in range(-25, 25)), 0.0, -0.0, 5e-324, 1.7e308, -1e300]


def test_many_numbers_are_rounded_as_each_by_itself() -> None:
    """To the last bit, the sign of nothing included."""
    values = _awkward()
    assert [one.hex() for one in all_rounded(values)] == [rounded(one).hex() for one in values]
    assert [one.hex() for one in all_rounded(values[-5:])] == [rounded(one).hex() for one in values[-5:]]


def test_many_rows_are_written_as_each_by_itself() -> None:
    """Rows with and without numbers, whole numbers among others, parts of their own, and an underscore to take off."""
    rows = [
        _Row(
            f"row {place}",
            None if place % 3 == 0 else place / 7.0,
            place if place % 2 else place / 3.0,
            tuple(_Inner("part", place / 11.0) for _ in range(place % 4) if place > 20),
            place == 5,
        )
        for place in range(60)
    ]
    expected = [
        {
            "name": row.name,
            "value": None if row.value is None else rounded(row.value),
            "count": row.count if isinstance(row.count, int) else rounded(row.count),
            "parts": [{"what": part.what, "size": rounded(part.size)} for part in row.parts],
            "from": row.from_,
        }
        for row in rows
    ]
    assert to_json(tuple(rows)) == expected
    assert [to_json(row) for row in rows] == expected
    assert [list(row) for row in to_json(rows)] == [list(row) for row in expected]


def test_what_a_row_leaves_out_is_left_out_of_many() -> None:
    """Of rows that lack a value each has its own keys."""
    said = to_json([_Gappy("a", 1.0), _Gappy("b", OMIT)] * 20)
    assert said == [{"name": "a", "more": 1.0}, {"name": "b"}] * 20


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_number_that_is_not_finite_is_written(bad: float) -> None:
    """Neither by itself nor among many."""
    for shape in (bad, [_Inner("one", bad)], [_Inner("one", 1.0)] * 50 + [_Inner("other", bad)]):
        with pytest.raises(ValueError, match="is not a finite number"):
            to_json(shape)
