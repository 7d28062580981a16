"""Numbers as a person reads them: the uncertainty to two figures, the value to the same place.

Source: JCGM 100:2008, 7.2.6, with its example (from memory): 10.057 62 Ohm with u 27 mOhm is written 10.058 Ohm.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.units import format_number, round_to_uncertainty

MINUS = "\N{MINUS SIGN}"


def format_with_uncertainty(value: float, u: float) -> tuple[str, str]:
    """The value and its standard uncertainty as two texts, rounded to the same place."""
    rounded, rounded_u, places = round_to_uncertainty(value, u)
    if rounded_u <= 0.0:
        return format_number(rounded, min(places, 1)), "0"
    return format_number(rounded, places), format_number(rounded_u, places)


@pytest.mark.parametrize(
    ("value", "u", "expected"),
    [
        (10.05762, 0.027, ("10.058", "0.027")),
        (5780.4, 11.7, ("5,780", "12")),
        (5784.6, 117.0, ("5,780", "120")),
        (-1234.56, 2.34, (f"{MINUS}1,234.6", "2.3")),
        (12.3456, 0.0996, ("12.35", "0.10")),
        (12.3456, 0.996, ("12.3", "1.0")),
        (999.96, 9.96, ("1,000", "10")),
        (-0.04, 1.2, ("0.0", "1.2")),
        (123456.0, 2345.0, ("123,500", "2,300")),
        (100.0, 0.0, ("100.0", "0")),
    ],
)
def test_value_and_uncertainty(value: float, u: float, expected: tuple[str, str]) -> None:
    assert format_with_uncertainty(value, u) == expected


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (0.0, 0, "0"),
        (-0.0, 0, "0"),
        (-0.4, 0, "0"),
        (1234567.0, 0, "1,234,567"),
        (-12.5, 1, f"{MINUS}12.5"),
        (2980, -1, "2,980"),
    ],
)
def test_format_number(value: float, places: int, text: str) -> None:
    assert format_number(value, places) == text


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan, math.inf])
def test_without_a_usable_uncertainty_six_figures_stay(u: float) -> None:
    rounded, kept, _ = round_to_uncertainty(1234.56789, u)
    assert rounded == 1234.57
    assert kept == u or (math.isnan(kept) and math.isnan(u))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(value=st.floats(-1e6, 1e6), u=st.floats(1e-6, 1e6))
def test_two_figures(value: float, u: float) -> None:
    """Two figures of u, no more and no fewer; the value moves by no more than half of its last place."""
    rounded, rounded_u, places = round_to_uncertainty(value, u)
    digits = f"{rounded_u:.12e}".split("e")[0].replace(".", "").rstrip("0")
    assert len(digits) <= 2
    assert abs(rounded_u - u) <= 0.051 * u
    step = 10.0 ** (math.floor(math.log10(rounded_u * (1 + 1e-12))) - 1)
    assert abs(rounded - value) <= 0.5 * step * (1 + 1e-9) + 1e-12 * abs(value)
    assert places == max(0, round(-math.log10(step)))


def test_an_uncertainty_that_is_rounding_is_none() -> None:
    """A wheel that hangs free leaves the other all of the load: what doubt is left is the last bit of a sum."""
    assert round_to_uncertainty(55.0, 1.5e-31) == (55.0, 0.0, 4)
    assert format_with_uncertainty(55.0, 1.5e-31) == format_with_uncertainty(55.0, 0.0)
