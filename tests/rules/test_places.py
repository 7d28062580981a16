"""A set of another place than the file says calls for a caution; ISO 3166 codes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steelyard.dayfile import DayFileError, bundled_set, parse_day
from steelyard.model import ChosenRules, WeighDay
from steelyard.requirements import rule_cautions


@pytest.mark.parametrize(
    ("name", "where", "said"),
    [
        ("eu-licence", "DE", False),
        ("eu-licence", "eu", False),
        ("de-stvzo", "EU", False),
        ("de-stvzo", "FR", True),
        ("eu-licence", "US-NY", True),
        ("us-interstate", "US-NY", False),
        ("ca-ontario", "CA", False),
        ("ca-ontario", "CA-QC", True),
        ("us-interstate", "mars", True),
        ("us-interstate", "", False),
        ("un-r55", "mars", False),
    ],
)
def test_a_set_of_another_place_is_cautioned(name: str, where: str, said: bool) -> None:
    day = replace(WeighDay(), rules=ChosenRules(sets=(bundled_set(name),), where=where))
    told = [text for text in rule_cautions(day) if text.startswith(f"Rule set {name} holds in ")]
    assert bool(told) is said
    assert all(text.endswith(f"drives in {where}.") for text in told)


def test_licences_of_two_places_exclude_each_other() -> None:
    """The group "B" of one is not the category "B" of another."""
    text = 'format = 1\n[rules]\napply = ["us-licence", "eu-licence"]\nlicence = "B"\n'
    with pytest.raises(DayFileError) as caught:
        parse_day(text, "day.toml")
    (fault,) = caught.value.faults
    assert (fault.path, fault.value) == ("rules.apply[2]", '"eu-licence"')
    assert fault.message == "excludes 'us-licence', which is chosen too: only one of the two can hold; keep one"
