"""Commercial licence and motor carrier by weight: thresholds, words, and what weighed loads change.

Source: 49 CFR 383.91(a) and (c), 383.5, 390.5 as they read since 2014; the rules are worked out apart here, from the
greater of rating and weight of each vehicle.
"""

from __future__ import annotations

import random

import pytest

from steelyard.conformity import Requirement
from steelyard.dayfile import bundled_set
from steelyard.model import Ratings, Use
from steelyard.requirements.road import Paper, Ruling, rulings
from tests.rules.road_days import POUND, road_day

A, B, NONE = "Group A", "Group B", "no commercial licence by weight"


def rated(pounds: float | None, label: float | None = None) -> Ratings:
    return Ratings(gvwr=None if pounds is None else pounds * POUND, gcwr=None if label is None else label * POUND)


def ask(
    name: str,
    *gvwr: float | None,
    label: float | None = None,
    use: Use | None = Use.COMMERCE,
    licence: tuple[str, ...] | None = None,
) -> list[Ruling]:
    """The rulings of a set on vehicles of these GVWRs [lb], the power unit with ``label`` as its GCWR."""
    vehicles = [[300.0 * number, 300.0 * number + 150.0] for number in range(len(gvwr))]
    ratings = [rated(one, label if not number else None) for number, one in enumerate(gvwr)]
    return list(rulings(road_day(*vehicles, sets=[bundled_set(name)], ratings=ratings, use=use, licence=licence)))


def paper_of(found: list[Ruling]) -> Paper:
    (paper,) = [one.paper for one in found if one.paper is not None]
    return paper


@pytest.mark.parametrize(
    ("gvwr", "label", "answer"),
    [
        ((26_000,), None, NONE),
        ((26_001,), None, B),
        ((14_000,), 40_000, NONE),  # the GCWR does not count where nothing is towed
        ((26_001, 10_000), None, B),
        ((26_001, 10_001), None, A),
        ((16_000, 10_001), None, A),
        ((15_999, 10_001), None, NONE),
        ((16_001, 10_000), None, NONE),  # 26,001 lb, but no more than 10,000 lb towed
        ((14_000, 14_000), None, A),
        ((11_500, 14_000), None, NONE),
        ((11_500, 14_000), 26_000, NONE),
        ((11_500, 14_000), 26_001, A),
        ((11_500, 9_000), 32_000, NONE),
        ((16_000, 5_000, 5_001), None, A),  # the sum of what is towed
        ((16_001, 5_000, 5_000), None, NONE),
        ((11_500, 14_000, 501), None, A),
    ],
)
def test_the_group_on_both_sides_of_every_threshold(gvwr: tuple[float, ...], label: float | None, answer: str) -> None:
    assert paper_of(ask("us-licence", *gvwr, label=label)).answer == answer


@pytest.mark.parametrize(
    ("gvwr", "licence", "met"),
    [
        ((14_000, 14_000), None, None),
        ((14_000, 14_000), ("A",), True),
        ((14_000, 14_000), ("Class A",), True),
        ((14_000, 14_000), ("cdl-a",), True),
        ((14_000, 14_000), ("B", "C"), False),
        ((14_000, 14_000), (), False),
        ((14_000, 14_000), ("BE", "C1E"), False),
        ((26_001,), ("B",), True),
        ((26_001,), ("A",), True),
        ((26_001,), ("none",), False),
        ((26_001,), ("",), False),
        ((26_000,), None, True),
        ((26_000,), (), True),
    ],
)
def test_the_licence_that_is_held_is_held_against_the_group(
    gvwr: tuple[float, ...], licence: tuple[str, ...] | None, met: bool | None
) -> None:
    assert paper_of(ask("us-licence", *gvwr, licence=licence)).met is met


@pytest.mark.parametrize(
    ("gvwr", "label", "needs"),
    [
        ((None,), None, ("v0",)),
        ((14_000, None), None, ("v1",)),
        ((None, 14_000), None, ("v0",)),
        ((None, None), None, ("v0", "v1")),
        ((None, 9_000), 40_000, ("v0",)),  # Group B or none, by the GVWR of the power unit
        ((14_000, None, 5_000), None, ("v1",)),
    ],
)
def test_a_missing_rating_is_named_where_it_decides(
    gvwr: tuple[float | None, ...], label: float | None, needs: tuple[str, ...]
) -> None:
    (one,) = ask("us-licence", *gvwr, label=label)
    assert one.needs == tuple(f"vehicles.{name}.ratings.gvwr" for name in needs)


def test_a_missing_rating_that_decides_nothing_is_not_asked_for() -> None:
    assert paper_of(ask("us-licence", None, 14_000, label=26_001)).answer == A
    assert paper_of(ask("us-licence", 12_000, None, 14_001)).answer == A
    assert paper_of(ask("us-carrier", 10_001, None)).answer.endswith("apply")


def test_a_label_that_alone_decides_is_said_to_count_only_where_it_is_on_the_label() -> None:
    (one,) = ask("us-licence", 11_500, 14_000, label=32_000)
    assert "counts only where it is on the certification label (the GVWRs come to 25,500 lb)" in one.note
    (one,) = ask("us-licence", 14_000, 14_000)
    assert one.note == "GCWR 28,000 lb as the sum of the GVWRs, GVWR of what is towed 14,000 lb"
    one = ask("us-licence", 26_001, 10_000)[0]
    assert one.note == "GVWR of the power unit 26,001 lb, GVWR of what is towed 10,000 lb"
    one = ask("us-licence", 26_000, label=40_000)[0]
    assert one.note == "GVWR 26,000 lb; nothing is towed"


@pytest.mark.parametrize("name", ["us-licence", "us-carrier"])
def test_both_sets_ask_for_the_use_and_leave_private_use_alone(name: str) -> None:
    (one,) = ask(name, 30_000, use=None)
    assert one.needs == ("rules.use",)
    (one,) = ask(name, 30_000, use=Use.PRIVATE)
    assert (one.paper, one.requirement, one.needs) == (None, None, ())
    assert "commerce" in one.note


@pytest.mark.parametrize(
    ("gvwr", "label", "applies"),
    [
        ((10_000,), None, False),
        ((10_001,), None, True),
        ((7_000,), 15_000, False),
        ((7_000, 3_000), None, False),
        ((7_000, 3_001), None, True),
        ((7_000, 3_000), 10_001, True),
    ],
)
def test_the_carrier_threshold_on_both_sides(gvwr: tuple[float, ...], label: float | None, applies: bool) -> None:
    answer = paper_of(ask("us-carrier", *gvwr, label=label)).answer
    assert answer == ("49 CFR parts 390 to 399 apply" if applies else "below the threshold by the ratings")


def group_by_weight(gvwr: tuple[int, int], weighed: tuple[int, int], label: int) -> str:
    """The group from the greater of rating and weight of each vehicle, by the words of the law alone."""
    truck, trailer = (max(pair) for pair in zip(gvwr, weighed, strict=True))
    if max(label, truck + trailer) >= 26_001 and trailer > 10_000:
        return A
    return B if truck >= 26_001 else NONE


def kept(requirement: Requirement, weighed: tuple[int, int]) -> bool:
    """Whether weighed loads [lb] stay under a limit on one of them or on both."""
    loads = {"v0": weighed[0] * POUND, "v1": weighed[1] * POUND, "combination": sum(weighed) * POUND}
    limit = requirement.limit
    if requirement.curve is not None:
        limit = requirement.curve.limit(loads[requirement.curve.finding.split("/")[1]])
    # "26,001 lb or more", but "more than 10,000 lb": whole pounds, so half a pound under tells them apart
    at_limit_is_kept = round(limit / POUND) == 10_000
    load = loads[requirement.finding.split("/")[1]] / POUND
    return load < limit / POUND + (0.5 if at_limit_is_kept else -0.5)


def test_the_weighed_limits_are_kept_exactly_where_the_greater_of_weight_and_rating_gives_no_higher_group() -> None:
    chance = random.Random(383)
    crossed = {A: 0, B: 0, NONE: 0}
    for _ in range(2_000):
        truck, trailer = chance.randint(8_000, 28_000), chance.randint(4_000, 18_000)
        gvwr = (chance.choice((26_001, truck)), chance.choice((10_000, trailer)))
        weighed = (chance.randint(6_000, 29_000), chance.choice((10_000, 10_001, chance.randint(2_000, 19_000))))
        label = chance.choice((0, 0, 26_000, 26_001, 32_000))
        found = ask("us-licence", *gvwr, label=label or None)
        limits = [one.requirement for one in found if one.requirement is not None]
        by_rating, by_weight = paper_of(found).answer, group_by_weight(gvwr, weighed, label)
        to_a = [one for one in limits if one.id.endswith(".a")]
        assert all(kept(one, weighed) for one in to_a) == (by_weight != A or by_rating == A), (gvwr, weighed, label)
        to_b = [one for one in limits if one.id.endswith(".b")]
        light = max(gvwr[0], weighed[0]) < 26_001
        assert all(kept(one, weighed) for one in to_b) == (light or by_rating != NONE), (gvwr, weighed, label)
        crossed[by_weight] += by_weight != by_rating
    assert crossed[A] > 200
    assert crossed[B] > 30


def test_a_licence_that_is_good_for_the_higher_group_leaves_nothing_to_stay_under() -> None:
    assert [one.requirement for one in ask("us-licence", 11_500, 14_000, licence=("A",))] == [None]
    names = {one.subject for one in ask("us-licence", 11_500, 14_000, licence=("B",)) if one.requirement is not None}
    assert names == {"v0/gross", "v1/gross", "combination/gross"}


def test_a_carrier_stays_below_by_each_weight_alone_and_by_all_together() -> None:
    found = {one.subject: one.requirement for one in ask("us-carrier", 6_000, 3_000) if one.requirement is not None}
    limits = {name: round(one.limit / POUND) for name, one in found.items()}
    assert limits == {"v0/gross": 7_001, "v1/gross": 4_001, "combination/gross": 10_001}


def test_with_two_trailers_each_stays_under_what_the_other_leaves_of_the_towed_limit() -> None:
    found = {one.subject: one.requirement for one in ask("us-licence", 27_000, 4_000, 5_000) if one.requirement}
    assert {name: round(one.limit / POUND) for name, one in found.items()} == {"v1/gross": 5_000, "v2/gross": 6_000}
