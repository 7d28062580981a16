"""What must not matter to any weigh day: order, left and right, who read which pads, how heavy everything is.

The days are made from numbers (``any_days``): rigs of one to three vehicles, stands, every coupling, stated heights,
pads of two heights, slopes, cargo known and unknown, states that nobody weighed. Source: the day's meaning. Tolerance:
1e-5 of the half width of an interval; most are within 1e-8, and only where readings contradict one another strongly
does the iteration stop a little earlier on one side.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import permutations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import WeighDay
from steelyard.units import Quantity
from tests.invariants.any_days import any_day
from tests.invariants.changes import (
    Known,
    apart,
    both_forward,
    heavier,
    lighter,
    mirrored,
    numbers,
    reflected,
    shuffled,
    split,
)
from tests.invariants.rich_days import RICH
from tests.simulated import scenarios

ALIKE = 1e-5
DAYS = {seed: day for seed in range(70) if (day := any_day(seed)).drafts}
SEEDS = list(DAYS)
RICH_DAYS = pytest.mark.parametrize("name", RICH)


@pytest.fixture(scope="module")
def weighed() -> dict[int, tuple[WeighDay, Findings]]:
    """The days that are made from numbers, with their findings."""
    return {seed: (day, weigh(day)) for seed, day in DAYS.items()}


def unlike(plain: Findings, other: Findings, back: Known) -> str:
    """Where findings differ, or how the readings agree; nothing if they do not."""
    share, where = apart(*both_forward(numbers(plain), back))
    if share > ALIKE:
        return f"{share:.2g}: {where}"
    one, two = plain.consistency, other.consistency
    if one.chi2 != pytest.approx(two.chi2, rel=1e-6, abs=1e-6) or len(one.suspects) != len(two.suspects):
        return f"chi-square {one.chi2}, {two.chi2}; {len(one.suspects)} and {len(two.suspects)} suspects"
    return "" if _outcomes(plain) == _outcomes(other) else "the verdicts differ"


def _outcomes(findings: Findings) -> Counter[tuple[str, str]]:
    """How often each requirement has each outcome; those on changes count from one state to another, and those on the
    balance from left to right.
    """
    told = [(item.id.rpartition(":")[2], str(item.outcome)) for item in findings.verdicts if ">" not in item.id]
    return Counter(one for one in told if not one[0].startswith("balance"))


def test_the_days_are_of_many_kinds(weighed: dict[int, tuple[WeighDay, Findings]]) -> None:
    """Most days agree with themselves; stands, couplings, heights, slopes, predictions and lifted wheels are there."""
    days = [day for day, _ in weighed.values()]
    states = [state for day in days for state in day.states.values()]
    assert sum(found.consistency.consistent for _, found in weighed.values()) > 0.8 * len(days)
    assert sum(bool(state.links) for state in states) > 40
    assert sum(len(state.links) == 2 for state in states) > 3
    assert sum(state.link_of_trailer("cart") is None and "cart" in state.vehicles for state in states) > 30
    assert sum(link.height_change is not None for state in states for link in state.links) > 15
    assert sum(state.id not in day.measured_states() for day in days for state in day.states.values()) > 20
    assert sum(day.site.slope_long is not None for day in days) > 10


def test_order_changes_nothing(weighed: dict[int, tuple[WeighDay, Findings]]) -> None:
    """States, drafts, readings, vehicles, instruments and cargo stand in another order."""
    found = {}
    for seed, (day, plain) in weighed.items():
        other = weigh(shuffled(day, seed, drafts_too=plain.consistency.consistent))
        found[seed] = unlike(plain, other, numbers(other))
    assert {seed: what for seed, what in found.items() if what} == {}


def test_one_prediction_does_not_hang_on_another(weighed: dict[int, tuple[WeighDay, Findings]]) -> None:
    """Without the states that nobody weighed, all else is as it was; nor does one of them change another."""
    found: dict[int, str] = {}
    for seed, (day, plain) in weighed.items():
        known = numbers(plain)
        measured = day.measured_states()
        loose = [name for name, state in day.states.items() if name not in measured and state.link_of_trailer("cart")]
        for name in loose[:1] if plain.consistency.consistent else ():
            left = {key: state for key, state in day.states.items() if key != name}
            other = numbers(weigh(replace(day, states=left)))
            share, where = apart({key: known[key] for key in known.keys() & other.keys()}, other)
            found[seed] = f"{share:.2g}: {where}" if share > ALIKE else ""
    assert len(found) > 8
    assert {seed: what for seed, what in found.items() if what} == {}


def test_left_and_right(weighed: dict[int, tuple[WeighDay, Findings]]) -> None:
    found = {}
    for seed, (day, plain) in list(weighed.items())[::2]:
        other = weigh(mirrored(day))
        found[seed] = unlike(plain, other, reflected(numbers(other)))
    assert {seed: what for seed, what in found.items() if what} == {}


def test_a_draft_in_two_parts(weighed: dict[int, tuple[WeighDay, Findings]]) -> None:
    """Pads of one height, read one after the other without moving them: nothing stands otherwise than before.

    The height is exact: a draft says of its own wheels alone which pad they stand on, so where a pad may be higher than
    it is said to be, its half of the draft tells less of how the vehicle stands.
    """
    found = {}
    days = [day for day, _ in list(weighed.values())[::2]] + [any_day(seed) for seed in MORE_IN_PARTS]
    for day in days:
        if len({item.height for item in day.instruments.values()}) > 2:
            continue
        one = weigh(_level(day))
        if one.consistency.consistent:
            found[day.title] = unlike(one, *(_told(split(_level(day)))))
    assert len(found) > 8 + len(MORE_IN_PARTS) // 2
    assert {title: what for title, what in found.items() if what} == {}


MORE_IN_PARTS = (3007, 3225, 3534, 3786, 4236)
"""Days whose pads are higher by more or less than is said, and trailers that hang on others."""


def _level(day: WeighDay) -> WeighDay:
    """The day on pads of exactly the height that is said, unread wheels as high as the others."""
    pads = {name: replace(item, height=Quantity(item.height.value, 0.0)) for name, item in day.instruments.items()}
    return replace(day, instruments=pads, drafts=tuple(replace(draft, on_ground=False) for draft in day.drafts))


def _told(day: WeighDay) -> tuple[Findings, Known]:
    found = weigh(day)
    return found, numbers(found)


def test_three_times_as_heavy(weighed: dict[int, tuple[WeighDay, Findings]]) -> None:
    """Masses, stiffnesses and couples three times as large: so are loads and their doubts, and lengths stay."""
    found = {}
    for seed, (day, plain) in list(weighed.items())[::2]:
        kinds = {item.type.value for vehicle in day.vehicles.values() for item in vehicle.couplings.values()}
        if "fifth_wheel" not in kinds:  # what is latched in has a width in kilograms times metres of its own
            other = weigh(heavier(day, 3.0))
            found[seed] = unlike(plain, other, lighter(numbers(other), 3.0))
    assert len(found) > 10
    assert {seed: what for seed, what in found.items() if what} == {}


@RICH_DAYS
def test_rich_days_in_every_order_of_their_states(name: str) -> None:
    day = parse_day(RICH[name], f"{name}.toml")
    plain = weigh(day)
    orders = list(permutations(day.states))
    for order in orders[1 :: max(1, len(orders) // 4)]:
        other = weigh(replace(day, states={state: day.states[state] for state in order}))
        assert unlike(plain, other, numbers(other)) == "", order


@pytest.mark.parametrize("kind", scenarios.CLEAN)
def test_simulated_days_in_another_order(kind: str) -> None:
    day = parse_day(scenarios.simulate(kind, 1).text, f"{kind}.toml")
    plain, other = weigh(day), weigh(shuffled(day, 1))
    assert unlike(plain, other, numbers(other)) == ""
