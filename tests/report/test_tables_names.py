"""Names of findings in words, and figures rounded as the GUM asks (JCGM 100:2008, 7.2.6)."""

from __future__ import annotations

import pytest

from steelyard.findings import Basis, Finding
from steelyard.model import FindingId
from steelyard.report.words.names import figure, shown, words
from steelyard.units import UNITS, Dimension, UnitSystem

POUND = UNITS["lb"].factor


@pytest.mark.parametrize(
    ("finding_id", "states", "text"),
    [
        ("solo/lorry/wheel/2L", ("solo",), "lorry wheel 2L"),
        ("solo/lorry/axle/1", ("solo",), "lorry axle 1"),
        ("solo/lorry/side/R", ("solo",), "lorry right side"),
        ("solo/lorry/gross", ("solo",), "lorry gross"),
        ("hitched/mill/axles", ("hitched",), "mill on its axles"),
        ("hitched/mill/cg_y", ("hitched",), "mill centre of gravity across the vehicle"),
        ("solo/lorry/front_share", ("solo",), "lorry share on its front axle"),
        ("hitched/combination/gross", ("hitched",), "combination gross"),
        ("hitched/coupling/load", ("hitched",), "coupling load"),
        ("hitched/coupling/2/load", ("hitched",), "coupling 2 load"),
        ("solo/lorry/left_share", ("solo",), "lorry share on its left side"),
        ("hitched/coupling/couple", ("hitched",), "coupling weight-distributing couple"),
        ("hitched/coupling/share", ("hitched",), "coupling share of trailer's gross"),
        ("solo>hitched/lorry/axle/1", ("solo", "hitched"), "lorry axle 1"),
        ("cargo/logs/mass", (), "cargo logs: mass"),
        ("cargo/logs/x", (), "cargo logs: place along the vehicle"),
    ],
)
def test_an_id_says_its_states_and_its_quantity(finding_id: str, states: tuple[str, ...], text: str) -> None:
    where = FindingId.parse(finding_id)
    assert (where.states, words(where)) == (states, text)
    assert where.change == (len(states) == 2)
    assert where.of_cargo == (not states)


def _mass(value: float, u: float, low: float, high: float) -> Finding:
    scaled = (value * POUND, u * POUND, low * POUND, high * POUND)
    return Finding("solo/lorry/gross", "gross", Dimension.MASS, Basis.MEASURED, *scaled, 12.0)


@pytest.mark.parametrize(
    ("value", "half", "expected"),
    [
        (5820.6, 15.8, ("5,821", "16")),
        (5820.6, 1.58, ("5,820.6", "1.6")),
        (12345.6, 123.4, ("12,350", "120")),
        (5820.6, 9.96, ("5,821", "10")),
        (-180.2, 12.0, ("−180", "12")),
        (-0.2, 12.0, ("0", "12")),
        (500.0, 0.0, ("500", "")),
        (2e-13, 4e-14, ("0", "")),
    ],
)
def test_half_of_the_interval_has_two_figures_and_the_value_the_same_place(
    value: float, half: float, expected: tuple[str, str]
) -> None:
    figures = shown(_mass(value, half / 2.2, value - half, value + half), UnitSystem())
    assert figures is not None
    assert (figures.value, figures.half, figures.unit) == (*expected, "lb")


def test_of_an_uneven_interval_the_longer_side_is_shown() -> None:
    figures = shown(_mass(5820.6, 15.0, 5800.6, 5855.6), UnitSystem())
    assert figures is not None
    assert (figures.value, figures.half, figures.low, figures.high) == ("5,821", "35", "5,801", "5,856")


def test_the_interval_is_rounded_to_two_figures_of_its_half_width() -> None:
    figures = shown(_mass(12345.6, 123.4, 12098.8, 12592.4), UnitSystem())
    assert figures is not None
    assert (figures.low, figures.high) == ("12,100", "12,590")


def test_units_change_the_figures_and_their_rounding() -> None:
    figures = shown(_mass(5820.6, 15.8, 5789.0, 5852.0), UnitSystem("kg", "mm"))
    assert figures is not None
    assert (figures.value, figures.half, figures.low, figures.high, figures.unit) == (
        "2,640",
        "14",
        "2,626",
        "2,654",
        "kg",
    )


@pytest.mark.parametrize(("value", "text"), [(40.4, "+40"), (-40.4, "−40"), (0.3, "0"), (-0.3, "0")])
def test_a_gain_has_a_plus_and_nothing_has_no_sign(value: float, text: str) -> None:
    figures = shown(_mass(value, 12.0, value, value), UnitSystem(), signed=True)
    assert figures is not None
    assert figures.value == text


def test_what_is_missing_or_not_determined_has_no_figures() -> None:
    assert shown(None, UnitSystem()) is None
    assert shown(Finding("solo/lorry/gross", "gross", Dimension.MASS, Basis.MEASURED), UnitSystem()) is None


@pytest.mark.parametrize(("pounds", "text"), [(19500.0, "19,500"), (12.5, "12.5"), (0.0, "0")])
def test_a_stated_number_is_as_exact_as_it_was_given(pounds: float, text: str) -> None:
    assert figure(pounds * POUND, Dimension.MASS, UnitSystem()) == text
