"""The error that all instruments share: by hand, and as the findings have it once the file states it.

Source: JCGM 100:2008, 5.2.2, note 1: where the inputs of a sum are fully correlated, their uncertainties add up; where
they are independent, their squares do.
"""

from __future__ import annotations

import math

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Weighed, solve, weigh
from steelyard.questions.site import SITE
from steelyard.units import UNITS

POUND = UNITS["lb"].factor
SPAN = 0.01
LOADS = {"alone": (2000.0, 2000.0, 2000.0, 2000.0), "loaded": (1900.0, 1900.0, 2500.0, 2500.0)}
PAD = """[instruments.{name}]
kind = "pad"
capacity = "20000 lb"
division = "0.02 lb"
repeatability = "0.01 lb"
{keys}
"""
REST = """[vehicles.tow]
role = "towing"
axles = [{ x = 0, track = 70 }, { x = 150, track = 70 }]
[cargo.bales]
on = "tow"
"""


def day(keys: str = 'span_uncertainty = "1 %"', pads: int = 4, read: int = 4) -> Weighed:
    """One vehicle in two states, the load of each wheel on a pad of its own, on the most even ground."""
    names = [f"p{number % pads + 1}" for number in range(4)]
    text = 'format = 1\n[site]\nunevenness = "0.00001 in"\n'
    text += "".join(PAD.format(name=name, keys=keys) for name in dict.fromkeys(names)) + REST
    for state, loads in LOADS.items():
        aboard = '["bales"]' if state == "loaded" else "[]"
        text += f'[states.{state}]\nvehicles = ["tow"]\ncargo = {aboard}\n'
        for at in range(0, read, pads):
            wheels = list(zip(("1L", "1R", "2L", "2R"), names, loads, strict=True))[at : at + pads]
            readings = ", ".join(f'"tow/{wheel}" = ["{pad}", {load}]' for wheel, pad, load in wheels)
            text += f'[[drafts]]\nstate = "{state}"\nreadings = {{ {readings} }}\n'
    return solve(parse_day(text, "day.toml"))


def test_four_pads_with_one_cause_of_doubt_are_as_good_as_one() -> None:
    """8,800 lb on four pads of 1 %: root of the squares if each errs by itself, the sum if all err alike."""
    common = SITE.data(SITE.answer(day(), SITE.question()), file="day.toml")["common_error"]
    gross, transfer = common["most_affected"]
    assert (common["named"], common["matters"]) == (False, "unknown")
    assert common["uncertainty"] == pytest.approx(1.0)
    assert gross["id"] == "loaded/tow/gross"
    assert gross["half_width"] == pytest.approx(1.96 * SPAN * math.hypot(1900, 1900, 2500, 2500), rel=2e-3)
    assert gross["half_width_if_common"] == pytest.approx(1.96 * SPAN * 8800.0, rel=2e-3)
    assert gross["doubt"] == pytest.approx(SPAN * 8800.0, rel=1e-3)
    assert transfer["id"] == "alone>loaded/tow/axle/2"
    assert transfer["half_width"] == pytest.approx(1.96 * SPAN * math.hypot(500, 500), rel=5e-3)
    assert transfer["half_width_if_common"] == pytest.approx(1.96 * SPAN * 1000.0, rel=5e-3)
    assert "more pads do not make it smaller" in common["words"]


def test_it_is_what_the_findings_say_once_the_file_states_it() -> None:
    supposed = SITE.answer(day(), SITE.question()).common
    stated = 'span_uncertainty = "0.0001 %"\nset = "case"\nset_uncertainty = "1 %"'
    weighed = day(stated)
    found = weigh(weighed.adjustment.rig.given)
    for row in supposed.felt:
        one = found.by_id[row.id]
        assert one.high is not None
        assert one.low is not None
        assert row.if_common == pytest.approx((one.high - one.low) / 2.0, rel=2e-3)
    common = SITE.answer(weighed, SITE.question()).common
    assert (common.named, common.u) == (True, pytest.approx(SPAN))
    assert common.felt[0].doubt / POUND == pytest.approx(SPAN * 8800.0, rel=2e-3)
    assert common.felt[1].doubt / POUND == pytest.approx(SPAN * 1000.0, rel=5e-3)
    assert [row.if_common for row in common.felt] == [None, None]


def test_what_only_some_name_is_no_name_for_all() -> None:
    answer = SITE.answer(day('standard = "M-1"\nstandard_uncertainty = "0.2 %"'), SITE.question())
    assert answer.common.named
    assert answer.common.stated == "standard M-1 (0.2 %) for p1, p2, p3, p4"
    assert not any("Common error" in text for text in answer.help)
    unnamed = SITE.answer(day(), SITE.question())
    assert any("Common error" in text for text in unnamed.help)


@pytest.mark.parametrize(
    ("weighed", "stated", "uncertainty"),
    [
        (lambda: day(pads=1), "p1 took every reading, so that its span is in all of them and is counted so", None),
        (lambda: day(read=0), "there are no readings yet", None),
        (lambda: day('span_uncertainty = "0 %"'), "not stated: no set and no standard with its uncertainty;", 0.0),
    ],
)
def test_where_nothing_is_shared_it_is_said(weighed: object, stated: str, uncertainty: float | None) -> None:
    assert callable(weighed)
    common = SITE.data(SITE.answer(weighed(), SITE.question()), file="day.toml")["common_error"]
    assert common["stated"].startswith(stated)
    assert common["uncertainty"] == uncertainty
    assert common["most_affected"] == []
    assert common["words"]
