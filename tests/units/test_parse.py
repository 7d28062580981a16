"""Texts into quantities: what is read, and the exact words where a text is none."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.units import UNITS, Dimension, Quantity, QuantityError, parse_quantity, units_of

LB, IN = 0.45359237, 0.0254
LENGTH_WANTED = (
    'has the unit \'lb\', which measures a mass; a length is wanted, for example "176 in", "14.5 ft" or "4470 mm"'
)


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ("190 lb", Dimension.MASS, Quantity(190 * LB)),
        ("190lb", Dimension.MASS, Quantity(190 * LB)),
        ("  190   lb ", Dimension.MASS, Quantity(190 * LB)),
        ("-3.5 in", Dimension.LENGTH, Quantity(-3.5 * IN)),
        (".5 m", Dimension.LENGTH, Quantity(0.5)),
        ("1e3 mm", Dimension.LENGTH, Quantity(1.0)),
        ("176 in +/- 0.25 in", Dimension.LENGTH, Quantity(176 * IN, 0.25 * IN)),
        ("176 in ± 0.25 in", Dimension.LENGTH, Quantity(176 * IN, 0.25 * IN)),
        ("176 +/- 0.25 in", Dimension.LENGTH, Quantity(176 * IN, 0.25 * IN)),
        ("176 in +/- 0.25", Dimension.LENGTH, Quantity(176 * IN, 0.25 * IN)),
        ("10 ft +/- 1 in", Dimension.LENGTH, Quantity(120 * IN, IN)),
        ("-380 lb/in +/- 10 %", Dimension.RATE, Quantity(-380 * LB / IN, 38 * LB / IN)),
        ("50 % +/- 3 %", Dimension.SHARE, Quantity(0.5, 0.03)),
        ("176 in +/- 0 in", Dimension.LENGTH, Quantity(176 * IN, 0.0)),
    ],
)
def test_read(text: str, dimension: Dimension, expected: Quantity) -> None:
    found = parse_quantity(text, dimension)
    assert found.value == pytest.approx(expected.value, rel=1e-15)
    if expected.u is None:
        assert found.u is None
    else:
        assert found.u == pytest.approx(expected.u, rel=1e-15)


def test_bare_numbers_need_leave() -> None:
    assert parse_quantity(20, Dimension.MASS, "lb") == Quantity(20 * LB)
    assert parse_quantity("20", Dimension.MASS, "lb") == Quantity(20 * LB)
    assert parse_quantity("20 kg", Dimension.MASS, "lb") == Quantity(20.0)


@pytest.mark.parametrize(
    ("raw", "dimension", "message"),
    [
        ("20", Dimension.MASS, 'has no unit; write for example "190 lb" or "86 kg"'),
        (20, Dimension.ANGLE, 'has no unit; only masses and lengths may be bare numbers, write "0.3 deg"'),
        (
            "3 lb",
            Dimension.LENGTH,
            LENGTH_WANTED,
        ),
        ("3 pounds", Dimension.MASS, "has the unknown unit 'pounds'; did you mean 'lb'?"),
        ("3 inch", Dimension.LENGTH, "has the unknown unit 'inch'; did you mean 'in'?"),
        ("3 percent", Dimension.SHARE, "has the unknown unit 'percent'; did you mean '%'?"),
        ("heavy", Dimension.MASS, 'is not a mass; write for example "190 lb" or "86 kg"'),
        ("", Dimension.MASS, 'is not a mass; write for example "190 lb" or "86 kg"'),
        (True, Dimension.MASS, 'is not a mass; write for example "190 lb" or "86 kg"'),
        ([1], Dimension.MASS, 'is not a mass; write for example "190 lb" or "86 kg"'),
        (math.nan, Dimension.MASS, "is not a finite number"),
        (math.inf, Dimension.MASS, "is not a finite number"),
        (10**400, Dimension.MASS, "is not a finite number"),
        ("1e400 lb", Dimension.MASS, "is not a finite number"),
        ("1 lb +/- 1e400 lb", Dimension.MASS, "is not a finite number"),
        ("1 lb +/- -2 lb", Dimension.MASS, "has a negative uncertainty (-2); a standard uncertainty is zero or more"),
        ("x" * 201, Dimension.MASS, 'is 201 characters long; write for example "190 lb" or "86 kg"'),
    ],
    ids=lambda value: str(value)[:20],
)
def test_refused(raw: object, dimension: Dimension, message: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(raw, dimension, "lb" if dimension is Dimension.MASS and not isinstance(raw, str) else None)
    assert str(caught.value) == message


def test_absent_is_not_zero() -> None:
    assert Quantity(5.0).u_or(3.0) == 3.0
    assert Quantity(5.0, 0.0).u_or(3.0) == 0.0


@settings(max_examples=200, deadline=None, derandomize=True)
@given(value=st.floats(-1e9, 1e9), u=st.one_of(st.none(), st.floats(0.0, 1e6)), unit=st.sampled_from(sorted(UNITS)))
def test_written_and_read(value: float, u: float | None, unit: str) -> None:
    """Any number in any unit, with and without uncertainty."""
    dimension = UNITS[unit].dimension
    text = f"{value!r} {unit}" + ("" if u is None else f" +/- {u!r} {unit}")
    found = parse_quantity(text, dimension)
    assert found.value == pytest.approx(value * UNITS[unit].factor, rel=1e-15, abs=0.0)
    assert (found.u is None) == (u is None)
    if u is not None:
        assert found.u == pytest.approx(u * UNITS[unit].factor, rel=1e-15, abs=0.0)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(text=st.text(max_size=30), dimension=st.sampled_from(list(Dimension)))
def test_any_text_is_read_or_refused(text: str, dimension: Dimension) -> None:
    try:
        found = parse_quantity(text, dimension)
    except QuantityError:
        return
    assert math.isfinite(found.value)


def test_plainest_unit_first() -> None:
    assert units_of(Dimension.MASS) == ("g", "t", "kg", "lb", "oz", "lbs")
    assert units_of(Dimension.ANGLE) == ("deg", "rad", "mrad")
