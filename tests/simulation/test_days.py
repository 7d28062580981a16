"""Simulated days: their truth is that of the statics, their text that of the author, and each is a day of its own."""

from __future__ import annotations

import re

import numpy as np
import pytest

from steelyard.adjustment import ManyLoads
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.simulation import draws
from steelyard.simulation.days import DaysLike
from steelyard.simulation.fault import SimulationError
from tests.cli.days import NURSERY, ROOT
from tests.simulated.scenarios import KINDS, simulate
from tests.simulation.exact import EXACT, LIFTING

BAKERY = (ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", KINDS)
def test_many_true_days_have_the_loads_that_the_operator_gives_each_by_itself(kind: str) -> None:
    """Of every kind of day, at drawn geometry and springs; the slope acts on the true masses."""
    like = DaysLike(simulate(kind, seed=3).text, "day.toml", seed=1).likeness
    random = np.random.default_rng(8)
    unknowns = like.starts + np.where(np.isnan(like.priors), 0.0, like.priors) * random.standard_normal(
        (3, len(like.starts))
    )
    unknowns[:, like.free] = like.expected * (1.0 + 0.05 * random.standard_normal((3, len(like.free))))
    like.loads.masses = {}
    alone = np.array([like.loads.solve(one, {}).values for one in unknowns])
    assert np.allclose(like.loads.many(unknowns), alone, rtol=1e-9, atol=1e-9 * np.abs(alone).max())


@pytest.mark.parametrize("kind", ["equalised", "fifth_wheel", "weight_distribution", "stand", "double"])
def test_what_supports_and_friction_shift_is_what_the_operator_of_the_state_says(kind: str) -> None:
    """At geometry and springs as stated or assumed, where the adjustment has that operator."""
    rig = DaysLike(simulate(kind, seed=3).text, "day.toml", seed=1).likeness
    many = ManyLoads(rig.observations.increments)
    random = np.random.default_rng(8)
    unknowns = rig.starts
    for state, operator in rig.rig.operators.items():
        heights, forced = random.standard_normal((2, 1, operator.wheel_count, 2))
        wheels, couplings = many.shifted(state, unknowns[None], heights, forced)
        by_height, by_release = operator.support_influence(), operator.release()
        for found, of_height, of_force in zip((wheels[0], couplings[0]), by_height, by_release, strict=True):
            expected = of_height @ heights[0] + of_force @ forced[0]
            assert np.allclose(found, expected, rtol=1e-6, atol=1e-6 * max(np.abs(expected).max(initial=0.0), 1.0))


@pytest.mark.parametrize("text", [EXACT, LIFTING], ids=["grounded", "lifting"])
def test_readings_without_error_give_back_the_truth(text: str) -> None:
    """To a few grams, for pads of a division of one; every finding, also where a wheel leaves the ground."""
    like = DaysLike(text, "float.toml", seed=5)
    drawn = like.of(range(1, 4))
    lifted = 0
    for day, truth in zip(drawn.days, drawn.truth, strict=True):
        found = weigh(parse_day(day.text, "float.toml"))
        assert [one.id for one in found.findings] == list(like.truths.ids)
        values = np.array([one.value for one in found.findings], dtype=float)
        assert values == pytest.approx(truth * like.truths.factors, abs=0.01, rel=2e-5)
        lifted += any(one.value == 0.0 for one in found.findings if re.match("loaded/van/wheel/", one.id))
    assert lifted == (3 if text is LIFTING else 0)


def test_a_day_is_the_same_whoever_makes_it_and_however_many_there_are() -> None:
    like = DaysLike(NURSERY, "nursery.toml", seed=4)
    several = like.of(range(1, 8))
    alone = DaysLike(NURSERY, "nursery.toml", seed=4).of([5])
    assert alone.days[0] == several.days[4]
    assert np.array_equal(alone.truth[0], several.truth[4])
    assert len({day.text for day in several.days}) == 7
    assert DaysLike(NURSERY, "nursery.toml", seed=5).of([5]).days[0].text != several.days[4].text


def test_all_but_title_and_readings_is_the_authors_text() -> None:
    day = DaysLike(BAKERY, "quay-bakery.toml", seed=7).of([2]).days[0]
    changed = [(was, now) for was, now in zip(BAKERY.splitlines(), day.text.splitlines(), strict=True) if was != now]
    assert changed[0][1] == 'title = "Quay bakery, before the market season (simulated, seed 7, day 2)"'
    bare = re.compile(r"\d+\]")
    assert [bare.sub("", was) for was, _ in changed[1:]] == [bare.sub("", now) for _, now in changed[1:]]


def test_readings_are_written_in_the_way_of_the_file() -> None:
    """A day without a title; a reading in quotes, one that was corrected, and a comment that misleads."""
    text = (
        NURSERY.replace('title = "Nursery van with the seedling trailer"\n', "")
        .replace('["a", 720]', '["a", "720 kg"]  # not ["a", 705]\n'.replace("\n", ""), 1)
        .replace(
            'readings = { "van/1L" = ["a", "720 kg"]  # not ["a", 705], ',
            '# ["a", 705]\nreadings = { "van/1L" = ["a", "720 kg"], ',
        )
    ) + '[[corrections]]\ndraft = 1\nplace = "van/2L"\nvalue = 610\nreason = "misread"\n'
    like = DaysLike(text, "nursery.toml", seed=4)
    day = like.of([1]).days[0]
    assert not like.pattern.rewritten
    assert '# ["a", 705]' in day.text
    assert re.search(r'"van/1L" = \["a", "\d+ kg"\]', day.text)
    read = parse_day(day.text, "nursery.toml")
    assert read.title == "A weigh day (simulated, seed 4, day 1)"
    written = {reading.place.text: reading.value for reading in read.drafts[0].readings}
    assert read.corrections[0].value == written["van/2L"]


def test_what_cannot_be_simulated_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    no_drafts = NURSERY[: NURSERY.index("[[drafts]]")]
    with pytest.raises(SimulationError, match="no draft with a reading that counts"):
        DaysLike(no_drafts, "nursery.toml", seed=1)
    raised = NURSERY.replace(
        'state = "empty"\nreadings', 'state = "empty"\nraised = { "van/2" = "400 mm" }\nreadings', 1
    )
    with pytest.raises(SimulationError, match="draft 1 has something raised"):
        DaysLike(raised, "nursery.toml", seed=1)
    monkeypatch.setattr(draws, "TRIES", 2)
    small = NURSERY.replace('capacity = "4000 kg"', 'capacity = "720 kg"')
    with pytest.raises(SimulationError, match="a pad was over its capacity"):
        DaysLike(small, "nursery.toml", seed=1).of(range(1, 40))


def test_open_loads_and_contradicting_readings_are_noted() -> None:
    open_loads = NURSERY[: NURSERY.rindex("[[drafts]]")]
    assert "Not all loads of this day are determined" in " ".join(DaysLike(open_loads, "d", seed=1).notes())
    slip = (ROOT / "examples" / "quay-bakery-slip.toml").read_text(encoding="utf-8")
    assert "contradict one another" in " ".join(DaysLike(slip, "d", seed=1).notes())


def test_slips_are_put_into_as_many_days_as_asked_and_told() -> None:
    plain, slipped = (DaysLike(BAKERY, "b.toml", seed=7, slips=rate).of(range(1, 61)) for rate in (0.0, 0.5))
    told = [day for day in slipped.days if day.slip is not None]
    assert 18 <= len(told) <= 42  # of 60 at one half; beyond 3 standard deviations
    assert len({day.slip.kind for day in told if day.slip is not None}) == 4
    assert np.array_equal(plain.truth, slipped.truth)
    for was, now in zip(plain.days, slipped.days, strict=True):
        if now.slip is None:
            assert was.text == now.text
            continue
        before, after = (parse_day(one.text, "b.toml") for one in (was, now))
        differ = {
            (draft.number, old.place.text)
            for draft, other in zip(before.drafts, after.drafts, strict=True)
            for old, new in zip(draft.readings, other.readings, strict=True)
            if old.value != new.value
        }
        assert differ == {(one.draft, one.place) for one in now.slip.readings}
