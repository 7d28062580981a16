"""Loads of axle groups and distances between axles, as chosen rules ask for them, and the verdicts on them."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from jsonschema import validate
from scipy.stats import norm
from scipy.stats import t as student

from steelyard.conformity import Outcome
from steelyard.dayfile import parse_day
from steelyard.findings import Findings, solve, weigh
from steelyard.loading import Scenario
from steelyard.model import FindingId
from steelyard.questions.findings import findings_data, findings_schema
from steelyard.report.tables.findings import findings_text
from steelyard.units import Dimension
from tests.findings.road import INCH, POUND, READ, RIG, Limit, choosing

DAY = RIG + READ


def told(findings: Findings, name: str):
    found = findings.get(f"hitched/{name}")
    assert found is not None
    return found


@pytest.fixture
def weighed(monkeypatch: pytest.MonkeyPatch) -> Findings:
    limits = (
        Limit(2, 4, 12000),
        Limit(1, 4, 20000),
        Limit(3, 4, steps=(7000, 36, 7500)),
        Limit(1, 2, 9000, owner="tow"),
        Limit(1, 4, steps=(13000, 400, 14000)),
    )
    return weigh(choosing(monkeypatch, DAY, *limits[:4], replace(limits[4], first=2)))


def test_a_group_is_the_sum_of_its_axles_counted_through_the_coupling(weighed: Findings) -> None:
    axles = [told(weighed, f"{name}").value or 0.0 for name in ("tow/axle/2", "cart/axle/1", "cart/axle/2")]
    assert told(weighed, "combination/axles/2-4").value == pytest.approx(sum(axles), rel=1e-12)


@pytest.mark.parametrize(
    ("group", "same"),
    [
        ("combination/axles/1-4", "combination/gross"),
        ("combination/axles/3-4", "cart/axles"),
        ("tow/axles/1-2", "tow/gross"),
    ],
)
def test_a_group_of_all_axles_is_the_whole(weighed: Findings, group: str, same: str) -> None:
    one, other = told(weighed, group), told(weighed, same)
    assert (one.value, one.u, one.low, one.high) == pytest.approx((other.value, other.u, other.low, other.high))


def test_a_distance_is_the_sum_of_what_was_taped_with_its_doubt(weighed: Findings) -> None:
    """By hand: the coupling at 200 in, the last axle 196 in behind it, axle 2 at 150 in; JCGM 100, 5.1.2."""
    spread = told(weighed, "combination/spread/2-4")
    assert spread.dimension is Dimension.LENGTH
    assert spread.value == pytest.approx((200 + 196 - 150) * INCH, abs=1e-4)
    assert spread.u == pytest.approx(math.hypot(0.3, 0.4) * INCH, rel=1e-3)
    assert told(weighed, "combination/spread/3-4").u == pytest.approx(0.5 * INCH, rel=1e-3)


def test_what_is_exact_has_no_doubt(monkeypatch: pytest.MonkeyPatch) -> None:
    exact = DAY.replace("160 in +/- 0.5 in", "160 in +/- 0 in")
    found = weigh(choosing(monkeypatch, exact, Limit(3, 4, steps=(7000, 36, 7500))))
    spread = told(found, "combination/spread/3-4")
    assert (spread.value, spread.u) == (pytest.approx(36 * INCH, abs=1e-12), 0.0)
    assert found.verdicts[-1].limit == pytest.approx(7000 * POUND)  # 36 in belong to the lower step


def test_only_what_rules_ask_for_is_added(weighed: Findings) -> None:
    plain = {finding.id for finding in weigh(parse_day(DAY, "day.toml")).findings}
    more = {finding.id for finding in weighed.findings} - plain
    axles = {"combination/axles/2-4", "combination/axles/1-4", "combination/axles/3-4", "tow/axles/1-2"}
    assert more == {f"hitched/{name}" for name in axles | {"combination/spread/3-4", "combination/spread/2-4"}}
    assert all(str(FindingId.parse(name)) == name for name in more)


def test_a_limit_between_two_steps_is_judged_with_the_doubt_of_the_distance(weighed: Findings) -> None:
    """36 in to half an inch: as likely below as above. Within 7,500 lb surely, within 7,000 lb surely not."""
    verdict = next(one for one in weighed.verdicts if one.id == "hitched/combination/axles/3-4:here.groups")
    load, spread = told(weighed, "combination/axles/3-4"), told(weighed, "combination/spread/3-4")
    below = norm.cdf((36 * INCH - (spread.value or 0.0)) / (spread.u or 1.0))
    dof = load.dof or 0.0
    chances = [student.cdf((limit * POUND - (load.value or 0.0)) / (load.u or 1.0), dof) for limit in (7000, 7500)]
    assert verdict.probability == pytest.approx(float(np.dot([below, 1.0 - below], chances)), abs=2e-3)
    assert verdict.outcome is Outcome.UNDECIDED
    assert "tape it better and that decides it" in verdict.advice


def test_a_limit_far_from_its_steps_is_judged_as_any_other(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = weigh(choosing(monkeypatch, DAY, Limit(3, 4, 7500)))
    curved = weigh(choosing(monkeypatch, DAY, Limit(3, 4, steps=(7000, 24, 7500))))
    assert curved.verdicts == plain.verdicts


def test_a_limit_that_does_not_hold_at_that_distance_is_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    found = weigh(choosing(monkeypatch, DAY, Limit(3, 4, steps=(7000, 24, math.inf)), Limit(2, 4, 7500)))
    assert [one.limit for one in found.verdicts if "/axles/" in one.id] == [pytest.approx(7500 * POUND)]


def test_near_the_end_of_a_limit_the_last_one_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    found = weigh(choosing(monkeypatch, DAY, Limit(3, 4, steps=(7000, 35.5, math.inf))))
    verdict = found.verdicts[-1]
    assert verdict.limit == pytest.approx(7000 * POUND)
    assert verdict.probability == pytest.approx(0.8413, abs=0.01)  # one standard uncertainty beyond the end
    assert verdict.outcome is Outcome.UNDECIDED


def test_what_was_not_weighed_is_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    only = DAY.replace(', "cart/1" = ["d3", 3500], "cart/2" = ["d4", 3600]', "")
    found = weigh(choosing(monkeypatch, only, Limit(3, 4, steps=(7000, 36, 7500))))
    assert told(found, "combination/axles/3-4").needs
    assert told(found, "combination/spread/3-4").determined
    verdict = next(one for one in found.verdicts if "axles/3-4" in one.id)
    assert (verdict.probability, verdict.outcome) == (None, None)


def test_a_what_if_says_what_the_state_written_by_hand_says(monkeypatch: pytest.MonkeyPatch) -> None:
    limits = (Limit(3, 4, steps=(7000, 36, 7500)), Limit(2, 4, 12000))
    bales = '[cargo.bales]\non = "cart"\nmass = "300 lb +/- 4 lb"\nx = 150\ny = 0\n'
    state = RIG[RIG.index("[states.hitched]") :]
    written = DAY + bales + state.replace("hitched", "more") + 'cargo = ["bales"]\n'
    by_hand = weigh(choosing(monkeypatch, written, *limits))
    asked = solve(choosing(monkeypatch, DAY + bales, *limits)).ask(Scenario("hitched", put_on=("bales",)), "more")
    own = [one for one in by_hand.verdicts if one.id.startswith("more/")]
    assert len(own) > 2
    for one, other in zip(own, asked.verdicts, strict=True):
        assert one.id == other.id
        assert (one.limit, one.value, one.u) == pytest.approx((other.limit, other.value, other.u))
        assert one.probability == pytest.approx(other.probability, abs=1e-6)
        assert one.outcome is other.outcome


def test_where_readings_contradict_the_verdict_on_a_group_is_contested(monkeypatch: pytest.MonkeyPatch) -> None:
    again = READ.replace("3500", "2500")
    limit = Limit(3, 4, steps=(6700, 36, 6800))
    found = weigh(choosing(monkeypatch, DAY + READ + again, limit))
    load = told(found, "combination/axles/3-4")
    verdict = next(one for one in found.verdicts if "axles/3-4" in one.id)
    assert load.contested
    assert verdict.contested
    assert not told(found, "combination/spread/3-4").contested


def test_the_answer_keeps_to_its_schema_and_tells_the_distance_in_the_unit_of_the_day(weighed: Findings) -> None:
    data = findings_data(weighed, file="day.toml")
    validate(json.loads(json.dumps(data)), findings_schema())
    spread = next(item for item in data["findings"] if item["id"] == "hitched/combination/spread/2-4")
    assert (spread["unit"], spread["label"]) == ("in", "hitched: axles 2 to 4 of the combination, outer centres apart")
    assert spread["value"] == pytest.approx(246.0, abs=0.01)


def test_the_table_of_a_state_shows_groups_and_distances(weighed: Findings) -> None:
    text = findings_text(weighed)
    assert "For the chosen rules, lb" in text
    row = next(line for line in text.splitlines() if line.startswith("  axles 2 to 4"))
    assert row.endswith("246.00 ± 0.98")
    assert any(line.startswith("  tow axles 1 to 2") for line in text.splitlines())
    assert "For the chosen rules" not in findings_text(weigh(parse_day(DAY, "day.toml")))
