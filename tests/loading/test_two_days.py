"""Two weigh days as one: each keeps what it says by itself, under whatever names."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from steelyard.dayfile import read_day
from steelyard.findings import Finding, weigh
from steelyard.loading import DayNames, ScenarioError, renamed, two_days
from steelyard.model import Photograph, WeighDay
from steelyard.units import Quantity

EXAMPLES = Path(__file__).parents[2] / "examples"


def example(name: str) -> WeighDay:
    """One of the days that come with the program."""
    return read_day(EXAMPLES / f"{name}.toml")


def figures(day: WeighDay, of: list[str]) -> dict[str, tuple[float | None, ...]]:
    """Value, uncertainty and interval of the findings of some states, by id."""
    found: dict[str, Finding] = {one.id: one for one in weigh(day).findings}
    chosen = {name: one for name, one in found.items() if name.split("/")[0] in of}
    return {name: (one.value, one.u, one.low, one.high) for name, one in chosen.items()}


def near(one: dict[str, tuple[float | None, ...]], other: dict[str, tuple[float | None, ...]]) -> None:
    """See that two sets of findings are the same; the names may differ."""
    assert len(one) == len(other) > 10
    for name, mine, theirs in zip(one, one.values(), other.values(), strict=True):
        assert [value is None for value in mine] == [value is None for value in theirs], name
        known = [[value for value in part if value is not None] for part in (mine, theirs)]
        np.testing.assert_allclose(*known, rtol=1e-6, atol=1e-6, err_msg=name)


@pytest.mark.parametrize("name", ["quay-bakery-slip", "hives"])
def test_other_names_change_nothing(name: str) -> None:
    day = example(name)
    every = DayNames(
        *(
            {one: f"{one}-x" for one in names}
            for names in (
                day.vehicles,
                day.states,
                day.cargo,
                day.instruments,
                {item.set for item in day.instruments.values() if item.set},
                {draft.placement for draft in day.drafts if draft.placement},
            )
        )
    )
    other = renamed(day, every)
    assert set(other.vehicles).isdisjoint(day.vehicles)
    near(figures(day, list(day.states)), figures(other, list(other.states)))


def test_each_day_says_beside_another_what_it_says_alone() -> None:
    """Days that share nothing: no reading of one tells of the other."""
    first, second = example("quay-bakery"), example("hives")
    first, second = (
        replace(day, site=replace(day.site, surface="gravel", unevenness=0.003)) for day in (first, second)
    )
    both = two_days(first, second)
    for day, names in ((first, both.first), (second, both.second)):
        states = {name: names.states.get(name, name) for name in day.states}
        mine = {
            name: one for name, one in figures(both.day, list(states.values())).items() if ">" not in name.split("/")[0]
        }
        alone = {name: one for name, one in figures(day, list(states)).items() if ">" not in name.split("/")[0]}
        for name, values in alone.items():
            state, _, rest = name.partition("/")
            other = {key: value for key, value in mine.items() if key.startswith(f"{states[state]}/")}
            renamed_id = f"{states[state]}/{'/'.join(names.vehicles.get(part, part) for part in rest.split('/'))}"
            if values[0] is None:
                continue
            found = other[renamed_id]
            assert found[0] == pytest.approx(values[0], rel=2e-3, abs=0.3), name


def test_gravity_of_two_places_stays_with_the_readings_of_each() -> None:
    """A pad verified at the pole shows less at the equator, by 0.5 % (GRS 80); the other day is not touched by it."""
    day = example("quay-bakery")
    there = {
        name: replace(item, serial=f"N-{name}", verified_latitude=Quantity(np.pi / 2, 0.0))
        for name, item in day.instruments.items()
    }
    south = replace(day, site=replace(day.site, latitude=Quantity(0.0, 0.0)), instruments=there)
    both = two_days(day, south)
    plain, moved = (
        next(
            one.value
            for one in weigh(both.day).findings
            if one.id == f"{names.states.get('solo', 'solo')}/{names.vehicles.get('truck', 'truck')}/gross"
        )
        for names in (both.first, both.second)
    )
    assert plain is not None
    assert moved is not None
    assert moved / plain == pytest.approx(1.0 + 0.0053024, rel=2e-5)


def test_different_ground_is_refused() -> None:
    day = replace(example("quay-bakery"))
    tall = {name: replace(item, cg_height=Quantity(0.8)) for name, item in day.vehicles.items()}
    one = replace(day, vehicles=tall)
    with pytest.raises(ScenarioError, match=r"different ground \(slope_lat under \[site\]\)"):
        two_days(one, replace(one, site=replace(one.site, slope_lat=Quantity(0.02))))
    assert two_days(day, replace(day, site=replace(day.site, slope_lat=Quantity(0.02)))).day.site.slope_lat is None


def test_photographs_go_along_with_their_drafts() -> None:
    """A record names its draft by number and its place by vehicle, and both change in the second day."""
    day = example("stage-van")
    place = day.drafts[0].readings[0].place.text
    shown = replace(day, photographs=(Photograph(1, "0" * 64, place), Photograph(1, "1" * 64)))
    both = two_days(shown, shown).day
    assert len(both.photographs) == 4
    for item in both.photographs[::2]:
        draft = both.drafts[item.draft - 1]
        assert both.photographs_at(draft, draft.readings[0].place) == (item,)
    assert [item.draft for item in both.photographs] == [1, 1, len(day.drafts) + 1, len(day.drafts) + 1]
