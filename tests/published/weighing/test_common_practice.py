"""Figures that people who weigh rigs reckon with. Every one of them: common practice, no source.

Each goes through the product: a small weigh day is weighed and the figure looked up among its findings and verdicts.
Tolerance: a thousandth of a pound; shares as far as they are said (54 %: half a per cent).
"""

from __future__ import annotations

import re

import pytest

from steelyard.conformity import Outcome
from steelyard.dayfile import DayFileError, parse_day
from tests.published.days import HEAD, HITCHED, Pounds, coupling, draft, pad, platform, trailer, truck

EXACT = 'span_uncertainty = "0 %"\nrepeatability = "0 lb"'
SCALES = platform("s1", more=EXACT) + platform("s2", more=EXACT) + platform("s3", more=EXACT)
SOLO = '[states.solo]\nvehicles = ["tow"]\n'


def shown(true: float, division: float = 20.0) -> float:
    """What a scale of this division shows."""
    return division * round(true / division)


@pytest.mark.parametrize(("before", "expected"), [(5000.0, 20.0), (5005.0, 40.0), (5009.0, 40.0), (4994.0, 20.0)])
def test_an_article_of_28_pounds_may_show_as_20_or_40(before: float, expected: float) -> None:
    """A division of 20 lb may be 10 lb off either way by rounding alone; the interval of the mass knows it."""
    first, second = shown(before), shown(before + 28.0)
    assert abs(first - before) <= 10.0
    assert second - first == expected
    states = SOLO + '[states.more]\nvehicles = ["tow"]\ncargo = ["article"]\n'
    article = '[cargo.article]\non = "tow"\nx = "100 in"\ny = "0 in"\n'
    drafts = draft("solo", {"tow": ("s1", first)}) + draft("more", {"tow": ("s1", second)})
    day = Pounds(HEAD, SCALES, truck(0, 140), article, states, drafts)
    assert day.value("cargo/article/mass") == pytest.approx(expected, abs=1e-3)
    low, high = day.interval("cargo/article/mass")
    assert low < 28.0 < high
    assert high - low < 40.0  # within the 20 lb either way that two readings can be off


def test_four_pads_of_25000_make_a_set_of_100000() -> None:
    pads = "".join(pad(f"p{n}", capacity=25_000.0) for n in range(1, 5))
    full = {f"tow/{w}": (f"p{n}", 25_000.0) for n, w in enumerate(("1L", "1R", "2L", "2R"), 1)}
    day = Pounds(HEAD, pads, truck(0, 140), SOLO, draft("solo", full))
    assert day.value("solo/tow/gross") == pytest.approx(100_000.0, abs=1e-3)
    over = day.text.replace('["p1", 25000.0]', '["p1", 25020.0]')
    assert over != day.text
    with pytest.raises(DayFileError, match=re.escape("capacity")):
        parse_day(over, "day.toml")


def test_what_is_left_under_a_rating_and_after_a_pin_load() -> None:
    """10,200 lb under 14,000 leave 3,800, and 318 after a pin load of 3,482, hitched without having been weighed so."""
    rig = truck(0, 170, ratings='gvwr = "14000 lb"', more=coupling(165, "gooseneck")) + trailer(
        300, 336, equalised=True
    )
    states = SOLO + '[states.parked]\nvehicles = ["cart"]\n[states.hitched]\n' + HITCHED
    fine = platform("s9", division=1.0, more=EXACT)
    drafts = draft("solo", {"tow/1": ("s1", 5_540.0), "tow/2": ("s2", 4_660.0)})
    drafts += draft("parked", {"cart/1": ("s1", 7_000.0), "cart/2": ("s2", 7_000.0), "cart/coupling": ("s9", 3_482.0)})
    day = Pounds(HEAD, SCALES, fine, rig, states, drafts)
    assert day.margin("solo/tow/gross:gvwr") == pytest.approx(3_800.0, abs=1e-3)
    assert day.value("hitched/coupling/load") == pytest.approx(3_482.0, abs=1e-3)
    assert day.margin("hitched/tow/gross:gvwr") == pytest.approx(318.0, abs=1e-3)
    assert day.verdict("hitched/tow/gross:gvwr").outcome is Outcome.WITHIN


def test_share_in_front() -> None:
    """2,760 + 2,780 lb in front of 10,200 lb is 54 %."""
    pads = "".join(pad(f"p{n}") for n in range(1, 5))
    readings = {
        "tow/1L": ("p1", 2_760.0),
        "tow/1R": ("p2", 2_780.0),
        "tow/2L": ("p3", 2_340.0),
        "tow/2R": ("p4", 2_320.0),
    }
    day = Pounds(HEAD, pads, truck(0, 140), SOLO, draft("solo", readings))
    assert day.value("solo/tow/gross") == pytest.approx(10_200.0, abs=1e-3)
    assert day.value("solo/tow/front_share") == pytest.approx(54.0, abs=0.5)
    assert day.value("solo/tow/front_share") == pytest.approx(100 * 5540 / 10200, abs=1e-6)


def tongue(load: float, axles: float) -> Pounds:
    """A trailer of one axle on a ball: its own axle weighed, and the truck without and with it."""
    rig = truck(0, 140, more=coupling(190)) + trailer(160)
    behind = load * 50 / 140
    solo = {"tow/1": ("s1", 4_000.0), "tow/2": ("s2", 3_000.0)}
    fine = "".join(platform(name, division=0.01, more=EXACT) for name in ("s1", "s2", "s3"))
    hitched = {"tow/1": ("s1", round(4_000.0 - behind, 2)), "tow/2": ("s2", round(3_000.0 + load + behind, 2))}
    drafts = draft("solo", solo) + draft("hitched", {**hitched, "cart/1": ("s3", axles)})
    return Pounds(HEAD, fine, rig, SOLO, "[states.hitched]\n", HITCHED, drafts)


def test_tongue_load_of_850_goes_with_a_trailer_near_7000() -> None:
    """12 % and within the usual window of 10 to 15 %; half the load or twice the load is not."""
    day = tongue(850.0, 6_150.0)
    assert day.value("hitched/coupling/load") == pytest.approx(850.0, abs=0.1)
    assert day.value("hitched/cart/gross") == pytest.approx(7_000.0, abs=0.1)
    assert day.value("hitched/coupling/share") == pytest.approx(12.1, abs=0.05)
    for limit in ("low", "high"):
        verdict = day.verdict(f"hitched/coupling/share:window_{limit}")
        assert verdict.outcome is Outcome.WITHIN
        assert verdict.source == "common practice, no source"
    light, heavy = tongue(425.0, 6_575.0), tongue(1_700.0, 5_300.0)
    assert light.verdict("hitched/coupling/share:window_low").outcome is Outcome.OUTSIDE
    assert heavy.verdict("hitched/coupling/share:window_high").outcome is Outcome.OUTSIDE


@pytest.mark.parametrize(
    ("x", "front"), [(180.0, -200.0), (140.0, 0.0), (70.0, 350.0)], ids=["behind", "over", "ahead"]
)
def test_where_a_load_takes_weight_off_the_front_axle(x: float, front: float) -> None:
    """700 lb behind the rear axle unload the front one, over it they do not, ahead of it they load it."""
    states = SOLO + '[states.loaded]\nvehicles = ["tow"]\ncargo = ["box"]\n'
    box = f'[cargo.box]\non = "tow"\nmass = "700 lb"\nx = "{x} in"\ny = "0 in"\n'
    drafts = draft("solo", {"tow/1": ("s1", 4_000.0), "tow/2": ("s2", 3_000.0)})
    day = Pounds(HEAD, SCALES, truck(0, 140), box, states, drafts)
    assert day.value("solo>loaded/tow/axle/1") == pytest.approx(front, abs=1e-3)
    assert day.value("solo>loaded/tow/axle/2") == pytest.approx(700.0 - front, abs=1e-3)
