"""How much trailer: by hand where it can be reckoned by hand, and against a trailer that was really hitched."""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from steelyard.findings import solve
from steelyard.loading import Hitching, Scenario, ScenarioError, TowLimits, largest_trailer
from steelyard.model import Coupling, CouplingType, WeighDay
from steelyard.questions.trailer import TRAILER, how_much_trailer, tow_limits
from steelyard.units import Quantity
from tests.loading.days import BAKERY, weighed

SHARES = np.linspace(0.05, 0.30, 251)
QUANTILE = NormalDist().inv_cdf(0.95)


def by_hand(*, doubt: float = 0.0) -> TowLimits:
    """A coupling for 600 kg, an axle with 900 kg of room that takes 1.25 of each, and a combination for 5000 kg."""
    return TowLimits(
        ("load:vertical", "axle/2:rating", "gross:gcwr"),
        ("coupling", "axle", "combination"),
        np.array([600.0, 900.0, 5000.0]),
        np.array([[0.0], [doubt], [0.0]]),
        np.array([-1.0, -1.25, 0.0]),
        np.zeros((3, 1)),
        np.array([0.0, 0.0, -1.0]),
        np.full(3, QUANTILE),
        np.zeros((3, 0, 2, 2)),
        np.zeros(3),
        0.10,
        0.15,
        "by hand",
    )


def test_without_doubt_it_is_the_school_sum() -> None:
    found = largest_trailer(by_hand(), SHARES)
    assert found.shares == pytest.approx(SHARES)
    expected = np.minimum(np.minimum(600.0, 900.0 / 1.25) / found.shares, 5000.0)
    np.testing.assert_allclose(found.most, expected, rtol=1e-5)
    np.testing.assert_allclose(found.best, expected, rtol=1e-12)
    (corner,) = found.corners
    assert (corner.share, corner.mass) == pytest.approx((0.12, 5000.0), rel=1e-4)
    assert (found.limits.ids[corner.before], found.limits.ids[corner.after]) == ("gross:gcwr", "load:vertical")
    assert (found.load, found.load_best, found.load_binds) == pytest.approx((600.0, 600.0, 0))


def test_doubt_takes_its_guard_from_the_axle_alone() -> None:
    found = largest_trailer(by_hand(doubt=120.0), SHARES)
    assert found.load == pytest.approx((900.0 - QUANTILE * 120.0) / 1.25)
    assert found.load_best == pytest.approx(600.0)
    assert found.limits.ids[found.load_binds] == "axle/2:rating"
    assert found.at(0.30)[0] == pytest.approx(found.load / 0.30)
    assert found.most[0] == pytest.approx(5000.0, rel=1e-5)


def test_a_limit_that_is_missed_already_leaves_no_trailer() -> None:
    limits = replace(by_hand(), room=np.array([600.0, -10.0, 5000.0]))
    found = largest_trailer(limits, SHARES)
    assert (found.most == 0.0).all()
    assert set(found.binds) == {1}


def test_the_room_behind_the_truck_is_that_of_the_trailer_hitched() -> None:
    limits = tow_limits(weighed(), "solo", "truck", "ball")
    hitched = weighed().ask(Scenario("solo", hitch=(Hitching("ball", "oven"),)))
    load, gross = (hitched.get(f"what_if/{tail}") for tail in ("coupling/load", "oven/gross"))
    assert load is not None
    assert gross is not None
    assert load.value is not None
    assert gross.value is not None
    margins = {verdict.id: verdict.margin for verdict in hitched.verdicts}
    compared = 0
    for place, name in enumerate(limits.ids):
        if name in margins and "share" not in name and "front_change" not in name:
            room = limits.room[place] + limits.by_load[place] * load.value + limits.by_gross[place] * gross.value
            assert room == pytest.approx(margins[name], abs=1e-4), name
            compared += 1
    assert compared == 10


def test_what_the_front_axle_may_lose_is_a_part_of_what_it_carries() -> None:
    limits = tow_limits(weighed(), "solo", "truck", "ball")
    hitched = weighed().ask(Scenario("solo", hitch=(Hitching("ball", "oven"),)))
    load, lost = (hitched.get(name) for name in ("what_if/coupling/load", "solo>what_if/truck/front_change"))
    before = weighed().findings().get("solo/truck/axle/1")
    assert load is not None
    assert lost is not None
    assert before is not None
    place = limits.ids.index("solo>what_if/truck/front_change:steering_loss")
    room = limits.room[place] + limits.by_load[place] * (load.value or 0.0)
    assert room == pytest.approx((0.20 + (lost.value or 0.0)) * (before.value or 0.0), abs=1e-4)


def gooseneck(x: float) -> WeighDay:
    """The bundled truck with a gooseneck that has no rating of its own."""
    truck = BAKERY.vehicles["truck"]
    neck = Coupling("neck", CouplingType.GOOSENECK, Quantity(x))
    couplings = {**truck.couplings, "neck": neck}
    return replace(BAKERY, vehicles={**BAKERY.vehicles, "truck": replace(truck, couplings=couplings)})


def test_a_gooseneck_further_forward_takes_more_until_the_front_axle_binds() -> None:
    loads = {x: how_much_trailer(solve(gooseneck(x)), "solo", at="neck").result for x in (1.0, 3.2, 4.2)}
    names = {x: found.limits.ids[found.load_binds] for x, found in loads.items()}
    assert names[1.0] == "what_if/truck/axle/1:rating"
    assert names[3.2] == "what_if/truck/payload:payload"
    assert names[4.2].startswith("what_if/truck/")
    assert loads[3.2].load > loads[1.0].load
    assert loads[3.2].load > loads[4.2].load


def test_moving_the_coupling_an_inch_is_what_a_day_with_it_there_says() -> None:
    inch = 0.0254
    answer = how_much_trailer(solve(gooseneck(4.2)), "solo", at="neck")
    forward, here, rearward = answer.moved
    assert (forward.by, here.by, rearward.by) == pytest.approx((-inch, 0.0, inch))
    for moved in (forward, rearward):
        there = how_much_trailer(solve(gooseneck(4.2 + moved.by)), "solo", at="neck")
        assert moved.load == pytest.approx(there.moved[1].load, rel=1e-6)
    assert forward.load > here.load > rearward.load


def test_the_trailer_of_the_day_is_marked_as_it_was_weighed() -> None:
    answer = how_much_trailer(weighed(), "solo")
    (given,) = answer.given
    assert (given.trailer, answer.vehicle, answer.at) == ("oven", "truck", "ball")
    measured = weighed().findings().get("hitched/coupling/load")
    load = (given.gross.value or 0.0) * (given.share.value or 0.0)
    assert measured is not None
    assert load == pytest.approx(measured.value, rel=2e-3)


def test_as_data_it_is_complete_and_in_the_files_units() -> None:
    data = TRAILER.data(how_much_trailer(weighed(), "solo"), file="a.toml")
    assert data["coupling_load"] == {"most": 1250.0, "best": 1250.0, "limit": "what_if/coupling/load:vertical"}
    assert (data["from"], data["vehicle"], data["at"]) == ("solo", "truck", "ball")
    (corner,) = data["corners"]
    assert (corner["share"], corner["mass"]) == pytest.approx((12.5, 10_000.0), rel=1e-4)
    assert corner["limits"] == ["what_if/trailer/gross:towed", "what_if/coupling/load:vertical"]
    assert [row["share"] for row in data["region"][:3]] == [5.0, 5.1, 5.2]
    assert [moved["by"] for moved in data["moved"]] == [-1.0, 0.0, 1.0]
    assert data["window"] == {"low": 10.0, "high": 15.0, "source": "common practice, no source"}
    assert data["trailers"][0]["trailer"] == "oven"


@pytest.mark.parametrize(
    ("state", "at", "message"),
    [
        ("nowhere", None, "there is no state 'nowhere'; there are solo, hitched, levelled, market"),
        ("solo", "hook", "state 'solo' has no coupling 'hook' to hitch to; there are truck/ball"),
        ("hitched", None, "a trailer hangs on 'truck' in state 'hitched'; name a state where it stands alone"),
    ],
)
def test_what_cannot_be_asked_is_said(state: str, at: str | None, message: str) -> None:
    with pytest.raises(ScenarioError) as error:
        how_much_trailer(weighed(), state, at=at)
    assert str(error.value) == message


def test_of_several_couplings_one_must_be_named() -> None:
    with pytest.raises(ScenarioError) as error:
        how_much_trailer(solve(gooseneck(4.2)), "solo")
    expected = "state 'solo' has several couplings to hitch to; there are truck/ball, truck/neck"
    assert str(error.value) == expected


@pytest.mark.parametrize(("more", "first"), [(0.0004, 0), (0.002, 2)])
def test_of_limits_that_are_missed_alike_to_the_gram_the_first_is_named(more: float, first: int) -> None:
    """Less than a gram differs between processors and chooses nothing; two grams do."""
    limits = by_hand()
    found = largest_trailer(replace(limits, room=np.array([-10.0, 900.0, -10.0 - more])), SHARES)
    assert found.missed == ((0, 2) if first == 0 else (2, 0))
    assert found.at(0.1) == (0.0, first)
