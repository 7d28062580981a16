"""Limits that depend on another finding in the searches: never less strict than the verdict, and not much stricter."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from steelyard.adjustment import student_quantile
from steelyard.conformity import CONFIDENT, LimitCurve, Outcome, Sense
from steelyard.findings import Weighed, solve
from steelyard.loading import Scenario
from steelyard.model import Cargo
from steelyard.questions.limits import limits_of, predict_many
from steelyard.units import Quantity
from tests.findings.road import INCH, POUND, READ, RIG, Limit, choosing

DAY = RIG + READ
GROUP = "hitched/combination/axles/3-4:here.groups"
GROSS = LimitCurve("STATE/cart/gross", (), ((0.0, 0.0),), ())


def loads(*masses: float, x: float = 178.0) -> np.ndarray:
    """Generalised loads of some masses [lb] put at one place of the cart [in]."""
    return np.array([[mass * POUND, mass * POUND * x * INCH, 0.0] for mass in masses])


def verdict(weighed: Weighed, mass: float, x: float = 178.0):
    """The verdict on the group with a mass [lb] put on at a place [in] that is known exactly."""
    place = (Quantity(x * INCH, 0.0), Quantity(0.0, 0.0))
    item = Cargo("load", "cart", mass=Quantity(mass * POUND, 0.0), x=place[0], y=place[1])
    asked = weighed.ask(Scenario("hitched", add=(item,)), "more")
    return next((one for one in asked.verdicts if "axles/3-4" in one.id), None)


def kept(weighed: Weighed, masses: list[float]) -> list[bool]:
    """Whether a search thinks the limit on the group kept with each mass [lb]."""
    found = predict_many(weighed, "hitched", "cart", loads(*masses))
    return found.kept[:, found.ids.index(GROUP)].tolist()


def sure(weighed: Weighed, mass: float) -> bool:
    """Whether the verdict is sure; a limit that does not hold is kept."""
    found = verdict(weighed, mass)
    return found is None or found.outcome is Outcome.WITHIN


@pytest.mark.parametrize("step", [34.0, 35.2, 35.7, 36.0, 36.4, 37.2, 38.0])
def test_no_load_that_a_search_allows_is_refused_by_the_verdict(monkeypatch: pytest.MonkeyPatch, step: float) -> None:
    """Axles 36 in apart to half an inch, a step from 7,300 lb to 7,500 lb somewhere near."""
    weighed = solve(choosing(monkeypatch, DAY, Limit(3, 4, steps=(7300, step, 7500))))
    masses = [float(mass) for mass in range(0, 400, 20)]
    allowed, judged = kept(weighed, masses), [sure(weighed, mass) for mass in masses]
    assert all(ours or not theirs for theirs, ours in zip(allowed, judged, strict=True))
    # and it is not much stricter where the step is far, or surely on one side
    if step in (34.0, 38.0):
        assert sum(judged) - sum(allowed) <= 1
    assert any(allowed)
    assert not all(judged)


def test_far_from_a_step_a_limit_binds_as_one_number_does(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = limits_of(solve(choosing(monkeypatch, DAY, Limit(3, 4, 7500))), "hitched", "cart")
    curved = limits_of(solve(choosing(monkeypatch, DAY, Limit(3, 4, steps=(7000, 24, 7500)))), "hitched", "cart")
    at = plain.ids.index(GROUP)
    assert curved.ids == plain.ids
    assert curved.room[at] == pytest.approx(plain.room[at])
    assert curved.root[at] == pytest.approx(plain.root[at])


def test_a_step_beyond_the_interval_only_widens_the_guard(monkeypatch: pytest.MonkeyPatch) -> None:
    """2.2 standard uncertainties away: the upper limit binds, with the quantile of 0.95 and what is below the step."""
    weighed = solve(choosing(monkeypatch, DAY, Limit(3, 4, steps=(6000, 36 - 1.1, 7500))))
    limits = limits_of(weighed, "hitched", "cart")
    at = limits.ids.index(GROUP)
    plain = limits_of(solve(choosing(monkeypatch, DAY, Limit(3, 4, 7500))), "hitched", "cart")
    assert limits.room[at] == pytest.approx(plain.room[at])
    below = 0.5 * math.erfc(2.2 / math.sqrt(2.0))
    dof = np.array([min(weighed.adjustment.propagation.learned_dof)])
    wanted = student_quantile(dof, CONFIDENT + below) / student_quantile(dof, CONFIDENT)
    ratio = np.linalg.norm(limits.root[at]) / np.linalg.norm(plain.root[at])
    assert ratio == pytest.approx(float(wanted[0]), rel=1e-3)


def test_a_limit_that_has_ended_binds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    limits = limits_of(solve(choosing(monkeypatch, DAY, Limit(3, 4, steps=(7000, 24, math.inf)))), "hitched", "cart")
    assert GROUP not in (*limits.ids, *limits.not_judged)


CURVES = {
    # the group may carry 92 % of the trailer's mass
    "a share": (replace(GROSS, pieces=((0.0, 0.92),)), Sense.MAX),
    # the group carries at least 80 % of the mass, or 7,400 lb if that is less
    "the less of two": (
        LimitCurve(GROSS.finding, (9250 * POUND,), ((0.0, 0.8), (7400 * POUND, 0.0)), (False,)),
        Sense.MIN,
    ),
    # above 8,300 lb of the trailer the group may carry no more than 7,200 lb
    "from a mass on": (
        LimitCurve(GROSS.finding, (8300 * POUND,), ((math.inf, 0.0), (7200 * POUND, 0.0)), (False,)),
        Sense.MAX,
    ),
    "steps down": (
        LimitCurve(GROSS.finding, (8300 * POUND,), ((7600 * POUND, 0.0), (7400 * POUND, 0.0)), (False,)),
        Sense.MAX,
    ),
}


@pytest.mark.parametrize("name", CURVES)
def test_a_limit_over_a_load_is_never_less_strict_than_the_verdict(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    curve, sense = CURVES[name]
    text = RIG + '[states.parked]\nvehicles = ["cart"]\n' + READ
    text += '[[drafts]]\nstate = "parked"\nreadings = { "cart/coupling" = ["d4", 800], "cart" = ["d3", 7100] }\n'
    weighed = solve(choosing(monkeypatch, text, Limit(3, 4, over=curve, sense=sense)))
    masses = [float(mass) for mass in range(0, 700, 50)]
    allowed, judged = kept(weighed, masses), [sure(weighed, mass) for mass in masses]
    assert all(ours or not theirs for theirs, ours in zip(allowed, judged, strict=True))
    assert any(allowed)


def test_a_share_of_a_load_is_as_strict_as_the_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    """A straight line needs no caution: the room is the verdict's own."""
    curve = replace(GROSS, finding="STATE/combination/gross", pieces=((0.0, 0.52),))
    weighed = solve(choosing(monkeypatch, DAY, Limit(3, 4, over=curve)))
    limits = limits_of(weighed, "hitched", "cart")
    at = limits.ids.index(GROUP)
    found = next(one for one in weighed.findings().verdicts if one.id == GROUP)
    assert limits.room[at] == pytest.approx(found.margin)
    masses = [float(mass) for mass in range(0, 600, 20)]
    allowed = kept(weighed, masses)
    assert allowed == [sure(weighed, mass) for mass in masses]
    assert True in allowed
    assert False in allowed
