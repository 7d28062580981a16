"""One reading of a typed number in Python and in the pages, held to one table of cases.

Sources: ISO 80000-1:2009, 7.3 (the fraction begins with a point or a comma; digits in threes); the Indian grouping is
common practice, no source.
"""

from __future__ import annotations

import json
import math
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.units import (
    UNITS,
    Dimension,
    EitherNumberError,
    EitherQuantityError,
    Marks,
    NumberError,
    QuantityError,
    pair_of,
    parse_quantity,
    read_number,
)

CASES: dict[str, Any] = json.loads((Path(__file__).parent / "numbers.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("text", "value"), CASES["numbers"])
def test_a_typed_number(text: str, value: float) -> None:
    assert read_number(text, Marks.TYPED) == value


@pytest.mark.parametrize(("text", "readings"), CASES["either"])
def test_what_could_be_either_is_asked(text: str, readings: list[str]) -> None:
    with pytest.raises(EitherNumberError) as caught:
        read_number(text, Marks.TYPED)
    assert list(caught.value.readings) == readings
    group, fraction = (read_number(reading, Marks.TYPED) for reading in readings)
    assert group == pytest.approx(1000.0 * fraction, rel=1e-12)


@pytest.mark.parametrize("text", CASES["nothing"])
def test_no_number(text: str) -> None:
    with pytest.raises(NumberError) as caught:
        read_number(text, Marks.TYPED)
    assert not isinstance(caught.value, EitherNumberError)


@pytest.mark.parametrize(
    ("text", "unit", "value", "dimension"),
    [
        *((*case, Dimension.LENGTH) for case in CASES["lengths"]),
        *((*case, Dimension.MASS) for case in CASES["masses"]),
    ],
)
def test_a_typed_quantity(text: str, unit: str, value: float, dimension: Dimension) -> None:
    found = parse_quantity(text, dimension, unit, Marks.TYPED)
    assert found.value / UNITS[unit].factor == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("text", "dimension"), CASES["refused"])
def test_a_typed_text_that_is_no_quantity(text: str, dimension: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(text, Dimension(dimension), "in" if dimension == "length" else "lb", Marks.TYPED)


def test_a_point_in_a_file_begins_the_fraction_and_a_comma_is_asked() -> None:
    """The program writes 453.592 kg for 1000 lb, so files and options read it back."""
    assert parse_quantity("453.592 kg", Dimension.MASS).value == 453.592
    assert parse_quantity("2700,5 kg", Dimension.MASS).value == 2700.5
    assert parse_quantity("1,234,567 kg", Dimension.MASS).value == 1234567.0
    with pytest.raises(EitherQuantityError) as caught:
        parse_quantity("2,500 kg +/- 5 kg", Dimension.MASS)
    assert str(caught.value) == (
        "could be 2500 or 2.5: a comma may group digits or begin the fraction; "
        'write "2500 kg +/- 5 kg" or "2.5 kg +/- 5 kg"'
    )


def test_the_uncertainty_is_read_alike() -> None:
    found = parse_quantity("2700,5 kg +/- 0,5 kg", Dimension.MASS)
    assert (found.value, found.u) == (2700.5, 0.5)
    taped = parse_quantity("14 ft 2 in +/- 1/4 in", Dimension.LENGTH)
    assert (taped.value, taped.u) == (pytest.approx(170 * 0.0254), pytest.approx(0.25 * 0.0254))


def test_a_table_with_decimal_commas() -> None:
    assert read_number("2,500", Marks.COMMA) == 2.5
    assert read_number("2.500", Marks.COMMA) == 2500.0
    assert read_number("2.500,5", Marks.COMMA) == 2500.5
    for text in ("2.5", "2,500.5"):
        with pytest.raises(NumberError):
            read_number(text, Marks.COMMA)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(value=st.floats(-1e12, 1e12), marks=st.sampled_from([Marks.TYPED, Marks.WRITTEN]))
def test_what_the_program_writes_is_read_back(value: float, marks: Marks) -> None:
    try:
        assert read_number(repr(value), marks) == value
    except EitherNumberError:
        assert marks is Marks.TYPED
        assert len(repr(value).rpartition(".")[2]) == 3


@settings(max_examples=500, deadline=None, derandomize=True)
@given(text=st.text("0123456789.,' _-+e\u2009\u2019", max_size=14), marks=st.sampled_from(list(Marks)))
def test_any_text_is_one_number_two_or_none(text: str, marks: Marks) -> None:
    """What is read has the digits of the text, in their order."""
    try:
        value = read_number(text, marks)
    except NumberError:
        return
    assert not math.isnan(value)
    if "e" not in text:
        plain = f"{Decimal(repr(value)):f}"
        assert "".join(filter(str.isdigit, text)).strip("0") == "".join(filter(str.isdigit, plain)).strip("0")


@pytest.mark.parametrize(
    ("text", "pair"),
    [
        ("224 in, 0 in", ("224 in", " 0 in")),
        ("224,0", ("224", "0")),
        ("224,5 in, -10,25 in", ("224,5 in", "-10,25 in")),
        ("224,5; 0", ("224,5", " 0")),
        ("224", None),
        ("1, 2, 3", None),
        ("1,2,3", None),
    ],
)
def test_a_place_is_two_lengths(text: str, pair: tuple[str, str] | None) -> None:
    assert pair_of(text) == pair
