"""Numbers as the locales of the world write them are read as meant, or asked; never as another number.

Source: Unicode CLDR, by the tables of Babel (reference library, tests only).
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from babel import Locale
from babel.numbers import format_decimal
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.units import Dimension, EitherNumberError, EitherQuantityError, Marks, parse_quantity, read_number

LOCALES = "de fr en hi de_CH de_AT fr_CH en_IN ar_EG fa mr bn sv pl es pt_PT".split()  # noqa: SIM905 - a list of 16
"""With digits, marks and groups of their own; those of India and Bengal group by two."""

ZEROS = {"latn": 0x30, "arab": 0x660, "arabext": 0x6F0, "deva": 0x966, "beng": 0x9E6}
"""The first digit of a numbering system: Babel knows its marks, but writes them between digits of ours."""

VALUES = [
    Decimal(text)
    for text in (
        *("0", "5", "-5", "12.5", "999", "1000", "1234", "-1234", "1234.5", "2500", "2700.25", "12345.5", "123456"),
        *("123456.75", "1234567", "1234567.5", "-14.5", "0.125", "2.125", "10000", "100000.001", "9999.999"),
    )
]


def written(value: Decimal, locale: str) -> str:
    """The number as people of the locale write it, in their digits."""
    zero = ZEROS[Locale.parse(locale).default_numbering_system]
    text = format_decimal(value, locale=locale, numbering_system="default")
    return text.translate({0x30 + digit: zero + digit for digit in range(10)})


def readings(text: str) -> list[float]:
    """The number that was read, or the two that are asked about."""
    try:
        return [read_number(text, Marks.TYPED)]
    except EitherNumberError as asked:
        return [read_number(reading, Marks.TYPED) for reading in asked.readings]


@pytest.mark.parametrize("locale", LOCALES)
def test_a_number_as_its_locale_writes_it(locale: str) -> None:
    found = [(value, readings(written(value, locale))) for value in VALUES]
    assert [value for value, read in found if float(value) not in read] == []
    asked = [value for value, read in found if len(read) > 1]
    assert len(asked) <= 8, "only a mark before three digits is asked"


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    locale=st.sampled_from(LOCALES),
    value=st.decimals(min_value=-(10**8), max_value=10**8, places=3, allow_nan=False, allow_infinity=False),
)
def test_any_number_in_any_of_them(locale: str, value: Decimal) -> None:
    assert float(value) in readings(written(value, locale))


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize(("unit", "si"), [("kg", 1.0), ("pounds", 0.45359237), ("Kilos", 1.0)])
def test_with_a_unit_behind_it(locale: str, unit: str, si: float) -> None:
    for value in VALUES:
        text = written(value, locale)
        if len(readings(text)) == 1:
            found = parse_quantity(f"{text} {unit}", Dimension.MASS, "kg", Marks.TYPED)
            assert found.value == pytest.approx(float(value) * si), text
        else:
            with pytest.raises(EitherQuantityError):
                parse_quantity(f"{text} {unit}", Dimension.MASS, "kg", Marks.TYPED)


@pytest.mark.parametrize(
    ("locale", "text"),
    [
        ("de", "1.234,5"), ("fr", "1\u202f234,5"), ("en", "1,234.5"), ("hi", "1,234.5"),
        ("ar_EG", "\u0661\u066c\u0662\u0663\u0664\u066b\u0665"), ("fa", "\u06f1\u066c\u06f2\u06f3\u06f4\u066b\u06f5"),
        ("mr", "\u0967,\u0968\u0969\u096a.\u096b"), ("bn", "\u09e7,\u09e8\u09e9\u09ea.\u09eb"),
    ],
)  # fmt: skip
def test_the_tables_write_what_is_meant_to_be_tested(locale: str, text: str) -> None:
    """Were Babel to write 1234.5 otherwise, the tests above would test less than they say."""
    assert written(Decimal("1234.5"), locale) == text
    assert readings(text) == [1234.5]


def test_a_number_of_switzerland() -> None:
    """Its apostrophe is one of two letters, by the edition of the tables."""
    assert written(Decimal("1234.5"), "de_CH") in ("1'234.5", "1\u2019234.5")
    assert written(Decimal(1234567), "hi") == written(Decimal(1234567), "en_IN") == "12,34,567"
